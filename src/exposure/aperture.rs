//! Marked f-numbers.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::Stops;

/// A text that is no f-number.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is no f-number: expected such as 5.6 or 11")]
pub struct ApertureError(pub String);

/// A marked f-number, kept to a hundredth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Aperture(u32);

impl Aperture {
    /// An f-number from 0.5 to 1024.
    pub fn new(n: f64) -> Option<Self> {
        (0.5..=1024.0).contains(&n).then(|| Self((n * 100.0).round() as u32))
    }

    /// As a number.
    pub fn number(self) -> f64 {
        f64::from(self.0) / 100.0
    }

    /// APEX aperture value, `2 log2 N`.
    pub fn av(self) -> f64 {
        2.0 * self.number().log2()
    }

    /// How much more light `self` lets in than `other`, from the marked numbers.
    pub fn over(self, other: Self) -> Stops {
        Stops::new(other.av() - self.av())
    }
}

impl fmt::Display for Aperture {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.number())
    }
}

impl FromStr for Aperture {
    type Err = ApertureError;

    fn from_str(text: &str) -> Result<Self, ApertureError> {
        let t = text.trim();
        let t = t.strip_prefix(['f', 'F']).unwrap_or(t);
        let t = t.strip_prefix('/').unwrap_or(t);
        t.parse().ok().and_then(Self::new).ok_or_else(|| ApertureError(text.to_owned()))
    }
}

impl TryFrom<String> for Aperture {
    type Error = ApertureError;
    fn try_from(text: String) -> Result<Self, ApertureError> {
        text.parse()
    }
}

impl From<Aperture> for String {
    fn from(a: Aperture) -> Self {
        a.to_string()
    }
}

/// Where an aperture ring clicks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ApertureStep {
    /// One stop: 5.6, 8, 11.
    Full,
    /// Half stops: 5.6, 6.7, 8.
    Half,
    /// Third stops: 5.6, 6.3, 7.1, 8.
    Third,
}

/// One stop apart. Source: ISO 517 series; f-number scale table, Av −1 to 14,
/// of an encyclopaedia of cameras.
const FULL: [f64; 16] = [0.7, 1.0, 1.4, 2.0, 2.8, 4.0, 5.6, 8.0, 11.0, 16.0, 22.0, 32.0, 45.0, 64.0, 90.0, 128.0];
/// Half stops between them. Source: as above.
const HALVES: [f64; 15] = [0.85, 1.2, 1.7, 2.4, 3.3, 4.8, 6.7, 9.5, 13.0, 19.0, 27.0, 38.0, 54.0, 76.0, 108.0];
/// Third stops between them. Source: as above.
const THIRDS: [f64; 26] = [
    0.8, 0.9, 1.1, 1.2, 1.6, 1.8, 2.2, 2.5, 3.2, 3.5, 4.5, 5.0, 6.3, 7.1, 9.0, 10.0, 13.0, 14.0, 18.0, 20.0, 25.0,
    29.0, 36.0, 40.0, 51.0, 57.0,
];

impl ApertureStep {
    /// Every mark of the series, widest first.
    pub fn marks(self) -> Vec<Aperture> {
        let between: &[f64] = match self {
            Self::Full => &[],
            Self::Half => &HALVES,
            Self::Third => &THIRDS,
        };
        let mut marks: Vec<Aperture> = FULL.iter().chain(between).filter_map(|&n| Aperture::new(n)).collect();
        marks.sort();
        marks
    }

    /// Whether the series has this mark.
    pub fn has(self, a: Aperture) -> bool {
        let in_table = |table: &[f64]| table.iter().any(|n| Aperture::new(*n) == Some(a));
        in_table(&FULL)
            || match self {
                Self::Full => false,
                Self::Half => in_table(&HALVES),
                Self::Third => in_table(&THIRDS),
            }
    }

    /// Stops between neighbouring marks.
    pub const fn stops(self) -> f64 {
        match self {
            Self::Full => 1.0,
            Self::Half => 0.5,
            Self::Third => 1.0 / 3.0,
        }
    }

    /// The exact APEX aperture value that a mark of this series stands for, on its grid
    /// (`N = 2^(Av/2)`): 5 for f/5.6. None when the series has no such mark.
    pub fn exact_av(self, aperture: Aperture) -> Option<f64> {
        let exact = (aperture.av() / self.stops()).round() * self.stops();
        self.marks().contains(&aperture).then_some(exact)
    }

    /// The mark nearest to a shift of `more` light from `from`, with the
    /// series' exact values (`N = 2^(Av/2)`), not the rounded marks.
    pub fn shifted(self, from: Aperture, more: Stops) -> Option<Aperture> {
        let want = exact_av(from) - more.get();
        let best = self
            .marks()
            .into_iter()
            .min_by(|a, b| (exact_av(*a) - want).abs().total_cmp(&(exact_av(*b) - want).abs()))?;
        ((exact_av(best) - want).abs() < 0.3).then_some(best)
    }
}

/// Av on the exact sixth-stop grid that the mark stands for.
fn exact_av(a: Aperture) -> f64 {
    (a.av() * 6.0).round() / 6.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stop_moves_one_mark() {
        let f = |n| Aperture::new(n).unwrap();
        assert_eq!(ApertureStep::Full.shifted(f(8.0), Stops::new(1.0)), Some(f(5.6)));
        assert_eq!(ApertureStep::Full.shifted(f(16.0), Stops::new(-2.0)), Some(f(32.0)));
        assert_eq!(ApertureStep::Half.shifted(f(8.0), Stops::new(0.5)), Some(f(6.7)));
        assert_eq!(ApertureStep::Half.shifted(f(11.0), Stops::new(-0.5)), Some(f(13.0)));
        assert_eq!(ApertureStep::Third.shifted(f(8.0), Stops::new(-1.0 / 3.0)), Some(f(9.0)));
    }

    #[test]
    fn printed_apertures_read_back() {
        for t in ["5.6", "11", "0.95", "12.5"] {
            assert_eq!(t.parse::<Aperture>().unwrap().to_string(), t);
        }
        assert_eq!("f/8".parse::<Aperture>(), "8".parse());
        assert!(
            "".parse::<Aperture>().is_err() && "0".parse::<Aperture>().is_err() && "x".parse::<Aperture>().is_err()
        );
    }
}
