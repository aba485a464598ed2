//! Frames onto rolls: which roll, which number, what is said of it and what is carried.

use super::describe::{describe, doubt};
use super::numbers::COUNTED;
use super::numbers::numbers;
use super::state::{Shot, State};
use super::statement::{FrameHeard, MAY_BEGIN, TOLD_BEFORE};
use crate::facts::{Field, Flag};
use crate::language::Aside;
use crate::roll::record::{Frame, Quote, Status};

/// So many frames called by their numbers, one after the other, make it the way of this roll.
const CALLED: usize = 3;

impl State<'_> {
    /// Takes a frame, or says more of one by its number.
    pub fn shoot(&mut self, heard: &FrameHeard, quote: Quote, unsure_below: f64) {
        if let Some(c) = heard.camera {
            self.turn(c);
        }
        if self.put_right(heard, &quote, unsure_below) {
            return;
        }
        if heard.camera.is_none() {
            self.turn_by_side(heard);
        }
        let camera = heard.camera.or(self.camera);
        let said = self.number_of(heard, camera);
        if said.is_none() && heard.said.again >= TOLD_BEFORE && !self.is_first(heard, camera) {
            self.again(heard, unsure_below);
            return;
        }
        let alone = said.filter(|_| heard.camera.is_none() && heard.late.is_none());
        let turned = alone.is_some_and(|n| self.turn_by_count(n, heard));
        let camera = heard.camera.or(self.camera);
        if said.is_some_and(|n| self.is_count(heard, n, camera)) {
            return;
        }
        if said.is_none() && self.is_more_of_the_last(heard, camera) {
            self.again(heard, unsure_below);
            return;
        }
        let r = self.roll_for(said, camera, heard);
        if let Some(n) = said {
            self.recount(r, n, heard);
        }
        let existing = said.and_then(|n| self.rolls[r].shots.iter().position(|s| s.frame.number == n));
        if let Some(k) = existing {
            self.rolls[r].shots[k].frame.said.push(quote);
            let last = if heard.onwards && !heard.gear.is_empty() { self.rolls[r].shots.len() - 1 } else { k };
            self.correct(r, k, heard, 0, unsure_below);
            for later in k + 1..=last {
                self.redress(r, later, heard);
            }
            return;
        }
        let (own_glass, own_filter) = (heard.tells_glass(), heard.tells_filter());
        for gear in &heard.gear {
            self.mount(gear, camera);
        }
        let number = said.unwrap_or_else(|| self.following(r));
        self.side_with(r, number);
        let mut frame = Frame::blank(number, Status::Ok);
        frame.said.push(quote);
        describe(&mut frame, &heard.said, 0);
        self.dress(&mut frame, camera, own_glass, own_filter);
        let told = self.convert(&heard.asides, camera);
        self.converted(&mut frame, camera, told);
        super::beside::beside(self.kit, &mut frame, &heard.asides);
        self.to_the_end(&mut frame, &heard.said, 0);
        if let Some(same) = heard.same {
            self.as_before(&mut frame, r, same);
        }
        self.move_dials(&mut frame, &heard.said, r, heard.same, 0);
        let numbers = heard.said.number.as_ref().filter(|_| said.is_some()).map(numbers).unwrap_or_default();
        frame.number_confidence = numbers.first().map_or(COUNTED, |n| n.1);
        doubt(&mut frame, &heard.said, unsure_below);
        if turned {
            frame.flag(Flag::Unsure(Field::Frame), "two rolls in hand may have this number");
        }
        self.digressed = None;
        tracing::debug!("-> roll {} frame {number}", self.rolls[r].name.as_ref().map_or("?", |n| n.as_str()));
        self.rolls[r].counter = Some(number);
        self.rolls[r].shots.push(Shot { frame, numbers, at: heard.at, there: heard.said.there });
    }

    /// A whole exposure on a roll that has no frame yet: there is none that it could be told of again.
    fn is_first(&self, heard: &FrameHeard, camera: Option<usize>) -> bool {
        heard.said.exposed() && self.talked_of(camera).is_none_or(|r| self.rolls[r].shots.is_empty())
    }

    /// Words without a number that speak of the last frame: its exposure, where it was told without, and, on a roll whose frames are called by number, what tells no whole exposure and no
    /// picture with a setting.
    fn is_more_of_the_last(&mut self, heard: &FrameHeard, camera: Option<usize>) -> bool {
        let s = &heard.said;
        let dialled = s.shutter.is_some() || s.aperture.is_some() || s.aperture_end.is_some() || !s.moved.is_empty();
        let whole = s.shutter.is_some() && (s.aperture.is_some() || s.aperture_end.is_some());
        let other = heard.same.is_some() || heard.together > 1 || s.wasted.is_some() || heard.late.is_some();
        let Some(r) = self.hand(camera).roll.filter(|r| !other && !self.rolls[*r].ended) else { return false };
        let shots = &self.rolls[r].shots;
        let called = shots.len() >= CALLED && shots[shots.len() - CALLED..].iter().all(|s| !s.numbers.is_empty());
        let Some(last) = shots.last().map(|s| &s.frame) else { return false };
        let bare = last.shutter.is_none() && last.aperture.is_none() && last.status == Status::Ok;
        match (whole, s.subject.is_some()) {
            // "Holder two A, tree roots; the meter says one second, so it got twenty-two, at thirty-two."
            (true, false) if bare => true,
            (true, pictured) => bare && pictured && called,
            (false, pictured) => called && !(pictured && dialled),
        }
    }

    /// A frame may have been told here that was not taken for one.
    pub fn miss(&mut self) {
        let r = self.hands.get(&self.camera).and_then(|h| h.roll);
        if let Some(r) = r.filter(|r| !self.rolls[*r].shots.is_empty()) {
            let at = self.rolls[r].shots.len();
            self.rolls[r].lost.push(at);
        }
    }

    /// More of a frame that was begun in words read before.
    pub fn again(&mut self, heard: &FrameHeard, unsure_below: f64) {
        if heard.counts && heard.together > 1 {
            self.count_on(heard);
            return;
        }
        if heard.said.there >= MAY_BEGIN {
            self.miss();
        }
        let mut found = None;
        for (r, roll) in self.rolls.iter().enumerate() {
            if let Some(k) = roll.shots.iter().position(|s| s.at == heard.at) {
                found = Some((r, k));
            }
        }
        let last = || {
            let r = self.hands.get(&self.camera)?.roll?;
            Some((r, self.rolls[r].shots.len().checked_sub(1)?))
        };
        if let Some((r, k)) = found.or_else(last) {
            self.correct(r, k, heard, heard.new, unsure_below);
        }
    }

    /// Something beside the settings that stands in no frame's words: of the frame told last.
    pub fn beside_the_last(&mut self, asides: &[Aside]) {
        let camera = self.camera;
        // A converter that is put on by itself is on from the next frame.
        self.convert(asides, camera);
        let Some(r) = self.hand(camera).roll else { return };
        let Some(mut frame) = self.rolls[r].shots.last().map(|s| s.frame.clone()) else { return };
        super::beside::beside(self.kit, &mut frame, asides);
        if let Some(last) = self.rolls[r].shots.last_mut() {
            last.frame = frame;
        }
    }
}
