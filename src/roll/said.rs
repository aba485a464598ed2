//! From the ways a value may be taken to the value that stands.

use crate::facts::{Confidence, Reading, Settled, Source, Terms};
use crate::language::act::Said;
use crate::language::ways::Way;

use super::weights::{mended_right, score, shares, words_right};

/// A value of which the gear can do nothing like it is never surer than this.
const OFF_GEAR_MOST: f64 = 0.5;
/// A value that the speaker doubts is never surer than this.
pub(super) const DOUBTED_MOST: f64 = 0.5;
/// Below this the gear cannot do it.
const OFF_GEAR: f64 = 0.1;

/// How a value was said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Manner {
    /// How sure the words are to mean a value at all, 0 to 1.
    pub sure: f64,
    /// The recogniser's trust in the words, 0 to 1.
    pub heard: f64,
    /// How likely the words were mended right, 0 to 1.
    pub mended: f64,
    /// The speaker was not sure.
    pub doubted: bool,
}

impl Default for Manner {
    fn default() -> Self {
        Self { sure: 1.0, heard: 1.0, mended: 1.0, doubted: false }
    }
}

impl Manner {
    /// How an act was said.
    pub fn of(said: &Said) -> Self {
        Self { sure: said.weight, heard: said.heard, mended: said.mended, doubted: said.doubt }
    }

    /// The same, never less sure to be meant than `sure`.
    pub fn at_least(self, sure: f64) -> Self {
        Self { sure: self.sure.max(sure), ..self }
    }

    /// Adds how another part of the same value was said: the least sure part counts.
    pub fn add(&mut self, part: Self) {
        self.sure = self.sure.min(part.sure);
        self.heard = self.heard.min(part.heard);
        self.mended = self.mended.min(part.mended);
        self.doubted |= part.doubted;
    }

    /// Makes a value as sure as the words that it was said in.
    pub fn lower<T>(self, settled: &mut Settled<T>) {
        let most = if self.doubted { DOUBTED_MOST } else { 1.0 };
        let (words, mended, doubted) = (self.heard.max(1e-6).ln(), self.mended.ln(), most.ln());
        settled.terms = Terms { words, mended, doubted, ..settled.terms };
        let mended = mended_right(self.mended, lead(settled));
        let confidence = settled.confidence.get() * words_right(self.heard) * mended;
        settled.confidence = Confidence::new(confidence.min(most_sure(&settled.terms)));
        if self.doubted {
            settled.why.push("the speaker was not sure, or the words were hardly understood".to_owned());
        }
        if self.mended < 1.0 {
            settled.why.push(format!("made out of other words: {:.0} % sure", 100.0 * mended));
        }
    }
}

/// The most that a value may be sure whatever speaks for it: the gear has none, the speaker doubts it.
pub fn most_sure(terms: &Terms) -> f64 {
    let gear = if is_off_gear(terms) { OFF_GEAR_MOST } else { 1.0 };
    gear.min(terms.doubted.exp())
}

/// Whether the gear can do nothing like it.
fn is_off_gear(terms: &Terms) -> bool {
    terms.gear.exp() < OFF_GEAR
}

/// How much better the value sounds than the best other that the recogniser was asked about, as a
/// natural logarithm; 0 where it was not asked.
fn lead<T>(settled: &Settled<T>) -> f64 {
    let own = settled.terms.sound;
    let asked = settled.others.iter().map(|o| o.terms.sound).filter(|s| own != 0.0 || *s != 0.0);
    asked.reduce(f64::max).map_or(0.0, |best| own - best)
}

/// A value settled from words and gear alone.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed<T> {
    /// The value, with its confidence and what else it may be.
    pub settled: Settled<T>,
    /// The gear there is cannot do it.
    pub off_gear: bool,
}

/// Weighs the ways against the gear and what the sound says of them.
///
/// None when no way has weight.
pub fn weigh<T: Clone + PartialEq + std::fmt::Display>(
    ways: &[Way<T>],
    gear: impl Fn(&T) -> f64,
    manner: Manner,
) -> Option<Weighed<T>> {
    let mut readings: Vec<(T, Terms)> = ways
        .iter()
        .map(|w| (w, gear(&w.value)))
        .filter(|(w, fit)| w.weight * fit > 0.0)
        .map(|(w, fit)| {
            (w.value.clone(), Terms { sound: w.sound, wording: w.weight.ln(), gear: fit.ln(), ..Terms::default() })
        })
        .collect();
    readings.sort_by(|a, b| score(&b.1).total_cmp(&score(&a.1)));
    let (value, terms) = readings.first().cloned()?;
    let shares = shares(&readings.iter().map(|r| score(&r.1)).collect::<Vec<_>>());
    let mut why = Vec::new();
    let off_gear = is_off_gear(&terms);
    if off_gear {
        why.push(format!("the gear in the kit has no {value}"));
    }
    if let Some(share) = shares.get(1).filter(|s| **s > 0.05) {
        why.push(format!("could also be {} ({:.0} %)", readings[1].0, 100.0 * share));
    }
    let meant = if manner.sure < 0.5 { 0.5 + manner.sure } else { 1.0 };
    let confidence = Confidence::new(shares[0] * meant);
    let others = readings
        .into_iter()
        .zip(shares)
        .skip(1)
        .map(|((v, terms), s)| Reading { terms, ..Reading::new(v, Confidence::new(s), Source::Voice) })
        .collect();
    let mut settled = Settled { others, why, terms, ..Settled::from_one(value, confidence, Source::Voice) };
    manner.lower(&mut settled);
    Some(Weighed { settled, off_gear })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settled(manner: Manner, sound: f64) -> Settled<u8> {
        let other = Way { value: 2, weight: 0.01, sound };
        weigh(&[Way::new(1, 1.0), other], |_| 1.0, manner).unwrap().settled
    }

    #[test]
    fn a_mended_value_is_as_sure_as_the_mend_unless_it_sounds_right() {
        let plain = settled(Manner::default(), 0.0).confidence.get();
        let mended = Manner { mended: 0.6, ..Manner::default() };
        assert!((settled(mended, 0.0).confidence.get() / plain - 0.6).abs() < 1e-9);
        // All that sounds like it scores worse on the sound: the mend is the likelier right.
        let (near, far) = (settled(mended, -1.0).confidence.get(), settled(mended, -6.0).confidence.get());
        assert!(0.6 * plain < near && near < far && far < 1.0);
        // Another scores better: nothing is lifted.
        assert!(settled(mended, 1.0).confidence.get() <= 0.6);
    }

    #[test]
    fn the_least_sure_part_counts() {
        let mut manner = Manner { heard: 0.9, ..Manner::default() };
        manner.add(Manner { mended: 0.7, doubted: true, ..Manner::default() });
        assert_eq!(manner, Manner { sure: 1.0, heard: 0.9, mended: 0.7, doubted: true });
        let mut value = Settled::from_one("red", Confidence::SURE, Source::Voice);
        manner.lower(&mut value);
        assert!(value.confidence.get() <= 0.5 && value.why.len() == 2);
    }
}
