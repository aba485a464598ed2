//! Long times stretched, and light lost to a lens drawn out.
//! The order is filter, bellows, then reciprocity. Common practice.

use serde::{Deserialize, Serialize};

use super::{Millimetres, Seconds, Stops};

/// How a film fails in long exposures: `t' = t^p` above one second.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Reciprocity(f64);

impl Reciprocity {
    /// An exponent from 1 (no failure) to 2. Films have about 1.1 to 1.5.
    pub fn new(p: f64) -> Option<Self> {
        (1.0..=2.0).contains(&p).then_some(Self(p))
    }

    /// The exponent.
    pub const fn p(self) -> f64 {
        self.0
    }

    /// The time to give for a metered one; up to a second it stays. None past 100 days.
    /// Source: a film maker's reciprocity sheet, p = 1.31: 10 s becomes 20.4 s.
    ///
    /// ```
    /// use spooltalk::exposure::{Reciprocity, Seconds};
    /// let p = Reciprocity::new(1.25).unwrap();
    /// assert_eq!(p.stretched(Seconds::new(16.0).unwrap()), Seconds::new(32.0));
    /// ```
    pub fn stretched(self, metered: Seconds) -> Option<Seconds> {
        power(metered, self.0)
    }

    /// The metered time that a given one answers to.
    pub fn metered(self, given: Seconds) -> Seconds {
        // Shorter than the given time, so never out of range.
        power(given, 1.0 / self.0).unwrap_or(given)
    }

    /// Light lost at a given (already stretched) time.
    pub fn lost(self, given: Seconds) -> Stops {
        Stops::new((given.get() / self.metered(given).get()).log2())
    }
}

fn power(t: Seconds, exponent: f64) -> Option<Seconds> {
    if t.get() <= 1.0 { Some(t) } else { Seconds::new(t.get().powf(exponent)) }
}

/// Light lost because the lens stands further out than at infinity:
/// `(v / f)²` times the exposure, `v` the extension, `f` the focal length.
/// None when the extension is shorter than the focal length.
/// Source: US Army SS0512: 18 in on a 12 in lens asks for 2.25 times.
pub fn bellows_from_extension(extension: Millimetres, focal: Millimetres) -> Option<Stops> {
    let ratio = extension.get() / focal.get();
    (ratio >= 1.0).then(|| Stops::new(2.0 * ratio.log2()))
}

/// The same from the magnification, image over object: `(1 + m)²`.
/// None below zero. Source: US Army SS0512: 8 of 12 asks for 2.78 times.
pub fn bellows_from_magnification(m: f64) -> Option<Stops> {
    (0.0..=1000.0).contains(&m).then(|| Stops::new(2.0 * (1.0 + m).log2()))
}

/// The same from the distance between subject and lens: `m = f / (u − f)`, thin lens.
/// None within the focal length. Beyond ten focal lengths it is under 0.31 stop.
pub fn bellows_from_distance(distance: Millimetres, focal: Millimetres) -> Option<Stops> {
    let (u, f) = (distance.get(), focal.get());
    (u > f).then(|| f / (u - f)).and_then(bellows_from_magnification)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn s(t: f64) -> Seconds {
        Seconds::new(t).unwrap()
    }

    fn mm(l: f64) -> Millimetres {
        Millimetres::new(l).unwrap()
    }

    #[test]
    fn long_times_are_stretched_and_brought_back() {
        // The first two: a film maker's sheet. The rest: computed from the formula.
        for (p, metered, given) in [
            (1.31, 10.0, 20.4),
            (1.31, 1.0, 1.0),
            (1.31, 0.25, 0.25),
            (1.26, 4.0, 5.74),
            (1.26, 30.0, 72.6),
            (1.26, 120.0, 417.0),
            (1.31, 8.0, 15.2),
            (1.0, 90.0, 90.0),
        ] {
            let film = Reciprocity::new(p).unwrap();
            let stretched = film.stretched(s(metered)).unwrap().get();
            assert!((stretched / given - 1.0).abs() < 0.005, "{p} {metered}: {stretched}");
            assert!((film.metered(s(stretched)).get() - metered).abs() < 1e-9);
            let lost = film.lost(s(stretched)).get();
            assert!((lost - (stretched / metered).log2()).abs() < 1e-9);
        }
        assert_eq!(Reciprocity::new(2.0).unwrap().stretched(s(86_400.0)), None, "some 236 years");
        for bad in [0.99, 2.01, f64::NAN] {
            assert!(Reciprocity::new(bad).is_none());
        }
    }

    #[test]
    fn bellows_worked_examples() {
        let factor = |s: Option<Stops>| s.unwrap().get().exp2();
        assert!((factor(bellows_from_extension(mm(457.2), mm(304.8))) - 2.25).abs() < 1e-9);
        assert!((factor(bellows_from_magnification(8.0 / 12.0)) - 2.78).abs() < 0.01);
        assert!((factor(bellows_from_magnification(1.0)) - 4.0).abs() < 1e-9);
        // At twice the focal length the image is life size.
        assert!((factor(bellows_from_distance(mm(200.0), mm(100.0))) - 4.0).abs() < 1e-9);
        assert!(bellows_from_distance(mm(1100.0), mm(100.0)).unwrap().get() < 0.31);
        assert!(bellows_from_extension(mm(90.0), mm(100.0)).is_none());
        assert!(bellows_from_distance(mm(100.0), mm(100.0)).is_none());
        assert!(bellows_from_magnification(-0.1).is_none());
    }
}
