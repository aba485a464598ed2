//! Calls the rooms in order: from a trip's folder to its record.
//! Decides nothing about frames; prints nothing.

mod evidence;
mod hear;
mod ingest;
mod note;
mod order;
mod stale;
#[cfg(test)]
mod tests;
mod times;
mod told;
mod watch;
mod write;

pub use hear::{Load, Tally};
pub use ingest::{Done, Stopped, ingest};
pub use note::Note;
pub use watch::{Stage, Unwatched, Watch};
