//! One act after the other, into the frame being described.

use std::ops::Range;

use crate::facts::FrameNumber;
use crate::language::act::{Act, BracketSaid, Mode, Said, Same};
use crate::language::ways::Way;

use super::build::{Builder, is_dial, valued};
use super::draft::{ApertureHeard, Draft, ShutterSaid};

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
                if self.draft.numbers.len() != *n as usize {
                    self.draft.count = Some(*n);
                    self.draft.opened = true;
                }
                self.draft.spans.push(said.span.clone());
            }
            Act::Same(same) => self.same(*same, said),
            Act::SameAs(number) => {
                self.take_pending();
                self.draft.same_as = Some(number.clone());
                self.draft.spans.push(said.span.clone());
            }
            Act::Shutter { ways, firm } => {
                let shutter = ShutterSaid {
                    ways: ways.clone(),
                    or_focal: None,
                    doubt: said.doubt,
                    weight: said.weight,
                    heard: said.heard,
                    firm: *firm,
                    span: said.span.clone(),
                };
                if real { self.shutter(shutter) } else { self.draft.base_shutter = Some(shutter) }
            }
            Act::ShutterOrFocal { shutter, focal } => {
                let both = ShutterSaid {
                    ways: shutter.0.clone(),
                    or_focal: Some((focal.0.clone(), focal.1, shutter.1)),
                    doubt: said.doubt,
                    weight: 1.0,
                    heard: said.heard,
                    firm: true,
                    span: said.span.clone(),
                };
                if real { self.shutter(both) } else { self.draft.base_shutter = Some(both) }
            }
            Act::Aperture(a) => {
                let heard = ApertureHeard {
                    said: a.clone(),
                    doubt: said.doubt,
                    weight: said.weight,
                    heard: said.heard,
                    span: said.span.clone(),
                };
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
                    last.doubt = true;
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
            Act::Change(moved, stops) => {
                if self.pending_next.is_none()
                    && self.draft.rounded_off
                    && self.draft.is_complete()
                    && !self.draft.correcting
                {
                    self.next_frame(true);
                }
                self.take_pending();
                self.draft.changes.push((*moved, *stops));
                self.draft.spans.push(said.span.clone());
            }
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
            Act::Film(_)
            | Act::Ei(_)
            | Act::BoxSpeed
            | Act::Process(_)
            | Act::Roll(..)
            | Act::RollBegun
            | Act::RollEnded(_)
            | Act::Camera(_)
            | Act::BothCameras => self.roll_act(acts, i),
            Act::Light(_) | Act::Support(_) | Act::Subject(_) | Act::Place(_) | Act::Turn | Act::ScansReversed => {}
        }
    }

    pub(super) fn nth(&mut self, n: u32, acts: &[Said], i: usize) {
        let settings_follow = acts[i + 1..]
            .iter()
            .take_while(|s| !matches!(s.act, Act::SentenceEnd | Act::Frames { .. }))
            .any(|s| s.mode == Mode::Real && (is_dial(&s.act) || matches!(s.act, Act::Same(_) | Act::Wasted(_))));
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
            Same::Again if self.draft.has_exposure() && self.pending_next.is_none() && !self.draft.correcting => {
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
