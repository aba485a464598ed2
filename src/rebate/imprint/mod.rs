//! The camera's print, read from a picture of the film edge: negative or
//! positive, any way up, mirrored too.
//!
//! Lines of characters are found by their ink ([`find`]), straightened
//! ([`strip`]), cut into characters at equal distances ([`grid`]), compared
//! with the shapes that cameras print ([`sight`]) and decoded under the kit's
//! pattern. No stage takes the likeliest character for granted: the decoder
//! weighs all of them, so that one doubtful dot does not make a wrong value.

#[cfg(test)]
mod draw;
#[cfg(test)]
mod figures;
mod find;
mod glyphs;
mod grid;
mod picture;
mod plane;
mod sight;
mod strip;
mod templates;

#[cfg(test)]
mod tests;

pub(super) use picture::read_picture;
pub use picture::{ImprintLine, ImprintPicture};
