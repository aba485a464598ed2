//! The sample trip comes out as `samples/expected/` says.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde::Deserialize;

use crate::builder::{Run, Trip, program};

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

/// The sample trip with its words as texts, and without its kit.
fn told() -> Trip {
    let script = script();
    let mut trip = Trip::new();
    for folder in ["scans", "rebate"] {
        trip = with_folder(trip, &script.trip, folder);
    }
    for clip in &script.clip {
        let name = Path::new(&clip.file).with_extension("txt");
        trip = trip.note(&name.to_string_lossy(), &clip.say.join(" "));
    }
    for text in &script.text {
        trip = trip.note(&text.file, &text.lines.join("\n"));
    }
    trip
}

#[test]
fn its_words_read_as_texts_come_out_as_expected() {
    let kit = project().join("samples").join(script().trip).join("kit.toml");
    check(&told().kit(&fs::read_to_string(kit).expect("the kit")).ingest().exits(0));
}

#[test]
fn from_its_first_kit_to_being_forgotten() {
    let trip = told();
    let home = trip.home();
    let command = |args: &[&str]| {
        let mut command = program(&home);
        command.current_dir(&home).args(args);
        command
    };
    let does = |args: &[&str]| {
        let out = command(args).output().unwrap();
        let (told, said) = (String::from_utf8_lossy(&out.stdout), String::from_utf8_lossy(&out.stderr));
        assert_eq!(out.status.code(), Some(0), "{args:?}: {told}{said}");
        format!("{told}{said}")
    };
    let first = does(&["init", "trip"]);
    assert!(first.contains("green filter (once)") && first.contains("kit.toml: written"), "{first}");
    // Nobody can know the cameras from the talk alone: the photographer writes them in.
    fs::copy(project().join("samples/harbour/kit.toml"), home.join("trip/kit.toml")).unwrap();
    let told = does(&["ingest", "trip"]);
    assert!(told.contains("roll 12: 12 frames") && told.contains("roll A4: 8 frames"), "{told}");

    // A review in which nothing is answered changes nothing.
    let tables =
        || ["12", "A4"].map(|r| fs::read_to_string(home.join(format!("trip/spooltalk/rolls/{r}.csv"))).unwrap());
    let before = tables();
    let mut review = command(&["review", "--no-browser", "trip"]).stdout(Stdio::piped()).spawn().unwrap();
    let mut line = String::new();
    let mut printed = BufReader::new(review.stdout.take().unwrap());
    printed.read_line(&mut line).unwrap();
    assert!(line.contains(" in doubt; open http://127.0.0.1:"), "{line}");
    assert!(Command::new("kill").args(["-INT", &review.id().to_string()]).status().unwrap().success());
    assert!(review.wait().unwrap().success());
    assert_eq!(tables(), before);

    assert!(does(&["find", "slipway"]).contains("harbour_05.jpg"));
    let habits = does(&["habits"]);
    let row =
        |head: &str| habits.lines().find(|l| l.starts_with(head)).unwrap_or_else(|| panic!("no {head} in {habits}"));
    assert_eq!(row("Bellbuoy 125").split_whitespace().nth(2), Some("12"));
    // Seven frames of A4 were told and stand on the film edge; on all of them the shutter agrees.
    assert_eq!(row("Bosun 35").split_whitespace().collect::<Vec<_>>(), ["Bosun", "35", "7", "7"]);

    fs::create_dir(home.join("years")).unwrap();
    fs::rename(home.join("trip"), home.join("years/the harbour")).unwrap();
    does(&["ingest", "years/the harbour"]);
    let list = does(&["archive", "list"]);
    assert!(list.contains("the harbour") && list.lines().count() == 2, "one trip, not two: {list}");
    assert_eq!(does(&["find", "slipway", "--format", "json"]).lines().count(), 1);
    does(&["archive", "forget", "years/the harbour"]);
    assert_eq!(does(&["archive", "check"]).lines().next().map(|l| l.ends_with("whole; 0 trips, 0 frames")), Some(true));
    assert!(home.join("years/the harbour/spooltalk/trip.html").is_file(), "the trip itself stays");
}
