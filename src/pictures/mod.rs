//! Pictures decoded within bounds: how large one may be, and how much memory all of them
//! together may take. Knows nothing of scans or film edges.

mod budget;
mod decode;
mod error;
mod largest;

pub use decode::{decoded, from_bytes, from_reader, looked_at};
pub use error::PictureError;
pub use largest::LARGEST;
