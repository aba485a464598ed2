//! Frames onto rolls: which roll, which number, what is said of it and what is carried.

use crate::exposure::Stops;
use crate::facts::{Confidence, Field, Flag, FrameNumber, Settled, Source};
use crate::language::compose::{Fact, FrameSaid, Sure};
use crate::roll::{Frame, Quote, Status};

use super::hear::Heard;
use super::state::{Shot, State};
use super::sure::{plain, settled};

/// How sure a setting is that was not said again but is "the same".
const SAME: f64 = 0.95;
/// How sure the words of a picture's subject are.
const WORDS: f64 = 0.8;
/// How sure the number of a frame is that was only counted.
const COUNTED: f64 = 0.9;

impl State<'_> {
    /// Takes a frame, or says more of one by its number.
    pub fn shoot(&mut self, heard: &Heard, quote: Quote, unsure_below: f64) {
        let camera = heard.camera.or(self.camera);
        if let Some(c) = heard.camera {
            self.turn(c);
        }
        let said = heard.said.number.as_ref().map(|n| n.value);
        let r = self.roll_for(said, camera, heard);
        let existing = said.and_then(|n| self.rolls[r].shots.iter().position(|s| s.frame.number == n));
        if let Some(k) = existing {
            self.rolls[r].shots[k].frame.said.push(quote);
            self.correct(r, k, heard, 0, unsure_below);
            return;
        }
        let own = |f: fn(&Fact) -> bool| heard.gear.iter().any(|g| f(&g.fact));
        let own_glass = own(|f| matches!(f, Fact::Glass { .. }));
        let own_filter = own(|f| matches!(f, Fact::FilterOn(..) | Fact::FilterOff));
        for gear in &heard.gear {
            self.mount(gear, camera);
        }
        let number = said.unwrap_or_else(|| self.following(r));
        let mut frame = Frame::blank(number, Status::Ok);
        frame.said.push(quote);
        describe(&mut frame, &heard.said, 0);
        self.dress(&mut frame, camera, own_glass, own_filter);
        self.to_the_end(&mut frame, &heard.said, 0);
        if let Some(same) = heard.same {
            self.as_before(&mut frame, r, same);
        }
        let numbers = heard.said.number.as_ref().map(numbers).unwrap_or_default();
        frame.number_confidence = numbers.first().map_or(COUNTED, |n| n.1);
        doubt(&mut frame, &heard.said, unsure_below);
        self.rolls[r].counter = Some(number);
        self.rolls[r].shots.push(Shot { frame, numbers, at: heard.at });
    }

    /// More of a frame that was begun in words read before.
    pub fn again(&mut self, heard: &Heard, unsure_below: f64) {
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

    /// The roll that a frame is on.
    fn roll_for(&mut self, said: Option<FrameNumber>, camera: Option<usize>, heard: &Heard) -> usize {
        if let Some(r) = self.topic.filter(|r| self.hands.values().all(|h| h.roll != Some(*r))) {
            let known = said.is_some_and(|n| self.rolls[r].shots.iter().any(|s| s.frame.number == n));
            if known {
                return r;
            }
        }
        let r = self.roll_in(camera);
        let has = |n: FrameNumber| self.rolls[r].shots.iter().any(|s| s.frame.number == n);
        let known = said.is_some_and(has);
        let whole = heard.said.shutter.is_some() && heard.said.aperture.is_some();
        let first = FrameNumber::new(self.kit.habits.frame_counts_from);
        let restarts = said == Some(first) && known && whole && self.is_full(r);
        let begun = !self.rolls[r].shots.is_empty();
        if restarts || begun && (self.coming.is_some() || self.rolls[r].ended) && !known {
            return self.begin(camera);
        }
        r
    }

    /// Puts an earlier frame right: that row alone. Words before token `new` were told before.
    fn correct(&mut self, r: usize, k: usize, heard: &Heard, new: usize, unsure_below: f64) {
        let mut frame = self.rolls[r].shots[k].frame.clone();
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
            let own = |f: fn(&Fact) -> bool| heard.gear.iter().any(|g| f(&g.fact));
            if own(|f| matches!(f, Fact::Glass { .. })) {
                frame.lens = dressed.lens;
                frame.focal_mm = dressed.focal_mm;
            }
            if own(|f| matches!(f, Fact::FilterOn(..) | Fact::FilterOff)) {
                frame.filter = dressed.filter;
            }
            let last = k + 1 == self.rolls[r].shots.len();
            if !last {
                *self.hand(camera) = before;
            }
        }
        self.to_the_end(&mut frame, &heard.said, new);
        doubt(&mut frame, &heard.said, unsure_below);
        self.rolls[r].shots[k].frame = frame;
    }

    /// "Wide open": the end of the lens on it.
    fn to_the_end(&self, frame: &mut Frame, said: &FrameSaid, new: usize) {
        let Some(end) = said.aperture_end.as_ref().filter(|e| e.tokens.start >= new && said.aperture.is_none()) else {
            return;
        };
        let lens = frame.lens.as_ref().and_then(|l| self.kit.lens(&l.value));
        if let Some(a) = lens.and_then(|l| if end.value { l.smallest } else { l.widest }) {
            frame.aperture = Some(plain(a, end.sure));
        }
    }

    /// Fills what was not said of a frame from the one before, or from that of a number.
    fn as_before(&self, frame: &mut Frame, r: usize, number: Option<u16>) {
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

fn less_sure<T>(s: Settled<T>) -> Settled<T> {
    Settled { confidence: Confidence::new(s.confidence.get() * SAME), ..s }
}

/// A number with the others it may be.
fn numbers(said: &Sure<FrameNumber>) -> Vec<(FrameNumber, f64)> {
    std::iter::once((said.value, said.sure)).chain(said.others.iter().copied()).collect()
}

/// Puts what is said into a frame; words before token `new` are known already.
fn describe(frame: &mut Frame, said: &FrameSaid, new: usize) {
    fn take<T: Clone>(to: &mut Option<Settled<T>>, said: &Option<Sure<T>>, new: usize) {
        if let Some(s) = said.as_ref().filter(|s| s.tokens.start >= new) {
            *to = Some(settled(s));
        }
    }
    take(&mut frame.shutter, &said.shutter, new);
    take(&mut frame.aperture, &said.aperture, new);
    take(&mut frame.comp, &said.comp.clone().map(|c| c.map(Stops::new)), new);
    take(&mut frame.light, &said.light, new);
    take(&mut frame.support, &said.support, new);
    if let Some(s) = said.subject.as_ref().filter(|s| s.tokens.start >= new) {
        frame.subject = Some(Settled::from_one(s.value.clone(), Confidence::new(WORDS), Source::Voice));
    }
    if said.wasted.is_some() {
        frame.status = Status::Wasted;
    }
}

/// Flags what is less sure than the limit.
fn doubt(frame: &mut Frame, said: &FrameSaid, unsure_below: f64) {
    fn low<T>(s: &Option<Settled<T>>, below: f64) -> bool {
        s.as_ref().is_some_and(|s| s.confidence.get() < below)
    }
    let fields = [
        (Field::Shutter, low(&frame.shutter, unsure_below) || said.either),
        (Field::Aperture, low(&frame.aperture, unsure_below) || said.either),
        (Field::Filter, low(&frame.filter, unsure_below)),
        (Field::FocalMm, low(&frame.focal_mm, unsure_below)),
        (Field::Lens, low(&frame.lens, unsure_below)),
        (Field::CompStops, low(&frame.comp, unsure_below)),
        (Field::Light, low(&frame.light, unsure_below)),
        (Field::Support, low(&frame.support, unsure_below)),
    ];
    let renewed = |f: Field| fields.iter().any(|(g, unsure)| *g == f && !unsure);
    frame.flags.retain(|f| !matches!(f, Flag::Unsure(x) if renewed(*x)));
    frame.reasons.retain(|(f, _)| !matches!(f, Flag::Unsure(x) if renewed(*x)));
    for (field, _) in fields.into_iter().filter(|f| f.1) {
        frame.flag(Flag::Unsure(field), "heard with little certainty");
    }
    if said.there < unsure_below {
        frame.flag(Flag::Unsure(Field::Frame), "there may be no such frame");
    } else if said.number.as_ref().is_some_and(|n| n.sure < unsure_below) {
        frame.flag(Flag::Unsure(Field::Frame), "the number may be another");
    }
}
