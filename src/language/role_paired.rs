//! Two numbers that make an exposure: "250 at 8".

use super::class::Class;
use super::marks;
use super::number::{How, NumberKind};
use super::role::{Finder, LEAST, Link, Role, aperture_like, shutter_like};

/// A focal length in the place of a shutter speed: "the two hundred at f8".
const FOCAL_FOR_SHUTTER: f64 = 0.2;
/// The same where a lens of that one length is in the kit.
const PRIME_FOR_SHUTTER: f64 = 0.35;
/// A focal length after the aperture: "f11 at forty".
const FOCAL_AFTER_APERTURE: f64 = 0.32;

impl Finder<'_, '_> {
    /// "X at Y".
    pub(super) fn pairs(&mut self) {
        for k in 0..self.terms().len() {
            if !self.is_bare(k) {
                continue;
            }
            if let Some((j, Link::At)) = self.linked(k, true) {
                let class = self.terms()[j].class;
                if shutter_like(class) && self.as_aperture(k) >= 0.1 {
                    self.roles[k] = Some(Role::Aperture(self.as_aperture(k).max(0.5)));
                } else if aperture_like(class) {
                    self.roles[k] = self.shutter_or_focal(k);
                } else if self.is_bare(j) {
                    self.both_bare(k, j);
                }
            }
            if self.roles[k].is_none()
                && let Some((j, Link::At)) = self.linked(k, false)
            {
                let class = self.terms()[j].class;
                if shutter_like(class) && self.as_aperture(k) >= 0.1 {
                    self.roles[k] = Some(Role::Aperture(self.as_aperture(k).max(0.5)));
                } else if aperture_like(class) {
                    self.roles[k] = self.shutter_or_focal(k);
                }
            }
        }
    }

    pub(super) fn shutter_or_focal(&self, k: usize) -> Option<Role> {
        let prime = self.value(k).is_some_and(|v| self.r.lexicon.has_prime(v));
        let after = self.linked(k, false).is_some_and(|(j, l)| l == Link::At && aperture_like(self.terms()[j].class));
        let full_stop = self.value(k).is_some_and(marks::full_speed);
        let share = if prime {
            PRIME_FOR_SHUTTER
        } else if after && !full_stop {
            FOCAL_AFTER_APERTURE
        } else {
            FOCAL_FOR_SHUTTER
        };
        let (s, mut f) = (self.as_shutter(k), self.as_focal(k) * share);
        if f < 0.1 {
            f = 0.0;
        }
        let zoom_named = self
            .terms()
            .iter()
            .enumerate()
            .any(|(j, t)| t.class == Class::Lens && self.sentence[j] == self.sentence[k]);
        if zoom_named {
            f *= 4.0;
        }
        let written_point = self.readings(k).0.iter().any(|n| n.kind == NumberKind::Decimal && n.how == How::Plain);
        if written_point {
            f = 0.0;
        }
        match (s >= LEAST * 0.5, f > 0.0) {
            (true, true) if f > s * 0.25 => Some(Role::ShutterOrFocal(s, f)),
            (true, _) => Some(Role::Shutter(s)),
            (false, true) => Some(Role::ShutterOrFocal(s.max(0.02), f)),
            (false, false) => None,
        }
    }

    pub(super) fn both_bare(&mut self, k: usize, j: usize) {
        let plain = self.as_shutter(k) * self.as_aperture(j);
        let turned = self.as_aperture(k) * self.as_shutter(j) * 0.6;
        let focal = self.as_focal(k) * self.as_aperture(j) * FOCAL_FOR_SHUTTER * 0.5;
        let best = plain.max(turned).max(focal);
        if best < 0.25 && !(best >= 0.02 && (self.beside_settings(k) || self.nothing_else(k))) {
            return;
        }
        if turned > plain && turned >= focal {
            self.roles[k] = Some(Role::Aperture(turned / (turned + plain)));
            self.roles[j] = Some(Role::Shutter(turned / (turned + plain)));
        } else {
            self.roles[j] = Some(Role::Aperture(self.as_aperture(j)));
            self.roles[k] = self.shutter_or_focal(k);
        }
    }

    /// Whether the sentence holds nothing but phrases and small words.
    pub(super) fn nothing_else(&self, k: usize) -> bool {
        let terms = self.terms();
        let sentence = self.of_sentence(k);
        let (first, last) = (sentence.start, sentence.end - 1);
        let from = (0..usize::from(terms[first].start)).rev().take_while(|i| !self.r.tokens[*i].ends_sentence()).last();
        let from = from.unwrap_or(usize::from(terms[first].start));
        let to = (usize::from(terms[last].end)..self.r.tokens.len())
            .take_while(|i| !self.r.tokens[*i].ends_sentence())
            .last();
        let to = to.map_or(usize::from(terms[last].end), |i| i + 1);
        let other = terms[first..=last].iter().any(|t| t.class == Class::Other);
        !other
            && (from..to).all(|i| {
                let t = &self.r.tokens[i];
                t.is_mark() || self.r.lexicon.in_list("filler", t) || self.r.found.term_over(i).is_some()
            })
    }

    /// Whether the sentence, or what leads to it, speaks of a frame.
    pub(super) fn beside_settings(&self, k: usize) -> bool {
        let here = self.of_sentence(k);
        let led = here.start.checked_sub(1).filter(|j| self.sentence[*j] + 1 == self.sentence[k]);
        let from = led.map_or(here.start, |j| self.of_sentence(j).start);
        self.terms()[from..here.end].iter().any(|t| {
            shutter_like(t.class)
                || aperture_like(t.class)
                || matches!(t.class, Class::Frame | Class::Focal | Class::LensThe | Class::FilterOn | Class::Lens)
        })
    }

    /// Whether only a point stands between two numbers: 500.5.6.
    pub(super) fn run_together(&self, k: usize, j: usize) -> bool {
        let (from, to) = (usize::from(self.terms()[k].end), usize::from(self.terms()[j].start));
        to == from + 1 && self.r.tokens[from].glued && self.r.tokens[to].glued
    }

    /// Two numbers and nothing else: "five six, five hundred".
    pub(super) fn lone_pairs(&mut self) {
        for k in 0..self.terms().len() {
            if !self.is_bare(k) {
                continue;
            }
            let Some((j, link)) = self.linked(k, true) else { continue };
            if link != Link::Next && !(link == Link::And && self.nothing_else(k)) {
                continue;
            }
            let run_together = self.run_together(k, j);
            let led = self.linked(k, false).is_some_and(|(p, _)| {
                matches!(self.terms()[p].class, Class::Frame | Class::Focal | Class::LensThe | Class::Lens)
            });
            if !self.is_bare(j) || !(run_together || led || self.nothing_else(k)) {
                continue;
            }
            let plain = self.as_shutter(k) * self.as_aperture(j);
            let turned = self.as_aperture(k) * self.as_shutter(j);
            if turned.max(plain) < 0.8 {
                continue;
            }
            let (s, a) = if turned > plain { (j, k) } else { (k, j) };
            let sure = turned.max(plain) / (turned + plain);
            self.roles[s] = Some(Role::Shutter(sure));
            self.roles[a] = Some(Role::Aperture(sure));
        }
    }
}
