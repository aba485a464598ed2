//! A frame as a row of text cells: the columns of the contract, in their order.

use crate::exposure::{ExposureValue, ev100};
use crate::facts::{COLUMNS, RollName};
use crate::roll::{Focus, Frame};

/// Columns that follow the others where a frame of the roll has one: what was said beside
/// the settings, and what the photographer adds by hand.
pub const OWN_COLUMNS: [&str; 5] = ["extras", "extra_stops", "focus_m", "rating", "remark"];

/// Columns that hold plain numbers.
pub const NUMBERS: [&str; 14] = [
    "focal_mm",
    "box_iso",
    "ei",
    "shutter_s",
    "aperture",
    "filter_stops",
    "comp_stops",
    "ev100",
    "lat",
    "lon",
    "confidence",
    "at_s",
    "extra_stops",
    "focus_m",
];

/// Exposure value of a frame's settings, referred to ISO 100 at the index used.
/// None unless shutter time, aperture and index are all known.
pub fn frame_ev100(frame: &Frame) -> Option<ExposureValue> {
    ev100(frame.aperture.as_ref()?.value, frame.shutter.as_ref()?.value, frame.ei.as_ref()?.value)
}

/// A number with at most `places` decimals and no zeros at its end.
pub(super) fn number(n: f64, places: usize) -> String {
    let text = format!("{n:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A confidence with two decimals, never rounded up: 0.996 is not sure.
pub(super) fn confidence(p: f64) -> String {
    format!("{:.2}", (p * 100.0 + 1e-9).floor() / 100.0)
}

/// What the lens was focused at: metres, or `infinity`.
pub fn focus_text(focus: Focus) -> String {
    match focus {
        Focus::Metres(m) => number(m, 2),
        Focus::Infinity => "infinity".to_owned(),
    }
}

/// The row's cells with their columns; unknown is empty. The photographer's own
/// columns come last.
pub fn cells(roll: &RollName, frame: &Frame) -> Vec<(&'static str, String)> {
    fn text<T: ToString>(value: Option<T>) -> String {
        value.map(|v| v.to_string()).unwrap_or_default()
    }
    let joined = |parts: Vec<&str>, by: &str| parts.join(by);
    let shutter = frame.shutter.as_ref().map(|s| s.value);
    let first = frame.said.first();
    let values = [
        roll.to_string(),
        frame.number.to_string(),
        frame.status.as_str().to_owned(),
        frame.scans.join("|"),
        text(frame.taken.as_ref().map(|t| t.rfc3339())),
        text(frame.camera.as_ref().map(|s| &s.value)),
        text(frame.lens.as_ref().map(|s| &s.value)),
        text(frame.film.as_ref().map(|s| &s.value)),
        text(frame.focal_mm.as_ref().map(|s| number(s.value, 2))),
        text(frame.box_iso.map(|s| s.get())),
        text(frame.ei.as_ref().map(|s| s.value.get())),
        text(shutter),
        text(shutter.and_then(|s| s.seconds()).map(|s| number(s, 6))),
        text(frame.aperture.as_ref().map(|s| s.value)),
        text(frame.filter.as_ref().map(|s| &s.value)),
        text(frame.filter_stops.map(|s| number(s.get(), 2))),
        text(frame.comp.as_ref().map(|s| number(s.value.get(), 2))),
        text(frame_ev100(frame).map(|ev| format!("{:.1}", ev.get()))),
        text(frame.light.as_ref().map(|s| &s.value)),
        text(frame.support.as_ref().map(|s| &s.value)),
        text(frame.subject.as_ref().map(|s| &s.value)),
        text(frame.place.as_ref().map(|s| &s.value)),
        text(frame.position.map(|p| number(p.lat, 6))),
        text(frame.position.map(|p| number(p.lon, 6))),
        text(frame.process.as_ref().map(|s| &s.value)),
        joined(frame.sources().iter().map(|s| s.as_str()).collect(), "+"),
        text(frame.confidence().map(confidence)),
        frame.flags.iter().map(ToString::to_string).collect::<Vec<_>>().join("|"),
        joined(frame.said.iter().map(|q| q.text.as_str()).collect(), " / "),
        text(first.map(|q| &q.at.clip)),
        text(first.map(|q| number(q.at.at_s, 2))),
    ];
    let x = &frame.extras;
    let own = [
        x.names().join("+"),
        text(x.cost().map(|s| number(s.get(), 2))),
        text(x.focus.map(focus_text)),
        text(frame.rating),
        text(frame.remark.as_ref()),
    ];
    COLUMNS.into_iter().zip(values).chain(OWN_COLUMNS.into_iter().zip(own)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_confidence_is_not_rounded_up() {
        assert_eq!(
            [number(120.0, 2), number(0.008, 6), number(-0.004, 2), number(1.0 / 60.0, 6)],
            ["120", "0.008", "0", "0.016667"]
        );
        assert_eq!(
            [confidence(1.0), confidence(0.996), confidence(0.29), confidence(0.0)],
            ["1.00", "0.99", "0.29", "0.00"]
        );
    }
}
