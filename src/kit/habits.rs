//! Habits of the photographer and of the lab.

use crate::facts::Field;

/// How this photographer works.
#[derive(Debug, Clone, PartialEq)]
pub struct Habits {
    /// The first frame's number, usually 1.
    pub frame_counts_from: u16,
    /// IANA time zone name, such as `Atlantic/Faroe`.
    pub timezone: Option<String>,
}

impl Default for Habits {
    fn default() -> Self {
        Self { frame_counts_from: 1, timezone: None }
    }
}

/// How the lab or scanner names its files.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ScanHabits {
    /// Patterns such as `{roll}_{frame}` that file names are tried against first.
    pub patterns: Vec<String>,
}

/// Who wins where sources disagree.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SettleHabits {
    /// Fields where the voice wins over the film edge.
    pub trust_voice: Vec<Field>,
    /// Confidence below which a value is flagged unsure.
    pub unsure_below: Option<f64>,
}
