//! What the lab and the camera know of the rolls: scans and edge prints.

use std::collections::HashMap;
use std::path::Path;

use crate::facts::{RollName, caught};
use crate::kit::{Camera, Format};
use crate::plan::Plan;
use crate::rebate::{RebateRoll, is_picture, read_file};
use crate::report::Report;
use crate::roll::{NotedRoll, one_edge};
use crate::scans::{NamePattern, ScanError, ScanFolder, read_folder};
use crate::trip::{RollScans, below};

use super::{Stage, Watch};

/// The scans of every roll. A picture that cannot be read still stands by its name.
pub fn scans(plan: &Plan, noted: &[NotedRoll], watch: &dyn Watch, report: &mut Report) -> Vec<ScanFolder> {
    let mut patterns = Vec::new();
    for text in &plan.kit.scans.patterns {
        match NamePattern::new(text) {
            Ok(pattern) => patterns.push(pattern),
            Err(why) => report.unusable("kit.toml", why, "correct it under [scans]"),
        }
    }
    watch.begin(Stage::Scans, plan.layout.scans.len());
    let root = plan.layout.root.join("scans");
    let read = |files: &RollScans| {
        let camera = kit_camera(plan, noted, &files.roll);
        // 36 frames of 35 mm film when nothing is known of its camera.
        let capacity = camera.map_or(36, |c| c.frames);
        let format = camera.map_or(Format::F135, |c| c.format);
        let (folder, errors) = read_folder(&root, &files.roll, &files.files, capacity, format, &patterns);
        watch.step();
        (folder, errors)
    };
    let mut folders = Vec::new();
    for (folder, errors) in plan.layout.scans.iter().map(read) {
        for error in errors {
            match error {
                ScanError::Unreadable { path, why } => {
                    report.unusable(plan.within(&path), format_args!("cannot be read: {why}"), "");
                }
                ScanError::Fault { path, fault } => {
                    report.unusable(plan.within(&path), fault, "its name counts, what it shows does not");
                }
                ScanError::Kind { path, why } => report.unusable(plan.within(&path), why, ""),
                ScanError::Broken { path, why } => {
                    let why = format_args!("no whole picture ({why})");
                    report.unusable(plan.within(&path), why, "scan or copy it again");
                }
            }
        }
        folders.push(folder);
    }
    folders
}

/// The edge prints of every roll, and how many frames were read from each file. A line or picture that cannot be read costs itself alone.
pub fn prints(plan: &Plan, noted: &[NotedRoll], report: &mut Report) -> (Vec<RebateRoll>, HashMap<String, usize>) {
    let (mut rolls, mut printed) = (Vec::new(), HashMap::new());
    for given in &plan.layout.rebate {
        let (mut sources, mut pictured) = (Vec::new(), Vec::new());
        for file in &given.files {
            let shown = plan.within(file);
            match caught(|| read_file(file, &given.roll, &plan.kit, camera(noted, &given.roll))) {
                Ok(Ok((frames, faults))) => {
                    printed.insert(below(shown, Path::new("")), frames.len());
                    for fault in faults {
                        let line = fault.line.map_or(String::new(), |n| format!("line {n}: "));
                        let why = format_args!("{line}{}", fault.what);
                        if frames.is_empty() {
                            report.unusable(shown, why, "");
                        } else {
                            report.but_for(shown, why, "");
                        }
                    }
                    // Pictures show the film piece by piece; each file that was typed off shows it whole.
                    if is_picture(file) { pictured.extend(frames) } else { sources.push(frames) }
                }
                Ok(Err(why)) => report.unusable(shown, why, ""),
                Err(fault) => report.unusable(shown, fault, ""),
            }
        }
        sources.push(pictured);
        let roll = one_edge(given.roll.clone(), sources, plan.kit.habits.frame_counts_from);
        rolls.extend(Some(roll).filter(|r| !r.frames.is_empty()));
    }
    (rolls, printed)
}

fn camera<'a>(noted: &'a [NotedRoll], roll: &RollName) -> Option<&'a str> {
    noted.iter().find(|n| n.name.as_ref() == Some(roll))?.camera.as_deref()
}

/// The camera that the roll was in, as the kit has it.
fn kit_camera<'a>(plan: &'a Plan, noted: &[NotedRoll], roll: &RollName) -> Option<&'a Camera> {
    let named = camera(noted, roll).and_then(|c| plan.kit.camera(c));
    named.or(plan.kit.cameras.first().filter(|_| plan.kit.cameras.len() == 1))
}
