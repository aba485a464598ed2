//! `spooltalk parse`: text in, one note a line; one JSON object a line out.

use std::fs::{self, File};
use std::io::{self, BufRead, BufReader, BufWriter, Write, stdin, stdout};
use std::path::Path;

use crate::cli::Exit;
use crate::cli::args::ParseArgs;
use crate::cli::failure::Failure;
use crate::cli::print;
use crate::cli::settle::{self, Places};
use crate::kit::Kit;
use crate::language::{GrammarText, Language};
use crate::roll::note;

/// Confidence below which a value is flagged.
const UNSURE_BELOW: f64 = 0.8;

/// Longest line that is read as one note, in bytes; a longer one is some other kind of file.
const LONGEST: usize = 1 << 20;

/// Reads notes and prints what each records. Blank lines are no notes and are not counted.
pub fn parse(args: &ParseArgs) -> Result<Exit, Failure> {
    let kit = settle::kit(args.kit.as_deref(), None, &Places::usual())?;
    let language = match &args.grammar {
        Some(folder) => grammar_in(folder, kit)?,
        None => Language::english(kit),
    };
    let from: Box<dyn BufRead> = if args.file == Path::new("-") {
        Box::new(BufReader::new(stdin().lock()))
    } else {
        Box::new(BufReader::new(File::open(&args.file).map_err(|e| Failure::at(&args.file, e))?))
    };
    let name = if args.file == Path::new("-") { Path::new("standard input") } else { &args.file };
    notes(from, BufWriter::new(stdout().lock()), |n, text| {
        if args.explain {
            note::explain(&language, text, UNSURE_BELOW, n)
        } else {
            note::read(&language, text, UNSURE_BELOW, n).to_string()
        }
    })
    .map_err(|e| Failure::at(name, e))
    .and_then(print::ended)
}

/// The grammar of a folder, joined with the kit.
fn grammar_in(folder: &Path, kit: Kit) -> Result<Language, Failure> {
    let read = |name: &str| {
        let path = folder.join(name);
        fs::read_to_string(&path).map_err(|e| Failure::at(&path, e))
    };
    let (numbers, values, phrases) = (read("numbers.txt")?, read("values.txt")?, read("phrases.txt")?);
    let (words, sounds) = (read("words.txt")?, read("sounds.txt")?);
    let pieces = read("reader.vocab")?;
    let path = folder.join("reader.weights");
    let weights = fs::read(&path).map_err(|e| Failure::at(&path, e))?;
    let text = GrammarText {
        numbers: &numbers,
        values: &values,
        phrases: &phrases,
        words: &words,
        sounds: &sounds,
        pieces: &pieces,
        weights: &weights,
    };
    Language::from_text(&text, kit).map_err(|e| Failure::at(folder, e))
}

/// Answers every note of `from` on a line of `to`, as soon as it can be. An error of
/// reading stops it; one of writing is the answer.
fn notes(
    mut from: impl BufRead,
    mut to: impl Write,
    answer: impl Fn(usize, &str) -> String,
) -> io::Result<io::Result<()>> {
    let (mut line, mut number) = (Vec::new(), 0);
    loop {
        line.clear();
        if io::Read::take(&mut from, LONGEST as u64).read_until(b'\n', &mut line)? == 0 {
            return Ok(to.flush());
        }
        if line.len() == LONGEST {
            return Err(io::Error::other(format!("line {} is longer than a note can be", number + 1)));
        }
        let text = String::from_utf8_lossy(&line);
        let text = text.trim_start_matches('\u{FEFF}').trim();
        if text.is_empty() {
            continue;
        }
        number += 1;
        if let Err(gone) = writeln!(to, "{}", answer(number, text)) {
            return Ok(Err(gone));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answered(text: &[u8]) -> io::Result<String> {
        let mut out = Vec::new();
        notes(text, &mut out, |n, t| format!("{n}:{t}"))??;
        Ok(String::from_utf8(out).unwrap())
    }

    #[test]
    fn notes_are_counted_without_blank_lines() {
        assert_eq!(answered(b"\xEF\xBB\xBFf8\r\n\n  \nf11").unwrap(), "1:f8\n2:f11\n");
        assert_eq!(answered(b"").unwrap(), "");
        assert_eq!(answered(b"f\xff8\n").unwrap(), "1:f\u{FFFD}8\n");
    }

    #[test]
    fn an_endless_line_is_refused() {
        assert!(answered(&vec![b'x'; LONGEST + 5]).unwrap_err().to_string().contains("line 1"));
    }
}
