//! Every input of a trip with what became of it.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::path::Path;

use crate::audio::Sound;
use crate::facts::{Fate, Input, InputKind};
use crate::plan::Plan;
use crate::report::{Loss, Report, Unusable};
use crate::roll::Trip;
use crate::trip::{NoteFile, NoteKind, below};

use super::Note;

/// What the parts of a run know of the inputs.
pub struct Known<'a> {
    /// Notes that were heard or read.
    pub notes: &'a [Note],
    /// Names of the notes that changed the record.
    pub understood: &'a HashSet<String>,
    /// Frames read from each edge print, by its path below the trip.
    pub printed: &'a HashMap<String, usize>,
    /// What could not be used.
    pub report: &'a Report,
    /// The record.
    pub trip: &'a Trip,
}

/// The inputs, in the order of notes, scans, edge prints and what was passed over.
pub fn inputs(plan: &Plan, known: &Known<'_>) -> Vec<Input> {
    let mut faults: BTreeMap<String, Vec<&Unusable>> = BTreeMap::new();
    for fault in known.report.entries() {
        faults.entry(below(&fault.path, Path::new(""))).or_default().push(fault);
    }
    let faults = |path: &str| faults.get(path).map_or(&[][..], Vec::as_slice);
    let layout = &plan.layout;
    let mut all: Vec<Input> = Vec::new();
    let (quoted, shown) = (quoted(known.trip), shown(known.trip));
    let by_name: HashMap<&str, &Note> = known.notes.iter().map(|n| (n.name.as_str(), n)).collect();
    for file in &layout.notes {
        let path = format!("notes/{}", file.name);
        let frames = quoted.get(file.name.as_str()).copied().unwrap_or(0);
        let understood = frames > 0 || known.understood.contains(&file.name);
        all.push(note(file, by_name.get(file.name.as_str()).copied(), understood, frames, faults(&path)));
    }
    let there: HashSet<&str> = layout.notes.iter().map(|n| n.name.as_str()).collect();
    for gone in known.notes.iter().filter(|n| !there.contains(n.name.as_str())) {
        let remarks = vec!["it is gone since it was heard; its words were kept".to_owned()];
        let (words, frames) = (words_in(gone), quoted.get(gone.name.as_str()).copied().unwrap_or(0));
        all.push(Input {
            words,
            frames,
            ..input(format!("notes/{}", gone.name), InputKind::Clip, Fate::Used, remarks)
        });
    }
    let others: HashSet<&str> = known.trip.rolls.iter().flat_map(|r| &r.other_scans).map(String::as_str).collect();
    for file in layout.scans.iter().flat_map(|s| &s.files) {
        let path = below(file, &layout.root);
        let name = path.strip_prefix("scans/").unwrap_or(&path);
        let frames = shown.get(name).copied().unwrap_or(0);
        let mut scan = sorted(path.clone(), InputKind::Scan, frames, faults(&path));
        if frames == 0 && scan.fate == Fate::Used {
            scan.fate = Fate::PassedOver;
            let why = if others.contains(name) {
                "an index or a test, and no frame"
            } else {
                "it shows no frame of the record"
            };
            scan.remarks.push(why.to_owned());
        }
        // A picture that cannot be read still stands on its frame by its name.
        if frames > 0 && scan.fate == Fate::Refused {
            scan.fate = Fate::Damaged;
        }
        all.push(scan);
    }
    for file in layout.rebate.iter().flat_map(|r| &r.files) {
        let path = below(file, &layout.root);
        let frames = known.printed.get(&path).copied().unwrap_or(0);
        all.push(sorted(path.clone(), InputKind::Print, frames, faults(&path)));
    }
    for file in &layout.beside {
        let remarks = vec!["it lies beside the scans and was not looked into".to_owned()];
        all.push(input(below(file, &layout.root), InputKind::Other, Fate::PassedOver, remarks));
    }
    for passed in &layout.passed_over {
        all.push(input(
            below(&passed.path, &layout.root),
            InputKind::Other,
            Fate::PassedOver,
            vec![passed.why.clone()],
        ));
    }
    all
}

fn input(path: String, kind: InputKind, fate: Fate, remarks: Vec<String>) -> Input {
    Input { path, kind, fate, words: 0, frames: 0, remarks }
}

/// An input by what the report says of it.
fn sorted(path: String, kind: InputKind, frames: usize, faults: &[&Unusable]) -> Input {
    let loss = faults.iter().map(|f| f.loss).min();
    let fate = loss.map_or(Fate::Used, |loss| match loss {
        Loss::Whole => Fate::Refused,
        Loss::Part => Fate::BrokenOff,
        Loss::Piece => Fate::Damaged,
    });
    Input { frames, ..input(path, kind, fate, faults.iter().map(|f| f.why.clone()).collect()) }
}

fn note(file: &NoteFile, note: Option<&Note>, understood: bool, frames: usize, faults: &[&Unusable]) -> Input {
    let kind = match file.kind {
        NoteKind::Clip => InputKind::Clip,
        NoteKind::Text => InputKind::Text,
    };
    let mut input = sorted(format!("notes/{}", file.name), kind, frames, faults);
    let Some(note) = note else { return input };
    input.words = words_in(note);
    if input.fate == Fate::Used && input.words == 0 {
        input.fate = Fate::NothingHeard;
    } else if input.fate == Fate::Used && !understood {
        input.fate = Fate::NothingUnderstood;
    }
    match &note.heard.sound {
        Some(sound) => input.remarks.extend(heard_as(sound, input.words)),
        None if input.words == 0 && faults.is_empty() => input.remarks.push("it has no words in it".to_owned()),
        None => {}
    }
    input
}

fn words_in(note: &Note) -> usize {
    note.heard.utterances.iter().map(|u| u.words.len()).sum()
}

/// What should be known of a clip besides its words.
fn heard_as(sound: &Sound, words: usize) -> Vec<String> {
    let mut remarks = Vec::new();
    if sound.is_silent() {
        remarks.push("silence from its start to its end".to_owned());
    } else if words == 0 {
        remarks.push("sound, and no speech that could be heard".to_owned());
    }
    if sound.is_overloaded() {
        let share = (sound.overloaded * 100.0).round();
        remarks.push(format!("overloaded: {share} % of it is as loud as the recorder can write"));
    }
    if sound.track > 1 {
        remarks.push(format!("track {} of {} was heard: nobody speaks in those before it", sound.track, sound.tracks));
    }
    remarks
}

/// How many frames quote each note.
fn quoted(trip: &Trip) -> HashMap<&str, usize> {
    let mut all = HashMap::new();
    for frame in trip.rolls.iter().flat_map(|r| &r.frames) {
        for clip in frame.said.iter().map(|q| q.at.clip.as_str()).collect::<HashSet<_>>() {
            *all.entry(clip).or_default() += 1;
        }
    }
    all
}

/// How many frames each scan shows.
fn shown(trip: &Trip) -> HashMap<&str, usize> {
    let mut all = HashMap::new();
    for scan in trip.rolls.iter().flat_map(|r| &r.frames).flat_map(|f| &f.scans) {
        *all.entry(scan.as_str()).or_default() += 1;
    }
    all
}
