//! What the decoder writes next: the likeliest token that the rules allow.
//!
//! The rules are those of the model's makers (Radford et al., "Robust Speech Recognition via
//! Large-Scale Weak Supervision", 2022, section 4.5, and the reference decoder beside it): times
//! come in pairs, never go back, and are written when all of them together are likelier than any
//! word.

/// How the tokens of a vocabulary are numbered: words, the end, marks that are never written, times.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Numbers {
    /// The mark of the end; words come before it.
    pub end: i32,
    /// The time 0; the others follow in steps of [`TIME_STEP_S`].
    pub first_time: i32,
}

/// Seconds from one time token to the next.
pub(super) const TIME_STEP_S: f64 = 0.02;
/// Logits this far below the best add nothing to a sum that anybody would see.
const NOTHING: f32 = 20.0;
/// What is this far below the best is out of the question: one in a million.
const LIKELY: f32 = 14.0;

/// The token to write, and how likely it was among those allowed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Choice {
    pub id: i32,
    pub p: f32,
}

/// Chooses after `written`, which begins with the first token after the opening. `logits` has one
/// number for each token of the vocabulary.
pub(super) fn choose(logits: &[f32], written: &[i32], numbers: Numbers) -> Choice {
    let is_time = |id: &i32| *id >= numbers.first_time;
    let after_time = written.last().is_some_and(is_time);
    let opened = opened(written, numbers);
    let (end, first_time) = (numbers.end as usize, numbers.first_time as usize);
    let latest = written.iter().copied().filter(is_time).max().map_or(first_time, |t| t as usize);
    let words = if after_time && !opened { end..=end } else { 0..=end };
    let times = if opened { logits.len()..logits.len() } else { latest..logits.len() };
    let best = |range: &mut dyn Iterator<Item = usize>| {
        range.fold((0, f32::NEG_INFINITY), |best, i| if logits[i] > best.1 { (i, logits[i]) } else { best })
    };
    let (word, word_logit) = best(&mut words.clone());
    let (time, time_logit) = best(&mut times.clone());
    let most = word_logit.max(time_logit);
    let sum = |part: &[f32]| part.iter().filter(|l| **l > most - NOTHING).map(|l| (l - most).exp()).sum::<f32>();
    let all_times = sum(&logits[times]);
    let all_words = sum(&logits[words]);
    if most + all_times.ln() > word_logit {
        Choice { id: time as i32, p: (time_logit - most).exp() / all_times }
    } else {
        Choice { id: word as i32, p: (word_logit - most).exp() / (all_words + all_times) }
    }
}

/// What the decoder thought of the place behind a token: all that is not out of the question.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Thought {
    /// Logits of the likely tokens, by number.
    likely: Vec<(i32, f32)>,
    least: f32,
    /// The logarithm of the sum of all, and of all that is no word.
    all: f64,
    no_word: f64,
}

impl Thought {
    pub fn of(logits: &[f32], numbers: Numbers) -> Self {
        let most = logits.iter().copied().fold(f32::NEG_INFINITY, f32::max);
        let least = most - LIKELY;
        let likely = (0..).zip(logits.iter().copied()).filter(|(_, l)| *l > least).collect();
        Self { likely, least, all: log_sum(logits), no_word: log_sum(&logits[numbers.end as usize..]) }
    }

    /// The logarithm of the probability of a token, the mark of the end standing for all that is
    /// no word. Of an unlikely one, the most that it can be.
    pub fn logprob(&self, id: i32, numbers: Numbers) -> f64 {
        let found = self.likely.binary_search_by_key(&id, |(id, _)| *id);
        let logit = found.map_or(self.least, |i| self.likely[i].1);
        if id == numbers.end { self.no_word - self.all } else { f64::from(logit) - self.all }
    }
}

/// Whether the last token opens a sentence: a time that comes first or after another.
pub(super) fn opened(written: &[i32], numbers: Numbers) -> bool {
    let time = |back: usize| written.len().checked_sub(back).is_none_or(|i| written[i] >= numbers.first_time);
    !written.is_empty() && time(1) && time(2)
}

/// The logarithm of the sum of numbers given by their logarithms.
pub(super) fn log_sum(logs: &[f32]) -> f64 {
    let most = logs.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    let near = logs.iter().filter(|l| **l > most - NOTHING);
    f64::from(most) + near.map(|l| f64::from((l - most).exp())).sum::<f64>().ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Words 0 to 3, the end 4, a mark 5, times from 6.
    const NUMBERS: Numbers = Numbers { end: 4, first_time: 6 };

    fn chosen(likely: &[(usize, f32)], written: &[i32]) -> i32 {
        let mut logits = vec![-30.0; 12];
        for &(id, logit) in likely {
            logits[id] = logit;
        }
        choose(&logits, written, NUMBERS).id
    }

    #[test]
    fn the_likeliest_word_and_never_a_mark() {
        assert_eq!(chosen(&[(2, 3.0), (1, 2.0), (5, 9.0)], &[6]), 2);
        assert_eq!(chosen(&[(4, 3.0), (1, 2.0)], &[6, 1]), 4);
    }

    #[test]
    fn times_are_written_when_they_are_likelier_together_than_any_word() {
        let times = [(8, 1.0), (9, 1.1), (10, 1.0)];
        assert_eq!(chosen(&[&times[..], &[(2, 2.0)]].concat(), &[6, 1]), 9);
        assert_eq!(chosen(&[&times[..], &[(2, 2.5)]].concat(), &[6, 1]), 2);
    }

    #[test]
    fn times_come_in_pairs_and_never_go_back() {
        assert_eq!(chosen(&[(9, 5.0), (2, 1.0)], &[6]), 2, "after the opening time a word");
        assert_eq!(chosen(&[(9, 5.0), (2, 9.0)], &[6, 1, 8]), 9, "after a closing time another, or the end");
        assert_eq!(chosen(&[(9, 5.0), (2, 1.0)], &[6, 1, 8, 8]), 2);
        assert_eq!(chosen(&[(7, 5.0), (9, 4.0)], &[6, 1, 8, 8, 2]), 9);
    }

    #[test]
    fn how_likely_it_was() {
        let logits = [1.0f32, 1.0, -99.0, -99.0, -99.0, 50.0, -99.0];
        let choice = choose(&logits, &[6], NUMBERS);
        assert!((choice.p - 0.5).abs() < 1e-6, "{choice:?}");
        assert!((log_sum(&[0.0, 0.0, -99.0]) - 2f64.ln()).abs() < 1e-9);
    }

    #[test]
    fn what_was_thought_is_told_later() {
        // Two words alike, one at a tenth of them, one nowhere; the end and the times as much as a word.
        let tenth = 0.1f32.ln();
        let logits = [0.0, tenth, 0.0, -50.0, 0.5f32.ln(), -50.0, 0.5f32.ln()];
        let thought = Thought::of(&logits, NUMBERS);
        let p = |id| thought.logprob(id, NUMBERS).exp();
        assert!((p(0) - 1.0 / 3.1).abs() < 1e-6 && (p(1) - 0.1 / 3.1).abs() < 1e-6);
        assert!((p(4) - 1.0 / 3.1).abs() < 1e-6, "an end by whatever mark");
        assert!(p(3) < 1e-6, "no more than one in a million");
    }
}
