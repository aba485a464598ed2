//! Notes to words: texts are read, clips are heard.

use std::fs;
use std::path::{Path, PathBuf};

use crate::audio::{self, AudioError};
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
    let mut tally = Tally::default();
    let (clips, texts): (Vec<&NoteFile>, Vec<&NoteFile>) =
        plan.layout.notes.iter().partition(|n| n.kind == NoteKind::Clip);
    let mut notes: Vec<Note> = Vec::new();
    for file in texts {
        match text(&file.path) {
            Ok(heard) => notes.push(note(plan, file, heard)),
            Err(why) => report.unusable(shown(file), why, "save it as plain text in UTF-8"),
        }
    }
    tally.texts = notes.len();
    watch.begin(Stage::Hearing, clips.len());
    let mut recogniser: Option<Result<Box<dyn Recogniser>, String>> = None;
    for file in clips {
        match clip(&file.path, || recogniser.get_or_insert_with(load), language) {
            Ok(heard) => {
                if let Some(at_s) = heard.broken_off_s {
                    report.partly(shown(file), AudioError::CutShort { at_s }, "");
                }
                tally.heard += 1;
                notes.push(note(plan, file, heard));
            }
            Err(why) => report.unusable(shown(file), why, ""),
        }
        watch.step();
    }
    tally.sound_s = notes.iter().filter_map(|n| n.length_s).sum();
    (notes, tally)
}

fn shown(file: &NoteFile) -> PathBuf {
    Path::new("notes").join(&file.name)
}

fn note(plan: &Plan, file: &NoteFile, heard: Transcript) -> Note {
    let mut note = Note { name: file.name.clone(), heard, ..Note::default() };
    if let Ok(recording) = audio::probe(&file.path, plan.zone.as_ref()) {
        note.taken = recording.taken;
        note.position = recording.position;
        note.length_s = recording.length_s;
    }
    note
}

fn text(path: &Path) -> Result<Transcript, SpeechError> {
    let kind = path.extension().and_then(|e| TextKind::of_extension(&e.to_string_lossy())).unwrap_or(TextKind::Plain);
    let bytes = fs::read(path).map_err(|e| SpeechError::Text(e.to_string()))?;
    transcript(&bytes, kind)
}

/// A clip's words. What is wrong with the clip itself is told first, also without a recogniser.
fn clip<'a>(
    path: &Path,
    recogniser: impl FnOnce() -> &'a mut Result<Box<dyn Recogniser>, String>,
    language: &Language,
) -> Result<Transcript, String> {
    let mut sound = audio::open(path).map_err(|e| e.to_string())?;
    let recogniser = recogniser().as_mut().map_err(|why| why.clone())?;
    recogniser.hear(sound.as_mut(), language).map_err(|e| e.to_string())
}
