//! Frames onto rolls: which roll, which number, what is said of it and what is carried.

use crate::exposure::Stops;
use crate::facts::{Confidence, Field, Flag, FrameNumber, RollName, Settled, Source};
use crate::language::Aside;
use crate::language::compose::{FrameSaid, Moved, MovedDial, Sure};
use crate::language::gear::Gear;
use crate::roll::{Frame, Quote, Status};

use super::hear::{Heard, MAY_BEGIN};
use super::late::{Pick, TOLD_BEFORE};
use super::state::{Shot, State};
use super::sure::{plain, settled};

/// How sure a setting is that was not said again but is "the same".
const SAME: f64 = 0.95;
/// What follows from a setting by a change is no surer than this part of it.
const MOVED: f64 = 0.92;
/// Frames that a film may hold beyond what it should.
const SPARE: i16 = 3;
/// How sure a setting is that was told of the whole roll, with exceptions.
const EXCEPTED: f64 = 0.6;
/// A number word with no word for frames, less sure than this, does not send the talk back to a frame told before.
const SURE_NUMBER: f64 = 0.7;
/// A frame less likely than this is none where a number said leaves no room for it.
const DROPPED: f64 = 0.9;
/// So many frames called by their numbers, one after the other, make it the way of this roll.
const CALLED: usize = 3;
/// How sure the number of a frame is that was only counted.
const COUNTED: f64 = 0.9;

impl State<'_> {
    /// Takes a frame, or says more of one by its number.
    pub fn shoot(&mut self, heard: &Heard, quote: Quote, unsure_below: f64) {
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
    fn is_first(&self, heard: &Heard, camera: Option<usize>) -> bool {
        let whole = heard.said.shutter.is_some() && heard.said.aperture.is_some();
        let in_hand = self.topic.or(self.digressed).or_else(|| self.hands.get(&camera).and_then(|h| h.roll));
        whole && in_hand.is_none_or(|r| self.rolls[r].shots.is_empty())
    }

    /// Rows told before, put right by what is said of them now; whether there were any.
    fn put_right(&mut self, heard: &Heard, quote: &Quote, unsure_below: f64) -> bool {
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

    /// The number said of a frame, if a roll of the camera can have it.
    fn number_of(&mut self, heard: &Heard, camera: Option<usize>) -> Option<FrameNumber> {
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
    fn turn_by_count(&mut self, number: FrameNumber, heard: &Heard) -> bool {
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
    fn turn_by_side(&mut self, heard: &Heard) {
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

    /// Words without a number that speak of the last frame: its exposure, where it was told without, and, on a roll whose frames are called by number, what tells no whole exposure and no
    /// picture with a setting.
    fn is_more_of_the_last(&mut self, heard: &Heard, camera: Option<usize>) -> bool {
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

    /// "Holder one", then "one B": the first was its side A.
    fn side_with(&mut self, r: usize, number: FrameNumber) {
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
    fn is_count(&mut self, heard: &Heard, number: FrameNumber, camera: Option<usize>) -> bool {
        let s = &heard.said;
        let empty =
            s.unexposed() && s.subject.is_none() && s.light.is_none() && heard.same.is_none() && heard.gear.is_empty();
        let r = self.roll_in(camera);
        empty && number != self.following(r)
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
    pub fn again(&mut self, heard: &Heard, unsure_below: f64) {
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

    /// "Took two of that": the last frame, so many times.
    fn count_on(&mut self, heard: &Heard) {
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
    fn recount(&mut self, r: usize, number: FrameNumber, heard: &Heard) {
        let whole = heard.said.shutter.is_some() && heard.said.aperture.is_some() || heard.same.is_some();
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
    fn roll_for(&mut self, said: Option<FrameNumber>, camera: Option<usize>, heard: &Heard) -> usize {
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
    fn redress(&mut self, r: usize, k: usize, heard: &Heard) {
        let camera = self.rolls[r].camera;
        for gear in &heard.gear {
            self.mount(gear, camera);
        }
        let mut dressed = self.rolls[r].shots[k].frame.clone();
        self.dress(&mut dressed, camera, false, false);
        wear(&mut self.rolls[r].shots[k].frame, dressed, heard);
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

    /// Moves the dials from where they stood: on this frame where it was told, else on the one
    /// that it is like, the one before.
    fn move_dials(&self, frame: &mut Frame, said: &FrameSaid, r: usize, like: Option<Option<u16>>, new: usize) {
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
                let half = if m.dial == MovedDial::Either { 0.5 } else { 1.0 };
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

/// Takes from a frame dressed with what was told of gear what that is about.
fn wear(frame: &mut Frame, dressed: Frame, heard: &Heard) {
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
        frame.subject = Some(Settled::from_one(s.value.clone(), Confidence::new(s.sure), Source::Voice));
    }
    if said.wasted.is_some() {
        frame.status = Status::Wasted;
    }
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

/// Flags what is less sure than the limit.
fn doubt(frame: &mut Frame, said: &FrameSaid, unsure_below: f64) {
    let dials = [Field::Shutter, Field::Aperture];
    let fields = [
        Field::Shutter,
        Field::Aperture,
        Field::Filter,
        Field::FocalMm,
        Field::Lens,
        Field::CompStops,
        Field::Light,
        Field::Support,
    ];
    let low = |f: Field| frame.ground(f).is_some_and(|s| s.confidence().get() < unsure_below);
    let fields = fields.map(|f| (f, low(f) || said.either && dials.contains(&f)));
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
