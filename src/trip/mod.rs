//! The trip folder: which file is a note, a scan or an edge print, in a settled
//! order. Lists files; opens none of them and judges no content.

mod layout;
mod name;
mod natural;
mod walk;

pub use layout::{NoteFile, NoteKind, RebateFiles, RollScans, TripError, TripLayout, is_raw};
pub use name::{below, is_plain};
pub use natural::natural_cmp;
pub use walk::{PassedOver, Walked, files_under};
