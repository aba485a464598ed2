//! Years of rolls: the archive of all trips, as a photographer lives with it.

use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::builder::{KIT, program};

const SUMMER: &str = "Roll seven, Bellbuoy 125, in the quill, on the seventy-five, no filter.\n\
    Frame one. A sixtieth at five point six, the lighthouse, overcast.\n\
    Frame two. A thirtieth at f eight, the slipway, on a tripod.\n";
const WINTER: &str = "Roll eight, Bellbuoy 125, in the quill, on the one fifty, green filter.\n\
    Frame one. A hundred twenty-fifth at f eight, the lighthouse, full sun.\n";

/// A photographer's machine: trips, settings and archive below one folder.
pub struct Desk(TempDir);

impl Desk {
    pub fn new() -> Self {
        Self(TempDir::new().expect("a folder"))
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().canonicalize().expect("a folder").join(name)
    }

    pub fn file(&self, name: &str, bytes: impl AsRef<[u8]>) -> &Self {
        let path = self.path(name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("folders");
        fs::write(path, bytes).expect("a file");
        self
    }

    /// Two trips: summer with scans, winter without.
    pub fn with_trips() -> Self {
        let desk = Self::new();
        desk.file("film/summer/notes/1.txt", SUMMER).file("film/summer/kit.toml", KIT);
        desk.file("film/winter/notes/1.txt", WINTER).file("film/winter/kit.toml", KIT);
        fs::create_dir_all(desk.path("film/summer/scans/R7")).expect("a folder");
        for n in 1..=2 {
            let grey = image::GrayImage::from_fn(24, 24, |x, y| image::Luma([(x * 8 + y * n) as u8]));
            grey.save(desk.path(&format!("film/summer/scans/R7/{n:04}.jpg"))).expect("a scan");
        }
        desk
    }

    /// What the program answers here: its exit code, what it printed, what it said.
    pub fn ask(&self, arguments: &[&str]) -> (i32, String, String) {
        let output = program(self.0.path()).args(arguments).current_dir(self.0.path()).output().expect("it starts");
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        (output.status.code().unwrap_or(-1), text(&output.stdout), text(&output.stderr))
    }

    /// As [`Self::ask`]; fails unless it ends well.
    pub fn does(&self, arguments: &[&str]) -> String {
        let (code, printed, said) = self.ask(arguments);
        assert_eq!(code, 0, "{arguments:?}\n{printed}\n{said}");
        printed
    }

    /// How many frames a search finds.
    pub fn finds(&self, terms: &[&str]) -> usize {
        let all = [&["find", "--format", "json"], terms].concat();
        self.does(&all).lines().count()
    }
}

#[test]
fn a_life_with_the_archive() {
    let desk = Desk::with_trips();
    desk.does(&["ingest", "film/summer", "film/winter"]);
    // One archive for both, beside each trip's own.
    assert_eq!(desk.finds(&["lighthouse"]), 2);
    assert_eq!(desk.finds(&["lighthouse", "--archive", "film/winter"]), 1);
    let list = desk.does(&["archive", "list"]);
    assert!(list.contains("summer") && list.contains("winter") && list.lines().count() == 3, "{list}");
    assert!(desk.does(&["archive", "list", "--rolls"]).contains("Bellbuoy 125"));
    assert!(desk.does(&["habits"]).contains("Bellbuoy 125"));
    assert!(desk.does(&["archive", "check"]).contains("whole; 2 trips, 3 frames"));

    // Moved and renamed, it is the same trip: nothing is there twice.
    fs::create_dir(desk.path("disk")).expect("a folder");
    fs::rename(desk.path("film/summer"), desk.path("disk/the summer of the boats")).expect("moved");
    let (code, _, said) = desk.ask(&["archive", "check"]);
    assert!(code == 0 && said.contains("summer is not there"), "{said}");
    desk.does(&["ingest", "disk/the summer of the boats"]);
    assert_eq!(desk.finds(&["lighthouse"]), 2);
    let list = desk.does(&["archive", "list"]);
    assert!(list.contains("disk/the summer of the boats") && !list.contains("film/summer"), "{list}");
    assert_eq!(desk.finds(&["slipway", "--archive", "disk/the summer of the boats"]), 1);

    // Results thrown away and made again: still the same.
    fs::remove_dir_all(desk.path("film/winter/spooltalk")).expect("thrown away");
    desk.does(&["ingest", "film/winter"]);
    assert_eq!(desk.finds(&["lighthouse"]), 2);

    let said = desk.does(&["archive", "forget", "winter"]);
    assert!(said.contains("winter") && desk.path("film/winter/spooltalk/trip.html").is_file(), "{said}");
    assert_eq!(desk.finds(&["lighthouse"]), 1);
    let (code, _, said) = desk.ask(&["archive", "forget", "spring"]);
    assert!(code == 2 && said.contains("archive list"), "{said}");
}

#[test]
fn a_trip_that_cannot_be_done_does_not_stop_the_next() {
    let desk = Desk::with_trips();
    let (code, printed, said) = desk.ask(&["ingest", "film/none", "film/winter"]);
    assert!(code == 1 && printed.contains("roll 8") && said.contains("film/none"), "{printed}{said}");
    assert_eq!(desk.ask(&["ingest", "film/none", "film/nor this"]).0, 3);
    let (code, _, said) = desk.ask(&["ingest", "film/summer", "film/winter", "--out", "x"]);
    assert!(code == 2 && said.contains("--out"), "{said}");
}

#[test]
fn the_archive_can_be_moved_and_is_found_again() {
    let desk = Desk::with_trips();
    desk.file("store/settings.toml", "# mine\n");
    desk.does(&["ingest", "film/summer"]);
    fs::create_dir(desk.path("disk")).expect("a folder");
    desk.does(&["archive", "move", "disk"]);
    assert!(desk.path("disk/archive.db").is_file() && !desk.path("store/archive.db").exists());
    assert!(fs::read_to_string(desk.path("store/settings.toml")).expect("settings").contains("# mine"));
    desk.does(&["ingest", "film/winter"]);
    assert_eq!(desk.finds(&["lighthouse"]), 2);
    assert!(!desk.path("store/archive.db").exists());
    // Something is in the way: nothing is moved.
    desk.file("away.db", "mine");
    assert_eq!(desk.ask(&["archive", "move", "away.db"]).0, 2);
    assert_eq!(fs::read(desk.path("away.db")).expect("still there"), b"mine");
    assert_eq!(desk.finds(&["lighthouse"]), 2);
    // A folder of trips was moved, not the archive.
    fs::rename(desk.path("film"), desk.path("disk/film")).expect("moved");
    assert!(desk.does(&["archive", "move", "--trips", "film", "disk/film"]).starts_with("2 trips"));
    assert!(!desk.ask(&["archive", "check"]).2.contains("not there"));
    assert!(desk.ask(&["archive", "list", "--archive", "nowhere.db"]).2.contains("nowhere.db"));
}

#[test]
fn all_of_the_archive_comes_out() {
    let desk = Desk::with_trips();
    desk.does(&["ingest", "film/summer", "film/winter"]);
    let table = desk.does(&["archive", "export"]);
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let folder = reader.headers().expect("names").iter().position(|h| h == "folder").expect("a column");
    let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.expect("a row")).collect();
    assert_eq!(rows.len(), 3);
    assert!(rows.iter().all(|r| Path::new(&r[folder]).is_dir()));
    let lines = desk.does(&["archive", "export", "--format", "json"]);
    let kinds: Vec<String> = lines
        .lines()
        .map(|l| {
            serde_json::from_str::<serde_json::Value>(l).expect("an object")["kind"].as_str().expect("a kind").into()
        })
        .collect();
    assert_eq!(kinds, ["trip", "trip", "roll", "roll", "frame", "frame", "frame"]);
}
