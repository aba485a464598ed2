//! Which number a frame has, and on which roll it therefore is: what was said against what was counted.

use super::state::{Shot, State};
use super::statement::FrameHeard;
use crate::facts::{FrameNumber, RollName};
use crate::language::compose::Sure;

/// How sure the number of a frame is that was only counted.
pub(super) const COUNTED: f64 = 0.9;
/// Frames that a film may hold beyond what it should.
const SPARE: i16 = 3;
/// A number word with no word for frames, less sure than this, does not send the talk back to a frame told before.
const SURE_NUMBER: f64 = 0.7;
/// A frame less likely than this is none where a number said leaves no room for it.
const DROPPED: f64 = 0.9;

impl State<'_> {
    /// The number said of a frame, if a roll of the camera can have it.
    pub(super) fn number_of(&mut self, heard: &FrameHeard, camera: Option<usize>) -> Option<FrameNumber> {
        let heard_number = heard.said.number.as_ref()?;
        let body = self.body(camera);
        let most = body.filter(|c| !c.format.is_sheet()).map_or(i16::MAX, |c| c.frames as i16 + SPARE);
        let sheets = body.is_some_and(|c| c.format.is_sheet());
        // A number that the film does not have sounds like one that it has: "thirty", thirteen.
        let readings = std::iter::once(heard_number.value).chain(heard_number.others.iter().map(|o| o.0));
        let mut said = readings.into_iter().find(|n| n.place() <= most)?;
        // "Two of those, and that's my twelve": it is the last one's.
        let r = self.roll_in(camera);
        // "Holder four", where sides are told: its first side, then its second.
        let sides = self.rolls[r].shots.iter().any(|s| s.frame.number.has_side());
        if sheets && sides && !said.has_side() {
            let used = self.rolls[r].shots.iter().any(|s| s.frame.number == said.with_a());
            said = if used { said.with_b() } else { said.with_a() };
        }
        let first = heard.at.1 == 0 && heard.together > 1;
        if first && said == self.following(r).moved(heard.together as i16 - 1) || self.shifted == Some(heard.at.0) {
            self.shifted = Some(heard.at.0);
            said = self.following(r);
        }
        // "On thirty-one, the clock was …": a roll's name.
        let known = self.rolls[r].shots.iter().any(|s| s.frame.number == said);
        // "Wasted one, it went off": no number.
        let doubtful = heard_number.sure < SURE_NUMBER || known && said == FrameNumber::new(1);
        if heard.bare_number && said != self.following(r) && doubtful && !said.has_side() {
            return None;
        }
        if !known && said != self.following(r) {
            let roll = RollName::new(&said.to_string()).ok().and_then(|n| self.named(&n));
            if roll.is_some() {
                self.topic = roll;
                return None;
            }
        }
        (said.place() <= most).then_some(said)
    }

    /// Turns to the roll that a number goes on with, where that in hand does not and just one other
    /// does; whether the roll in hand has the number too, so that it is in doubt which is meant.
    pub(super) fn turn_by_count(&mut self, number: FrameNumber, heard: &FrameHeard) -> bool {
        let Some(r) = self.hand(self.camera).roll else { return false };
        // "Ten on the colour."
        if let Some(topic) = self.topic {
            if topic != r && !self.rolls[topic].ended && self.following(topic) == number {
                self.turn_to(topic);
            }
            return false;
        }
        // "Roll sixty-four, at four hundred. Last was nine, the bandstand": told backwards, not of the roll before.
        if heard.past && self.rolls[r].shots.is_empty() {
            return false;
        }
        let known = self.rolls[r].shots.iter().any(|s| s.frame.number == number);
        let told = heard.said.shutter.is_some() || heard.said.aperture.is_some() || heard.same.is_some();
        if self.following(r) == number || self.rolls[r].ended || !told && known {
            return false;
        }
        let open =
            |o: &usize| *o != r && !self.rolls[*o].ended && !self.is_full(*o) && self.rolls[*o].counter.is_some();
        let others: Vec<usize> = (0..self.rolls.len()).filter(open).filter(|o| self.following(*o) == number).collect();
        let [one] = others[..] else { return false };
        self.turn_to(one);
        known
    }

    /// A number with a side is a sheet's; one without, among sheets that all have one, is that of the roll that it
    /// goes on with.
    pub(super) fn turn_by_side(&mut self, heard: &FrameHeard) {
        let Some(number) = heard.said.number.as_ref().map(|n| n.value) else { return };
        let sheets = |c: usize| self.kit.cameras[c].format.is_sheet();
        let in_hand = self.camera.is_some_and(sheets);
        if number.has_side() && !in_hand {
            let mut all = (0..self.kit.cameras.len()).filter(|c| sheets(*c));
            if let (Some(one), None) = (all.next(), all.next()) {
                self.turn(one);
            }
        } else if !number.has_side() && in_hand {
            let Some(r) = self.hand(self.camera).roll else { return };
            let sided = self.rolls[r].shots.iter().all(|s| s.frame.number.has_side());
            let open = |o: &usize| {
                let roll = &self.rolls[*o];
                !roll.camera.is_some_and(sheets)
                    && !roll.ended
                    && roll.counter.is_some()
                    && self.following(*o) == number
            };
            let mut all = (0..self.rolls.len()).filter(open);
            if let (true, Some(one), None) = (sided, all.next(), all.next()) {
                self.turn_to(one);
            }
        }
    }

    /// "Holder one", then "one B": the first was its side A.
    pub(super) fn side_with(&mut self, r: usize, number: FrameNumber) {
        let sheets = self.body(self.rolls[r].camera).is_some_and(|c| c.format.is_sheet());
        if !number.has_side() || !sheets {
            return;
        }
        let other = if number.is_a() { number.with_b() } else { number.with_a() };
        let plain = |s: &&mut Shot| !s.frame.number.has_side() && s.frame.number.place() == number.place();
        if let Some(shot) = self.rolls[r].shots.iter_mut().find(plain) {
            shot.frame.number = other;
            shot.numbers = shot.numbers.iter().map(|(n, p)| (if n.has_side() { *n } else { other }, *p)).collect();
        }
    }

    /// "That's twelve by my reckoning": a number that nothing is told of, and that is not the next.
    pub(super) fn is_count(&mut self, heard: &FrameHeard, number: FrameNumber, camera: Option<usize>) -> bool {
        let s = &heard.said;
        let empty =
            s.unexposed() && s.subject.is_none() && s.light.is_none() && heard.same.is_none() && heard.gear.is_empty();
        let r = self.roll_in(camera);
        empty && number != self.following(r)
    }

    /// "Took two of that": the last frame, so many times.
    pub(super) fn count_on(&mut self, heard: &FrameHeard) {
        let Some(r) = self.hand(self.camera).roll else { return };
        let number = self.following(r);
        let Some(last) = self.rolls[r].shots.last().filter(|_| heard.at.1 > 0) else { return };
        let mut shot = Shot { numbers: Vec::new(), at: heard.at, ..last.clone() };
        shot.frame.number = number;
        shot.frame.number_confidence = COUNTED;
        self.rolls[r].counter = Some(number);
        self.rolls[r].shots.push(shot);
    }

    /// A number that does not go on from the count: where frames since the last number said may be
    /// none, or some may have been lost, the rows are numbered so that it does.
    pub(super) fn recount(&mut self, r: usize, number: FrameNumber, heard: &FrameHeard) {
        let whole = heard.said.exposed() || heard.same.is_some();
        let Some(counter) = self.rolls[r].counter.filter(|_| whole && !heard.past && heard.late.is_none()) else {
            return;
        };
        let roll = &mut self.rolls[r];
        let from = roll.shots.iter().rposition(|s| !s.numbers.is_empty()).map_or(0, |k| k + 1);
        let off = number.place() - counter.next().place();
        if off < 0 {
            let mut weak: Vec<usize> = (from..roll.shots.len()).filter(|k| roll.shots[*k].there < DROPPED).collect();
            weak.sort_by(|a, b| roll.shots[*a].there.total_cmp(&roll.shots[*b].there));
            weak.truncate(usize::from(off.unsigned_abs()));
            if weak.len() < usize::from(off.unsigned_abs()) {
                return;
            }
            for k in (from..roll.shots.len()).rev().filter(|k| weak.contains(k)).collect::<Vec<_>>() {
                roll.shots.remove(k);
                for s in &mut roll.shots[k..] {
                    s.frame.number = s.frame.number.moved(-1);
                }
            }
            roll.counter = Some(counter.moved(off));
        } else if off > 0 {
            let lost: Vec<usize> = roll.lost.iter().copied().filter(|k| *k >= from && *k < roll.shots.len()).collect();
            if lost.len() == usize::from(off.unsigned_abs()) {
                for k in lost {
                    for s in &mut roll.shots[k..] {
                        s.frame.number = s.frame.number.moved(1);
                    }
                }
            }
        }
    }

    /// The roll that a frame is on.
    pub(super) fn roll_for(&mut self, said: Option<FrameNumber>, camera: Option<usize>, heard: &FrameHeard) -> usize {
        if let Some(r) = self.topic.filter(|r| self.hands.values().all(|h| h.roll != Some(*r))) {
            let known = said.is_some_and(|n| self.rolls[r].shots.iter().any(|s| s.frame.number == n));
            if known {
                return r;
            }
        }
        let on = |r: usize| said.is_some_and(|n| self.rolls[r].shots.iter().any(|s| s.frame.number == n));
        // "The tape back was at eighty. Four was at eight": still of that roll.
        if let Some(r) = self.digressed.filter(|r| (heard.past || heard.said.wasted.is_some()) && on(*r)) {
            return r;
        }
        let r = self.roll_in(camera);
        let has = |n: FrameNumber| self.rolls[r].shots.iter().any(|s| s.frame.number == n);
        let known = said.is_some_and(has);
        let first = FrameNumber::new(self.kit.habits.frame_counts_from);
        let restarts = said == Some(first) && known && heard.said.exposed() && self.is_full(r);
        let begun = !self.rolls[r].shots.is_empty();
        if restarts || begun && (self.coming.is_some() || self.rolls[r].ended) && !known {
            return self.begin(camera);
        }
        r
    }
}

/// A number with the others it may be.
pub(super) fn numbers(said: &Sure<FrameNumber>) -> Vec<(FrameNumber, f64)> {
    std::iter::once((said.value, said.sure)).chain(said.others.iter().copied()).collect()
}
