//! Calls the rooms in order: from a trip's folder to its record.
//! Decides nothing about frames; prints nothing.

mod archived;
mod check;
mod developed;
mod evidence;
mod hear;
mod identity;
mod ingest;
mod inputs;
mod memory;
mod note;
mod order;
mod settled;
mod speaks;
mod stale;
mod stopped;
#[cfg(test)]
mod tests;
mod times;
mod told;
mod watch;
mod write;

pub use check::{Checked, check};
pub use hear::{Load, Tally};
pub use ingest::{Done, ingest};
pub use memory::{remembered_contents, remembers_clips};
pub use note::Note;
pub use settled::{HeardWord, Settled, SettledError};
pub use speaks::{Speaks, speaks};
pub use stopped::Stopped;
pub use watch::{Stage, Unwatched, Watch};
pub use write::results;
