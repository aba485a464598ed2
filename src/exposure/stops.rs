//! Differences of exposure.

use serde::{Deserialize, Serialize};
use std::iter::Sum;
use std::ops::{Add, Neg, Sub};

/// A change of exposure in stops (powers of two). Plus is more light on the film.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
pub struct Stops(f64);

impl Stops {
    /// No change.
    pub const ZERO: Self = Self(0.0);

    /// A change of `n` stops.
    pub const fn new(n: f64) -> Self {
        Self(n)
    }

    /// In stops.
    pub const fn get(self) -> f64 {
        self.0
    }

    /// Without its sign.
    pub const fn size(self) -> Self {
        Self(self.0.abs())
    }

    /// To the nearest third, as photographers write it: `+1 1/3`, `-2/3`, `0`.
    ///
    /// ```
    /// use spooltalk::exposure::Stops;
    /// assert_eq!(Stops::new(4.322).in_thirds(), "+4 1/3");
    /// assert_eq!(Stops::new(-0.585).in_thirds(), "-2/3");
    /// ```
    pub fn in_thirds(self) -> String {
        let thirds = (self.0 * 3.0).round() as i64;
        let sign = match thirds {
            0 => return "0".to_owned(),
            1.. => '+',
            _ => '-',
        };
        match (thirds.abs() / 3, thirds.abs() % 3) {
            (whole, 0) => format!("{sign}{whole}"),
            (0, part) => format!("{sign}{part}/3"),
            (whole, part) => format!("{sign}{whole} {part}/3"),
        }
    }
}

impl Add for Stops {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Stops {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Stops {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Sum for Stops {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        Self(all.map(Self::get).sum())
    }
}
