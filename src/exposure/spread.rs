//! How several frames lie against each other.

use super::Stops;

/// The middle and the spread of some differences of exposure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// How many there were.
    pub count: usize,
    /// The smallest.
    pub low: Stops,
    /// A quarter of them lie at or below.
    pub lower_quarter: Stops,
    /// Half of them lie at or below.
    pub median: Stops,
    /// Three quarters of them lie at or below.
    pub upper_quarter: Stops,
    /// The largest.
    pub high: Stops,
}

impl Spread {
    /// Of at least one difference. Quantiles between two values are drawn straight
    /// between them (type 7 of Hyndman and Fan, 1996).
    pub fn of(all: impl IntoIterator<Item = Stops>) -> Option<Self> {
        let mut sorted: Vec<f64> = all.into_iter().map(Stops::get).filter(|x| x.is_finite()).collect();
        sorted.sort_by(f64::total_cmp);
        let (&low, &high) = (sorted.first()?, sorted.last()?);
        let quantile = |q: f64| {
            let at = q * (sorted.len() - 1) as f64;
            let (below, above) = (sorted[at.floor() as usize], sorted[at.ceil() as usize]);
            Stops::new(below + (above - below) * at.fract())
        };
        Some(Self {
            count: sorted.len(),
            low: Stops::new(low),
            lower_quarter: quantile(0.25),
            median: quantile(0.5),
            upper_quarter: quantile(0.75),
            high: Stops::new(high),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_as_statistics_packages_give_them() {
        let of = |v: &[f64]| Spread::of(v.iter().copied().map(Stops::new));
        // numpy.percentile([-1, 0, 0.5, 2], [25, 50, 75]) is [-0.25, 0.25, 0.875].
        let s = of(&[2.0, -1.0, 0.5, 0.0]).unwrap();
        assert_eq!((s.lower_quarter.get(), s.median.get(), s.upper_quarter.get()), (-0.25, 0.25, 0.875));
        assert_eq!((s.count, s.low.get(), s.high.get()), (4, -1.0, 2.0));
        assert_eq!(of(&[0.7]).unwrap().median.get(), 0.7);
        assert!(of(&[]).is_none() && of(&[f64::NAN]).is_none());
    }
}
