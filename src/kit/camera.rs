//! Cameras and the marks of their shutter dials.

use crate::exposure::{Shutter, ShutterStep, Speed};

use super::Format;
use super::imprint::Pattern;

/// A camera.
#[derive(Debug, Clone)]
pub struct Camera {
    /// As it stands in the output.
    pub name: String,
    /// What the photographer calls it.
    pub said: Vec<String>,
    /// Film format.
    pub format: Format,
    /// Frames on a roll.
    pub frames: u16,
    /// Shutter dial.
    pub dial: Dial,
    /// Fastest marked speed with a leaf-shutter lens.
    pub leaf_max: Option<Speed>,
    /// Fastest speed at which its shutter is open all at once, for a flash; none where any speed is.
    pub flash_sync: Option<Speed>,
    /// Holders of sheet film, two sides each, where the kit says how many there are.
    pub holders: Option<u16>,
    /// How it writes on the film edge, as in `{shutter} F{aperture}`.
    pub imprint: Option<Pattern>,
}

/// The marks a shutter can be set to. B is always there.
#[derive(Debug, Clone, PartialEq)]
pub struct Dial {
    marks: Vec<Speed>,
    step: ShutterStep,
    time: bool,
}

impl Dial {
    /// A dial from its marks; their order does not matter.
    pub fn new(mut marks: Vec<Speed>, step: ShutterStep, time: bool) -> Self {
        marks.sort_by(|a, b| b.seconds().total_cmp(&a.seconds()));
        marks.dedup();
        Self { marks, step, time }
    }

    /// Every mark of a series from `slowest` to `fastest`, both included.
    pub fn between(slowest: Speed, fastest: Speed, step: ShutterStep, time: bool) -> Self {
        let near = 1.02;
        let marks = step
            .marks()
            .into_iter()
            .filter(|m| m.seconds() <= slowest.seconds() * near && m.seconds() >= fastest.seconds() / near)
            .chain([slowest, fastest])
            .collect();
        Self::new(marks, step, time)
    }

    /// The marks, slow to fast.
    pub fn marks(&self) -> &[Speed] {
        &self.marks
    }

    /// How far apart they stand.
    pub fn step(&self) -> ShutterStep {
        self.step
    }

    /// Whether it has T.
    pub fn has_time(&self) -> bool {
        self.time
    }

    /// Whether a mark of this very time is on the dial (within 2 %).
    pub fn has(&self, speed: Speed) -> bool {
        self.mark_at(speed).is_some()
    }

    /// The dial's mark for this very time (within 2 %).
    pub fn mark_at(&self, speed: Speed) -> Option<Speed> {
        let t = speed.seconds();
        self.marks.iter().copied().find(|m| (m.seconds() / t - 1.0).abs() < 0.02)
    }

    /// The nearest mark, and how many stops `speed` lies from it (plus: longer).
    pub fn nearest(&self, speed: Speed) -> Option<(Speed, f64)> {
        self.marks
            .iter()
            .map(|&m| (m, (speed.seconds() / m.seconds()).log2()))
            .min_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
    }

    /// Whether the shutter can do this.
    pub fn allows(&self, shutter: Shutter) -> bool {
        match shutter {
            Shutter::Timed(s) => self.has(s),
            Shutter::Bulb(_) => true,
            Shutter::Time(_) => self.time,
        }
    }

    /// The slowest mark.
    pub fn slowest(&self) -> Option<Speed> {
        self.marks.first().copied()
    }

    /// The fastest mark.
    pub fn fastest(&self) -> Option<Speed> {
        self.marks.last().copied()
    }

    /// The mark `stops` more light (longer) than `from`, when the dial has one
    /// within a third of its step.
    pub fn shifted(&self, from: Speed, stops: f64) -> Option<Speed> {
        // One step on an evenly marked dial is the next mark, whatever its rounding.
        if let Some(i) = self.marks.iter().position(|m| *m == from) {
            let steps = stops / self.step.stops();
            if (steps - steps.round()).abs() < 0.05 {
                let target = i as i64 - steps.round() as i64;
                let mark = usize::try_from(target).ok().and_then(|t| self.marks.get(t)).copied()?;
                let moved = (mark.seconds() / from.seconds()).log2();
                if (moved - stops).abs() < 0.45 * stops.abs().max(1.0) {
                    return Some(mark);
                }
            }
        }
        let want = from.seconds() * stops.exp2();
        self.marks.iter().copied().find(|m| (m.seconds() / want).log2().abs() < self.step.stops().min(0.5) * 0.45)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_dial_steps_mark_by_mark() {
        let dial = Dial::between(Speed::whole(30), Speed::fraction(1000), ShutterStep::Full, false);
        assert_eq!(dial.marks().len(), 16);
        assert_eq!(dial.shifted(Speed::fraction(125), 1.0), Some(Speed::fraction(60)));
        assert_eq!(dial.shifted(Speed::fraction(1000), -1.0), None);
        assert_eq!(dial.shifted(Speed::fraction(60), 2.0), Some(Speed::fraction(15)));
        assert_eq!(dial.shifted(Speed::fraction(60), 1.0 / 3.0), None);
    }

    #[test]
    fn the_old_series_steps_by_its_own_marks() {
        let dial = Dial::between(Speed::whole(1), Speed::fraction(200), ShutterStep::Old, true);
        assert_eq!(dial.shifted(Speed::fraction(100), 1.0), Some(Speed::fraction(50)));
        assert_eq!(dial.shifted(Speed::fraction(10), 1.0), Some(Speed::fraction(5)));
        assert!(dial.has(Speed::fraction(25)) && !dial.has(Speed::fraction(125)));
    }
}
