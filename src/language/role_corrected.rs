//! A number after a correction takes the place of the value before it.

use super::class::Class;
use super::role::{Finder, LEAST, Link, Role, against_rival, aperture_like, shutter_like};
use super::term::Arg;
use super::token::Kind;

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
            let Some(j) = linked.or_else(|| self.claimed(k)).or_else(|| self.denied(k)).or_else(|| self.read_again(k))
            else {
                continue;
            };
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
                // "Had f2 down for frame sixteen, change it to 2.8": not the frame's number.
                Class::Frame | Class::FrameWeak if self.value(k).is_some_and(|v| v.fract() > 0.0) => {
                    (self.as_aperture(k) >= 0.3).then_some(Role::Aperture(0.9))
                }
                Class::Ei | Class::FilmAt | Class::EiBox => Some(Role::Ei(0.95)),
                Class::Frame | Class::Frames | Class::FrameWeak => Some(Role::Frame(0.95)),
                Class::Roll => Some(Role::Roll(0.95)),
                Class::Bare => self.roles[j].or_else(|| self.same_dial(j, k)),
                _ => None,
            };
            self.roles[k] = role.or_else(|| self.frame_nearby(k, j));
        }
    }

    /// "Frame eleven, a ninetieth at four, oh, it's twelve": a number near the frame's.
    fn frame_nearby(&self, k: usize, j: usize) -> Option<Role> {
        let value = self.value(k).filter(|v| v.fract() == 0.0 && *v > 0.0)?;
        let frame = (0..=j).rev().find(|i| matches!(self.terms()[*i].class, Class::Frame | Class::FrameS))?;
        let Some(Arg::Number { start, end }) = self.terms()[frame].args[0] else { return None };
        let near = |n: f64| (n - value).abs() <= 2.0 && n != value;
        self.r.found.readings(start, end).any(|n| near(n.value)).then_some(Role::Frame(0.9))
    }

    /// The dial that both numbers fit best.
    fn same_dial(&self, j: usize, k: usize) -> Option<Role> {
        let s = self.as_shutter(j).min(self.as_shutter(k));
        let a = self.as_aperture(j).min(self.as_aperture(k));
        let sure = against_rival(s.max(a) / (s + a));
        // "Either eight or eleven, same speed."
        let speed_known = self
            .terms()
            .iter()
            .zip(&self.sentence)
            .any(|(t, n)| t.class == Class::SameShutter && *n == self.sentence[k]);
        let role = if s >= a && !(speed_known && a >= 0.5) { Role::Shutter(sure) } else { Role::Aperture(sure) };
        (s.max(a) >= 0.5).then_some(role)
    }

    /// "No, not two, three": the frame denied.
    fn denied(&self, k: usize) -> Option<usize> {
        let terms = self.terms();
        let (j, not) = (k.checked_sub(1)?, k.checked_sub(2)?);
        let tight = terms[not].class == Class::Not && terms[not].end == terms[j].start;
        let between = &self.r.tokens[usize::from(terms[j].end)..usize::from(terms[k].start)];
        let comma = between.len() == 1 && between[0].kind == Kind::Mark(',');
        (tight && comma && matches!(self.roles[j], Some(Role::Frame(_)))).then_some(j)
    }

    /// "I said one twenty-five and it was sixty": the value claimed.
    fn claimed(&self, k: usize) -> Option<usize> {
        let terms = self.terms();
        let turn = k.checked_sub(1).filter(|t| {
            matches!(terms[*t].class, Class::Turn | Class::TurnWeak | Class::TurnBack)
                && terms[*t].end == terms[k].start
        })?;
        let said = (0..turn).rev().find(|i| !matches!(terms[*i].class, Class::And | Class::TurnBack))?;
        let claim = said.checked_sub(1).is_some_and(|c| terms[c].class == Class::Claimed);
        (claim && self.sentence[said] == self.sentence[k]).then_some(said)
    }

    /// "Oh no, the pointer's on thirty-two": a value behind "on", some words after a correction.
    fn read_again(&self, k: usize) -> Option<usize> {
        let terms = self.terms();
        let on = usize::from(terms[k].start).checked_sub(1).is_some_and(|i| {
            self.r.lexicon.in_list("at", &self.r.tokens[i]) || self.r.lexicon.in_list("be", &self.r.tokens[i])
        }) || k > 0 && terms[k - 1].class == Class::Turn && terms[k - 1].end == terms[k].start;
        let here = self.sentence[k];
        let cue = (0..k)
            .rev()
            .take_while(|i| self.sentence[*i] == here)
            .find(|i| matches!(terms[*i].class, Class::Correct | Class::CorrectNo | Class::Scratch))?;
        let value = |c: Class| shutter_like(c) || aperture_like(c) || c == Class::Bare;
        let first = !(cue + 1..k).any(|i| value(terms[i].class));
        let ends = self.r.tokens.get(usize::from(terms[k].end)).is_none_or(super::token::Token::is_mark);
        let before = (0..cue).rev().find(|i| value(terms[*i].class));
        before.filter(|_| on && first && ends)
    }

    pub(super) fn follows_mark(&self, k: usize) -> bool {
        let start = usize::from(self.terms()[k].start);
        start == 0 || self.r.tokens[start - 1].is_mark()
    }

    /// "EI 200. No, hang about, 160.": the value before the correction, in the sentence before.
    pub(super) fn corrected_after_stop(&self, k: usize) -> Option<usize> {
        let terms = self.terms();
        let correction = |j: usize| matches!(terms[j].class, Class::Correct | Class::CorrectNo | Class::Scratch);
        // "No, I'm doing 250", "oh, you know what? It's twelve".
        let turn = |j: usize| matches!(terms[j].class, Class::Turn | Class::TurnWeak);
        let first = (0..k).rev().take_while(|j| correction(*j) || turn(*j)).last().filter(|j| correction(*j))?;
        let j = first.checked_sub(1)?;
        // The letter of a roll's name belongs to its number.
        let letter = |i: usize| {
            let next = self.r.tokens.get(i + 1);
            self.r.tokens[i].span.len() == 1 && next.is_some_and(|n| n.glued && matches!(n.kind, Kind::Number { .. }))
        };
        let quiet = |from: u16, to: u16| {
            (usize::from(from)..usize::from(to)).all(|i| {
                let t = &self.r.tokens[i];
                t.is_mark() || self.r.lexicon.in_list("filler", t) || letter(i)
            })
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
