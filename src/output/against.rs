//! Where a frame's exposure lies against the daylight rule.

use crate::exposure::{ExposureValue, Light, Spread, Stops, scene_ev100};
use crate::roll::Frame;

use super::row::frame_ev100;

/// A frame beside the rule for the light that was said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AgainstRule {
    /// The light.
    pub light: Light,
    /// Exposure given over what the light usually asks for; zero within its
    /// range. Light lost to filters is taken off, compensation is not: it is
    /// part of what was given.
    pub over: Stops,
}

impl AgainstRule {
    /// Of a frame whose settings, index and light are known, and whose filters
    /// have a known loss.
    pub fn of(frame: &Frame) -> Option<Self> {
        // What a flash adds has no rule.
        if frame.extras.flash.is_some() {
            return None;
        }
        let light: Light = frame.light.as_ref()?.value.parse().ok()?;
        Some(Self { light, over: light.over_rule(at_film(frame)?) })
    }
}

/// EV at ISO 100 that the film saw: that of the settings, with what
/// filters, converter and bellows lost added back.
pub fn at_film(frame: &Frame) -> Option<ExposureValue> {
    let lost = match (&frame.filter, frame.filter_stops) {
        (_, Some(lost)) => lost,
        (Some(f), None) if !f.value.is_none() => return None,
        _ => Stops::ZERO,
    };
    Some(scene_ev100(frame_ev100(frame)?, lost + frame.extras.lost()?, Stops::ZERO))
}

/// How the frames lie against the rule.
pub fn spread(frames: &[Frame]) -> Option<Spread> {
    Spread::of(frames.iter().filter_map(AgainstRule::of).map(|a| a.over))
}

/// The least and the most light among the frames, as EV at ISO 100 at the film:
/// brightest scene first.
pub fn range(frames: &[Frame]) -> Option<(ExposureValue, ExposureValue)> {
    let all = || frames.iter().filter_map(at_film).map(ExposureValue::get);
    let (high, low) = (all().max_by(f64::total_cmp)?, all().min_by(f64::total_cmp)?);
    Some((ExposureValue::new(high), ExposureValue::new(low)))
}

#[cfg(test)]
mod tests {
    use super::super::tests::harbour_roll;
    use super::*;

    #[test]
    fn the_filter_is_taken_off_and_compensation_is_not() {
        let frames = harbour_roll().frames;
        // 1/125 at f/5.6 is EV 11.94; EI 80 adds 0.32; two stops of filter: 14.26.
        let against = AgainstRule::of(&frames[0]).unwrap();
        assert_eq!(against.light, Light::FullSun);
        assert!((against.over.get() - 0.74).abs() < 0.01, "{:?}", against.over);
        assert_eq!(AgainstRule::of(&frames[1]), None);
        assert_eq!(spread(&frames).unwrap().count, 1);
        let mut unknown_loss = frames[0].clone();
        unknown_loss.filter_stops = None;
        assert_eq!(AgainstRule::of(&unknown_loss), None);
    }
}
