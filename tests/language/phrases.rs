//! The repository's own notes (`tests/phrases`): how many record what they should.
//!
//! A plain measure, stricter than it needs to be: every expected field must
//! stand in its frame as given, or as one of the values given; nothing is said
//! here of fields that are left open. What is missed is listed in `known-misses.txt`, see `misses`.

use std::collections::BTreeMap;
use std::path::Path;

use serde_json::Value;
use spooltalk::kit::Kit;
use spooltalk::language::Language;
use spooltalk::roll::note;

use super::misses;

fn folder() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/phrases"))
}

fn same(want: &Value, got: &Value) -> bool {
    let text = |v: &Value| match v {
        Value::String(s) => s.to_lowercase(),
        other => other.to_string(),
    };
    let number = |v: &Value| v.as_f64().or_else(|| v.as_str().and_then(|s| s.parse().ok()));
    match (number(want), number(got)) {
        (Some(a), Some(b)) => (a - b).abs() < 0.06,
        _ => text(want) == text(got),
    }
}

fn field_right(key: &str, want: &Value, got: Option<&Value>) -> bool {
    // Free words are scored by likeness elsewhere.
    if want.is_null() || matches!(key, "subject" | "place" | "light" | "support" | "filter" | "lens" | "one_of") {
        return true;
    }
    let Some(got) = got else { return false };
    match want {
        Value::Array(any) => any.iter().any(|w| same(w, got)),
        w => same(w, got),
    }
}

fn frame_right(want: &Value, got: &Value) -> bool {
    let variants = want["one_of"].as_array().cloned().unwrap_or_default();
    let all = |w: &Value| w.as_object().is_some_and(|o| o.iter().all(|(k, v)| field_right(k, v, got.get(k))));
    all(want) && (variants.is_empty() || variants.iter().any(all))
}

fn note_right(want: &Value, got: &Value) -> bool {
    let empty = Vec::new();
    let frames = want["frames"].as_array().unwrap_or(&empty);
    let made = got["frames"].as_array().unwrap_or(&empty);
    let mut left: Vec<&Value> = made.iter().collect();
    let matched = frames.iter().all(|w| match left.iter().position(|g| frame_right(w, g)) {
        Some(i) => {
            left.remove(i);
            true
        }
        None => false,
    });
    let roll = want["roll"].as_object().is_none_or(|o| o.iter().all(|(k, v)| field_right(k, v, got["roll"].get(k))));
    matched && left.is_empty() && roll
}

#[test]
fn notes_record_what_they_say() {
    let text = std::fs::read_to_string(folder().join("phrases.jsonl")).unwrap();
    let mut languages: BTreeMap<String, Language> = BTreeMap::new();
    let (mut all, mut missed) = (0, Vec::new());
    for line in text.lines().filter(|l| !l.trim().is_empty()) {
        let row: Value = serde_json::from_str(line).unwrap();
        let kit = row["kit"].as_str().unwrap().to_owned();
        let language = languages.entry(kit.clone()).or_insert_with(|| {
            let text = std::fs::read_to_string(folder().join(&kit)).unwrap();
            Language::english(Kit::parse(&text).unwrap())
        });
        let got = note::read(language, row["text"].as_str().unwrap(), 0.8, 1);
        all += 1;
        if !note_right(&row["expect"], &got) {
            missed.push((row["id"].as_str().unwrap().to_owned(), format!("{} gave {got}", row["text"])));
        }
    }
    assert!(all >= 300, "the set is there: {all} notes");
    misses::check("set", all, &missed);
}

#[test]
fn chatter_records_nothing() {
    let text = std::fs::read_to_string(folder().join("phrases.jsonl")).unwrap();
    let (mut made, mut all) = (0, 0);
    for line in text.lines().filter(|l| l.contains("\"chatter\"")) {
        let row: Value = serde_json::from_str(line).unwrap();
        let kit = std::fs::read_to_string(folder().join(row["kit"].as_str().unwrap())).unwrap();
        let language = Language::english(Kit::parse(&kit).unwrap());
        let got = note::read(&language, row["text"].as_str().unwrap(), 0.8, 1);
        all += 1;
        made += usize::from(!got["frames"].as_array().unwrap().is_empty());
    }
    assert!(all > 10 && made * 10 <= all, "{made} of {all} pieces of chatter made a frame");
}
