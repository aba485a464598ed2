//! What the lab or the scanner delivered: which picture is which frame, as far
//! as names, tags and the pictures themselves say. Reads files, never writes
//! them; does not see the notes.

mod columns;
mod edge;
mod folder;
mod metadata;
mod name;
mod pattern;
mod picture;
mod scan;
mod strips;
mod thumbnail;
mod thumbnail_error;
mod tokens;
mod whole;

#[cfg(test)]
mod name_tests;

pub use folder::read_folder;
pub use metadata::{Tags, tags};
pub use name::{NameSays, names_say};
pub use pattern::{NamePattern, PatternError};
pub use picture::is_blank;
pub use scan::{KnownFrom, Picture, Scan, ScanError, ScanFolder, ScanKind, ScanNumber, Side};
pub use thumbnail::Thumbnail;
pub use thumbnail_error::ThumbnailError;
pub use whole::is_cut_short;
