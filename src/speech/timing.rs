//! When each word was said. Two things tell: how long words take to say, against how much voice
//! there is; and where the decoder would have ended its sentence before each of them, for it was
//! trained to write such times. The starts of all words are chosen together, the likeliest row of
//! them being found by dynamic programming.

use std::ops::Range;

use super::decoding::TIME_STEP_S;
use crate::audio::RATE;

/// Samples of one step.
const STEP: usize = (TIME_STEP_S * RATE as f64) as usize;
/// The most steps from the start of one word to that of the next.
const LONGEST: usize = 150;
/// How far the logarithm of a word's length strays from what its letters say.
const STRAY: f64 = 0.6;
/// How much of the decoder's opinion could as well be anywhere.
const ANYWHERE: f64 = 0.02;
/// For a word that begins where voice does: no more than decides a tie.
const ON_VOICE: f64 = 0.1;
/// Steps that are quieter than this, of 1, are not voice.
const QUIET: f64 = 0.3;
/// Voiced time is counted in parts of a step.
const PARTS: f64 = 8.0;

/// A word to be placed.
pub(super) struct Placed<'a> {
    /// As it was written.
    pub text: &'a str,
    /// Logits of the times that the decoder could have written before it, in steps of
    /// [`TIME_STEP_S`]; empty where there are none.
    pub times: &'a [f32],
}

/// Seconds from the start of the sound where each word begins and ends.
pub(super) fn places(words: &[Placed], sound: &[f32]) -> Vec<Range<f64>> {
    let voice = voice(sound);
    let steps = voice.len();
    // Voice before each step, in whole parts, so that what a length costs can be looked up.
    let mut sum = 0.0;
    let mut before = vec![0usize];
    before.extend(voice.iter().map(|v| {
        sum += v * PARTS;
        sum as usize
    }));
    let letters: Vec<f64> = words.iter().map(|w| letters(w.text)).collect();
    let part_of_letter = (sum / letters.iter().sum::<f64>()).max(0.1);
    let left_over = |parts: usize| parts as f64 / (2.0 * part_of_letter);

    let mut scores: Vec<f64> = before.iter().map(|b| -left_over(*b)).collect();
    let mut came_from: Vec<Vec<usize>> = Vec::new();
    for (i, word) in words.iter().enumerate() {
        let opinion = opinion(word.times, steps);
        for (step, score) in scores.iter_mut().enumerate() {
            *score += opinion[step] + ON_VOICE * rise(&voice, step);
        }
        let cost = costs(letters[i] * part_of_letter);
        let mut next = vec![f64::NEG_INFINITY; steps + 1];
        let mut from = vec![0; steps + 1];
        for end in 0..=steps {
            for start in end.saturating_sub(LONGEST)..=end {
                let score = scores[start] - cost[before[end] - before[start]];
                if score > next[end] {
                    (next[end], from[end]) = (score, start);
                }
            }
        }
        scores = next;
        came_from.push(from);
    }
    let all = before[steps];
    let last = (0..=steps)
        .max_by(|&a, &b| (scores[a] - left_over(all - before[a])).total_cmp(&(scores[b] - left_over(all - before[b]))));
    let mut end = last.unwrap_or(steps);
    let mut placed = Vec::new();
    for from in came_from.iter().rev() {
        let start = from[end];
        let silent = voice[start..end].iter().rev().take_while(|v| **v < QUIET).count();
        placed.push(start as f64 * TIME_STEP_S..(end - silent) as f64 * TIME_STEP_S);
        end = start;
    }
    placed.reverse();
    placed
}

/// How long a text takes to say, in letters: a figure is a word.
fn letters(text: &str) -> f64 {
    let length = |c: char| match c {
        _ if c.is_numeric() => 3.0,
        _ if c.is_alphabetic() || c == '/' => 1.0,
        _ => 0.0,
    };
    text.chars().map(length).sum::<f64>().max(1.0) + 0.5
}

/// How much of each step is voice, from 0 to 1: its loudness between the quietest and the loudest tenth.
fn voice(sound: &[f32]) -> Vec<f64> {
    let loud = |c: &[f32]| 10.0 * (c.iter().map(|x| f64::from(x * x)).sum::<f64>() / c.len() as f64 + 1e-9).log10();
    let steps: Vec<f64> = sound.chunks(STEP).map(loud).collect();
    let smooth: Vec<f64> = (0..steps.len())
        .map(|i| {
            let near = &steps[i.saturating_sub(1)..(i + 2).min(steps.len())];
            near.iter().sum::<f64>() / near.len() as f64
        })
        .collect();
    let mut sorted = smooth.clone();
    sorted.sort_by(f64::total_cmp);
    let tenth = sorted.len() / 10;
    let (Some(&low), Some(&high)) = (sorted.get(tenth), sorted.get(sorted.len().saturating_sub(1 + tenth))) else {
        return Vec::new();
    };
    smooth.iter().map(|e| (1.2 + (e - high) / (high - low).max(6.0) * 1.6).clamp(0.0, 1.0)).collect()
}

/// How much more voice there is after a step than before it.
fn rise(voice: &[f64], step: usize) -> f64 {
    let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len().max(1) as f64;
    mean(&voice[step..(step + 3).min(voice.len())]) - mean(&voice[step.saturating_sub(3)..step])
}

/// The logarithm of how likely the decoder holds each step to be the start.
fn opinion(times: &[f32], steps: usize) -> Vec<f64> {
    let most = times.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    let p: Vec<f64> = times.iter().map(|t| f64::from((t - most).exp())).collect();
    let all: f64 = p.iter().sum();
    let even = ANYWHERE / (steps + 1) as f64;
    let at = |step: usize| {
        // Nobody's opinion is good to a fiftieth of a second.
        let near = [(2, 1.0), (1, 2.0), (0, 3.0)].iter().map(|&(far, weight)| {
            let side = |i: Option<usize>| i.and_then(|i| p.get(i)).copied().unwrap_or(0.0);
            let both = side(step.checked_sub(far)) + side(Some(step + far));
            weight * if far == 0 { both / 2.0 } else { both }
        });
        let share = if all > 0.0 { near.sum::<f64>() / 9.0 / all } else { 0.0 };
        (share * (1.0 - ANYWHERE) + even).ln()
    };
    (0..=steps).map(at).collect()
}

/// What it costs that a word of so many parts of voice has as many as the index.
fn costs(expected: f64) -> Vec<f64> {
    let log = |parts: f64| (parts + 0.2 * PARTS).ln();
    let cost = |parts: usize| 0.5 * ((log(parts as f64) - log(expected)) / STRAY).powi(2);
    (0..=(LONGEST * PARTS as usize + 1)).map(cost).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Seconds of voice and of silence, in turn.
    fn sound(spans: &[f64]) -> Vec<f32> {
        let span = |(i, s): (usize, &f64)| vec![if i % 2 == 0 { 0.1f32 } else { 0.0001 }; (s * RATE as f64) as usize];
        spans.iter().enumerate().flat_map(span).collect()
    }

    fn placed<'a>(words: &[(&'a str, &'a [f32])], sound: &[f32]) -> Vec<Range<f64>> {
        let words: Vec<_> = words.iter().map(|&(text, times)| Placed { text, times }).collect();
        places(&words, sound)
    }

    #[test]
    fn a_word_lies_on_its_voice_and_ends_before_the_pause() {
        let times = placed(&[("harbour,", &[]), ("harbour", &[])], &sound(&[0.6, 0.8, 0.6, 0.4]));
        let [first, second] = &times[..] else { panic!("{times:?}") };
        assert!(first.start < 0.1 && (first.end - 0.6).abs() < 0.1, "{first:?}");
        assert!((second.start - 1.4).abs() < 0.1 && (second.end - 2.0).abs() < 0.1, "{second:?}");
    }

    #[test]
    fn a_long_word_takes_longer_and_a_figure_is_a_word() {
        let times = placed(&[("a", &[]), ("lighthouse", &[])], &sound(&[1.0]));
        assert!(times[1].start < 0.3, "{times:?}");
        let times = placed(&[("125th", &[]), ("at", &[])], &sound(&[1.0]));
        assert!(times[1].start > 0.7, "{times:?}");
    }

    #[test]
    fn the_decoders_opinion_counts_against_the_letters() {
        let mut opinion = vec![0.0f32; 100];
        opinion[40] = 9.0;
        let plain = placed(&[("boats", &[]), ("boats", &[])], &sound(&[2.0]))[1].start;
        let told = placed(&[("boats", &[]), ("boats", &opinion)], &sound(&[2.0]))[1].start;
        assert!((plain - 1.0).abs() < 0.1 && (told - 0.8).abs() < 0.05, "{plain} {told}");
    }

    #[test]
    fn every_word_has_its_time_in_order_whatever_the_sound() {
        let many: Vec<(&str, &[f32])> = vec![("one", &[]); 60];
        for sound in [sound(&[0.5]), sound(&[0.0, 3.0]), sound(&[12.0, 12.0]), Vec::new()] {
            let times = placed(&many, &sound);
            assert_eq!(times.len(), 60);
            let flat: Vec<f64> = times.iter().flat_map(|t| [t.start, t.end]).collect();
            assert!(flat.is_sorted() && flat[0] >= 0.0 && flat[119] <= sound.len() as f64 / RATE as f64 + TIME_STEP_S);
        }
        assert!(placed(&[], &sound(&[1.0])).is_empty());
    }
}
