//! Settled rolls in, bytes out: tables, pages, sidecars. Every output is a pure
//! function with a fixed order, fixed decimals and no clock; [`OutDir`] alone
//! writes. Judges nothing: flags and their reasons arrive with the rows.

mod against;
mod cautions;
pub mod csv;
mod embed;
mod error;
pub mod json;
mod lab;
mod markdown;
mod names;
pub mod page;
mod place;
mod places;
mod row;
mod stills;
mod summary;
#[cfg(test)]
mod tests;
mod thumbs;
pub mod words;
mod write;
pub mod xmp;

pub use against::{AgainstRule, at_film, range, spread};
pub use embed::{EmbedError, embed_all, embedded};
pub use error::{OutputError, TableError};
pub use lab::lab_md;
pub use names::safe_stem;
pub use place::OutDir;
pub use places::{geojson, gpx};
pub use row::{OWN_COLUMNS, cells, focus_text, frame_ev100};
pub use summary::{Counts, PlaceSeen, Unusable, places_of, trip_md};
pub use thumbs::pictures;
pub use write::{Written, write_all};
pub use xmp::sidecars;
