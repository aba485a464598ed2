//! How long a camera can be held.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::{Millimetres, Seconds, Stops};

/// What the camera rested on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Support {
    /// In the hands.
    Handheld,
    /// On one leg.
    Monopod,
    /// Held against something: a wall, a rail, a knee.
    Braced,
    /// On a beanbag: it lies by itself.
    Beanbag,
    /// On three legs: it stands by itself.
    Tripod,
}

impl Support {
    /// Every support.
    pub const ALL: [Self; 5] = [Self::Handheld, Self::Monopod, Self::Braced, Self::Beanbag, Self::Tripod];

    /// As the `support` column has it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Handheld => "handheld",
            Self::Monopod => "monopod",
            Self::Braced => "braced",
            Self::Beanbag => "beanbag",
            Self::Tripod => "tripod",
        }
    }
}

impl fmt::Display for Support {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl FromStr for Support {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|s| s.as_str() == text).ok_or(())
    }
}

/// Diagonal of 24 × 36 mm, for which the rule of thumb was made.
const DIAGONAL_135: f64 = 43.266_615;
/// What one leg or something to lean on is worth: 2 to 3 stops in common practice; the lower is taken.
const LEANING: Stops = Stops::new(2.0);
/// Marks are rounded by up to a tenth of a stop: 1/60 stands for 1/64.
const ROUNDING: f64 = 0.1;

/// The longest time the hand-holding rule allows: `1 / (f · 43.27 / diagonal)` seconds,
/// four times as long on a monopod or braced, without limit (none) on a tripod or a beanbag.
///
/// Source: `1 / f` for 24 × 36 mm: a photography textbook (Goodheart-Willcox, p. 42).
/// Scaling with the diagonal and the monopod: common practice. A rule of thumb, about
/// a stop either way.
///
/// ```
/// use spooltalk::exposure::{Millimetres, Support, handheld_limit};
/// let mm = |l| Millimetres::new(l).unwrap();
/// let limit = handheld_limit(mm(80.0), mm(79.2), Support::Handheld).unwrap();
/// assert_eq!((1.0 / limit.get()).round(), 44.0); // 80 mm on 6x6
/// ```
pub fn handheld_limit(focal: Millimetres, diagonal: Millimetres, support: Support) -> Option<Seconds> {
    let held = diagonal.get() / (focal.get() * DIAGONAL_135);
    match support {
        Support::Handheld => Seconds::new(held),
        Support::Monopod | Support::Braced => Seconds::new(held * LEANING.get().exp2()),
        Support::Beanbag | Support::Tripod => None,
    }
}

/// How much longer than the rule a time is; none when it is within the rule,
/// with the rounding of the marks allowed for.
pub fn shake(time: Seconds, focal: Millimetres, diagonal: Millimetres, support: Support) -> Option<Stops> {
    let limit = handheld_limit(focal, diagonal, support)?;
    let over = (time.get() / limit.get()).log2();
    (over > ROUNDING).then(|| Stops::new(over))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn longer_lenses_and_smaller_frames_shake_sooner() {
        let mm = |l| Millimetres::new(l).unwrap();
        let shakes = |t: f64, f: f64, d: f64, s| shake(Seconds::new(1.0 / t).unwrap(), mm(f), mm(d), s).is_some();
        // Textbook p. 42: 100 mm at 1/125 and 300 mm at 1/500 are steady on 24 x 36 mm.
        assert!(!shakes(125.0, 100.0, 43.27, Support::Handheld) && !shakes(500.0, 300.0, 43.27, Support::Handheld));
        assert!(shakes(60.0, 100.0, 43.27, Support::Handheld) && shakes(125.0, 300.0, 43.27, Support::Handheld));
        assert!(shakes(60.0, 120.0, 69.7, Support::Handheld), "1/74 on 6x4.5");
        assert!(!shakes(20.0, 120.0, 69.7, Support::Monopod) && shakes(15.0, 120.0, 69.7, Support::Monopod));
        assert!(!shakes(0.01, 300.0, 43.27, Support::Tripod) && !shakes(0.01, 300.0, 43.27, Support::Beanbag));
        for s in Support::ALL {
            assert_eq!(s.to_string().parse(), Ok(s));
        }
        assert!(!shakes(60.0, 60.0, 43.27, Support::Handheld), "at the limit");
    }
}
