//! What the reader is known to miss, by name: `tests/phrases/known-misses.txt`. A miss that is not
//! listed is a step back, and one that is listed and no longer missed is to be taken off the list.
//! `SPOOLTALK_LIST_MISSES=1 cargo test --test language phrases` writes it anew.

use std::collections::BTreeSet;
use std::path::PathBuf;

/// Processors round differently in the last place, and a note on the edge may fall to either side:
/// so many misses in a hundred notes may be others than those listed, and as many of those listed be read.
const ON_THE_EDGE: usize = 1;

fn list() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/phrases/known-misses.txt"))
}

/// Compares what was missed in a part of the notes with what is known to be.
pub fn check(part: &str, notes: usize, missed: &[(String, String)]) {
    let text = std::fs::read_to_string(list()).unwrap_or_default();
    let lines: BTreeSet<&str> = text.lines().collect();
    let name = |id: &str| format!("{part}: {id}");
    if std::env::var_os("SPOOLTALK_LIST_MISSES").is_some() {
        let others = lines.iter().filter(|l| !l.starts_with(&name(""))).map(|l| (*l).to_owned());
        let all: BTreeSet<String> = others.chain(missed.iter().map(|(id, _)| name(id))).collect();
        std::fs::write(list(), all.into_iter().map(|l| l + "\n").collect::<String>()).unwrap();
        return;
    }
    let new: Vec<&(String, String)> = missed.iter().filter(|(id, _)| !lines.contains(name(id).as_str())).collect();
    let most = notes * ON_THE_EDGE / 100;
    assert!(new.len() <= most, "{} misses that are not known:\n{new:#?}", new.len());
    let known = lines.iter().filter_map(|l| l.strip_prefix(&name("")));
    let read: Vec<&str> = known.filter(|id| !missed.iter().any(|(m, _)| m == id)).collect();
    assert!(read.len() <= most, "{} known misses are read rightly now: list them anew:\n{read:#?}", read.len());
}
