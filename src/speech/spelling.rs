//! Texts as the tokens that the recogniser itself would write: byte-pair encoding, where the pair
//! with the lowest number is joined first. Another way of cutting the same word is far less likely
//! to the decoder, and would be scored so.

use std::collections::HashMap;
use std::sync::LazyLock;

use regex::Regex;

/// Pieces that are encoded by themselves: GPT-2's pattern, without its look-ahead.
static PIECES: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(r"'s|'t|'re|'ve|'m|'ll|'d| ?\p{L}+| ?\p{N}+| ?[^\s\p{L}\p{N}]+|\s+").expect("a pattern of ours")
});

/// Numbers of tokens by their bytes.
pub(super) struct Spelling(HashMap<Vec<u8>, i32>);

impl Spelling {
    /// From the bytes of every text token, by number.
    pub fn of(tokens: impl Iterator<Item = Vec<u8>>) -> Self {
        Self((0..).zip(tokens).map(|(id, bytes)| (bytes, id)).collect())
    }

    /// The tokens of a text.
    pub fn tokens(&self, text: &str) -> Vec<i32> {
        PIECES.find_iter(text).flat_map(|piece| self.piece(piece.as_str().as_bytes())).collect()
    }

    fn piece(&self, bytes: &[u8]) -> Vec<i32> {
        let mut cuts: Vec<usize> = (0..=bytes.len()).collect();
        let id = |from: usize, to: usize| self.0.get(&bytes[from..to]).copied();
        while let Some((_, i)) = (2..cuts.len()).filter_map(|i| Some((id(cuts[i - 2], cuts[i])?, i - 1))).min() {
            cuts.remove(i);
        }
        cuts.windows(2).filter_map(|w| id(w[0], w[1])).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowest_pair_is_joined_first() {
        let letters = ["a", "b", "c", " ", "bc", "ab", "abc", " a"].map(|t| t.as_bytes().to_vec());
        let spelling = Spelling::of(letters.into_iter());
        assert_eq!(spelling.tokens("abc"), [6], "a bc, then abc");
        assert_eq!(spelling.tokens("ab"), [5]);
        assert_eq!(spelling.tokens("aab ab"), [0, 5, 3, 5], "pieces are apart, and `ab` comes before ` a`");
        assert_eq!(spelling.tokens("z"), [] as [i32; 0], "what has no token is left out");
    }
}
