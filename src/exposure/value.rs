//! Exposure values.

use super::stops::Stops;
use super::{Aperture, ApertureStep, ExposureIndex, Shutter, ShutterStep};
use serde::{Deserialize, Serialize};

/// Exposure value of settings: 0 is 1 s at f/1; higher is less light on the film.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct ExposureValue(f64);

impl ExposureValue {
    /// An exposure value.
    pub const fn new(ev: f64) -> Self {
        Self(ev)
    }

    /// Of marked settings: `log2(N² / t)`. None for B or T without a time.
    /// Source: APEX, `Ev = Av + Tv`, as in Exif 3.0 (CIPA DC-008-2023).
    pub fn of(aperture: Aperture, shutter: Shutter) -> Option<Self> {
        shutter.seconds().map(|t| Self(aperture.av() - t.log2()))
    }

    /// Of the exact values that the marks of two series stand for, so that
    /// 1/125 at f/16 is 15 and not 14.966. None when a mark is not in its series.
    pub fn of_exact(aperture: (Aperture, ApertureStep), shutter: (Shutter, ShutterStep)) -> Option<Self> {
        let av = aperture.1.exact_av(aperture.0)?;
        let tv = shutter.1.exact_tv(shutter.0.speed()?)?;
        Some(Self(av + tv))
    }

    /// Referred to ISO 100: the same settings on a film rated faster mean less
    /// light in the scene. `EV − log2(EI / 100)`. Source: APEX, `Ev = Bv + Sv`.
    pub fn at_iso_100(self, ei: ExposureIndex) -> Self {
        Self(self.0 - (f64::from(ei.get()) / 100.0).log2())
    }

    /// As a number.
    pub const fn get(self) -> f64 {
        self.0
    }

    /// One stop more light is one EV less.
    pub fn opened_by(self, more: Stops) -> Self {
        Self(self.0 - more.get())
    }

    /// How much more light `self` gives the film than `other`.
    pub fn over(self, other: Self) -> Stops {
        Stops::new(other.0 - self.0)
    }
}

/// Exposure value referred to ISO 100 at the index used:
/// `EV − log2(EI / 100)`. Source: APEX, `Ev = Bv + Sv`.
pub fn ev100(aperture: Aperture, shutter: Shutter, ei: ExposureIndex) -> Option<ExposureValue> {
    ExposureValue::of(aperture, shutter).map(|ev| ev.at_iso_100(ei))
}

/// What the scene was metered at, from EV100 of the settings: the light lost to
/// filters and the compensation intended are not the scene's own.
/// Check: 1/125 at f/5.6, EI 100, through two stops of filter is EV100 11.9 and scene 13.9.
pub fn scene_ev100(settings: ExposureValue, filter_loss: Stops, compensation: Stops) -> ExposureValue {
    ExposureValue(settings.0 + filter_loss.get() + compensation.get())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thirds_read_as_a_photographer_writes_them() {
        let cases = [(0.1, "0"), (1.0, "+1"), (-1.0, "-1"), (1.322, "+1 1/3"), (0.66, "+2/3"), (-2.667, "-2 2/3")];
        for (stops, text) in cases {
            assert_eq!(Stops::new(stops).in_thirds(), text);
        }
    }

    #[test]
    fn more_light_is_a_lower_value() {
        let (a, b) = (ExposureValue::new(12.0), ExposureValue::new(13.5));
        assert_eq!(a.over(b), Stops::new(1.5));
        assert_eq!(b.opened_by(Stops::new(1.5)), a);
        assert_eq!([Stops::new(1.0), Stops::new(0.5)].into_iter().sum::<Stops>() - Stops::new(2.0), -Stops::new(0.5));
    }

    #[test]
    fn a_filter_and_compensation_are_not_the_scene() {
        let settings = ev100("5.6".parse().unwrap(), Shutter::fraction(125), ExposureIndex::new(100).unwrap()).unwrap();
        assert!((scene_ev100(settings, Stops::new(2.0), Stops::ZERO).get() - 13.9).abs() < 0.05);
        // Full sun with one stop dialled in is set at EV 14.
        assert_eq!(scene_ev100(ExposureValue::new(14.0), Stops::ZERO, Stops::new(1.0)).get(), 15.0);
    }
}
