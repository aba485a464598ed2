//! What the documents name is there.

use std::fs;
use std::path::Path;

const DOCUMENTS: [&str; 5] =
    ["README.md", "DEVELOPERS.md", "CONTRIBUTING.md", "grammar/README.md", "tests/phrases/README.md"];

fn read(file: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(file)).unwrap_or_else(|e| panic!("{file}: {e}"))
}

/// What stands between single backticks outside blocks of code.
fn quoted(text: &str) -> Vec<String> {
    let prose: String = text.split("```").step_by(2).collect();
    prose.split('`').skip(1).step_by(2).map(str::to_owned).collect()
}

/// The name by which a heading is linked to.
fn anchor(heading: &str) -> String {
    let kept = heading.trim().to_lowercase();
    kept.chars().filter(|c| c.is_alphanumeric() || " -_".contains(*c)).collect::<String>().replace(' ', "-")
}

#[test]
fn files_that_are_named_exist() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut missing = Vec::new();
    for document in DOCUMENTS {
        for name in quoted(&read(document)) {
            let path = name.split_whitespace().next().unwrap_or_default();
            let ours = ["src/", "tests/", "scripts/", "grammar/", "samples/"].iter().any(|f| path.starts_with(f));
            // What a run makes, and what stands for many.
            let made = path.contains("/spooltalk/") || path.contains("NAME");
            if ours && !made && !root.join(path).exists() {
                missing.push(format!("{document}: {path}"));
            }
        }
    }
    assert!(missing.is_empty(), "{missing:#?}");
}

#[test]
fn headings_that_are_linked_to_exist() {
    let headings: Vec<String> = read("DEVELOPERS.md")
        .lines()
        .filter(|l| l.starts_with('#'))
        .map(|l| anchor(l.trim_start_matches('#')))
        .collect();
    let contributing = read("CONTRIBUTING.md");
    let links: Vec<&str> =
        contributing.split("DEVELOPERS.md#").skip(1).filter_map(|rest| rest.split(')').next()).collect();
    assert!(links.len() > 5, "{links:?}");
    for link in links {
        assert!(headings.iter().any(|h| h == link), "no heading '{link}' in DEVELOPERS.md");
    }
}

#[test]
fn pictures_that_are_shown_exist() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for document in DOCUMENTS {
        for link in read(document).split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let file = link.split('#').next().unwrap_or_default();
            let below = root.join(document).parent().expect("a folder").join(file);
            assert!(file.is_empty() || file.starts_with("http") || below.exists(), "{document}: {link}");
        }
    }
}
