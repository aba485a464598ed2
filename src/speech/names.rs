//! Names that may be said: what is written goes the more readily along one of them (shallow fusion:
//! Gulcehre et al., "On Using Monolingual Corpora in Neural Machine Translation", 2015).

use super::spelling::Spelling;

/// What speaks for the first token of a name, and for each that goes on with one. Natural logarithms; a
/// guess, tried out as it is only (see "The trade ear" in DEVELOPERS.md).
const BEGINS: f32 = 1.5;
const GOES_ON: f32 = 3.0;

/// The tokens of each name, as they stand within a sentence and at its start.
#[derive(Debug, Default)]
pub(super) struct Names(Vec<Vec<i32>>);

impl Names {
    pub fn of<'a>(names: impl IntoIterator<Item = &'a str>, spelling: &Spelling) -> Self {
        let mut all: Vec<Vec<i32>> = Vec::new();
        for name in names {
            let mut letters = name.chars();
            let first = letters.next().map(char::to_uppercase).into_iter().flatten();
            let large: String = first.chain(letters).collect();
            all.extend([format!(" {name}"), format!(" {large}")].iter().map(|n| spelling.tokens(n)));
        }
        all.retain(|n| !n.is_empty());
        all.sort();
        all.dedup();
        Self(all)
    }

    /// The logits with what speaks for the names after what was `written`.
    pub fn favoured(&self, logits: &[f32], written: &[i32]) -> Vec<f32> {
        let mut favoured = logits.to_vec();
        for name in &self.0 {
            for (behind, &next) in name.iter().enumerate() {
                if written.ends_with(&name[..behind]) {
                    let more = if behind == 0 { BEGINS } else { GOES_ON };
                    let to = &mut favoured[next as usize];
                    *to = to.max(logits[next as usize] + more);
                }
            }
        }
        favoured
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_favoured_from_its_first_token_to_its_last() {
        let tokens = [" b", "a", "n", " ba", "B", " B", "k", " "].map(|t| t.as_bytes().to_vec());
        let names = Names::of(["ban"], &Spelling::of(tokens.into_iter()));
        assert_eq!(names.0, [vec![3, 2], vec![5, 1, 2]], "` ba n`, ` B a n`");
        let at = |written: &[i32]| names.favoured(&[0.0; 8], written);
        assert_eq!(at(&[6]), [0.0, 0.0, 0.0, BEGINS, 0.0, BEGINS, 0.0, 0.0]);
        assert_eq!(at(&[6, 3])[2], GOES_ON);
        assert_eq!(at(&[5])[1], GOES_ON);
        assert_eq!(at(&[5, 1])[2], GOES_ON);
        assert_eq!(at(&[3, 2])[2], 0.0, "it is over");
        assert_eq!(Names::default().favoured(&[1.0], &[0]), [1.0]);
    }
}
