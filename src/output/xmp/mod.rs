//! XMP sidecars (ISO 16684-1): what other programs read.
//!
//! Standard properties hold what a standard knows: Exif for XMP for exposure,
//! time and place, Dublin Core for subject and keywords, IPTC Core for the
//! location, Photoshop's for instructions to the lab. Film, roll, filter, light,
//! support and the flags have no standard property: they are keywords, and
//! stand in a namespace of our own.
//!
//! A value that is not sure is written with a keyword that says so. The camera
//! is `tiff:Model`: in a sidecar it speaks of the picture, while the name of the
//! scanner stays in the scan's own Exif. Time and tool of scanning are not
//! touched.

pub mod fractions;
mod packet;
mod property;
mod sidecar;

pub use packet::{RDF, clean, description, packet};
pub use property::{Namespace, Property, Value, keywords, properties, said};
pub use sidecar::sidecars;
