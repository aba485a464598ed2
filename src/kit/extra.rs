//! What goes with cameras and lenses: flashes, converters, bellows, backs; and places by name.

use crate::exposure::Stops;
use crate::facts::Position;

/// A flash.
#[derive(Debug, Clone)]
pub struct Flash {
    /// As it stands in the output.
    pub name: String,
    /// What the photographer calls it.
    pub said: Vec<String>,
}

/// A converter between lens and camera.
#[derive(Debug, Clone)]
pub struct Converter {
    /// As it stands in the output.
    pub name: String,
    /// What the photographer calls it.
    pub said: Vec<String>,
    /// How many times longer it makes the lens.
    pub times: f64,
    /// Light lost: the f-number grows as the focal length does, so `2 log2(times)`, unless the kit says otherwise.
    pub lost: Stops,
}

/// A bellows, or extension tubes.
#[derive(Debug, Clone)]
pub struct Bellows {
    /// As it stands in the output.
    pub name: String,
    /// What the photographer calls it.
    pub said: Vec<String>,
    /// The longest distance from lens to film that it gives, mm.
    pub longest_mm: Option<f64>,
}

/// A back that holds a film of its own.
#[derive(Debug, Clone)]
pub struct Back {
    /// As it stands in the output.
    pub name: String,
    /// What the photographer calls it.
    pub said: Vec<String>,
    /// Name of the camera that it fits.
    pub camera: String,
}

/// A place by name.
#[derive(Debug, Clone)]
pub struct Place {
    /// As it stands in the output.
    pub name: String,
    /// What the photographer calls it.
    pub said: Vec<String>,
    /// Where it is.
    pub position: Option<Position>,
}
