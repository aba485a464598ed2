//! How much each part of the evidence counts: data that `scripts/fit-weights` writes.

use std::sync::LazyLock;

use serde::Deserialize;

use crate::facts::Terms;

/// The recogniser's trust in a word is brought within this of 0 and 1 before its logit is taken.
const EDGE: f64 = 0.005;

static WEIGHTS: LazyLock<Weights> =
    LazyLock::new(|| toml::from_str(include_str!("weights.toml")).expect("weights.toml is checked by a test"));

/// The weights as fitted.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Weights {
    parts: Parts,
    limits: Limits,
    words: Words,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Parts {
    sound: f64,
    gear: f64,
    neighbours: f64,
    light: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Limits {
    sound: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Words {
    bias: f64,
    words: f64,
}

/// The logarithm of a reading's weight among the readings of one value, up to a constant.
pub fn score(terms: &Terms) -> f64 {
    let Weights { parts, limits, .. } = &*WEIGHTS;
    terms.wording
        + parts.gear * terms.gear
        + parts.sound * terms.sound.clamp(-limits.sound, limits.sound)
        + parts.neighbours * terms.neighbours
        + parts.light * terms.light
}

/// What the sound alone adds to a reading's weight: its score, a natural logarithm, against that of the one heard.
pub fn sound_weight(sound: f64) -> f64 {
    score(&Terms { sound, ..Terms::default() }).exp()
}

/// How likely words are right of which the recogniser is so sure, 0 to 1. Words that were
/// written, not heard, have a trust of exactly 1, and are right.
pub fn words_right(trust: f64) -> f64 {
    if trust >= 1.0 {
        return 1.0;
    }
    let Words { bias, words } = WEIGHTS.words;
    let p = trust.clamp(EDGE, 1.0 - EDGE);
    1.0 / (1.0 + (-(bias + words * (p / (1.0 - p)).ln())).exp())
}

/// How likely words were mended right that are so in `rate` of all such mends, 0 to 1, where the
/// sound speaks for the value by `lead`, a natural logarithm, against all that sounds like it.
pub fn mended_right(rate: f64, lead: f64) -> f64 {
    let Weights { parts, limits, .. } = &*WEIGHTS;
    1.0 - (1.0 - rate) * (-parts.sound * lead.clamp(0.0, limits.sound)).exp()
}

/// Scores to probabilities that sum to 1.
pub fn shares(scores: &[f64]) -> Vec<f64> {
    let most = scores.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let raised: Vec<f64> = scores.iter().map(|s| (s - most).exp()).collect();
    let total: f64 = raised.iter().sum();
    raised.into_iter().map(|r| r / total).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_is_sound_and_every_part_speaks_for_what_it_should() {
        let Weights { parts, limits, words } = &*WEIGHTS;
        for weight in [parts.sound, parts.gear, parts.neighbours, parts.light, limits.sound, words.words] {
            assert!(weight.is_finite() && weight >= 0.0);
        }
        // More trust never speaks against the words; a fit may find that it tells nothing.
        assert!(words_right(0.9) >= words_right(0.3));
        assert!(words_right(0.3) > 0.0 && words_right(0.9) < 1.0);
        assert_eq!(words_right(1.0), 1.0);
    }

    #[test]
    fn shares_sum_to_one() {
        let shares = shares(&[0.0, -1.0, f64::NEG_INFINITY]);
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!(shares[0] > shares[1] && shares[2] == 0.0);
    }
}
