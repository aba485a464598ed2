//! A text that a field of an imprint may have, and what it means.

use super::lattice::index;
use crate::exposure::{Aperture, ExposureIndex, Shutter};
use crate::facts::FrameNumber;
use std::fmt;

/// A value of a slot, or of a part of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Value {
    /// Nothing stands there.
    Absent,
    /// Literal text.
    Text,
    /// Shutter setting.
    Shutter(Shutter),
    /// f-number.
    Aperture(Aperture),
    /// Focal length in tenths of a millimetre.
    Focal(u32),
    /// Exposure index.
    Ei(ExposureIndex),
    /// Compensation in hundredths of a stop.
    Comp(i32),
    /// Frame number.
    Frame(FrameNumber),
    /// Part of a date or time.
    Part(u16),
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Absent | Self::Text => Ok(()),
            Self::Shutter(s) => s.fmt(f),
            Self::Aperture(a) => write!(f, "f/{a}"),
            Self::Focal(t) => write!(f, "{} mm", f64::from(*t) / 10.0),
            Self::Ei(e) => e.get().fmt(f),
            Self::Comp(h) => write!(f, "{:+.2}", f64::from(*h) / 100.0),
            Self::Frame(n) => n.fmt(f),
            Self::Part(n) => n.fmt(f),
        }
    }
}

/// One text that a piece may have.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    /// Its characters, by their place in the alphabet.
    pub text: Vec<usize>,
    /// What it means.
    pub value: Value,
    /// How likely before the line is seen.
    pub prior: f64,
}

impl Candidate {
    /// A candidate; none when the text has characters outside the alphabet.
    pub fn new(text: &str, value: Value, prior: f64) -> Option<Self> {
        Some(Self { text: text.chars().map(index).collect::<Option<_>>()?, value, prior })
    }
}
