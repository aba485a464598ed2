//! What becomes of the number of a frame.

use crate::facts::FrameNumber;
use serde::{Deserialize, Serialize};

/// What becomes of a frame's number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fate {
    /// The frame has this number.
    Number(FrameNumber),
    /// There is no such frame.
    Out,
    /// It is one with the frame of this number.
    With(FrameNumber),
}

impl Fate {
    /// From the cell of an edit; none of a text that is no number.
    pub(super) fn of(cell: &str) -> Option<Self> {
        match cell.strip_prefix("with ") {
            Some(number) => number.parse().ok().map(Self::With),
            None if cell.is_empty() => Some(Self::Out),
            None => cell.parse().ok().map(Self::Number),
        }
    }

    /// As the cell of an edit has it.
    pub(super) fn cell(self) -> String {
        match self {
            Self::Number(n) => n.to_string(),
            Self::Out => String::new(),
            Self::With(n) => format!("with {n}"),
        }
    }
}
