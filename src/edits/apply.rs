//! Edits laid over a trip. Edited frames are reviewed anew, so that flags speak
//! of what stands.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::str::FromStr;

use crate::exposure::{Aperture, BoxSpeed, ExposureIndex, Shutter, Stops};
use crate::facts::{
    Confidence, Field, Flag, FrameNumber, KnownBy, Position, Reading, RollName, Settled, Source, Taken,
};
use crate::kit::{Filters, Focal, Kit};
use crate::output::cells;
use crate::roll::{Frame, Roll, Status, Trip, depth, review, settle_again};

use super::changes::about;
use super::numbering::sure_of_number;
use super::{Column, Edit, Edits, Notice, scans, when};

/// A setting that a spreadsheet had turned into a date, read back.
const GUESSED: f64 = 0.5;

impl Edits {
    /// The evidence of a trip under the names and numbers that were given by hand, with nothing else changed.
    pub fn numbered(&self, trip: &Trip, kit: &Kit, unsure_below: f64) -> Trip {
        let mut trip = trip.clone();
        // What cannot be laid is told when all edits are.
        self.clone().lay_numbers(&mut trip, kit, unsure_below);
        trip
    }

    /// Lays the edits over `trip`: an edited value stands with the source `edit`,
    /// what it replaced is among the others. Where the evidence no longer says
    /// what it said when the edit was made, nor what the edit says, the frame is
    /// flagged `conflict`. Lenses, films and filters bring their kit's figures.
    /// `unsure_below` is the confidence that the user set, 0 to 1.
    pub fn apply(&mut self, trip: &mut Trip, kit: &Kit, unsure_below: f64) -> Vec<Notice> {
        let mut notices = self.lay_numbers(trip, kit, unsure_below);
        let scans = |r: &Roll| r.frames.iter().flat_map(|f| &f.scans).chain(&r.other_scans).cloned().collect();
        let had: Vec<Vec<String>> = trip.rolls.iter().map(scans).collect();
        let known_scans: HashSet<String> = had.iter().flatten().cloned().collect();
        let of_cell = |e: &&mut Edit| !matches!(e.column, Column::Frame | Column::Roll);
        let mut cells: BTreeMap<(RollName, FrameNumber), Vec<&mut Edit>> = BTreeMap::new();
        for edit in self.all.iter_mut().filter(of_cell) {
            cells.entry((edit.roll.clone(), edit.frame)).or_default().push(edit);
        }
        for ((roll_name, number), mine) in cells {
            let place = format!("roll {roll_name} frame {number}");
            let mut tell = |text: String| notices.push(Notice { place: place.clone(), text });
            let Some(roll) = trip.rolls.iter_mut().find(|r| r.name == roll_name) else {
                tell(format!("there is no such roll any more; {} edits wait for it", mine.len()));
                continue;
            };
            let Some(frame) = frame_of(roll, number, &mine) else {
                tell(format!("there is no such frame any more; {} edits wait for it", mine.len()));
                continue;
            };
            let evidence: HashMap<&str, String> = cells_of(&roll_name, frame);
            OneFrame { frame, kit, known_scans: &known_scans, evidence, tell: &mut tell }.lay(mine);
            depth(frame, kit);
            review(frame, kit, unsure_below);
        }
        self.share_scans(trip);
        none_lost(trip, &had);
        for roll in &mut trip.rolls {
            if self.all.iter().any(|e| e.roll == roll.name) {
                let exposed = |e: &&Edit| e.roll == roll.name && e.column.bears_on_exposure();
                let by_hand: HashSet<FrameNumber> = self.all.iter().filter(exposed).map(|e| e.frame).collect();
                settle_again(roll, &by_hand, kit, unsure_below);
                self.flags(roll, kit, unsure_below);
                whole_roll(roll);
            }
        }
        notices
    }

    /// A scan given to a frame by hand is no other frame's.
    fn share_scans(&self, trip: &mut Trip) {
        let edited: HashSet<(&RollName, FrameNumber)> =
            self.all.iter().filter(|e| e.column == Column::Scan).map(|e| (&e.roll, e.frame)).collect();
        let given: HashMap<String, String> = trip
            .rolls
            .iter()
            .flat_map(|r| r.frames.iter().map(move |f| (&r.name, f)))
            .filter(|(roll, f)| edited.contains(&(*roll, f.number)))
            .flat_map(|(roll, f)| {
                f.scans.iter().map(move |s| (s.clone(), format!("frame {} of roll {roll}", f.number)))
            })
            .collect();
        for roll in &mut trip.rolls {
            roll.other_scans.retain(|s| !given.contains_key(s));
            for frame in roll.frames.iter_mut().filter(|f| !edited.contains(&(&roll.name, f.number))) {
                let Some(owner) = frame.scans.iter().find_map(|s| given.get(s)).cloned() else { continue };
                frame.scans.retain(|s| !given.contains_key(s));
                if frame.scans.is_empty() && frame.status == Status::Ok {
                    frame.status = Status::Unscanned;
                }
                frame.flag(Flag::Unsure(Field::Scan), format!("its scan was given to {owner} by hand"));
            }
            // Nothing was known of these but the scan.
            let edits = |n| self.all.iter().any(|e| e.roll == roll.name && e.frame == n);
            roll.frames.retain(|f| {
                f.status != Status::Unnoted
                    || !f.scans.is_empty()
                    || !f.flags.contains(&Flag::Unsure(Field::Scan))
                    || f.confidence().is_some()
                    || edits(f.number)
            });
        }
    }

    /// Flags taken away or left open, as long as what they spoke of stands, and flags set.
    fn flags(&mut self, roll: &mut Roll, kit: &Kit, unsure_below: f64) {
        let name = roll.name.clone();
        let mut edits: Vec<&mut Edit> =
            self.all.iter_mut().filter(|e| e.column == Column::Flags && e.roll == name).collect();
        // With a number goes what hangs on it; what is in doubt in itself comes after.
        let number = Flag::Unsure(Field::Frame).to_string();
        edits.sort_by_key(|e| e.flag() != number);
        for edit in edits {
            if edit.flag() == UNREAD {
                let frame = roll.frames.iter_mut().find(|f| f.number == edit.frame);
                if let Some(frame) = frame.filter(|f| edit.evidence.as_ref() == Some(&unread(f))) {
                    frame.said.iter_mut().for_each(|q| q.unread.clear());
                }
                continue;
            }
            let Ok(flag) = edit.flag().parse::<Flag>() else { continue };
            let Some(frame) = roll.frames.iter_mut().find(|f| f.number == edit.frame) else { continue };
            if !edit.now.is_empty() && !edit.leaves_open() {
                frame.flag(flag, edit.evidence.clone().unwrap_or_else(|| "set by hand".to_owned()));
                continue;
            }
            let (value, others) = ground(&name, frame, flag);
            let stands = edit.evidence.as_ref() == Some(&value) && *edit.seen.get_or_insert(others.clone()) == others;
            if !stands || !frame.flags.contains(&flag) {
                continue;
            }
            if edit.leaves_open() {
                frame.looked_at.push(flag);
                continue;
            }
            frame.unflag(flag);
            match flag {
                Flag::Unsure(Field::Frame) => {
                    sure_of_number(frame);
                    review(frame, kit, unsure_below);
                }
                Flag::Unsure(field) | Flag::Conflict(field) => {
                    if let Some(ground) = frame.ground_mut(field) {
                        ground.confirm();
                    }
                }
                Flag::GuessScan => frame.scan_confidence = 1.0,
                Flag::Odd(_) | Flag::Shake | Flag::Carried(_) | Flag::GoneClip => {}
            }
        }
    }
}

/// What a flag speaks of: the value, and what else it could be.
pub(super) fn ground(roll: &RollName, frame: &Frame, flag: Flag) -> (String, String) {
    let cells = cells_of(roll, frame);
    let value = about(flag, |c| cells.get(c).cloned());
    let mut others: Vec<String> = match flag {
        Flag::Unsure(field) | Flag::Conflict(field) => frame.readings(field).into_iter().map(|r| r.value).collect(),
        // What is unusual for the light is so beside the other settings.
        Flag::Odd(_) => {
            ["shutter", "aperture", "filter", "light"].iter().filter_map(|c| cells.get(c).cloned()).collect()
        }
        Flag::Carried(_) | Flag::Shake | Flag::GuessScan | Flag::GoneClip => Vec::new(),
    };
    others.sort();
    others.dedup();
    (value, others.join("|"))
}

/// Stands for a flag where words that were not used were looked at.
const UNREAD: &str = "unread";

/// The words of a frame that were not used.
pub fn unread(frame: &Frame) -> String {
    frame.said.iter().flat_map(|q| q.unread_words()).collect::<Vec<_>>().join(", ")
}

impl Edit {
    /// Words that were not used, looked at. It holds until there are others.
    pub fn read(roll: &RollName, frame: &Frame) -> Self {
        Self { evidence: Some(unread(frame)), ..Self::new(roll, frame.number, Column::Flags, UNREAD, "") }
    }

    /// A flag looked at: found right, or `open` and left so. It holds until what it speaks of, or
    /// another reading of that, changes.
    pub fn looked_at(roll: &RollName, frame: &Frame, flag: Flag, open: bool) -> Self {
        let (value, others) = ground(roll, frame, flag);
        let code = flag.to_string();
        let now = if open { code.as_str() } else { "" };
        let edit = Self::new(roll, frame.number, Column::Flags, &code, now);
        Self { evidence: Some(value), seen: Some(others), ..edit }
    }
}

/// The frame that edits are of; made when its row was added by hand.
fn frame_of<'a>(roll: &'a mut Roll, number: FrameNumber, edits: &[&mut Edit]) -> Option<&'a mut Frame> {
    let at = match roll.frames.iter().position(|f| f.number == number) {
        Some(at) => at,
        None => {
            edits.iter().find(|e| e.makes_a_frame())?;
            let at = roll.frames.iter().position(|f| f.number > number).unwrap_or(roll.frames.len());
            roll.frames.insert(at, Frame::blank(number, Status::Unscanned));
            at
        }
    };
    roll.frames.get_mut(at)
}

fn cells_of(roll: &RollName, frame: &Frame) -> HashMap<&'static str, String> {
    cells(roll, frame).into_iter().collect()
}

/// Drops flags and their reasons.
/// A scan that was taken from its frame and shows no other is still the roll's. `had`: each roll's before.
fn none_lost(trip: &mut Trip, had: &[Vec<String>]) {
    let shown = trip.rolls.iter().flat_map(|r| r.frames.iter().flat_map(|f| &f.scans).chain(&r.other_scans));
    let shown: HashSet<String> = shown.cloned().collect();
    for (roll, had) in trip.rolls.iter_mut().zip(had) {
        roll.other_scans.extend(had.iter().filter(|s| !shown.contains(*s)).cloned());
    }
}

fn unflag(frame: &mut Frame, gone: impl Fn(Flag) -> bool) {
    frame.flags.retain(|f| !gone(*f));
    frame.reasons.retain(|(f, _)| !gone(*f));
}

/// The settings that hold for the whole roll follow its frames when these agree.
fn whole_roll(roll: &mut Roll) {
    fn agreed<T: Clone + PartialEq>(frames: &[Frame], of: impl Fn(&Frame) -> Option<&Settled<T>>) -> Option<T> {
        let first = of(frames.first()?)?.value.clone();
        frames.iter().all(|f| of(f).is_some_and(|s| s.value == first)).then_some(first)
    }
    let frames = &roll.frames;
    roll.camera = agreed(frames, |f| f.camera.as_ref()).or(roll.camera.take());
    roll.film = agreed(frames, |f| f.film.as_ref()).or(roll.film.take());
    roll.ei = agreed(frames, |f| f.ei.as_ref()).or(roll.ei.take());
    roll.process = agreed(frames, |f| f.process.as_ref()).or(roll.process.take());
}

/// One frame while its edits are laid over it.
struct OneFrame<'a> {
    frame: &'a mut Frame,
    kit: &'a Kit,
    known_scans: &'a HashSet<String>,
    /// What its cells were before.
    evidence: HashMap<&'static str, String>,
    tell: &'a mut dyn FnMut(String),
}

impl OneFrame<'_> {
    fn lay(mut self, edits: Vec<&mut Edit>) {
        let edited: Vec<Column> = edits.iter().map(|e| e.column).collect();
        let mut conflicts = Vec::new();
        // One of two degrees is no place.
        let degrees = |c: &Column| matches!(c, Column::Lat | Column::Lon);
        let half_a_place = self.frame.position.is_none() && edited.iter().filter(|c| degrees(c)).count() == 1;
        for edit in edits.into_iter().filter(|e| e.column != Column::Flags) {
            let says = self.evidence.get(edit.column.as_str()).cloned().unwrap_or_default();
            // A row added by hand has no status of its own once the frame is known.
            let made_up = edit.column == Column::Status && edit.was.is_empty() && edit.now == "unscanned";
            if made_up && self.frame.status != Status::Unscanned {
                continue;
            }
            if half_a_place && degrees(&edit.column) && !edit.now.is_empty() || !self.set(edit) {
                (self.tell)(format!("{} '{}' cannot be used here; the edit waits", edit.column, edit.now));
                continue;
            }
            let moved = !edit.column.same(&edit.was, &says).is_same() && !edit.column.same(&edit.now, &says).is_same();
            if moved && !made_up {
                conflicts.push((edit.column, reason(edit, &says)));
            }
            edit.evidence = Some(says);
        }
        self.follow(&edited);
        for (column, reason) in conflicts {
            match column.as_str().parse() {
                Ok(field) => self.frame.flag(Flag::Conflict(field), reason),
                Err(()) => (self.tell)(format!("{column}: {reason}")),
            }
        }
    }

    /// Sets one cell; `false` when the value fits nowhere.
    fn set(&mut self, edit: &Edit) -> bool {
        let (now, kit) = (edit.now.as_str(), self.kit);
        let ground = Ground::of(edit);
        let f = &mut *self.frame;
        let fits = match edit.column {
            Column::Status => match now {
                "wasted" => assign(&mut f.status, Some(Status::Wasted)),
                "unscanned" => assign(&mut f.status, Some(Status::Unscanned)),
                "unnoted" => assign(&mut f.status, Some(Status::Unnoted)),
                "ok" => assign(&mut f.status, Some(Status::Ok)),
                _ => false,
            },
            Column::Scan => return self.set_scans(now),
            Column::Taken => match now {
                "" => assign(&mut f.taken, Some(None)),
                _ => assign(&mut f.taken, taken(now).map(Some)),
            },
            Column::Camera => ground.put(&mut f.camera, named(now, kit.cameras.iter().map(|c| &c.name))),
            Column::Lens => ground.put(&mut f.lens, named(now, kit.lenses.iter().map(|l| &l.name))),
            Column::Film => ground.put(&mut f.film, named(now, kit.films.iter().map(|f| &f.name))),
            Column::FocalMm => ground.put_parsed(&mut f.focal_mm, now),
            Column::BoxIso => optional(&mut f.box_iso, now, |n| n.parse().ok().and_then(BoxSpeed::new)),
            Column::Ei => ground.put_read(&mut f.ei, now, |n| n.parse().ok().and_then(ExposureIndex::new)),
            Column::Shutter => ground.put_parsed::<Shutter>(&mut f.shutter, now),
            Column::Aperture => ground.put_parsed::<Aperture>(&mut f.aperture, now),
            Column::Filter => ground.put(&mut f.filter, (!now.is_empty()).then(|| filters(now, kit))),
            Column::FilterStops => optional(&mut f.filter_stops, now, |n| n.parse().ok().map(Stops::new)),
            Column::CompStops => ground.put_read(&mut f.comp, now, |n| n.parse().ok().map(Stops::new)),
            Column::Light => ground.put(&mut f.light, text(now)),
            Column::Support => ground.put(&mut f.support, text(now)),
            Column::Subject => ground.put(&mut f.subject, text(now)),
            Column::Place => ground.put(&mut f.place, text(now)),
            Column::Process => ground.put(&mut f.process, text(now)),
            Column::Lat | Column::Lon => set_degrees(f, edit.column, now),
            Column::Rating => optional(&mut f.rating, now, |n| n.parse().ok().filter(|r| (1..=5).contains(r))),
            Column::Remark => assign(&mut f.remark, Some(text(now))),
            Column::Flags | Column::Frame | Column::Roll => true,
        };
        if fits && let Ok(field) = edit.column.as_str().parse::<Field>() {
            let steady = matches!(field, Field::Shutter | Field::FocalMm | Field::Lens | Field::Support);
            unflag(f, |flag| match flag {
                Flag::Unsure(x) | Flag::Carried(x) | Flag::Odd(x) | Flag::Conflict(x) => x == field,
                Flag::Shake => steady,
                Flag::GuessScan | Flag::GoneClip => false,
            });
            if edit.guessed {
                f.flag(Flag::Unsure(field), format!("the table held a date; taken for {now}"));
            }
        }
        fits
    }

    fn set_scans(&mut self, now: &str) -> bool {
        let names = scans::names(now);
        if !names.iter().all(|n| self.known_scans.contains(n)) {
            return false;
        }
        self.frame.scans = names;
        self.frame.scan_confidence = 1.0;
        unflag(self.frame, |f| {
            f == Flag::GuessScan || f == Flag::Unsure(Field::Scan) || f == Flag::Conflict(Field::Scan)
        });
        true
    }

    /// What follows from an edit and was not edited itself.
    fn follow(&mut self, edited: &[Column]) {
        let (f, kit) = (&mut *self.frame, self.kit);
        let new = |column, unless| edited.contains(&column) && !edited.contains(&unless);
        if new(Column::Lens, Column::FocalMm) {
            let lens = f.lens.as_ref().and_then(|l| kit.lenses.iter().find(|k| k.name == l.value));
            if let (Some(Focal::Prime(mm)), Some(named)) = (lens.map(|l| l.focal), &f.lens) {
                f.focal_mm = Some(Settled::from_one(mm, named.confidence, Source::Edit));
                unflag(f, |flag| matches!(flag, Flag::Unsure(Field::FocalMm) | Flag::Carried(Field::FocalMm)));
            }
        }
        if edited.contains(&Column::Film) {
            let film = f.film.as_ref().and_then(|s| kit.films.iter().find(|k| k.name == s.value));
            if let (Some(film), false) = (film, edited.contains(&Column::BoxIso)) {
                f.box_iso = Some(film.iso);
            }
            if f.ei.is_some() && !edited.contains(&Column::Ei) {
                f.flag(Flag::Unsure(Field::Ei), "the film was changed by hand, the index was not");
            }
        }
        if new(Column::Filter, Column::FilterStops) {
            f.filter_stops = f.filter.as_ref().and_then(|filters| lost(&filters.value, kit));
        }
        if new(Column::Scan, Column::Status) {
            f.status = match (f.status, f.scans.is_empty()) {
                (Status::Unscanned, false) => Status::Ok,
                (Status::Ok, true) => Status::Unscanned,
                (other, _) => other,
            };
        }
    }
}

fn reason(edit: &Edit, says: &str) -> String {
    let shown = |t: &str| if t.is_empty() { "nothing".to_owned() } else { t.to_owned() };
    format!("changed by hand from {} to {}; the evidence now says {}", shown(&edit.was), shown(&edit.now), shown(says))
}

/// How an edited value stands.
struct Ground {
    confidence: Confidence,
    why: String,
}

impl Ground {
    fn of(edit: &Edit) -> Self {
        let was = if edit.was.is_empty() { "nothing" } else { &edit.was };
        let confidence = if edit.guessed { Confidence::new(GUESSED) } else { Confidence::SURE };
        Self { confidence, why: format!("changed by hand; it was {was}") }
    }

    fn put<T: PartialEq>(&self, slot: &mut Option<Settled<T>>, now: Option<T>) -> bool {
        let old = slot.take();
        *slot = now.map(|value| {
            let mut settled = Settled::from_one(value, self.confidence, Source::Edit);
            settled.why.push(self.why.clone());
            if let Some(old) = old {
                let source = old.sources.first().copied().unwrap_or(Source::Voice);
                let before = Reading::new(old.value, old.confidence, source);
                settled.others =
                    std::iter::once(before).chain(old.others).filter(|r| r.value != settled.value).collect();
            }
            settled
        });
        true
    }

    fn put_read<T: PartialEq>(
        &self,
        slot: &mut Option<Settled<T>>,
        now: &str,
        read: impl Fn(&str) -> Option<T>,
    ) -> bool {
        if now.is_empty() {
            return self.put(slot, None);
        }
        read(now).is_some_and(|value| self.put(slot, Some(value)))
    }

    fn put_parsed<T: PartialEq + FromStr>(&self, slot: &mut Option<Settled<T>>, now: &str) -> bool {
        self.put_read(slot, now, |n| n.parse().ok())
    }
}

fn assign<T>(slot: &mut T, now: Option<T>) -> bool {
    now.map(|value| *slot = value).is_some()
}

fn optional<T>(slot: &mut Option<T>, now: &str, read: impl Fn(&str) -> Option<T>) -> bool {
    if now.is_empty() { assign(slot, Some(None)) } else { assign(slot, read(now).map(Some)) }
}

fn text(now: &str) -> Option<String> {
    (!now.is_empty()).then(|| now.to_owned())
}

/// A name as the kit writes it, else as typed.
fn named<'a>(now: &str, mut names: impl Iterator<Item = &'a String>) -> Option<String> {
    let lower = now.to_lowercase();
    text(now).map(|typed| names.find(|n| n.to_lowercase() == lower).cloned().unwrap_or(typed))
}

fn filters(now: &str, kit: &Kit) -> Filters {
    let typed = Filters::from(now.to_owned());
    Filters(typed.0.iter().filter_map(|name| named(name, kit.filters.iter().map(|f| &f.name))).collect())
}

/// Light lost to a stack; none when one of them is not in the kit.
fn lost(filters: &Filters, kit: &Kit) -> Option<Stops> {
    filters.0.iter().map(|name| kit.filters.iter().find(|f| f.name == *name).map(|f| f.lost)).sum()
}

fn taken(now: &str) -> Option<Taken> {
    let when = when::readings(now).into_iter().next()?;
    Some(Taken { local: when.local, offset_s: when::offset_seconds(&when.offset), known_by: KnownBy::Edit })
}

/// One of the two degrees; the other keeps its value, or is set by its own edit.
fn set_degrees(frame: &mut Frame, column: Column, now: &str) -> bool {
    if now.is_empty() {
        frame.position = None;
        return true;
    }
    let Ok(degrees) = now.parse::<f64>() else { return false };
    let old = frame.position.unwrap_or(Position { lat: 0.0, lon: 0.0 });
    let new = if column == Column::Lat { Position::new(degrees, old.lon) } else { Position::new(old.lat, degrees) };
    assign(&mut frame.position, new.map(Some))
}
