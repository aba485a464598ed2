//! How a frame's settings lie to what the daylight rule asks for in the light that was said.

use crate::exposure::{Light, Stops, ev100, scene_ev100};
use crate::kit::Kit;

use crate::roll::record::Frame;

/// The light, and how much more exposure was given than it asks for.
///
/// None where the light, a setting or the loss of a filter on the lens is not known.
pub fn over_rule(frame: &Frame, kit: &Kit) -> Option<(Light, Stops)> {
    // What a flash adds has no rule.
    if frame.extras.flash.is_some() {
        return None;
    }
    let light: Light = frame.light.as_ref()?.value.parse().ok()?;
    let settings = ev100(frame.aperture.as_ref()?.value, frame.shutter.as_ref()?.value, frame.ei.as_ref()?.value)?;
    let lost = match (frame.filter_stops, &frame.filter) {
        (Some(stops), _) => stops,
        (None, Some(filter)) => kit.lost_to(&filter.value)?,
        (None, None) => Stops::ZERO,
    };
    let lost = lost + frame.extras.lost()?;
    let comp = frame.comp.as_ref().map_or(Stops::ZERO, |c| c.value);
    Some((light, light.over_rule(scene_ev100(settings, lost, comp))))
}
