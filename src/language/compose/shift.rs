//! Settings moved by stops or clicks.

use crate::exposure::{Aperture, ApertureStep, Shutter, Speed, Stops};

use crate::language::readings::{Gear, Shift};

/// Stops of a click where the ring has half stops.
const HALF: f64 = 0.5;

/// So far a mark may be off the stops that were said, since marks are rounded.
const ROUNDED: f64 = 0.1;
/// Clicks of a ring that nothing is known of, stops.
const CLICK: f64 = 0.5;

/// An aperture moved; `more` is more light.
pub(super) fn aperture(from: Aperture, by: Shift, more: bool, gear: &Gear<'_>) -> Option<Aperture> {
    let click = gear.lenses().find_map(|l| l.step).map_or(CLICK, |s| match s {
        ApertureStep::Full => 1.0,
        ApertureStep::Half => HALF,
        ApertureStep::Third => 1.0 / 3.0,
    });
    let stops = signed(by.amount * if by.clicks { click } else { 1.0 }, more);
    let off = |a: &Aperture| (a.over(from).get().abs() - stops.abs()).abs();
    [ApertureStep::Full, ApertureStep::Half, ApertureStep::Third]
        .into_iter()
        .filter_map(|step| step.shifted(from, Stops::new(stops)))
        .min_by(|a, b| (off(a) - ROUNDED).max(0.0).total_cmp(&(off(b) - ROUNDED).max(0.0)))
        .or_else(|| Aperture::new(from.number() * (-stops / 2.0).exp2()))
}

/// A shutter setting moved; `more` is longer.
pub(super) fn shutter(from: Shutter, by: Shift, more: bool, gear: &Gear<'_>) -> Option<Shutter> {
    let cameras = || gear.kit.cameras.iter().filter(|c| gear.camera.is_none_or(|g| g.name == c.name));
    let click = cameras().next().map_or(1.0, |c| c.dial.step().stops());
    let stops = signed(by.amount * if by.clicks { click } else { 1.0 }, more);
    match from {
        Shutter::Timed(s) => cameras()
            .find_map(|c| c.dial.shifted(s, stops))
            .or_else(|| Speed::seconds_mark(s.seconds() * stops.exp2()))
            .map(Shutter::Timed),
        Shutter::Bulb(Some(_)) => from.seconds().map(|s| Shutter::bulb(s * stops.exp2())),
        Shutter::Time(Some(_)) => from.seconds().map(|s| Shutter::time(s * stops.exp2())),
        other => Some(other),
    }
}

fn signed(stops: f64, more: bool) -> f64 {
    if more { stops } else { -stops }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::Kit;

    fn stops(amount: f64) -> Shift {
        Shift { amount, clicks: false, more: None, bracket: false, of_shutter: None }
    }

    fn clicks(amount: f64) -> Shift {
        Shift { clicks: true, ..stops(amount) }
    }

    fn kit() -> Kit {
        let text = "[[camera]]\nname = \"a\"\nformat = \"135\"\nshutters = [\"1s\", \"1/1000\"]\nshutter_step = \"full\"\n\
                    [[lens]]\nname = \"50\"\nfocal_mm = 50\naperture_step = \"third\"\n";
        Kit::parse(text).unwrap()
    }

    /// The marks on either side are those of the series in US Navy NAVEDTRA 14209, chapter 4 (`tests/reference`).
    #[test]
    fn dials_move_along_their_marks() {
        let kit = kit();
        let gear = Gear { kit: &kit, camera: None, lens: None };
        let f = |n: f64| Aperture::new(n).unwrap();
        let timed = |n: f64| Shutter::Timed(Speed::nth(n).unwrap());
        assert_eq!(aperture(f(8.0), stops(1.0), true, &gear), Some(f(5.6)));
        assert_eq!(aperture(f(8.0), stops(2.0), false, &gear), Some(f(16.0)));
        assert_eq!(aperture(f(8.0), clicks(3.0), false, &gear), Some(f(11.0)), "three clicks of a third");
        assert_eq!(shutter(timed(125.0), stops(1.0), true, &gear), Some(timed(60.0)));
        assert_eq!(shutter(timed(125.0), clicks(2.0), false, &gear), Some(timed(500.0)));
        assert_eq!(shutter(Shutter::bulb(8.0), stops(1.0), true, &gear), Some(Shutter::bulb(16.0)));
        assert_eq!(
            shutter(Shutter::Bulb(None), stops(1.0), true, &gear),
            Some(Shutter::Bulb(None)),
            "nothing to count from"
        );
    }
}
