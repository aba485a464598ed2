//! Lengths and times, positive and finite.

use serde::{Deserialize, Serialize};

macro_rules! positive {
    ($(#[$doc:meta])* $name:ident, $max:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(try_from = "f64", into = "f64")]
        pub struct $name(f64);

        impl $name {
            /// A value above zero, up to the type's limit.
            pub fn new(value: f64) -> Option<Self> {
                (value > 0.0 && value <= $max).then_some(Self(value))
            }

            /// As a number.
            pub const fn get(self) -> f64 {
                self.0
            }
        }

        impl TryFrom<f64> for $name {
            type Error = String;
            fn try_from(value: f64) -> Result<Self, String> {
                Self::new(value).ok_or_else(|| format!("{value} is out of range: expected above 0 and up to {}", $max))
            }
        }

        impl From<$name> for f64 {
            fn from(value: $name) -> Self {
                value.0
            }
        }
    };
}

positive!(
    /// A length in millimetres, up to 10 km: focal lengths, diagonals, distances.
    Millimetres,
    1e7
);
positive!(
    /// A length of time in seconds, up to 100 days.
    Seconds,
    8_640_000.0
);

impl Millimetres {
    /// The diagonal of a frame.
    pub fn diagonal(width: Self, height: Self) -> Self {
        Self(width.0.hypot(height.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_but_positive_finite_numbers() {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(Millimetres::new(bad).is_none() && Seconds::new(bad).is_none(), "{bad}");
        }
        assert_eq!(Seconds::new(0.008).map(Seconds::get), Some(0.008));
        assert!(serde_json::from_str::<Seconds>("-2").is_err());
    }
}
