//! The film's edge as it comes: scans that show the maker's code, strips with the camera's print.

use std::process::Output;

use image::GrayImage;

use crate::builder::{KIT, Trip, program};
use crate::film_edge::{half_frame_with_code, scan_with_code, strip_with_print};

/// A 35 mm camera, and two films whose edge codes are known.
const SMALL_KIT: &str = "[[camera]]\nname = \"small\"\nsaid = [\"the small one\"]\nformat = \"135\"\n\
    [[film]]\nname = \"Sallow 100\"\nsaid = [\"sallow\"]\niso = 100\nedge_code = \"115-4\"\n\
    [[film]]\nname = \"Bellbuoy 125\"\nsaid = [\"bell buoy\"]\niso = 125\nedge_code = \"36-2\"\n";

/// Scans whose names stand in another order than their frames, and tell no number.
const SCANS: [(&str, u32); 4] = [("mast", 7), ("bollard", 8), ("gangway", 9), ("anchor", 11)];

fn coded(film: &str) -> Trip {
    let notes = format!(
        "Roll seven, {film}, in the small one. Frame seven, 1/60 at f8. Frame eight, 1/125 at f8.\n\
         Frame nine, 1/250 at f8. Frame ten, 1/30 at f8. Frame eleven, 1/15 at f8.\n"
    );
    let trip = Trip::new().kit(SMALL_KIT).note("1.txt", &notes);
    SCANS.iter().fold(trip, |trip, (name, frame)| {
        trip.picture(&format!("scans/R7/{name}.png"), &scan_with_code("115-4", *frame))
    })
}

#[test]
fn scans_find_their_frames_by_the_code_on_the_edge() {
    let run = coded("sallow").ingest().exits(0);
    let shutters =
        [("7", "mast", "1/60"), ("8", "bollard", "1/125"), ("9", "gangway", "1/250"), ("11", "anchor", "1/15")];
    for row in run.rows("7") {
        assert!(!row["flags"].contains("guess:scan") && !row["flags"].contains("conflict"), "{row:#?}");
    }
    shutters
        .into_iter()
        .fold(run, |run, (frame, name, shutter)| {
            run.row("7", frame, &[("scan", &format!("R7/{name}.png")), ("shutter", shutter), ("status", "ok")])
        })
        .row("7", "10", &[("scan", ""), ("shutter", "1/30"), ("status", "unscanned")]);
}

#[test]
fn half_frames_find_theirs_by_number_and_half() {
    // 12 is the 23rd picture of a half-frame camera, 12A the 24th.
    let trip = Trip::new().kit(&SMALL_KIT.replace("\"135\"", "\"135-half\"")).note(
        "1.txt",
        "Roll seven, in the small one. Frame 23, 1/60 at f8. Frame 24, 1/125 at f8. Frame 25, 1/250 at f8.",
    );
    [("mast", "12"), ("anchor", "12A"), ("bollard", "13")]
        .into_iter()
        .fold(trip, |trip, (name, code)| {
            trip.picture(&format!("scans/R7/{name}.png"), &half_frame_with_code("115-4", code))
        })
        .ingest()
        .exits(0)
        .row("7", "23", &[("scan", "R7/mast.png"), ("shutter", "1/60")])
        .row("7", "24", &[("scan", "R7/anchor.png"), ("shutter", "1/125")])
        .row("7", "25", &[("scan", "R7/bollard.png"), ("shutter", "1/250")]);
}

#[test]
fn another_film_on_the_edge_than_noted_is_flagged() {
    let run = coded("bell buoy").ingest().exits(0);
    let rows = run.rows("7");
    assert_eq!(rows.len(), 5);
    for row in rows {
        assert!(row["flags"].contains("conflict:film"), "{row:#?}");
        assert_eq!(row["film"], "Bellbuoy 125");
    }
}

fn printing_kit() -> String {
    KIT.replace("format = \"6x6\"\n", "format = \"6x6\"\nimprint = \"{shutter} F{aperture}\"\n")
}

#[test]
fn a_picture_of_the_print_fills_in_and_contradicts() {
    Trip::new()
        .kit(&printing_kit())
        .note(
            "1.txt",
            "Roll seven, in the quill. Frame one, 1/60 at f8. Frame two, the net loft. Frame three, 1/60 at f8.",
        )
        .scans("R7", 3)
        .picture("rebate/R7/strip 1.png", &strip_with_print(&["1/60 F8", "1/125 F11", "1/250 F8"]))
        .ingest()
        .exits(0)
        .row("7", "1", &[("shutter", "1/60"), ("aperture", "8"), ("source", "voice+rebate"), ("flags", "")])
        .row("7", "2", &[("shutter", "1/125"), ("aperture", "11"), ("subject", "net loft"), ("flags", "")])
        .row("7", "3", &[("shutter", "1/250"), ("aperture", "8"), ("flags", "conflict:shutter")]);
}

/// `rebate read` on these pictures, in a folder with a kit.
fn read(pictures: &[(&str, Option<&GrayImage>)]) -> Output {
    let home = tempfile::tempdir().expect("a folder");
    std::fs::write(home.path().join("kit.toml"), printing_kit()).expect("a kit");
    let mut command = program(home.path());
    command.current_dir(home.path()).args(["rebate", "read", "--kit", "kit.toml"]);
    for (name, picture) in pictures {
        match picture {
            Some(picture) => picture.save(home.path().join(name)).expect("a picture"),
            None => std::fs::write(home.path().join(name), "no picture").expect("a file"),
        }
        command.arg(name);
    }
    command.output().expect("the program starts")
}

#[test]
fn pictures_are_read_and_a_bad_one_is_named() {
    let (strip, code) = (strip_with_print(&["1/60 F5.6", "1/125 F11"]), scan_with_code("115-4", 12));
    let output = read(&[("strip.png", Some(&strip)), ("torn.png", None), ("frame.png", Some(&code))]);
    let (said, errors) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert_eq!(output.status.code(), Some(1), "{said}{errors}");
    assert!(errors.contains("torn.png: ") && !errors.contains("strip.png"), "{errors}");
    let objects: Vec<serde_json::Value> = said.lines().map(|l| serde_json::from_str(l).expect("an object")).collect();
    let settings: Vec<_> = objects
        .iter()
        .filter(|o| o["file"] == "strip.png")
        .map(|o| (o["shutter"]["value"].as_str(), o["aperture"]["value"].as_str(), o["line"].as_str()))
        .collect();
    assert_eq!(
        settings,
        [(Some("1/60"), Some("5.6"), Some("1/60 F5.6")), (Some("1/125"), Some("11"), Some("1/125 F11"))],
        "{said}"
    );
    let codes: Vec<_> = objects
        .iter()
        .filter(|o| o["file"] == "frame.png")
        .map(|o| (o["edge"].as_str(), o["frame"].as_str()))
        .collect();
    assert_eq!(codes, [(Some("115-4/12"), Some("12")), (Some("115-4/12A"), Some("12A"))], "{said}");

    let output = read(&[("torn.png", None)]);
    assert_eq!((output.status.code(), output.stdout.is_empty()), (Some(3), true));
}
