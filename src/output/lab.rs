//! The sheet that goes to the lab, or to one's own darkroom, with the films.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use crate::facts::{Field, Flag, FrameNumber};
use crate::roll::{Roll, Trip};

use super::cautions;
use super::markdown::plain;
use super::words;

/// What the sheet tells of each roll.
pub(super) const COLUMNS: [&str; 7] =
    ["Roll", "Film", "Box speed", "Exposed at", "Process asked for", "Frames", "Check first"];
/// What the words on the sheet mean.
pub(super) const BEFORE: &str = "Times, temperatures and dilutions are not on this sheet: they stand in the data sheets of \
     film and developer. N is the usual development; N+1 and N−1 are longer and shorter for contrast; push and pull say \
     that the film was rated faster or slower and is to be developed for that.";

/// A roll's line, in the order of [`COLUMNS`].
pub(super) fn asked(roll: &Roll) -> [String; 7] {
    [
        roll.name.to_string(),
        roll.film.clone().unwrap_or_else(|| "not noted".into()),
        joined(roll.frames.iter().filter_map(|f| f.box_iso).map(|s| s.get().to_string())),
        rated(roll),
        process(roll),
        roll.frames.len().to_string(),
        doubts(roll),
    ]
}

/// `lab.md`: what is asked for each roll, and what of that is not sure.
pub fn lab_md(trip: &Trip) -> Vec<u8> {
    let mut out = format!("# Lab sheet: {}\n\n", plain(&trip.name));
    if trip.rolls.is_empty() {
        out.push_str("No roll was found.\n");
        return out.into_bytes();
    }
    let _ = writeln!(out, "| {} |", COLUMNS.join(" | "));
    out.push_str("| --- | --- | ---: | ---: | --- | ---: | --- |\n");
    for roll in &trip.rolls {
        let _ = writeln!(out, "| {} |", asked(roll).map(|c| plain(&c)).join(" | "));
    }
    let remarked: Vec<&Roll> = trip.rolls.iter().filter(|r| !r.remarks.is_empty()).collect();
    if !remarked.is_empty() {
        out.push_str("\n## Remarks\n\n");
        for roll in remarked {
            for remark in &roll.remarks {
                let _ = writeln!(out, "- Roll {}: {}", plain(roll.name.as_str()), plain(remark));
            }
        }
    }
    for (title, items) in [("Developed", developed(trip)), ("Prints wanted", prints(trip))] {
        if !items.is_empty() {
            let _ = write!(out, "\n## {title}\n\n");
            for (roll, text) in items {
                let _ = writeln!(out, "- Roll {}: {}", plain(roll.name.as_str()), plain(&text));
            }
        }
    }
    let _ = write!(out, "\n## Before developing\n\n{BEFORE}\n\n");
    out.push_str(cautions::CHEMICALS);
    out.push('\n');
    out.into_bytes()
}

/// How rolls were developed, as it was noted.
pub(super) fn developed(trip: &Trip) -> Vec<(&Roll, String)> {
    trip.rolls.iter().filter(|r| !r.developed.is_empty()).map(|r| (r, r.developed.line())).collect()
}

/// The frames of which a print is wanted.
pub(super) fn prints(trip: &Trip) -> Vec<(&Roll, String)> {
    let wanted =
        |r: &Roll| -> Vec<FrameNumber> { r.frames.iter().filter(|f| f.extras.print).map(|f| f.number).collect() };
    let all = trip.rolls.iter().map(|r| (r, wanted(r))).filter(|(_, n)| !n.is_empty());
    all.map(|(r, n)| (r, words::ranges(&n))).collect()
}

/// Distinct values in order of first mention.
fn joined(values: impl Iterator<Item = String>) -> String {
    let mut seen = BTreeSet::new();
    values.filter(|v| seen.insert(v.clone())).collect::<Vec<_>>().join(", ")
}

fn rated(roll: &Roll) -> String {
    let used = joined(roll.frames.iter().filter_map(|f| f.ei.as_ref()).map(|s| format!("EI {}", s.value.get())));
    match (used.is_empty(), roll.ei) {
        (true, Some(ei)) => format!("EI {}", ei.get()),
        (true, None) => "not noted".to_owned(),
        (false, _) => used,
    }
}

fn process(roll: &Roll) -> String {
    let asked = joined(roll.frames.iter().filter_map(|f| f.process.as_ref()).map(|s| s.value.clone()));
    match (asked.is_empty(), &roll.process) {
        (true, Some(p)) => p.clone(),
        (true, None) => "not said: ask before developing".to_owned(),
        (false, _) => asked,
    }
}

/// What the lab relies on and the record is not sure of.
fn doubts(roll: &Roll) -> String {
    let relied_on = |f: Field| matches!(f, Field::Film | Field::Ei | Field::BoxIso | Field::Process);
    joined(roll.frames.iter().flat_map(|f| &f.flags).filter_map(|flag| match *flag {
        Flag::Unsure(f) | Flag::Conflict(f) if relied_on(f) => Some(words::flag(*flag)),
        _ => None,
    }))
}

#[cfg(test)]
mod tests {
    use super::super::tests::harbour_roll;
    use super::*;

    #[test]
    fn the_lab_sees_what_is_asked_and_what_is_not_sure() {
        let mut roll = harbour_roll();
        roll.frames[0].flag(Flag::Unsure(Field::Process), "N+1 or N−1");
        let text = String::from_utf8(lab_md(&Trip { name: "Harbour days".into(), rolls: vec![roll] })).unwrap();
        assert!(text.contains("| 7 | Merrow Pan 100 | 100 | EI 80 | N+1 | 3 | process not sure |"), "{text}");
        assert!(text.contains("- Roll 7: back left open") && text.contains(cautions::CHEMICALS), "{text}");
    }

    #[test]
    fn what_was_not_said_is_asked_for() {
        let mut roll = harbour_roll();
        (roll.process, roll.ei, roll.film) = (None, None, None);
        roll.frames.clear();
        let text = String::from_utf8(lab_md(&Trip { name: "t".into(), rolls: vec![roll] })).unwrap();
        assert!(text.contains("| 7 | not noted |  | not noted | not said: ask before developing | 0 |  |"), "{text}");
    }
}
