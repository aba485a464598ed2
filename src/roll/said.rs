//! From the ways a value may be taken to the value that stands.

use crate::facts::{Confidence, Reading, Settled, Source};
use crate::language::ways::Way;

/// A value of which the gear can do nothing like it is never surer than this.
const OFF_GEAR_MOST: f64 = 0.5;
/// A value that the speaker doubts is never surer than this.
const DOUBTED_MOST: f64 = 0.5;
/// Below this the gear cannot do it.
const OFF_GEAR: f64 = 0.1;

/// A value settled from words and gear alone.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed<T> {
    /// The value, with its confidence and what else it may be.
    pub settled: Settled<T>,
    /// The gear there is cannot do it.
    pub off_gear: bool,
}

/// Weighs the ways against the gear: posterior ∝ wording × gear.
///
/// `sure` is how sure the words are to mean a value at all. None when no way has weight.
pub fn weigh<T: Clone + PartialEq + std::fmt::Display>(
    ways: &[Way<T>],
    gear: impl Fn(&T) -> f64,
    sure: f64,
    doubted: bool,
) -> Option<Weighed<T>> {
    let mut scored: Vec<(T, f64, f64)> = ways
        .iter()
        .map(|w| {
            let g = gear(&w.value);
            (w.value.clone(), w.weight * g, g)
        })
        .filter(|(_, s, _)| *s > 0.0)
        .collect();
    scored.sort_by(|a, b| b.1.total_cmp(&a.1));
    let total: f64 = scored.iter().map(|s| s.1).sum();
    let (value, best, fit) = scored.first().cloned()?;
    let mut confidence = best / total;
    let mut why = Vec::new();
    let off_gear = fit < OFF_GEAR;
    if off_gear {
        confidence = confidence.min(OFF_GEAR_MOST);
        why.push(format!("the gear in the kit has no {value}"));
    }
    if doubted {
        confidence = confidence.min(DOUBTED_MOST);
        why.push("the speaker was not sure".to_owned());
    }
    if sure < 0.5 {
        confidence *= 0.5 + sure;
    }
    if let Some((other, s, _)) = scored.get(1).filter(|o| o.1 / total > 0.05) {
        why.push(format!("could also be {other} ({:.0} %)", 100.0 * s / total));
    }
    let others = scored[1..]
        .iter()
        .map(|(v, s, _)| Reading {
            value: v.clone(),
            confidence: Confidence::new(s / total),
            source: Source::Voice,
            said_at: None,
        })
        .collect();
    let settled = Settled { value, confidence: Confidence::new(confidence), sources: vec![Source::Voice], others, why };
    Some(Weighed { settled, off_gear })
}
