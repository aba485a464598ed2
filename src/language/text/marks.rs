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

/// Film speeds in thirds of a stop, within a decade. Source: ISO 5800, as described in public articles.
const FILM_SPEEDS: [f64; 10] = [1.0, 1.25, 1.6, 2.0, 2.5, 3.2, 4.0, 5.0, 6.4, 8.0];
/// Speeds that older films and meters have beside them: 12, 30, 60, 120 and so on. Common practice.
const OLDER_SPEEDS: [f64; 3] = [1.2, 3.0, 6.0];
/// Speeds no farther apart than this are one, within a decade.
const SAME_SPEED: f64 = 0.02;

/// Whether a number is a film speed or an exposure index of the series.
pub fn film_speed(n: f64) -> bool {
    in_decade(n, &FILM_SPEEDS)
}

/// Whether it is one of those that older films and meters have.
pub fn older_film_speed(n: f64) -> bool {
    in_decade(n, &OLDER_SPEEDS)
}

fn in_decade(n: f64, marks: &[f64]) -> bool {
    let lead = n / 10_f64.powf(n.max(1.0).log10().floor());
    marks.iter().any(|m| (m - lead).abs() < SAME_SPEED)
}
