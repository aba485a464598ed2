//! Notes to words: texts are read, clips are heard.

use std::fs;
use std::path::Path;

use crate::audio;
use crate::language::Language;
use crate::plan::Plan;
use crate::report::Report;
use crate::speech::{Recogniser, SpeechError, TextKind, Transcript, transcript};
use crate::trip::{NoteFile, NoteKind};

use super::{Note, Stage, Watch};

/// Makes the recogniser, when the first clip needs it.
pub type Load<'a> = &'a dyn Fn() -> Result<Box<dyn Recogniser>, String>;

/// How the hearing went.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct Tally {
    /// Clips heard in this run.
    pub heard: usize,
    /// Clips whose words were known from an earlier run.
    pub known: usize,
    /// Texts read.
    pub texts: usize,
    /// Seconds of sound in all clips.
    pub sound_s: f64,
}

/// Every note of the trip with its words. What cannot be used is reported.
pub fn notes(
    plan: &Plan,
    language: &Language,
    load: Load<'_>,
    watch: &dyn Watch,
    report: &mut Report,
) -> (Vec<Note>, Tally) {
    let mut notes = Vec::new();
    let mut tally = Tally::default();
    let is_clip = |n: &&NoteFile| n.kind == NoteKind::Clip;
    for file in plan.layout.notes.iter().filter(|n| !is_clip(n)) {
        match text(&file.path) {
            Ok(heard) => {
                tally.texts += 1;
                notes.push(Note { name: file.name.clone(), heard, taken: None, position: None, length_s: None });
            }
            Err(why) => report.unusable(Path::new("notes").join(&file.name), why, "save it as plain text in UTF-8"),
        }
    }
    let clips: Vec<&NoteFile> = plan.layout.notes.iter().filter(is_clip).collect();
    watch.begin(Stage::Hearing, clips.len());
    let mut recogniser: Option<Result<Box<dyn Recogniser>, String>> = None;
    for file in clips {
        let path = Path::new("notes").join(&file.name);
        match recogniser.get_or_insert_with(load) {
            Err(why) => report.unusable(path, why, ""),
            Ok(recogniser) => match clip(&file.path, recogniser.as_mut(), language) {
                Ok(heard) => {
                    tally.heard += 1;
                    notes.push(Note { name: file.name.clone(), heard, taken: None, position: None, length_s: None });
                }
                Err(why) => report.unusable(path, why, ""),
            },
        }
        watch.step();
    }
    (notes, tally)
}

fn text(path: &Path) -> Result<Transcript, SpeechError> {
    let kind = path.extension().and_then(|e| TextKind::of_extension(&e.to_string_lossy())).unwrap_or(TextKind::Plain);
    let bytes = fs::read(path).map_err(|e| SpeechError::Text(e.to_string()))?;
    transcript(&bytes, kind)
}

fn clip(path: &Path, recogniser: &mut dyn Recogniser, language: &Language) -> Result<Transcript, SpeechError> {
    let mut sound = audio::open(path)?;
    recogniser.hear(sound.as_mut(), language)
}
