//! What follows from what was on the lens and from the place, once the rest of a frame is settled.

use crate::exposure::{Millimetres, Stops, bellows_from_extension, circle_of_confusion, depth_of_field, hyperfocal};
use crate::facts::{Field, Flag};
use crate::kit::Kit;

use crate::roll::record::{Draw, Focus, Frame};

/// Bellows factors above this are no camera's: magnification nine.
const MOST_FACTOR: f64 = 100.0;

/// What follows from converter, bellows and place once the rest of a frame is settled: the focal length that
/// counts, the light lost, where it was. To be called once.
pub fn fit(frame: &mut Frame, kit: &Kit) {
    let focal = frame.focal_mm.as_ref().map(|f| f.value);
    frame.extras.draw_lost = frame.extras.draw.and_then(|d| lost_to(d, focal));
    if frame.extras.draw.is_some() && frame.extras.draw_lost.is_none() {
        let why = match (frame.extras.draw, focal) {
            (Some(Draw::Unknown), _) => "bellows were on, not said how far: the light that they cost is not known",
            (_, None) => "the focal length is not known, so neither is the light that the extension costs",
            _ => "no lens of this focal length is drawn out so: the light that it costs is not known",
        };
        frame.flag(Flag::Unsure(Field::Extras), why);
    }
    if let Some(converter) = frame.extras.converter.clone() {
        match converter.times {
            Some(times) => {
                if let Some(focal) = &mut frame.focal_mm {
                    focal.why.push(format!("{} mm, {times} times with the {}", focal.value, converter.name));
                    focal.value *= times;
                    focal.others.iter_mut().for_each(|o| o.value *= times);
                }
            }
            None => frame.flag(
                Flag::Odd(Field::Extras),
                "no converter of the kit is called so: focal length and light are without it",
            ),
        }
    }
    depth(frame, kit);
    // A place by name is no picture's subject.
    let named = frame.place.as_ref().map(|p| p.value.to_lowercase());
    if named.is_some() && named == frame.subject.as_ref().map(|s| s.value.to_lowercase()) {
        frame.subject = None;
    }
    if frame.position.is_none()
        && let Some(place) = frame.place.as_ref().and_then(|p| kit.places.iter().find(|k| k.name == p.value))
    {
        frame.position = place.position;
    }
}

/// Works out from where to where a frame is sharp, anew when its settings change.
pub fn depth(frame: &mut Frame, kit: &Kit) {
    frame.extras.sharp = sharp(frame, kit);
}

/// From where to where, metres; far is none at infinity.
fn sharp(frame: &Frame, kit: &Kit) -> Option<(f64, Option<f64>)> {
    let focus = frame.extras.focus?;
    let camera = kit.camera(&frame.camera.as_ref()?.value)?;
    let focal = Millimetres::new(frame.focal_mm.as_ref()?.value)?;
    let aperture = frame.aperture.as_ref()?.value;
    let circle = circle_of_confusion(Millimetres::new(camera.format.diagonal_mm())?);
    Some(match focus {
        Focus::Infinity => (hyperfocal(focal, aperture, circle)?.get() / 1000.0, None),
        Focus::Metres(m) => {
            let depth = depth_of_field(Millimetres::new(m * 1000.0)?, focal, aperture, circle)?;
            (depth.near.get() / 1000.0, depth.far.map(|f| f.get() / 1000.0))
        }
    })
}

/// Light lost to an extension: `(v/f)²`. Source: US Army SS0512 (18 inches of draw with a 12 inch lens: 2.25).
fn lost_to(draw: Draw, focal: Option<f64>) -> Option<Stops> {
    let mm = Millimetres::new;
    let at = |v: f64| {
        let f = focal?;
        // Nearer than the focal length nothing is sharp.
        (v >= f).then(|| bellows_from_extension(mm(v)?, mm(f)?))?
    };
    match draw {
        Draw::Extension(v) => at(v),
        Draw::Tube(t) => at(focal? + t),
        Draw::FocalLengths(n) => (n >= 1.0).then(|| Stops::new(2.0 * n.log2())),
        Draw::Factor(n) => (1.0..=MOST_FACTOR).contains(&n).then(|| Stops::new(n.log2())),
        Draw::Lost(stops) => Some(stops),
        Draw::Unknown => None,
    }
    .filter(|s| s.get() <= MOST_FACTOR.log2())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::{Confidence, FrameNumber, Settled, Source};
    use crate::roll::record::{Extras, OnLens, Status};

    fn frame(focal: f64, extras: Extras) -> Frame {
        let focal_mm = Some(Settled::from_one(focal, Confidence::new(0.95), Source::Voice));
        Frame { focal_mm, extras, ..Frame::blank(FrameNumber::new(1), Status::Ok) }
    }

    fn drawn(focal: f64, draw: Draw) -> Frame {
        let mut frame = frame(focal, Extras { draw: Some(draw), ..Extras::default() });
        fit(&mut frame, &Kit::default());
        frame
    }

    #[test]
    fn extension_costs_the_square_of_its_length() {
        // US Army SS0512: a 12 inch lens drawn out to 18 inches, factor 2.25, 8 s becomes 18 s.
        let lost = drawn(304.8, Draw::Extension(457.2)).extras.lost().unwrap();
        assert!((lost.get().exp2() - 2.25).abs() < 1e-9);
        // Twice the focal length is life size: two stops, as every table has it.
        assert_eq!(drawn(210.0, Draw::Extension(420.0)).extras.lost(), Some(Stops::new(2.0)));
        assert_eq!(drawn(210.0, Draw::FocalLengths(2.0)).extras.lost(), Some(Stops::new(2.0)));
        assert_eq!(drawn(50.0, Draw::Tube(50.0)).extras.lost(), Some(Stops::new(2.0)));
        for unknown in [Draw::Extension(100.0), Draw::Unknown, Draw::Factor(0.5)] {
            let frame = drawn(210.0, unknown);
            assert_eq!(frame.extras.lost(), None, "{unknown:?}");
            assert_eq!(frame.flags, [Flag::Unsure(Field::Extras)]);
        }
    }

    #[test]
    fn a_converter_makes_the_lens_longer() {
        let converter = OnLens { name: "2x".to_owned(), times: Some(2.0), lost: Some(Stops::new(2.0)) };
        let mut frame = frame(150.0, Extras { converter: Some(converter), ..Extras::default() });
        fit(&mut frame, &Kit::default());
        assert_eq!(frame.focal_mm.unwrap().value, 300.0);
        assert_eq!(frame.extras.lost(), Some(Stops::new(2.0)));
        assert_eq!(frame.extras.names(), ["2x"]);
    }
}
