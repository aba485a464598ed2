//! A long text in stretches: tokens that are read together are bounded, so that reading takes
//! time in proportion to the text, however long it is and however it is written.

use super::token::{Token, tokens};

/// The most tokens that are read together. A note of one breath has some twenty, and five minutes
/// talked through without a pause about as many as this.
pub const MOST_TOKENS: usize = 1000;

/// The tokens of folded text in stretches of at most [`MOST_TOKENS`]. A text that has no more is
/// one stretch. A longer one is cut behind a sentence; in a sentence without an end behind a
/// comma or another mark; else between two words, and where there is nothing to choose, anywhere.
pub fn stretches(folded: &str) -> impl Iterator<Item = Vec<Token>> {
    let mut rest = tokens(folded);
    let mut ahead: Vec<Token> = Vec::new();
    std::iter::from_fn(move || {
        // One token more tells whether there is anything to cut.
        ahead.extend(rest.by_ref().take(MOST_TOKENS + 1 - ahead.len()));
        if ahead.is_empty() {
            return None;
        }
        let left = if ahead.len() > MOST_TOKENS { ahead.split_off(cut(&ahead)) } else { Vec::new() };
        Some(std::mem::replace(&mut ahead, left))
    })
}

/// How many of the tokens stand before the best place to cut in their second half.
fn cut(ahead: &[Token]) -> usize {
    let half = ahead.len() / 2;
    let apart = |k: &usize| ahead.get(*k).is_some_and(|t| !t.glued);
    let last = |fits: &dyn Fn(&Token) -> bool| (half..ahead.len()).rev().filter(apart).find(|k| fits(&ahead[k - 1]));
    last(&Token::ends_sentence).or_else(|| last(&Token::is_mark)).or_else(|| last(&|_| true)).unwrap_or(MOST_TOKENS)
}

#[cfg(test)]
mod tests {
    use super::super::token::fold;
    use super::*;

    /// The lengths of the stretches, and their texts joined without spaces.
    fn cut_up(text: &str) -> (Vec<usize>, String) {
        let folded = fold(text);
        let all: Vec<Vec<Token>> = stretches(&folded).collect();
        let joined = all.iter().flatten().map(|t| &folded[t.span.clone()]).collect();
        (all.iter().map(Vec::len).collect(), joined)
    }

    #[test]
    fn nothing_is_lost_at_a_cut() {
        for text in ["frame one, a sixtieth at f8. ", "on and on ", "a, ", "1/", "x 2\n", "f\u{2044}"] {
            let long = text.repeat(4 * MOST_TOKENS);
            let (lengths, joined) = cut_up(&long);
            let whole: String = tokens(&fold(&long)).map(|t| fold(&long)[t.span].to_owned()).collect();
            assert_eq!(joined, whole);
            assert!(lengths.iter().all(|n| (1..=MOST_TOKENS).contains(n)), "{text}: {lengths:?}");
        }
        assert_eq!(cut_up("").0, [0_usize; 0]);
        assert_eq!(cut_up(&"word ".repeat(MOST_TOKENS)).0, [MOST_TOKENS]);
    }

    #[test]
    fn a_cut_stands_behind_a_sentence_if_it_can() {
        let sentence = "frame one, a sixtieth at f eight. ";
        let tokens = tokens(sentence).count();
        let (lengths, _) = cut_up(&sentence.repeat(1000));
        assert!(lengths.iter().all(|n| n % tokens == 0), "{lengths:?}");
        let (lengths, _) = cut_up(&"one two three, ".repeat(1000));
        assert!(lengths.iter().all(|n| n % 4 == 0), "{lengths:?}");
    }
}
