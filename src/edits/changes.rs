//! What was changed in a roll's table since it was written.

use crate::facts::{COLUMNS, Flag, FrameNumber, RollName};
use crate::output::csv::{self, RowText};
use crate::output::{OWN_COLUMNS, TableError};

use super::cell::{self, Sameness};
use super::pairs::{self, Pairs};
use super::{Column, Edit, Notice, number};

/// What was changed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Changes {
    /// Cells that now mean something else.
    pub edits: Vec<Edit>,
    /// What else should be known.
    pub notices: Vec<Notice>,
    /// Something in the table could not be taken in; a copy should be kept.
    pub leftovers: bool,
}

/// Compares the table that was `last_written` with what is `on_disk` now. Rows are
/// the same by frame number; order of rows and columns, quoting, separators and
/// what a spreadsheet does to dates and numbers make no difference.
///
/// # Errors
/// [`TableError`] when one of them is no table.
pub fn find_changes(last_written: &[u8], on_disk: &[u8]) -> Result<Changes, TableError> {
    if last_written == on_disk {
        return Ok(Changes::default());
    }
    let (written, disk) = (csv::read(last_written)?, csv::read(on_disk)?);
    let roll = written.iter().chain(&disk).find_map(|row| RollName::new(row.get("roll")?).ok());
    let Some(roll) = roll else { return Ok(Changes::default()) };
    let pairs = pairs::pair(&written, &disk);
    let mut reader = Reader { roll, changes: Changes::default(), mangled: Vec::new() };
    reader.columns(&written, &disk);
    reader.rows(&written, &disk, &pairs);
    for &(w, d) in &pairs.matched {
        if let Some(frame) = frame_of(&written[w]) {
            reader.row(frame, Some(&written[w]), &disk[d]);
        }
    }
    for &(frame, d) in &pairs.added {
        reader.added(frame, &disk[d]);
    }
    Ok(reader.done())
}

fn frame_of(row: &RowText) -> Option<FrameNumber> {
    row.get("frame")?.parse().ok()
}

/// Gathers what is found.
struct Reader {
    roll: RollName,
    changes: Changes,
    /// Cells that a spreadsheet turned into dates, with what they stand for.
    mangled: Vec<String>,
}

impl Reader {
    fn notice(&mut self, place: String, text: String) {
        self.changes.notices.push(Notice { place: format!("roll {} {place}", self.roll), text });
    }

    fn refuse(&mut self, place: String, text: String) {
        self.changes.leftovers = true;
        self.notice(place, text);
    }

    fn columns(&mut self, written: &[RowText], disk: &[RowText]) {
        let Some(first) = disk.first() else { return };
        for (column, _) in first.iter().filter(|(c, _)| !COLUMNS.contains(c) && !OWN_COLUMNS.contains(c)) {
            if disk.iter().any(|row| row.get(column).is_some_and(|cell| !cell.trim().is_empty())) {
                self.refuse(
                    "table".into(),
                    format!("column '{column}' is not known and not kept; remark is a column for notes of your own"),
                );
            }
        }
        let gone: Vec<&str> = written
            .first()
            .into_iter()
            .flat_map(RowText::iter)
            .map(|(c, _)| c)
            .filter(|c| disk.iter().all(|row| row.get(c).is_none()))
            .collect();
        if !gone.is_empty() {
            self.notice("table".into(), format!("without the columns {}; they are written again", gone.join(", ")));
        }
    }

    fn rows(&mut self, written: &[RowText], disk: &[RowText], pairs: &Pairs) {
        for &w in &pairs.removed {
            let frame = written[w].get("frame").unwrap_or_default();
            self.notice(
                format!("frame {frame}"),
                "its row was taken out and is written again; `spooltalk review` takes frames out".into(),
            );
        }
        for &(w, d) in &pairs.renumbered {
            let (old, new) = (written[w].get("frame").unwrap_or_default(), disk[d].get("frame").unwrap_or_default());
            let (Some(from), Some(to)) = (frame_of(&written[w]), frame_of(&disk[d])) else { continue };
            if disk.iter().filter(|row| frame_of(row) == Some(to)).count() > 1 {
                let why = format!("its number was changed to {new}, which another row has; it was not taken");
                self.refuse(format!("frame {old}"), why);
                continue;
            }
            self.changes.edits.push(Edit::new(&self.roll, from, Column::Frame, &from.to_string(), &to.to_string()));
        }
        for &d in &pairs.doubled {
            self.refuse(format!("line {}", disk[d].line), "is a second row for its frame and was not read".into());
        }
        for &d in &pairs.nameless {
            let cell = disk[d].get("frame").unwrap_or_default();
            self.refuse(format!("line {}", disk[d].line), format!("'{cell}' is no frame number; the row was not read"));
        }
    }

    /// A row for a frame that was not there before.
    fn added(&mut self, frame: FrameNumber, disk: &RowText) {
        let roll = disk.get("roll").map(RollName::new);
        if let Some(Ok(other)) = roll.filter(|r| r.as_ref().is_ok_and(|r| *r != self.roll)) {
            self.refuse(format!("line {}", disk.line), format!("is of roll {other}; it belongs in that roll's table"));
            return;
        }
        let before = self.changes.edits.len();
        self.row(frame, None, disk);
        let added = &mut self.changes.edits[before..];
        // The status makes the frame; without one it is a frame without a scan.
        if !added.iter().any(|e| e.column == Column::Status) {
            self.changes.edits.push(Edit::new(&self.roll, frame, Column::Status, "", "unscanned"));
        }
    }

    fn row(&mut self, frame: FrameNumber, written: Option<&RowText>, disk: &RowText) {
        let was = |column: &str| written.and_then(|w| w.get(column)).unwrap_or_default().to_owned();
        let mut now: Vec<(Column, String)> = Vec::new();
        for column in Column::values() {
            let (was, cell) = (was(column.as_str()), disk.get(column.as_str()));
            let text = cell.and_then(|cell| self.cell(frame, column, &was, cell));
            now.push((column, text.unwrap_or(was)));
        }
        if let Some(cell) = disk.get("flags") {
            self.flags(frame, &was("flags"), cell, &now);
        }
        if written.is_some() {
            self.fixed(frame, &was, disk);
        }
    }

    /// What a cell means now, when that is something else than before.
    fn cell(&mut self, frame: FrameNumber, column: Column, was: &str, cell: &str) -> Option<String> {
        match column.same(was, cell) {
            Sameness::Same => return None,
            Sameness::Mangled => {
                self.mangled.push(format!("{column} '{}' for {was}", cell.trim()));
                return None;
            }
            Sameness::Different => {}
        }
        match column.read(was, cell) {
            Ok(read) => {
                if read.guessed {
                    self.notice(
                        format!("frame {frame}"),
                        format!("{column} reads '{}'; taken for {}, check it", cell.trim(), read.text),
                    );
                }
                let edit = Edit::new(&self.roll, frame, column, was, &read.text);
                self.changes.edits.push(Edit { guessed: read.guessed, ..edit });
                Some(read.text)
            }
            Err(why) => {
                self.refuse(format!("frame {frame}"), format!("{column} {why}; the change was not taken"));
                None
            }
        }
    }

    /// Each flag taken away or set is an edit of its own.
    fn flags(&mut self, frame: FrameNumber, was: &str, cell: &str, now: &[(Column, String)]) {
        let codes = |cell: &str| -> Vec<String> {
            cell.split('|').map(|c| c.trim().to_lowercase()).filter(|c| !c.is_empty()).collect()
        };
        let (was, cell) = (codes(was), codes(cell));
        let edit =
            |was: &str, now: &str, evidence| Edit { evidence, ..Edit::new(&self.roll, frame, Column::Flags, was, now) };
        let mut edits = Vec::new();
        let mut unknown = Vec::new();
        for gone in was.iter().filter(|c| !cell.contains(c)) {
            let about = gone
                .parse()
                .ok()
                .map(|flag| about(flag, |c| now.iter().find(|(n, _)| n.as_str() == c).map(|(_, t)| t.clone())));
            edits.push(edit(gone, "", about));
        }
        for new in cell.iter().filter(|c| !was.contains(c)) {
            if new.parse::<Flag>().is_ok() { edits.push(edit("", new, None)) } else { unknown.push(new.clone()) }
        }
        self.changes.edits.extend(edits);
        for code in unknown {
            self.refuse(format!("frame {frame}"), format!("flags: '{code}' is no flag; it was not taken"));
        }
    }

    /// Cells that are worked out or recorded; changing them does nothing.
    fn fixed(&mut self, frame: FrameNumber, was: &impl Fn(&str) -> String, disk: &RowText) {
        const FIXED: [(&str, &str); 11] = [
            ("roll", "name the scan folder or say the roll's name in a note"),
            ("shutter_s", "change shutter instead"),
            ("ev100", "change shutter, aperture or ei instead"),
            ("source", "it says where the settings come from"),
            ("confidence", "take the unsure flag away instead"),
            ("said", "it is what was recorded; remark is a column for notes of your own"),
            ("clip", "it is what was recorded"),
            ("at_s", "it is what was recorded"),
            ("extras", "it is what was said; say it in a note, or put it into remark"),
            ("extra_stops", "it follows from what was said; change comp_stops or filter_stops instead"),
            ("focus_m", "it is what was said"),
        ];
        for (column, instead) in FIXED {
            let (was, Some(cell)) = (was(column), disk.get(column)) else { continue };
            if !unchanged(column, &was, cell) {
                self.refuse(format!("frame {frame}"), format!("{column} was changed, which does nothing: {instead}"));
            }
        }
    }

    fn done(mut self) -> Changes {
        if let Some(first) = self.mangled.first() {
            let text = format!(
                "{} cells came back as dates and were read as written, such as {first}; format the columns as text to keep them",
                self.mangled.len()
            );
            self.notice("table".into(), text);
        }
        self.changes
    }
}

/// Whether a cell that is not for editing is as it was, but for its dress.
fn unchanged(column: &str, was: &str, cell: &str) -> bool {
    if column == "roll" && RollName::new(was).ok() == RollName::new(cell).ok() {
        return true;
    }
    // Decimals may be cut where a cell is shown short.
    let close = was
        .parse::<f64>()
        .is_ok_and(|n| number::numbers(cell).iter().any(|m| (m - n).abs() <= 5e-4 * n.abs().max(1.0)));
    close || cell::same(cell::Kind::Name, was, cell).is_same()
}

/// The value that a flag speaks of, from the cells of its frame.
pub(super) fn about(flag: Flag, cell: impl Fn(&str) -> Option<String>) -> String {
    let columns = match flag {
        Flag::Unsure(field) | Flag::Conflict(field) | Flag::Odd(field) | Flag::Carried(field) => vec![field.as_str()],
        Flag::Shake => vec!["shutter", "focal_mm", "support"],
        Flag::GuessScan => vec!["scan"],
        Flag::GoneClip => vec!["clip"],
    };
    columns.into_iter().map(|c| cell(c).unwrap_or_default()).collect::<Vec<_>>().join(" ")
}
