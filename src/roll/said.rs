//! From the ways a value may be taken to the value that stands.

use crate::facts::{Confidence, Reading, Settled, Source, Terms};
use crate::language::ways::Way;

use super::weights::{score, shares, words_right};

/// A value of which the gear can do nothing like it is never surer than this.
const OFF_GEAR_MOST: f64 = 0.5;
/// A value that the speaker doubts is never surer than this.
const DOUBTED_MOST: f64 = 0.5;
/// Below this the gear cannot do it.
const OFF_GEAR: f64 = 0.1;

/// How a value was said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Manner {
    /// How sure the words are to mean a value at all, 0 to 1.
    pub sure: f64,
    /// The recogniser's trust in the words, 0 to 1.
    pub heard: f64,
    /// The speaker was not sure.
    pub doubted: bool,
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
            let (wording, gear, words) = (w.weight.ln(), fit.ln(), manner.heard.max(1e-6).ln());
            (w.value.clone(), Terms { sound: w.sound, wording, gear, words, ..Terms::default() })
        })
        .collect();
    readings.sort_by(|a, b| score(&b.1).total_cmp(&score(&a.1)));
    let (value, terms) = readings.first().cloned()?;
    let shares = shares(&readings.iter().map(|r| score(&r.1)).collect::<Vec<_>>());
    let mut confidence = shares[0] * words_right(manner.heard);
    let mut why = Vec::new();
    let off_gear = terms.gear.exp() < OFF_GEAR;
    if off_gear {
        confidence = confidence.min(OFF_GEAR_MOST);
        why.push(format!("the gear in the kit has no {value}"));
    }
    if manner.doubted {
        confidence = confidence.min(DOUBTED_MOST);
        why.push("the speaker was not sure".to_owned());
    }
    if manner.sure < 0.5 {
        confidence *= 0.5 + manner.sure;
    }
    if let Some(share) = shares.get(1).filter(|s| **s > 0.05) {
        why.push(format!("could also be {} ({:.0} %)", readings[1].0, 100.0 * share));
    }
    let others = readings
        .into_iter()
        .zip(shares)
        .skip(1)
        .map(|((v, terms), s)| Reading { terms, ..Reading::new(v, Confidence::new(s), Source::Voice) })
        .collect();
    let confidence = Confidence::new(confidence);
    let settled = Settled { others, why, terms, ..Settled::from_one(value, confidence, Source::Voice) };
    Some(Weighed { settled, off_gear })
}
