//! Which of several wordings the sound fits: each is forced upon the decoder, and what the
//! decoder thinks of every token is added up (teacher forcing).

use super::SpeechError;

/// A wording this far behind the best is out; its score stays at what it had by then. No more
/// than this is ever held against a wording. Natural logarithms: one in three thousand.
const HOPELESS: f64 = 8.0;

/// Knows how likely a token is after others, on the sound at hand.
pub(super) trait Decoder {
    /// Natural logarithms of the probabilities of the `wanted` tokens, coming right after `sequence`.
    fn logprobs_after(&mut self, sequence: &[i32], wanted: &[i32]) -> Result<Vec<f64>, SpeechError>;
}

/// The score of each candidate after `before`, which must not be empty. Candidates are walked as
/// a tree, the likeliest branch first, so that what they share is run once.
pub(super) fn scores(
    decoder: &mut dyn Decoder,
    before: &[i32],
    candidates: &[Vec<i32>],
) -> Result<Vec<f64>, SpeechError> {
    let mut walk = Walk { candidates, sums: vec![0.0; candidates.len()], best: f64::NEG_INFINITY };
    let all: Vec<usize> = (0..candidates.len()).collect();
    walk.on(decoder, &mut before.to_vec(), 0, 0.0, &all)?;
    Ok(walk.sums)
}

struct Walk<'a> {
    candidates: &'a [Vec<i32>],
    sums: Vec<f64>,
    best: f64,
}

impl Walk<'_> {
    /// `group`: the candidates that begin with the last `depth` tokens of `sequence`, whose score is `sum`.
    fn on(
        &mut self,
        decoder: &mut dyn Decoder,
        sequence: &mut Vec<i32>,
        depth: usize,
        sum: f64,
        group: &[usize],
    ) -> Result<(), SpeechError> {
        let mut branches: Vec<(i32, Vec<usize>)> = Vec::new();
        for &c in group {
            self.sums[c] = sum;
            match self.candidates[c].get(depth) {
                None => self.best = self.best.max(sum),
                Some(&token) => match branches.iter_mut().find(|(t, _)| *t == token) {
                    Some((_, members)) => members.push(c),
                    None => branches.push((token, vec![c])),
                },
            }
        }
        if branches.is_empty() || sum < self.best - HOPELESS {
            return Ok(());
        }
        let wanted: Vec<i32> = branches.iter().map(|(t, _)| *t).collect();
        let steps = decoder.logprobs_after(sequence, &wanted)?;
        // The likeliest first: the sooner the best is known, the sooner the others are out.
        let mut branches: Vec<_> = branches.into_iter().zip(steps).collect();
        branches.sort_by(|a, b| b.1.total_cmp(&a.1));
        for ((token, members), step) in branches {
            sequence.push(token);
            self.on(decoder, sequence, depth + 1, sum + step, &members)?;
            sequence.pop();
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Likes a token the better the nearer it is to the one before it; counts how often it is asked.
    struct Nearness(usize);

    impl Decoder for Nearness {
        fn logprobs_after(&mut self, sequence: &[i32], wanted: &[i32]) -> Result<Vec<f64>, SpeechError> {
            self.0 += 1;
            let last = *sequence.last().unwrap();
            Ok(wanted.iter().map(|t| -f64::from((t - last).abs())).collect())
        }
    }

    #[test]
    fn every_token_counts_and_what_is_shared_is_run_once() {
        let mut decoder = Nearness(0);
        let scores = scores(&mut decoder, &[5], &[vec![6, 7, 8], vec![6, 7, 9], vec![6, 5]]).unwrap();
        assert_eq!(scores, [-3.0, -4.0, -2.0]);
        assert_eq!(decoder.0, 3, "after 5, after 5 6, after 5 6 7");
    }

    #[test]
    fn the_hopeless_are_left_where_they_fell_behind() {
        let mut decoder = Nearness(0);
        let scores = scores(&mut decoder, &[5], &[vec![6, 7], vec![40, 41, 42, 43]]).unwrap();
        assert_eq!(scores, [-2.0, -35.0]);
        assert_eq!(decoder.0, 2);
    }

    #[test]
    fn one_candidate_that_begins_another() {
        let scores = scores(&mut Nearness(0), &[5], &[vec![6], vec![6, 6]]).unwrap();
        assert_eq!(scores, [-1.0, -1.0]);
    }
}
