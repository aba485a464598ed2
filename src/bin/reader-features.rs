//! Writes what the learned reader sees, for training: notes in, one JSON object
//! a line; tokens, word pieces, features and the values that marks can mean out.
//!
//! `reader-features VOCABULARY < notes.jsonl > features.jsonl`
//!
//! A line in is `{"kit": "path", "text": "...", "marks": [["words", "role", ...], ...]}`;
//! what else it has is handed through.

use std::collections::HashMap;
use std::io::{BufRead, Write, stdin, stdout};
use std::process::ExitCode;

use serde_json::{Value, json};
use spooltalk::kit::Kit;
use spooltalk::language::Language;
use spooltalk::language::tag::{self, Pieces};

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("reader-features: {why}");
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<(), Box<dyn std::error::Error>> {
    let vocabulary = std::env::args().nth(1).ok_or("give the file of word pieces")?;
    let pieces = Pieces::from_lines(&std::fs::read_to_string(vocabulary)?).ok_or("no table of word pieces")?;
    let mut languages: HashMap<String, Language> = HashMap::new();
    let mut out = std::io::BufWriter::new(stdout().lock());
    writeln!(out, "{}", json!({"features": tag::names()}))?;
    for line in stdin().lock().lines() {
        let mut note: Value = serde_json::from_str(&line?)?;
        let kit = note["kit"].as_str().ok_or("a line without a kit")?.to_owned();
        if !languages.contains_key(&kit) {
            let text = std::fs::read_to_string(&kit)?;
            languages.insert(kit.clone(), Language::english(Kit::parse(&text)?));
        }
        let language = &languages[&kit];
        let text = note["text"].as_str().ok_or("a line without a text")?.to_owned();
        let marks: Vec<(String, String)> = note["marks"]
            .as_array()
            .map(|a| a.iter().filter_map(|m| Some((m[0].as_str()?.to_owned(), m[1].as_str()?.to_owned()))).collect())
            .unwrap_or_default();
        let seen = language.seen(&text, &pieces, &marks);
        note["seen"] = seen;
        writeln!(out, "{note}")?;
    }
    Ok(())
}
