//! Notes to rolls: what was said, clip after clip, becomes frames on film.

use crate::language::Language;
use crate::speech::Transcript;

use super::NotedRoll;

/// Gathers the notes of a trip, in the order they were made.
pub struct Builder<'a> {
    language: &'a Language,
}

impl<'a> Builder<'a> {
    /// An empty trip.
    pub fn new(language: &'a Language, _unsure_below: f64) -> Self {
        Self { language }
    }

    /// Adds one clip or text, in order of time. `clip` is its path relative to `notes/`.
    pub fn add(&mut self, _clip: &str, _heard: &Transcript) {
        let _ = self.language;
    }

    /// The rolls, in the order they were begun.
    pub fn finish(self) -> Vec<NotedRoll> {
        Vec::new()
    }
}
