//! One answer that a question offers.

use super::Answer;
use serde::Serialize;

/// One answer that may be given with a key.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Choice {
    /// What it says: `1/125`.
    pub label: String,
    /// What it would mean, for a reader.
    pub means: String,
    /// How likely it is, per cent, where that is known.
    pub share: Option<u32>,
    /// Who says so, where that is known.
    pub source: Option<&'static str>,
    /// A scan that shows it.
    pub scan: Option<String>,
    /// It is what stands now.
    pub stands: bool,
    /// What is done when it is chosen.
    pub answer: Answer,
}
