//! Which mentions a frame takes, and which value each means on the gear there is.

use std::ops::Range;

use crate::exposure::{Aperture, Shutter};
use crate::facts::FrameNumber;

use super::super::gear::Gear;
use super::super::statement::Reading;
use super::super::tag::{Mention, Read, Role};
use super::super::value::{Opening, Values};
use super::super::ways::Way;
use super::said::Sure;

/// A mention this likely to go with a frame is taken for it.
pub(super) const GOES_WITH: f32 = 0.5;

/// A text with what the reader makes of it.
pub(super) struct Text<'a> {
    pub(super) r: &'a Reading<'a>,
    pub(super) read: &'a Read,
    pub(super) values: Values<'a>,
    /// Sentences that tell a whole exposure of their own, each with the mention that begins its frame.
    pub(super) whole: Vec<(Range<usize>, usize)>,
}

impl<'a> Text<'a> {
    pub(super) fn mention(&self, i: usize) -> &'a Mention {
        &self.read.mentions[i]
    }

    /// How likely a mention goes with the frame that others begin: by what each of these says, in the
    /// measure in which it begins the frame.
    pub(super) fn together(&self, mention: usize, openers: &[usize]) -> f32 {
        if openers.contains(&mention) {
            return 1.0;
        }
        let at = self.mention(mention).tokens.start;
        if let Some((_, opener)) = self.whole.iter().find(|(sentence, _)| sentence.contains(&at)) {
            return if openers.contains(opener) { 1.0 } else { 0.0 };
        }
        let weight: f32 = openers.iter().map(|o| self.mention(*o).opens).sum();
        let all: f32 = openers.iter().map(|o| self.mention(*o).opens * self.read.together[mention][*o]).sum();
        all / weight.max(f32::MIN_POSITIVE)
    }

    /// Mentions of a role that go with a frame, in order; `done` or only thought of.
    pub(super) fn of(&self, role: Role, openers: &[usize], done: bool) -> Vec<usize> {
        (0..self.read.mentions.len())
            .filter(|i| self.mention(*i).role == role && self.mention(*i).done() == done)
            .filter(|i| self.together(*i, openers) >= GOES_WITH)
            .collect()
    }

    /// How sure it is that a mention says what it says, of a frame.
    pub(super) fn sure(&self, mention: usize, openers: Option<&[usize]>) -> f64 {
        let m = self.mention(mention);
        let goes = openers.map_or(1.0, |o| f64::from(self.together(mention, o)));
        f64::from(m.sure) * f64::from(m.standing[0].max(0.5)) * goes * f64::from(1.0 - 0.5 * m.doubted)
    }

    /// A shutter setting on this gear.
    pub(super) fn shutter(&self, mention: usize, gear: &Gear<'_>, sure: f64) -> Option<Sure<Shutter>> {
        let tokens = &self.mention(mention).tokens;
        let mut ways = self.values.shutter(tokens);
        gear.loosen(&mut ways);
        let mut found = weighed(ways, |s| gear.shutter(s), sure, tokens.clone())?;
        found.value = held(found.value, gear);
        Some(found)
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
    Some(Sure { value, sure: sure * share, others: all.split_off(1), tokens })
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
