//! What stands on the film edge beside the pictures: the settings that the
//! camera wrote there, typed off or in a picture.
//!
//! Reads; does not judge. Which frame a line belongs to when it names none,
//! and who wins where a line and a note disagree, is settled further down.

mod decode;
mod frame;
mod lattice;
mod line;
mod pattern;
mod read;
mod typed;
mod vocabulary;

pub use frame::{ImprintFrame, RebateError, RebateFault, RebateRoll};
pub use pattern::{DateOrder, Pattern, PatternError, Piece, Slot};
pub use read::read_roll;
pub use typed::{TypedOff, lines, table};
