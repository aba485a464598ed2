//! `ingest --check` looks, says what it found, and leaves no trace.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::builder::{KIT, Trip, program};

fn everything_below(folder: &Path, found: &mut BTreeSet<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            everything_below(&path, found);
        }
        found.insert(path);
    }
}

#[test]
fn what_would_be_done_is_told_and_nothing_is_written() {
    let trip = Trip::new()
        .kit(KIT)
        .note("1.txt", "Roll seven, frame one, 1/60 at f8.")
        .note("2.srt", "1\n00:00:01,000 --> 00:00:02,000\nframe two\n")
        .file("notes/torn.txt", [0, 1, 2, 3, 4, 5, 6, 7, 8, 9])
        .file("notes/empty.m4a", "")
        .scans("R7", 2)
        .file("scans/R7/0003.jpg", "no picture")
        .rebate("7.csv", "frame,shutter\n1,1/60\n2,x/y\n")
        .rebate("8.txt", "1/60 F8\n");
    let home = trip.path().parent().expect("a home").to_owned();
    let (mut before, mut after) = (BTreeSet::new(), BTreeSet::new());
    everything_below(&home, &mut before);

    let run = trip.with(&["--check"]).ingest().exits(1).says(&[
        "notes/torn.txt: ",
        "notes/empty.m4a: the file is empty",
        "scans/R7/0003.jpg: ",
        "rebate/7.csv: line 3: ",
        "rebate/8.txt: no camera in the kit says how it writes",
    ]);
    everything_below(&home, &mut after);
    assert_eq!(before, after);
    let said = run.stdout();
    for part in ["kit: 1 camera, 2 lenses, 1 film, 1 filter", "0 clips to hear", "2 texts to read"] {
        assert!(said.contains(part), "{said}");
    }
    assert!(said.contains("roll R7: 3 scans, edge data in 1 file\n") || said.contains("roll 7: 3 scans"), "{said}");
    assert!(said.contains("nothing was written"), "{said}");

    let mut json = program(&home);
    let output = json.args(["ingest", "--check", "--json"]).arg(home.join("trip")).output().expect("it starts");
    let object: serde_json::Value = serde_json::from_slice(&output.stdout).expect("an object");
    assert_eq!(
        (&object["exit"], &object["check"]["texts"], &object["check"]["clips"]),
        (&1.into(), &2.into(), &0.into())
    );
    assert_eq!(object["unusable"].as_array().map(Vec::len), Some(5), "{object:#}");
}

#[test]
fn a_sound_trip_is_clean_and_one_of_nothing_is_not() {
    let text = "Roll seven, frame one, 1/60 at f8.";
    Trip::new().kit(KIT).note("1.txt", text).scans("R7", 1).with(&["--check"]).ingest().exits(0);
    Trip::new().kit(KIT).scans("R7", 1).with(&["--check"]).ingest().exits(3);
}
