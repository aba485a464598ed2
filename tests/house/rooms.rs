//! The compiler allows import cycles inside a crate. The house does not: rooms
//! stand in order, and each uses only rooms above it.

use crate::circles::House;
use crate::source::{Source, sources};

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

#[test]
fn each_room_uses_only_rooms_above_it() {
    let all: Vec<String> = sources().iter().flat_map(|s| faults(&s.module()[0], &s.file, &s.text)).collect();
    assert!(all.is_empty(), "\n{}", all.join("\n"));
}

/// The sub-rooms of a room, and the files beside them, in the order of the room.
const INSIDE: &[(&str, &[&str])] = &[
    (
        "language",
        &[
            "text",
            "grammar",
            "mend",
            "phrases",
            "tag",
            "readings",
            "compose",
            "beside",
            "note",
            "listen",
            "developing",
            "parsed",
            "seen",
            "reach",
        ],
    ),
    ("roll", &["record", "value", "story", "film", "settle", "note"]),
];

/// What the files of a room do that its order forbids.
fn faults_inside(room: &str, order: &[&str], all: &[Source]) -> Vec<String> {
    let house = House::of(all);
    let storey = |name: &str| order.iter().position(|o| *o == name);
    let mut out = Vec::new();
    for source in all.iter().filter(|s| s.module()[0] == room && s.module().len() > 1) {
        let Some(own) = storey(&source.module()[1]) else {
            out.push(format!(
                "{}: '{}' is not in the order of '{room}'; add it to INSIDE",
                source.file,
                source.module()[1]
            ));
            continue;
        };
        for used in house.used(source).iter().filter(|u| u[0] == room && u.len() > 1) {
            if storey(&used[1]).is_some_and(|s| s > own) {
                out.push(format!("{}: uses '{}', which stands after it", source.file, used.join("/")));
            }
        }
    }
    out
}

#[test]
fn each_sub_room_uses_only_those_above_it() {
    let all = sources();
    let found: Vec<String> = INSIDE.iter().flat_map(|(room, order)| faults_inside(room, order, &all)).collect();
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

#[test]
fn a_sub_room_that_looks_down_is_found() {
    let all = [
        Source::new("roll/mod.rs", "mod record;\nmod film;\n"),
        Source::new("roll/record/row.rs", "use crate::roll::film::Slot;\n"),
        Source::new("roll/film/mod.rs", "mod slot;\npub use slot::Slot;\n"),
        Source::new("roll/film/slot.rs", "use crate::roll::record::Row;\n"),
        Source::new("roll/attic.rs", ""),
    ];
    assert_eq!(faults_inside("roll", &["record", "film"], &all).len(), 2);
}

/// The one folder that may speak to another program over a socket, of this machine alone.
const ON_LOOPBACK: &str = "review/serve";

#[test]
fn nothing_but_the_review_opens_a_socket() {
    let speaks = |s: &Source| ["std::net", "TcpStream", "TcpListener", "UdpSocket"].iter().any(|n| s.text.contains(n));
    let speak: Vec<String> = sources().into_iter().filter(speaks).map(|s| s.file).collect();
    assert!(!speak.is_empty() && speak.iter().all(|f| f.starts_with(ON_LOOPBACK)), "{speak:?}");
}

#[test]
fn a_room_that_looks_down_is_found() {
    assert_eq!(faults("kit", "kit/a.rs", "use crate::exposure::Stops;\n// use crate::cli::X;"), Vec::<String>::new());
    assert_eq!(faults("kit", "kit/a.rs", "let x = crate::roll::Frame::new();").len(), 1);
    assert_eq!(faults("audio", "a.rs", "use crate::{\n    kit::{A, B},\n    cli, roll::C,\n};").len(), 2);
    assert_eq!(faults("attic", "attic/a.rs", "").len(), 1);
}
