//! How the time to read a text grows with its length: the exponent of size, 1 where twice the text
//! takes twice the time. Bar: 1.1 for every kind of text, up to 10 MB in one line or one file.
//!
//! `cargo bench --no-default-features --bench growth [-- KIND]`

use std::process::ExitCode;
use std::time::Instant;

use spooltalk::kit::Kit;
use spooltalk::language::Language;
use spooltalk::roll::note;
use spooltalk::roll::story::Builder;
use spooltalk::speech::{TextKind, transcript};

const KIT: &str = include_str!("../phrases/kit-square.toml");
/// The most that the exponent may be: what is left for memory that no longer fits the caches.
const BAR: f64 = 1.1;
/// Bytes. The exponent is taken between the first and the last.
const SIZES: [usize; 3] = [100_000, 1_000_000, 10_000_000];

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
    let language = Language::english(Kit::parse(KIT).expect("the kit is read by a test"));
    let mut worst = 0.0_f64;
    let mut row = |name: &str, read: &dyn Fn(usize)| {
        if !only.is_empty() && !only.iter().any(|o| o == name) {
            return;
        }
        let seconds = SIZES.map(|size| {
            let begun = Instant::now();
            read(size);
            begun.elapsed().as_secs_f64()
        });
        let exponent = (seconds[2] / seconds[0]).ln() / (SIZES[2] as f64 / SIZES[0] as f64).ln();
        worst = worst.max(exponent);
        println!("{name:24} {:8.3} {:8.3} {:8.2} s   exponent {exponent:.2}", seconds[0], seconds[1], seconds[2]);
    };
    for (name, of) in LINES {
        row(name, &|size| drop(note::read(&language, &line(of, size), 0.8, 1)));
    }
    row("a file of notes", &|size| told(&language, &line("Frame #, f8 at a 60th, roll @\n", size), TextKind::Plain));
    row("cues in one breath", &|size| told(&language, &cues(size, 1.0), TextKind::Subtitles));
    row("cues with pauses", &|size| told(&language, &cues(size, 5.0), TextKind::Subtitles));
    row("brackets", &|size| told(&language, &"[a](".repeat(size / 4), TextKind::Markdown));
    row("tags", &|size| told(&language, &"<a ".repeat(size / 3), TextKind::Markdown));
    if worst > BAR { ExitCode::FAILURE } else { ExitCode::SUCCESS }
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
