//! Film edges typed off: a table with the output's column names, or lines in
//! the camera's own pattern. Text in, frames out; touches no disk.
//!
//! The table may be parted by `,`, `;` or tabs, its columns stand in any order
//! and may be missing. A line that makes no sense is named and left out, and
//! costs no other: a row is one line, also where a quote in it is not closed.

use crate::exposure::Shutter;
use crate::facts::{Confidence, Field, FrameNumber, RollName, Settled, Source};
use crate::kit::imprint::Slot;
use crate::kit::{Camera, Kit};

use super::frame::{ImprintFrame, RebateError, RebateFault};
use super::lattice::Lattice;
use super::limits::{MOST_COLUMNS, MOST_LINES, at_most, brief, too_long};
use super::line::{LineReader, LineReading};

/// Frames read, and what could not be read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TypedOff {
    /// Frames, in the order of the file.
    pub frames: Vec<ImprintFrame>,
    /// Lines left out, and cells.
    pub faults: Vec<RebateFault>,
}

/// What a column holds.
enum Column {
    /// A value that the film edge may hold.
    Value(Slot, LineReader),
    /// A whole line in the camera's pattern.
    Line(Vec<LineReader>),
    Taken,
    Roll,
    /// A column of the output that says nothing of the edge.
    Other,
}

/// Text of a file: UTF-8 or UTF-16, with or without a mark in front.
pub(super) fn text_of(bytes: &[u8]) -> String {
    let wide = |rest: &[u8], word: fn([u8; 2]) -> u16| {
        let words: Vec<u16> = rest.chunks_exact(2).map(|b| word([b[0], b[1]])).collect();
        String::from_utf16_lossy(&words)
    };
    let text = match bytes {
        [0xFF, 0xFE, rest @ ..] => wide(rest, u16::from_le_bytes),
        [0xFE, 0xFF, rest @ ..] => wide(rest, u16::from_be_bytes),
        [0xEF, 0xBB, 0xBF, rest @ ..] => String::from_utf8_lossy(rest).into_owned(),
        all => String::from_utf8_lossy(all).into_owned(),
    };
    // Some systems end a line with a carriage return alone.
    text.replace("\r\n", "\n").replace('\r', "\n")
}

/// Reads a table. `file` is named in faults; `camera` is the one the roll was
/// in, when that is known.
///
/// # Errors
/// [`RebateError::NoColumns`] when no column is known, [`RebateError::TooMany`] when there are more lines or columns
/// than a roll's edge has.
pub fn table(
    file: &str,
    text: &str,
    roll: &RollName,
    kit: &Kit,
    camera: Option<&Camera>,
) -> Result<TypedOff, RebateError> {
    let lines = || text.lines().enumerate().filter(|(_, l)| !l.trim().is_empty());
    at_most(MOST_LINES, lines().count(), "lines")?;
    let first = lines().next().map_or("", |(_, l)| l);
    let delimiter =
        *[b',', b';', b'\t'].iter().max_by_key(|d| first.bytes().filter(|b| b == *d).count()).unwrap_or(&b',');
    let mut read = TypedOff::default();
    let fault = |line, what: String| RebateFault { file: file.to_owned(), line: Some(line), what };
    let mut columns: Option<Vec<(String, Column)>> = None;
    for (at, text) in lines() {
        let line = at + 1;
        let record = cells_of(text, delimiter);
        if record.iter().all(str::is_empty) {
            continue;
        }
        let Some(columns) = &columns else {
            at_most(MOST_COLUMNS, record.len(), "columns")?;
            let mut named = Vec::new();
            for cell in &record {
                let column = column(cell, kit, camera)?;
                if column.is_none() && !cell.is_empty() {
                    read.faults.push(fault(line, format!("column '{}' is not known and was left out", brief(cell))));
                }
                named.push((cell.to_owned(), column.unwrap_or(Column::Other)));
            }
            if !named.iter().any(|(_, c)| matches!(c, Column::Value(..) | Column::Line(_) | Column::Taken)) {
                return Err(RebateError::NoColumns);
            }
            columns = Some(named);
            continue;
        };
        if record.len() > columns.len() {
            let (n, m) = (record.len(), columns.len());
            read.faults.push(fault(
                line,
                format!("{n} cells under {m} columns, so the row was left out: does a number have a decimal comma?"),
            ));
            continue;
        }
        match row(&record, columns, roll, camera) {
            Ok((reading, bad)) => {
                read.faults.extend(bad.into_iter().map(|what| fault(line, what)));
                if !reading.is_empty() || reading.number.is_some() {
                    let raw = record.iter().collect::<Vec<_>>().join(&char::from(delimiter).to_string());
                    read.add(file, line, raw, reading);
                }
            }
            Err(what) => read.faults.push(fault(line, what)),
        }
    }
    if columns.is_none() { Err(RebateError::NoColumns) } else { Ok(read) }
}

/// The cells of one line. A quote that is not closed holds the rest of its line.
fn cells_of(line: &str, delimiter: u8) -> csv::StringRecord {
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .trim(csv::Trim::All)
        .buffer_capacity(line.len() + 1)
        .from_reader(line.as_bytes());
    // Text in memory that is UTF-8 is always a row.
    reader.records().next().and_then(Result::ok).unwrap_or_default()
}

impl TypedOff {
    fn add(&mut self, file: &str, line: usize, raw: String, reading: LineReading) {
        let mut number = reading.number;
        if let Some(n) = number
            && self.frames.iter().any(|f| f.number == Some(n))
        {
            let what = format!("frame {n} stands here a second time; the line was kept without a number");
            self.faults.push(RebateFault { file: file.to_owned(), line: Some(line), what });
            number = None;
        }
        self.frames.push(reading.into_frame(self.frames.len(), number, raw, None));
    }
}

impl LineReading {
    /// The reading as a frame.
    pub fn into_frame(
        self,
        order: usize,
        number: Option<FrameNumber>,
        raw: String,
        image: Option<String>,
    ) -> ImprintFrame {
        ImprintFrame {
            number,
            order,
            shutter: self.shutter,
            aperture: self.aperture,
            focal_mm: self.focal_mm,
            ei: self.ei,
            comp: self.comp,
            taken: self.taken,
            raw,
            image,
            conflicts: Vec::new(),
        }
    }
}

/// What the column of this name holds; none when the name is not known.
fn column(name: &str, kit: &Kit, camera: Option<&Camera>) -> Result<Option<Column>, RebateError> {
    let name = name.trim().to_lowercase().replace([' ', '-'], "_");
    let value = |slot| Ok(Some(Column::Value(slot, LineReader::of_cells(slot, kit, camera))));
    match name.as_str() {
        "frame" => value(Slot::Frame),
        "shutter" | "shutter_s" => value(Slot::Shutter),
        "aperture" => value(Slot::Aperture),
        "focal_mm" => value(Slot::FocalMm),
        "ei" => value(Slot::Ei),
        "comp_stops" => value(Slot::Comp),
        "taken" => Ok(Some(Column::Taken)),
        "roll" => Ok(Some(Column::Roll)),
        "imprint" => Ok(Some(Column::Line(readers(kit, camera, false)?))),
        other => Ok(other.parse::<Field>().ok().map(|_| Column::Other)),
    }
}

/// One row; the second part names cells that could not be read.
fn row(
    record: &csv::StringRecord,
    columns: &[(String, Column)],
    roll: &RollName,
    camera: Option<&Camera>,
) -> Result<(LineReading, Vec<String>), String> {
    let mut all = LineReading::default();
    let mut bad = Vec::new();
    for (cell, (name, column)) in record.iter().zip(columns) {
        if cell.is_empty() || matches!(cell, "-" | "?" | "--") {
            continue;
        }
        let reading = match column {
            Column::Other => continue,
            Column::Roll => {
                if RollName::new(cell).is_ok_and(|r| r == *roll) {
                    continue;
                }
                return Err(format!("roll '{}' in the file of roll {roll}; the row was left out", brief(cell)));
            }
            _ if too_long(cell).is_some() => {
                bad.extend(too_long(cell).map(|why| format!("{name}: {why}")));
                continue;
            }
            Column::Taken => LineReading { taken: taken(cell), ..LineReading::default() },
            Column::Line(readers) => best(readers, &Lattice::typed(cell)),
            Column::Value(Slot::Shutter, reader) => shutter_cell(cell, reader, camera),
            Column::Value(Slot::Frame, _) => LineReading { number: cell.parse().ok(), ..LineReading::default() },
            Column::Value(_, reader) => reader.read(&Lattice::typed(cell), Source::Rebate),
        };
        if reading.is_empty() && reading.number.is_none() {
            bad.push(format!("'{cell}' is no {name}: expected {}", example(name)));
        }
        all.join(reading);
    }
    Ok((all, bad))
}

fn example(column: &str) -> &'static str {
    match column.to_lowercase().as_str() {
        "frame" => "a number such as 7, 00 or 12A",
        "shutter" => "such as 1/125, 2s or B",
        "aperture" => "such as 5.6",
        "focal_mm" => "millimetres such as 80",
        "ei" => "such as 400",
        "comp_stops" => "such as -0.3",
        "taken" => "such as 2025-06-18T09:15",
        _ => "a line in the pattern that the kit gives",
    }
}

/// A shutter cell; also what a spreadsheet makes of one: `1/30` becomes
/// "30 January", `1/60` "January 1960".
fn shutter_cell(cell: &str, reader: &LineReader, camera: Option<&Camera>) -> LineReading {
    let plain = cell.parse().ok().or_else(|| from_seconds(cell));
    if let Some(shutter) = plain.filter(|s| camera.is_none_or(|c| c.dial.allows(*s))) {
        // As the output writes it, and on the dial: nothing to guess.
        return LineReading {
            shutter: Some(Settled::from_one(shutter, Confidence::new(0.99), Source::Rebate)),
            ..LineReading::default()
        };
    }
    match from_date(cell) {
        Some(shutter) => {
            let mut settled = Settled::from_one(shutter, Confidence::new(0.7), Source::Rebate);
            settled.why.push(format!("'{cell}' looks like a date that a spreadsheet made of {shutter}"));
            LineReading { shutter: Some(settled), ..LineReading::default() }
        }
        None => reader.read(&Lattice::typed(cell), Source::Rebate),
    }
}

/// Seconds with a decimal point below one, as the column `shutter_s` has them.
fn from_seconds(cell: &str) -> Option<Shutter> {
    let s: f64 = cell.parse().ok().filter(|s| (0.0..1.0).contains(s))?;
    let mark =
        crate::exposure::ShutterStep::Third.marks().into_iter().find(|m| (m.seconds() / s - 1.0).abs() < 0.02)?;
    Some(Shutter::Timed(mark))
}

const MONTHS: [&str; 12] = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

fn from_date(cell: &str) -> Option<Shutter> {
    let (a, b) = cell.split_once(['-', ' '])?;
    let month = |t: &str| MONTHS.iter().position(|m| t.to_lowercase().starts_with(m));
    let number = |t: &str| t.trim().parse::<u32>().ok().filter(|n| *n > 0);
    match (number(a), month(b), month(a), number(b)) {
        // 1/30 as month/day, 1/2 as day/month, 1/60 as month/year.
        (Some(day), Some(0), ..) => Some(Shutter::fraction(day)),
        (Some(1), Some(m), ..) => Some(Shutter::fraction(m as u32 + 1)),
        (_, _, Some(0), Some(year)) => Some(Shutter::fraction(if year > 1900 { year - 1900 } else { year })),
        _ => None,
    }
}

/// The clock on the edge is the camera's: an offset does not move it.
fn taken(cell: &str) -> Option<jiff::civil::DateTime> {
    let pieces = jiff::fmt::temporal::Pieces::parse(cell).ok()?;
    pieces.time().map(|time| pieces.date().to_datetime(time))
}

/// A reader for each camera that has a pattern, or for the one named.
pub(super) fn readers(kit: &Kit, camera: Option<&Camera>, numbered: bool) -> Result<Vec<LineReader>, RebateError> {
    let mut list = Vec::new();
    for c in kit.cameras.iter().filter(|c| camera.is_none_or(|k| k.name == c.name)) {
        if let Some(pattern) = &c.imprint {
            list.push(LineReader::new(pattern, kit, Some(c), numbered));
        }
    }
    if list.is_empty() { Err(RebateError::NoPattern) } else { Ok(list) }
}

/// The reading under the pattern that fits best.
fn best(readers: &[LineReader], line: &Lattice) -> LineReading {
    readers
        .iter()
        .map(|r| r.read(line, Source::Rebate))
        .max_by(|a, b| a.evidence.total_cmp(&b.evidence))
        .unwrap_or_default()
}

/// Reads lines in the imprint pattern of a camera of the kit; where several
/// cameras have one, the pattern that fits the roll as a whole. A frame number
/// may stand in front of each; blank lines and lines that begin with `#` are skipped.
///
/// # Errors
/// [`RebateError::NoPattern`] when there is none to read by, [`RebateError::TooMany`] when there are more lines
/// than a roll's edge has.
pub fn lines(file: &str, text: &str, kit: &Kit, camera: Option<&Camera>) -> Result<TypedOff, RebateError> {
    let readers = readers(kit, camera, true)?;
    let (lines, long): (Vec<(usize, &str)>, Vec<_>) = text
        .lines()
        .enumerate()
        .map(|(i, l)| (i + 1, l.trim()))
        .filter(|(_, l)| !l.is_empty() && !l.starts_with('#'))
        .partition(|(_, l)| too_long(l).is_none());
    at_most(MOST_LINES, lines.len() + long.len(), "lines")?;
    // What each character may be is large, and of use in pictures only.
    let read = |reader: &LineReader, line: &str| LineReading {
        letters: Vec::new(),
        ..reader.read(&Lattice::typed(line), Source::Rebate)
    };
    let readings: Vec<Vec<LineReading>> =
        readers.iter().map(|r| lines.iter().map(|(_, l)| read(r, l)).collect()).collect();
    let fit = |all: &[LineReading]| all.iter().map(|r| r.evidence.max(1e-60).ln()).sum::<f64>();
    let chosen = readings.into_iter().max_by(|a, b| fit(a).total_cmp(&fit(b))).unwrap_or_default();
    let mut read = TypedOff::default();
    for (line, what) in long.into_iter().filter_map(|(n, l)| Some((n, too_long(l)?))) {
        read.faults.push(RebateFault { file: file.to_owned(), line: Some(line), what });
    }
    for ((line, raw), reading) in lines.into_iter().zip(chosen) {
        if reading.is_empty() {
            let what = format!("'{raw}' does not fit the kit's imprint pattern");
            read.faults.push(RebateFault { file: file.to_owned(), line: Some(line), what });
        } else {
            read.add(file, line, raw.to_owned(), reading);
        }
    }
    Ok(read)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const KIT: &str = r#"
[[camera]]
name = "box six"
format = "6x4.5"
shutters = ["30s", "1/1000"]
imprint = "{shutter} F{aperture} {focal_mm}MM ISO{ei}"

[[camera]]
name = "pocket"
format = "135"
imprint = "'{date} {shutter}"

[[lens]]
name = "80"
focal_mm = 80
widest = 2.8
smallest = 22
"#;

    fn kit() -> Kit {
        Kit::parse(KIT).unwrap()
    }

    fn roll() -> RollName {
        RollName::new("21").unwrap()
    }

    fn table_of(text: &str) -> TypedOff {
        let kit = kit();
        table("21.csv", text, &roll(), &kit, kit.camera("box six")).unwrap()
    }

    /// Frame, shutter, aperture, focal length, index.
    fn cells(f: &ImprintFrame) -> String {
        let show = |t: Option<String>| t.unwrap_or_else(|| "-".into());
        [
            show(f.number.map(|n| n.to_string())),
            show(f.shutter.as_ref().map(|s| s.value.to_string())),
            show(f.aperture.as_ref().map(|s| s.value.to_string())),
            show(f.focal_mm.as_ref().map(|s| s.value.to_string())),
            show(f.ei.as_ref().map(|s| s.value.get().to_string())),
        ]
        .join(" ")
    }

    #[test]
    fn a_table_in_any_order_and_dress() {
        for text in [
            "frame,shutter,aperture,focal_mm,ei\n1,1/125,5.6,80,100\n12A,B,8,80,100\n",
            "\u{feff}ei;focal_mm;Aperture;Shutter;FRAME\r\n100;80;5,6;1/125;1\r\n\r\n100;80;8;B;12A\r\n",
            "ei\tframe\taperture\tshutter\tfocal mm\tsubject\n100\t1\t5.6\t1/125\t80\tpier\n100\t12a\t8\tBULB\t80\t\n",
        ] {
            let text = text_of(text.as_bytes());
            let read = table_of(&text);
            assert_eq!(read.faults, []);
            assert_eq!(read.frames.iter().map(cells).collect::<Vec<_>>(), ["1 1/125 5.6 80 100", "12A B 8 80 100"]);
            assert!(read.frames.iter().all(|f| f.shutter.as_ref().is_some_and(|s| s.confidence.get() > 0.9)));
        }
    }

    #[test]
    fn wide_text_is_text() {
        let wide: Vec<u8> = [0xFF, 0xFE].into_iter().chain("frame".encode_utf16().flat_map(u16::to_le_bytes)).collect();
        assert_eq!(text_of(&wide), "frame");
    }

    #[test]
    fn a_bad_row_is_named_and_the_others_stay() {
        let read = table_of(
            "frame,shutter,aperture,colour\n1,1/125,5.6,\n2,quick,8,\n3,1/60,5,6,\n4,,,\n4,1/60,8,\n5,1/30,,\n",
        );
        let numbers: Vec<String> = read.frames.iter().map(cells).collect();
        assert_eq!(numbers, ["1 1/125 5.6 - -", "2 - 8 - -", "4 - - - -", "- 1/60 8 - -", "5 1/30 - - -"]);
        let said: Vec<String> = read.faults.iter().map(ToString::to_string).collect();
        assert_eq!(said.len(), 4, "{said:?}");
        assert!(said[0].starts_with("21.csv, line 1: column 'colour'"));
        assert!(said[1].starts_with("21.csv, line 3: 'quick' is no shutter: expected such as 1/125"));
        assert!(said[2].starts_with("21.csv, line 4: 5 cells under 4 columns"));
        assert!(said[3].starts_with("21.csv, line 6: frame 4 stands here a second time"));
    }

    #[test]
    fn a_quote_that_is_not_closed_costs_its_line_alone() {
        let read =
            table_of("frame,shutter,aperture\n1,\"1/125,5.6\n2,1/60,8\n3,\"1/30\",\"8\"\n4,1/60,\"8\n5,1/60,8\n");
        let numbers: Vec<String> = read.frames.iter().map(cells).collect();
        assert_eq!(numbers, ["1 - - - -", "2 1/60 8 - -", "3 1/30 8 - -", "4 1/60 8 - -", "5 1/60 8 - -"]);
        assert_eq!(read.faults.len(), 1, "{:?}", read.faults);
        assert!(read.faults[0].to_string().starts_with("21.csv, line 2: '1/125,5.6' is no shutter"));
    }

    #[test]
    fn what_no_roll_has_is_refused_with_the_limit() {
        let long = "9".repeat(100_000);
        let read = table_of(&format!("frame,shutter,subject\n1,{long},pier\n2,1/60,{long}\n"));
        assert_eq!(read.frames.iter().map(cells).collect::<Vec<_>>(), ["1 - - - -", "2 1/60 - - -"]);
        assert!(read.faults[0].what.ends_with("has 100000 characters; at most 200 are read"), "{}", read.faults[0]);
        let read = lines("22.txt", &format!("1/60 F8 80MM ISO80\n{long}\n1/60 F8 80MM ISO80\n"), &kit(), None).unwrap();
        assert_eq!((read.frames.len(), read.faults.len(), read.faults[0].line), (2, 1, Some(2)));
        let many = "1/60 F8 80MM ISO80\n".repeat(200_000);
        let why = lines("22.txt", &many, &kit(), None).unwrap_err().to_string();
        assert_eq!(why, "has 200000 lines; at most 2000 of a roll's edge are read");
        let kit = kit();
        for text in [format!("frame\n{many}"), "frame,".repeat(5000)] {
            assert!(matches!(table("21.csv", &text, &roll(), &kit, None), Err(RebateError::TooMany { .. })));
        }
    }

    #[test]
    fn what_a_spreadsheet_did_is_undone_with_doubt() {
        let read = table_of("frame,shutter\n1,30-Jan\n2,Jan-60\n3,01-Feb\n4,0.008\n");
        assert_eq!(
            read.frames.iter().map(cells).collect::<Vec<_>>(),
            ["1 1/30 - - -", "2 1/60 - - -", "3 1/2 - - -", "4 1/125 - - -"]
        );
        assert!(read.frames[0].shutter.as_ref().unwrap().confidence.get() < 0.8);
    }

    #[test]
    fn a_speed_that_the_dial_lacks_is_doubtful() {
        let read = table_of("frame,shutter\n1,1/135\n2,B 45s\n");
        let sure: Vec<bool> = read.frames.iter().map(|f| f.shutter.as_ref().unwrap().confidence.get() > 0.9).collect();
        assert_eq!(sure, [false, true]);
    }

    #[test]
    fn tables_without_a_known_column_are_refused() {
        let kit = kit();
        for text in ["", "\n\n", "a,b\n1,2\n", "roll,subject\n21,pier\n"] {
            assert!(matches!(table("x.csv", text, &roll(), &kit, None), Err(RebateError::NoColumns)), "{text}");
        }
    }

    #[test]
    fn a_row_of_another_roll_is_left_out() {
        let read = table_of("roll,frame,shutter\n021,1,1/60\nB,2,1/60\n");
        assert_eq!((read.frames.len(), read.faults.len()), (1, 1));
    }

    #[test]
    fn lines_find_their_pattern() {
        let read = lines(
            "22.txt",
            "# roll 22\n01  1/250 F8 80MM ISO80\n\nwhat is this\n02 BULB F16 80MM ISO80\n",
            &kit(),
            None,
        )
        .unwrap();
        assert_eq!(read.frames.iter().map(cells).collect::<Vec<_>>(), ["1 1/250 8 80 80", "2 B 16 80 80"]);
        assert_eq!(read.faults.len(), 1);
        assert!(read.faults[0].to_string().starts_with("22.txt, line 4: 'what is this'"));
        let read = lines("23.txt", "'25-06-18 1/250\n'25-06-18 1/60\n", &kit(), None).unwrap();
        assert_eq!(read.frames.iter().map(cells).collect::<Vec<_>>(), ["- 1/250 - - -", "- 1/60 - - -"]);
    }

    #[test]
    fn lines_want_a_pattern() {
        let kit = Kit::default();
        assert!(matches!(lines("a.txt", "1/60", &kit, None), Err(RebateError::NoPattern)));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn foreign_text_never_makes_it_panic(text in "(?s).{0,200}") {
            let kit = kit();
            let _ = table("x.csv", &text, &roll(), &kit, None);
            let read = lines("x.txt", &text, &kit, None).unwrap();
            let given = text.lines().map(str::trim).filter(|l| !l.is_empty() && !l.starts_with('#')).count();
            let doubles = read.faults.iter().filter(|f| f.what.contains("second time")).count();
            prop_assert_eq!(read.frames.len() + read.faults.len() - doubles, given);
        }
    }
}
