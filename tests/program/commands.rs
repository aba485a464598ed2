//! The commands beside `ingest`, as typed.

use std::io::Write;
use std::process::{Output, Stdio};

use crate::builder::{KIT, Trip, program};

const NOTES: &str = "Roll seven, Bellbuoy 125, in the quill, on the seventy-five, no filter.\n\
    Frame one. A sixtieth at five point six, the lighthouse.\n\
    Frame two. A thirtieth at f eight, the slipway, on a tripod.\n";

pub fn run(arguments: &[&str], typed: &str) -> Output {
    let home = tempfile::tempdir().expect("a folder");
    let mut command = program(home.path());
    command.args(arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("the program starts");
    child.stdin.take().expect("a pipe").write_all(typed.as_bytes()).expect("it reads");
    child.wait_with_output().expect("it ends")
}

pub fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn parse_answers_a_line_with_a_line() {
    let output = run(&["parse"], "f8 at a sixtieth\n\nthe bus goes at ten\n");
    assert_eq!(output.status.code(), Some(0));
    let lines: Vec<serde_json::Value> =
        text(&output.stdout).lines().map(|l| serde_json::from_str(l).expect("an object")).collect();
    assert_eq!(lines.len(), 2);
    assert_eq!((&lines[0]["note"], &lines[1]["note"]), (&1.into(), &2.into()));
    assert_eq!(lines[0]["frames"][0]["shutter"], "1/60");
    assert_eq!(lines[0]["frames"][0]["aperture"], "8");
    assert_eq!(lines[1]["frames"], serde_json::json!([]));
}

#[test]
fn parse_tells_what_stands_beside_the_settings() {
    let home = tempfile::tempdir().expect("a folder");
    let kit = home.path().join("kit.toml");
    let more = "\n[[converter]]\nname = \"2x\"\nsaid = [\"the doubler\"]\ntimes = 2\n\
        [[bellows]]\nname = \"bellows\"\n[[place]]\nname = \"Tarn Quay\"\nlat = 54.1\nlon = -9.2\n";
    std::fs::write(&kit, format!("{KIT}{more}")).expect("a kit");
    let notes = "Frame one, on the one fifty, a sixtieth at eight with flash, focused at three metres. Print this one.\n\
        Frame two, on the one fifty with the doubler, a sixtieth at eight. Give that four stars. \
        Frame three, on the one fifty, bellows drawn out to 300, down at Tarn Key.\n\
        Roll seven developed in halcyon, one to fifty, eleven minutes at twenty degrees, sleeve fourteen.\n";
    let output = run(&["parse", "--kit", kit.to_str().expect("text")], notes);
    let lines: Vec<serde_json::Value> =
        text(&output.stdout).lines().map(|l| serde_json::from_str(l).expect("an object")).collect();
    let has = |line: usize, frame: usize, name: &str, value: serde_json::Value| {
        assert_eq!(lines[line]["frames"][frame][name], value, "{name} of {}", lines[line]);
    };
    has(0, 0, "extras", "flash+print".into());
    has(0, 0, "focus_m", 3.into());
    // Twice the focal length is four times the area that the light spreads over: two stops, for either.
    has(1, 0, "extras", "2x".into());
    has(1, 0, "extra_stops", 2.into());
    has(1, 0, "focal_mm", 300.into());
    has(1, 0, "rating", 4.into());
    has(1, 1, "extras", "bellows 300 mm".into());
    has(1, 1, "extra_stops", 2.into());
    has(1, 1, "place", "Tarn Quay".into());
    // Nearly said, so in doubt.
    assert!(lines[1]["flags"].to_string().contains("unsure:place"), "{}", lines[1]);
    assert_eq!(lines[2]["frames"], serde_json::json!([]), "{}", lines[2]);
    let roll = serde_json::json!({
        "roll": "7", "developer": "halcyon", "dilution": "1+50", "time": "11 min", "temperature": "20 °C", "sleeve": "14"
    });
    assert_eq!((&lines[2]["roll"], &lines[2]["unread"]), (&roll, &serde_json::json!([])));
}

#[test]
fn wrong_usage_says_so() {
    for arguments in [
        &["parse", "--kit", "no/such.toml"][..],
        &["ingest"],
        &["archive"],
        &["man", "dance"],
        &["find", "aperture<=x"],
    ] {
        let output = run(arguments, "");
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {}", text(&output.stderr));
        assert!(!output.stderr.is_empty() && output.stdout.is_empty(), "{arguments:?}");
    }
}

#[test]
fn every_command_has_its_page_and_its_completion() {
    let help = text(&run(&["--help"], "").stdout);
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|l| *l != "Commands:")
        .skip(1)
        .take_while(|l| !l.is_empty())
        .filter_map(|l| l.strip_prefix("  ")?.split_whitespace().next().filter(|_| !l.starts_with("   ")))
        .collect();
    assert!(commands.contains(&"ingest") && commands.contains(&"find"), "{help}");
    for shell in ["bash", "zsh", "fish"] {
        let script = text(&run(&["completions", shell], "").stdout);
        for command in &commands {
            assert!(script.contains(command), "{command} is not completed in {shell}");
        }
    }
    for command in commands {
        let page = text(&run(&["man", command], "").stdout);
        assert!(page.contains(".SH NAME") && page.contains(command), "{page}");
    }
}

#[test]
fn a_trip_taken_in_can_be_asked_about() {
    let trip = Trip::new().kit(KIT).note("1.txt", NOTES).scans("R7", 2);
    let path = trip.path();
    let run_ended = trip.ingest().exits(0);
    let home = tempfile::tempdir().expect("a folder");
    let ask = |arguments: &[&str]| {
        let output = program(home.path()).args(arguments).current_dir(&path).output().expect("it starts");
        (output.status.code(), text(&output.stdout), text(&output.stderr))
    };

    let (code, said, errors) = ask(&["explain", ".", "R7", "2"]);
    assert_eq!(code, Some(0), "{errors}");
    for part in ["frame 2", "shutter: 1/30", "thirtieth", "1.txt"] {
        assert!(said.contains(part), "no '{part}' in\n{said}");
    }
    let (code, _, errors) = ask(&["explain", ".", "7", "9"]);
    assert_eq!((code, errors.contains("there are 1, 2")), (Some(3), true), "{errors}");

    let (code, found, errors) = ask(&["find", "lighthouse", "--format", "csv"]);
    assert_eq!(code, Some(0), "{errors}");
    let mut rows = csv::Reader::from_reader(found.as_bytes());
    let shutter = rows.headers().expect("names").iter().position(|h| h == "shutter").expect("a column");
    let rows: Vec<csv::StringRecord> = rows.records().map(|r| r.expect("a row")).collect();
    assert_eq!((rows.len(), &rows[0][shutter]), (1, "1/60"), "{found}");

    let (code, list, errors) = ask(&["edits", "."]);
    assert_eq!((code, list.as_str()), (Some(0), ""), "{errors}");
    let table = run_ended.out().join("rolls/7.csv");
    let changed = std::fs::read_to_string(&table).expect("a table").replace("1/60", "1/125");
    std::fs::write(&table, changed).expect("changed");
    let (_, list, errors) = ask(&["edits", "."]);
    assert!(list.contains("roll 7 frame 1: shutter '1/60' -> '1/125'"), "{list}{errors}");
    let run_again = run_ended.again().exits(0);
    run_again.row("7", "1", &[("shutter", "1/125"), ("source", "voice+edit")]);
}

#[test]
fn the_report_for_programs_is_one_object() {
    let run = Trip::new().kit(KIT).note("1.txt", NOTES).file("notes/2.m4a", "").with(&["--json"]).ingest().exits(1);
    let report: serde_json::Value = serde_json::from_str(&run.stdout()).expect("an object");
    assert_eq!(report["exit"], 1);
    assert_eq!(report["rolls"][0]["frames"], 2);
    assert_eq!(report["unusable"][0]["path"], "notes/2.m4a");
}

#[test]
fn models_are_listed_also_when_there_are_none() {
    let output = run(&["model", "list"], "");
    assert_eq!((output.status.code(), text(&output.stdout).as_str()), (Some(0), ""));
    assert!(text(&output.stderr).contains("model import"));
    let output = run(&["model", "import", "no/such/file.bin"], "");
    assert_eq!(output.status.code(), Some(3));
    assert!(text(&output.stderr).contains("no/such/file.bin"));
}
