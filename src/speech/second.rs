//! The second listen, seen from outside: what may be asked of the sound again.

use super::Word;
use super::question::Question;

/// Knows which words matter and what they could be mistaken for.
pub trait Asker: Sync {
    /// Changes whenever the questions could.
    fn fingerprint(&self) -> String;

    /// Questions about one utterance; spans must not be empty and must lie within it.
    fn questions(&self, words: &[Word]) -> Vec<Question>;
}

/// Asks nothing: one listen only.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoQuestions;

impl Asker for NoQuestions {
    fn fingerprint(&self) -> String {
        "none".to_owned()
    }

    fn questions(&self, _: &[Word]) -> Vec<Question> {
        Vec::new()
    }
}
