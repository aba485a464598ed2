//! Notes to words: texts are read, clips are heard.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use crate::audio::{self, AudioError};
use crate::language::Language;
use crate::plan::Plan;
use crate::report::Report;
use crate::speech::{Recogniser, SpeechError, TextKind, Transcript, transcript};
use crate::trip::{NoteFile, NoteKind};

use super::{Note, Stage, Watch};

/// Makes the recogniser, when there are clips to hear.
pub type Load<'a> = &'a dyn Fn() -> Result<Box<dyn Recogniser>, String>;

/// Clips opened at the same time when the plan does not say. The recogniser shares its
/// workers among them: while one clip is read, others are listened to.
const AT_ONCE: usize = 3;

/// How the hearing went.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct Tally {
    /// Clips whose words are known, heard now or in an earlier run.
    pub clips: usize,
    /// Texts read.
    pub texts: usize,
    /// Seconds of sound in the clips, where they say so.
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
    let (clips, texts): (Vec<&NoteFile>, Vec<&NoteFile>) =
        plan.layout.notes.iter().partition(|n| n.kind == NoteKind::Clip);
    let mut notes: Vec<Note> = Vec::new();
    for file in texts {
        match text(&file.path) {
            Ok(heard) => notes.push(note(plan, file, heard)),
            Err(why) => report.unusable(shown(file), why, "save it as plain text in UTF-8"),
        }
    }
    let texts = notes.len();
    for (file, heard) in clips.iter().zip(hear_all(plan, &clips, language, load, watch)) {
        match heard {
            Ok(heard) => {
                if let Some(at_s) = heard.broken_off_s {
                    report.partly(shown(file), AudioError::CutShort { at_s }, "");
                }
                notes.push(note(plan, file, heard));
            }
            Err(why) => report.unusable(shown(file), why, ""),
        }
    }
    let sound_s = notes.iter().filter_map(|n| n.length_s).sum();
    let tally = Tally { clips: notes.len() - texts, texts, sound_s };
    (notes, tally)
}

/// Hears the clips, several at a time; answers stand in the order of the clips.
fn hear_all(
    plan: &Plan,
    clips: &[&NoteFile],
    language: &Language,
    load: Load<'_>,
    watch: &dyn Watch,
) -> Vec<Result<Transcript, String>> {
    if clips.is_empty() {
        return Vec::new();
    }
    watch.begin(Stage::Hearing, clips.len());
    let recogniser = load();
    let recogniser = recogniser.as_deref().map_err(String::as_str);
    let at_once = plan.ears.jobs.map_or(AT_ONCE, |jobs| jobs + 1).min(clips.len());
    let next = AtomicUsize::new(0);
    let answers: Vec<Mutex<Option<Result<Transcript, String>>>> = clips.iter().map(|_| Mutex::new(None)).collect();
    thread::scope(|scope| {
        for _ in 0..at_once {
            scope.spawn(|| {
                while let Some(i) = Some(next.fetch_add(1, Ordering::Relaxed)).filter(|i| *i < clips.len()) {
                    let heard = clip(&clips[i].path, recogniser, language);
                    *answers[i].lock().expect("nobody panics with it") = Some(heard);
                    watch.step();
                }
            });
        }
    });
    let taken = answers.into_iter().map(|a| a.into_inner().expect("nobody panics with it"));
    taken.map(|a| a.expect("every clip has its turn")).collect()
}

/// A clip's words. What is wrong with the clip itself is told first, also without a recogniser.
fn clip(path: &Path, recogniser: Result<&dyn Recogniser, &str>, language: &Language) -> Result<Transcript, String> {
    let mut sound = audio::open(path).map_err(|e| e.to_string())?;
    recogniser?.hear(sound.as_mut(), language).map_err(|e| e.to_string())
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
