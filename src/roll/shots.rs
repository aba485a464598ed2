//! What was said of a frame becomes the frame, or the frames, that it describes.

use crate::exposure::{Aperture, ApertureStep, ExposureIndex, Shutter, Speed, Stops};
use crate::facts::{Confidence, Field, Flag, FrameNumber, Settled, Source};
use crate::kit::{Filters, Focal, Lens};
use crate::language::act::{ApertureSaid, BracketSaid, FilterSaid, Moved, Same};
use crate::language::gear::Gear;
use crate::language::ways::{Way, add_heard};

use super::build::{Builder, OpenRoll, sure};
use super::context::weigh_in_context;
use super::draft::{ApertureHeard, Draft, ShutterSaid, Valued, offsets};
use super::said::{Manner, weigh};
use super::weights::words_right;
use super::{Frame, NotedFrame, NotedRoll, Quote, Status};

/// A frame as described, before scans are seen.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shot {
    pub frame: Frame,
    /// Its number, if one was said, with the others it may have been.
    pub numbers: Vec<(FrameNumber, f64)>,
    /// An exposure off the metered one in a bracket.
    pub straight: bool,
}

/// How sure a change leaves a setting that was sure before.
const CHANGED: f64 = 0.95;
/// How sure a change leaves a setting when it was not said which dial moved.
const EITHER: f64 = 0.5;

type Dial = Option<Settled<Shutter>>;
type Stop = Option<Settled<Aperture>>;

impl<'a> Builder<'a> {
    /// Makes the frames of a draft; where each stands: roll and place.
    pub(super) fn shoot(&mut self, draft: Draft) -> Vec<(usize, usize)> {
        let mut r = self.roll();
        if self.rolls[r].ended && self.carries {
            let again = draft
                .numbers
                .first()
                .and_then(|n| n.first())
                .is_some_and(|w| self.rolls[r].shots.iter().any(|s| s.frame.number == w.value));
            if !again {
                self.hand().roll = None;
                r = self.roll();
            }
        }
        let before = self.base(&draft, r);
        let lens = self.lens_in_use(&draft, before.as_ref());
        let gear = self.gear(lens);
        let mut flags = Vec::new();

        let mut plain = Frame::blank(FrameNumber::new(0), Status::Ok);
        self.set_gear(&draft, before.as_ref(), lens, &mut plain, &mut flags);
        let (shutters, focal) = self.shutters(&draft, &gear, &mut flags);
        if let Some(f) = focal
            && plain.focal_mm.is_none()
        {
            plain.lens = self.lens_for(f.value).map(|l| sure(l.name.clone()));
            plain.focal_mm = Some(f);
        }
        let apertures = self.apertures(&draft, &gear, lens, &mut flags);
        let listed = |n: usize, of: Moved| {
            n > 1
                && (draft.all
                    || draft.list_of == Some(of)
                    || draft.count == Some(n as u32)
                    || draft.bracket.contains(&BracketSaid::Word)
                    || if of == Moved::Shutter { draft.shutter_list } else { draft.aperture_list })
        };
        let shutters = if listed(shutters.len(), Moved::Shutter) {
            shutters
        } else {
            shutters.into_iter().next_back().into_iter().collect()
        };
        let apertures = if listed(apertures.len(), Moved::Aperture) {
            apertures
        } else {
            apertures.into_iter().next_back().into_iter().collect()
        };

        self.words(&draft, &mut plain);
        let bracket = match offsets(&bracketed(&draft), !draft.numbers.is_empty()) {
            Ok(b) => b,
            Err(comp) => {
                plain.comp = Some(sure(Stops::new(comp)));
                None
            }
        };
        if let Some(c) = draft.comp {
            plain.comp = Some(sure(Stops::new(c)));
        } else if let Some(e) = draft.extra {
            plain.comp = Some(sure(Stops::new(e)));
        }

        let lists = shutters.len().max(apertures.len()).max(1);
        // Settings said one by one need no offsets.
        let bracket = if lists > 1 { None } else { bracket };
        let mut many = lists
            .max(draft.numbers.len())
            .max(draft.count.unwrap_or(1) as usize)
            .max(bracket.as_ref().map_or(1, Vec::len));
        if lists > 1 && draft.numbers.len() <= 1 {
            many = lists;
        }
        many = many.clamp(1, 120);
        let mut made = Vec::with_capacity(many);
        let mut previous = before;
        for i in 0..many {
            let mut frame = plain.clone();
            let pick = |n: usize| if n == 0 { None } else { Some(i.min(n - 1)) };
            frame.shutter = pick(shutters.len()).map(|k| shutters[k].clone());
            frame.aperture = pick(apertures.len()).map(|k| apertures[k].clone());
            self.complete(&draft, previous.as_ref(), &gear, &mut frame, &mut flags);
            if let Some(b) = &bracket {
                let offset = b.get(i).copied().unwrap_or(0.0);
                match draft.bracket_by.or(draft.list_of) {
                    Some(Moved::Aperture) if offset != 0.0 => change_aperture(&mut frame, offset, CHANGED),
                    Some(Moved::Shutter) if offset != 0.0 => change_shutter(&mut frame, offset, self, CHANGED),
                    _ => frame.comp = (offset != 0.0).then(|| sure(Stops::new(offset))),
                }
            }
            let numbers = self.number(&draft, i, r, many);
            let straight = draft.bracket.contains(&BracketSaid::Straight);
            for (flag, reason) in &flags {
                frame.flag(*flag, reason.clone());
            }
            self.flag_unsure(&mut frame, &numbers);
            let shot = Shot { frame, numbers, straight };
            made.push(self.put(r, shot, &draft));
            if i == 0 {
                previous = Some(self.rolls[r].shots[made[0].1].clone());
            }
        }
        self.spread_bracket(r, &made);
        if draft.all {
            self.spread_back(r, &made);
        }
        self.carry_on(&draft, made.last().copied());
        made
    }

    /// Gear that was spoken of without a frame: it holds from here on.
    pub(super) fn gear_only(&mut self, draft: &Draft) {
        let lens = self.lens_in_use(draft, None);
        let mut frame = Frame::blank(FrameNumber::new(0), Status::Ok);
        let mut flags = Vec::new();
        self.set_gear(draft, None, lens, &mut frame, &mut flags);
        let said_focal = draft.focal.is_some() || draft.lens.is_some();
        let hand = self.hand();
        if said_focal {
            hand.lens = frame.lens;
            hand.focal = frame.focal_mm;
        }
        if !draft.filters.is_empty() {
            hand.filter = frame.filter;
        }
    }

    fn carry_on(&mut self, draft: &Draft, last: Option<(usize, usize)>) {
        let Some((r, k)) = last else { return };
        let frame = self.rolls[r].shots[k].frame.clone();
        let hand = self.hand();
        if draft.focal.is_some() || draft.lens.is_some() || frame.lens.is_some() {
            hand.lens = frame.lens;
            hand.focal = frame.focal_mm;
        } else if frame.focal_mm.is_some() {
            hand.focal = frame.focal_mm;
        }
        if frame.filter.is_some() {
            hand.filter = frame.filter;
        }
    }

    /// The shot that changes and sameness refer to.
    fn base(&self, draft: &Draft, r: usize) -> Option<Shot> {
        let shots = &self.rolls[r].shots;
        if let Some(numbers) = &draft.same_as {
            let wanted = numbers.first()?.value;
            return shots.iter().rev().find(|s| s.frame.number == wanted).cloned();
        }
        // A frame spoken of again has its own past.
        let number = draft.numbers.first().and_then(|n| n.first()).map(|w| w.value);
        let before = shots.iter().rev().find(|s| Some(s.frame.number) != number && s.frame.status != Status::Wasted);
        before.or_else(|| shots.last()).cloned()
    }

    fn lens_in_use(&self, draft: &Draft, before: Option<&Shot>) -> Option<&'a Lens> {
        let kit = self.kit();
        if let Some(l) = &draft.lens {
            return kit.lenses.get(l.value);
        }
        if let Some(f) = &draft.focal {
            let gear = self.gear(None);
            let best = f
                .value
                .iter()
                .max_by(|a, b| (a.weight * gear.focal(a.value)).total_cmp(&(b.weight * gear.focal(b.value))))?;
            return self.lens_for(best.value);
        }
        let hand = self.hands.get(&self.camera);
        let name = if draft.inherit || draft.same.iter().any(|s| matches!(s, Same::All | Same::Lens)) {
            before.and_then(|b| b.frame.lens.as_ref()).or(hand.and_then(|h| h.lens.as_ref()))
        } else {
            hand.and_then(|h| h.lens.as_ref())
        };
        name.and_then(|n| kit.lens(&n.value))
    }

    /// The lens that a focal length means: the prime, the zoom in use, or the only zoom.
    fn lens_for(&self, mm: f64) -> Option<&'a Lens> {
        let kit = self.kit();
        let camera = self.camera_in_hand();
        let fits = |l: &&Lens| camera.is_none_or(|c| l.fits(&c.name)) && l.focal.covers(mm);
        let in_use = self.hands.get(&self.camera).and_then(|h| h.lens.as_ref()).and_then(|l| kit.lens(&l.value));
        if let Some(l) = in_use.filter(|l| matches!(l.focal, Focal::Zoom(..)) && l.focal.covers(mm)) {
            return Some(l);
        }
        if let Some(prime) = kit.lenses.iter().filter(fits).find(|l| matches!(l.focal, Focal::Prime(_))) {
            return Some(prime);
        }
        let mut zooms = kit.lenses.iter().filter(fits);
        let first = zooms.next()?;
        zooms.next().is_none().then_some(first)
    }

    fn set_gear(
        &self,
        draft: &Draft,
        before: Option<&Shot>,
        lens: Option<&'a Lens>,
        frame: &mut Frame,
        flags: &mut Vec<(Flag, String)>,
    ) {
        let gear = self.gear(None);
        let said = draft.lens.is_some() || draft.focal.is_some();
        if let Some(l) = lens.filter(|_| said) {
            frame.lens = Some(sure(l.name.clone()));
        }
        match (&draft.focal, lens) {
            (Some(f), _) => {
                let on = match &draft.lens {
                    Some(_) => Gear { lens, ..gear },
                    None => gear,
                };
                if let Some(w) = weigh(&f.value, |mm| on.focal(*mm), Manner { sure: f.weight.max(0.5), ..f.manner() }) {
                    if w.off_gear || on.focal(w.settled.value) < 0.2 {
                        flags
                            .push((Flag::Odd(Field::FocalMm), format!("no lens of the kit is {} mm", w.settled.value)));
                    }
                    frame.focal_mm = Some(w.settled);
                }
            }
            (None, Some(Lens { focal: Focal::Prime(mm), .. })) if said => {
                let mut s = sure(*mm);
                if let Some(l) = &draft.lens {
                    s.confidence = Confidence::new(s.confidence.get() * words_right(l.heard));
                    s.terms.words = l.heard.max(1e-6).ln();
                }
                if draft.lens.as_ref().is_some_and(|l| l.doubt) {
                    s.confidence = Confidence::new(0.5);
                }
                frame.focal_mm = Some(s);
            }
            _ => {}
        }
        let keeps = draft.inherit
            || draft.same.contains(&Same::All)
            || draft.same.contains(&Same::Lens)
            || !draft.changes.is_empty()
            || draft.same_as.is_some();
        if !said
            && keeps
            && let Some(b) = before
        {
            frame.lens = frame.lens.take().or_else(|| b.frame.lens.clone());
            frame.focal_mm = frame.focal_mm.take().or_else(|| b.frame.focal_mm.clone());
        }
        let hand = self.hands.get(&self.camera);
        let start = if keeps { before.and_then(|b| b.frame.filter.clone()) } else { None }
            .or_else(|| hand.and_then(|h| h.filter.clone()));
        frame.filter = self.filters(&draft.filters, start.as_ref());
        if draft.filters.is_empty() && keeps && before.is_some() {
            frame.filter = start;
        }
    }

    pub(super) fn filters(
        &self,
        ops: &[Valued<FilterSaid>],
        start: Option<&Settled<Filters>>,
    ) -> Option<Settled<Filters>> {
        if ops.is_empty() {
            return None;
        }
        let name = |i: usize| self.kit().filters.get(i).map(|f| f.name.clone()).unwrap_or_default();
        let mut on: Option<Vec<String>> = start.map(|s| s.value.0.clone());
        let mut said_on = false;
        let mut doubt = false;
        let mut heard = 1.0_f64;
        for op in ops {
            doubt |= op.doubt;
            heard = heard.min(op.heard);
            match op.value {
                FilterSaid::On(i) => {
                    let mut set = if said_on { on.unwrap_or_default() } else { Vec::new() };
                    if !set.contains(&name(i)) {
                        set.push(name(i));
                    }
                    on = Some(set);
                    said_on = true;
                }
                FilterSaid::Off(i) => {
                    let mut set = on.unwrap_or_default();
                    set.retain(|n| *n != name(i));
                    on = Some(set);
                }
                FilterSaid::Swap(_, i) => {
                    on = Some(vec![name(i)]);
                    said_on = true;
                }
                FilterSaid::None => on = Some(Vec::new()),
                FilterSaid::Still => {}
            }
        }
        let mut settled = sure(Filters(on?));
        settled.confidence = Confidence::new(settled.confidence.get() * words_right(heard));
        settled.terms.words = heard.max(1e-6).ln();
        if doubt {
            settled.confidence = Confidence::new(0.5);
            settled.why.push("the speaker was not sure".to_owned());
        }
        Some(settled)
    }

    /// Shutter settings said, and a focal length where the number was one after all.
    fn shutters(
        &self,
        draft: &Draft,
        gear: &Gear<'_>,
        flags: &mut Vec<(Flag, String)>,
    ) -> (Vec<Settled<Shutter>>, Option<Settled<f64>>) {
        let mut out = Vec::new();
        let mut focal = None;
        let base = draft
            .base_shutter
            .as_ref()
            .and_then(|b| self.settle_shutter(b, gear, None, &mut Vec::new()))
            .map(|s| s.value);
        for said in &draft.shutters {
            if let Some((ways, f, s)) = &said.or_focal {
                let total = f + s;
                if *f > *s && draft.focal.is_none() && draft.lens.is_none() {
                    if let Some(w) = weigh(ways, |mm| gear.focal(*mm), Manner { sure: 1.0, ..said.manner() }) {
                        let mut settled = w.settled;
                        settled.confidence = Confidence::new((settled.confidence.get() * f / total).min(0.75));
                        settled.why.push("could also be a shutter speed".to_owned());
                        focal = Some(settled);
                    }
                    continue;
                }
                if let Some(mut settled) = self.settle_shutter(said, gear, base, flags) {
                    settled.confidence = Confidence::new(settled.confidence.get() * s / total);
                    settled.why.push("could also be a focal length".to_owned());
                    out.push(settled);
                }
                continue;
            }
            out.extend(self.settle_shutter(said, gear, base, flags));
        }
        (out, focal)
    }

    fn settle_shutter(
        &self,
        said: &ShutterSaid,
        gear: &Gear<'_>,
        base: Option<Shutter>,
        flags: &mut Vec<(Flag, String)>,
    ) -> Option<Settled<Shutter>> {
        let mut ways: Vec<Way<Shutter>> = Vec::new();
        for w in &said.ways {
            add_heard(&mut ways, Way { value: self.as_marked(w.value), ..*w });
        }
        gear.loosen(&mut ways);
        let near = |s: &Shutter| match (base.and_then(Shutter::seconds), s.seconds()) {
            (Some(a), Some(b)) => (-((a / b).log2().abs()) / 3.0).exp2(),
            _ => 1.0,
        };
        let w = weigh(&ways, |s| gear.shutter(*s) * near(s), said.manner())?;
        if w.off_gear && gear.shutter(w.settled.value) < 0.1 {
            flags.push((Flag::Odd(Field::Shutter), format!("the dial has no {}", w.settled.value)));
        }
        Some(w.settled)
    }

    /// A time as the dial marks it; past the end of the dial it is held on B.
    fn as_marked(&self, s: Shutter) -> Shutter {
        let Shutter::Timed(speed) = s else { return s };
        let Some(camera) = self.camera_in_hand() else { return s };
        if let Some(mark) = camera.dial.mark_at(speed) {
            return Shutter::Timed(mark);
        }
        let past = camera.dial.slowest().is_some_and(|m| speed.seconds() > m.seconds() * 1.3);
        if past && !speed.is_fraction() { Shutter::bulb(speed.seconds()) } else { s }
    }

    fn apertures(
        &self,
        draft: &Draft,
        gear: &Gear<'_>,
        lens: Option<&'a Lens>,
        flags: &mut Vec<(Flag, String)>,
    ) -> Vec<Settled<Aperture>> {
        draft.apertures.iter().filter_map(|a| self.settle_aperture(a, gear, lens, flags)).collect()
    }

    fn settle_aperture(
        &self,
        said: &ApertureHeard,
        gear: &Gear<'_>,
        lens: Option<&'a Lens>,
        flags: &mut Vec<(Flag, String)>,
    ) -> Option<Settled<Aperture>> {
        let number = |ways: &[Way<Aperture>], flags: &mut Vec<(Flag, String)>| {
            let mut ways = ways.to_vec();
            gear.loosen_aperture(&mut ways);
            let w = weigh(&ways, |a| gear.aperture(*a), said.manner())?;
            if w.off_gear {
                flags.push((Flag::Odd(Field::Aperture), format!("no lens of the kit does f/{}", w.settled.value)));
            }
            Some(w.settled)
        };
        match &said.said {
            ApertureSaid::Ways(ways) => number(ways, flags),
            ApertureSaid::Past(ways, stops) => {
                let from = number(ways, flags)?;
                let to = shifted_aperture(from.value, -stops)?;
                Some(Settled { value: to, ..from })
            }
            ApertureSaid::Between(a, b) => {
                let (a, b) = (number(a, flags)?, number(b, flags)?);
                let gap = a.value.over(b.value).get();
                let middle = shifted_aperture(a.value, -(gap.abs() * 2.0).round() / 4.0 * gap.signum())?;
                Some(Settled { value: middle, confidence: Confidence::new(a.confidence.get().min(0.9)), ..a })
            }
            ApertureSaid::Widest => self.end_of(lens, |l| l.widest),
            ApertureSaid::Smallest => self.end_of(lens, |l| l.smallest),
        }
    }

    /// An end of the lens's range; of all lenses, when they agree.
    fn end_of(&self, lens: Option<&'a Lens>, end: impl Fn(&Lens) -> Option<Aperture>) -> Option<Settled<Aperture>> {
        if let Some(l) = lens {
            return end(l).map(sure);
        }
        let all: Vec<Aperture> = self.gear(None).lenses().filter_map(&end).collect();
        let first = *all.first()?;
        all.iter().all(|a| *a == first).then(|| Settled { confidence: Confidence::new(0.7), ..sure(first) })
    }

    /// Fills in what sameness and changes say.
    fn complete(
        &self,
        draft: &Draft,
        before: Option<&Shot>,
        gear: &Gear<'_>,
        frame: &mut Frame,
        flags: &mut Vec<(Flag, String)>,
    ) {
        let same = |s: Same| draft.same.contains(&s);
        let base_shutter =
            draft.base_shutter.as_ref().and_then(|b| self.settle_shutter(b, gear, None, &mut Vec::new()));
        let base_aperture =
            draft.base_aperture.as_ref().and_then(|b| self.settle_aperture(b, gear, None, &mut Vec::new()));
        let changed = !draft.changes.is_empty() || draft.to_match.is_some();
        let own = (frame.shutter.is_some(), frame.aperture.is_some());
        let one_own = own.0 != own.1;
        let all = same(Same::All)
            || draft.same_as.is_some()
            || changed
            || (draft.inherit && (one_own || has_bracket_only(draft)));
        let old = |dial: bool| -> (Dial, Stop) {
            let b = before.map(|b| &b.frame);
            if dial { (b.and_then(|f| f.shutter.clone()), None) } else { (None, b.and_then(|f| f.aperture.clone())) }
        };
        if frame.shutter.is_none() {
            if base_shutter.is_some() && (own.1 || changed || !draft.numbers.is_empty()) {
                frame.shutter = base_shutter.clone();
                if !own.1 && !changed {
                    doubt(&mut frame.shutter, "only metered, not said to be set");
                }
            } else if all || same(Same::Shutter) {
                frame.shutter = old(true).0;
            }
        }
        if frame.aperture.is_none() {
            if base_aperture.is_some() && (own.0 || changed || !draft.numbers.is_empty()) {
                frame.aperture = base_aperture.clone();
                if !own.0 && !changed {
                    doubt(&mut frame.aperture, "only metered, not said to be set");
                }
            } else if all || same(Same::Aperture) {
                frame.aperture = old(false).1;
            }
        }
        for (moved, stops) in &draft.changes {
            // A dial whose end was said was not moved on from there.
            match moved {
                Moved::Shutter if !own.0 || draft.from => change_shutter(frame, *stops, self, CHANGED),
                Moved::Aperture if !own.1 || draft.from => change_aperture(frame, *stops, CHANGED),
                Moved::Either if !own.0 && !own.1 => {
                    change_aperture(frame, *stops, EITHER);
                    doubt(&mut frame.shutter, "not said which dial was moved");
                    doubt(&mut frame.aperture, "not said which dial was moved");
                }
                _ => {}
            }
        }
        if let (Some(b), Some(moved)) = (before, draft.to_match) {
            match moved {
                Moved::Shutter => {
                    if let (Some(was), Some(now)) = (&b.frame.aperture, &frame.aperture) {
                        let more = was.value.over(now.value).get().round();
                        frame.shutter = b.frame.shutter.clone();
                        change_shutter(frame, more, self, 0.9);
                    }
                }
                _ => {
                    if let (Some(was), Some(now)) = (&b.frame.shutter, &frame.shutter)
                        && let (Some(a), Some(t)) = (was.value.seconds(), now.value.seconds())
                    {
                        frame.aperture = b.frame.aperture.clone();
                        change_aperture(frame, (a / t).log2().round(), 0.9);
                    }
                }
            }
        }
        let _ = flags;
    }

    fn words(&self, draft: &Draft, frame: &mut Frame) {
        let text = |v: &Option<Valued<String>>| {
            v.as_ref().map(|v| {
                let mut s = sure(v.value.clone());
                if v.doubt {
                    s.confidence = Confidence::new(0.5);
                }
                s
            })
        };
        frame.light = text(&draft.light);
        frame.support = text(&draft.support);
        let spoken = |parts: &[String]| {
            (!parts.is_empty()).then(|| Settled::from_one(parts.join(", "), Confidence::new(0.8), Source::Voice))
        };
        frame.subject = spoken(&draft.subject);
        frame.place = spoken(&draft.place);
        if draft.wasted {
            frame.status = Status::Wasted;
        }
        if draft.double {
            for field in [Field::Shutter, Field::Aperture] {
                frame.flag(Flag::Unsure(field), "two exposures on one frame");
            }
        }
        let start = draft.spans.iter().map(|s| s.start).min();
        let end = draft.spans.iter().map(|s| s.end).max();
        if let (Some(start), Some(end)) = (start, end)
            && let Some(text) = self.note.text.get(start..end)
        {
            let span = start..end;
            frame.said.push(Quote { text: text.trim().to_owned(), at: self.note.moment(&span) });
        }
    }

    /// The number of the `i`th frame of a draft, with what else it may be.
    fn number(&self, draft: &Draft, i: usize, r: usize, many: usize) -> Vec<(FrameNumber, f64)> {
        let gear = self.gear(None);
        let last = self.rolls[r].shots.last().map(|s| s.frame.number);
        let ways = match draft.numbers.get(i) {
            Some(ways) => ways.clone(),
            None => match (draft.numbers.last().and_then(|w| w.first()), draft.numbers.len()) {
                (Some(w), n) if many > n => vec![Way::new(w.value.moved((i + 1 - n) as i16), w.weight * 0.95)],
                // "Frame five …, next one …" is frame six.
                (None, _) if draft.inherit && draft.opened => {
                    match self.rolls[r].shots.last().filter(|s| !s.numbers.is_empty()) {
                        Some(s) => vec![Way::new(s.frame.number.next(), 0.95)],
                        None => return Vec::new(),
                    }
                }
                _ => return Vec::new(),
            },
        };
        let likely = |n: &FrameNumber| {
            let next = last.map(FrameNumber::next);
            let order = match next {
                Some(next) if self.carries && *n != next => {
                    if *n > next {
                        0.7
                    } else {
                        0.5
                    }
                }
                _ => 1.0,
            };
            gear.frame(*n) * order
        };
        let heard = draft.numbers_heard.unwrap_or(1.0);
        let manner = Manner { sure: 1.0, heard, doubted: draft.numbers_doubt };
        let Some(w) = weigh(&ways, likely, manner) else { return Vec::new() };
        let mut all = vec![(w.settled.value, w.settled.confidence.get())];
        all.extend(w.settled.others.iter().map(|o| (o.value, o.confidence.get())));
        all
    }

    fn flag_unsure(&self, frame: &mut Frame, numbers: &[(FrameNumber, f64)]) {
        let below = self.unsure_below;
        fn of<T>(s: &Option<Settled<T>>) -> Option<(f64, String)> {
            s.as_ref().map(|s| (s.confidence.get(), s.why.join("; ")))
        }
        let fields = [
            (Field::Shutter, of(&frame.shutter)),
            (Field::Aperture, of(&frame.aperture)),
            (Field::Filter, of(&frame.filter)),
            (Field::FocalMm, of(&frame.focal_mm)),
            (Field::CompStops, of(&frame.comp)),
            (Field::Light, of(&frame.light)),
            (Field::Support, of(&frame.support)),
        ];
        for (field, confidence) in fields {
            if let Some((c, why)) = confidence
                && c < below
            {
                frame.flag(
                    Flag::Unsure(field),
                    if why.is_empty() { "heard with little certainty".to_owned() } else { why },
                );
            }
        }
        if let Some((_, c)) = numbers.first()
            && *c < below
        {
            frame.flag(Flag::Unsure(Field::Frame), "the number may be another");
        }
    }

    /// Puts a shot on its roll: a number that is there already is that frame spoken of again.
    fn put(&mut self, r: usize, mut shot: Shot, draft: &Draft) -> (usize, usize) {
        let from = self.kit().habits.frame_counts_from;
        let said = shot.numbers.first().map(|n| n.0);
        let shots = &self.rolls[r].shots;
        let number = said.unwrap_or_else(|| shots.last().map_or(FrameNumber::new(from), |s| s.frame.number.next()));
        shot.frame.number = number;
        shot.frame.number_confidence = shot.numbers.first().map_or(0.9, |n| n.1);
        if said.is_some()
            && let Some(k) =
                shots.iter().position(|s| s.frame.number == number && (!s.numbers.is_empty() || self.carries))
        {
            if !draft.corrects {
                doubt_differences(&self.rolls[r].shots[k].frame, &mut shot.frame);
            }
            merge(&mut self.rolls[r].shots[k].frame, shot.frame);
            if self.rolls[r].shots[k].numbers.is_empty() {
                self.rolls[r].shots[k].numbers = shot.numbers;
            }
            return (r, k);
        }
        if self.carries {
            self.carry(&mut shot.frame);
        }
        self.rolls[r].shots.push(shot);
        (r, self.rolls[r].shots.len() - 1)
    }

    /// Lens and filter hold until changed.
    fn carry(&mut self, frame: &mut Frame) {
        let hand = self.hand().clone();
        if frame.lens.is_none() && frame.focal_mm.is_none() {
            frame.lens = hand.lens;
            frame.focal_mm = hand.focal;
            if frame.focal_mm.as_ref().is_some_and(|f| f.confidence.get() < self.unsure_below) {
                frame.flag(Flag::Unsure(Field::FocalMm), "carried from a frame where it was not sure");
            }
            if frame.focal_mm.is_some() {
                frame.flag(Flag::Carried(Field::FocalMm), "not said for this frame");
            }
        }
        if frame.filter.is_none() && hand.filter.is_some() {
            if hand.filter.as_ref().is_some_and(|f| f.confidence.get() < self.unsure_below) {
                frame.flag(Flag::Unsure(Field::Filter), "carried from a frame where it was not sure");
            }
            frame.filter = hand.filter;
            frame.flag(Flag::Carried(Field::Filter), "not said for this frame");
        }
    }

    /// "Frame 8 minus a third, 9 zero, 10 plus a third, and zero was …": the
    /// settings said once hold for the whole bracket.
    fn spread_bracket(&mut self, r: usize, made: &[(usize, usize)]) {
        let Some(&(_, last)) = made.last() else { return };
        let shots = &mut self.rolls[r].shots;
        let full = shots[last].frame.clone();
        if full.comp.is_none() || full.shutter.is_none() || full.aperture.is_none() {
            return;
        }
        for k in (0..last).rev() {
            let shot = &mut shots[k];
            let bracketed = shot.frame.comp.is_some() || shot.straight;
            if shot.frame.shutter.is_some() || shot.frame.aperture.is_some() || !bracketed {
                break;
            }
            shot.frame.shutter.clone_from(&full.shutter);
            shot.frame.aperture.clone_from(&full.aperture);
        }
    }

    /// "Frame three with the orange, frame four without, both a sixtieth at f8":
    /// frames of this note that still lack their settings get them too.
    fn spread_back(&mut self, r: usize, made: &[(usize, usize)]) {
        let Some(&(_, last)) = made.last() else { return };
        let mine: Vec<usize> = self.this_note_shots.iter().filter(|s| s.0 == r).map(|s| s.1).collect();
        let full = self.rolls[r].shots[last].frame.clone();
        for k in mine {
            let frame = &mut self.rolls[r].shots[k].frame;
            if frame.shutter.is_none() && frame.aperture.is_none() && frame.status != Status::Wasted {
                frame.shutter.clone_from(&full.shutter);
                frame.aperture.clone_from(&full.aperture);
            }
        }
    }

    /// The rolls as they are noted.
    pub(super) fn noted(self) -> Vec<NotedRoll> {
        let kit = self.kit();
        let mut cameras: Vec<Option<usize>> = vec![None; self.rolls.len()];
        for (c, hand) in &self.hands {
            if let Some(r) = hand.roll {
                cameras[r] = *c;
            }
        }
        let mut out = Vec::new();
        for (r, roll) in self.rolls.into_iter().enumerate() {
            let camera = roll_camera(&roll, cameras[r].or(roll.camera), kit);
            if roll.shots.is_empty() && roll.facts.name.is_none() {
                continue;
            }
            let mut noted = noted_roll(roll, camera, kit);
            weigh_in_context(&mut noted.frames, self.unsure_below);
            out.push(noted);
        }
        out
    }
}

/// What was said of a bracket; "three shots" beside the word is its count.
fn bracketed(draft: &Draft) -> Vec<BracketSaid> {
    let mut said = draft.bracket.clone();
    if let Some(n) = draft.count.filter(|_| said.contains(&BracketSaid::Word)) {
        said.push(BracketSaid::Count(n));
    }
    said
}

fn has_bracket_only(draft: &Draft) -> bool {
    draft.has_bracket() && !draft.has_exposure()
}

fn roll_camera(_: &OpenRoll, camera: Option<usize>, kit: &crate::kit::Kit) -> Option<String> {
    camera.and_then(|i| kit.cameras.get(i)).map(|c| c.name.clone())
}

fn noted_roll(roll: OpenRoll, camera: Option<String>, kit: &crate::kit::Kit) -> NotedRoll {
    let film = roll.facts.film.clone();
    let known = film.as_ref().and_then(|f| kit.film(&f.value));
    let ei = roll.facts.ei.clone().and_then(|e| ExposureIndex::new(e.value.round() as u32).map(|i| e.map(|_| i)));
    let ei = ei.or_else(|| known.and_then(|f| f.ei).map(|e| Settled { confidence: Confidence::new(0.85), ..sure(e) }));
    let frames = roll
        .shots
        .into_iter()
        .map(|shot| {
            let mut frame = shot.frame;
            frame.camera = camera.clone().map(sure);
            frame.film.clone_from(&film);
            frame.box_iso = known.map(|f| f.iso);
            frame.ei.clone_from(&ei);
            frame.process.clone_from(&roll.facts.process);
            frame.filter_stops = frame.filter.as_ref().and_then(|f| kit.lost_to(&f.value));
            NotedFrame { frame, said_numbers: shot.numbers }
        })
        .collect();
    NotedRoll {
        name: roll.facts.name.and_then(|n| crate::facts::RollName::new(&n.value).ok()),
        camera,
        film: film.map(|f| f.value),
        frames,
        scans_reversed: roll.reversed,
        remarks: roll.remarks,
    }
}

fn doubt<T>(s: &mut Option<Settled<T>>, why: &str) {
    if let Some(s) = s {
        s.confidence = Confidence::new(s.confidence.get().min(0.5));
        s.why.push(why.to_owned());
    }
}

fn change_shutter(frame: &mut Frame, stops: f64, builder: &Builder<'_>, sure: f64) {
    let Some(s) = &mut frame.shutter else { return };
    let moved = match s.value {
        Shutter::Timed(from) => match builder.camera_in_hand() {
            Some(c) => c.dial.shifted(from, stops).map(Shutter::Timed).or_else(|| {
                let past = from.seconds() * stops.exp2();
                c.dial.slowest().filter(|m| past > m.seconds() * 1.1).map(|_| Shutter::bulb(past))
            }),
            None => shifted_speed(from, stops).map(Shutter::Timed),
        },
        Shutter::Bulb(Some(t)) => Some(Shutter::bulb(f64::from(t) / 1000.0 * stops.exp2())),
        Shutter::Time(Some(t)) => Some(Shutter::time(f64::from(t) / 1000.0 * stops.exp2())),
        _ => None,
    };
    match moved {
        Some(m) => {
            s.value = m;
            s.confidence = Confidence::new(s.confidence.get() * sure);
            s.why.push("changed from the frame before".to_owned());
        }
        None => {
            s.confidence = Confidence::new(0.3);
            s.why.push("the dial has no mark that far from the frame before".to_owned());
        }
    }
    s.others.clear();
}

fn shifted_speed(from: Speed, stops: f64) -> Option<Speed> {
    let want = from.seconds() * stops.exp2();
    crate::exposure::ShutterStep::Third
        .marks()
        .into_iter()
        .min_by(|a, b| (a.seconds() / want).log2().abs().total_cmp(&(b.seconds() / want).log2().abs()))
}

fn change_aperture(frame: &mut Frame, stops: f64, sure: f64) {
    let Some(a) = &mut frame.aperture else { return };
    match shifted_aperture(a.value, stops) {
        Some(m) => {
            a.value = m;
            a.confidence = Confidence::new(a.confidence.get() * sure);
            a.why.push("changed from the frame before".to_owned());
        }
        None => {
            a.confidence = Confidence::new(0.3);
            a.why.push("no mark lies that far from the frame before".to_owned());
        }
    }
    a.others.clear();
}

/// The mark so many stops wider (more light) than another.
fn shifted_aperture(from: Aperture, more: f64) -> Option<Aperture> {
    let whole = (more - more.round()).abs() < 0.05;
    let halves = (more * 2.0 - (more * 2.0).round()).abs() < 0.05;
    // A mark of the third series stays on it; from a full mark the step decides.
    let full = ApertureStep::Full.marks().contains(&from);
    let step = if whole && full {
        ApertureStep::Full
    } else if halves && (full || ApertureStep::Half.marks().contains(&from)) {
        ApertureStep::Half
    } else {
        ApertureStep::Third
    };
    step.shifted(from, Stops::new(more))
}

/// A frame spoken of again with other settings, and nobody said that the first
/// were wrong: the number may be another frame's. The later word stands, in doubt.
fn doubt_differences(old: &Frame, new: &mut Frame) {
    const WHY: &str = "said twice, and not the same";
    fn differ<T: PartialEq>(a: &Option<Settled<T>>, b: &Option<Settled<T>>) -> bool {
        matches!((a, b), (Some(a), Some(b)) if a.value != b.value)
    }
    let differs = [
        (Field::Shutter, differ(&old.shutter, &new.shutter)),
        (Field::Aperture, differ(&old.aperture, &new.aperture)),
        (Field::Filter, differ(&old.filter, &new.filter)),
        (Field::FocalMm, differ(&old.focal_mm, &new.focal_mm)),
    ];
    for (field, _) in differs.into_iter().filter(|d| d.1) {
        match field {
            Field::Shutter => doubt(&mut new.shutter, WHY),
            Field::Aperture => doubt(&mut new.aperture, WHY),
            Field::Filter => doubt(&mut new.filter, WHY),
            _ => doubt(&mut new.focal_mm, WHY),
        }
        new.flag(Flag::Unsure(field), WHY);
    }
}

/// What is said later of a frame replaces what was said; the rest stays.
fn merge(old: &mut Frame, new: Frame) {
    fn take<T>(old: &mut Option<T>, new: Option<T>) {
        if new.is_some() {
            *old = new;
        }
    }
    let renewed: Vec<Field> = [
        (Field::Shutter, new.shutter.is_some()),
        (Field::Aperture, new.aperture.is_some()),
        (Field::Filter, new.filter.is_some()),
        (Field::FocalMm, new.focal_mm.is_some()),
        (Field::CompStops, new.comp.is_some()),
        (Field::Light, new.light.is_some()),
        (Field::Support, new.support.is_some()),
    ]
    .into_iter()
    .filter(|(_, n)| *n)
    .map(|(f, _)| f)
    .collect();
    let stale = |f: &Flag| matches!(f, Flag::Unsure(x) | Flag::Odd(x) | Flag::Carried(x) if renewed.contains(x));
    old.flags.retain(|f| !stale(f));
    old.reasons.retain(|(f, _)| !stale(f));
    take(&mut old.shutter, new.shutter);
    take(&mut old.aperture, new.aperture);
    take(&mut old.filter, new.filter);
    if new.focal_mm.is_some() {
        old.lens = new.lens.clone();
    }
    take(&mut old.focal_mm, new.focal_mm);
    take(&mut old.lens, new.lens);
    take(&mut old.comp, new.comp);
    take(&mut old.light, new.light);
    take(&mut old.support, new.support);
    take(&mut old.subject, new.subject);
    take(&mut old.place, new.place);
    if new.status == Status::Wasted {
        old.status = new.status;
    }
    for (flag, reason) in new.reasons {
        old.flag(flag, reason);
    }
    old.said.extend(new.said);
}
