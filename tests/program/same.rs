//! The same input gives the same bytes.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use crate::builder::{KIT, Trip, program};
use crate::film_edge::strip_with_print;

/// Every file that came out, by its path. The archive knows the day it was written, and what a run remembers of its
/// trip knows the run's folder: both are left out.
fn files(folder: &Path, below: &str, found: &mut BTreeMap<String, Vec<u8>>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        let name = format!("{below}/{}", path.file_name().expect("a name").to_string_lossy());
        match path.is_dir() {
            true => files(&path, &name, found),
            false if name.starts_with("/archive.db") || name == "/.state/trip.json" => {}
            false => drop(found.insert(name, fs::read(&path).expect("a file"))),
        }
    }
}

fn results(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    files(folder, "", &mut found);
    found
}

#[test]
fn one_trip_run_into_two_folders_gives_equal_bytes() {
    let kit = KIT.replace("format = \"6x6\"\n", "format = \"6x6\"\nimprint = \"{shutter} F{aperture}\"\n");
    let run = Trip::new()
        .kit(&kit)
        .note("1.txt", "Roll seven, in the quill, on bell buoy. Frame one, a sixtieth at eight, full sun, the slipway.")
        .note("2.txt", "One fifty. Fifty six at one twenty-five. Same again with the green. Make that a thirtieth.")
        .note("3.txt", "Roll eight, in the quill. 1/60 at f8. 1/125 at f5.6, the tower. Roll nine. Frame two, f11.")
        .scans("R7", 5)
        .scans("R8", 2)
        .rebate("7.txt", "1/60 F8\n1/125 F5.6\n1/l25 F5.6\n1/30 F8\n1/5OO F11\n")
        .rebate("8.csv", "frame,shutter,aperture\n1,1/60,8\n2,1/12S,5.6\n")
        .picture("rebate/9/strip.png", &strip_with_print(&["1/60 F8", "1/125 F11"]))
        .ingest()
        .exits(0);
    let first = results(&run.out());
    let kinds = ["7.csv", "8.jsonl", "9.html", "/trip.md", "/trip.html", "/lab.md", ".xmp"];
    assert!(kinds.iter().all(|kind| first.keys().any(|k| k.ends_with(kind))), "{:?}", first.keys());
    // A hash map takes another order in every run; that of two may be the same by chance.
    let trip = run.out().parent().expect("the trip").to_owned();
    for name in ["second", "third", "fourth"] {
        let mut again = program(trip.parent().expect("a home"));
        again.arg("ingest").arg(&trip).arg("--out").arg(trip.join(name));
        assert!(again.output().expect("the program starts").status.success());
        let again = results(&trip.join(name));
        assert_eq!(first.keys().collect::<Vec<_>>(), again.keys().collect::<Vec<_>>());
        for (file, bytes) in &first {
            assert!(again[file] == *bytes, "{file} differs in the {name} run");
        }
    }
}
