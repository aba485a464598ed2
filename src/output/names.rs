//! Names of output files that every file system takes, made from names that
//! anybody may have chosen.
//!
//! A name of plain letters, digits, spaces and `-_.+()` stands as it is.
//! Anything else is replaced, cut or shielded, and a mark made from the whole
//! original name is added, so that two names never share a file.

/// Longest stem in bytes; leaves room for an extension in the usual 255.
const LONGEST: usize = 96;
/// Length of the mark in hexadecimal digits.
const MARK: usize = 12;

/// A file stem for a name, the same on every run.
///
/// Two names give the same stem, whatever the case of letters on the disk,
/// only when they differ in case alone.
pub fn safe_stem(name: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_' | '.' | '+' | '(' | ')');
    let mut stem: String = name.chars().map(|c| if plain(c) { c } else { '_' }).collect();
    let end = (0..=LONGEST.min(stem.len())).rev().find(|&i| stem.is_char_boundary(i)).unwrap_or(0);
    stem.truncate(end);
    let inner = stem.trim_start_matches(['.', '-', ' ']).trim_end_matches(['.', ' ']);
    if inner == name && !inner.is_empty() && !reserved(inner) && folds_plainly(inner) && !looks_marked(inner) {
        return stem;
    }
    let mark = &blake3::hash(name.as_bytes()).to_hex()[..MARK];
    match inner {
        "" => format!("_{mark}"),
        device if reserved(device) => format!("_{device}_{mark}"),
        plain => format!("{plain}_{mark}"),
    }
}

/// Device names of Windows, with or without an extension.
/// Source: Microsoft, "Naming Files, Paths, and Namespaces".
fn reserved(stem: &str) -> bool {
    let base = stem.split('.').next().unwrap_or(stem).trim_end().to_ascii_uppercase();
    let numbered = |device: &str| {
        base.strip_prefix(device).is_some_and(|n| n.chars().count() == 1 && n.chars().all(|c| c.is_numeric()))
    };
    matches!(base.as_str(), "CON" | "PRN" | "AUX" | "NUL") || numbered("COM") || numbered("LPT")
}

/// Whether upper and lower case of the text go back and forth, so that a file
/// system that ignores case cannot take it for another name.
fn folds_plainly(text: &str) -> bool {
    text.to_uppercase().to_lowercase() == text.to_lowercase()
        && text.to_lowercase().to_uppercase() == text.to_uppercase()
}

/// Whether a name ends as if it carried a mark, and so could pass for another's.
fn looks_marked(stem: &str) -> bool {
    stem.rsplit_once('_').is_some_and(|(_, m)| m.len() == MARK && m.bytes().all(|b| b.is_ascii_hexdigit()))
}

#[cfg(test)]
mod tests {
    use std::collections::HashMap;

    use proptest::prelude::*;

    use super::*;

    #[test]
    fn plain_names_stand() {
        for name in ["7", "A3", "roll-07", "Harbour (two)", "Skúgvoy 1"] {
            assert_eq!(safe_stem(name), name);
        }
    }

    #[test]
    fn hostile_names_become_files() {
        let long = "x".repeat(4000);
        let names = [
            "",
            ".",
            "..",
            "../../etc/passwd",
            "a/b",
            "a\\b",
            "a\0b",
            "a\nb",
            "con",
            "NUL.txt",
            "com1",
            "-rf",
            " x",
            "x.",
            "x ",
            "<script>",
            "a:b",
            "a*b",
            "\u{202e}gpj",
            &long,
            "e\u{301}",
            "ſ",
            "s",
            "ß",
            "ss",
            "x..",
            "a|b",
            "a?b",
        ];
        let mut seen = HashMap::new();
        for name in names {
            let stem = safe_stem(name);
            assert!(!stem.is_empty() && stem.len() <= 120, "{stem}");
            assert!(!stem.starts_with(['.', '-', ' ']) && !stem.ends_with(['.', ' ']), "{stem}");
            assert!(!stem.contains(['/', '\\', ':', '\0', '\n', '<', '>', '|', '?', '*', '"']), "{stem}");
            assert!(!reserved(&stem), "{stem}");
            assert!(stem == name || safe_stem(&stem) != stem, "{name:?} can be passed for");
            let folded = stem.to_uppercase().to_lowercase();
            assert_eq!(seen.insert(folded, name), None, "{name:?} shares a file");
        }
    }

    proptest! {
        #[test]
        fn two_names_never_share_a_file(a in "\\PC{0,12}|[a-cA-C./ -]{0,4}", b in "\\PC{0,12}|[a-cA-C./ -]{0,4}") {
            let same = safe_stem(&a).to_lowercase() == safe_stem(&b).to_lowercase();
            prop_assert_eq!(same, a == b || a.to_lowercase() == b.to_lowercase() && same);
        }
    }
}
