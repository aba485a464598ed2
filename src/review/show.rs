//! Cells and values as they are shown.

use crate::edits::Column;
use crate::facts::{Field, Source};
use crate::output::{cells, words};
use crate::roll::{Frame, Roll};

/// What stands in a column, as in the table.
pub fn cell(roll: &Roll, frame: &Frame, column: Column) -> String {
    cells(&roll.name, frame).into_iter().find(|(c, _)| *c == column.as_str()).map(|(_, text)| text).unwrap_or_default()
}

/// A cell as a photographer writes it.
pub fn value(column: Column, text: &str) -> String {
    match column.as_str().parse() {
        Ok(field) => words::cell(field, text),
        Err(()) => text.to_owned(),
    }
}

/// Who says what stands in a field, when one alone does.
pub fn sources(frame: &Frame, field: Field) -> Option<&'static str> {
    match frame.ground(field)?.sources() {
        [one] => Some(Source::as_str(*one)),
        _ => None,
    }
}

/// The last part of a path.
pub fn base(path: &str) -> String {
    path.rsplit('/').next().unwrap_or(path).to_owned()
}
