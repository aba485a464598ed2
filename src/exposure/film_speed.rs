//! Film speed: what is on the box and what the photographer rates it at.

use serde::{Deserialize, Serialize};

use super::Stops;

/// The arithmetic ISO speed printed on the box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct BoxSpeed(u32);

/// The exposure index the photographer meters with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ExposureIndex(u32);

/// Marked speeds a third of a stop apart, 1/1° up. Source: a cassette speed-code table
/// from 25 to 5000; a public list of 1999 below; the ends from memory. Speeds under 1 and
/// with a fraction are left out.
pub const MARKED_SPEEDS: [u32; 39] = [
    1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 32, 40, 50, 64, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800,
    1000, 1250, 1600, 2000, 2500, 3200, 4000, 5000, 6400, 8000, 10_000, 12_500,
];

/// Degrees of a speed, `10 log10(S) + 1`, rounded: 21 for 100.
/// Source: an article on ISO 5800; a public answer giving the formula.
pub fn degrees(speed: u32) -> i32 {
    (10.0 * f64::from(speed.max(1)).log10() + 1.0).round() as i32
}

impl BoxSpeed {
    /// A speed from 1 to 1 000 000.
    pub fn new(iso: u32) -> Option<Self> {
        (1..=1_000_000).contains(&iso).then_some(Self(iso))
    }

    /// Arithmetic speed.
    pub const fn get(self) -> u32 {
        self.0
    }
}

impl ExposureIndex {
    /// An index from 1 to 1 000 000.
    pub fn new(ei: u32) -> Option<Self> {
        (1..=1_000_000).contains(&ei).then_some(Self(ei))
    }

    /// Arithmetic index.
    pub const fn get(self) -> u32 {
        self.0
    }

    /// Whether it is one of the marked speeds; an index such as 60 is not.
    pub fn is_marked(self) -> bool {
        MARKED_SPEEDS.contains(&self.0)
    }

    /// The exact APEX speed value that a marked speed stands for: 5 for 100, 6⅓ for 250.
    /// None for an index that is not in the series.
    pub fn exact_sv(self) -> Option<f64> {
        self.is_marked().then(|| 5.0 + f64::from(degrees(self.0) - 21) / 3.0)
    }

    /// Exposure given over box speed: rating a film slower gives it more light.
    pub fn over_box(self, speed: BoxSpeed) -> Stops {
        Stops::new((f64::from(speed.0) / f64::from(self.0)).log2())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_film_rated_slower_gets_more_light() {
        let over = |ei, iso| ExposureIndex::new(ei).unwrap().over_box(BoxSpeed::new(iso).unwrap()).in_thirds();
        assert_eq!(over(80, 100), "+1/3");
        assert_eq!(over(1600, 400), "-2");
        assert_eq!(over(64, 125), "+1");
        assert_eq!(over(160, 160), "0");
        assert!(ExposureIndex::new(0).is_none() && BoxSpeed::new(2_000_000).is_none());
    }
}
