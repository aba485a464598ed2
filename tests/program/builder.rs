//! A trip in a temporary folder, built file by file, and what the program makes of it.

use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use image::{GrayImage, Luma};
use spooltalk::facts::RollName;
use tempfile::TempDir;

/// Two cameras and nothing else.
pub const TWO_CAMERAS: &str = "[[camera]]\nname = \"square\"\nsaid = [\"the square one\"]\nformat = \"6x6\"\n\
                           [[camera]]\nname = \"small\"\nsaid = [\"the small one\"]\nformat = \"135\"\n";

/// A kit to test with: one 6x6 camera on full steps, two lenses, a film, a filter.
pub const KIT: &str = r#"
[[camera]]
name = "Quill 66"
said = ["the quill"]
format = "6x6"
shutters = ["1s", "1/500"]
shutter_step = "full"

[[lens]]
name = "75"
said = ["the seventy-five"]
focal_mm = 75
widest = 3.5
smallest = 22
cameras = ["Quill 66"]

[[lens]]
name = "150"
said = ["the one fifty"]
focal_mm = 150
widest = 4
smallest = 32
cameras = ["Quill 66"]

[[film]]
name = "Bellbuoy 125"
said = ["bell buoy"]
iso = 125
ei = 100

[[filter]]
name = "green"
said = ["the green", "green filter"]
factor = 4
"#;

/// A trip folder that is gone when the test ends.
pub struct Trip {
    home: TempDir,
    arguments: Vec<String>,
}

impl Trip {
    /// An empty trip, with no model in reach.
    pub fn new() -> Self {
        let home = TempDir::new().expect("a temporary folder");
        fs::create_dir(home.path().join("trip")).expect("a trip folder");
        Self { home, arguments: Vec::new() }
    }

    /// The trip's folder.
    pub fn path(&self) -> PathBuf {
        self.home.path().join("trip")
    }

    /// The user's own folder.
    pub fn home(&self) -> PathBuf {
        self.home.path().to_owned()
    }

    /// A file anywhere in the trip.
    pub fn file(self, path: &str, bytes: impl AsRef<[u8]>) -> Self {
        let path = self.path().join(path);
        fs::create_dir_all(path.parent().expect("a folder")).expect("folders");
        fs::write(path, bytes).expect("a file");
        self
    }

    /// A note under `notes/`: text as typed.
    pub fn note(self, name: &str, text: &str) -> Self {
        self.file(&format!("notes/{name}"), text)
    }

    /// A picture anywhere in the trip, in the format its name asks for.
    pub fn picture(self, path: &str, picture: &GrayImage) -> Self {
        let path = self.path().join(path);
        fs::create_dir_all(path.parent().expect("a folder")).expect("folders");
        picture.save(path).expect("a picture");
        self
    }

    /// A small grey picture under `scans/`.
    pub fn scan(self, name: &str) -> Self {
        self.picture(&format!("scans/{name}"), &GrayImage::from_fn(24, 24, |x, y| Luma([(x * 8 + y) as u8])))
    }

    /// Scans of a roll, numbered from 1: `R07/0001.jpg` …
    pub fn scans(mut self, folder: &str, count: u32) -> Self {
        for n in 1..=count {
            self = self.scan(&format!("{folder}/{n:04}.jpg"));
        }
        self
    }

    /// Edge data under `rebate/`.
    pub fn rebate(self, name: &str, text: &str) -> Self {
        self.file(&format!("rebate/{name}"), text)
    }

    /// The photographer's kit.
    pub fn kit(self, text: &str) -> Self {
        self.file("kit.toml", text)
    }

    /// More arguments for `ingest`.
    pub fn with(mut self, arguments: &[&str]) -> Self {
        self.arguments.extend(arguments.iter().map(ToString::to_string));
        self
    }

    /// Runs `spooltalk ingest` on the trip.
    pub fn ingest(self) -> Run {
        let mut command = program(self.home.path());
        command.arg("ingest").arg(self.path()).args(&self.arguments);
        let output = command.output().expect("the program starts");
        Run { trip: self, output }
    }
}

/// The program, with its store, caches and settings in `home` and nothing else in reach.
pub fn program(home: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_spooltalk"));
    command.env_clear().env("PATH", std::env::var_os("PATH").unwrap_or_default()).env("HOME", home);
    command.env("SPOOLTALK_HOME", home.join("store")).env("NO_COLOR", "1");
    for (variable, folder) in [("XDG_DATA_HOME", "data"), ("XDG_CACHE_HOME", "cache"), ("XDG_CONFIG_HOME", "config")] {
        command.env(variable, home.join(folder));
    }
    command
}

/// A run that has ended. Every check returns it for the next.
pub struct Run {
    trip: Trip,
    output: Output,
}

impl Run {
    /// What it said on the error stream.
    pub fn stderr(&self) -> String {
        String::from_utf8_lossy(&self.output.stderr).into_owned()
    }

    /// What it said on the output stream.
    pub fn stdout(&self) -> String {
        String::from_utf8_lossy(&self.output.stdout).into_owned()
    }

    /// Runs it once more on the same trip.
    pub fn again(self) -> Self {
        self.trip.ingest()
    }

    /// The program with a command on this trip.
    pub fn command(&self, name: &str) -> Command {
        let mut command = program(self.trip.home.path());
        command.arg(name).arg(self.trip.path());
        command
    }

    /// The trip's folder.
    pub fn path(&self) -> PathBuf {
        self.trip.path()
    }

    /// The user's own folder.
    pub fn home(&self) -> PathBuf {
        self.trip.home()
    }

    /// A cell of a roll's table; empty where there is no such column.
    pub fn cell(&self, roll: &str, frame: &str, column: &str) -> String {
        let rows = self.rows(roll);
        let row = rows.iter().find(|r| r["frame"] == frame).unwrap_or_else(|| panic!("no frame {frame}: {rows:#?}"));
        row.get(column).cloned().unwrap_or_default()
    }

    /// The output folder.
    pub fn out(&self) -> PathBuf {
        let given = self.trip.arguments.iter().skip_while(|a| *a != "--out").nth(1);
        given.map_or_else(|| self.trip.path().join("spooltalk"), PathBuf::from)
    }

    /// Fails unless the program ended with this code.
    pub fn exits(self, code: i32) -> Self {
        assert_eq!(self.output.status.code(), Some(code), "{}\n{}", self.stdout(), self.stderr());
        self
    }

    /// Fails unless each of these stands on the error stream.
    pub fn says(self, parts: &[&str]) -> Self {
        let said = self.stderr();
        for part in parts {
            assert!(said.contains(part), "expected '{part}' in:\n{said}");
        }
        self
    }

    /// The rows of a roll's table, however its name is dressed (`7`, `R07`).
    pub fn rows(&self, roll: &str) -> Vec<HashMap<String, String>> {
        let wanted = RollName::new(roll).expect("a roll name");
        let named = |path: &Path| path.file_stem().and_then(|s| RollName::new(&s.to_string_lossy()).ok());
        let files = fs::read_dir(self.out().join("rolls")).into_iter().flatten().flatten().map(|e| e.path());
        let table =
            files.filter(|p| p.extension().is_some_and(|e| e == "csv")).find(|p| named(p) == Some(wanted.clone()));
        let table = table.unwrap_or_else(|| panic!("no table of roll {roll}\n{}", self.stderr()));
        let text = fs::read_to_string(table).expect("a table");
        csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.expect("a row of CSV")).collect()
    }

    /// Fails unless the roll has this frame with these values.
    pub fn row(self, roll: &str, frame: &str, expected: &[(&str, &str)]) -> Self {
        let rows = self.rows(roll);
        let row = rows.iter().find(|r| r["frame"] == frame);
        let row = row.unwrap_or_else(|| panic!("no frame {frame} on roll {roll}: {rows:#?}"));
        for (field, value) in expected {
            assert_eq!(row[*field], *value, "{field} of frame {frame} on roll {roll}: {row:#?}");
        }
        self
    }
}
