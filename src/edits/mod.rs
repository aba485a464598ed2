//! What the photographer changed by hand in a roll's table, and how it stays.
//!
//! Before a run writes, the table on the disk is compared with what the last run
//! wrote there; what differs is an edit. Edits are kept under the output folder
//! and laid over every later run: they are never overwritten, and where the
//! evidence has changed since, the frame says so. `review` makes the same edits. A cell that a spreadsheet only
//! dressed differently (`1/15` as `15-Jan`, `5.6` as `5,60`) is no edit.

mod apply;
mod calendar;
mod cell;
mod changes;
mod column;
mod edit;
mod fate;
mod number;
mod numbering;
mod pairs;
mod scans;
mod state;
#[cfg(test)]
#[allow(clippy::disallowed_methods, reason = "tests set the scene")]
mod tests;
mod understood;
mod when;

pub use apply::unread;
pub use changes::{Changes, find_changes};
pub use column::Column;
pub use edit::{Edit, Edits, EditsError, Notice};
pub use fate::Fate;
pub use state::{gather, list, save, write_table};
