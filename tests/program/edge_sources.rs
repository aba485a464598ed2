//! All that lies in or under one roll's name in `rebate/` is that roll's film edge.

use std::fs;

use crate::builder::{KIT, Run, Trip};
use crate::film_edge::strip_with_print;

fn kit() -> String {
    KIT.replace("format = \"6x6\"\n", "format = \"6x6\"\nimprint = \"{shutter} F{aperture}\"\n")
}

/// The tables that were written.
fn tables(run: &Run) -> Vec<String> {
    let names = fs::read_dir(run.out().join("rolls")).expect("rolls").flatten();
    let mut names: Vec<String> = names.map(|e| e.file_name().to_string_lossy().into_owned()).collect();
    names.retain(|n| n.ends_with(".csv"));
    names.sort();
    names
}

#[test]
fn one_picture_a_frame_is_one_roll() {
    let frames = ["1/60 F8", "1/125 F11", "1/250 F8", "1/60 F5.6"];
    let trip = frames.iter().enumerate().fold(Trip::new().kit(&kit()), |trip, (i, line)| {
        trip.picture(&format!("rebate/7/{:02}.png", i + 1), &strip_with_print(&[line]))
    });
    let run = trip.ingest().exits(0);
    assert_eq!(tables(&run), ["7.csv"]);
    // Nobody said anything: nothing comes from the voice.
    run.row("7", "1", &[("shutter", "1/60"), ("aperture", "8"), ("camera", "Quill 66"), ("source", "rebate")]).row(
        "7",
        "4",
        &[("shutter", "1/60"), ("aperture", "5.6"), ("source", "rebate")],
    );
}

#[test]
fn table_lines_and_picture_of_one_roll_are_one_and_their_conflict_is_shown() {
    let run = Trip::new()
        .kit(&kit())
        .rebate("7.tsv", "frame\tshutter\taperture\n1\t1/60\t8\n2\t1/125\t11\n3\t1/250\t8\n")
        .rebate("R07.txt", "1/60 F8\n1/125 F11\n1/500 F8\n")
        .picture("rebate/7/strip.png", &strip_with_print(&["1/60 F8", "1/125 F11"]))
        .ingest()
        .exits(0);
    assert_eq!(tables(&run), ["7.csv"]);
    let rows = run.rows("7");
    assert_eq!(rows.len(), 3);
    assert!(rows[2]["flags"].contains("conflict:shutter"), "{:#?}", rows[2]);
    run.row("7", "1", &[("shutter", "1/60"), ("flags", "")]).row("7", "2", &[("shutter", "1/125"), ("flags", "")]);
}

#[test]
fn a_bad_line_and_a_torn_picture_cost_themselves_alone() {
    Trip::new()
        .kit(&kit())
        .rebate("7.csv", "frame,shutter,aperture\n1,1/60,8\n2,\"quick,8\n3,1/250,8\n")
        .rebate("7/01.png", "no picture")
        .picture("rebate/7/02.png", &strip_with_print(&["1/60 F8", "1/125 F8", "1/250 F8", "1/500 F8"]))
        .ingest()
        .exits(1)
        .says(&["rebate/7.csv: line 3: 'quick,8' is no shutter", "; the rest was used", "rebate/7/01.png: no picture"])
        .row("7", "1", &[("shutter", "1/60")])
        .row("7", "2", &[("shutter", "1/125")])
        .row("7", "3", &[("shutter", "1/250")])
        .row("7", "4", &[("shutter", "1/500")]);
}

#[test]
fn a_line_or_file_beyond_what_a_roll_has_is_refused_by_name() {
    Trip::new()
        .kit(&kit())
        .rebate("7.txt", &format!("1/60 F8\n{}\n1/125 F8\n", "9".repeat(1 << 20)))
        .rebate("8.txt", &"1/60 F8\n".repeat(200_000))
        .rebate("9.txt", &"9".repeat(10 << 20))
        .ingest()
        .exits(1)
        .says(&["rebate/7.txt: line 2: '9999", "has 1048576 characters; at most 200 are read; the rest was used"])
        .says(&["rebate/8.txt: has 200000 lines; at most 2000", "rebate/9.txt: has 10485760 bytes; at most 4194304"])
        .row("7", "2", &[("shutter", "1/125")]);
}
