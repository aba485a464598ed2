//! A note on its way through the house.

use std::path::Path;

use crate::facts::{Position, Taken};
use crate::speech::{TextKind, Transcript};

/// One clip or text, heard.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Note {
    /// Its path relative to `notes/`, with `/` between folders.
    pub name: String,
    /// What was said or written.
    pub heard: Transcript,
    /// When it was recorded, in the trip's time zone.
    pub taken: Option<Taken>,
    /// Where it was recorded.
    pub position: Option<Position>,
    /// How long it is, in seconds; a text has no length.
    pub length_s: Option<f64>,
    /// The content of a clip, as a hash; a text has none.
    pub content: Option<String>,
}

impl Note {
    /// Whether its words have their times: it was spoken, or has the times of something spoken. A
    /// text was written at one time or many, before or after what it tells of.
    pub fn is_spoken(&self) -> bool {
        let kind = Path::new(&self.name).extension().and_then(|e| TextKind::of_extension(&e.to_string_lossy()));
        !matches!(kind, Some(TextKind::Plain | TextKind::Markdown))
    }
}
