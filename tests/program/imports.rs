//! The compiler allows import cycles inside a crate. The house does not: rooms
//! stand in order, and each uses only rooms above it.

use std::fs;
use std::path::Path;

/// The rooms, in the order of the house. A room is a folder or a file of `src/`.
const HOUSE: &[&str] = &[
    "facts", "exposure", "kit", "trip", "pictures", "audio", "speech", "language", "rebate", "scans", "roll", "output",
    "archive", "edits", "plan", "report", "pipeline", "review", "cli",
];

fn storey(room: &str) -> Option<usize> {
    HOUSE.iter().position(|r| *r == room)
}

/// Every room named after `crate::` in a source, in groups too; comments do not count.
fn rooms_used(source: &str) -> Vec<String> {
    let code: String = source.lines().map(|l| l.split("//").next().unwrap_or("")).collect::<Vec<_>>().join("\n");
    let mut used = Vec::new();
    for rest in code.split("crate::").skip(1) {
        let rest = rest.trim_start();
        match rest.strip_prefix('{') {
            None => used.push(identifier(rest)),
            Some(group) => {
                let mut depth = 0;
                let mut start = true;
                for (at, c) in group.char_indices() {
                    match c {
                        '}' if depth == 0 => break,
                        '{' => depth += 1,
                        '}' => depth -= 1,
                        ',' if depth == 0 => start = true,
                        c if start && !c.is_whitespace() => {
                            used.push(identifier(&group[at..]));
                            start = false;
                        }
                        _ => {}
                    }
                }
            }
        }
    }
    used.retain(|name| storey(name).is_some());
    used.sort();
    used.dedup();
    used
}

fn identifier(text: &str) -> String {
    text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect()
}

/// What a file of a room does that the house forbids.
fn faults(room: &str, file: &str, source: &str) -> Vec<String> {
    let Some(own) = storey(room) else {
        return vec![format!("{file}: the room '{room}' is not in the order of the house; add it to HOUSE")];
    };
    rooms_used(source)
        .into_iter()
        .filter(|used| storey(used).is_some_and(|s| s > own))
        .map(|used| format!("{file}: '{room}' uses '{used}', which stands after it"))
        .collect()
}

fn sources(dir: &Path, found: &mut Vec<std::path::PathBuf>) {
    for entry in fs::read_dir(dir).expect("src is readable") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

#[test]
fn each_room_uses_only_rooms_above_it() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    assert!(files.len() > 20, "only {} sources found", files.len());
    let mut all = Vec::new();
    for file in &files {
        let inside = file.strip_prefix(&src).expect("below src");
        let first = inside.components().next().expect("a name").as_os_str().to_string_lossy();
        let room = first.trim_end_matches(".rs");
        if ["lib", "main", "bin"].contains(&room) {
            continue;
        }
        all.extend(faults(room, &inside.display().to_string(), &fs::read_to_string(file).expect("a source is text")));
    }
    assert!(all.is_empty(), "\n{}", all.join("\n"));
}

/// The one folder that may speak to another program over a socket, of this machine alone.
const ON_LOOPBACK: &str = "review/serve";

#[test]
fn nothing_but_the_review_opens_a_socket() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    let mut speak = Vec::new();
    for file in &files {
        let source = fs::read_to_string(file).expect("a source is text");
        if ["std::net", "TcpStream", "TcpListener", "UdpSocket"].iter().any(|name| source.contains(name)) {
            speak.push(file.strip_prefix(&src).expect("below src").display().to_string());
        }
    }
    assert!(!speak.is_empty() && speak.iter().all(|f| f.starts_with(ON_LOOPBACK)), "{speak:?}");
}

#[test]
fn a_room_that_looks_down_is_found() {
    assert_eq!(faults("kit", "kit/a.rs", "use crate::exposure::Stops;\n// use crate::cli::X;"), Vec::<String>::new());
    assert_eq!(faults("kit", "kit/a.rs", "let x = crate::roll::Frame::new();").len(), 1);
    assert_eq!(faults("audio", "a.rs", "use crate::{\n    kit::{A, B},\n    cli, roll::C,\n};").len(), 2);
    assert_eq!(faults("attic", "attic/a.rs", "").len(), 1);
}
