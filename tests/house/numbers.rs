//! A number that weighs something has a name, and beside it stands where it comes from.

use crate::source::{Source, closing, sources};

/// Where values are weighed.
const ROOMS: [&str; 2] = ["language/", "roll/"];

/// Numbers between 0 and 1 in the code of a file that are no constants.
fn unnamed(source: &Source) -> Vec<String> {
    let code = without_constants(&source.code);
    let bytes = code.as_bytes();
    let mut out = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        if !bytes[at].is_ascii_digit() {
            at += 1;
            continue;
        }
        let end = at + code[at..].find(|c: char| !c.is_ascii_alphanumeric() && !".-_".contains(c)).unwrap_or(0);
        let part_of_name = at > 0 && (bytes[at - 1].is_ascii_alphanumeric() || b"_.".contains(&bytes[at - 1]));
        let number = literal(&code[at..end.max(at + 1)]);
        if let Some(value) = number.parse::<f64>().ok().filter(|v| !part_of_name && *v > 0.0 && *v < 1.0) {
            out.push(format!("{}:{}: {value}", source.file, source.line(at)));
        }
        at += number.len().max(1);
    }
    out
}

/// The number that a stretch begins with, without its type.
fn literal(text: &str) -> String {
    let mut out = String::new();
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '0'..='9' => out.push(c),
            '_' if chars.peek().is_some_and(char::is_ascii_digit) => {}
            '.' if !out.contains('.') && chars.peek().is_some_and(char::is_ascii_digit) => out.push(c),
            'e' if !out.contains('e') && chars.peek().is_some_and(|c| c.is_ascii_digit() || *c == '-') => out.push(c),
            '-' if out.ends_with('e') => out.push(c),
            _ => break,
        }
    }
    out
}

/// The code with its constants as spaces.
fn without_constants(code: &str) -> String {
    let mut out = code.to_owned();
    for word in ["const ", "static "] {
        let mut from = 0;
        while let Some(at) = out[from..].find(word).map(|i| from + i) {
            from = at + word.len();
            let named = out[from..].starts_with(|c: char| c.is_ascii_uppercase());
            if !named || at > 0 && out.as_bytes()[at - 1].is_ascii_alphanumeric() {
                continue;
            }
            let mut end = from;
            while end < out.len() && !out[end..].starts_with(';') {
                end = if out[end..].starts_with(['(', '[', '{']) { closing(&out, end) } else { end + 1 };
                while !out.is_char_boundary(end) {
                    end += 1;
                }
            }
            let blank: String = out[at..end].chars().map(|c| if c == '\n' { c } else { ' ' }).collect();
            out.replace_range(at..end, &blank);
        }
    }
    out
}

#[test]
fn a_number_that_weighs_has_a_name() {
    let weighs = |s: &Source| ROOMS.iter().any(|r| s.file.starts_with(r)) && !s.file.ends_with("tests.rs");
    let all: Vec<String> = sources().iter().filter(|s| weighs(s)).flat_map(unnamed).collect();
    assert!(all.is_empty(), "name these, and say where they come from:\n{}", all.join("\n"));
}

#[test]
fn a_number_without_a_name_is_found() {
    let of = |text: &str| unnamed(&Source::new("roll/a.rs", text)).len();
    assert_eq!(of("let a = 0.5 * b.0 + c[1].1;\nf(1.5, 0.25_f64, 1e-9);\n"), 3);
    assert_eq!(of("/// Half.\nconst A: [(i32, f64); 2] = [(0, 0.5), (1, 0.25)];\nlet b = 2.0 * A[0].1;\n"), 0);
    assert_eq!(of("let a = \"0.5\"; // 0.5\nlet m = 1_000; let r = 0..=5; let v = x0.5;\n"), 0);
}
