//! Lenses: focal lengths and apertures.

use crate::exposure::{Aperture, ApertureStep};

/// Focal length in millimetres, one or a range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Focal {
    /// A fixed focal length.
    Prime(f64),
    /// A zoom, shortest and longest.
    Zoom(f64, f64),
}

impl Focal {
    /// Whether it can be changed.
    pub const fn is_zoom(self) -> bool {
        matches!(self, Self::Zoom(..))
    }

    /// Whether the lens can be set to this focal length.
    pub fn covers(self, mm: f64) -> bool {
        match self {
            Self::Prime(f) => (f - mm).abs() < 0.5,
            Self::Zoom(a, b) => (a - 0.5..=b + 0.5).contains(&mm),
        }
    }
}

/// A lens.
#[derive(Debug, Clone)]
pub struct Lens {
    /// As it stands in the output.
    pub name: String,
    /// What the photographer calls it.
    pub said: Vec<String>,
    /// Focal length or range.
    pub focal: Focal,
    /// Widest aperture (smallest f-number).
    pub widest: Option<Aperture>,
    /// Smallest aperture (largest f-number).
    pub smallest: Option<Aperture>,
    /// Where its ring clicks, if said.
    pub step: Option<ApertureStep>,
    /// Name of a filter that is always on it, as a centre filter is.
    pub filter: Option<String>,
    /// Names of the cameras it fits; empty means all.
    pub cameras: Vec<String>,
}

impl Lens {
    /// Whether it fits a camera.
    pub fn fits(&self, camera: &str) -> bool {
        self.cameras.is_empty() || self.cameras.iter().any(|c| c == camera)
    }

    /// Whether the aperture lies within the lens's range.
    pub fn allows(&self, a: Aperture) -> bool {
        let wide = self.widest.is_none_or(|w| a.over(w).get() < 0.1);
        let small = self.smallest.is_none_or(|s| s.over(a).get() < 0.1);
        wide && small
    }
}
