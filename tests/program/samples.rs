//! The sample trip comes out as `samples/expected/` says.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use serde::Deserialize;

use crate::builder::{Run, Trip};

/// The part of `scripts/samples.toml` that holds words.
#[derive(Deserialize)]
struct Script {
    trip: String,
    clip: Vec<Clip>,
    text: Vec<Text>,
}

#[derive(Deserialize)]
struct Clip {
    file: String,
    say: Vec<String>,
}

#[derive(Deserialize)]
struct Text {
    file: String,
    lines: Vec<String>,
}

fn project() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn script() -> Script {
    let text = fs::read_to_string(project().join("scripts/samples.toml")).expect("the script is there");
    toml::from_str(&text).expect("the script is TOML")
}

/// Adds every file below `folder` of the sample trip.
fn with_folder(mut trip: Trip, name: &str, folder: &str) -> Trip {
    let top = project().join("samples").join(name);
    let mut folders = vec![top.join(folder)];
    while let Some(dir) = folders.pop() {
        for entry in fs::read_dir(&dir).expect("a folder of the samples") {
            let path: PathBuf = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let inside = path.strip_prefix(&top).expect("below it").to_string_lossy().into_owned();
                trip = trip.file(&inside, fs::read(&path).expect("a sample"));
            }
        }
    }
    trip
}

/// Every filled cell of the expected tables must be in the result; its flags must be among those raised.
fn check(run: &Run) {
    let mut faults = Vec::new();
    for roll in ["12", "A4"] {
        let expected = fs::read_to_string(project().join(format!("samples/expected/{roll}.csv"))).expect("a table");
        let rows = run.rows(roll);
        let mut frames = 0;
        for want in csv::Reader::from_reader(expected.as_bytes()).deserialize::<BTreeMap<String, String>>() {
            let want = want.expect("a row");
            frames += 1;
            let Some(got) = rows.iter().find(|r| r["frame"] == want["frame"]) else {
                faults.push(format!("{roll} {}: no such frame", want["frame"]));
                continue;
            };
            for (field, value) in want.iter().filter(|(_, v)| !v.is_empty()) {
                let right = match field.as_str() {
                    "flags" => value.split('|').all(|f| got["flags"].split('|').any(|g| g == f)),
                    _ => got[field] == *value,
                };
                if !right {
                    faults.push(format!("{roll} {} {field}: '{}', expected '{value}'", want["frame"], got[field]));
                }
            }
        }
        assert!(frames >= 8);
        if rows.len() != frames {
            faults.push(format!("{roll}: {} rows, expected {frames}", rows.len()));
        }
    }
    assert!(faults.is_empty(), "\n{}\n{}", faults.join("\n"), run.stderr());
}

#[test]
fn its_words_read_as_texts_come_out_as_expected() {
    let script = script();
    let mut trip = Trip::new();
    for folder in ["scans", "rebate"] {
        trip = with_folder(trip, &script.trip, folder);
    }
    let kit = project().join("samples").join(&script.trip).join("kit.toml");
    trip = trip.kit(&fs::read_to_string(kit).expect("the kit"));
    for clip in &script.clip {
        let name = Path::new(&clip.file).with_extension("txt");
        trip = trip.note(&name.to_string_lossy(), &clip.say.join(" "));
    }
    for text in &script.text {
        trip = trip.note(&text.file, &text.lines.join("\n"));
    }
    check(&trip.ingest().exits(0));
}
