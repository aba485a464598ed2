//! Numbers between marks take the places that are still empty: "One eighty, thirty-two, a quarter second".

use super::class::Class;
use super::role::{Finder, Role, against_rival, aperture_like, opens, shutter_like};
use super::token::Kind;

/// The most numbers that are given places together.
const MOST: usize = 3;
/// How well a number must fit a place.
const FITS: f64 = 0.5;
/// A number that has no place: so likely against one that fits.
const NOWHERE: f64 = 0.15;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    Shutter,
    Aperture,
    Focal,
}

impl Finder<'_, '_> {
    /// Looks at each stretch between frames for numbers by themselves and for places left empty.
    pub(super) fn places(&mut self) {
        let n = self.terms().len();
        let mut from = 0;
        for k in 0..=n {
            let parted =
                k == n || k > from && (opens(self.terms()[k].class) || matches!(self.roles[k], Some(Role::Frame(_))));
            if parted {
                self.fill_places(from, k);
                from = k;
            }
        }
    }

    fn fill_places(&mut self, from: usize, to: usize) {
        let terms = self.terms();
        // What was only measured or thought fills no place.
        let thought = self.thought(from, to);
        let done = |k: &usize| !thought[*k - from];
        if (from..to).any(|k| terms[k].class == Class::Cancel) {
            return;
        }
        let numbers: Vec<usize> = (from..to).filter(done).filter(|k| self.is_bare(*k) && self.by_itself(*k)).collect();
        if numbers.is_empty() || numbers.len() > MOST {
            return;
        }
        let has = |like: &dyn Fn(Class) -> bool, role: &dyn Fn(Role) -> bool| {
            (from..to).filter(done).any(|k| like(terms[k].class) || self.roles[k].is_some_and(role))
        };
        let shutter = has(&|c| shutter_like(c) || matches!(c, Class::Bulb | Class::TimeT), &|r| {
            matches!(r, Role::Shutter(_) | Role::ShutterOrFocal(..))
        });
        let aperture = has(&aperture_like, &|r| matches!(r, Role::Aperture(_)));
        let focal = has(
            &|c| matches!(c, Class::Focal | Class::FocalZoom | Class::Lens | Class::LensAt | Class::LensThe),
            &|r| matches!(r, Role::Focal(_) | Role::ShutterOrFocal(..)),
        );
        if !shutter && !aperture && numbers.len() < 2 {
            return;
        }
        let free: Vec<Place> = [(Place::Shutter, shutter), (Place::Aperture, aperture), (Place::Focal, focal)]
            .into_iter()
            .filter(|p| !p.1)
            .map(|p| p.0)
            .collect();
        let fit = |k: usize, place: Option<Place>| match place {
            Some(Place::Shutter) => self.as_shutter(k),
            Some(Place::Aperture) => self.as_aperture(k),
            Some(Place::Focal) => {
                let mm = self.value(k).unwrap_or(0.0);
                if mm >= 15.0 && self.as_focal(k) >= 0.85 { self.as_focal(k) } else { 0.0 }
            }
            None => NOWHERE,
        };
        let mut ways: Vec<(Vec<Option<Place>>, f64)> = vec![(Vec::new(), 1.0)];
        for &k in &numbers {
            let mut longer = Vec::new();
            for (way, weight) in &ways {
                for place in free.iter().copied().map(Some).chain([None]) {
                    let f = fit(k, place);
                    if place.is_some() && (way.contains(&place) || f < FITS) {
                        continue;
                    }
                    let mut way = way.clone();
                    way.push(place);
                    longer.push((way, weight * f));
                }
            }
            ways = longer;
        }
        let Some((best, weight)) = ways.iter().max_by(|a, b| a.1.total_cmp(&b.1)).cloned() else { return };
        // Numbers alone are an exposure only if all of them find a place.
        let alone = !shutter && !aperture;
        if alone && (best.contains(&None) || !best.contains(&Some(Place::Shutter))) {
            return;
        }
        for (i, &k) in numbers.iter().enumerate() {
            let rival = ways.iter().filter(|w| w.0[i] != best[i]).map(|w| w.1).fold(0.0, f64::max);
            let sure = against_rival(weight / (weight + rival));
            self.roles[k] = best[i].map(|p| match p {
                Place::Shutter => Role::Shutter(sure),
                Place::Aperture => Role::Aperture(sure),
                Place::Focal => Role::Focal(sure),
            });
        }
    }

    /// Which terms of a stretch stand in words about what was not done.
    fn thought(&self, from: usize, to: usize) -> Vec<bool> {
        let mut all = vec![false; to - from];
        let mut on = false;
        for k in from..to {
            let class = self.terms()[k].class;
            on &= k == from || self.sentence[k] == self.sentence[k - 1];
            match class {
                Class::Meter | Class::Should | Class::Claimed | Class::Supposed => on = true,
                Class::Unreal | Class::Elsewhere => {
                    on = true;
                    let here = |j: &usize| self.sentence[*j] == self.sentence[k];
                    (from..k).rev().take_while(here).for_each(|j| all[j - from] = true);
                }
                Class::Turn | Class::TurnBack | Class::TurnWeak | Class::Gave => on = false,
                _ => {}
            }
            all[k - from] = on;
        }
        all
    }

    /// Whether nothing but marks and small words stands around a number.
    fn by_itself(&self, k: usize) -> bool {
        let t = &self.terms()[k];
        let mut i = usize::from(t.start);
        let mut turned = false;
        while i > 0 {
            let lead = self.ending_at(k, i);
            match lead.map(|t| (t.class, t.start)) {
                Some((Class::Turn | Class::TurnBack | Class::TurnWeak, start)) => (turned, i) = (true, start.into()),
                Some((Class::At, start)) => i = start.into(),
                _ if self.r.lexicon.in_list("counting", &self.r.tokens[i - 1]) => i -= 1,
                _ => break,
            }
        }
        let parts = |kind: Kind| matches!(kind, Kind::Mark(',' | '.' | ';' | ':' | '!' | '?' | '-' | '\n'));
        let before = turned || i == 0 || parts(self.r.tokens[i - 1].kind);
        before && self.r.tokens.get(usize::from(t.end)).is_none_or(|t| parts(t.kind))
    }
}
