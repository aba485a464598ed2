//! What stands on the film edge beside the pictures: the settings that the
//! camera wrote there, typed off or in a picture, and the film maker's code.
//!
//! Reads; does not judge. Which frame a line belongs to when it names none,
//! and who wins where a line and a note disagree, is settled further down.

mod barcode;
mod candidate;
mod decode;
#[cfg(test)]
mod draw;
mod edge_code;
mod edge_strip;
mod frame;
mod imprint;
mod lattice;
mod limits;
mod line;
#[cfg(test)]
mod made_up;
mod read;
mod typed;
mod vocabulary;

pub use edge_code::EdgeNumber;
pub use edge_strip::{EdgeCode, EdgeReading, edge_codes};
pub use frame::{ImprintFrame, RebateError, RebateFault, RebateRoll};
pub use imprint::{ImprintLine, ImprintPicture};
pub use read::{EdgePicture, is_picture, read_file, read_image, read_roll};
pub use typed::{TypedOff, lines, table};
