//! Any text: read without a panic, every token inside the text.
//! Run with `cargo fuzz run --fuzz-dir tests/fuzz parse`.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use spooltalk::kit::Kit;
use spooltalk::language::Language;
use spooltalk::roll::note;

static LANGUAGE: LazyLock<Language> = LazyLock::new(|| {
    Language::english(Kit::parse(include_str!("../../phrases/kit-zooms.toml")).expect("the kit is read by a test"))
});

fuzz_target!(|text: &str| {
    for token in LANGUAGE.told(text).tokens {
        assert!(text.get(token.span).is_some());
    }
    let _ = note::read(&LANGUAGE, text, 0.8, 1);
});
