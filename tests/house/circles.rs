//! No file uses another that uses it, by whatever way round. The order of rooms keeps rooms apart; this keeps apart the
//! files within one.

use std::collections::{BTreeMap, BTreeSet};

use crate::source::{Source, sources};

pub type Path = Vec<String>;

/// Modules by their path, with the names that each hands on (`pub use`).
pub struct House {
    modules: BTreeMap<Path, BTreeMap<String, Path>>,
}

impl House {
    /// Of all sources.
    pub fn of(all: &[Source]) -> Self {
        let handed_on = |s: &Source| {
            let uses = statements(&s.code).into_iter().filter(|u| u.public);
            let own = uses.flat_map(|u| u.paths).filter(|p| p.first().is_some_and(|f| f != "crate" && f != "super"));
            own.map(|p| (p.last().cloned().unwrap_or_default(), p.into_iter().filter(|n| n != "self").collect()))
                .collect()
        };
        Self { modules: all.iter().map(|s| (s.module(), handed_on(s))).collect() }
    }

    /// The module in which a name stands that is looked for in `from`.
    fn find(&self, from: &[String], path: &[String]) -> Path {
        let mut at = from.to_vec();
        for (i, name) in path.iter().enumerate() {
            let mut inside = at.clone();
            inside.push(name.clone());
            if self.modules.contains_key(&inside) {
                at = inside;
            } else if let Some(on) = self.modules.get(&at).and_then(|m| m.get(name)).filter(|on| **on != path[i..]) {
                return self.find(&at, on);
            } else {
                return at;
            }
        }
        at
    }

    /// The files that a file uses; a folder's `mod.rs` only hands on, and is none.
    pub fn used(&self, source: &Source) -> BTreeSet<Path> {
        let own = source.module();
        let paths = statements(&source.code).into_iter().flat_map(|u| u.paths).chain(inline(&source.code));
        let mut out = BTreeSet::new();
        for path in paths {
            let supers = path.iter().take_while(|n| *n == "super").count();
            let (base, rest): (&[String], &[String]) = match path.first().map(String::as_str) {
                Some("crate") => (&[], &path[1..]),
                Some("super") => (&own[..own.len().saturating_sub(supers)], &path[supers..]),
                _ => continue,
            };
            let found = self.find(base, rest);
            if found != own && !found.is_empty() {
                out.insert(found);
            }
        }
        out
    }
}

struct Use {
    public: bool,
    paths: Vec<Path>,
}

/// The `use` statements of a file.
fn statements(code: &str) -> Vec<Use> {
    let mut out = Vec::new();
    for (at, _) in code.match_indices("use ") {
        let line = code[..at].rsplit('\n').next().unwrap_or_default().trim();
        if !(line.is_empty() || line.starts_with("pub")) {
            continue;
        }
        let Some(end) = code[at..].find(';') else { continue };
        let mut paths = Vec::new();
        unfold(&[], &code[at + 4..at + end], &mut paths);
        out.push(Use { public: line.starts_with("pub"), paths });
    }
    out
}

/// `a::{b::C, d as e}` as `a::b::C` and `a::d`.
fn unfold(before: &[String], text: &str, out: &mut Vec<Path>) {
    let names = |t: &str| -> Path {
        let name = t.split(" as ").next().unwrap_or_default();
        before.iter().cloned().chain(name.split("::").map(|n| n.trim().to_owned()).filter(|n| !n.is_empty())).collect()
    };
    let Some(open) = text.find('{') else {
        out.push(names(text.trim()).into_iter().filter(|n| n != "*").collect());
        return;
    };
    let before = names(text[..open].trim().trim_end_matches("::"));
    let (mut depth, mut from) = (0, open + 1);
    for (i, c) in text.char_indices().skip_while(|(i, _)| *i <= open) {
        match c {
            '{' => depth += 1,
            '}' if depth > 0 => depth -= 1,
            ',' | '}' if depth == 0 => {
                if !text[from..i].trim().is_empty() {
                    unfold(&before, &text[from..i], out);
                }
                from = i + 1;
            }
            _ => {}
        }
    }
}

/// Paths that stand in the code itself: `super::marks::speed(…)`.
fn inline(code: &str) -> Vec<Path> {
    let mut out = Vec::new();
    for root in ["crate::", "super::"] {
        for (at, _) in code.match_indices(root) {
            let line = code[..at].rsplit('\n').next().unwrap_or_default();
            if code[..at].ends_with("::")
                || line.trim_start().starts_with("use ")
                || line.trim_start().starts_with("pub") && line.contains("use ")
            {
                continue;
            }
            let end =
                code[at..].find(|c: char| !c.is_alphanumeric() && c != '_' && c != ':').map_or(code.len(), |i| at + i);
            out.push(code[at..end].split("::").filter(|n| !n.is_empty()).map(str::to_owned).collect());
        }
    }
    out
}

/// Files that use one another in a circle, each circle once.
fn circles(all: &[Source]) -> Vec<String> {
    let house = House::of(all);
    let files: BTreeMap<Path, BTreeSet<Path>> =
        all.iter().filter(|s| !s.file.ends_with("mod.rs")).map(|s| (s.module(), house.used(s))).collect();
    let reach = |from: &Path| {
        let mut seen: BTreeSet<&Path> = BTreeSet::new();
        let mut open: Vec<&Path> = files[from].iter().collect();
        while let Some(next) = open.pop() {
            if let Some(more) = files.get(next).filter(|_| seen.insert(next)) {
                open.extend(more);
            }
        }
        seen
    };
    let reached: BTreeMap<&Path, BTreeSet<&Path>> = files.keys().map(|f| (f, reach(f))).collect();
    let mut found: BTreeSet<Vec<String>> = BTreeSet::new();
    for (file, seen) in &reached {
        if seen.contains(file) {
            let both = seen.iter().filter(|o| reached.get(*o).is_some_and(|back| back.contains(file)));
            found.insert(both.map(|f| f.join("/")).collect());
        }
    }
    found.into_iter().map(|f| f.join(", ")).collect()
}

#[test]
fn no_file_uses_another_in_a_circle() {
    let all = circles(&sources());
    assert!(all.is_empty(), "what both need belongs into a file of its own:\n{}", all.join("\n"));
}

#[test]
fn a_circle_is_found() {
    let files = |last: &str| {
        [
            Source::new("roll/mod.rs", "mod a;\nmod b;\nmod c;\npub use b::Bee;\n"),
            Source::new("roll/a.rs", "use super::Bee;\n"),
            Source::new("roll/b.rs", "use crate::roll::{c::See};\n"),
            Source::new("roll/c.rs", last),
        ]
    };
    assert_eq!(circles(&files("fn f() { super::a::go(); }\n")), ["roll/a, roll/b, roll/c"]);
    assert_eq!(circles(&files("use crate::facts::Flag;\n#[cfg(test)]\nmod tests { use super::a; }\n")).len(), 0);
}
