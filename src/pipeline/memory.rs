//! What the output folder remembers of the clips it was made from: their words, so that a
//! clip that is deleted, moved or renamed later takes no frame along.
//!
//! `.state/clips.jsonl` has a line a clip, by its content. Texts are not remembered: who
//! deletes one takes back what it says.

use std::collections::{HashMap, HashSet};
use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::facts::{Position, Taken};
use crate::output::{OutDir, OutputError};
use crate::speech::Transcript;

use super::Note;

const FILE: &str = ".state/clips.jsonl";
/// Stands before the name of a clip that is gone when another clip has its name now.
const ELSEWHERE: &str = "gone/";

/// A clip that was heard.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Clip {
    content: String,
    /// Its name when it was last there.
    name: String,
    taken: Option<Taken>,
    position: Option<Position>,
    length_s: Option<f64>,
    heard: Transcript,
}

/// The clips of a trip that were heard, by what is in them.
#[derive(Debug, Clone, Default)]
pub struct Memory(Vec<Clip>);

/// Whether results in this folder remember any clip.
pub fn remembers_clips(out: &Path) -> bool {
    out.join(FILE).is_file()
}

/// The contents of the clips that results in this folder remember.
pub fn remembered_contents(out: &Path) -> HashSet<String> {
    let bytes = std::fs::read(out.join(FILE)).unwrap_or_default();
    let text = String::from_utf8_lossy(&bytes);
    text.lines().filter_map(|line| serde_json::from_str::<Clip>(line).ok()).map(|c| c.content).collect()
}

impl Memory {
    /// What `out` remembers. A line that does not read is left out, with a warning.
    pub fn read(out: &OutDir) -> Self {
        let bytes = out.read(FILE).unwrap_or_default();
        let text = String::from_utf8_lossy(&bytes);
        let clip = |(i, line): (usize, &str)| {
            serde_json::from_str(line)
                .inspect_err(|why| tracing::warn!("{FILE}: line {}: {why}; that clip is forgotten", i + 1))
                .ok()
        };
        Self(text.lines().enumerate().filter_map(clip).collect())
    }

    /// The words of a clip with this content, as they were heard.
    pub fn words(&self, content: &str) -> Option<&Transcript> {
        self.0.iter().find(|c| c.content == content).map(|c| &c.heard)
    }

    /// The notes of clips that were heard once and are not among `heard` any more. A clip is the
    /// same under any name; one that was recorded anew under its old name takes its place.
    pub fn gone(&self, heard: &[Note]) -> Vec<Note> {
        let there: HashSet<&str> = heard.iter().filter_map(|n| n.content.as_deref()).collect();
        let new: HashMap<&str, bool> = heard
            .iter()
            .map(|n| (n.name.as_str(), n.content.as_deref().is_some_and(|c| self.words(c).is_none())))
            .collect();
        let gone = self.0.iter().filter(|c| !there.contains(c.content.as_str()));
        gone.filter(|c| new.get(c.name.as_str()) != Some(&true))
            .map(|clip| {
                let taken_name = new.contains_key(clip.name.as_str());
                let name = if taken_name { format!("{ELSEWHERE}{}", clip.name) } else { clip.name.clone() };
                Note {
                    name,
                    heard: clip.heard.clone(),
                    taken: clip.taken.clone(),
                    position: clip.position,
                    length_s: clip.length_s,
                    content: Some(clip.content.clone()),
                }
            })
            .collect()
    }

    /// Remembers the clips among `notes`, and no others.
    ///
    /// # Errors
    /// A failure to write.
    pub fn keep(out: &OutDir, notes: &[Note]) -> Result<(), OutputError> {
        let mut seen = HashSet::new();
        let mut clips: Vec<Clip> = notes.iter().filter_map(clip).filter(|c| seen.insert(c.content.clone())).collect();
        clips.sort_by(|a, b| (&a.name, &a.content).cmp(&(&b.name, &b.content)));
        if clips.is_empty() {
            return out.remove(FILE);
        }
        let line = |c: &Clip| serde_json::to_string(c).expect("a clip has only text keys") + "\n";
        out.write(FILE, clips.iter().map(line).collect::<String>().as_bytes())?;
        Ok(())
    }
}

fn clip(note: &Note) -> Option<Clip> {
    Some(Clip {
        content: note.content.clone()?,
        name: note.name.strip_prefix(ELSEWHERE).unwrap_or(&note.name).to_owned(),
        taken: note.taken.clone(),
        position: note.position,
        length_s: note.length_s,
        heard: note.heard.clone(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(name: &str, content: &str) -> Note {
        Note { name: name.to_owned(), content: Some(content.to_owned()), ..Note::default() }
    }

    fn memory(notes: &[Note]) -> Memory {
        Memory(notes.iter().filter_map(clip).collect())
    }

    fn gone(before: &[Note], now: &[Note]) -> Vec<String> {
        memory(before).gone(now).into_iter().map(|n| n.name).collect()
    }

    #[test]
    fn a_clip_is_what_is_in_it() {
        let before = [note("a.m4a", "1"), note("b.m4a", "2")];
        assert_eq!(gone(&before, &[note("b.m4a", "2")]), ["a.m4a"]);
        assert_eq!(gone(&before, &[note("day 1/a.m4a", "1"), note("b.m4a", "2")]), [] as [&str; 0]);
        // Two that changed names, and one that took the name of one that is gone.
        assert_eq!(gone(&before, &[note("a.m4a", "2"), note("b.m4a", "1")]), [] as [&str; 0]);
        assert_eq!(gone(&before, &[note("a.m4a", "2")]), ["gone/a.m4a"]);
        assert_eq!(gone(&before, &[note("b.m4a", "1")]), ["gone/b.m4a"]);
        // Recorded anew, or cut, under the name it had.
        assert_eq!(gone(&before, &[note("a.m4a", "3"), note("b.m4a", "2")]), [] as [&str; 0]);
    }

    #[test]
    fn what_is_kept_comes_back_and_a_broken_line_costs_itself() {
        let dir = tempfile::tempdir().unwrap();
        let out = OutDir::open(&dir.path().join("out"), dir.path()).unwrap();
        Memory::keep(&out, &[note("gone/a.m4a", "1"), note("b.m4a", "2"), note("copy of b.m4a", "2")]).unwrap();
        let mut bytes = out.read(FILE).unwrap();
        bytes.extend(b"{\"content\":\n");
        out.write(FILE, &bytes).unwrap();
        let names: Vec<String> = Memory::read(&out).gone(&[]).into_iter().map(|n| n.name).collect();
        assert_eq!(names, ["a.m4a", "b.m4a"]);
        Memory::keep(&out, &[]).unwrap();
        assert!(out.read(FILE).is_none());
    }
}
