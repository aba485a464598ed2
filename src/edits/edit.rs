//! An edit, and the collection of them.

use std::collections::{BTreeMap, HashSet};
use std::fmt;

use serde::{Deserialize, Serialize};

use crate::facts::{Field, Flag, FrameNumber, RollName, shown};
use crate::output::OutputError;

use super::Column;
use super::fate::Fate;

/// One cell changed by hand.
///
/// A frame's cells are known by its number as it stands in the table. Its number itself, under
/// [`Column::Frame`], is known by the number that the evidence gives it; `now` is another number,
/// nothing (the frame is taken out), or `with N` (it is joined to frame N). A roll's name, under
/// [`Column::Roll`], is known by the evidence's name, and `frame` is `00`.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
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
    /// What else spoke of it then. For a flag, the other readings; for a number,
    /// the words or the scan that the frame is known by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen: Option<String>,
}

impl Edit {
    /// A cell changed from what the evidence says.
    pub fn new(roll: &RollName, frame: FrameNumber, column: Column, was: &str, now: &str) -> Self {
        let (roll, was, now) = (roll.clone(), was.to_owned(), now.to_owned());
        Self { roll, frame, column, was, now, guessed: false, evidence: None, seen: None }
    }

    /// Whether it makes a frame that the evidence does not know.
    pub fn makes_a_frame(&self) -> bool {
        self.column == Column::Status && self.was.is_empty()
    }

    /// A flag that was looked at and left: it is still raised, and no longer asks for a look.
    pub fn leaves_open(&self) -> bool {
        self.column == Column::Flags && !self.now.is_empty() && self.was == self.now
    }

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

fn quoted(text: &str) -> String {
    if text.is_empty() { "nothing".to_owned() } else { format!("'{}'", shown(text)) }
}

impl fmt::Display for Edit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.column == Column::Roll {
            return write!(
                f,
                "roll {}: name {} -> {}",
                shown(self.roll.as_str()),
                quoted(&self.was),
                quoted(&self.now)
            );
        }
        if self.leaves_open() {
            return write!(
                f,
                "roll {} frame {}: {} looked at and left open",
                shown(self.roll.as_str()),
                self.frame,
                shown(&self.was)
            );
        }
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
    /// Tables that were taken in as they lie, by their hash; see `state`.
    pub(super) taken: BTreeMap<String, String>,
}

impl From<Vec<Edit>> for Edits {
    fn from(all: Vec<Edit>) -> Self {
        Self { all, ..Self::default() }
    }
}

impl Edits {
    /// Takes in newer edits. A cell set back to what the evidence said is no
    /// longer edited.
    ///
    /// They come from a table, which may have been opened before the last answers of a review:
    /// a cell that was changed there and here to different things keeps the table's value, and is
    /// flagged as a conflict.
    pub fn merge(&mut self, newer: Vec<Edit>) {
        let (numbers, cells): (Vec<Edit>, Vec<Edit>) = newer.into_iter().partition(|e| e.column == Column::Frame);
        for edit in cells {
            if edit.column == Column::Flags {
                self.merge_flag(edit);
                continue;
            }
            self.tell_of_two(&edit);
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
        let mut moves: Vec<(RollName, FrameNumber, Fate)> = Vec::new();
        for edit in numbers {
            moves.extend(Fate::of(&edit.now).map(|fate| (edit.roll, edit.frame, fate)));
        }
        self.move_numbers(&moves);
        self.sort();
    }

    /// Puts an edit in place of what was kept for its cell; one that says what the evidence says
    /// takes it away.
    pub fn put(&mut self, edit: Edit) {
        self.all.retain(|e| !e.same_cell(&edit));
        let flag = edit.column == Column::Flags;
        if flag || edit.makes_a_frame() || !edit.column.same(&edit.was, &edit.now).is_same() {
            self.all.push(edit);
            self.sort();
        }
    }

    /// The one roll whose edits are others than they were, where these stay within it: no roll was given another name,
    /// and no scan of it to another roll. None also where nothing changed.
    pub fn only_roll_changed(&self, before: &Self) -> Option<RollName> {
        let reaches_beyond = |e: &Edit| matches!(e.column, Column::Roll | Column::Scan);
        if self.all.iter().chain(&before.all).any(reaches_beyond) {
            return None;
        }
        let changed = |a: &'_ Self, b: &Self| -> Vec<RollName> {
            let known: HashSet<&Edit> = b.all.iter().collect();
            a.all.iter().filter(|e| !known.contains(e)).map(|e| e.roll.clone()).collect()
        };
        let mut rolls = changed(self, before);
        rolls.extend(changed(before, self));
        rolls.dedup();
        <[RollName; 1]>::try_from(rolls).ok().map(|[one]| one)
    }

    /// The edits of one roll.
    pub fn of_roll(&self, roll: &RollName) -> Self {
        Self::from(self.all.iter().filter(|e| e.roll == *roll).cloned().collect::<Vec<_>>())
    }

    /// Takes back the edits of a roll, with what they came to know of the evidence.
    pub fn take_roll(&mut self, roll: &RollName, edits: Self) {
        self.all.retain(|e| e.roll != *roll);
        self.all.extend(edits.all);
        self.sort();
    }

    /// The tables were written anew, with all edits in them.
    pub fn written(&mut self) {
        self.taken.clear();
    }

    /// Whether tables lie there that were changed by hand, taken in and not written anew.
    pub fn waits_for_tables(&self) -> bool {
        !self.taken.is_empty()
    }

    /// In the order of rolls and frames.
    pub fn sort(&mut self) {
        self.all.sort_by(|a, b| (&a.roll, a.frame, a.column, &a.was).cmp(&(&b.roll, b.frame, b.column, &b.was)));
    }

    /// Flags a cell that was changed in two ways without one knowing of the other.
    fn tell_of_two(&mut self, newer: &Edit) {
        let Some(kept) = self.all.iter().find(|e| e.same_cell(newer)) else { return };
        let known = newer.column.same(&kept.now, &newer.was).is_same();
        if known || newer.column.same(&kept.now, &newer.now).is_same() {
            return;
        }
        let place = format!("roll {} frame {}", newer.roll, newer.frame);
        let (here, there) = (quoted(&kept.now), quoted(&newer.now));
        let why =
            format!("{} was changed to {there} in the table and to {here} in a review; {there} stands", newer.column);
        let field: Result<Field, ()> = newer.column.as_str().parse();
        if let Ok(field) = field {
            let code = Flag::Conflict(field).to_string();
            self.put(Edit {
                evidence: Some(why.clone()),
                ..Edit::new(&newer.roll, newer.frame, Column::Flags, "", &code)
            });
        }
        self.notices.push(Notice { place, text: why });
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
