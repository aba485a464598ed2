//! No function is longer than can be taken in at a look, but with a reason.

use crate::source::{Source, closing, sources};

/// Lines that a function may have.
const MOST: usize = 80;
/// A comment above a longer one says why, and begins so.
const REASON: &str = "// Long: ";

/// The functions of a file that are too long: line, name, and how long.
fn too_long(source: &Source) -> Vec<String> {
    let code = &source.code;
    let lines: Vec<&str> = source.text.lines().collect();
    let mut out = Vec::new();
    for (at, _) in code.match_indices("fn ") {
        if at > 0 && code.as_bytes()[at - 1].is_ascii_alphanumeric() {
            continue;
        }
        let name: String = code[at + 3..].chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
        let Some(open) = body(code, at).filter(|_| !name.is_empty()) else { continue };
        let (from, to) = (source.line(at), source.line(closing(code, open) - 1));
        let above = lines[..from - 1].iter().rev().take_while(|l| {
            let l = l.trim_start();
            l.starts_with("//") || l.starts_with("#[")
        });
        if to + 1 - from > MOST && !above.into_iter().any(|l| l.trim_start().starts_with(REASON)) {
            out.push(format!("{}:{from}: '{name}' has {} lines", source.file, to + 1 - from));
        }
    }
    out
}

/// Where the body of a function begins; none where there is none.
fn body(code: &str, at: usize) -> Option<usize> {
    let mut depth = 0;
    for (i, c) in code[at..].char_indices() {
        match c {
            '(' | '[' => depth += 1,
            ')' | ']' => depth -= 1,
            '{' if depth == 0 => return Some(at + i),
            ';' if depth == 0 => return None,
            _ => {}
        }
    }
    None
}

#[test]
fn a_long_function_says_why() {
    let all: Vec<String> = sources().iter().flat_map(too_long).collect();
    assert!(all.is_empty(), "parted, or with '{REASON}…' above:\n{}", all.join("\n"));
}

#[test]
fn a_long_function_is_found() {
    let long = format!("/// Does.\nfn f(a: [u8; 2]) -> u8 {{\n{}}}\n", "    g();\n".repeat(MOST));
    assert_eq!(too_long(&Source::new("a.rs", &long)).len(), 1);
    assert_eq!(too_long(&Source::new("a.rs", &long.replace("fn f", "// Long: a table.\nfn f"))).len(), 0);
    assert_eq!(too_long(&Source::new("a.rs", "fn f() {\n}\n")).len(), 0);
}
