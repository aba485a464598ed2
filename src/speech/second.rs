//! The second listen, seen from outside: what may be asked of the sound again.

use std::ops::Range;

use super::Word;

/// Which of several wordings was said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// The words in doubt, by index into the utterance.
    pub words: Range<usize>,
    /// Spoken forms to choose from, such as `one twenty-fifth`. The first is
    /// how what was heard would be said.
    pub wordings: Vec<String>,
}

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
