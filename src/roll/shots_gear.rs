//! Lens and filters of a frame: said, or held from before.

use crate::facts::{Confidence, Field, Flag, FrameNumber, Reading, Settled};
use crate::kit::{Filters, Focal, Lens};
use crate::language::act::{FilterSaid, Same};
use crate::language::gear::Gear;
use crate::language::ways::Way;

use super::build::{Builder, sure};
use super::doubts::{UNREAD, doubt, doubt_one, unread_focal};
use super::draft::{Draft, Valued};
use super::said::{Manner, weigh};
use super::shots::Shot;
use super::{Frame, Status};

impl<'a> Builder<'a> {
    /// The shot that changes and sameness refer to.
    pub(super) fn base(&self, draft: &Draft, r: usize) -> Option<Shot> {
        let shots = &self.rolls[r].shots;
        if let Some(numbers) = &draft.same_as {
            let wanted = numbers.first()?.value;
            return shots.iter().rev().find(|s| s.frame.number == wanted).map(Shot::without_words);
        }
        // A frame spoken of again has its own past.
        let number = draft.numbers.first().and_then(|n| n.first()).map(|w| w.value);
        let before = shots.iter().rev().find(|s| Some(s.frame.number) != number && s.frame.status != Status::Wasted);
        // On a film with nothing on it yet, sameness means the other camera's frame just spoken of.
        let other = || self.this_note_shots.last().and_then(|(r, k)| self.rolls[*r].shots.get(*k));
        before.or_else(|| shots.last()).or_else(other).map(Shot::without_words)
    }

    pub(super) fn lens_in_use(&self, draft: &Draft, before: Option<&Shot>) -> Option<&'a Lens> {
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
    pub(super) fn lens_for(&self, mm: f64) -> Option<&'a Lens> {
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

    pub(super) fn set_gear(
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
            let mut named = sure(l.name.clone());
            if let Some(said) = &draft.lens {
                said.manner.lower(&mut named);
            }
            frame.lens = Some(named);
        }
        match (&draft.focal, lens) {
            (Some(f), _) => {
                let on = match &draft.lens {
                    Some(_) => Gear { lens, ..gear },
                    None => gear,
                };
                if let Some(w) = weigh(&f.value, |mm| on.focal(*mm), f.manner.at_least(0.5)) {
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
                    l.manner.lower(&mut s);
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
        let (mut manner, mut strange) = (Manner::default(), false);
        // How surely the names were taken, and what else the last of them may have been.
        let (mut share, mut rivals) = (1.0_f64, None::<Settled<String>>);
        for op in ops {
            manner.add(op.manner);
            match op.value {
                FilterSaid::On(ref ways) => {
                    let named: Vec<Way<String>> = ways.iter().map(|w| w.of(name(w.value))).collect();
                    let mut set = if said_on { on.unwrap_or_default() } else { Vec::new() };
                    if let Some(w) = weigh(&named, |_| 1.0, Manner::default()) {
                        share *= w.settled.confidence.get();
                        if !set.contains(&w.settled.value) {
                            set.push(w.settled.value.clone());
                        }
                        rivals = Some(w.settled);
                    }
                    on = Some(set);
                    said_on = true;
                }
                FilterSaid::Off(i) => {
                    let mut set = on.unwrap_or_default();
                    // Something else was on: one of the two notes was misheard.
                    strange |= !set.is_empty() && !set.contains(&name(i));
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
        settled.confidence = Confidence::new(settled.confidence.get() * share);
        if let Some(name) = rivals {
            let with = |other: &String| {
                let set = settled.value.0.iter().map(|n| if *n == name.value { other.clone() } else { n.clone() });
                Filters(set.collect())
            };
            let others = name
                .others
                .iter()
                .map(|o| Reading { terms: o.terms, ..Reading::new(with(&o.value), o.confidence, o.source) });
            settled.others = others.collect();
            settled.why.extend(name.why);
        }
        manner.lower(&mut settled);
        if strange {
            doubt_one(&mut settled, "a filter was taken off that was not noted as on");
        }
        Some(settled)
    }

    /// Lens and filter hold until changed.
    pub(super) fn carry(&mut self, draft: &Draft, frame: &mut Frame) {
        let hand = self.hand().clone();
        if frame.lens.is_none() && frame.focal_mm.is_none() {
            frame.lens = hand.lens;
            frame.focal_mm = hand.focal;
            if frame.focal_mm.as_ref().is_some_and(|f| f.confidence.get() < self.unsure_below) {
                frame.flag(Flag::Unsure(Field::FocalMm), "carried from a frame where it was not sure");
            }
            if frame.focal_mm.as_ref().is_some_and(|f| unread_focal(draft, &self.gear(None), f.value)) {
                doubt(&mut frame.focal_mm, UNREAD);
                frame.flag(Flag::Unsure(Field::FocalMm), UNREAD);
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

    /// Gear that was spoken of without a frame: it holds from here on.
    pub(super) fn gear_only(&mut self, draft: &Draft) {
        let lens = self.lens_in_use(draft, None);
        let mut frame = Frame::blank(FrameNumber::new(0), Status::Ok);
        let mut flags = Vec::new();
        self.set_gear(draft, None, lens, &mut frame, &mut flags);
        let said_focal = draft.focal.is_some() || draft.lens.is_some();
        if draft.all {
            self.spread_gear(&frame);
        }
        let hand = self.hand();
        if said_focal {
            hand.lens = frame.lens;
            hand.focal = frame.focal_mm;
        }
        if !draft.filters.is_empty() {
            hand.filter = frame.filter;
        }
    }

    pub(super) fn carry_on(&mut self, draft: &Draft, last: Option<(usize, usize)>) {
        let Some((r, k)) = last else { return };
        let frame = self.rolls[r].shots[k].frame.without_words();
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
}
