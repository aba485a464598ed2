//! Which mentions a frame takes, and which value each means on the gear there is.

use crate::exposure::{Aperture, Shutter};
use crate::facts::FrameNumber;

use super::group::Group;
use super::sentences::Sentences;
use super::sure::Sure;
use super::text::{DOUBT_COSTS, GOES_WITH, LEAST_DONE, Text};
use crate::language::readings::{Gear, Opening, Way, add};
use crate::language::tag::Role;

/// How sure a value is that the gear cannot do, for one that was plainly said.
const OFF_GEAR: f64 = 0.6;
/// A setting this surely said must go with some frame.
const SURELY_SAID: f32 = 0.5;
/// A setting this near to a frame's words may go with it where it goes with none.
const NEAR_ENOUGH: f32 = 0.15;

/// What a plain number would mean as a shutter speed weighs this behind a time with its unit.
const UNIT_DROPPED: f64 = 0.3;

impl<'a> Text<'a> {
    /// How likely each mention goes with each group of frames. A setting that goes with none of them
    /// goes with the one whose words it is nearest to, in doubt.
    pub(super) fn settle(&mut self, groups: &[Group]) {
        let all: Vec<Vec<f32>> = (0..self.read.mentions.len())
            .map(|i| {
                let goes = |g: &Group| g.times.iter().map(|o| self.together(i, o)).fold(0.0, f32::max);
                groups.iter().map(goes).collect()
            })
            .collect();
        self.goes = all.clone();
        let sentences = Sentences::of(self.r, self.read);
        let begun = |g: &Group| g.openers.iter().map(|o| sentences.with(self.mention(*o))).collect();
        let begun: Vec<Vec<usize>> = groups.iter().map(begun).collect();
        for i in 0..all.len() {
            self.change_once(i, &sentences, &begun);
        }
        for (i, row) in all.iter().enumerate() {
            let m = self.mention(i);
            let stray = m.role.is_setting() && m.done() && row.iter().all(|p| *p < GOES_WITH);
            if !stray || m.sure * m.standing[0] < SURELY_SAID {
                continue;
            }
            let near = |g: usize| {
                let members: Vec<usize> =
                    (0..all.len()).filter(|j| *j != i && all[*j][g] >= GOES_WITH && self.mention(*j).done()).collect();
                let pair = |j: &usize| (self.read.together(i, *j) + self.read.together(*j, i)) / 2.0;
                members.iter().map(pair).sum::<f32>() / members.len().max(1) as f32
            };
            let best = (0..groups.len()).map(|g| (near(g).max(row[g]), g)).max_by(|a, b| a.0.total_cmp(&b.0));
            if let Some((_, g)) = best.filter(|b| b.0 >= NEAR_ENOUGH) {
                self.goes[i][g] = GOES_WITH;
            }
        }
    }

    /// A change is made once: told in the sentence that begins a frame, it is not also that of a frame before it.
    /// So is a setting where each sentence begins with a word for frames, unless words such as "same" or "all" stand
    /// in one of the two. `begun`: the sentences in which each group begins.
    fn change_once(&mut self, i: usize, sentences: &Sentences, begun: &[Vec<usize>]) {
        let m = self.mention(i);
        if !matches!(m.role, Role::Change | Role::Shutter | Role::Aperture) {
            return;
        }
        let own = sentences.with(m);
        let here = |g: usize| begun[g].contains(&own);
        if !(0..begun.len()).any(|g| here(g) && self.goes[i][g] >= GOES_WITH) {
            return;
        }
        for g in (0..begun.len()).filter(|g| !here(*g)) {
            if m.role == Role::Change || sentences.apart(own, &begun[g]) {
                self.goes[i][g] = 0.0;
            }
        }
    }

    /// Mentions of a role that go with a group, in order; `done` or only thought of.
    pub(super) fn of(&self, role: Role, group: usize, done: bool) -> Vec<usize> {
        (0..self.read.mentions.len())
            .filter(|i| self.mention(*i).role == role && self.mention(*i).done() == done)
            .filter(|i| self.goes[*i][group] >= GOES_WITH)
            .collect()
    }

    /// How sure it is that a mention says what it says, of a group.
    pub(super) fn sure(&self, mention: usize, group: Option<usize>) -> f64 {
        let m = self.mention(mention);
        let goes = group.map_or(1.0, |g| f64::from(self.goes[mention][g]));
        f64::from(m.sure) * f64::from(m.standing[0].max(LEAST_DONE)) * goes * f64::from(1.0 - DOUBT_COSTS * m.doubted)
    }

    /// A shutter setting on this gear.
    pub(super) fn shutter(&self, mention: usize, gear: &Gear<'_>, sure: f64) -> Option<Sure<Shutter>> {
        let tokens = &self.mention(mention).tokens;
        let mut ways = self.in_unit_said(mention);
        if ways.is_empty() {
            ways = self.values.shutter(tokens);
        }
        gear.loosen(&mut ways);
        let mut found = weighed(ways, |s| gear.shutter(s), sure, tokens.clone())?;
        found.value = held(found.value, gear);
        Some(found)
    }

    /// Times in the unit of the shutter setting before, or of the one behind that names a unit alone, where
    /// this one names none.
    fn in_unit_said(&self, mention: usize) -> Vec<Way<Shutter>> {
        let shutters = |r: std::ops::Range<usize>| r.filter(|i| self.mention(*i).role == Role::Shutter);
        let unit = |i: usize| self.values.time_unit(&self.mention(i).tokens);
        let tokens = &self.mention(mention).tokens;
        if unit(mention).is_some() {
            return Vec::new();
        }
        let mut said = None;
        for i in shutters(0..mention) {
            said = unit(i).or(said.filter(|u| !self.values.in_unit(&self.mention(i).tokens, *u).is_empty()));
        }
        let behind = || {
            let alone = |i: &usize| self.values.number_free(&self.mention(*i).tokens);
            shutters(mention + 1..self.read.mentions.len()).find(alone).and_then(unit)
        };
        // On B or T a plain number counts seconds.
        let open = || {
            let held = |i: &usize| {
                let ways = self.values.shutter(&self.mention(*i).tokens);
                ways.iter().any(|w| matches!(w.value, Shutter::Bulb(None) | Shutter::Time(None)))
            };
            let together = |i: &usize| {
                *i != mention && self.read.together(*i, mention).max(self.read.together(mention, *i)) >= GOES_WITH
            };
            shutters(0..self.read.mentions.len()).filter(together).find(held).map(|_| 1.0)
        };
        let Some(unit) = said.or_else(behind).or_else(open) else { return Vec::new() };
        let mut ways = self.values.in_unit(tokens, unit);
        if !ways.is_empty() {
            for w in self.values.shutter(tokens) {
                add(&mut ways, w.value, w.weight * UNIT_DROPPED);
            }
        }
        ways
    }

    /// An aperture on this gear.
    pub(super) fn aperture(&self, mention: usize, gear: &Gear<'_>, sure: f64) -> Option<Sure<Aperture>> {
        let tokens = &self.mention(mention).tokens;
        match self.values.aperture(tokens)? {
            Opening::Number(mut ways) => {
                gear.loosen_aperture(&mut ways);
                weighed(ways, |a| gear.aperture(a), sure, tokens.clone())
            }
            Opening::Widest => end_of_lens(gear, false, sure, tokens.clone()),
            Opening::Smallest => end_of_lens(gear, true, sure, tokens.clone()),
        }
    }

    /// A frame's number on this gear.
    pub(super) fn number(&self, mention: usize, gear: &Gear<'_>, sure: f64) -> Option<Sure<FrameNumber>> {
        let tokens = &self.mention(mention).tokens;
        weighed(self.values.frame(tokens), |n| gear.frame(n), sure, tokens.clone())
    }
}

/// The likeliest of some ways once the gear was asked, with its share.
pub(super) fn weighed<T: PartialEq + Copy>(
    ways: Vec<Way<T>>,
    gear: impl Fn(T) -> f64,
    sure: f64,
    tokens: std::ops::Range<usize>,
) -> Option<Sure<T>> {
    let mut all: Vec<(T, f64)> = ways.iter().map(|w| (w.value, w.weight * gear(w.value))).collect();
    all.sort_by(|a, b| b.1.total_cmp(&a.1));
    let total: f64 = all.iter().map(|w| w.1).sum();
    if total <= 0.0 {
        return None;
    }
    all.iter_mut().for_each(|w| w.1 /= total);
    let (value, share) = *all.first()?;
    // What the gear cannot do is hardly what was meant, even if nothing else fits the words.
    let can = OFF_GEAR + (1.0 - OFF_GEAR) * gear(value).min(1.0);
    Some(Sure { value, sure: sure * share * can, others: all.split_off(1), tokens })
}

/// Longer than the dial goes, a time is held on B.
fn held(s: Shutter, gear: &Gear<'_>) -> Shutter {
    /// Times up to this much past the slowest mark are said loosely for it.
    const SLACK: f64 = 1.3;
    let cameras = || gear.kit.cameras.iter().filter(|c| gear.camera.is_none_or(|g| g.name == c.name));
    let Shutter::Timed(t) = s else { return s };
    let past = |c: &crate::kit::Camera| c.dial.slowest().is_none_or(|m| t.seconds() > m.seconds() * SLACK);
    if cameras().next().is_some() && cameras().all(past) { Shutter::bulb(t.seconds()) } else { s }
}

/// The widest or smallest aperture: of the lens in hand, or of all that may be in hand if they agree.
fn end_of_lens(gear: &Gear<'_>, smallest: bool, sure: f64, tokens: std::ops::Range<usize>) -> Option<Sure<Aperture>> {
    let mut ends: Vec<Aperture> = Vec::new();
    for a in gear.lenses().filter_map(|l| if smallest { l.smallest } else { l.widest }) {
        if !ends.contains(&a) {
            ends.push(a);
        }
    }
    match ends[..] {
        [a] => Some(Sure::new(a, sure, tokens)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_has_its_share_and_what_the_gear_cannot_do_is_less_sure() {
        let ways = vec![Way::new(60, 1.0), Way::new(160, 0.5), Way::new(6, 0.0)];
        let plain = weighed(ways.clone(), |_| 1.0, 0.9, 2..4).unwrap();
        assert_eq!((plain.value, plain.tokens.clone()), (60, 2..4));
        assert!((plain.sure - 0.9 / 1.5).abs() < 1e-9, "two thirds of 0.9: {}", plain.sure);
        assert!((plain.others[0].1 - 0.5 / 1.5).abs() < 1e-9);
        // The gear turns the likelihood round.
        let geared = weighed(ways.clone(), |n| if n == 60 { 0.04 } else { 1.0 }, 0.9, 2..4).unwrap();
        assert_eq!(geared.value, 160);
        // One reading alone, which the gear cannot do, is in doubt all the same.
        let off = weighed(vec![Way::new(6, 1.0)], |_| 0.0001, 0.99, 0..1).unwrap();
        assert!(off.sure < 0.8, "{}", off.sure);
        assert_eq!(weighed(Vec::<Way<u8>>::new(), |_| 1.0, 1.0, 0..1), None);
    }
}
