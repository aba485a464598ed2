//! What settings give the film, and settings that give the same.

use super::{Aperture, ExposureIndex, Shutter, ShutterStep, Speed, Stops};

/// Settings of one exposure, with the light lost on its way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Marked speed, or B or T with its time.
    pub shutter: Shutter,
    /// Marked f-number.
    pub aperture: Aperture,
    /// Index the film was rated at.
    pub ei: ExposureIndex,
    /// Lost to filters, bellows and reciprocity together; 0 or more.
    pub lost: Stops,
}

impl Settings {
    /// Light on the film in stops, on a scale of its own: `log2(t · EI / N²) − lost`.
    /// None for B or T without a time.
    pub fn light(&self) -> Option<f64> {
        let t = self.shutter.seconds()?;
        Some((t * f64::from(self.ei.get())).log2() - self.aperture.av() - self.lost.get())
    }

    /// How much more light the film gets than from `other`, at its index.
    pub fn over(&self, other: &Self) -> Option<Stops> {
        Some(Stops::new(self.light()? - other.light()?))
    }

    /// The speed on `dial` that gives the film the same at another aperture, EI
    /// or loss, and how far it is off. None when no mark is within `within`.
    pub fn equivalent(&self, to: Self, dial: &[Speed], within: Stops) -> Option<(Speed, Stops)> {
        let one_second = Self { shutter: Shutter::whole(1), ..to };
        let wanted = self.light()? - one_second.light()?;
        nearest_speed(dial, wanted.exp2()).filter(|(_, off)| off.size() <= within)
    }
}

/// The mark nearest to `seconds`, compared in stops and not in seconds, and how
/// much more light the mark gives. None for an empty dial or a time that is none.
pub fn nearest_speed(marks: &[Speed], seconds: f64) -> Option<(Speed, Stops)> {
    if !(seconds > 0.0 && seconds.is_finite()) {
        return None;
    }
    marks
        .iter()
        .map(|&mark| (mark, Stops::new((mark.seconds() / seconds).log2())))
        .min_by(|a, b| a.1.size().get().total_cmp(&b.1.size().get()))
}

impl ShutterStep {
    /// The mark nearest to `more` light than `from`, counted on the exact values
    /// of the series. None past its ends or off its grid.
    pub fn shifted(self, from: Speed, more: Stops) -> Option<Speed> {
        let exact = |s| self.exact_tv(s).unwrap_or_else(|| -s.seconds().log2());
        let want = exact(from) - more.get();
        let off = |s: &Speed| (exact(*s) - want).abs();
        self.marks().into_iter().min_by(|a, b| off(a).total_cmp(&off(b))).filter(|s| off(s) < self.stops() / 2.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(shutter: &str, aperture: &str, ei: u32, lost: f64) -> Settings {
        Settings {
            shutter: shutter.parse().unwrap(),
            aperture: aperture.parse().unwrap(),
            ei: ExposureIndex::new(ei).unwrap(),
            lost: Stops::new(lost),
        }
    }

    #[test]
    fn the_dial_finds_the_same_exposure() {
        let dial = ShutterStep::Full.marks();
        let within = Stops::new(0.5);
        let found = |from: Settings, to| from.equivalent(to, &dial, within).map(|(s, _)| s.to_string());
        // Publication E-31 of a film maker: f/16 at 1/60 is f/11 at 1/125.
        assert_eq!(found(at("1/60", "16", 100, 0.0), at("1s", "11", 100, 0.0)).as_deref(), Some("1/125"));
        // Encyclopaedia "Filter factor": red 25, factor 8, 1/250 becomes 1/30.
        assert_eq!(found(at("1/250", "8", 100, 0.0), at("1s", "8", 100, 3.0)).as_deref(), Some("1/30"));
        assert_eq!(found(at("1/125", "5.6", 100, 0.0), at("1s", "8", 400, 0.0)).as_deref(), Some("1/250"));
        assert_eq!(found(at("1/8000", "1.4", 100, 0.0), at("1s", "1", 6400, 0.0)), None, "past the end of the dial");
        assert_eq!(found(at("B", "8", 100, 0.0), at("1s", "8", 100, 0.0)), None, "no time");
    }

    #[test]
    fn a_stop_moves_one_mark_on_the_dial() {
        let moved = |step: ShutterStep, from: Speed, more| step.shifted(from, Stops::new(more)).map(|s| s.to_string());
        assert_eq!(moved(ShutterStep::Full, Speed::fraction(125), 1.0).as_deref(), Some("1/60"));
        assert_eq!(moved(ShutterStep::Full, Speed::fraction(15), -4.0).as_deref(), Some("1/250"));
        assert_eq!(moved(ShutterStep::Half, Speed::whole(15), 0.5).as_deref(), Some("20s"));
        assert_eq!(moved(ShutterStep::Third, Speed::fraction(30), 1.0 / 3.0).as_deref(), Some("1/25"));
        assert_eq!(moved(ShutterStep::Old, Speed::fraction(100), 1.0).as_deref(), Some("1/50"));
        assert_eq!(moved(ShutterStep::Full, Speed::fraction(125), 0.5), None, "no half marks on a full dial");
        assert_eq!(moved(ShutterStep::Full, Speed::whole(60), 1.0), None, "past its end");
    }
}
