//! Notes to words: texts are read, clips are heard.

use std::fs;
use std::io::Read as _;
use std::path::{Path, PathBuf};

use crate::audio::{self, AudioError, Sound};
use crate::facts::{KnownBy, caught};
use crate::language::Language;
use crate::plan::Plan;
use crate::report::Report;
use crate::speech::{self, Content, Heard, LONGEST_TEXT, Recogniser, SpeechError, TextKind, Transcript, transcript};
use crate::trip::{NoteFile, NoteKind};

use super::memory::Memory;
use super::{Note, Stage, Watch};

/// Makes the recogniser, when there are clips to hear.
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
    /// Seconds of sound in the clips, where they say so.
    pub sound_s: f64,
}

/// Every note of the trip with its words. What cannot be used is reported; of a clip that cannot be
/// heard now, the words that `memory` has are used.
pub fn notes(
    plan: &Plan,
    language: &Language,
    memory: &Memory,
    load: Load<'_>,
    watch: &dyn Watch,
    report: &mut Report,
) -> (Vec<Note>, Tally) {
    let (clips, texts): (Vec<&NoteFile>, Vec<&NoteFile>) =
        plan.layout.notes.iter().partition(|n| n.kind == NoteKind::Clip);
    let mut notes: Vec<Note> = Vec::new();
    for file in texts {
        match caught(|| text(&file.path).map(|heard| written(note(plan, file, heard)))) {
            Ok(Ok(note)) => {
                if note.heard.bad_times > 0 {
                    let why = format!(
                        "{} of its times make no sense: their words are kept without a time",
                        note.heard.bad_times
                    );
                    report.but_for(shown(file), why, "");
                }
                notes.push(note);
            }
            Err(fault) => report.unusable(shown(file), fault, ""),
            Ok(Err(why @ SpeechError::TooLong { .. })) => report.unusable(shown(file), why, ""),
            Ok(Err(why)) => report.unusable(shown(file), why, "save it as plain text in UTF-8"),
        }
    }
    let mut tally = Tally { texts: notes.len(), ..Tally::default() };
    for (file, heard) in clips.iter().zip(hear_all(plan, &clips, language, load, watch)) {
        match heard.or_else(|why| remembered(file, memory).ok_or(why)) {
            Ok(Heard { transcript, known, content }) => {
                if let Some(sound) = &transcript.sound {
                    faults_of(file, sound, report);
                }
                tally.known += usize::from(known);
                tally.heard += usize::from(!known);
                match caught(|| note(plan, file, transcript)) {
                    Ok(note) => notes.push(Note { content: Some(content.hex()), ..note }),
                    Err(fault) => report.unusable(shown(file), fault, ""),
                }
            }
            Err(why) => report.unusable(shown(file), why, ""),
        }
    }
    tally.sound_s = notes.iter().filter_map(|n| n.length_s).sum();
    (notes, tally)
}

/// Hears the clips; answers stand in their order. Without a recogniser, what is wrong with
/// a clip itself is told first.
fn hear_all(
    plan: &Plan,
    clips: &[&NoteFile],
    language: &Language,
    load: Load<'_>,
    watch: &dyn Watch,
) -> Vec<Result<Heard, String>> {
    if clips.is_empty() {
        return Vec::new();
    }
    watch.begin(Stage::Hearing, clips.len());
    let paths: Vec<&Path> = clips.iter().map(|c| c.path.as_path()).collect();
    match load() {
        Ok(recogniser) => {
            let cache = plan.ears.cache.as_ref();
            let heard = speech::hear_all(&paths, recogniser.as_ref(), language, cache, &|_| watch.step());
            heard.into_iter().map(|h| h.map_err(|e| e.to_string())).collect()
        }
        Err(why) => {
            paths.iter().map(|p| audio::open(p).map_or_else(|e| Err(e.to_string()), |_| Err(why.clone()))).collect()
        }
    }
}

/// Tells what of a clip is missing.
fn faults_of(file: &NoteFile, sound: &Sound, report: &mut Report) {
    if let Some(at_s) = sound.broken_off_s {
        report.partly(shown(file), AudioError::CutShort { at_s, of_s: sound.claimed_s }, "");
    }
    if let Some(damage) = sound.damage() {
        report.but_for(shown(file), damage, "");
    }
}

/// What was heard in this very clip before.
fn remembered(file: &NoteFile, memory: &Memory) -> Option<Heard> {
    let content = Content::of(&file.path).ok()?;
    let transcript = memory.words(&content.hex())?.clone();
    Some(Heard { transcript, known: true, content })
}

pub(super) fn shown(file: &NoteFile) -> PathBuf {
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

/// A text as a note. When its file was last saved says nothing of when anything was.
fn written(note: Note) -> Note {
    Note { taken: note.taken.filter(|t| t.known_by != KnownBy::FileTime), ..note }
}

/// The words of a text note.
pub(super) fn text(path: &Path) -> Result<Transcript, SpeechError> {
    let kind = path.extension().and_then(|e| TextKind::of_extension(&e.to_string_lossy())).unwrap_or(TextKind::Plain);
    let mut bytes = Vec::new();
    let read = fs::File::open(path).and_then(|f| f.take(LONGEST_TEXT as u64 + 1).read_to_end(&mut bytes));
    read.map_err(|e| SpeechError::Text(e.to_string()))?;
    transcript(&bytes, kind)
}
