//! The sources of the program, as the checks read them: code alone, without comments, texts and unit tests.

use std::fs;
use std::path::{Path, PathBuf};

/// One file of `src/`.
pub struct Source {
    /// Its path below `src/`, with strokes.
    pub file: String,
    /// The file as it is.
    pub text: String,
    /// The same with comments, what stands in quotes, and unit tests as spaces: every line stays where it is.
    pub code: String,
}

impl Source {
    /// From a path below `src/` and a text.
    pub fn new(file: &str, text: &str) -> Self {
        Self { file: file.to_owned(), text: text.to_owned(), code: without_tests(&blanked(text)) }
    }

    /// The folders and the file as a path of modules; a `mod.rs` is its folder.
    pub fn module(&self) -> Vec<String> {
        let path = self.file.trim_end_matches(".rs").trim_end_matches("/mod");
        path.split('/').map(str::to_owned).collect()
    }

    /// The line, from 1, in which a byte of the code stands.
    pub fn line(&self, at: usize) -> usize {
        self.code[..at].matches('\n').count() + 1
    }
}

/// All of them but the programs' own files, in the order of their names.
pub fn sources() -> Vec<Source> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    collect(&src, &mut files);
    files.sort();
    let all: Vec<Source> = files
        .iter()
        .map(|path| {
            let file = path.strip_prefix(&src).expect("below src").to_string_lossy().replace('\\', "/");
            Source::new(&file, &fs::read_to_string(path).expect("a source is text"))
        })
        .filter(|s| !s.file.starts_with("bin/") && s.file != "main.rs" && s.file != "lib.rs")
        .collect();
    assert!(all.len() > 200, "only {} sources found", all.len());
    all
}

fn collect(dir: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(dir).expect("src is readable") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            collect(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

/// Comments, characters and texts as spaces.
pub fn blanked(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut out = bytes.to_vec();
    let mut blank = |from: usize, to: usize| {
        for b in &mut out[from..to.min(bytes.len())] {
            if *b != b'\n' {
                *b = b' ';
            }
        }
    };
    let find = |from: usize, what: &str| text.get(from..).and_then(|t| t.find(what)).map_or(bytes.len(), |i| from + i);
    let mut i = 0;
    while i < bytes.len() {
        let rest = &bytes[i..];
        let end = match rest {
            [b'/', b'/', ..] => find(i, "\n"),
            [b'/', b'*', ..] => find(i + 2, "*/") + 2,
            [b'r', b'"' | b'#', ..] if i == 0 || !is_name(bytes[i - 1]) => {
                let hashes = rest[1..].iter().take_while(|b| **b == b'#').count();
                if rest.get(1 + hashes) != Some(&b'"') {
                    i += 1;
                    continue;
                }
                find(i + hashes + 2, &format!("\"{}", "#".repeat(hashes))) + 1 + hashes
            }
            [b'"', ..] => {
                let mut k = i + 1;
                while k < bytes.len() && bytes[k] != b'"' {
                    k += if bytes[k] == b'\\' { 2 } else { 1 };
                }
                k + 1
            }
            // A character, not a lifetime.
            [b'\'', b'\\', ..] => find(i + 3, "'") + 1,
            [b'\'', ..] => {
                let wide = text[i + 1..].chars().next().map_or(1, char::len_utf8);
                if bytes.get(i + 1 + wide) != Some(&b'\'') {
                    i += 1;
                    continue;
                }
                i + 2 + wide
            }
            _ => {
                i += 1;
                continue;
            }
        };
        blank(i, end);
        i = end;
    }
    String::from_utf8(out).unwrap_or_default()
}

fn is_name(b: u8) -> bool {
    b.is_ascii_alphanumeric() || b == b'_'
}

/// The same without the modules that only tests have.
fn without_tests(code: &str) -> String {
    let mut out = code.to_owned();
    let mut from = 0;
    while let Some(at) = out[from..].find("#[cfg(test)]").map(|i| from + i) {
        let head = out[at..].find(['{', ';']).map(|i| at + i).unwrap_or(out.len());
        let end = if out[head..].starts_with('{') { closing(&out, head) } else { head + 1 };
        let blank: String = out[at..end.min(out.len())].chars().map(|c| if c == '\n' { c } else { ' ' }).collect();
        let end = end.min(out.len());
        out.replace_range(at..end, &blank);
        from = at + blank.len();
    }
    out
}

/// The byte behind the bracket that closes the one at `open`.
pub fn closing(code: &str, open: usize) -> usize {
    let mut depth = 0;
    for (i, c) in code[open..].char_indices() {
        match c {
            '{' | '(' | '[' => depth += 1,
            '}' | ')' | ']' => {
                depth -= 1;
                if depth == 0 {
                    return open + i + 1;
                }
            }
            _ => {}
        }
    }
    code.len()
}

#[test]
fn what_is_no_code_is_left_out() {
    let text = "let a = \"// no {\"; // a comment {\nlet b = 'x'; let c: &'a str = r#\"raw \" {\"#;\n";
    let code = blanked(text);
    assert_eq!(code.len(), text.len());
    assert!(!code.contains('{') && code.contains("let c: &'a str"), "{code}");
    let source = Source::new("roll/a.rs", "fn f() {}\n#[cfg(test)]\nmod tests {\n    fn g() { 1 }\n}\nfn h() {}\n");
    assert!(source.code.contains("fn h") && !source.code.contains("fn g"), "{}", source.code);
    assert_eq!(source.line(source.code.find("fn h").expect("there")), 6);
}
