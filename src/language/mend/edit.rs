//! What mending takes: looking at tokens, joining them and making new ones.

use std::ops::Range;

use crate::language::text::{Kind, Token};

/// A speed slower than this one, run together with an aperture, could as well be a price or a time of day.
pub const LEAST_JOINED: f64 = 25.0;

/// Whether the words stand at a place.
pub fn words_at(tokens: &[Token], i: usize, words: &[u32]) -> bool {
    tokens.get(i..i + words.len()).is_some_and(|t| t.iter().zip(words).all(|(t, w)| t.id == Some(*w)))
}

/// Makes `n` tokens one, the first, over all of their text.
pub fn join(tokens: &mut Vec<Token>, i: usize, n: usize) {
    tokens[i].span.end = tokens[i + n - 1].span.end;
    tokens.drain(i + 1..i + n);
}

/// A word that was not said, over a stretch of the text.
pub fn word_token(id: u32, span: Range<usize>) -> Token {
    Token { kind: Kind::Word, span, glued: false, id: Some(id), mend: None }
}

/// The number of a token.
pub fn number(t: &Token) -> Option<f64> {
    if let Kind::Number { value, .. } = t.kind { Some(value) } else { None }
}

/// The same where it is written without a point.
pub fn whole(t: &Token) -> Option<u32> {
    if let Kind::Number { value, decimals: 0, .. } = t.kind { Some(value as u32) } else { None }
}
