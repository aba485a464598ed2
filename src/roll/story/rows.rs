//! Rows told before, put right by what is said of them now; what is carried to a row from the one before.

use super::describe::{describe, doubt};
use super::state::State;
use super::statement::{FrameHeard, Pick};
use super::sure::{plain, settled};
use crate::facts::{Confidence, Field, Flag, FrameNumber, Settled, Source};
use crate::language::compose::{FrameSaid, Moved, MovedDial};
use crate::language::readings::Gear;
use crate::roll::record::{Frame, Quote, Status};

/// One of two dials was moved, not said which: as likely the one as the other.
const EITHER: f64 = 0.5;
/// How sure a setting is that was not said again but is "the same".
const SAME: f64 = 0.95;
/// What follows from a setting by a change is no surer than this part of it.
const MOVED: f64 = 0.92;
/// How sure a setting is that was told of the whole roll, with exceptions.
const EXCEPTED: f64 = 0.6;

impl State<'_> {
    /// Rows told before, put right by what is said of them now; whether there were any.
    pub(super) fn put_right(&mut self, heard: &FrameHeard, quote: &Quote, unsure_below: f64) -> bool {
        let rows = match &heard.late {
            Some(late) => self.meant(late),
            None => self.left_open(heard),
        };
        let pick = heard.late.as_ref().map(|l| l.pick);
        for (r, k) in &rows {
            let frame = &mut self.rolls[*r].shots[*k].frame;
            if let Some(Pick::Roll(excepted)) = pick {
                fill(frame, &heard.said, excepted);
            } else {
                frame.said.push(quote.clone());
                self.correct(*r, *k, heard, 0, unsure_below);
            }
        }
        !rows.is_empty()
    }

    /// Puts an earlier frame right: that row alone. Words before token `new` were told before.
    pub(super) fn correct(&mut self, r: usize, k: usize, heard: &FrameHeard, new: usize, unsure_below: f64) {
        let mut frame = self.rolls[r].shots[k].frame.clone();
        tracing::debug!("more of frame {}", frame.number);
        let number = frame.number.place().max(0) as u16;
        describe(&mut frame, &heard.said, new);
        let camera = self.rolls[r].camera;
        // What it says of gear is tried on in a copy of the hand.
        if !heard.gear.is_empty() {
            let before = self.hand(camera).clone();
            let mut dressed = frame.clone();
            for gear in &heard.gear {
                self.mount(gear, camera);
            }
            self.dress(&mut dressed, camera, true, true);
            wear(&mut frame, dressed, heard);
            let last = k + 1 == self.rolls[r].shots.len();
            if !last {
                *self.hand(camera) = before;
            }
        }
        if self.convert(&heard.asides, camera) {
            self.converted(&mut frame, camera, true);
        }
        super::beside::beside(self.kit, &mut frame, &heard.asides);
        self.to_the_end(&mut frame, &heard.said, new);
        self.move_dials(&mut frame, &heard.said, r, Some(Some(number)), new);
        doubt(&mut frame, &heard.said, unsure_below);
        self.rolls[r].shots[k].frame = frame;
    }

    /// "From five B on that's been the other lens": its gear, on a later frame too.
    pub(super) fn redress(&mut self, r: usize, k: usize, heard: &FrameHeard) {
        let camera = self.rolls[r].camera;
        for gear in &heard.gear {
            self.mount(gear, camera);
        }
        let mut dressed = self.rolls[r].shots[k].frame.clone();
        self.dress(&mut dressed, camera, false, false);
        wear(&mut self.rolls[r].shots[k].frame, dressed, heard);
    }

    /// "Wide open": the end of the lens on it.
    pub(super) fn to_the_end(&self, frame: &mut Frame, said: &FrameSaid, new: usize) {
        let Some(end) = said.aperture_end.as_ref().filter(|e| e.tokens.start >= new && said.aperture.is_none()) else {
            return;
        };
        let lens = frame.lens.as_ref().and_then(|l| self.kit.lens(&l.value));
        if let Some(a) = lens.and_then(|l| if end.value { l.smallest } else { l.widest }) {
            frame.aperture = Some(plain(a, end.sure));
        }
    }

    /// Moves the dials from where they stood: on this frame where it was told, else on the one
    /// that it is like, the one before.
    pub(super) fn move_dials(
        &self,
        frame: &mut Frame,
        said: &FrameSaid,
        r: usize,
        like: Option<Option<u16>>,
        new: usize,
    ) {
        let moved: Vec<&Moved> = said.moved.iter().filter(|m| m.tokens.start >= new).collect();
        if moved.is_empty() {
            return;
        }
        self.as_before(frame, r, like.flatten());
        let camera = self.body(self.rolls[r].camera);
        let lens = frame.lens.as_ref().and_then(|l| self.kit.lens(&l.value));
        let gear = Gear { kit: self.kit, camera, lens };
        for m in moved {
            if m.dial != MovedDial::Shutter
                && let Some(a) = frame.aperture.as_mut()
                && let Some(to) = m.aperture(a.value, &gear)
            {
                let half = if m.dial == MovedDial::Either { EITHER } else { 1.0 };
                let sure = a.confidence.get() * m.sure * MOVED * half;
                *a = Settled::from_one(to, Confidence::new(sure), Source::Voice);
                frame.unflag(Flag::Carried(Field::Aperture));
            }
            if m.dial == MovedDial::Shutter
                && let Some(s) = frame.shutter.as_mut()
                && let Some(to) = m.shutter(s.value, &gear)
            {
                *s = Settled::from_one(to, Confidence::new(s.confidence.get() * m.sure * MOVED), Source::Voice);
                frame.unflag(Flag::Carried(Field::Shutter));
            }
            if m.dial == MovedDial::Either {
                frame.flag(Flag::Unsure(Field::Shutter), "one of the two dials was moved, not said which");
            }
        }
    }

    /// Fills what was not said of a frame from the one before, or from that of a number.
    pub(super) fn as_before(&self, frame: &mut Frame, r: usize, number: Option<u16>) {
        let shots = &self.rolls[r].shots;
        let from = match number {
            Some(n) => shots.iter().find(|s| s.frame.number == FrameNumber::new(n)),
            None => shots.iter().rev().find(|s| s.frame.status != Status::Wasted),
        };
        let Some(from) = from.map(|s| &s.frame) else { return };
        let carried = |f: &mut Frame, field| f.flag(Flag::Carried(field), "said to be the same");
        if frame.shutter.is_none() && from.shutter.is_some() {
            frame.shutter = from.shutter.clone().map(less_sure);
            carried(frame, Field::Shutter);
        }
        if frame.aperture.is_none() && from.aperture.is_some() {
            frame.aperture = from.aperture.clone().map(less_sure);
            carried(frame, Field::Aperture);
        }
    }
}

/// Takes from a frame dressed with what was told of gear what that is about.
fn wear(frame: &mut Frame, dressed: Frame, heard: &FrameHeard) {
    if heard.tells_glass() {
        frame.lens = dressed.lens;
        frame.focal_mm = dressed.focal_mm;
    }
    if heard.tells_filter() {
        frame.filter = dressed.filter;
    }
}

fn less_sure<T>(s: Settled<T>) -> Settled<T> {
    Settled { confidence: Confidence::new(s.confidence.get() * SAME), ..s }
}

/// What is told of a whole roll goes where nothing was told.
fn fill(frame: &mut Frame, said: &FrameSaid, excepted: bool) {
    let most = if excepted { EXCEPTED } else { 1.0 };
    let less = |c: Confidence| Confidence::new(c.get().min(most));
    let wanted = frame.status == Status::Ok;
    if frame.shutter.is_none() && wanted {
        frame.shutter = said.shutter.as_ref().map(settled).map(|s| Settled { confidence: less(s.confidence), ..s });
        if excepted && frame.shutter.is_some() {
            frame.flag(Flag::Unsure(Field::Shutter), "told of the roll, with exceptions");
        }
    }
    if frame.aperture.is_none() && wanted {
        frame.aperture = said.aperture.as_ref().map(settled).map(|s| Settled { confidence: less(s.confidence), ..s });
        if excepted && frame.aperture.is_some() {
            frame.flag(Flag::Unsure(Field::Aperture), "told of the roll, with exceptions");
        }
    }
}
