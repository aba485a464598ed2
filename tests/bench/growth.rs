//! How the time to read a text grows with its length: the exponent of size, 1 where twice the text
//! takes twice the time. Bar: 1.1 for every kind of text, up to 10 MB in one line or one file.
//!
//! The learned reader's net takes most of the time and sees at most a few hundred word pieces at once. All else is
//! measured to 10 MB with a reader a thousandth of its size; reading with the learned one, and the whole job on a trip
//! of up to 40 rolls of 36 frames with scans and a film edge typed off, as far as an hour allows.
//!
//! `cargo bench --no-default-features --bench growth [-- KIND]`; MOST in the environment asks for fewer bytes than 10 MB.

#[path = "small_reader.rs"]
mod small_reader;

use std::fs;
use std::path::Path;
use std::process::{Command, ExitCode, Stdio};
use std::time::Instant;

use spooltalk::kit::Kit;
use spooltalk::language::Language;
use spooltalk::roll::note;
use spooltalk::roll::story::Builder;
use spooltalk::speech::{TextKind, transcript};

const KIT: &str = include_str!("../phrases/kit-square.toml");
/// The most that the exponent may be: what is left for memory that no longer fits the caches.
const BAR: f64 = 1.1;
/// Bytes of the longest text. The exponent is taken between a hundredth of it and the whole.
const MOST: usize = 10_000_000;
/// Bytes for the learned reader.
const LEARNED: [usize; 3] = [6_000, 24_000, 96_000];
/// Rolls of a trip.
const ROLLS: [usize; 3] = [10, 20, 40];

/// A kind of text, and what it is made of again and again; `#` stands for a frame's number, `@` for a roll's.
const LINES: [(&str, &str); 9] = [
    ("rolls", "Roll @. Frame #, a sixtieth at f eleven, the old crane. "),
    ("one frame", "Frame seven, a sixtieth at f eleven, the old crane. "),
    ("frames without numbers", "A sixtieth at f eleven. "),
    ("talk", "we went to the harbour with my brother and looked at all the boats "),
    ("strokes", "1/"),
    ("numbers", "five six "),
    ("commas", "8, "),
    ("one word", "x"),
    ("signs", "é— "),
];

fn main() -> ExitCode {
    let only: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with('-')).collect();
    let kit = || Kit::parse(KIT).expect("the kit is read by a test");
    let language = small_reader::language(kit());
    let learned = Language::english(kit());
    let most = std::env::var("MOST").ok().and_then(|t| t.parse().ok()).unwrap_or(MOST);
    let sizes = [most / 100, most / 10, most];
    let mut worst = 0.0_f64;
    let mut row = |name: &str, sizes: [usize; 3], read: &dyn Fn(usize)| {
        if !only.is_empty() && !only.iter().any(|o| o == name) {
            return;
        }
        let seconds = sizes.map(|size| {
            let begun = Instant::now();
            read(size);
            begun.elapsed().as_secs_f64()
        });
        let exponent = (seconds[2] / seconds[0]).ln() / (sizes[2] as f64 / sizes[0] as f64).ln();
        worst = worst.max(exponent);
        println!("{name:32} {:8.3} {:8.3} {:8.2} s   exponent {exponent:.2}", seconds[0], seconds[1], seconds[2]);
    };
    for (name, of) in LINES {
        row(name, sizes, &|size| drop(note::read(&language, &line(of, size), 0.8, 1)));
        row(&format!("a trip: {name}"), sizes, &|size| told(&language, &line(of, size), TextKind::Plain));
    }
    let notes = "Frame #, f8 at a 60th, roll @\n";
    row("a file of notes", sizes, &|size| told(&language, &line(notes, size), TextKind::Plain));
    row("cues in one breath", sizes, &|size| told(&language, &cues(size, 1.0), TextKind::Subtitles));
    row("cues with pauses", sizes, &|size| told(&language, &cues(size, 5.0), TextKind::Subtitles));
    row("brackets", sizes, &|size| told(&language, &"[a](".repeat(size / 4), TextKind::Markdown));
    row("tags", sizes, &|size| told(&language, &"<a ".repeat(size / 3), TextKind::Markdown));
    for (name, of) in [("learned: strokes", "1/11/"), ("learned: slipways", "slipway f8 "), ("learned: notes", notes)] {
        row(name, LEARNED, &|size| told(&learned, &line(of, size), TextKind::Plain));
    }
    row("ingest", ROLLS, &ingested);
    if worst > BAR { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

/// The whole job on a trip of so many rolls of 36 frames, each with a scan and a typed film edge.
fn ingested(rolls: usize) {
    let trip = tempfile::tempdir().expect("a folder");
    write_trip(trip.path(), rolls);
    let done = Command::new(env!("CARGO_BIN_EXE_spooltalk"))
        .args(["ingest", "-q", "--archive"])
        .arg(trip.path().join("archive.db"))
        .arg(trip.path())
        .env("XDG_CONFIG_HOME", trip.path())
        .stdout(Stdio::null())
        .status()
        .expect("it starts");
    assert_eq!(done.code(), Some(0), "a sound trip");
}

fn write_trip(trip: &Path, rolls: usize) {
    let kit = KIT.replacen("frames = 12", "frames = 36", 1);
    fs::write(trip.join("kit.toml"), kit).expect("a kit");
    for folder in ["notes", "rebate"] {
        fs::create_dir_all(trip.join(folder)).expect("a folder");
    }
    let scan = image::GrayImage::from_fn(60, 60, |x, y| image::Luma([(x * 4 + y) as u8]));
    for roll in 1..=rolls {
        let scans = trip.join(format!("scans/{roll}"));
        fs::create_dir_all(&scans).expect("a folder");
        let (mut notes, mut edge) = (format!("Roll {roll}.\n"), "frame,shutter,aperture\n".to_owned());
        for frame in 1..=36 {
            notes += &format!("Frame {frame}, a sixtieth at f eight, the old crane.\n");
            edge += &format!("{frame},1/60,8\n");
            scan.save(scans.join(format!("{frame:04}.jpg"))).expect("a scan");
        }
        fs::write(trip.join(format!("notes/{roll:03}.txt")), notes).expect("notes");
        fs::write(trip.join(format!("rebate/{roll}.csv")), edge).expect("an edge");
    }
}

fn line(of: &str, size: usize) -> String {
    let mut text = String::with_capacity(size + of.len());
    let mut n = 0;
    while text.len() < size {
        text += &of.replace('#', &(n % 36 + 1).to_string()).replace('@', &(n / 36 + 1).to_string());
        n += 1;
    }
    text
}

/// Subtitles of so many bytes, a cue of one second every `apart` seconds.
fn cues(size: usize, apart: f64) -> String {
    let clock = |s: f64| format!("{:02}:{:02}:{:06.3}", s as u64 / 3600, s as u64 / 60 % 60, s % 60.0);
    let mut text = String::from("WEBVTT\n\n");
    let mut n = 0;
    while text.len() < size {
        let start = f64::from(n) * apart;
        let (from, to, frame) = (clock(start), clock(start + 1.0), n % 36 + 1);
        text += &format!("{from} --> {to}\nroll {}, frame {frame}, f8 at a 60th,\n\n", n / 36 + 1);
        n += 1;
    }
    text
}

fn told(language: &Language, text: &str, kind: TextKind) {
    let heard = transcript(text.as_bytes(), kind).expect("a text");
    let mut builder = Builder::new(language, 0.8);
    builder.add("note.txt", &heard);
    drop(builder.finish());
}
