//! A place on the earth.

use serde::{Deserialize, Serialize};

/// WGS 84, decimal degrees; north and east are positive.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Position {
    /// Latitude, −90 to 90.
    pub lat: f64,
    /// Longitude, −180 to 180.
    pub lon: f64,
}

impl Position {
    /// A position, when both degrees are in range.
    pub fn new(lat: f64, lon: f64) -> Option<Self> {
        ((-90.0..=90.0).contains(&lat) && (-180.0..=180.0).contains(&lon)).then_some(Self { lat, lon })
    }
}
