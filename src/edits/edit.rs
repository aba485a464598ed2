//! An edit, and the collection of them.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::facts::{FrameNumber, RollName, shown};
use crate::output::OutputError;

use super::Column;

/// One cell changed by hand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Edit {
    /// Roll.
    pub roll: RollName,
    /// Frame.
    pub frame: FrameNumber,
    /// Column.
    pub column: Column,
    /// What the evidence said when the cell was changed. For a flag, its code.
    pub was: String,
    /// What it was changed to; empty for unknown, or for a flag taken away.
    pub now: String,
    /// The spreadsheet had changed what was typed, and `now` is what it most
    /// likely was.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub guessed: bool,
    /// What the evidence said in the last run. For a flag taken away, the value
    /// that it was about; it holds as long as that stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub evidence: Option<String>,
}

impl Edit {
    /// Whether `other` is about the same cell. Each flag counts as a cell.
    pub fn same_cell(&self, other: &Self) -> bool {
        (&self.roll, self.frame, self.column) == (&other.roll, other.frame, other.column)
            && (self.column != Column::Flags || self.flag() == other.flag())
    }

    /// The flag that an edit of the flags sets or takes away.
    pub(super) fn flag(&self) -> &str {
        if self.now.is_empty() { &self.was } else { &self.now }
    }
}

impl fmt::Display for Edit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let quoted = |text: &str| if text.is_empty() { "nothing".to_owned() } else { format!("'{}'", shown(text)) };
        write!(
            f,
            "roll {} frame {}: {} {} -> {}",
            shown(self.roll.as_str()),
            self.frame,
            self.column,
            quoted(&self.was),
            quoted(&self.now)
        )
    }
}

/// Something the photographer should know about a table, for the report.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// Roll and line, or frame, as text.
    pub place: String,
    /// What is to be known.
    pub text: String,
}

impl fmt::Display for Notice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", shown(&self.place), shown(&self.text))
    }
}

/// All edits of a trip, in the order of rolls and frames.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Edits {
    /// The edits, at most one a cell.
    pub all: Vec<Edit>,
    /// What was seen in the tables that is no edit but should be known.
    pub notices: Vec<Notice>,
    /// Tables of which something could not be taken in, below the output folder.
    pub refused: Vec<String>,
}

impl Edits {
    /// Takes in newer edits. A cell set back to what the evidence said is no
    /// longer edited.
    pub fn merge(&mut self, newer: Vec<Edit>) {
        for edit in newer {
            if edit.column == Column::Flags {
                self.merge_flag(edit);
                continue;
            }
            match self.all.iter().position(|e| e.same_cell(&edit)) {
                None => self.all.push(edit),
                // Found once more after a run that was broken off.
                Some(at) if self.all[at].now == edit.now => {}
                Some(at) if edit.column.same(&self.all[at].was, &edit.now).is_same() => {
                    self.all.remove(at);
                }
                Some(at) => {
                    let old = &mut self.all[at];
                    // Whoever edits again has seen what the evidence says now.
                    if let Some(seen) = old.evidence.take() {
                        old.was = seen;
                    }
                    old.now = edit.now;
                    old.guessed = edit.guessed;
                }
            }
        }
        self.all.sort_by(|a, b| (&a.roll, a.frame, a.column, &a.was).cmp(&(&b.roll, b.frame, b.column, &b.was)));
    }

    fn merge_flag(&mut self, edit: Edit) {
        // A conflict with an edit, taken away, means: seen, the edit stands.
        if let Some(field) = edit.was.strip_prefix("conflict:").filter(|_| edit.now.is_empty()) {
            let edited = self.all.iter_mut().find(|e| {
                (&e.roll, e.frame) == (&edit.roll, edit.frame)
                    && e.column != Column::Flags
                    && e.column.as_str() == field
            });
            if let Some(old) = edited {
                if let Some(seen) = old.evidence.clone() {
                    old.was = seen;
                }
                return;
            }
        }
        match self.all.iter().position(|e| e.same_cell(&edit)) {
            // Taken away and set again, or the other way round.
            Some(at) if self.all[at].now != edit.now => {
                self.all.remove(at);
            }
            Some(at) => self.all[at] = edit,
            None => self.all.push(edit),
        }
    }
}

/// What can go wrong with edits.
#[derive(Debug, thiserror::Error)]
pub enum EditsError {
    /// The kept edits do not read. Going on would lose them.
    #[error(
        "{path}: cannot be read: {why}; edits made by hand are kept there: bring it back from a copy, or move it away to go on without them"
    )]
    Kept {
        /// The file below the output folder.
        path: String,
        /// Why not.
        why: String,
    },
    /// A file could not be written.
    #[error(transparent)]
    Output(#[from] OutputError),
}
