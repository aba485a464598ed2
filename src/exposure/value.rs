//! Exposure values and differences of exposure.

use serde::{Deserialize, Serialize};

use super::{Aperture, ExposureIndex, Shutter};

/// A change of exposure in stops (powers of two). Plus is more light on the film.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
pub struct Stops(f64);

impl Stops {
    /// A change of `n` stops.
    pub const fn new(n: f64) -> Self {
        Self(n)
    }

    /// In stops.
    pub const fn get(self) -> f64 {
        self.0
    }
}

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
        Stops(other.0 - self.0)
    }
}

/// Exposure value referred to ISO 100 at the index used:
/// `EV − log2(EI / 100)`. Source: APEX, `Ev = Bv + Sv`.
pub fn ev100(aperture: Aperture, shutter: Shutter, ei: ExposureIndex) -> Option<ExposureValue> {
    let ev = ExposureValue::of(aperture, shutter)?;
    Some(ExposureValue(ev.0 - (f64::from(ei.get()) / 100.0).log2()))
}
