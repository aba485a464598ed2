//! Filters: factors and stops.

use std::ops::Mul;

use serde::{Deserialize, Serialize};

use super::Stops;

/// A filter factor: how many times more exposure the filter asks for, 1 or more.
/// Factors of stacked filters multiply; their stops add.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct FilterFactor(f64);

impl FilterFactor {
    /// Takes nothing.
    pub const CLEAR: Self = Self(1.0);

    /// A factor from 1 to 10 million.
    pub fn new(factor: f64) -> Option<Self> {
        (1.0..=1e7).contains(&factor).then_some(Self(factor))
    }

    /// Of a filter that takes `lost` stops, 0 to 23: `2^lost`.
    pub fn from_lost(lost: Stops) -> Option<Self> {
        Self::new(lost.get().exp2())
    }

    /// Of a neutral density, as engraved: `10^d`, so 0.3 is about 2.
    /// Source: encyclopaedia of cameras, "Neutral density filter".
    pub fn from_density(d: f64) -> Option<Self> {
        Self::new(10f64.powf(d))
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

/// Filters one on another; a product past the type's range stays at its end.
impl Mul for FilterFactor {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self((self.0 * other.0).min(1e7))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stacked_filters_multiply_and_their_stops_add() {
        // Source: shutterbug.com "Photo Filters": red 8 with a polariser 2.5 is 20, 4 1/3 stops.
        let stack = FilterFactor::new(8.0).unwrap() * FilterFactor::new(2.5).unwrap();
        assert_eq!(stack.get(), 20.0);
        assert_eq!(stack.lost().in_thirds(), "+4 1/3");
        assert_eq!(FilterFactor::from_lost(Stops::new(2.0)), FilterFactor::new(4.0));
        assert_eq!(FilterFactor::CLEAR.lost(), Stops::ZERO);
        for bad in [0.5, 0.0, f64::NAN, 1e9] {
            assert!(FilterFactor::new(bad).is_none(), "{bad}");
        }
    }
}
