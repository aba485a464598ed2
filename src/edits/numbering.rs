//! Frames renumbered, taken out and joined, and rolls given another name, by hand.
//!
//! Laid over the evidence before any cell: from here on, a frame is known by the number that it
//! was given.

use super::fate::Fate;
use super::{Column, Edit, Edits, Notice};
use crate::facts::{Field, Flag, FrameNumber, Reading, RollName, Settled, Source};
use crate::kit::Kit;
use crate::roll::HANGS_ON_NUMBER;
use crate::roll::{Frame, Roll, Status, Trip, review};
use std::collections::BTreeMap;

impl Edits {
    /// Gives frames other numbers, all at once, so that two may change places. Each is named by
    /// the number that it has now. Edits of their cells go with them.
    pub fn move_numbers(&mut self, moves: &[(RollName, FrameNumber, Fate)]) {
        let fate_of = |roll: &RollName, frame| moves.iter().find(|(r, f, _)| r == roll && *f == frame).map(|m| m.2);
        let mut numbers: Vec<Edit> = Vec::new();
        for (roll, shown, fate) in moves {
            let of = |e: &&Edit| e.column == Column::Frame && e.roll == *roll;
            let known = self.all.iter().filter(of).find(|e| e.now == shown.to_string());
            let mine = |e: &Edit| e.roll == *roll && e.frame == *shown;
            let own = match known {
                Some(edit) => edit.clone(),
                // A frame that was made by hand has no number of the evidence to be changed.
                None if self.all.iter().any(|e| mine(e) && e.makes_a_frame()) => continue,
                // Moved already: this was found once more after a run that was broken off.
                None if self.all.iter().any(|e| e.column == Column::Frame && mine(e)) => continue,
                None => Edit::new(roll, *shown, Column::Frame, &shown.to_string(), ""),
            };
            numbers.push(Edit { now: fate.cell(), ..own });
        }
        // What was joined to a frame goes where that goes.
        for edit in self.all.iter_mut().filter(|e| e.column == Column::Frame) {
            if let Some(Fate::With(n)) = Fate::of(&edit.now)
                && let Some(fate) = fate_of(&edit.roll, n)
            {
                edit.now = match fate {
                    Fate::Number(to) => Fate::With(to).cell(),
                    other => other.cell(),
                };
            }
        }
        let stays = |e: &Edit| e.column == Column::Frame && !numbers.iter().any(|n| n.same_cell(e));
        let (kept, cells): (Vec<Edit>, Vec<Edit>) =
            std::mem::take(&mut self.all).into_iter().partition(|e| matches!(e.column, Column::Frame | Column::Roll));
        self.all = kept.into_iter().filter(|e| e.column == Column::Roll || stays(e)).collect();
        self.all.extend(numbers.into_iter().filter(|e| e.now != e.frame.to_string()));
        let (moved, still): (Vec<Edit>, Vec<Edit>) =
            cells.into_iter().partition(|e| fate_of(&e.roll, e.frame).is_some());
        self.all.extend(still);
        for edit in moved {
            let to = match fate_of(&edit.roll, edit.frame) {
                Some(Fate::Number(n)) => n,
                Some(Fate::With(n)) if !edit.makes_a_frame() => n,
                _ => continue,
            };
            let edit = Edit { frame: to, ..edit };
            if !self.all.iter().any(|e| e.same_cell(&edit)) {
                self.all.push(edit);
            }
        }
        self.sort();
    }

    /// Gives a roll another name; edits of its frames go with it. `shown` is the name that it has now.
    pub fn rename_roll(&mut self, shown: &RollName, now: &RollName) {
        let known = self.all.iter().position(|e| e.column == Column::Roll && e.now == shown.as_str());
        for edit in self.all.iter_mut().filter(|e| e.column != Column::Roll && e.roll == *shown) {
            edit.roll = now.clone();
        }
        match known {
            Some(at) => self.all[at].now = now.to_string(),
            None => {
                self.all.push(Edit::new(shown, FrameNumber::DOUBLE_ZERO, Column::Roll, shown.as_str(), now.as_str()));
            }
        }
        self.all.retain(|e| e.column != Column::Roll || e.now != e.was);
        self.sort();
    }

    /// Names and numbers as they were given by hand.
    pub(super) fn lay_numbers(&mut self, trip: &mut Trip, kit: &Kit, unsure_below: f64) -> Vec<Notice> {
        let mut notices = Vec::new();
        for edit in self.all.iter().filter(|e| e.column == Column::Roll) {
            let Ok(name) = RollName::new(&edit.now) else { continue };
            let another = trip.rolls.iter().any(|r| r.name == name && r.name != edit.roll);
            match trip.rolls.iter_mut().find(|r| r.name == edit.roll) {
                Some(roll) if !another => roll.name = name,
                Some(_) => notices.push(waits(edit, "there is a roll of that name now")),
                None => notices.push(waits(edit, "there is no such roll any more")),
            }
        }
        trip.rolls.sort_by(|a, b| a.name.cmp(&b.name));
        for roll in &mut trip.rolls {
            let mine = |e: &&mut Edit| e.column == Column::Frame && e.roll == roll.name;
            let edits: Vec<&mut Edit> = self.all.iter_mut().filter(mine).collect();
            if !edits.is_empty() {
                notices.extend(number(roll, edits, kit, unsure_below));
            }
        }
        notices
    }
}

fn waits(edit: &Edit, why: &str) -> Notice {
    Notice {
        place: format!("roll {}", edit.roll),
        text: format!("'{}' -> '{}': {why}; the edit waits", edit.was, edit.now),
    }
}

/// What a frame is known by, whatever its number: its first words, else its first scan.
pub(super) fn known_by(frame: &Frame) -> String {
    match (frame.said.first(), frame.scans.first()) {
        (Some(quote), _) => format!("{} {:.1} {}", quote.at.clip, quote.at.at_s, quote.text),
        (None, Some(scan)) => scan.clone(),
        (None, None) => String::new(),
    }
}

/// Lays the numbers of one roll.
fn number(roll: &mut Roll, edits: Vec<&mut Edit>, kit: &Kit, unsure_below: f64) -> Vec<Notice> {
    let mut notices = Vec::new();
    let mut fates: BTreeMap<usize, Fate> = BTreeMap::new();
    for edit in edits {
        let by_number = roll.frames.iter().position(|f| f.number == edit.frame);
        let is_it = |i: &usize| edit.seen.as_ref().is_none_or(|seen| *seen == known_by(&roll.frames[*i]));
        // Where the evidence counts otherwise now, the frame is found by its words.
        let found = by_number.filter(is_it).or_else(|| (0..roll.frames.len()).find(is_it)).or(by_number);
        match (found, Fate::of(&edit.now)) {
            (Some(at), Some(fate)) => {
                edit.seen.get_or_insert_with(|| known_by(&roll.frames[at]));
                fates.insert(at, fate);
            }
            _ => notices.push(waits(edit, "there is no such frame any more")),
        }
    }
    // Nothing may take a number that another frame has.
    loop {
        let number = |i: usize| match fates.get(&i) {
            None => Some(roll.frames[i].number),
            Some(Fate::Number(n)) => Some(*n),
            Some(_) => None,
        };
        let taken = |n: FrameNumber, but: usize| (0..roll.frames.len()).any(|i| i != but && number(i) == Some(n));
        let wrong = fates.iter().find(|(i, fate)| match fate {
            Fate::Number(n) => taken(*n, **i),
            Fate::With(n) => !taken(*n, **i),
            Fate::Out => false,
        });
        let Some((&i, fate)) = wrong else { break };
        let place = format!("roll {} frame {}", roll.name, roll.frames[i].number);
        notices.push(Notice { place, text: format!("cannot be '{}' now; the edit waits", fate.cell()) });
        fates.remove(&i);
    }
    let mut stay = Vec::new();
    let mut join = Vec::new();
    for (i, mut frame) in std::mem::take(&mut roll.frames).into_iter().enumerate() {
        match fates.get(&i) {
            Some(Fate::Out) => take_out(frame, &mut roll.other_scans, &mut roll.remarks),
            Some(Fate::With(n)) => join.push((*n, frame)),
            Some(Fate::Number(n)) => {
                frame.number = *n;
                sure_of_number(&mut frame);
                review(&mut frame, kit, unsure_below);
                stay.push(frame);
            }
            None => stay.push(frame),
        }
    }
    for (n, frame) in join {
        if let Some(at) = stay.iter_mut().find(|f| f.number == n) {
            joined(at, frame);
        }
    }
    stay.sort_by_key(|f| f.number);
    roll.frames = stay;
    notices
}

/// A frame that is none: its scans stay with the roll, and so do its words.
fn take_out(frame: Frame, scans: &mut Vec<String>, remarks: &mut Vec<String>) {
    scans.extend(frame.scans);
    let said: Vec<String> = frame.said.into_iter().map(|q| format!("\"{}\"", q.text)).collect();
    if !said.is_empty() {
        remarks.push(format!("frame {} was taken out by hand; there was said {}", frame.number, said.join(", ")));
    }
}

/// How sure a value is that was in doubt for its frame's number alone, once that is settled, where
/// no other reading tells: as sure as single readings are found to be (table of reliability in
/// `DEVELOPERS.md`).
const HEARD_ALONE: f64 = 0.95;

/// The number was settled by hand, and with it what was in doubt for the number alone. What is in
/// doubt in itself still is: the frame is to be reviewed anew.
pub(super) fn sure_of_number(frame: &mut Frame) {
    frame.number_confidence = 1.0;
    frame.unflag(Flag::Unsure(Field::Frame));
    let hung: Vec<Flag> =
        frame.reasons.iter().filter(|(_, why)| why == HANGS_ON_NUMBER).map(|(flag, _)| *flag).collect();
    for flag in hung {
        if let Flag::Unsure(field) = flag {
            frame.unflag(flag);
            if let Some(ground) = frame.ground_mut(field) {
                ground.believe(HEARD_ALONE);
            }
        }
    }
}

/// Two rows that are one frame: what the first does not have it takes from the second, and where
/// both have something else it is in doubt.
fn joined(first: &mut Frame, second: Frame) {
    fn lay<T: Clone + PartialEq>(a: &mut Option<Settled<T>>, b: Option<Settled<T>>) -> bool {
        match (a, b) {
            (Some(a), Some(b)) if a.value != b.value => {
                let source = b.sources.first().copied().unwrap_or(Source::Voice);
                a.others.insert(0, Reading::new(b.value, b.confidence, source));
                true
            }
            (a @ None, b) => {
                *a = b;
                false
            }
            _ => false,
        }
    }
    let number = second.number;
    let differ = [
        (Field::Camera, lay(&mut first.camera, second.camera)),
        (Field::Lens, lay(&mut first.lens, second.lens)),
        (Field::Film, lay(&mut first.film, second.film)),
        (Field::FocalMm, lay(&mut first.focal_mm, second.focal_mm)),
        (Field::Ei, lay(&mut first.ei, second.ei)),
        (Field::Shutter, lay(&mut first.shutter, second.shutter)),
        (Field::Aperture, lay(&mut first.aperture, second.aperture)),
        (Field::Filter, lay(&mut first.filter, second.filter)),
        (Field::CompStops, lay(&mut first.comp, second.comp)),
        (Field::Light, lay(&mut first.light, second.light)),
        (Field::Support, lay(&mut first.support, second.support)),
        (Field::Subject, lay(&mut first.subject, second.subject)),
        (Field::Place, lay(&mut first.place, second.place)),
        (Field::Process, lay(&mut first.process, second.process)),
    ];
    first.scans.extend(second.scans.into_iter().filter(|s| !first.scans.contains(s)).collect::<Vec<_>>());
    first.said.extend(second.said);
    first.taken = first.taken.take().or(second.taken);
    first.position = first.position.or(second.position);
    if first.status != Status::Wasted && (second.status == Status::Ok || !first.scans.is_empty()) {
        first.status = if first.scans.is_empty() { Status::Unscanned } else { Status::Ok };
    }
    for (field, _) in differ.into_iter().filter(|(_, differs)| *differs) {
        first.flag(Flag::Unsure(field), format!("frame {number}, which was joined to it, had another"));
    }
}
