//! `spooltalk parse`: text in, one note a line; one JSON object a line out.

use std::fs::File;
use std::io::{self, BufRead, BufReader, BufWriter, Write, stdin, stdout};
use std::path::Path;

use serde_json::json;

use crate::cli::Exit;
use crate::cli::args::ParseArgs;
use crate::cli::failure::Failure;
use crate::cli::grammar;
use crate::cli::places::Places;
use crate::cli::print;
use crate::cli::settle;
use crate::facts::caught;
use crate::report::Report;
use crate::roll::note;

/// Confidence below which a value is flagged.
const UNSURE_BELOW: f64 = 0.8;

/// Longest line that is read as one note, in bytes; what is longer is no note, and takes memory.
const LONGEST: usize = 64 << 20;

/// Reads notes and prints what each records. Blank lines are no notes and are not counted.
pub fn parse(args: &ParseArgs) -> Result<Exit, Failure> {
    let kit = settle::kit(args.kit.as_deref(), None, &Places::usual())?;
    let language = grammar::language(args.grammar.as_deref(), kit)?;
    let from: Box<dyn BufRead> = if args.file == Path::new("-") {
        Box::new(BufReader::new(stdin().lock()))
    } else {
        Box::new(BufReader::new(File::open(&args.file).map_err(|e| Failure::at(&args.file, e))?))
    };
    let name = if args.file == Path::new("-") { Path::new("standard input") } else { &args.file };
    let mut report = Report::default();
    let written = notes(name, from, BufWriter::new(stdout().lock()), LONGEST, &mut report, |n, text| {
        if args.explain {
            note::explain(&language, text, UNSURE_BELOW, n)
        } else {
            note::read(&language, text, UNSURE_BELOW, n).to_string()
        }
    });
    for line in report.lines() {
        tracing::error!("{line}");
    }
    let ended = print::ended(written.map_err(|e| Failure::at(name, e))?)?;
    Ok(if report.is_clean() { ended } else { Exit::Partly })
}

/// Answers every note of `from` on a line of `to`, as soon as it can be. A note longer than `longest`
/// bytes, or at which the program fails, is answered with an error and reported as a line of `name`,
/// and the next is read. An error of reading stops it; one of writing is the answer.
fn notes(
    name: &Path,
    mut from: impl BufRead,
    mut to: impl Write,
    longest: usize,
    report: &mut Report,
    answer: impl Fn(usize, &str) -> String,
) -> io::Result<io::Result<()>> {
    let (mut line, mut at, mut number) = (Vec::new(), 0, 0);
    loop {
        line.clear();
        if io::Read::take(&mut from, longest as u64 + 1).read_until(b'\n', &mut line)? == 0 {
            return Ok(to.flush());
        }
        at += 1;
        let answered = if line.len() > longest && line.last() != Some(&b'\n') {
            from.skip_until(b'\n')?;
            number += 1;
            Err((format!("is longer than {longest} bytes"), "put each note on a line of its own"))
        } else {
            let text = String::from_utf8_lossy(&line);
            let text = text.trim_start_matches('\u{FEFF}').trim();
            if text.is_empty() {
                continue;
            }
            number += 1;
            caught(|| answer(number, text)).map_err(|fault| (fault.to_string(), ""))
        };
        let answer = answered.unwrap_or_else(|(why, advice)| {
            report.unusable(name, format_args!("line {at}: {why}"), advice);
            json!({"note": number, "frames": [], "roll": {}, "flags": [], "error": why}).to_string()
        });
        if let Err(gone) = writeln!(to, "{answer}") {
            return Ok(Err(gone));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answered(text: &[u8]) -> io::Result<(String, Vec<String>)> {
        let (mut out, mut report) = (Vec::new(), Report::default());
        notes(Path::new("n.txt"), text, &mut out, 20, &mut report, |n, t| {
            assert!(t != "panic", "no such note");
            format!("{n}:{t}")
        })??;
        Ok((String::from_utf8(out).unwrap(), report.lines()))
    }

    #[test]
    fn notes_are_counted_without_blank_lines() {
        let all = |text| answered(text).unwrap().0;
        assert_eq!(all(b"\xEF\xBB\xBFf8\r\n\n  \nf11"), "1:f8\n2:f11\n");
        assert_eq!(all(b""), "");
        assert_eq!(all(b"f\xff8\n"), "1:f\u{FFFD}8\n");
    }

    #[test]
    fn a_bad_line_costs_itself_alone() {
        for (bad, why) in [("panic", "no such note"), (&*"x".repeat(21), "longer than 20 bytes")] {
            let (out, told) = answered(format!("\nf8\n{bad}\nf11").as_bytes()).unwrap();
            let lines: Vec<&str> = out.lines().collect();
            assert_eq!((lines[0], lines[2]), ("1:f8", "3:f11"));
            let error: serde_json::Value = serde_json::from_str(lines[1]).unwrap();
            assert_eq!((&error["note"], &error["frames"]), (&2.into(), &json!([])));
            assert!(error["error"].as_str().unwrap().contains(why), "{error}");
            assert!(told.len() == 1 && told[0].starts_with("n.txt: line 3: "), "{told:?}");
        }
    }
}
