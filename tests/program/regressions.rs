//! Faults that were there once, each by the name of what must not happen again. A fault that is mended gets its test here,
//! unless a test of a smaller part catches it.

use std::fs;

use crate::builder::{KIT, TWO_CAMERAS, Trip};
use crate::commands::{run, text};

#[test]
fn rolls_that_nobody_named_stay_apart() {
    let run = Trip::new()
        .kit("[[camera]]\nname = \"square\"\nformat = \"6x6\"\n")
        .note("01.txt", "Frame one, 1/60 at f8. Frame two, 1/125 at f8. The roll is finished.")
        .note("02.txt", "New roll. Frame one, 1/30 at f4. Frame two, 1/15 at f11. The roll is finished.")
        .note("03.txt", "New roll. Frame one, 1/8 at f22.")
        .ingest()
        .exits(0)
        .row("unnamed", "1", &[("shutter", "1/60"), ("aperture", "8")])
        .row("unnamed-b", "1", &[("shutter", "1/30"), ("aperture", "4")])
        .row("unnamed-c", "1", &[("shutter", "1/8"), ("aperture", "22")]);
    let summary = fs::read_to_string(run.out().join("trip.md")).unwrap();
    assert!(summary.contains("called unnamed-b here: another roll is called unnamed"), "{summary}");
}

#[test]
fn scan_folders_called_alike_stay_apart() {
    Trip::new()
        .note("01.txt", "Roll 7. Frame one, 1/60 at f8.")
        .scan("7/0001.jpg")
        .scan("roll-07/0001.jpg")
        .ingest()
        .exits(0)
        .row("7", "1", &[("scan", "7/0001.jpg")])
        .row("7-b", "1", &[("scan", "roll-07/0001.jpg")]);
}

#[test]
fn a_focal_length_run_together_with_a_speed_is_read_and_the_speed_in_doubt() {
    let kit = "[[camera]]\nname = \"small\"\nformat = \"135\"\n[[lens]]\nname = \"28-70\"\nfocal_mm = [28, 70]\n";
    Trip::new()
        .kit(kit)
        .note("01.txt", "Roll 4, frame one at 35 mm, 1/125 at f16.")
        .note("02.txt", "Frame two polarizeron 50.160th f8.")
        .note("03.txt", "Frame three, 1/125 at f16.")
        .ingest()
        .row("4", "2", &[("focal_mm", "50"), ("shutter", "1/160"), ("flags", "unsure:shutter|odd:filter")])
        .row("4", "3", &[("focal_mm", "50"), ("flags", "odd:filter|carried:focal_mm|carried:filter")]);
}

#[test]
fn a_roll_told_from_its_end_is_not_the_one_before() {
    Trip::new()
        .kit(TWO_CAMERAS)
        .note("01.txt", "Roll 63 in the square one. Frame one, 1/15 at f8. Frame two, 1/60 at f8.")
        .note("02.txt", "The other body. Roll 64. Last was frame three, the bandstand, half a second at f4. Before it frame two, the gate, 1/8 at f4.")
        .ingest()
        .exits(0)
        .row("63", "2", &[("camera", "square"), ("shutter", "1/60")])
        .row("64", "3", &[("camera", "small"), ("shutter", "1/2")])
        .row("64", "2", &[("camera", "small"), ("shutter", "1/8")]);
}

#[test]
fn each_frame_keeps_its_own_line_of_the_film_edge() {
    let kit = KIT.replace("shutter_step = \"full\"", "shutter_step = \"full\"\nimprint = \"{shutter} F{aperture}\"");
    let day = "Roll seven, frame one, a sixtieth at eight, the pier.\nFrame two, a sixtieth at eleven, the boats.\n";
    // No number stands beside the lines.
    let run = Trip::new().kit(&kit).note("1.txt", day).rebate("7.txt", "1/60 F8\n1/60 F11\n").ingest().exits(0);
    let kept = fs::read_to_string(run.out().join(".state/settled.json")).unwrap();
    let kept: serde_json::Value = serde_json::from_str(&kept).unwrap();
    let frames = kept["trip"]["rolls"][0]["frames"].as_array().unwrap();
    let edges: Vec<&str> = frames.iter().filter_map(|f| f["edge"]["raw"].as_str()).collect();
    assert_eq!(edges, ["1/60 F8", "1/60 F11"]);
    let run = run.row("7", "1", &[("aperture", "8"), ("source", "voice+rebate")]);
    run.row("7", "2", &[("aperture", "11")]);
}

#[cfg(target_os = "linux")]
#[test]
fn a_name_that_is_no_text_is_told_before_anything_is_done() {
    use std::os::unix::ffi::OsStrExt as _;
    let trip = Trip::new().kit(KIT).note("1.txt", "Roll seven, frame one, a sixtieth at eight, the pier.\n");
    let odd = trip.path().join("notes").join(std::ffi::OsStr::from_bytes(b"a\xff.txt"));
    fs::write(odd, "Frame three, a sixtieth at eight.\n").unwrap();
    trip.with(&["--check"]).ingest().exits(1).says(&["its name is not in UTF-8", "rename it"]);
}

#[test]
fn what_was_taken_back_and_a_name_without_its_the_are_not_left_unread() {
    let kit = tempfile::NamedTempFile::new().expect("a file");
    fs::write(kit.path(), KIT).expect("a kit");
    let notes = "Frame five, two fiftieth at f eight, no, sorry, f eleven, no filter, gulls.\n\
        Frame six. On the one fifty, five hundredth at f eight, the ferry coming in, full sun.\n";
    let output = run(&["parse", "--kit", kit.path().to_str().expect("text")], notes);
    let said = text(&output.stdout);
    let lines: Vec<serde_json::Value> = said.lines().map(|l| serde_json::from_str(l).expect("an object")).collect();
    assert_eq!(lines[0]["frames"][0]["aperture"], "11");
    assert_eq!(lines[1]["frames"][0]["lens"], "150");
    for line in &lines {
        assert_eq!(line["unread"], serde_json::json!([]), "{line}");
    }
    assert!(said.contains("\"filter_stops\":0.0") && !said.contains("-0.0"), "{said}");
}

#[test]
fn a_line_of_any_length_is_read_and_so_is_the_next() {
    let sentence = "Frame two, a sixtieth at f eight, the slipway. ";
    for long in [sentence.repeat(3_000), "1/".repeat(64_000), "x".repeat(3 << 20), "and on ".repeat(20_000)] {
        let output = run(&["parse"], &format!("f8 at a sixtieth\n{long}\nf11 at a thirtieth\n"));
        assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
        let lines: Vec<serde_json::Value> =
            text(&output.stdout).lines().map(|l| serde_json::from_str(l).expect("an object")).collect();
        assert_eq!(lines.len(), 3);
        assert_eq!(
            (&lines[0]["frames"][0]["shutter"], &lines[2]["frames"][0]["shutter"]),
            (&"1/60".into(), &"1/30".into())
        );
        if long.starts_with("Frame") {
            assert_eq!(lines[1]["frames"][0]["shutter"], "1/60");
        }
    }
}

#[test]
fn digits_of_a_roll_said_one_by_one_are_its_name() {
    Trip::new().kit(KIT).note("01.txt", "Roll 3 3. Frame one, 1/60 at f8.").ingest().exits(0).row(
        "33",
        "1",
        &[("shutter", "1/60"), ("aperture", "8")],
    );
}

#[test]
fn a_camera_called_a_is_not_meant_by_the_article() {
    let kit = "[[camera]]\nname = \"back one\"\nsaid = [\"A\"]\nformat = \"6x7\"\n\
               [[camera]]\nname = \"pike\"\nformat = \"135\"\n";
    Trip::new()
        .kit(kit)
        .note("01.txt", "The pike, roll 51. Frame one, the gate, 1/60 at f8. A brakeman, frame two, 1/125 at f4.")
        .ingest()
        .exits(0)
        .row("51", "2", &[("camera", "pike"), ("shutter", "1/125"), ("aperture", "4")]);
}

#[test]
fn what_is_said_in_passing_of_a_finished_film_does_not_bring_it_back() {
    let kit = "[[camera]]\nname = \"dory\"\nformat = \"135\"\n[[film]]\nname = \"Skerry 400\"\niso = 400\n";
    Trip::new()
        .kit(kit)
        .note("01.txt", "Roll 44. Frame one, the scales, 1/125 at f4. Frame two, the crowd, 1/60 at f4.")
        .note("02.txt", "Roll 45 goes in now. And roll 44 was at 1600. Frame one, the dressing room, 1/30 at f2.")
        .ingest()
        .exits(0)
        .row("44", "1", &[("shutter", "1/125"), ("ei", "1600")])
        .row("45", "1", &[("shutter", "1/30"), ("aperture", "2")]);
}

#[test]
fn a_part_of_a_second_heard_as_a_count_is_still_a_part() {
    Trip::new().kit(KIT).note("01.txt", "Roll 7. Frame one, 125 of a second at f8.").ingest().exits(0).row(
        "7",
        "1",
        &[("shutter", "1/125"), ("aperture", "8")],
    );
}
