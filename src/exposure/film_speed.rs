//! Film speed: what is on the box and what the photographer rates it at.

use serde::{Deserialize, Serialize};

use super::Stops;

/// The arithmetic ISO speed printed on the box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct BoxSpeed(u32);

/// The exposure index the photographer meters with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ExposureIndex(u32);

impl BoxSpeed {
    /// A speed from 1 to 1 000 000.
    pub fn new(iso: u32) -> Option<Self> {
        (1..=1_000_000).contains(&iso).then_some(Self(iso))
    }

    /// Arithmetic speed.
    pub const fn get(self) -> u32 {
        self.0
    }
}

impl ExposureIndex {
    /// An index from 1 to 1 000 000.
    pub fn new(ei: u32) -> Option<Self> {
        (1..=1_000_000).contains(&ei).then_some(Self(ei))
    }

    /// Arithmetic index.
    pub const fn get(self) -> u32 {
        self.0
    }

    /// Exposure given over box speed: rating a film slower gives it more light.
    pub fn over_box(self, speed: BoxSpeed) -> Stops {
        Stops::new((f64::from(speed.0) / f64::from(self.0)).log2())
    }
}
