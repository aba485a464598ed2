//! Filters: factors and stops.

use serde::{Deserialize, Serialize};

use super::Stops;

/// A filter factor: how many times more exposure the filter asks for, 1 or more.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct FilterFactor(f64);

impl FilterFactor {
    /// A factor from 1 to 10 million.
    pub fn new(factor: f64) -> Option<Self> {
        (1.0..=1e7).contains(&factor).then_some(Self(factor))
    }

    /// As a number.
    pub const fn get(self) -> f64 {
        self.0
    }

    /// Light lost, `log2(factor)`.
    pub fn lost(self) -> Stops {
        Stops::new(self.0.log2())
    }
}
