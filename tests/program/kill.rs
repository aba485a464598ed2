//! A run that is killed, at any point, loses nothing: what is there is whole, and
//! the next run completes with every edit and every original.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use tempfile::TempDir;

use super::builder::{KIT, program};

/// Runs that must have been killed while they were at work.
const KILLS: usize = 100;
/// Runs tried for that; one that ends before it is killed does not count.
const TRIES: usize = 500;
const FRAMES: usize = 12;
const ROLLS: [&str; 3] = ["1", "2", "3"];

struct Trip {
    home: TempDir,
    /// What the photographer wrote under `remark`, by roll and frame.
    remarks: BTreeMap<(String, String), String>,
    originals: BTreeMap<PathBuf, Vec<u8>>,
}

impl Trip {
    fn new() -> Self {
        let home = TempDir::new().unwrap();
        let trip = home.path().join("trip");
        for roll in ROLLS {
            fs::create_dir_all(trip.join(format!("scans/R0{roll}"))).unwrap();
            for n in 1..=FRAMES {
                let path = trip.join(format!("scans/R0{roll}/{n:04}.png"));
                image::GrayImage::from_pixel(8, 8, image::Luma([(n * 20) as u8])).save(path).unwrap();
            }
        }
        fs::create_dir_all(trip.join("notes")).unwrap();
        fs::write(trip.join("kit.toml"), KIT).unwrap();
        let mut made = Self { home, remarks: BTreeMap::new(), originals: BTreeMap::new() };
        made.note(0);
        made
    }

    fn path(&self) -> PathBuf {
        self.home.path().join("trip")
    }

    fn out(&self) -> PathBuf {
        self.path().join("spooltalk")
    }

    /// Says other things in every round, so that every file is written anew.
    fn note(&mut self, round: usize) {
        for roll in ROLLS {
            let stop = ["eight", "eleven", "sixteen"][round % 3];
            let lines: Vec<String> =
                (1..=FRAMES).map(|n| format!("roll {roll}, frame {n}, a sixtieth at f {stop}, boats")).collect();
            fs::write(self.path().join(format!("notes/{roll}.txt")), lines.join("\n")).unwrap();
        }
        self.originals =
            files(&self.path().join("notes")).into_iter().chain(files(&self.path().join("scans"))).collect();
    }

    /// Writes a remark into a roll's table, as by hand.
    fn remark(&mut self, round: usize) {
        let roll = ROLLS[round % ROLLS.len()];
        let frame = (round / ROLLS.len() % FRAMES + 1).to_string();
        let path = self.out().join(format!("rolls/{roll}.csv"));
        let mut reader = csv::Reader::from_path(&path).unwrap();
        let mut header: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let at = header.iter().position(|c| c == "remark").unwrap_or_else(|| {
            header.push("remark".into());
            header.len() - 1
        });
        let number = header.iter().position(|c| c == "frame").unwrap();
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(&header).unwrap();
        for record in reader.records() {
            let mut cells: Vec<String> = record.unwrap().iter().map(str::to_owned).collect();
            cells.resize(header.len(), String::new());
            if cells[number] == frame {
                cells[at] = format!("round {round}");
            }
            writer.write_record(&cells).unwrap();
        }
        fs::write(&path, writer.into_inner().unwrap()).unwrap();
        self.remarks.insert((roll.to_owned(), frame), format!("round {round}"));
    }

    fn command(&self, name: &str) -> std::process::Command {
        let mut command = program(self.home.path());
        command.arg(name).arg(self.path()).stdout(std::process::Stdio::null()).stderr(std::process::Stdio::null());
        command
    }

    /// Runs to the end, and says how long that took.
    fn completes(&self) -> Duration {
        let start = Instant::now();
        let output = self.command("ingest").stderr(std::process::Stdio::piped()).output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        start.elapsed()
    }

    /// Kills a run after `delay`; `false` when it had ended by itself.
    fn killed_after(&self, delay: Duration) -> bool {
        let mut child = self.command("ingest").spawn().unwrap();
        std::thread::sleep(delay);
        let running = child.try_wait().unwrap().is_none();
        child.kill().unwrap();
        child.wait().unwrap();
        running
    }

    /// Every file that is there under its own name can be read to its end.
    fn everything_is_whole(&self) {
        for (path, bytes) in files(&self.out()) {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if name.starts_with(".spooltalk") {
                continue;
            }
            let text = || String::from_utf8(bytes.clone()).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
            match path.extension().and_then(|e| e.to_str()) {
                Some("csv") => {
                    let rows = csv::Reader::from_reader(&bytes[..]).records().filter(|r| r.is_ok()).count();
                    assert_eq!(rows, FRAMES, "{}", path.display());
                }
                Some("jsonl") => {
                    for line in text().lines() {
                        serde_json::from_str::<serde_json::Value>(line).unwrap();
                    }
                }
                Some("json") => drop(serde_json::from_str::<serde_json::Value>(&text()).unwrap()),
                Some("html") => assert!(text().trim_end().ends_with("</html>"), "{}", path.display()),
                Some("xmp") => assert!(text().trim_end().ends_with("?>"), "{}", path.display()),
                _ => {}
            }
        }
        let archive = self.out().join("archive.db");
        if archive.exists() {
            let db = rusqlite::Connection::open(&archive).unwrap();
            let sound: String = db.query_row("PRAGMA integrity_check", [], |r| r.get(0)).unwrap();
            assert_eq!(sound, "ok");
            let tables: i64 = db.query_row("SELECT count(*) FROM sqlite_schema", [], |r| r.get(0)).unwrap();
            if tables > 0 {
                // The trip stands there whole or not at all.
                let frames: i64 = db.query_row("SELECT count(*) FROM frames", [], |r| r.get(0)).unwrap();
                assert!([0, (ROLLS.len() * FRAMES) as i64].contains(&frames), "{frames} frames");
            }
        }
    }

    fn originals_are_untouched(&self) {
        let now: BTreeMap<PathBuf, Vec<u8>> =
            files(&self.path().join("notes")).into_iter().chain(files(&self.path().join("scans"))).collect();
        assert_eq!(now, self.originals);
    }

    /// The tables and the archive hold every remark, and nothing passes for an edit that is none.
    fn every_edit_is_there(&self, round: usize) {
        let stop = ["8", "11", "16"][round % 3];
        for roll in ROLLS {
            let path = self.out().join(format!("rolls/{roll}.csv"));
            for row in csv::Reader::from_path(path).unwrap().deserialize::<BTreeMap<String, String>>() {
                let row = row.unwrap();
                let remark = self.remarks.get(&(roll.to_owned(), row["frame"].clone())).map_or("", String::as_str);
                assert_eq!(row.get("remark").map_or("", String::as_str), remark, "roll {roll}, round {round}: {row:?}");
                assert_eq!(row["aperture"], stop, "roll {roll}, round {round}: {row:?}");
            }
        }
        let db = rusqlite::Connection::open(self.out().join("archive.db")).unwrap();
        let remarks: i64 =
            db.query_row("SELECT count(*) FROM details WHERE remark LIKE 'round %'", [], |r| r.get(0)).unwrap();
        assert_eq!(remarks, self.remarks.len() as i64);
        let listed = self.command("edits").stdout(std::process::Stdio::piped()).output().unwrap();
        let listed = String::from_utf8(listed.stdout).unwrap();
        assert_eq!(listed.lines().count(), self.remarks.len(), "{listed}");
        assert!(listed.lines().all(|l| l.contains(": remark ")), "{listed}");
        let left: Vec<PathBuf> = files(&self.out())
            .into_keys()
            .filter(|p| p.extension().is_some_and(|e| e == "part" || e == "next"))
            .collect();
        assert_eq!(left, [] as [PathBuf; 0]);
    }
}

fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let all = walkdir::WalkDir::new(folder).into_iter().filter_map(Result::ok).filter(|e| e.file_type().is_file());
    all.map(|e| (e.path().to_owned(), fs::read(e.path()).unwrap())).collect()
}

#[test]
fn a_run_killed_anywhere_loses_nothing() {
    let mut trip = Trip::new();
    let mut takes = trip.completes();
    trip.every_edit_is_there(0);
    let (mut kills, mut broken_off) = (0, 0);
    for round in 1..TRIES {
        trip.note(round);
        trip.remark(round);
        let before = files(&trip.out());
        // Spread evenly over the run, without repeating (golden ratio).
        let share = (round as f64 * 0.618_033_988_749_895).fract() * 1.02;
        if trip.killed_after(takes.mul_f64(share)) {
            kills += 1;
        }
        trip.everything_is_whole();
        trip.originals_are_untouched();
        broken_off += usize::from(files(&trip.out()) != before);
        takes = (takes * 3 + trip.completes()) / 4;
        trip.originals_are_untouched();
        trip.every_edit_is_there(round);
        if kills == KILLS {
            eprintln!("{kills} runs killed at work in {round} tries, {broken_off} of them after a first write");
            return;
        }
    }
    panic!("only {kills} of {TRIES} runs could be killed while at work");
}

#[test]
fn a_second_run_on_the_same_results_says_so() {
    let trip = Trip::new();
    trip.completes();
    let lock = fs::File::options().write(true).open(trip.out().join(".spooltalk.lock")).unwrap();
    lock.lock().unwrap();
    let output = trip.command("ingest").stderr(std::process::Stdio::piped()).output().unwrap();
    assert_eq!(output.status.code(), Some(3));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("another run is writing here"), "{said}");
    drop(lock);
    trip.completes();
}
