//! A stretch of text that was read as far as its phrases, with what it is read against.

use std::ops::Range;

use crate::kit::Kit;

use super::term::Found;
use crate::language::grammar::Lexicon;
use crate::language::text::{Kind, Number, Token};

/// A stretch of text, read as far as its phrases.
pub struct Passage<'a> {
    /// The folded text.
    pub folded: &'a str,
    /// The text as it was.
    pub text: &'a str,
    /// Its tokens.
    pub tokens: &'a [Token],
    /// Its phrases and numbers.
    pub found: &'a Found,
    /// The grammar and the kit's names.
    pub lexicon: &'a Lexicon,
    /// The kit.
    pub kit: &'a Kit,
}

impl Passage<'_> {
    /// Whether tokens are an article and no name: "a" in "a brakeman", where a camera is called A.
    pub fn is_article(&self, tokens: &Range<usize>) -> bool {
        let follows = self.tokens.get(tokens.end).is_some_and(|t| t.kind == Kind::Word);
        follows && tokens.len() == 1 && self.lexicon.in_list("leading", &self.tokens[tokens.start])
    }
}

/// A text read as far as its phrases, of as many stretches as it has. Places of tokens count through the whole text.
#[derive(Clone, Copy)]
pub struct Whole<'a> {
    /// The folded text.
    pub folded: &'a str,
    /// Its tokens.
    pub tokens: &'a [Token],
    /// Its phrases, stretch by stretch, each with the place of its first token.
    pub found: &'a [(usize, Found)],
}

impl<'a> Whole<'a> {
    /// Every number that may be read, with the place of its first token.
    pub fn numbers(self) -> impl Iterator<Item = (usize, &'a Number)> {
        self.found.iter().flat_map(|(at, f)| f.numbers.iter().map(move |n| (at + usize::from(n.start), n)))
    }
}
