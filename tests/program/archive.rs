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
        fs::create_dir_all(desk.path("film/summer/scans/7")).expect("a folder");
        for n in 1..=2 {
            let grey = image::GrayImage::from_fn(24, 24, |x, y| image::Luma([(x * 8 + y * n) as u8]));
            grey.save(desk.path(&format!("film/summer/scans/7/{n:04}.jpg"))).expect("a scan");
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

#[test]
fn how_rolls_were_developed_is_kept_found_and_exported() {
    let desk = Desk::with_trips();
    let summer = "[[roll]]\nname = \"7\"\ndeveloper = \"Halcyon\"\ndilution = \"1+50\"\nsleeve = 14\n";
    desk.file("film/summer/roll.toml", summer);
    desk.does(&["ingest", "film/summer", "film/winter"]);
    let table = desk.does(&["find", "developer:halcyon"]);
    assert!(table.ends_with("2 frames\n") && table.contains("Halcyon"), "{table}");
    assert_eq!((desk.finds(&["sleeve:14"]), desk.finds(&["--", "-has:developer"])), (2, 1));
    let rolls = desk.does(&["archive", "list", "--rolls", "developer:halcyon"]);
    let [_, roll] = rolls.lines().collect::<Vec<_>>()[..] else { panic!("one roll in {rolls}") };
    assert!(roll.starts_with("summer") && roll.ends_with("Halcyon    14"), "{rolls}");
    assert_eq!(desk.does(&["archive", "list", "--rolls"]).lines().count(), 3);
    let (code, _, said) = desk.ask(&["archive", "list", "--rolls", "develper:x"]);
    assert!(code == 2 && said.contains("developer"), "{said}");
    let lines = desk.does(&["archive", "export", "--format", "json"]);
    assert!(lines.contains(r#""developed":{"developer":"Halcyon","dilution":"1+50","sleeve":"14"}"#), "{lines}");
    let table = desk.does(&["archive", "export"]);
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let at = reader.headers().expect("names").iter().position(|h| h == "developer").expect("a column");
    let told = reader.records().filter(|r| &r.as_ref().expect("a row")[at] == "Halcyon").count();
    assert_eq!(told, 2);
}

#[test]
fn a_search_is_shown_sorted_counted_and_kept() {
    let desk = Desk::with_trips();
    desk.does(&["ingest", "film/summer", "film/winter"]);
    let table = desk.does(&["find", "bellbuoy"]);
    let lines: Vec<&str> = table.lines().collect();
    for column in ["trip", "film", "lens", "subject", "scan"] {
        assert!(lines[0].split_whitespace().any(|c| c == column), "no {column} in {}", lines[0]);
    }
    // A column that says nothing is not there.
    assert!(!lines[0].contains("rating"), "{table}");
    assert_eq!(lines[4], "3 frames");
    let scan = desk.path("film/summer/scans/7/0001.jpg");
    assert!(table.contains(scan.to_str().expect("text")), "{table}");

    let first = |arguments: &[&str]| {
        let all = [&["find", "bellbuoy", "--format", "csv", "-n", "1"], arguments].concat();
        let table = desk.does(&all);
        let mut reader = csv::Reader::from_reader(table.as_bytes());
        let at = reader.headers().expect("names").iter().position(|h| h == "shutter").expect("a column");
        reader.records().next().expect("a row").expect("a row")[at].to_owned()
    };
    assert_eq!(first(&["--sort", "shutter"]), "1/125");
    assert_eq!(first(&["--sort", "-shutter"]), "1/30");
    let (code, _, said) = desk.ask(&["find", "bellbuoy", "--sort", "moon"]);
    assert!(code == 2 && said.contains("aperture"), "{said}");
    assert!(desk.does(&["find", "bellbuoy", "-n", "2"]).ends_with("2 of 3 frames\n"));

    desk.does(&["find", "light:overcast", "aperture<8", "--save", "grey"]);
    assert_eq!(desk.finds(&["@grey"]), 1);
    assert_eq!(desk.finds(&["@grey", "slipway"]), 0);
    assert_eq!(desk.does(&["find", "--saved"]), "@grey  light:overcast aperture<8\n");
    desk.does(&["find", "--unsave", "grey"]);
    let (code, _, said) = desk.ask(&["find", "@grey"]);
    assert!(code == 2 && said.contains("--saved"), "{said}");
}

#[cfg(target_os = "linux")]
#[test]
fn pages_open_in_the_browser_and_lead_to_what_they_show() {
    use std::os::unix::fs::PermissionsExt;

    let desk = Desk::with_trips();
    // Texts have no time; what was spoken has.
    let cue = "WEBVTT\n\n00:00:30.000 --> 00:00:34.000\nRoll nine, frame one, a fifteenth at f eight.\n";
    desk.file("film/summer/notes/20250913_194500.vtt", cue);
    desk.does(&["ingest", "film/summer"]);
    // The desktop's opener, which writes down what it was asked to open.
    let (opener, asked) = (desk.path("bin/xdg-open"), desk.path("asked"));
    desk.file("bin/xdg-open", format!("#!/bin/sh\nprintf %s \"$1\" > '{}'\n", asked.display()));
    fs::set_permissions(&opener, fs::Permissions::from_mode(0o755)).expect("runs");
    let open = |arguments: &[&str]| {
        let mut command = program(desk.0.path());
        command.env("PATH", format!("{}:/usr/bin:/bin", opener.parent().expect("a folder").display()));
        let output = command.args(arguments).current_dir(desk.0.path()).output().expect("it starts");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let page = fs::read_to_string(&asked).expect("something was opened");
        fs::read_to_string(page).expect("a page")
    };
    let page = open(&["find", "lighthouse", "--open"]);
    let address = |path: &str| format!("href=\"file://{}", desk.path(path).display());
    for there in [
        "film/summer/spooltalk/rolls/7.html\"",
        "film/summer/spooltalk/rolls/7.html#frame-1\"",
        "film/summer/scans/7/0001.jpg\"",
        "film/summer/notes/1.txt\"",
    ] {
        assert!(page.contains(&address(there)), "no {there} in {page}");
    }
    let years = open(&["archive", "overview", "--open"]);
    assert!(years.contains("Bellbuoy 125") && years.contains(">2025<") && years.contains("Roll 9, summer"), "{years}");
}

#[test]
fn ratings_and_edge_prints_show_in_habits() {
    let desk = Desk::with_trips();
    desk.file("film/summer/rebate/7.csv", "frame,shutter,aperture\n1,1/60,5.6\n2,1/15,8\n");
    desk.does(&["ingest", "film/summer"]);
    let table = desk.path("film/summer/spooltalk/rolls/7.csv");
    let text = fs::read_to_string(&table).expect("a table");
    let mut rows: Vec<String> = text.lines().map(str::to_owned).collect();
    rows[0] += ",rating";
    rows[1] += ",5";
    rows[2] += ",";
    fs::write(&table, rows.join("\n")).expect("rated");
    desk.does(&["ingest", "film/summer"]);
    assert_eq!(desk.finds(&["rating>=4"]), 1);
    let habits = desk.does(&["habits"]);
    let block = |head: &str| habits.lines().skip_while(|l| !l.starts_with(head)).nth(1).unwrap_or_default().to_owned();
    // One frame agrees with the edge; on the other the edge has a stop more than was said.
    let accuracy: Vec<String> = block("shutter, said against edge").split_whitespace().map(str::to_owned).collect();
    assert_eq!(accuracy, ["Quill", "66", "2", "1", "+1.0", "+1.0", "+1.0"], "{habits}");
    assert!(block("what worked").contains("overcast"), "{habits}");
    assert!(habits.lines().any(|l| l.starts_with("year")), "{habits}");
}

#[test]
fn what_arrives_from_the_phone_is_taken_in_without_a_word() {
    let desk = Desk::new();
    let (code, _, said) = desk.ask(&["ingest"]);
    assert!(code == 2 && said.contains("[phone]") && said.contains("settings.toml"), "{said}");
    let settings = |trip: &str| {
        let text = format!("[phone]\nfolder = \"~/sync\"\ntrip = \"~/film/{trip}\"\n");
        desk.file("store/settings.toml", text);
    };
    settings("spring");
    desk.file("sync/1.txt", "Roll seven, frame one, a sixtieth at f eight, the lighthouse.");
    let printed = desk.does(&["ingest"]);
    assert!(printed.contains("roll 7: 1 frame,"), "{printed}");
    assert!(desk.ask(&["ingest"]).2.contains("nothing new"));
    desk.file("sync/2.txt", "Roll seven, frame two, a thirtieth at f eight, the slipway.");
    assert!(desk.does(&["ingest"]).contains("roll 7: 2 frames"));

    // A new trip begins: what is new is its own, and the old one keeps what it had.
    settings("summer");
    desk.file("sync/day/3.txt", "Roll eight, frame one, a fifteenth at f eight, the net loft.");
    let printed = desk.does(&["ingest"]);
    assert!(printed.contains("roll 8: 1 frame,") && !printed.contains("roll 7"), "{printed}");
    assert!(desk.does(&["ingest", "film/spring"]).contains("roll 7: 2 frames"));
    assert_eq!(desk.finds(&["lighthouse"]), 1);
    // The phone's folder holds what it held, and nothing else.
    let mut there: Vec<String> = fs::read_dir(desk.path("sync"))
        .expect("a folder")
        .flatten()
        .map(|e| e.file_name().to_string_lossy().into_owned())
        .collect();
    there.sort();
    assert_eq!(there, ["1.txt", "2.txt", "day"]);
    // Misspelt settings are named with their line.
    desk.file("store/settings.toml", "[phone]\nfolder = \"~/sync\"\ntrips = \"x\"\n");
    let (code, _, said) = desk.ask(&["ingest"]);
    assert!(code == 2 && said.contains("settings.toml: line "), "{said}");
}
