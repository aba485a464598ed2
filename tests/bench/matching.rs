//! How long it takes to match a roll, and a drawer full of scans.
//! Bars: 36 notes with 36 scans under 5 ms; 10,000 scans under 2 s.

use spooltalk::facts::{FrameNumber, RollName};
use spooltalk::kit::Kit;
use spooltalk::roll::{Frame, MatchSettings, NotedFrame, NotedRoll, Roll, Status, match_roll};
use spooltalk::scans::{Scan, ScanFolder, names_say};

fn main() {
    divan::main();
}

fn notes(frames: u16) -> NotedRoll {
    // Every tenth frame was not noted.
    let noted = (1..=frames).filter(|n| n % 10 != 0).map(|n| NotedFrame {
        frame: Frame::blank(FrameNumber::new(n), Status::Ok),
        said_numbers: vec![(FrameNumber::new(n), 1.0)],
        lost_before: false,
    });
    NotedRoll {
        name: RollName::new("1").ok(),
        camera: Some("little".to_owned()),
        frames: noted.collect(),
        ..NotedRoll::default()
    }
}

fn folder(frames: u16) -> ScanFolder {
    let roll = RollName::new("1").expect("a name");
    // Every thirteenth was not scanned.
    let files: Vec<String> = (1..=frames).filter(|n| n % 13 != 0).map(|n| format!("{n:05}.tif")).collect();
    let names: Vec<&str> = files.iter().map(String::as_str).collect();
    let said = names_say(&names, &roll, frames, false, &[]);
    let scan = |(s, path): (spooltalk::scans::NameSays, &String)| Scan {
        path: path.clone(),
        kind: s.kind,
        number: s.number,
        picture: s.picture,
        scanned: None,
        is_blank: false,
        film_code: None,
    };
    let scans = said.into_iter().zip(&files).map(scan).collect();
    ScanFolder { roll, scans }
}

fn matched(noted: &NotedRoll, folder: &ScanFolder, kit: &Kit) -> Roll {
    let settings = MatchSettings { unsure_below: 0.8 };
    match_roll(Some(noted.clone()), Some(folder), None, kit, &|_| None, &settings).expect("nothing is lost")
}

fn kit(frames: u16) -> Kit {
    Kit::parse(&format!("[[camera]]\nname = \"little\"\nformat = \"135\"\nframes = {frames}\n")).expect("a kit")
}

#[divan::bench]
fn a_roll_of_36(bencher: divan::Bencher) {
    let (noted, folder, kit) = (notes(40), folder(39), kit(36));
    bencher.bench(|| matched(&noted, &folder, &kit));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn ten_thousand_scans_in_rolls_of_36(bencher: divan::Bencher) {
    let (noted, folder, kit) = (notes(40), folder(39), kit(36));
    bencher.bench(|| (0..278).map(|_| matched(&noted, &folder, &kit).frames.len()).sum::<usize>());
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn ten_thousand_scans_in_one_folder(bencher: divan::Bencher) {
    let (noted, folder, kit) = (notes(10_833), folder(10_833), kit(999));
    bencher.bench(|| matched(&noted, &folder, &kit));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn ten_thousand_names(bencher: divan::Bencher) {
    bencher.bench(|| folder(10_833));
}
