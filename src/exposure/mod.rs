//! Arithmetic of exposure, pure: units in the types, no files, no words.
//! Every formula and table names its source.

mod aperture;
mod film_speed;
mod filter;
mod shutter;
mod value;

pub use aperture::{Aperture, ApertureError, ApertureStep};
pub use film_speed::{BoxSpeed, ExposureIndex};
pub use filter::FilterFactor;
pub use shutter::{Shutter, ShutterError, ShutterStep, Speed};
pub use value::{ExposureValue, Stops, ev100};
