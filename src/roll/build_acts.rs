//! One act after the other, into the frame being described.

use std::ops::Range;

use crate::facts::FrameNumber;
use crate::kit::Lens;
use crate::language::act::{Act, BracketSaid, Mode, Moved, Said, Same};
use crate::language::ways::Way;

use super::build::{Builder, is_dial, valued};
use super::draft::{ApertureHeard, Draft, ShutterSaid};
use super::said::Manner;

impl<'a> Builder<'a> {
    pub(super) fn apply(&mut self, acts: &[Said], i: usize) {
        let said = &acts[i];
        let real = said.mode == Mode::Real;
        match &said.act {
            Act::SentenceEnd => {
                self.draft.sentences += usize::from(self.draft.is_frame());
                self.draft.anded = false;
                self.draft.or = false;
                if self.draft.is_complete() {
                    self.draft.rounded_off = true;
                }
                if self.draft.replaced {
                    // What was wrong has been put right; what follows is new.
                    self.draft.correcting = false;
                    self.draft.replaced = false;
                }
                if self.draft.correcting {
                    self.corrected_in += 1;
                    if self.corrected_in > 1 {
                        self.draft.correcting = false;
                    }
                }
            }
            Act::Frames { numbers, weak } => {
                if *weak {
                    let follows = acts[i + 1..]
                        .iter()
                        .take_while(|s| !matches!(s.act, Act::Frames { .. }))
                        .any(|s| s.mode == Mode::Real && is_dial(&s.act));
                    if !follows && !self.draft.has_exposure() && !self.draft.wasted {
                        return;
                    }
                }
                self.frames(numbers.clone(), said);
            }
            Act::ThatFrame(number) => {
                if self.draft.has_exposure() && self.draft.numbers.is_empty() && self.pending_next.is_none() {
                    self.draft.numbers = vec![number.clone()];
                    self.draft.numbers_manner.add(Manner::of(said));
                    self.draft.spans.push(said.span.clone());
                } else {
                    self.frames(vec![number.clone()], said);
                }
            }
            Act::Nth(n) => self.nth(*n, acts, i),
            Act::Next { lazy } => {
                self.dropped = false;
                self.draft.or = false;
                let stronger = self.pending_next.is_none_or(|l| l);
                if stronger {
                    self.pending_next = Some(*lazy);
                }
                if !lazy {
                    // "Next, …" is a frame even if little is said of it.
                    self.draft.opened |= !self.draft.has_exposure();
                }
            }
            Act::Count(n) => {
                if self.draft.rounded_off && self.draft.is_complete() {
                    self.next_frame(false);
                }
                self.take_pending();
                let after = self.note.text[said.span.end..].trim_start();
                self.draft.announced = !self.draft.has_exposure() && after.starts_with([',', ':', '.']);
                if self.draft.numbers.len() != *n as usize {
                    self.draft.count = Some(*n);
                    self.draft.opened = true;
                }
                self.draft.spans.push(said.span.clone());
            }
            // "The meter said the same": as it read for the frame before.
            Act::Same(Same::All) if !real && self.last_read != (None, None) => {
                let (shutter, aperture) = self.last_read.clone();
                self.draft.base_shutter = self.draft.base_shutter.take().or(shutter);
                self.draft.base_aperture = self.draft.base_aperture.take().or(aperture);
            }
            Act::Same(same) => {
                // "A sixtieth at f8 on the long lens, same on the wide": one frame more.
                let other_gear = acts
                    .get(i + 1)
                    .is_some_and(|s| matches!(s.act, Act::Lens(..) | Act::Focal(_) | Act::Filter(_) | Act::Camera(_)));
                let described = !self.draft.shutters.is_empty() && !self.draft.apertures.is_empty();
                if *same == Same::All && other_gear && described && self.pending_next.is_none() {
                    self.next_frame(true);
                }
                self.same(*same, said);
            }
            Act::SameAs(number) => {
                self.take_pending();
                self.draft.same_as = Some(number.clone());
                self.draft.spans.push(said.span.clone());
            }
            Act::Shutter { ways, firm } => {
                let shutter = ShutterSaid {
                    ways: ways.clone(),
                    or_focal: None,
                    manner: Manner::of(said),
                    firm: *firm,
                    span: said.span.clone(),
                };
                if real && self.another_exposure(acts, i) {
                    self.next_frame(true);
                }
                if real { self.shutter(shutter) } else { self.draft.base_shutter = Some(shutter) }
            }
            Act::ShutterOrFocal { shutter, focal } => {
                let both = ShutterSaid {
                    ways: shutter.0.clone(),
                    or_focal: Some((focal.0.clone(), focal.1, shutter.1)),
                    manner: Manner { sure: 1.0, ..Manner::of(said) },
                    firm: true,
                    span: said.span.clone(),
                };
                if real { self.shutter(both) } else { self.draft.base_shutter = Some(both) }
            }
            Act::Aperture(a) => {
                let heard = ApertureHeard { said: a.clone(), manner: Manner::of(said), span: said.span.clone() };
                if real && self.another_exposure(acts, i) {
                    self.next_frame(true);
                }
                if real { self.aperture(heard) } else { self.draft.base_aperture = Some(heard) }
            }
            Act::Focal(ways) => {
                self.take_pending();
                self.draft.focal = Some(valued(ways.clone(), said));
                self.draft.spans.push(said.span.clone());
            }
            Act::Lens(lens, _) => {
                self.take_pending();
                self.draft.lens = Some(valued(*lens, said));
                self.draft.spans.push(said.span.clone());
            }
            Act::Filter(f) => {
                self.take_pending();
                if self.draft.or
                    && let Some(last) = self.draft.filters.last_mut()
                {
                    // "Red or orange": one of the two.
                    last.manner.doubted = true;
                    self.draft.or = false;
                    return;
                }
                if self.draft.correcting {
                    self.draft.replaced = true;
                    self.draft.filters.clear();
                }
                self.draft.filters.push(valued(f.clone(), said));
                self.draft.spans.push(said.span.clone());
            }
            Act::Change(moved, stops) => self.change(*moved, *stops, said),
            Act::Clicks(moved, clicks) => self.change(*moved, clicks * self.click(*moved), said),
            Act::From => self.draft.from = true,
            Act::Extra(stops) => self.draft.extra = Some(*stops),
            Act::ToMatch(moved) => self.draft.to_match = Some(*moved),
            Act::Compensation(stops) => {
                self.take_pending();
                self.draft.comp = Some(*stops);
                self.draft.spans.push(said.span.clone());
            }
            Act::Bracket(b) => {
                // "…, then one over": the promised frame is one of a bracket.
                let frames = matches!(b, BracketSaid::Offset(..) | BracketSaid::EitherSide(_) | BracketSaid::Straight);
                if frames && self.pending_next.is_some() && self.draft.has_exposure() {
                    self.pending_next = None;
                    self.draft.bracket.push(BracketSaid::Word);
                }
                // "…, one over, one under; as metered was a thirtieth at f8": the means, not one frame more.
                let told = self.draft.bracket.contains(&BracketSaid::Straight)
                    && self.draft.bracket.iter().any(|b| matches!(b, BracketSaid::Offset(..)));
                if *b == BracketSaid::Straight && told && !self.draft.has_exposure() {
                    return;
                }
                self.draft.bracket.push(*b);
                self.draft.spans.push(said.span.clone());
            }
            Act::BracketBy(moved) => self.draft.bracket_by = Some(*moved),
            Act::ListOf(moved) => {
                self.draft.list_of = Some(*moved);
                self.draft.opened = true;
            }
            Act::All => self.draft.all = true,
            // "…, dropped it to a fiftieth": another frame, or the same one if nothing was set yet.
            Act::MovedTo => {
                if self.draft.has_exposure()
                    && self.draft.is_complete()
                    && self.pending_next.is_none()
                    && !self.draft.correcting
                {
                    self.next_frame(true);
                }
                self.draft.inherit = true;
            }
            Act::And => self.draft.anded = true,
            Act::Light(l) if real => {
                self.draft.light = Some(valued(l.clone(), said));
                self.draft.spans.push(said.span.clone());
            }
            Act::Support(s) if real => {
                self.draft.support = Some(valued(s.clone(), said));
                self.draft.spans.push(said.span.clone());
            }
            Act::Wasted(strong) => {
                if !strong && !self.draft.is_frame() && !self.draft.opened {
                    return;
                }
                self.take_pending();
                self.draft.wasted = true;
                self.draft.spans.push(said.span.clone());
            }
            Act::DoubleExposure => self.draft.double = true,
            Act::Subject(text) if real => self.draft.subject.push(text.clone()),
            Act::Place(text) if real => self.draft.place.push(text.clone()),
            Act::Correct => {
                self.draft.correcting = true;
                self.draft.corrects = true;
                self.corrected_in = 0;
                self.draft.anded = false;
            }
            Act::Scratch => {
                self.draft.correcting = true;
                self.draft.corrects = true;
                self.draft.scratched = self.draft.is_frame();
                self.corrected_in = 0;
            }
            Act::ForgetLast => {
                if self.draft.is_frame() {
                    self.draft = Draft::default();
                } else {
                    self.forget_last();
                }
            }
            Act::Cancel => {
                self.draft = Draft::default();
                self.held.clear();
                self.dropped = true;
            }
            Act::Or => self.draft.or = true,
            Act::Unread(n) if real => self.draft.unread.push(*n),
            Act::Film(_)
            | Act::Ei(_)
            | Act::BoxSpeed
            | Act::Process(_)
            | Act::Roll(..)
            | Act::RollBegun
            | Act::RollEnded(_)
            | Act::Camera(_)
            | Act::BothCameras => self.roll_act(acts, i),
            Act::Light(_)
            | Act::Support(_)
            | Act::Subject(_)
            | Act::Place(_)
            | Act::Turn
            | Act::ScansReversed
            | Act::Unread(_) => {}
        }
    }

    pub(super) fn nth(&mut self, n: u32, acts: &[Said], i: usize) {
        let settings_follow = acts[i + 1..]
            .iter()
            .take_while(|s| !matches!(s.act, Act::SentenceEnd | Act::Frames { .. }))
            .any(|s| s.mode == Mode::Real && (is_dial(&s.act) || matches!(s.act, Act::Same(_) | Act::Wasted(_))));
        // "Three frames here. First, …. Second, …": told one by one.
        if self.draft.announced && settings_follow {
            self.draft.count = None;
        }
        if n >= 2 && (self.draft.is_complete() || self.draft.has_exposure() && self.draft.count.is_some()) {
            if settings_follow && self.draft.numbers.len() < 2 {
                if self.draft.count.is_some_and(|c| c == n) {
                    self.draft.count = Some(n - 1).filter(|c| *c > 1);
                }
                self.pending_next = Some(false);
            }
        } else if !self.draft.has_exposure() && self.draft.numbers.is_empty() && acts[i].weight >= 0.0 && n <= 40 {
            // "First sheet, …"
            let sheet = self.note.text[acts[i].span.clone()].split_whitespace().count() >= 2;
            if sheet && !self.draft.opened && self.carries_numbers(&acts[i].span) {
                self.draft.numbers = vec![vec![Way::new(FrameNumber::new(n as u16), 0.9)]];
                self.draft.opened = true;
            }
        }
    }

    /// Whether a value begins a second whole exposure right behind a first:
    /// "one twenty-five at eight and one twenty-five at eleven".
    fn another_exposure(&self, acts: &[Said], i: usize) -> bool {
        let d = &self.draft;
        let single = d.numbers.len() < 2 && d.count.is_none_or(|n| n == 2) && !d.all && d.list_of.is_none();
        if d.shutters.is_empty() || d.apertures.is_empty() || d.correcting || d.or || d.rounded_off || !single {
            return false;
        }
        let dial = |s: &Said| match &s.act {
            Act::Shutter { .. } | Act::ShutterOrFocal { .. } => Some(Moved::Shutter),
            Act::Aperture(_) => Some(Moved::Aperture),
            _ => None,
        };
        let (before, after) = acts.split_at(i);
        let other = after[1..].iter().find(|s| s.act != Act::And && s.mode == Mode::Real);
        let turned = before.iter().rev().take_while(|s| dial(s).is_none()).any(|s| s.act == Act::Turn);
        let Some(other) = other.filter(|o| dial(o).is_some() && dial(o) != dial(&acts[i])) else { return false };
        let said_before = |s: &Said| {
            before.iter().any(|b| match (&b.act, &s.act) {
                (Act::Shutter { ways: a, .. }, Act::Shutter { ways: b, .. }) => a == b,
                (a, b) => a == b,
            })
        };
        !(turned || said_before(&acts[i]) && said_before(other))
    }

    /// A dial is moved on from the frame before.
    fn change(&mut self, moved: Moved, stops: f64, said: &Said) {
        if self.pending_next.is_none() && self.draft.rounded_off && self.draft.is_complete() && !self.draft.correcting {
            self.next_frame(true);
        }
        self.take_pending();
        self.draft.changes.push((moved, stops));
        self.draft.changes_manner.add(Manner { sure: 1.0, ..Manner::of(said) });
        self.draft.spans.push(said.span.clone());
    }

    /// How far one click of a dial goes, stops.
    fn click(&self, moved: Moved) -> f64 {
        let camera = self.camera_in_hand();
        let lens = self.hands.get(&self.camera).and_then(|h| h.lens.as_ref()).and_then(|l| self.kit().lens(&l.value));
        let ring = |l: &Lens| l.step.map(|s| s.stops());
        let mut rings: Vec<f64> = self.gear(lens).lenses().filter_map(ring).collect();
        rings.dedup();
        match (moved, rings.as_slice()) {
            (Moved::Shutter, _) => camera.map_or(1.0, |c| c.dial.step().stops()),
            (_, [step]) => *step,
            _ => 1.0,
        }
    }

    /// Whether an ordinal names a frame: "first sheet", not "the first one".
    pub(super) fn carries_numbers(&self, span: &Range<usize>) -> bool {
        self.language.is_frame_word(&self.note.text[span.clone()])
    }

    pub(super) fn same(&mut self, same: Same, said: &Said) {
        match same {
            Same::Film | Same::Rating => {
                self.same_film(same);
                return;
            }
            Same::Place => return,
            Same::Again
                if (self.draft.has_exposure() || self.draft.again)
                    && self.pending_next.is_none()
                    && !self.draft.correcting =>
            {
                self.next_frame(true)
            }
            Same::All
                if self.pending_next.is_none()
                    && self.draft.rounded_off
                    && self.draft.has_exposure()
                    && !self.draft.correcting =>
            {
                self.next_frame(true);
            }
            _ => self.take_pending(),
        }
        self.draft.again |= same == Same::Again;
        let same = if same == Same::Again { Same::All } else { same };
        self.draft.same.push(same);
        self.draft.spans.push(said.span.clone());
    }
}
