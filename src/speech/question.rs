//! What a second listen is asked.

use std::ops::Range;

/// Which of several wordings was said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// The words in doubt, by index into the utterance.
    pub words: Range<usize>,
    /// Spoken forms to choose from, such as `one twenty-fifth`. The first is
    /// how what was heard would be said.
    pub wordings: Vec<String>,
}
