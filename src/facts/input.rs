//! What became of each input of a trip: nothing that lies in its folders goes unmentioned.

use std::fmt;

use serde::{Deserialize, Serialize};

/// What an input is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum InputKind {
    /// A recording.
    Clip,
    /// A note in writing.
    Text,
    /// A picture of a frame.
    Scan,
    /// What the camera wrote on the film edge, typed off or in a picture.
    Print,
    /// Anything else.
    Other,
}

impl fmt::Display for InputKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Clip => "clip",
            Self::Text => "text",
            Self::Scan => "scan",
            Self::Print => "print",
            Self::Other => "other",
        })
    }
}

/// What became of an input.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fate {
    /// It is in the record.
    Used,
    /// It holds words, and none that the record is about.
    NothingUnderstood,
    /// No words were heard in it, or stand in it.
    NothingHeard,
    /// It was used up to where it breaks off.
    BrokenOff,
    /// A piece of it could not be read; the rest was used.
    Damaged,
    /// Nothing of it could be used.
    Refused,
    /// It was not looked into.
    PassedOver,
}

impl fmt::Display for Fate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Used => "used",
            Self::NothingUnderstood => "nothing understood",
            Self::NothingHeard => "nothing heard",
            Self::BrokenOff => "broken off",
            Self::Damaged => "damaged",
            Self::Refused => "refused",
            Self::PassedOver => "passed over",
        })
    }
}

/// One input, and what became of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Input {
    /// Where it lies below the trip, with `/` between folders.
    pub path: String,
    /// What it is.
    pub kind: InputKind,
    /// What became of it.
    pub fate: Fate,
    /// Words heard or read in it.
    pub words: usize,
    /// Frames of the record that rest on it.
    pub frames: usize,
    /// What else should be known of it, a fact each: why it was not used, where it breaks off.
    pub remarks: Vec<String>,
}
