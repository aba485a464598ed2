//! Settled rolls in, bytes out: tables, pages, sidecars. Every output is a pure
//! function with a fixed order, fixed decimals and no clock; [`OutDir`] alone
//! writes. Judges nothing: flags and their reasons arrive with the rows.

mod cautions;
pub mod csv;
mod error;
pub mod json;
mod markdown;
mod names;
mod place;
mod row;
mod summary;
#[cfg(test)]
mod tests;
pub mod words;

pub use error::{OutputError, TableError};
pub use names::safe_stem;
pub use place::OutDir;
pub use row::{COLUMNS, OWN_COLUMNS, cells, frame_ev100};
pub use summary::{Counts, PlaceSeen, Unusable, places_of, trip_md};
