//! How likely a value is on the gear there is. Unlikely is not impossible: a
//! borrowed lens is spoken of too.

use crate::exposure::{Aperture, ApertureStep, Shutter, ShutterStep};
use crate::facts::FrameNumber;
use crate::kit::{Camera, Focal, Kit, Lens};

use super::ways::{Way, add};
use crate::language::text::marks;

// How likely a value is on the gear, 0 to 1; see also below. Choices.
/// A speed that no dial has, where no camera is known.
const NO_MARK: f64 = 0.3;
/// A time longer than the dial goes, held by hand.
const HELD: f64 = 0.9;
/// A focal length between the ends of a zoom: often said loosely.
const ON_ZOOM: f64 = 0.9;
/// A usual focal length where no lens is known.
const ANY_LENS: f64 = 0.8;
/// An exposure index that no film or meter is marked with.
const NO_INDEX: f64 = 0.4;
/// Readings of words that weigh no more are not taken for a mark beside them.
const WELL_SAID: f64 = 0.3;
/// Apertures less likely than this are taken for one beside them.
const LIKELY_MARK: f64 = 0.5;
/// Marks no farther apart than this are one. Stops.
const SAME_MARK: f64 = 0.02;

/// Off every mark of the dial.
pub const OFF_DIAL: f64 = 0.04;
/// A neighbouring mark said loosely: 1/50 for 1/60.
const LOOSELY: f64 = 0.10;
/// A full mark that an f-number off every mark loosely stands for.
const LOOSE_MARK: f64 = 0.2;
/// How far, in stops, a neighbouring mark can be meant loosely.
const LOOSELY_WITHIN: f64 = 0.40;
/// A mark of a finer series than the ring is known to have.
const FINER_MARK: f64 = 0.3;
/// Half-stop marks on a ring of unknown steps.
const HALF_MARK: f64 = 0.6;
/// Between the marks but within the lens's range.
const OFF_MARK: f64 = 0.15;
/// Outside what the lens can do.
const OUT_OF_RANGE: f64 = 0.05;
/// A focal length no lens of the kit has.
const NO_SUCH_LENS: f64 = 0.1;

/// The gear that a value is weighed against.
#[derive(Debug, Clone, Copy)]
pub struct Gear<'a> {
    /// The kit.
    pub kit: &'a Kit,
    /// The camera in hand, when known.
    pub camera: Option<&'a Camera>,
    /// The lens on it, when known.
    pub lens: Option<&'a Lens>,
}

impl<'a> Gear<'a> {
    fn cameras(&self) -> impl Iterator<Item = &'a Camera> {
        let one = self.camera;
        self.kit.cameras.iter().filter(move |c| one.is_none_or(|o| o.name == c.name))
    }

    /// Lenses that may be on the camera.
    pub fn lenses(&self) -> impl Iterator<Item = &'a Lens> {
        let one = self.lens;
        let camera = self.camera;
        self.kit
            .lenses
            .iter()
            .filter(move |l| one.is_none_or(|o| o.name == l.name))
            .filter(move |l| camera.is_none_or(|c| l.fits(&c.name)))
    }

    /// How likely a shutter setting is, 0 to 1.
    pub fn shutter(&self, s: Shutter) -> f64 {
        if self.kit.cameras.is_empty() {
            return match s {
                Shutter::Timed(s) if !ShutterStep::Third.has(s) => NO_MARK,
                _ => 1.0,
            };
        }
        let allowed = |c: &Camera| match s {
            // Longer than the dial goes, a time is held on B.
            Shutter::Timed(t) if c.dial.slowest().is_some_and(|m| t.seconds() > m.seconds() * 1.3) => HELD,
            Shutter::Timed(_) | Shutter::Bulb(_) if c.dial.allows(s) => 1.0,
            Shutter::Time(_) => {
                if c.dial.has_time() {
                    1.0
                } else {
                    OFF_DIAL
                }
            }
            _ => OFF_DIAL,
        };
        self.cameras().map(allowed).fold(0.0, f64::max)
    }

    /// Adds marks of the dial that a speed off the dial may loosely stand for.
    pub fn loosen(&self, ways: &mut Vec<Way<Shutter>>) {
        let off: Vec<(Shutter, f64)> = ways
            .iter()
            .filter(|w| self.shutter(w.value) <= OFF_DIAL && w.weight > WELL_SAID)
            .map(|w| (w.value, w.weight))
            .collect();
        for (s, weight) in off {
            let Shutter::Timed(speed) = s else { continue };
            for camera in self.cameras() {
                if let Some((mark, apart)) = camera.dial.nearest(speed)
                    && apart.abs() < LOOSELY_WITHIN
                    && apart.abs() > SAME_MARK
                {
                    add(ways, Shutter::Timed(mark), weight * LOOSELY);
                }
            }
        }
    }

    fn steps(&self) -> (bool, bool) {
        // (half marks, third marks) that the ring is known to have.
        let mut half = false;
        let mut third = false;
        for l in self.lenses() {
            match l.step {
                Some(ApertureStep::Half) => half = true,
                Some(ApertureStep::Third) => third = true,
                _ => {}
            }
        }
        for c in self.cameras() {
            match c.dial.step() {
                ShutterStep::Third => third = true,
                ShutterStep::Half => half = true,
                _ => {}
            }
        }
        (half, third)
    }

    /// How likely an aperture is, 0 to 1.
    pub fn aperture(&self, a: Aperture) -> f64 {
        let (half, third) = self.steps();
        let is = |step: ApertureStep| step.has(a);
        let lens_end = self.lenses().any(|l| l.widest == Some(a) || l.smallest == Some(a));
        let third = third || self.kit.cameras.is_empty();
        let stepped = is(ApertureStep::Third) && third || is(ApertureStep::Half) && half;
        let mark = if is(ApertureStep::Full) || lens_end || stepped {
            1.0
        } else if is(ApertureStep::Half) {
            HALF_MARK
        } else if is(ApertureStep::Third) {
            FINER_MARK
        } else {
            OFF_MARK
        };
        let mut any = false;
        let fits = self.lenses().any(|l| {
            any = true;
            l.allows(a)
        });
        if !any {
            let usual = (1.0..=64.0).contains(&a.number());
            return mark * if usual { 1.0 } else { OUT_OF_RANGE };
        }
        mark * if fits { 1.0 } else { OUT_OF_RANGE }
    }

    /// Adds full marks that an aperture off the marks may loosely stand for.
    pub fn loosen_aperture(&self, ways: &mut Vec<Way<Aperture>>) {
        let off: Vec<(Aperture, f64)> = ways
            .iter()
            .filter(|w| self.aperture(w.value) < LIKELY_MARK && w.weight > WELL_SAID)
            .map(|w| (w.value, w.weight))
            .collect();
        for (a, weight) in off {
            let nearest = ApertureStep::Full
                .marks()
                .into_iter()
                .min_by(|x, y| x.over(a).get().abs().total_cmp(&y.over(a).get().abs()));
            if let Some(mark) = nearest.filter(|m| m.over(a).get().abs() < LOOSELY_WITHIN && *m != a) {
                let off_all = self.aperture(a) <= OFF_MARK;
                add(ways, mark, weight * if off_all { LOOSE_MARK } else { LOOSELY });
            }
        }
    }

    /// How likely a focal length is, 0 to 1.
    pub fn focal(&self, mm: f64) -> f64 {
        let mut any = false;
        let best = self
            .lenses()
            .map(|l| {
                any = true;
                match l.focal {
                    Focal::Prime(_) if l.focal.covers(mm) => 1.0,
                    Focal::Zoom(..) if l.focal.covers(mm) => ON_ZOOM,
                    _ => 0.0,
                }
            })
            .fold(0.0, f64::max);
        if best > 0.0 {
            best
        } else if any {
            NO_SUCH_LENS
        } else if (10.0..=1000.0).contains(&mm) {
            ANY_LENS
        } else {
            NO_SUCH_LENS
        }
    }

    /// How likely an exposure index is, 0 to 1.
    pub fn ei(&self, n: f64) -> f64 {
        let marked = marks::film_speed(n) || n == 12.0 || n == 3.0 || n == 6.0;
        if marked && n <= 12_800.0 { 1.0 } else { NO_INDEX }
    }

    /// How likely a frame number is on a roll of the camera, 0 to 1.
    pub fn frame(&self, n: FrameNumber) -> f64 {
        let most = self.cameras().map(|c| (c.frames, c.format.is_sheet())).max();
        match most {
            None => 1.0,
            Some((_, true)) => 1.0,
            Some((frames, false)) => {
                let spare = if frames >= 24 { 2 } else { 1 };
                let place = n.place().max(0) as u16;
                if place <= frames + spare { 1.0 } else { OFF_DIAL }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exposure::Speed;

    fn kit() -> Kit {
        let text = "[[camera]]\nname = \"old\"\nformat = \"6x9\"\nmarks = [\"1s\", \"1/2\", \"1/5\", \"1/10\", \"1/25\", \"1/50\", \"1/100\", \"B\"]\n\
                    [[lens]]\nname = \"105\"\nfocal_mm = 105\nwidest = 4.5\nsmallest = 32\n";
        Kit::parse(text).unwrap()
    }

    fn timed(n: f64) -> Shutter {
        Shutter::Timed(Speed::nth(n).unwrap())
    }

    #[test]
    fn a_speed_off_the_dial_may_be_the_mark_beside_it() {
        let kit = kit();
        let gear = Gear { kit: &kit, camera: None, lens: None };
        assert_eq!((gear.shutter(timed(50.0)), gear.shutter(timed(60.0))), (1.0, OFF_DIAL));
        assert_eq!(gear.shutter(Shutter::Bulb(None)), 1.0, "B is always there");
        let mut ways = vec![Way::new(timed(60.0), 1.0)];
        gear.loosen(&mut ways);
        assert!(ways.iter().any(|w| w.value == timed(50.0) && w.weight < 1.0), "{ways:?}");
        let mut right = vec![Way::new(timed(50.0), 1.0)];
        gear.loosen(&mut right);
        assert_eq!(right.len(), 1, "a mark is not taken for another");
    }

    #[test]
    fn what_the_lens_cannot_do_is_unlikely_and_not_impossible() {
        let kit = kit();
        let gear = Gear { kit: &kit, camera: None, lens: None };
        let f = |n: f64| gear.aperture(Aperture::new(n).unwrap());
        assert_eq!((f(4.5), f(8.0)), (1.0, 1.0));
        assert!(f(2.8) > 0.0 && f(2.8) < 0.5 && f(45.0) < 0.5);
        assert_eq!((gear.focal(105.0), gear.ei(125.0)), (1.0, 1.0));
        assert!(gear.focal(90.0) > 0.0 && gear.focal(90.0) < 0.5 && gear.ei(130.0) < 0.5);
    }
}
