//! Bad input: named with what to do, and never the end of the trip.

use std::fs;
use std::path::{Path, PathBuf};

use crate::builder::{KIT, Trip, program};

const NOTE: &str = "Roll seven, frame one. A sixtieth at five point six.";

/// A sound clip of the samples, whole.
fn clip() -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/harbour/notes/roll 12/20250913_085841.m4a");
    fs::read(path).expect("a sample clip")
}

/// A trip with one good text note and a scan, which must come through whatever else is wrong.
fn good() -> Trip {
    Trip::new().kit(KIT).note("0001.txt", NOTE).scan("R7/0001.jpg")
}

/// Fails unless the good note came through and the bad file is named.
fn comes_through(trip: Trip, bad: &str, why: &[&str]) {
    let expected = [("shutter", "1/60"), ("aperture", "5.6"), ("scan", "R7/0001.jpg")];
    trip.ingest().exits(1).says(&[bad]).says(why).row("7", "1", &expected);
}

#[test]
fn an_empty_clip() {
    comes_through(good().file("notes/0002.m4a", ""), "notes/0002.m4a", &["empty", "copy it from the phone again"]);
}

#[test]
fn a_text_that_calls_itself_a_clip() {
    comes_through(good().file("notes/0002.m4a", "Dear diary, today"), "notes/0002.m4a", &["no recording"]);
}

#[test]
fn a_clip_cut_short_before_its_sound() {
    let head = &clip()[..40];
    comes_through(good().file("notes/0002.m4a", head), "notes/0002.m4a", &[]);
}

#[test]
fn an_empty_text_records_nothing() {
    good().note("0002.txt", "").ingest().row("7", "1", &[("shutter", "1/60")]);
}

#[test]
fn a_picture_that_calls_itself_a_text() {
    let trip = good();
    let picture = fs::read(trip.path().join("scans/R7/0001.jpg")).expect("the scan");
    comes_through(trip.file("notes/0002.txt", picture), "notes/0002.txt", &["another kind of file"]);
}

#[test]
fn an_empty_scan() {
    comes_through(good().file("scans/R7/0002.jpg", ""), "scans/R7/0002.jpg", &["no whole picture", "copy it again"]);
}

#[test]
fn a_rebate_table_of_nonsense() {
    comes_through(good().rebate("7.csv", "moon,cheese\nfull,\"blue"), "rebate/7.csv", &[]);
}

#[test]
fn a_clip_with_no_model_to_hear_it() {
    let sound = clip();
    // Beside something readable the rest goes on.
    comes_through(good().file("notes/0002.m4a", &sound), "notes/0002.m4a", &["model"]);
    // Alone, nothing can be done.
    let run = Trip::new().file("notes/0001.m4a", &sound).ingest().exits(3).says(&["model import"]);
    assert!(!run.out().join("rolls").exists());
}

#[test]
fn a_trip_without_anything() {
    Trip::new().ingest().exits(3).says(&["notes/"]);
    Trip::new().kit(KIT).file("notes/.hidden", "x").ingest().exits(3).says(&["nothing to do"]);
}

#[test]
fn a_folder_of_a_trip_names_the_trip() {
    let trip = good();
    let home = tempfile::tempdir().expect("a folder");
    let ask = |folder: &Path| {
        let output = program(home.path()).arg("ingest").arg(folder).output().expect("it starts");
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    for folder in ["notes", "scans", "scans/R7"] {
        let (code, said) = ask(&trip.path().join(folder));
        let above = format!("give the folder above it, {}", trip.path().display());
        assert!(code == Some(3) && said.ends_with(&format!("{above}\n")), "{said}");
        assert!(!trip.path().join(folder).join("spooltalk").exists());
    }
    let loose = trip.file("loose/b.m4a", "x").file("loose/a.m4a", "x");
    let (code, said) = ask(&loose.path().join("loose"));
    assert!(code == Some(3) && said.contains("a.m4a lies loose") && said.contains("notes/"), "{said}");
}

#[test]
fn scans_alone_say_what_is_missing_and_leave_nothing_behind() {
    let run = Trip::new().kit(KIT).scans("R7", 3).ingest().exits(3);
    let run = run.says(&["only scans", "notes/", "rebate/", "Nothing was written"]);
    assert!(!run.out().exists());
}

#[test]
fn a_file_that_is_no_model_is_called_what_it_is() {
    let trip = good();
    let home = tempfile::tempdir().expect("a folder");
    let ask = |arguments: &[&str]| {
        let output = program(home.path()).args(arguments).output().expect("it starts");
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    let scan = trip.path().join("scans/R7/0001.jpg");
    let scan = scan.to_str().expect("text");
    let (code, said) = ask(&["model", "import", scan]);
    assert!(code == Some(3) && said.contains("a JPEG picture") && said.contains("ggml Whisper file"), "{said}");
    let root = trip.path();
    let (code, said) = ask(&["ingest", root.to_str().expect("text"), "--model", scan]);
    assert!(code == Some(2) && said.contains("a JPEG picture"), "{said}");
    let others: [(&[u8], &str); 6] = [
        (b"", "an empty file"),
        (b"GGUF\x03\0\0\0\0\0\0\0\0\0\0\0", "a GGUF file"),
        (b"<!DOCTYPE html><html>", "a web page"),
        (b"version https://git-lfs", "Git LFS"),
        (b"\0\0\0\x18ftypM4A ", "a sound or film file"),
        (b"\x10\0\0\0\0\0\0\0{\"a\":1}", "a safetensors file"),
    ];
    for (bytes, kind) in others {
        let file = home.path().join("model");
        fs::write(&file, bytes).expect("a file");
        let (code, said) = ask(&["model", "import", file.to_str().expect("text")]);
        assert!(code == Some(3) && said.contains(kind), "{kind}: {said}");
    }
    // No model at all: where one goes, and what is taken.
    let (_, said) = ask(&["model", "list"]);
    let store = home.path().join("store/models");
    for part in [store.to_str().expect("text"), "ggml Whisper file", "NAME.bin", "model import", "CTranslate2"] {
        assert!(said.contains(part), "no '{part}' in {said}");
    }
}

#[test]
fn a_trip_that_is_not_there() {
    let home = tempfile::tempdir().expect("a folder");
    let output = program(home.path()).args(["ingest", "no/such/trip"]).output().expect("it starts");
    assert_eq!(output.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&output.stderr).contains("no/such/trip"));
}

#[test]
fn a_kit_that_cannot_be_read_is_wrong_usage() {
    Trip::new().kit("[[camera]]\nname = ").note("0001.txt", NOTE).ingest().exits(2).says(&["kit.toml", "line 2"]);
}

#[test]
fn whatever_gear_is_called_a_kit_is_read() {
    let lens = |name: &str| format!("{KIT}\n[[lens]]\nname = \"{name}\"\nfocal_mm = 240\n");
    for name in ["Lantern f 240", "F210", "Bosun f 210", "Fisherman\u{2019}s", "tab\\tbed", "sea\\u0000gull"] {
        good().kit(&lens(name)).ingest().exits(0).row("7", "1", &[("shutter", "1/60")]);
    }
    // What is odd and can be used is told with its line.
    good().kit(&lens("sea\\u0000gull")).ingest().exits(0).says(&["kit.toml: line 37: ", "U+0000"]);
    good().kit(&lens("150")).ingest().exits(0).says(&["kit.toml: line 37: ", "line 18", "a name of its own"]);
}

#[test]
fn what_of_a_kit_cannot_be_used_is_named_with_its_line() {
    let refused = |kit: &str, line: &str| drop(good().kit(kit).ingest().exits(2).says(&["kit.toml: ", line]));
    refused(&KIT.replace("\"150\"", "\" \""), "line 17: a lens with a blank name");
    refused("[photographer]\n\nframe_counts_from = 65535\n", "line 3: frame_counts_from is 65535: expected");
    refused("[photographer]\nframe_counts_from = -1\n", "line 2: frame_counts_from is -1: expected");
    refused("[settle]\nunsure_below = 80\n", "line 2: unsure_below is 80: expected 0 to 1");
    let imprint = KIT.replace("format = \"6x6\"\n", "format = \"6x6\"\nimprint = \"{shuter} F{aperture}\"\n");
    good().kit(&imprint).ingest().exits(0).says(&["kit.toml: line 6: ", "'Quill 66'", "no field 'shuter'"]);
}

#[test]
fn an_output_folder_that_is_a_file() {
    let run = good().file("spooltalk", "here first").ingest().exits(3).says(&["spooltalk", "--out"]);
    assert_eq!(fs::read_to_string(run.out()).expect("still a file"), "here first");
}

#[test]
fn an_output_folder_among_the_originals() {
    let trip = good();
    let inside = trip.path().join("scans/out");
    let inside = inside.to_str().expect("text");
    let run = trip.with(&["--out", inside]).ingest().exits(2).says(&["scans", "choose another place"]);
    assert!(!run.out().exists());
}

/// A folder or file that cannot be opened. Permissions do not bind the superuser, a link to nowhere does.
#[cfg(unix)]
#[test]
fn what_cannot_be_opened_is_named() {
    use std::os::unix::fs::{PermissionsExt, symlink};

    let trip = good().note("locked/0001.txt", "frame two");
    symlink("/nowhere/at/all.m4a", trip.path().join("notes/0002.m4a")).expect("a link");
    let locked = trip.path().join("notes/locked");
    fs::set_permissions(&locked, fs::Permissions::from_mode(0o0)).expect("locked");
    let binds = fs::read_dir(&locked).is_err();
    let run = trip.ingest();
    fs::set_permissions(&locked, fs::Permissions::from_mode(0o700)).expect("open again");
    let run = run.exits(1).says(&["notes/0002.m4a"]).row("7", "1", &[("shutter", "1/60")]);
    if binds {
        run.says(&["notes/locked"]);
    }
}

/// No room: files may not grow past a few kilobytes, as on a full disk.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_nothing_half_written() {
    let trip = good().scans("R7", 12);
    let out = trip.path().join("spooltalk");
    let home = tempfile::tempdir().expect("a folder");
    let mut with_limit = std::process::Command::new("sh");
    // The signal is ignored so that the write itself fails, as it does on a full disk.
    with_limit.args(["-c", "trap '' XFSZ; ulimit -f 1; exec \"$0\" ingest \"$1\""]);
    with_limit.arg(env!("CARGO_BIN_EXE_spooltalk")).arg(trip.path());
    let output = with_limit.env("HOME", home.path()).env("SPOOLTALK_HOME", home.path()).output().expect("it starts");
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(3), "{said}");
    assert!(said.contains("cannot be written"), "{said}");
    for path in files_below(&out) {
        assert!(path.extension().is_none_or(|e| e != "part"), "{} was left", path.display());
        if path.extension().is_some_and(|e| ["csv", "html", "md", "xmp"].iter().any(|x| e == *x)) {
            let text = fs::read_to_string(&path).expect("a whole text");
            assert!(text.ends_with(['\n', '>']), "{} is cut off", path.display());
        }
    }
    // With room again, the same trip comes out whole.
    trip.ingest().exits(0).row("7", "1", &[("shutter", "1/60")]);
}

/// Every file below a folder; none when it is not there.
fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() { found.extend(files_below(&path)) } else { found.push(path) }
    }
    found
}
