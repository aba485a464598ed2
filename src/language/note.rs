//! One note read on its own, as `spooltalk parse` shows it.

use crate::kit::Kit;
use crate::speech::{Asker, Question, Word};

/// A language joined with a kit: everything needed to read notes.
pub struct Language {
    kit: Kit,
}

/// What one note records.
pub struct Note;

impl Language {
    /// Joins the embedded English grammar with a kit.
    pub fn english(kit: Kit) -> Self {
        Self { kit }
    }

    /// The kit.
    pub fn kit(&self) -> &Kit {
        &self.kit
    }

    /// Reads one note; nothing is carried from any other.
    pub fn read(&self, _text: &str) -> Note {
        Note
    }
}

impl Note {
    /// As a JSON object of the contract: `note`, `frames`, `roll`, `flags`.
    pub fn json(&self, number: usize) -> serde_json::Value {
        serde_json::json!({"note": number, "frames": [], "roll": {}, "flags": []})
    }

    /// The stages of the reading, for a person.
    pub fn explain(&self) -> String {
        String::new()
    }
}

impl Asker for Language {
    fn fingerprint(&self) -> String {
        "none".to_owned()
    }

    fn questions(&self, _: &[Word]) -> Vec<Question> {
        Vec::new()
    }
}
