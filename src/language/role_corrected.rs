//! A number after a correction takes the place of the value before it.

use super::class::Class;
use super::role::{Finder, LEAST, Link, Role, aperture_like, shutter_like};
use super::term::Arg;

impl Finder<'_, '_> {
    /// After a correction a number takes the place of the value before it.
    pub(super) fn corrections(&mut self) {
        for k in 0..self.terms().len() {
            if !self.is_bare(k) {
                continue;
            }
            if self.names_frame_before(k) && self.follows_mark(k) {
                self.roles[k] = Some(Role::Frame(0.9));
                continue;
            }
            let linked = match self.linked(k, false) {
                Some((j, Link::Corrected)) => Some(j),
                _ => self.corrected_after_stop(k),
            };
            let Some(j) = linked else { continue };
            let class = self.terms()[j].class;
            if let Some(role) = self.nearer_dial(k, j) {
                self.roles[k] = Some(role);
                continue;
            }
            let role = match class {
                c if shutter_like(c) && self.as_shutter(k) >= 0.3 => Some(Role::Shutter(0.95)),
                c if aperture_like(c) && self.as_aperture(k) >= 0.3 => Some(Role::Aperture(0.95)),
                Class::Focal | Class::LensThe | Class::Lens | Class::FocalZoom | Class::LensAt
                    if self.as_focal(k) >= 0.5 =>
                {
                    Some(Role::Focal(0.95))
                }
                Class::Ei | Class::FilmAt | Class::EiBox => Some(Role::Ei(0.95)),
                Class::Frame | Class::Frames | Class::FrameWeak => Some(Role::Frame(0.95)),
                Class::Roll => Some(Role::Roll(0.95)),
                Class::Bare => self.roles[j],
                _ => None,
            };
            self.roles[k] = role;
        }
    }

    pub(super) fn follows_mark(&self, k: usize) -> bool {
        let start = usize::from(self.terms()[k].start);
        start == 0 || self.r.tokens[start - 1].is_mark()
    }

    /// "EI 200. No, hang about, 160.": the value before the correction, in the sentence before.
    pub(super) fn corrected_after_stop(&self, k: usize) -> Option<usize> {
        let terms = self.terms();
        let correction = |j: usize| matches!(terms[j].class, Class::Correct | Class::CorrectNo | Class::Scratch);
        let first = (0..k).rev().take_while(|j| correction(*j)).last()?;
        let j = first.checked_sub(1)?;
        let quiet = |from: u16, to: u16| {
            self.r.tokens[usize::from(from)..usize::from(to)]
                .iter()
                .all(|t| t.is_mark() || self.r.lexicon.in_list("filler", t))
        };
        (j..k).all(|i| quiet(terms[i].end, terms[i + 1].start)).then_some(j)
    }

    /// "No, six was f11": a frame spoken of before, and a form of "to be".
    pub(super) fn names_frame_before(&self, k: usize) -> bool {
        let is = self.r.tokens.get(usize::from(self.terms()[k].end)).is_some_and(|t| self.r.lexicon.in_list("be", t));
        let value = self.value(k);
        is && (0..k).any(|j| {
            matches!(self.terms()[j].class, Class::Frame | Class::Frames | Class::FrameS)
                && matches!(self.terms()[j].args[0], Some(Arg::Number { start, end })
                    if self.r.found.readings(start, end).any(|n| Some(n.value) == value))
        })
    }

    /// Of a shutter and an aperture said before, the one that a number after a
    /// correction is nearer to, in stops.
    pub(super) fn nearer_dial(&self, k: usize, j: usize) -> Option<Role> {
        let before = |like: &dyn Fn(Class) -> bool| {
            (0..=j).rev().take_while(|i| self.sentence[*i] == self.sentence[j]).find(|i| like(self.terms()[*i].class))
        };
        let (s, a) = (
            before(&shutter_like)?,
            before(&aperture_like).or_else(|| {
                (0..=j)
                    .rev()
                    .take_while(|i| self.sentence[*i] == self.sentence[j])
                    .find(|i| self.terms()[*i].class == Class::Bare)
            })?,
        );
        let (as_s, as_a) = (self.as_shutter(k), self.as_aperture(k));
        let value = self.value(k)?;
        let number = |i: usize| match self.terms()[i].args[0] {
            Some(Arg::Number { start, end }) => self.r.found.readings(start, end).map(|n| n.value).next(),
            _ => None,
        };
        let apart_s = number(s).map_or(9.0, |n| (n / value).log2().abs());
        let apart_a = number(a).map_or(9.0, |n| 2.0 * (n / value).log2().abs());
        if as_a >= 0.3 && (as_s < LEAST || apart_a < apart_s) {
            Some(Role::Aperture(0.95))
        } else if as_s >= 0.3 {
            Some(Role::Shutter(0.95))
        } else {
            None
        }
    }
}
