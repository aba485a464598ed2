//! How many short notes a core reads in a second. Bar: 20,000.
//!
//! The notes are the repository's own set, so that every kind of note is among them.

use divan::counter::ItemsCount;
use spooltalk::kit::Kit;
use spooltalk::language::Language;
use spooltalk::roll::note;

const KIT: &str = include_str!("../phrases/kit-square.toml");
const NOTES: &str = include_str!("../phrases/phrases.jsonl");

fn main() {
    divan::main();
}

fn notes() -> Vec<String> {
    NOTES
        .lines()
        .filter_map(|l| serde_json::from_str::<serde_json::Value>(l).ok())
        .filter(|v| v["kit"] == "kit-square.toml")
        .filter_map(|v| v["text"].as_str().map(str::to_owned))
        .collect()
}

/// One note after another, as `parse` reads them.
#[divan::bench]
fn read(bencher: divan::Bencher<'_, '_>) {
    let language = Language::english(Kit::parse(KIT).expect("the kit is read by a test"));
    let notes = notes();
    bencher.counter(ItemsCount::new(notes.len())).bench(|| {
        for text in &notes {
            divan::black_box(note::read(&language, text, 0.8, 1));
        }
    });
}

/// A text ten and a hundred times as long takes ten and a hundred times as long.
#[divan::bench(args = [1, 10, 100])]
fn length(bencher: divan::Bencher<'_, '_>, times: usize) {
    let language = Language::english(Kit::parse(KIT).expect("the kit is read by a test"));
    let text = "Frame seven, a sixtieth at f eleven, the old crane. ".repeat(times);
    bencher.counter(ItemsCount::new(times)).bench(|| divan::black_box(language.told(&text)));
}
