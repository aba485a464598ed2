//! The trip at a glance, in Markdown: rolls, counts, what needs a look, places,
//! input that could not be used, and cautions.

use std::fmt::Write as _;

use crate::facts::{Flag, FrameNumber, Input};
use crate::roll::{Frame, Roll, Status, Trip};

use super::cautions;
use super::markdown::{href, plain};
use super::names::safe_stem;
use super::words;

/// A file that could not be used, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unusable {
    /// The file, relative to the trip folder.
    pub path: String,
    /// Why, and what to do.
    pub why: String,
}

/// How many frames of a roll are what.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Frames in all.
    pub frames: usize,
    /// Noted and scanned.
    pub ok: usize,
    /// Wasted.
    pub wasted: usize,
    /// Noted, no scan.
    pub unscanned: usize,
    /// Scan or edge print, no note.
    pub unnoted: usize,
    /// Frames with a flag that asks for a look.
    pub to_check: usize,
    /// Frames told in a clip that is gone.
    pub gone: usize,
}

impl Counts {
    /// Of these frames.
    pub fn of(frames: &[Frame]) -> Self {
        let status = |s| frames.iter().filter(|f| f.status == s).count();
        Self {
            frames: frames.len(),
            ok: status(Status::Ok),
            wasted: status(Status::Wasted),
            unscanned: status(Status::Unscanned),
            unnoted: status(Status::Unnoted),
            to_check: frames.iter().filter(|f| words::in_doubt(f)).count(),
            gone: frames.iter().filter(|f| f.flags.contains(&Flag::GoneClip)).count(),
        }
    }
}

/// `trip.md`.
pub fn trip_md(trip: &Trip, unusable: &[Unusable], inputs: &[Input]) -> Vec<u8> {
    let mut out = format!("# {}\n\n", plain(&trip.name));
    table(&mut out, trip);
    to_check(&mut out, trip);
    missing(&mut out, trip);
    remarks(&mut out, trip);
    places(&mut out, trip);
    list(
        &mut out,
        "Input that could not be used",
        unusable.iter().map(|u| format!("{}: {}", plain(&u.path), plain(&u.why))),
    );
    list(&mut out, "Cautions", cautions::for_trip(trip).into_iter().map(str::to_owned));
    accounted(&mut out, inputs);
    out.into_bytes()
}

fn list(out: &mut String, title: &str, items: impl Iterator<Item = String>) {
    let mut items = items.peekable();
    if items.peek().is_some() {
        let _ = write!(out, "\n## {title}\n\n");
        items.for_each(|item| out.extend(["- ", &item, "\n"]));
    }
}

/// Every input, with what became of it.
fn accounted(out: &mut String, inputs: &[Input]) {
    if inputs.is_empty() {
        return;
    }
    out.push_str("\n## Every input\n\n| Input | Kind | Became | Words | Frames | To know |\n| --- | --- | --- | ---: | ---: | --- |\n");
    for i in inputs {
        let remarks: Vec<String> = i.remarks.iter().map(|r| plain(r)).collect();
        let words = if i.words > 0 { i.words.to_string() } else { String::new() };
        let frames = if i.frames > 0 { i.frames.to_string() } else { String::new() };
        let (path, remarks) = (plain(&i.path), remarks.join("; "));
        let _ = writeln!(out, "| {path} | {} | {} | {words} | {frames} | {remarks} |", i.kind, i.fate);
    }
}

fn table(out: &mut String, trip: &Trip) {
    if trip.rolls.is_empty() {
        out.push_str("No roll was found.\n");
        return;
    }
    out.push_str("| Roll | Camera | Film | EI | Frames | OK | Wasted | Not scanned | Not noted | To check |\n");
    out.push_str("| --- | --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n");
    for roll in &trip.rolls {
        let n = Counts::of(&roll.frames);
        let text = |t: &Option<String>| t.as_deref().map(plain).unwrap_or_default();
        let _ = writeln!(
            out,
            "| [{}](rolls/{}.html) | {} | {} | {} | {} | {} | {} | {} | {} | {} |",
            plain(roll.name.as_str()),
            href(&safe_stem(roll.name.as_str())),
            text(&roll.camera),
            text(&roll.film),
            roll.ei.map(|e| e.get().to_string()).unwrap_or_default(),
            n.frames,
            n.ok,
            n.wasted,
            n.unscanned,
            n.unnoted,
            n.to_check
        );
    }
}

fn to_check(out: &mut String, trip: &Trip) {
    let frames: Vec<(&Roll, &Frame)> = trip.rolls.iter().flat_map(|r| r.frames.iter().map(move |f| (r, f))).collect();
    let looked_at = words::in_doubt;
    out.push_str("\n## What needs a look\n");
    if !frames.iter().any(|(_, f)| looked_at(f)) {
        out.push_str("\nNothing is flagged.\n");
        return;
    }
    for roll in &trip.rolls {
        let flagged: Vec<&Frame> = roll.frames.iter().filter(|f| looked_at(f)).collect();
        if flagged.is_empty() {
            continue;
        }
        let _ = write!(out, "\n### Roll {}\n\n", plain(roll.name.as_str()));
        for frame in flagged {
            let settings: Vec<String> = words::settings(frame).into_iter().map(|(_, text)| text).collect();
            let settings = if settings.is_empty() { "no settings".to_owned() } else { plain(&settings.join(" · ")) };
            let _ = writeln!(out, "- **{}** {settings}", frame.number);
            for flag in words::pressing(frame) {
                let why = words::reason(frame, flag).map(|why| format!(": {}", plain(why))).unwrap_or_default();
                let _ = writeln!(out, "  - {}{why}", words::flag(flag));
            }
        }
    }
}

fn missing(out: &mut String, trip: &Trip) {
    let items = trip.rolls.iter().flat_map(|roll| {
        let of = |status, text: &str| {
            let numbers: Vec<FrameNumber> =
                roll.frames.iter().filter(|f| f.status == status).map(|f| f.number).collect();
            (!numbers.is_empty())
                .then(|| format!("Roll {}: {text} {}", plain(roll.name.as_str()), words::ranges(&numbers)))
        };
        [
            of(Status::Unscanned, "noted but not scanned:"),
            of(Status::Unnoted, "on the film but not noted:"),
            of(Status::Wasted, "wasted:"),
            gone_clips(roll),
            (!roll.other_scans.is_empty()).then(|| {
                let scans: Vec<String> = roll.other_scans.iter().map(|s| plain(s)).collect();
                format!("Roll {}: scans that are no frame: {}", plain(roll.name.as_str()), scans.join(", "))
            }),
        ]
    });
    list(out, "Without a note, a scan, a picture or a clip", items.flatten());
}

/// The frames of a roll whose clips are gone.
fn gone_clips(roll: &Roll) -> Option<String> {
    let numbers: Vec<FrameNumber> =
        roll.frames.iter().filter(|f| f.flags.contains(&Flag::GoneClip)).map(|f| f.number).collect();
    (!numbers.is_empty())
        .then(|| format!("Roll {}: clip gone, its words kept: {}", plain(roll.name.as_str()), words::ranges(&numbers)))
}

fn remarks(out: &mut String, trip: &Trip) {
    let developed = |r: &Roll| (!r.developed.is_empty()).then(|| format!("developed: {}", r.developed.line()));
    let all = trip.rolls.iter().flat_map(|r| r.remarks.iter().cloned().chain(developed(r)).map(move |text| (r, text)));
    list(out, "Remarks", all.map(|(r, text)| format!("Roll {}: {}", plain(r.name.as_str()), plain(&text))));
}

/// A place with coordinates, and the frames taken there.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceSeen {
    /// As said, or empty.
    pub name: String,
    /// Degrees to four decimals (some 10 m), so that frames of one spot gather.
    pub lat: String,
    /// As `lat`.
    pub lon: String,
    /// Roll names with frame numbers.
    pub frames: Vec<(String, Vec<FrameNumber>)>,
}

impl PlaceSeen {
    /// A `geo:` link (RFC 5870).
    pub fn geo(&self) -> String {
        format!("geo:{},{}", self.lat, self.lon)
    }
}

/// Places of a trip in the order they were first reached.
pub fn places_of(trip: &Trip) -> Vec<PlaceSeen> {
    let mut places: Vec<PlaceSeen> = Vec::new();
    for roll in &trip.rolls {
        for frame in &roll.frames {
            let Some(at) = frame.position else { continue };
            let name = frame.place.as_ref().map(|p| p.value.clone()).unwrap_or_default();
            let (lat, lon) = (format!("{:.4}", at.lat), format!("{:.4}", at.lon));
            let known = places.iter().position(|p| p.name == name && p.lat == lat && p.lon == lon);
            let i = known.unwrap_or_else(|| {
                places.push(PlaceSeen { name, lat, lon, frames: Vec::new() });
                places.len() - 1
            });
            match places[i].frames.last_mut() {
                Some((r, numbers)) if r == roll.name.as_str() => numbers.push(frame.number),
                _ => places[i].frames.push((roll.name.to_string(), vec![frame.number])),
            }
        }
    }
    places
}

fn places(out: &mut String, trip: &Trip) {
    let items = places_of(trip).into_iter().map(|p| {
        let frames: Vec<String> =
            p.frames.iter().map(|(roll, n)| format!("roll {} {}", plain(roll), words::ranges(n))).collect();
        let name = if p.name.is_empty() { String::new() } else { format!("{}, ", plain(&p.name)) };
        format!("{name}[{}, {}]({}): {}", p.lat, p.lon, p.geo(), frames.join("; "))
    });
    list(out, "Places", items);
}

#[cfg(test)]
mod tests {
    use super::super::tests::harbour_roll;
    use super::*;

    #[test]
    fn the_summary_says_what_needs_a_look_and_why() {
        let trip = Trip { name: "Harbour days".into(), rolls: vec![harbour_roll()] };
        let unusable = [Unusable { path: "notes/12.m4a".into(), why: "audio breaks off at 0:42".into() }];
        let text = String::from_utf8(trip_md(&trip, &unusable, &[])).unwrap();
        insta::assert_snapshot!(text);
    }

    #[test]
    fn hostile_names_do_not_break_the_table() {
        let mut roll = harbour_roll();
        roll.film = Some("a|b\n| c | <img src=x>".into());
        roll.name = crate::facts::RollName::new("7](javascript:alert(1))").unwrap();
        let text =
            String::from_utf8(trip_md(&Trip { name: "# x\n\n# y".into(), rolls: vec![roll] }, &[], &[])).unwrap();
        let row = text.lines().find(|l| l.contains("javascript")).unwrap();
        assert_eq!(row.replace("\\|", "").matches('|').count(), 11, "{row}");
        assert!(
            !text.replace("\\<", "").contains("<img") && !row.replace("\\]", "").contains("](javascript"),
            "{text}"
        );
        assert_eq!(text.lines().filter(|l| l.starts_with("# ")).count(), 1);
    }

    #[test]
    fn an_empty_trip_says_so() {
        let text = String::from_utf8(trip_md(&Trip { name: "t".into(), rolls: vec![] }, &[], &[])).unwrap();
        assert_eq!(text, "# t\n\nNo roll was found.\n\n## What needs a look\n\nNothing is flagged.\n");
    }
}
