//! The grammar that a command reads with: the built-in one, or that of a folder.

use std::fs;
use std::path::Path;

use crate::kit::Kit;
use crate::language::{GrammarText, Language};

use super::failure::Failure;

/// The grammar of a folder, or else the built-in one, joined with a kit.
pub fn language(folder: Option<&Path>, kit: Kit) -> Result<Language, Failure> {
    match folder {
        Some(folder) => in_folder(folder, kit),
        None => Ok(Language::english(kit)),
    }
}

/// The grammar of a folder, joined with the kit.
fn in_folder(folder: &Path, kit: Kit) -> Result<Language, Failure> {
    let read = |name: &str| {
        let path = folder.join(name);
        fs::read_to_string(&path).map_err(|e| Failure::at(&path, e))
    };
    let (numbers, values, phrases) = (read("numbers.txt")?, read("values.txt")?, read("phrases.txt")?);
    let (words, sounds) = (read("words.txt")?, read("sounds.txt")?);
    let asides = read("asides.txt")?;
    let pieces = read("reader.vocab")?;
    let path = folder.join("reader.weights");
    let weights = fs::read(&path).map_err(|e| Failure::at(&path, e))?;
    let text = GrammarText {
        numbers: &numbers,
        values: &values,
        phrases: &phrases,
        words: &words,
        sounds: &sounds,
        asides: &asides,
        pieces: &pieces,
        weights: &weights,
    };
    Language::from_text(&text, kit).map_err(|e| Failure::at(folder, e))
}
