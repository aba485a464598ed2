//! Values as Exif and XMP want them: marked numbers as exact fractions, codes,
//! coordinates.

use crate::exposure::{Aperture, Light, Shutter, Stops};
use crate::roll::Frame;

use super::super::row::number;

/// A fraction in lowest terms; the second part is positive.
pub type Fraction = (i64, i64);

fn reduced(n: i64, d: i64) -> Fraction {
    let (mut a, mut b) = (n.abs(), d);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    (n / a.max(1), d / a.max(1))
}

/// As XMP writes it.
pub fn rational((n, d): Fraction) -> String {
    format!("{n}/{d}")
}

/// The marked time, not the exact one: 1/125, 13/10, 45/1. None for B and T
/// without a time.
pub fn exposure_time(shutter: Shutter) -> Option<Fraction> {
    let thousandths = |s: f64| (s * 1000.0).round() as i64;
    match shutter.speed() {
        Some(speed) if speed.is_fraction() => Some(reduced(1000, thousandths(speed.number()))),
        _ => shutter.seconds().map(|s| reduced(thousandths(s), 1000)),
    }
}

/// The marked number: 28/5, 11/1.
pub fn f_number(aperture: Aperture) -> Fraction {
    reduced((aperture.number() * 100.0).round() as i64, 100)
}

/// Compensation in thirds or halves where it is one, else in hundredths.
pub fn bias(stops: Stops) -> Fraction {
    let exact = |d: i64| {
        let n = stops.get() * d as f64;
        ((n - n.round()).abs() < 0.02 * d as f64).then(|| reduced(n.round() as i64, d))
    };
    exact(1)
        .or_else(|| exact(2))
        .or_else(|| exact(3))
        .unwrap_or_else(|| reduced((stops.get() * 100.0).round() as i64, 100))
}

/// Focal length in hundredths of a millimetre at most.
pub fn focal(mm: f64) -> Option<Fraction> {
    (mm > 0.0 && mm < 1e6).then(|| reduced((mm * 100.0).round() as i64, 100))
}

/// 2 recommended exposure index; 3 ISO speed; 6 both.
pub fn sensitivity_type(frame: &Frame) -> Option<u16> {
    match (&frame.ei, frame.box_iso) {
        (Some(_), Some(_)) => Some(6),
        (Some(_), None) => Some(2),
        (None, Some(_)) => Some(3),
        (None, None) => None,
    }
}

/// Exif's code for the light, where it has one for it.
pub fn light_source(frame: &Frame) -> Option<u16> {
    match frame.light.as_ref()?.value.parse().ok()? {
        Light::FullSun | Light::SunOnSand => Some(9),
        Light::CloudyBright | Light::Overcast | Light::HeavyOvercast => Some(10),
        Light::OpenShade | Light::DeepShade => Some(11),
        _ => None,
    }
}

/// `62,0.642N`: whole degrees, minutes to a millionth.
pub fn coordinate(degrees: f64, plus: char, minus: char) -> String {
    let (whole, minutes) = degrees_minutes(degrees);
    format!("{whole},{}{}", number(minutes, 6), if degrees < 0.0 { minus } else { plus })
}

/// Whole degrees and minutes to a millionth, without sign.
pub fn degrees_minutes(degrees: f64) -> (u32, f64) {
    let millionths = (degrees.abs() * 60e6).round() as u64;
    ((millionths / 60_000_000) as u32, (millionths % 60_000_000) as f64 / 1e6)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marked_values_are_exact_fractions() {
        let time = |t: &str| exposure_time(t.parse().unwrap());
        assert_eq!(
            [time("1/125"), time("1.3s"), time("B 45s"), time("1/1.6"), time("2s")].map(Option::unwrap),
            [(1, 125), (13, 10), (45, 1), (5, 8), (2, 1)]
        );
        assert_eq!(time("B"), None);
        let f = |n| f_number(Aperture::new(n).unwrap());
        assert_eq!([f(5.6), f(11.0), f(0.95)], [(28, 5), (11, 1), (19, 20)]);
        let b = |n| bias(Stops::new(n));
        assert_eq!(
            [b(-0.67), b(1.0), b(0.5), b(0.0), b(-1.3333), b(0.2)],
            [(-2, 3), (1, 1), (1, 2), (0, 1), (-4, 3), (1, 5)]
        );
    }

    #[test]
    fn coordinates_are_degrees_and_minutes() {
        // The example of the reference table: decimal degrees 62.0107 and -6.7741.
        assert_eq!(coordinate(62.0107, 'N', 'S'), "62,0.642N");
        assert_eq!(coordinate(-6.7741, 'E', 'W'), "6,46.446W");
        assert_eq!(coordinate(-0.999_999_999_9, 'N', 'S'), "1,0S");
    }
}
