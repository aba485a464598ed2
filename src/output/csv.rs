//! One row a frame, columns as in the contract; and the same table read back,
//! also after a spreadsheet had it.
//!
//! RFC 4180, UTF-8. A cell that a spreadsheet would take for a formula gets an
//! apostrophe in front, and one more where it has apostrophes already; reading
//! takes one away again, so every value comes back as it was.

use std::collections::BTreeMap;

use crate::facts::COLUMNS;
use crate::roll::Roll;

use super::TableError;
use super::row::{OWN_COLUMNS, cells};

/// The roll's table.
pub fn write(roll: &Roll) -> Vec<u8> {
    let rows: Vec<_> = roll.frames.iter().map(|frame| cells(&roll.name, frame)).collect();
    let own_used = |column: &str| rows.iter().flatten().any(|(c, text)| *c == column && !text.is_empty());
    let own: Vec<&str> = OWN_COLUMNS.into_iter().filter(|c| own_used(c)).collect();
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let mut put = |record: Vec<String>| writer.write_record(record).expect("a Vec takes every write");
    put(COLUMNS.iter().chain(&own).map(|c| (*c).to_owned()).collect());
    for row in rows {
        put(row
            .iter()
            .filter(|(c, _)| COLUMNS.contains(c) || own.contains(c))
            .map(|(_, text)| shielded(text))
            .collect());
    }
    writer.into_inner().expect("a Vec takes every write")
}

/// A row of a table that was read: cells by the name of their column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowText {
    /// Line in the file where the row begins, from 1.
    pub line: u64,
    cells: BTreeMap<String, String>,
}

impl RowText {
    /// The cell under a column; none when the table has no such column, or the
    /// row breaks off before it.
    pub fn get(&self, column: &str) -> Option<&str> {
        self.cells.get(column).map(String::as_str)
    }

    /// Every column with its cell, by name.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.cells.iter().map(|(c, v)| (c.as_str(), v.as_str()))
    }
}

/// Reads a table of ours, whatever the order of its columns, with `,`, `;` or
/// tab between cells, quoted or not, in UTF-8 or UTF-16. Column names lose
/// their case and surrounding space; columns that are not ours are kept; empty
/// rows are skipped.
///
/// # Errors
/// [`TableError`] when the bytes are no text, no column is called `frame`, a
/// column stands twice, or a line cannot be read.
pub fn read(bytes: &[u8]) -> Result<Vec<RowText>, TableError> {
    let text = decoded(bytes)?;
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter(&text))
        .from_reader(text.as_bytes());
    let mut records = reader.records().map(|r| {
        r.map_err(|e| TableError::Line { line: e.position().map_or(0, csv::Position::line), why: e.to_string() })
    });
    let header = records.next().transpose()?.ok_or(TableError::NoHeader)?;
    let header: Vec<String> = header.iter().map(|c| c.trim().to_lowercase()).collect();
    if !header.iter().any(|c| c == "frame") {
        return Err(TableError::NoHeader);
    }
    if let Some(twice) = header.iter().enumerate().find(|(i, c)| !c.is_empty() && header[..*i].contains(c)) {
        return Err(TableError::Twice(twice.1.clone()));
    }
    let mut rows = Vec::new();
    for record in records {
        let record = record?;
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let line = record.position().map_or(0, |p| line_at(&text, p.byte() as usize));
        let named = header.iter().zip(&record).filter(|(c, _)| !c.is_empty());
        rows.push(RowText { line, cells: named.map(|(c, cell)| (c.clone(), unshielded(cell).to_owned())).collect() });
    }
    Ok(rows)
}

/// The line that a record begins on, from 1; the reader may stand before the
/// line break that ends the one above.
fn line_at(text: &str, byte: usize) -> u64 {
    let bytes = text.as_bytes();
    let start = byte + bytes[byte.min(bytes.len())..].iter().take_while(|b| matches!(b, b'\r' | b'\n')).count();
    1 + bytes[..start.min(bytes.len())].iter().filter(|b| **b == b'\n').count() as u64
}

/// Whether a spreadsheet may take the text for a formula. Plain numbers are
/// none. Source: OWASP, "CSV Injection"; full-width signs by common practice.
fn is_formula(text: &str) -> bool {
    let starts = text.starts_with(['\t', '\r', '\n'])
        || text.trim_start().starts_with(['=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}']);
    let number = text.strip_prefix(['+', '-']).unwrap_or(text);
    let plain = number.starts_with(|c: char| c.is_ascii_digit())
        && number.ends_with(|c: char| c.is_ascii_digit())
        && number.bytes().all(|b| b.is_ascii_digit() || b == b'.')
        && number.matches('.').count() <= 1;
    starts && !plain
}

/// A cell that no spreadsheet takes for a formula; [`read`] undoes it.
pub fn shielded(text: &str) -> String {
    if is_formula(text.trim_start_matches('\'')) { format!("'{text}") } else { text.to_owned() }
}

fn unshielded(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(text) if is_formula(cell.trim_start_matches('\'')) => text,
        _ => cell,
    }
}

/// The text behind the bytes: UTF-8 with or without its mark, or UTF-16 with it.
fn decoded(bytes: &[u8]) -> Result<String, TableError> {
    let wide = |bytes: &[u8], unit: fn([u8; 2]) -> u16| {
        let units: Vec<u16> = bytes.chunks_exact(2).map(|b| unit([b[0], b[1]])).collect();
        String::from_utf16(&units).map_err(|_| TableError::NotText)
    };
    match bytes {
        [0xEF, 0xBB, 0xBF, rest @ ..] => String::from_utf8(rest.to_vec()).map_err(|_| TableError::NotText),
        [0xFF, 0xFE, rest @ ..] => wide(rest, u16::from_le_bytes),
        [0xFE, 0xFF, rest @ ..] => wide(rest, u16::from_be_bytes),
        _ => String::from_utf8(bytes.to_vec()).map_err(|_| TableError::NotText),
    }
}

/// What stands between the names of the first line. Ours hold none of the three.
fn delimiter(text: &str) -> u8 {
    let first = text.lines().next().unwrap_or_default();
    let count = |d: u8| first.bytes().filter(|b| *b == d).count();
    [b',', b';', b'\t'].into_iter().rev().max_by_key(|d| count(*d)).unwrap_or(b',')
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use crate::facts::{Confidence, FrameNumber, RollName, Settled, Source};
    use crate::roll::{Frame, Status};

    use super::*;

    fn roll_saying(subjects: &[&str]) -> Roll {
        let frames = (1..).zip(subjects).map(|(n, subject)| Frame {
            subject: Some(Settled::from_one((*subject).to_owned(), Confidence::SURE, Source::Voice)),
            ..Frame::blank(FrameNumber::new(n), Status::Ok)
        });
        Roll { frames: frames.collect(), ..Roll::blank(RollName::new("A3").unwrap()) }
    }

    #[test]
    fn the_header_is_the_contract() {
        let text = String::from_utf8(write(&roll_saying(&[]))).unwrap();
        assert_eq!(
            text,
            "roll,frame,status,scan,taken,camera,lens,film,focal_mm,box_iso,ei,shutter,shutter_s,aperture,filter,\
             filter_stops,comp_stops,ev100,light,support,subject,place,lat,lon,process,source,confidence,flags,said,\
             clip,at_s\r\n"
        );
    }

    #[test]
    fn formulas_are_shielded_and_come_back() {
        let said = [
            "=1+1",
            "-- no",
            "+x",
            "@sum",
            "'=1",
            "''",
            "'quoted'",
            "-0.7",
            "+3",
            "\tx",
            " =1",
            "\u{ff1d}1",
            "",
            "1/125",
        ];
        let bytes = write(&roll_saying(&said));
        let mut raw = csv::Reader::from_reader(bytes.as_slice());
        for record in raw.records() {
            let cell = record.unwrap()[20].to_owned();
            assert!(!is_formula(&cell), "{cell:?} is left as a formula");
        }
        let back = read(&bytes).unwrap();
        assert_eq!(back.iter().map(|r| r.get("subject").unwrap()).collect::<Vec<_>>(), said);
    }

    #[test]
    fn own_columns_come_last_and_only_when_used() {
        let mut roll = roll_saying(&["quay", "crane"]);
        roll.frames[1].rating = Some(4);
        let text = String::from_utf8(write(&roll)).unwrap();
        assert!(text.lines().next().unwrap().ends_with(",clip,at_s,rating"), "{text}");
        let back = read(text.as_bytes()).unwrap();
        assert_eq!((back[0].get("rating"), back[1].get("rating"), back[1].get("remark")), (Some(""), Some("4"), None));
    }

    #[test]
    fn a_spreadsheet_may_have_had_it() {
        let with_mark = "\u{feff}\"Frame\";Roll ; shutter\r\n\"1\";A3;1/125\r\n;;\r\n2;A3\r\n";
        let rows = read(with_mark.as_bytes()).unwrap();
        assert_eq!(rows.len(), 2);
        assert_eq!((rows[0].get("frame"), rows[0].get("shutter"), rows[0].line), (Some("1"), Some("1/125"), 2));
        assert_eq!((rows[1].get("frame"), rows[1].get("shutter")), (Some("2"), None));
        let wide: Vec<u8> = [0xFF, 0xFE]
            .into_iter()
            .chain("frame\troll\r\n12A\tÁ\r\n".encode_utf16().flat_map(u16::to_le_bytes))
            .collect();
        assert_eq!(read(&wide).unwrap()[0].get("roll"), Some("Á"));
    }

    #[test]
    fn what_is_no_table_says_why() {
        assert_eq!(read(b""), Err(TableError::NoHeader));
        assert_eq!(read(b"a,b\n1,2\n"), Err(TableError::NoHeader));
        assert_eq!(read(b"\xff\xffx"), Err(TableError::NotText));
        assert_eq!(read(b"frame,ei,EI\n1,2,3\n"), Err(TableError::Twice("ei".into())));
    }

    proptest! {
        #[test]
        fn every_text_comes_back(texts in proptest::collection::vec("[-'=+@,;\"\\r\\n\\t a1\u{e9}]{0,8}|\\PC{0,20}", 1..6)) {
            let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
            let back = read(&write(&roll_saying(&texts))).unwrap();
            let got: Vec<&str> = back.iter().map(|r| r.get("subject").unwrap()).collect();
            prop_assert_eq!(got, texts);
        }
    }
}
