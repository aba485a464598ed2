//! Input that is ill in ways that a reader might pass over: told, each by its name, and the exit code with it.

use std::fs;
use std::path::Path;

use image::{DynamicImage, GrayImage, ImageFormat, Luma};

use crate::builder::{KIT, Run, Trip, program};

const NOTE: &str = "Roll seven, frame one. A sixtieth at five point six.";

fn good() -> Trip {
    Trip::new().kit(KIT).note("0001.txt", NOTE).scan("R7/0001.jpg")
}

/// Fails unless the good note came through, with exit code 1 and these words.
fn told(run: Run, parts: &[&str]) -> Run {
    run.exits(1).says(parts).row("7", "1", &[("shutter", "1/60"), ("aperture", "5.6")])
}

/// A picture with grain, so that its file has a middle.
fn picture(format: ImageFormat) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    let grain = GrayImage::from_fn(90, 90, |x, y| Luma([(x * 37 + y * 91 + x * y * 13) as u8]));
    DynamicImage::ImageLuma8(grain).write_to(&mut bytes, format).expect("a picture");
    bytes.into_inner()
}

#[test]
fn every_input_stands_in_the_summary_the_page_and_the_report() {
    let trip = good().note("0002.txt", "").note("0003.txt", "What a fine day it is.").with(&["--json"]);
    let unheard = ["notes/0002.txt: nothing heard", "notes/0003.txt: nothing understood"];
    let run = trip.ingest().exits(0).says(&unheard);
    let report: serde_json::Value = serde_json::from_str(&run.stdout()).expect("JSON");
    let of = |path: &str| {
        let inputs = report["inputs"].as_array().expect("a list");
        inputs.iter().find(|i| i["path"] == path).unwrap_or_else(|| panic!("{path} in {report:#}")).clone()
    };
    for (path, kind, fate, frames) in [
        ("notes/0001.txt", "text", "used", 1),
        ("notes/0002.txt", "text", "nothing-heard", 0),
        ("notes/0003.txt", "text", "nothing-understood", 0),
        ("scans/R7/0001.jpg", "scan", "used", 1),
    ] {
        let input = of(path);
        assert_eq!((&input["kind"], &input["fate"], &input["frames"]), (&kind.into(), &fate.into(), &frames.into()));
        for page in ["trip.md", "trip.html"] {
            assert!(fs::read_to_string(run.out().join(page)).expect("a page").contains(path), "{path} in {page}");
        }
    }
}

#[test]
fn a_scan_cut_anywhere_is_told() {
    for (name, format) in
        [("0002.jpg", ImageFormat::Jpeg), ("0002.png", ImageFormat::Png), ("0002.tif", ImageFormat::Tiff)]
    {
        let whole = picture(format);
        for share in [4, 2] {
            let cut = &whole[..whole.len() - whole.len() / share];
            told(good().file(&format!("scans/R7/{name}"), cut).ingest(), &[&format!("scans/R7/{name}")]);
        }
    }
}

#[test]
fn times_of_subtitles_that_make_no_sense_are_told_and_their_words_kept() {
    let srt = "1\n00:00:09,000 --> 00:00:02,000\nRoll seven, frame two. A thirtieth at eleven.\n";
    let run = told(good().note("0002.srt", srt).ingest(), &["notes/0002.srt", "1 of its times make no sense"]);
    run.row("7", "2", &[("shutter", "1/30"), ("aperture", "11")]);
}

#[test]
fn a_kit_is_told_what_it_expects_in_words() {
    let kit = KIT.replace("focal_mm = 75", "focal_mm = \"seventy-five\"");
    let run = good().kit(&kit).ingest().exits(2).says(&["kit.toml", "expected a focal length in mm"]);
    assert!(!run.stderr().contains("untagged"), "{}", run.stderr());
    let deep = format!("{KIT}\nx = {}{}\n", "[".repeat(500), "]".repeat(500));
    good().kit(&deep).ingest().exits(2).says(&["kit.toml", "brackets inside brackets"]);
}

#[test]
fn without_ffmpeg_it_is_named_for_what_needs_it() {
    let riff = |format: u16| {
        let head =
            [b"RIFF\x64\0\0\0WAVEfmt \x14\0\0\0".as_slice(), &format.to_le_bytes(), &[1, 0, 0x40, 0x1F, 0, 0]].concat();
        [head, vec![0; 200]].concat()
    };
    let speex = [b"OggS\0\x02".as_slice(), &[0; 20], &[1, 80], b"Speex   1.2", &[0; 200]].concat();
    for (name, bytes) in [
        ("0002.wav", riff(0x31)),
        ("0002.wav", riff(0x55)),
        ("0002.ogg", speex),
        ("0002.m4a", [b"#!AMR\n".as_slice(), &[0x3C; 300]].concat()),
    ] {
        let trip = good().file(&format!("notes/{name}"), bytes);
        let mut command = program(&trip.path());
        let output = command.env("PATH", "/nowhere").arg("ingest").arg(trip.path()).output().expect("it starts");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(said.contains(name) && said.contains("needs the program ffmpeg"), "{said}");
        assert_eq!(output.status.code(), Some(1));
    }
}

#[test]
fn an_unfinished_recording_is_told_as_such() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/two-tracks.m4a");
    let whole = fs::read(path).expect("a clip");
    let at = |kind: &[u8]| whole.windows(4).position(|w| w == kind).expect("a box") - 4;
    let unfinished = [&whole[..at(b"moov")], &whole[at(b"mdat")..]].concat();
    told(good().file("notes/0002.m4a", unfinished).ingest(), &["notes/0002.m4a", "was not finished", "mend"]);
}

#[test]
fn a_damaged_archive_is_set_aside_and_built_anew() {
    let run = good().ingest().exits(0);
    let (archive, damaged) = (run.out().join("archive.db"), b"scribbles ".repeat(1_000));
    fs::write(&archive, &damaged).expect("damage");
    let run = run.again().exits(0).says(&["archive.db", "was damaged", "archive.db.damaged"]);
    assert_eq!(fs::read(run.out().join("archive.db.damaged")).expect("kept"), damaged);
    let home = tempfile::tempdir().expect("a folder");
    let found =
        program(home.path()).args(["find", "--archive"]).arg(&archive).arg("frame").output().expect("it starts");
    assert!(String::from_utf8_lossy(&found.stdout).contains("1/60"), "{}", String::from_utf8_lossy(&found.stderr));
}

#[test]
fn a_refused_table_ends_with_one_also_when_quiet() {
    let run = good().with(&["-q"]).ingest().exits(0);
    fs::write(run.out().join("rolls/7.csv"), [0xFF_u8, 0xFE, 0, 0xD8, 0, 0]).expect("a table");
    told(run.again(), &["rolls/7.csv", "kept/"]);
}

#[cfg(unix)]
mod unix {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    use std::os::unix::fs::symlink;
    use std::os::unix::net::UnixListener;
    use std::process::Command;

    use super::*;

    #[test]
    fn pipes_and_sockets_are_named_and_never_waited_for() {
        let trip = good();
        let notes = trip.path().join("notes");
        assert!(Command::new("mkfifo").arg(notes.join("0002.m4a")).status().expect("mkfifo").success());
        let _socket = UnixListener::bind(notes.join("0003.txt")).expect("a socket");
        symlink("/dev/zero", notes.join("0004.wav")).expect("a link");
        told(
            trip.ingest(),
            &["notes/0002.m4a: a pipe", "notes/0003.txt: a pipe", "notes/0004.wav: a link that leads out"],
        );
    }

    #[test]
    fn a_kit_that_is_no_file_is_named() {
        let plain = || Trip::new().note("0001.txt", NOTE).scan("R7/0001.jpg");
        let folder = plain();
        fs::create_dir(folder.path().join("kit.toml")).expect("a folder");
        let dangling = plain();
        symlink("/nowhere/kit.toml", dangling.path().join("kit.toml")).expect("a link");
        for trip in [folder, dangling] {
            told(trip.ingest(), &["kit.toml: no file"]);
        }
    }

    #[test]
    fn a_name_makes_no_line_of_its_own() {
        let trip = good().file("notes/a\nERROR all is lost\u{1b}[31m.xyz", "x").scan("R7\nroll 99/0001.jpg");
        let run = told(trip.ingest(), &["a\\u{a}ERROR all is lost"]);
        let lines = run.stderr() + &run.stdout();
        assert!(!lines.lines().any(|l| l.starts_with("ERROR all") || l.starts_with("roll 99")), "{lines}");
    }

    #[test]
    fn names_that_are_no_utf_8_are_told_and_used() {
        let trip = good();
        let odd = |folder: &str, name: &[u8]| trip.path().join(folder).join(OsStr::from_bytes(name));
        fs::write(odd("notes", b"caf\xe9.txt"), "Roll seven, frame two. A thirtieth at eleven.").expect("a note");
        for name in [b"sc\xe9n 2.jpg", b"sc\xe8n 2.jpg"] {
            fs::write(odd("scans/R7", name), picture(ImageFormat::Jpeg)).expect("a scan");
        }
        let run = told(trip.ingest(), &["caf", "not in UTF-8", "rename it"]);
        let run = run.row("7", "2", &[("shutter", "1/30")]);
        let summary = fs::read_to_string(run.out().join("trip.md")).expect("a summary");
        assert!(summary.contains("caf%E9.txt") && summary.contains("sc%E8n 2.jpg"), "{summary}");
    }

    #[test]
    fn copies_that_cannot_be_written_are_told() {
        let copies = tempfile::tempdir().expect("a folder");
        let to = copies.path().to_str().expect("text");
        let big = [b"II\x2b\0\x08\0\0\0".as_slice(), &[0; 64]].concat();
        let trip = good().scan("R7/a\\b.jpg").file("scans/R7/0003.tif", big).with(&["--embed", to]);
        let run = told(trip.ingest(), &["a\\b.jpg", "rename it", "scans/R7/0003.tif"]);
        assert!(run.out().join("archive.db").is_file() && copies.path().join("R7/0001.jpg").is_file());
    }
}
