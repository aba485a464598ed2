//! Many ways of saying the same things (`tests/phrases/variants.txt`), each read as it was meant but for the known misses.

use std::path::Path;

use serde_json::Value;
use spooltalk::kit::Kit;
use spooltalk::language::Language;
use spooltalk::roll::note;

use super::misses;

/// A frame in the notation of `variants.txt`, and the fields that are flagged.
fn shown(frame: &Value) -> (Vec<String>, Vec<String>) {
    let text = |key: &str| frame.get(key).map(|v| v.as_str().map_or_else(|| v.to_string(), str::to_owned));
    let mut parts: Vec<String> = text("frame").map(|n| format!("#{n}")).into_iter().collect();
    if text("status").as_deref() == Some("wasted") {
        parts.push("W".to_owned());
    } else {
        parts.extend(["shutter", "aperture"].map(|k| text(k).unwrap_or_else(|| "-".to_owned()).replace(' ', "_")));
    }
    for (mark, key) in [("L", "focal_mm"), ("F:", "filter"), ("c", "comp_stops")] {
        parts.extend(text(key).map(|v| format!("{mark}{}", v.replace(' ', "_"))));
    }
    let flags = frame["flags"].as_array().into_iter().flatten().filter_map(Value::as_str);
    (parts, flags.filter_map(|f| f.strip_prefix("unsure:")).map(|f| format!("?{f}")).collect())
}

fn right(wanted: &str, frame: &Value) -> bool {
    let (parts, flags) = shown(frame);
    let (doubts, values): (Vec<&str>, Vec<&str>) = wanted.split_whitespace().partition(|w| w.starts_with('?'));
    values == parts && doubts.iter().all(|d| flags.iter().any(|f| f == d))
}

#[test]
fn every_way_of_saying_it_is_read() {
    let folder = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/phrases"));
    let text = std::fs::read_to_string(folder.join("variants.txt")).unwrap();
    let mut language = None;
    let (mut read, mut wrong) = (0, Vec::new());
    for line in text.lines().filter(|l| !l.is_empty() && !l.starts_with("# ")) {
        if let Some(kit) = line.strip_prefix("@ ") {
            let kit = std::fs::read_to_string(folder.join(kit)).unwrap();
            language = Some(Language::english(Kit::parse(&kit).unwrap()));
            continue;
        }
        let (said, wanted) = line.split_once("=>").expect("a note, => and what it records");
        let got = note::read(language.as_ref().expect("a kit is named first"), said.trim(), 0.8, 1);
        let frames = got["frames"].as_array().unwrap();
        let wanted: Vec<&str> = wanted.split(';').map(str::trim).filter(|w| !w.is_empty()).collect();
        read += 1;
        if wanted.len() != frames.len() || !wanted.iter().zip(frames).all(|(w, f)| right(w, f)) {
            wrong.push((said.trim().to_owned(), format!("want {wanted:?}\n  got {frames:?}")));
        }
    }
    assert!(read > 100, "{read} notes");
    misses::check("variants", read, &wrong);
}
