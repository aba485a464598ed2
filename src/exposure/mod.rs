//! Arithmetic of exposure, pure: units in the types, no files, no words.
//! Every formula and table names its source. Says how far a frame lies from a
//! rule; whether that wants a look is for others to decide.

mod aperture;
mod depth;
mod film_speed;
mod filter;
mod light;
#[cfg(test)]
mod properties;
mod reciprocity;
#[cfg(test)]
mod reference;
mod settings;
mod shutter;
mod spread;
mod steady;
mod stops;
mod units;
mod value;

pub use aperture::{Aperture, ApertureError, ApertureStep};
pub use depth::{Depth, circle_of_confusion, depth_of_field, hyperfocal};
pub use film_speed::{BoxSpeed, ExposureIndex, MARKED_SPEEDS, degrees};
pub use filter::FilterFactor;
pub use light::{Light, LightError, RULE_TOLERANCE};
pub use reciprocity::{Reciprocity, bellows_from_distance, bellows_from_extension, bellows_from_magnification};
pub use settings::{Settings, nearest_speed};
pub use shutter::{Shutter, ShutterError, ShutterStep, Speed};
pub use spread::Spread;
pub use steady::{Support, handheld_limit, shake};
pub use stops::Stops;
pub use units::{Millimetres, Seconds};
pub use value::{ExposureValue, ev100, scene_ev100};
