//! Numbers that have no partner: ratings, focal lengths, frames.

use super::class::Class;
use super::marks;
use super::role::{Finder, Role, against_rival, aperture_like, shutter_like};
use super::token::Kind;

impl Finder<'_, '_> {
    /// A rating after the film; a focal length that only a zoom can mean.
    pub(super) fn leftovers(&mut self) {
        for k in 0..self.terms().len() {
            if !self.is_bare(k) {
                continue;
            }
            let in_sentence = |f: &dyn Fn(Class) -> bool| self.of_sentence(k).any(|j| f(self.terms()[j].class));
            let film = in_sentence(&|c| matches!(c, Class::Film | Class::Roll));
            let exposed = in_sentence(&|c| shutter_like(c) || aperture_like(c));
            let at = self.linked_at_before(k);
            if film && at && !exposed && self.value(k).is_some_and(|v| self.gear.ei(v) >= 1.0 && v >= 6.0) {
                self.roles[k] = Some(Role::Ei(0.9));
                continue;
            }
            let frame = |v: f64| v.fract() == 0.0 && v <= 40.0 && !self.r.names_filter(v);
            if self.begins(k) && self.full_exposure(k) && self.value(k).is_some_and(frame) {
                self.roles[k] = Some(Role::Frame(0.85));
                continue;
            }
            // "…, then another at 11": one dial of one frame more.
            let more = in_sentence(&|c| {
                matches!(
                    c,
                    Class::Next
                        | Class::Then
                        | Class::OneOfThem
                        | Class::Again
                        | Class::FirstOne
                        | Class::Nth
                        | Class::FrameNth
                )
            }) || self.names_frame(k);
            // "…, so I shot it at five six": what only one dial can be.
            let turned =
                k > 0 && self.terms()[k - 1].class == Class::Turn && self.terms()[k - 1].end == self.terms()[k].start;
            if turned {
                let (a, s) = (self.as_aperture(k), self.as_shutter(k));
                let at = &self.r.tokens[usize::from(self.terms()[k].start) - 1];
                if a >= 0.85 && s < 0.3 && self.r.lexicon.in_list("at", at) {
                    self.roles[k] = Some(Role::Aperture(a));
                    continue;
                }
            }
            let zoom = self.value(k).is_some_and(|v| self.gear.focal(v) >= 0.85 && v >= 15.0);
            // "Back to eleven, the shutter down to a thirtieth."
            let moved = k > 0
                && self.terms()[k - 1].class == Class::MovedTo
                && self.terms()[k - 1].end == self.terms()[k].start;
            if moved {
                let (a, s) = (self.as_aperture(k), self.as_shutter(k));
                let (has_s, has_a) = (in_sentence(&shutter_like), in_sentence(&aperture_like));
                let has = |role: fn(Role) -> bool| self.of_sentence(k).any(|j| self.roles[j].is_some_and(role));
                let both = (has_s || has(|r| matches!(r, Role::Shutter(_))))
                    && (has_a || has(|r| matches!(r, Role::Aperture(_))));
                // "Back to 200, 800 at f8": both dials are set, so it is the zoom.
                if both && zoom {
                    self.roles[k] = Some(Role::Focal(0.85));
                    continue;
                }
                if a >= 0.5 && (has_s && !has_a || a > s) {
                    self.roles[k] = Some(Role::Aperture(if has_s { 0.95 } else { against_rival(a / (a + s)) }));
                    continue;
                } else if s >= 0.5 {
                    self.roles[k] = Some(Role::Shutter(if has_a { 0.95 } else { against_rival(s / (a + s)) }));
                    continue;
                }
            }
            if more && at && !exposed && self.exposure_elsewhere() {
                let (a, s) = (self.as_aperture(k), self.as_shutter(k));
                if a >= 0.85 && self.value(k).is_some_and(|v| v <= 32.0) {
                    self.roles[k] = Some(Role::Aperture(a / (a + 0.2 * s)));
                    continue;
                } else if s >= 0.9 {
                    self.roles[k] = Some(Role::Shutter(s));
                    continue;
                }
            }
            // "Took three of him, all … the 2.8": what nothing else is written like.
            let told = in_sentence(&|c| matches!(c, Class::Count | Class::All | Class::Frame | Class::Frames));
            let has_aperture = in_sentence(&aperture_like)
                || self.of_sentence(k).any(|j| matches!(self.roles[j], Some(Role::Aperture(_))));
            if told && !has_aperture && self.written_f_number(k) {
                self.roles[k] = Some(Role::Aperture(0.85));
                continue;
            }
            let lens = in_sentence(&|c| matches!(c, Class::Lens));
            let same = in_sentence(&|c| matches!(c, Class::Same | Class::SameAgain));
            let both = in_sentence(&shutter_like) && in_sentence(&aperture_like)
                || self.of_sentence(k).any(|j| matches!(self.roles[j], Some(Role::Aperture(_))));
            // "Same shutter at four": the other dial.
            if in_sentence(&|c| c == Class::SameShutter) && self.as_aperture(k) >= 0.9 {
                self.roles[k] = Some(Role::Aperture(0.9));
                continue;
            }
            if in_sentence(&|c| c == Class::SameAperture) && self.as_shutter(k) >= 0.5 {
                self.roles[k] = Some(Role::Shutter(0.9));
                continue;
            }
            let ends = self.r.tokens.get(usize::from(self.terms()[k].end)).is_none_or(super::token::Token::is_mark);
            if zoom && (lens || (same && at) || (both && (self.alone(k) || at && ends))) {
                self.roles[k] = Some(Role::Focal(0.85));
            }
        }
    }

    /// Whether it is written with one decimal, and is an f-number of the full stops.
    fn written_f_number(&self, k: usize) -> bool {
        let alone = self.r.tokens.get(usize::from(self.terms()[k].end)).is_none_or(super::token::Token::is_mark);
        alone && self.value(k).is_some_and(|v| v.fract() != 0.0 && marks::full_aperture(v))
    }

    /// Whether the text sets a dial at all.
    fn exposure_elsewhere(&self) -> bool {
        let role = |r: &Option<Role>| matches!(r, Some(Role::Shutter(_) | Role::Aperture(_)));
        self.terms().iter().any(|t| shutter_like(t.class) || aperture_like(t.class)) || self.roles.iter().any(role)
    }

    /// Whether the sentence speaks of a frame by a bare number.
    fn names_frame(&self, k: usize) -> bool {
        self.of_sentence(k).any(|j| j < k && matches!(self.roles[j], Some(Role::Frame(_))))
    }

    /// The first word of the text, with a comma after it.
    pub(super) fn begins(&self, k: usize) -> bool {
        self.terms()[k].start == 0
            && self
                .r
                .tokens
                .get(usize::from(self.terms()[k].end))
                .is_some_and(|t| matches!(t.kind, Kind::Mark(',' | ':' | '.')))
    }

    pub(super) fn full_exposure(&self, k: usize) -> bool {
        let any = |like: &dyn Fn(Class) -> bool, role: &dyn Fn(Role) -> bool| {
            self.terms().iter().enumerate().any(|(j, t)| j != k && (like(t.class) || self.roles[j].is_some_and(role)))
        };
        any(&shutter_like, &|r| matches!(r, Role::Shutter(_)))
            && any(&aperture_like, &|r| matches!(r, Role::Aperture(_)))
    }

    pub(super) fn linked_at_before(&self, k: usize) -> bool {
        k > 0
            && matches!(self.terms()[k - 1].class, Class::At | Class::OneOfThem)
            && self.terms()[k - 1].end == self.terms()[k].start
    }

    /// Between commas, by itself.
    pub(super) fn alone(&self, k: usize) -> bool {
        let t = &self.terms()[k];
        let mark = |i: Option<usize>| i.and_then(|i| self.r.tokens.get(i)).is_none_or(super::token::Token::is_mark);
        mark(usize::from(t.start).checked_sub(1)) && mark(Some(usize::from(t.end)))
    }
}
