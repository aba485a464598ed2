//! Nothing lost: numbers typed wrong, long gaps and long rolls leave every note, scan and print in its roll.

use std::fmt::Write as _;
use std::fs;

use crate::builder::{KIT, Run, Trip};

/// Notes of these frames, all of them of roll 7.
fn notes(frames: impl IntoIterator<Item = u32>) -> String {
    let mut text = "Roll seven, in the quill.\n".to_owned();
    for n in frames {
        writeln!(text, "Frame {n}, 1/60 at f8, the bollard {n}.").expect("text");
    }
    text
}

/// A typed film edge with these frames.
fn table(frames: impl IntoIterator<Item = u32>) -> String {
    frames.into_iter().fold("frame,shutter,aperture\n".to_owned(), |text, n| text + &format!("{n},1/60,8\n"))
}

/// Fails unless so many rows of roll 7 are of a note, and so many have a scan.
fn holds(run: Run, noted: usize, scanned: usize) -> Run {
    let rows = run.rows("7");
    assert_eq!(rows.iter().filter(|r| r["status"] != "unnoted").count(), noted, "notes");
    assert_eq!(rows.iter().filter(|r| !r["scan"].is_empty()).count(), scanned, "scans");
    run
}

/// How many rows have a setting from the film edge.
fn printed(run: &Run) -> usize {
    run.rows("7").iter().filter(|r| r["source"].contains("rebate")).count()
}

#[test]
fn a_frame_number_typed_with_digits_too_many_takes_nothing_along() {
    let edge = table((1..=7).chain([180]));
    let trip = Trip::new().kit(KIT).note("1.txt", &notes(1..=8)).scans("R7", 8).rebate("7.csv", &edge);
    let run = holds(trip.ingest().exits(0), 8, 8);
    assert_eq!(printed(&run), 8);
    run.row("7", "7", &[("shutter", "1/60"), ("source", "voice+rebate"), ("scan", "R7/0007.jpg")])
        .row("7", "8", &[("shutter", "1/60"), ("source", "voice"), ("scan", "R7/0008.jpg")])
        .row("7", "180", &[("status", "unnoted"), ("shutter", "1/60"), ("scan", "")]);
}

#[test]
fn a_roll_without_scans_and_a_far_off_print_stays() {
    for far in [200, 999] {
        let trip = Trip::new().kit(KIT).note("1.txt", &notes([1, 2, far])).rebate("7.csv", &table([1, 2, far]));
        let run = holds(trip.ingest().exits(0), 3, 0).row("7", "2", &[("source", "voice+rebate")]);
        assert_eq!(printed(&run), 3, "{far}");
        let kept = fs::read(run.out().join("rolls/7.html")).expect("a page");
        // Nor does a later run take away what the first one wrote.
        let run = holds(run.again().exits(0), 3, 0);
        assert_eq!(fs::read(run.out().join("rolls/7.html")).expect("still a page"), kept);
    }
}

#[test]
fn a_long_typed_edge_beside_a_few_notes_is_kept_whole() {
    let run = Trip::new().kit(KIT).note("1.txt", &notes(1..=12)).rebate("7.csv", &table(1..=430)).ingest().exits(0);
    assert_eq!(printed(&holds(run, 12, 0)), 430);
}
