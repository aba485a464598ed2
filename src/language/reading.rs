//! A stretch of text that was read as far as its phrases, with what it is read against.

use crate::kit::Kit;

use super::lexicon::Lexicon;
use super::term::Found;
use super::token::Token;

/// A stretch of text, read as far as its phrases.
pub struct Reading<'a> {
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
