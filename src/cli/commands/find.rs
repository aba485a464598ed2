//! `spooltalk find`: words and conditions in, frames out.

use std::path::Path;

use serde_json::to_string;

use crate::archive::{Archive, Found, Query, found_html};
use crate::cli::Exit;
use crate::cli::args::{FindArgs, FindFormat};
use crate::cli::failure::Failure;
use crate::cli::{print, settle};
use crate::output::csv::shielded;
use crate::scans::Thumbnail;

/// Prints the frames of the archive that meet every term, newest first.
pub fn find(args: &FindArgs) -> Result<Exit, Failure> {
    let query = Query::from_args(&args.terms).map_err(Failure::usage)?;
    let path = settle::archive(args.archive.as_deref())?;
    let page = Archive::open(&path).and_then(|a| a.find(&query, args.limit)).map_err(|e| Failure::at(&path, e))?;
    let text = match args.format {
        FindFormat::Html => found_html(&args.terms.join(" "), &page, thumbnail),
        FindFormat::Table => table(&page.frames).into_bytes(),
        FindFormat::Csv => csv(&page.frames).map_err(Failure::nothing)?.into_bytes(),
        FindFormat::Json => page
            .frames
            .iter()
            .map(|f| to_string(f).map(|line| line + "\n"))
            .collect::<Result<String, _>>()
            .map_err(Failure::nothing)?
            .into_bytes(),
    };
    print::bytes(&text)?;
    if page.frames.is_empty() {
        tracing::warn!("no frame meets all of that");
    } else if page.more {
        tracing::warn!("there are more: raise --limit ({} now), or ask for more", args.limit);
    }
    Ok(Exit::Done)
}

/// Longer edge of a thumbnail in pixels.
const EDGE: u32 = 440;

fn thumbnail(scan: &Path) -> Result<Thumbnail, String> {
    let bytes = std::fs::read(scan).map_err(|e| format!("cannot be read: {e}"))?;
    Thumbnail::of(&bytes, EDGE).map_err(|e| e.to_string())
}

/// Columns of the table for people.
const SHOWN: [&str; 11] =
    ["trip", "roll", "frame", "taken", "shutter", "aperture", "focal_mm", "filter", "light", "flags", "said"];
/// Widest cell of the table, in characters.
const WIDEST: usize = 36;

fn table(frames: &[Found]) -> String {
    let mut rows = vec![SHOWN.map(str::to_owned).to_vec()];
    for frame in frames {
        let cells = frame.cells();
        let cell = |name: &str| cells.iter().find(|(n, _)| *n == name).map_or(String::new(), |(_, text)| cut(text));
        rows.push(SHOWN.map(cell).to_vec());
    }
    if frames.is_empty() {
        return String::new();
    }
    let width = |i: usize| rows.iter().map(|r| r[i].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..SHOWN.len()).map(width).collect();
    let line = |row: &Vec<String>| {
        let cells = row.iter().zip(&widths).map(|(cell, &w)| format!("{cell:<w$}"));
        cells.collect::<Vec<_>>().join("  ").trim_end().to_owned() + "\n"
    };
    rows.iter().map(line).collect()
}

/// A cell that fits its column and cannot upset a terminal.
fn cut(text: &str) -> String {
    let plain = text.chars().map(|c| if c.is_control() { ' ' } else { c });
    let mut kept: String = plain.take(WIDEST + 1).collect();
    if kept.chars().count() > WIDEST {
        kept = kept.chars().take(WIDEST - 1).chain(['…']).collect();
    }
    kept
}

fn csv(frames: &[Found]) -> Result<String, csv::Error> {
    let mut out = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    for (i, frame) in frames.iter().enumerate() {
        let cells = frame.cells();
        if i == 0 {
            out.write_record(cells.iter().map(|(name, _)| name))?;
        }
        out.write_record(cells.iter().map(|(_, text)| shielded(text)))?;
    }
    let bytes = out.into_inner().map_err(|e| e.into_error())?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_keeps_its_place() {
        assert_eq!(cut("f8\u{1b}[31m"), "f8 [31m");
        assert_eq!(cut(&"x".repeat(99)).chars().count(), WIDEST);
        assert_eq!(cut(&"x".repeat(WIDEST)), "x".repeat(WIDEST));
    }
}
