//! Numbers that stand on dials and rings.

use crate::exposure::{Aperture, ApertureStep, ShutterStep, Speed};

/// Whether some shutter has a mark of one `n`th.
pub fn speed(n: f64) -> bool {
    use ShutterStep::{Half, Old, Third};
    Speed::nth(n).is_some_and(|s| [Third, Half, Old].iter().any(|step| step.has(s)))
}

/// Whether one `n`th is of the series in full stops.
pub fn full_speed(n: f64) -> bool {
    Speed::nth(n).is_some_and(|s| ShutterStep::Full.has(s))
}

/// Whether an f-number is of the series in full stops.
pub fn full_aperture(n: f64) -> bool {
    Aperture::new(n).is_some_and(|a| ApertureStep::Full.has(a))
}
