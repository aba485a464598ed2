//! Numbers beside values, and in a row with them.

use super::class::Class;
use super::role::{Finder, LEAST, Link, Role, against_rival, aperture_like, shutter_like};
use super::term::Arg;
use super::token::Kind;

impl Finder<'_, '_> {
    /// Three numbers and more in a row, parted by commas, are values of one dial: "thirty, sixty, one twenty-five".
    pub(super) fn rows(&mut self) {
        let elsewhere = self.terms().iter().any(|t| shutter_like(t.class) || aperture_like(t.class));
        let mut k = 0;
        while k < self.terms().len() {
            let row = self.row_from(k);
            let led =
                k > 0 && matches!(self.terms()[k - 1].class, Class::Bracket | Class::ShutterList | Class::ApertureList);
            // "ninety, one twenty-five, one-eighty on the shutter"
            let end = row.last().map_or(k, |j| self.after_comma(*j));
            let ends_in =
                |like: &dyn Fn(Class) -> bool| self.terms().get(end).is_some_and(|t| end > k && like(t.class));
            let ended = ends_in(&|c| c == Class::ShutterNumber || c == Class::ShutterFraction);
            if row.len() >= 3 && (led || ended || elsewhere)
                || row.len() == 2 && (led || ended && self.as_shutter(k) >= 0.5)
            {
                let least = |of: &dyn Fn(usize) -> f64| row.iter().map(|j| of(*j)).fold(1.0, f64::min);
                let (s, a) = (least(&|j| self.as_shutter(j)), least(&|j| self.as_aperture(j)));
                if s.max(a) >= 0.5 {
                    let sure = against_rival(s.max(a) / (s + a));
                    let role = if s > a { Role::Shutter(sure) } else { Role::Aperture(sure) };
                    row.iter().for_each(|j| self.roles[*j] = Some(role));
                }
            }
            k += row.len().max(1);
        }
    }

    /// The term behind a comma or a joining word after `j`; `j` itself if something else follows.
    fn after_comma(&self, j: usize) -> usize {
        let terms = self.terms();
        let and = terms.get(j + 1).is_some_and(|t| t.class == Class::And);
        let next = if and { j + 2 } else { j + 1 };
        let Some(other) = terms.get(next) else { return j };
        let between = &self.r.tokens[usize::from(terms[j].end)..usize::from(other.start)];
        let commas = between.iter().filter(|t| t.kind == Kind::Mark(',')).count();
        let words = between.len() - commas;
        if words > usize::from(and) || commas == 0 && !and { j } else { next }
    }

    /// Numbers without a role from `k` on, with nothing but commas and joining words between.
    fn row_from(&self, k: usize) -> Vec<usize> {
        let terms = self.terms();
        let mut row = Vec::new();
        let mut j = k;
        // "this one, thirty, sixty": a row begins behind a mark, a joining word or what announces it.
        let opens = terms[k].start == 0
            || self.r.tokens[usize::from(terms[k].start) - 1].is_mark()
            || k > 0 && terms[k - 1].end == terms[k].start;
        while opens && j < terms.len() && self.is_bare(j) {
            row.push(j);
            let next = self.after_comma(j);
            if next == j {
                break;
            }
            j = next;
        }
        row
    }

    /// Numbers in a row with a value are of its kind: "5.6, 8 and 11".
    pub(super) fn lists(&mut self) {
        let n = self.terms().len();
        for k in (0..n).chain((0..n).rev()) {
            if !self.is_bare(k) {
                continue;
            }
            for forward in [true, false] {
                let Some((j, link)) = self.linked(k, forward) else { continue };
                if !matches!(link, Link::Next | Link::And) {
                    continue;
                }
                let class = self.terms()[j].class;
                let tight =
                    self.terms()[k].end == self.terms()[j].start || self.terms()[j].end == self.terms()[k].start;
                let in_row = tight || self.after_comma(k) == j || self.after_comma(j) == k;
                let listed = self.listed(k) && in_row;
                let role = match (class, self.roles[j]) {
                    // The same number again says the same thing.
                    (c, _) if aperture_like(c) && self.same_number(k, j) => Some(Role::Aperture(0.95)),
                    (Class::ShutterList, _) if self.as_shutter(k) >= 0.3 => Some(Role::Shutter(0.95)),
                    (Class::ApertureList, _) if self.as_aperture(k) >= 0.3 => Some(Role::Aperture(0.95)),
                    (Class::Bare, Some(Role::Shutter(w)))
                        if (link == Link::And || listed) && self.as_shutter(k) >= 0.3 =>
                    {
                        Some(Role::Shutter(w))
                    }
                    (Class::Bare, Some(Role::Aperture(w)))
                        if (link == Link::And || listed) && self.as_aperture(k) >= 0.3 =>
                    {
                        Some(Role::Aperture(w))
                    }
                    (c, _) if listed && aperture_like(c) && self.as_aperture(k) >= 0.3 => Some(Role::Aperture(0.9)),
                    (c, _) if listed && shutter_like(c) && self.as_shutter(k) >= 0.3 => Some(Role::Shutter(0.9)),
                    _ => None,
                };
                if role.is_some() {
                    self.roles[k] = role;
                    break;
                }
            }
        }
    }

    pub(super) fn same_number(&self, k: usize, j: usize) -> bool {
        let Some(Arg::Number { start, end }) = self.terms()[j].args[0] else { return false };
        let value = self.value(k);
        self.r.found.readings(start, end).any(|n| Some(n.value) == value)
    }

    /// Whether the sentence is a list of values: one frame each.
    pub(super) fn listed(&self, k: usize) -> bool {
        let list = |c| matches!(c, Class::ShutterList | Class::ApertureList | Class::Bracket | Class::All);
        self.of_sentence(k).any(|j| list(self.terms()[j].class))
    }

    /// Beside a shutter an aperture, beside an aperture a shutter.
    pub(super) fn beside(&mut self) {
        for k in 0..self.terms().len() {
            if !self.is_bare(k) {
                continue;
            }
            let has = |f: &dyn Fn(Class) -> bool, role: &dyn Fn(Role) -> bool| {
                self.of_sentence(k).any(|j| f(self.terms()[j].class) || self.roles[j].is_some_and(role))
            };
            let shutter = has(&shutter_like, &|r| matches!(r, Role::Shutter(_) | Role::ShutterOrFocal(..)));
            let aperture = has(&aperture_like, &|r| matches!(r, Role::Aperture(_)));
            let near = |want: &dyn Fn(Class) -> bool, role: &dyn Fn(Role) -> bool| {
                [true, false].iter().any(|f| {
                    self.linked(k, *f).is_some_and(|(j, link)| {
                        link != Link::Corrected && (want(self.terms()[j].class) || self.roles[j].is_some_and(role))
                    })
                })
            };
            let beside_shutter = near(&shutter_like, &|r| matches!(r, Role::Shutter(_)));
            let beside_aperture = near(&aperture_like, &|r| matches!(r, Role::Aperture(_)));
            if beside_shutter && !aperture && self.as_aperture(k) >= 0.3 {
                self.roles[k] = Some(Role::Aperture(self.as_aperture(k)));
            } else if beside_aperture && !shutter && self.as_shutter(k) >= LEAST {
                self.roles[k] = self.shutter_or_focal(k);
            } else if let Some((j, _)) = self.linked(k, false)
                && self.terms()[j].class == Class::Frame
                && self.linked(k, true).is_none_or(|(n, _)| aperture_like(self.terms()[n].class))
                && self.as_shutter(k) >= 0.5
                && !shutter
            {
                self.roles[k] = Some(Role::Shutter(self.as_shutter(k)));
            }
        }
    }
}
