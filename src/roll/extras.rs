//! What was between lens and film or beside them, and what was said of a frame beyond its settings.

use serde::{Deserialize, Serialize};

use crate::exposure::{Millimetres, Stops, bellows_from_extension, circle_of_confusion, depth_of_field, hyperfocal};
use crate::facts::{Field, Flag};
use crate::kit::Kit;

use super::Frame;

/// A converter on the lens.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OnLens {
    /// Its kit name, or as said.
    pub name: String,
    /// How many times longer it makes the lens, where that is known.
    pub times: Option<f64>,
    /// Light lost, where that is known.
    pub lost: Option<Stops>,
}

/// How far the lens was drawn out beyond where it is sharp at infinity.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Draw {
    /// The distance from lens to film, mm.
    Extension(f64),
    /// The same in focal lengths.
    FocalLengths(f64),
    /// Tubes of so many mm between lens and camera.
    Tube(f64),
    /// So many times the exposure.
    Factor(f64),
    /// So many stops.
    Lost(Stops),
    /// Drawn out, not said how far.
    Unknown,
}

/// What the lens was focused at.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Focus {
    /// Metres.
    Metres(f64),
    /// Infinity.
    Infinity,
}

/// Beside the settings of a frame. Nothing that was not said is in it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Extras {
    /// The flash that was used, by its kit name or `flash`.
    pub flash: Option<String>,
    /// The converter on the lens.
    pub converter: Option<OnLens>,
    /// How far the lens was drawn out.
    pub draw: Option<Draw>,
    /// Light lost to that, where it is known.
    pub draw_lost: Option<Stops>,
    /// It was taken by the self-timer.
    pub self_timer: bool,
    /// What the lens was focused at.
    pub focus: Option<Focus>,
    /// From where to where it is sharp, metres; far is none at infinity. From focus, focal length, aperture and format.
    pub sharp: Option<(f64, Option<f64>)>,
    /// A print of it is wanted.
    pub print: bool,
}

/// Bellows factors above this are no camera's: magnification nine.
const MOST_FACTOR: f64 = 100.0;

impl Extras {
    /// Whether nothing was said.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Light lost to converter and bellows; none where something is on that loses an unknown amount.
    pub fn lost(&self) -> Option<Stops> {
        let converter = self.converter.as_ref().map_or(Some(Stops::ZERO), |c| c.lost)?;
        let draw = self.draw.map_or(Some(Stops::ZERO), |_| self.draw_lost)?;
        Some(Stops::new(converter.get() + draw.get()))
    }

    /// What is on or was used, as the table has it.
    pub fn names(&self) -> Vec<String> {
        let draw = self.draw.map(|d| match d {
            Draw::Extension(mm) => format!("bellows {mm} mm"),
            Draw::FocalLengths(n) => format!("bellows {n} focal lengths"),
            Draw::Tube(mm) => format!("tube {mm} mm"),
            Draw::Factor(n) => format!("bellows factor {n}"),
            Draw::Lost(_) | Draw::Unknown => "bellows".to_owned(),
        });
        let converter = self.converter.as_ref().map(|c| c.name.clone());
        let timer = self.self_timer.then(|| "self-timer".to_owned());
        let print = self.print.then(|| "print".to_owned());
        [self.flash.clone(), converter, draw, timer, print].into_iter().flatten().collect()
    }
}

/// What follows from converter, bellows and place once the rest of a frame is settled: the focal length that
/// counts, the light lost, where it was. To be called once.
pub(super) fn fit(frame: &mut Frame, kit: &Kit) {
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
    use crate::roll::Status;

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
