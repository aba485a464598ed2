//! `spooltalk find`: words and conditions in, frames out.

use std::path::Path;

use serde_json::to_string;

use crate::archive::{Archive, ArchiveError, Found, Query, found_html};
use crate::cli::Exit;
use crate::cli::args::{FindArgs, FindFormat};
use crate::cli::failure::Failure;
use crate::cli::places::Places;
use crate::cli::print;
use crate::cli::settle;
use crate::cli::show::show;
use crate::output::csv::shielded;
use crate::scans::Thumbnail;

/// Prints the frames of the archive that meet every term, newest first or as asked.
pub fn find(args: &FindArgs) -> Result<Exit, Failure> {
    // What does not read is told before an archive is looked for.
    Query::from_args(&args.terms).map_err(Failure::usage)?;
    let places = Places::usual();
    let path = settle::archive(args.archive.as_deref(), &places)?;
    let failed = |e: ArchiveError| Failure::at(&path, e);
    if args.saved || args.unsave.is_some() {
        return saved(args, &Archive::open(&path).map_err(failed)?).map_err(failed)?;
    }
    let archive = Archive::open(&path).map_err(failed)?;
    let terms = spelled_out(&args.terms, &archive).map_err(failed)??;
    let query = Query::from_args(&terms).map_err(Failure::usage)?;
    if let Some(name) = &args.save {
        archive.save_search(name, &terms).map_err(failed)?;
    }
    let page = match args.sort {
        None => archive.find(&query, args.limit),
        Some(sort) => archive.find_sorted(&query, sort, args.limit),
    }
    .map_err(failed)?;
    let total = if page.more { archive.count(&query).map_err(failed)? } else { page.frames.len() };
    let html = || found_html(&terms.join(" "), &page, total, thumbnail);
    if args.open {
        return show(&html(), "found.html", &places);
    }
    let text = match args.format {
        FindFormat::Html => html(),
        FindFormat::Table => (table(&page.frames) + &footer(page.frames.len(), total)).into_bytes(),
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
        tracing::warn!("there are {total}: raise --limit ({} now), or ask for more", args.limit);
    }
    Ok(Exit::Done)
}

/// How many there are.
fn footer(shown: usize, total: usize) -> String {
    match (shown, total) {
        (0, _) => String::new(),
        (1, 1) => "1 frame\n".to_owned(),
        (shown, total) if shown == total => format!("{total} frames\n"),
        (shown, total) => format!("{shown} of {total} frames\n"),
    }
}

/// The terms with saved searches spelled out; the outer failure is the archive's.
fn spelled_out(terms: &[String], archive: &Archive) -> Result<Result<Vec<String>, Failure>, ArchiveError> {
    let mut all = Vec::new();
    for term in terms {
        match term.strip_prefix('@') {
            None => all.push(term.clone()),
            Some(name) => match archive.saved_search(name)? {
                Some(saved) => all.extend(saved),
                None => {
                    let why = format!("no saved search '{name}': `spooltalk find --saved` lists them");
                    return Ok(Err(Failure::usage(why)));
                }
            },
        }
    }
    Ok(Ok(all))
}

/// Lists the saved searches, or lets one go.
fn saved(args: &FindArgs, archive: &Archive) -> Result<Result<Exit, Failure>, ArchiveError> {
    if let Some(name) = &args.unsave {
        let there = archive.drop_search(name)?;
        return Ok(if there { Ok(Exit::Done) } else { Err(Failure::usage(format_args!("no saved search '{name}'"))) });
    }
    let line = |(name, terms): &(String, Vec<String>)| format!("@{name}  {}\n", terms.join(" "));
    Ok(print::text(&archive.saved_searches()?.iter().map(line).collect::<String>()))
}

/// Longer edge of a thumbnail in pixels.
const EDGE: u32 = 440;

fn thumbnail(scan: &Path) -> Result<Thumbnail, String> {
    let file = std::fs::File::open(scan).map_err(|e| format!("cannot be read: {e}"))?;
    let made = Thumbnail::read(std::io::BufReader::new(file), EDGE);
    made.map(|(thumbnail, _)| thumbnail).map_err(|e| e.to_string())
}

/// Columns of the table for people; one that is empty throughout is left out, and the scan's path ends the line.
const SHOWN: [&str; 16] = [
    "trip",
    "roll",
    "frame",
    "taken",
    "film",
    "developer",
    "sleeve",
    "lens",
    "shutter",
    "aperture",
    "filter",
    "light",
    "subject",
    "place",
    "rating",
    "flags",
];
/// Widest cell of the table, in characters.
const WIDEST: usize = 28;

fn table(frames: &[Found]) -> String {
    if frames.is_empty() {
        return String::new();
    }
    let cells: Vec<Vec<String>> = frames
        .iter()
        .map(|frame| {
            let cells = frame.cells();
            let cell = |name: &str| cells.iter().find(|(n, _)| *n == name).map_or("", |(_, text)| text.as_str());
            let day = |name: &str| if name == "taken" { cell(name).get(..10).unwrap_or("") } else { cell(name) };
            SHOWN.map(|name| cut(day(name), WIDEST)).into_iter().chain([cut(&scan_path(frame), usize::MAX)]).collect()
        })
        .collect();
    let heads: Vec<&str> = SHOWN.into_iter().chain(["scan"]).collect();
    let used: Vec<usize> = (0..heads.len()).filter(|&i| cells.iter().any(|row| !row[i].is_empty())).collect();
    let width = |i: usize| cells.iter().map(|r| r[i].chars().count()).chain([heads[i].len()]).max().unwrap_or(0);
    let widths: Vec<usize> = (0..heads.len()).map(width).collect();
    let line = |row: &[String]| {
        let cells = used.iter().map(|&i| format!("{:<w$}", row[i], w = widths[i]));
        cells.collect::<Vec<_>>().join("  ").trim_end().to_owned() + "\n"
    };
    let head: Vec<String> = heads.iter().map(ToString::to_string).collect();
    std::iter::once(&head).chain(&cells).map(|row| line(row)).collect()
}

/// Where the frame's first scan lies.
fn scan_path(frame: &Found) -> String {
    let first = frame.rest.scan.as_deref().and_then(|s| s.split('|').next());
    first.map_or(String::new(), |scan| Path::new(&frame.root).join("scans").join(scan).display().to_string())
}

/// A cell that fits its column and cannot upset a terminal.
fn cut(text: &str, widest: usize) -> String {
    let plain: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if plain.chars().count() <= widest { plain } else { plain.chars().take(widest - 1).chain(['…']).collect() }
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
        assert_eq!(cut("f8\u{1b}[31m", WIDEST), "f8 [31m");
        assert_eq!(cut(&"x".repeat(99), WIDEST).chars().count(), WIDEST);
        assert_eq!(cut(&"x".repeat(WIDEST), WIDEST), "x".repeat(WIDEST));
    }
}
