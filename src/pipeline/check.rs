//! What a trip holds and what of it could not be used, found without hearing a clip and without writing a byte.

use std::fmt::Display;
use std::path::Path;

use serde::Serialize;

use crate::audio;
use crate::facts::{RollName, caught};
use crate::pictures;
use crate::plan::Plan;
use crate::rebate::{is_picture, read_file};
use crate::report::Report;
use crate::scans::NamePattern;
use crate::trip::{NoteFile, NoteKind, is_raw};

use super::hear::{shown, text};

/// What is wrong with a name that is not UTF-8.
pub(super) const ODD_NAME: &str = "its name is not in UTF-8, so that no page can link to it";

/// What would be worked on.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Checked {
    /// Clips that would be heard.
    pub clips: usize,
    /// Seconds of sound in them, where they say so.
    pub sound_s: f64,
    /// Texts that would be read.
    pub texts: usize,
    /// Rolls that have scans or edge data, by name.
    pub rolls: Vec<CheckedRoll>,
}

/// What there is of one roll, beside what is said of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CheckedRoll {
    /// Its name.
    pub roll: RollName,
    /// Scans, raw files among them.
    pub scans: usize,
    /// Files of edge data.
    pub edge: usize,
}

/// Looks through a trip: names, the headers of clips and pictures, texts, typed edge data. What could not be used
/// stands in `report`; `can_hear` tells why clips could not be heard.
pub fn check(plan: &Plan, can_hear: Result<(), String>, report: &mut Report) -> Checked {
    for passed in &plan.layout.passed_over {
        report.unusable(plan.within(&passed.path), &passed.why, "");
    }
    for path in &plan.layout.odd_names {
        report.but_for(plan.within(path), ODD_NAME, "rename it");
    }
    let mut checked = Checked::default();
    for file in &plan.layout.notes {
        match file.kind {
            NoteKind::Clip => clip(file, &can_hear, &mut checked, report),
            NoteKind::Text => match guarded(|| text(&file.path)) {
                Ok(_) => checked.texts += 1,
                Err(why) => report.unusable(shown(file), why, ""),
            },
        }
    }
    for pattern in &plan.kit.scans.patterns {
        if let Err(why) = NamePattern::new(pattern) {
            report.unusable("kit.toml", why, "correct it under [scans]");
        }
    }
    for scans in &plan.layout.scans {
        for file in scans.files.iter().filter(|f| !raw(f)) {
            if let Err(why) = guarded(|| pictures::looked_at(file)) {
                report.unusable(plan.within(file), why, "its name counts, what it shows does not");
            }
        }
        checked.of(&scans.roll).scans += scans.files.len();
    }
    for edge in &plan.layout.rebate {
        for file in &edge.files {
            checked.of(&edge.roll).edge += usize::from(edge_file(plan, file, &edge.roll, report));
        }
    }
    checked.rolls.sort_by(|a, b| a.roll.cmp(&b.roll));
    checked
}

impl Checked {
    /// Whether there is anything to work on: a note or edge data.
    pub fn any(&self) -> bool {
        self.clips + self.texts > 0 || self.rolls.iter().any(|r| r.edge > 0)
    }

    fn of(&mut self, roll: &RollName) -> &mut CheckedRoll {
        let at = self.rolls.iter().position(|r| r.roll == *roll).unwrap_or_else(|| {
            self.rolls.push(CheckedRoll { roll: roll.clone(), scans: 0, edge: 0 });
            self.rolls.len() - 1
        });
        &mut self.rolls[at]
    }
}

/// Opens a clip, as far as it takes to see that there is sound in it.
fn clip(file: &NoteFile, can_hear: &Result<(), String>, checked: &mut Checked, report: &mut Report) {
    let opened = guarded(|| audio::within_bounds(&file.path).and_then(|()| audio::open(&file.path).map(drop)));
    match opened.and_then(|()| can_hear.clone()) {
        Ok(()) => {
            checked.clips += 1;
            let length_s = caught(|| audio::probe(&file.path, None).ok().and_then(|r| r.length_s));
            checked.sound_s += length_s.ok().flatten().unwrap_or(0.0);
        }
        Err(why) => report.unusable(shown(file), why, ""),
    }
}

/// Whether something of a file of edge data could be used. Pictures are not read, and lines are read as those of
/// any camera, since which one the roll was in is told by the notes.
fn edge_file(plan: &Plan, file: &Path, roll: &RollName, report: &mut Report) -> bool {
    let path = plan.within(file);
    if is_picture(file) {
        let looked = guarded(|| pictures::looked_at(file));
        return looked.map_err(|why| report.unusable(path, why, "")).is_ok();
    }
    match guarded(|| read_file(file, roll, &plan.kit, None)) {
        Ok((frames, faults)) => {
            for fault in faults {
                let line = fault.line.map_or(String::new(), |n| format!("line {n}: "));
                report.but_for(path, format_args!("{line}{}", fault.what), "");
            }
            !frames.is_empty()
        }
        Err(why) => {
            report.unusable(path, why, "");
            false
        }
    }
}

/// What `work` gives, or why not, a fault of the program among the reasons.
fn guarded<T, E: Display>(work: impl FnOnce() -> Result<T, E>) -> Result<T, String> {
    caught(work).map_err(|fault| fault.to_string())?.map_err(|why| why.to_string())
}

fn raw(file: &Path) -> bool {
    file.extension().is_some_and(|e| is_raw(&e.to_string_lossy()))
}
