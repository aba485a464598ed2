//! Cautions, where what was photographed or is to be done calls for one.
//!
//! The wording defers to safety data sheets, local code, and people whose trade
//! it is. Sources: on chemicals, a regional waste authority's leaflet on
//! photographic chemicals; on the sun, the American Astronomical Society's
//! statement of 2017; on places, common practice.

use crate::roll::{Frame, Trip};

/// Developing film.
pub const CHEMICALS: &str = "Photographic chemicals can burn, poison or sensitise. Read the safety data sheet of each \
    product, ventilate, wear gloves and eye protection, keep them from children and food, and dispose of them as your \
    local code and waste authority require. Where this sheet and a data sheet differ, the data sheet holds.";
/// Pictures towards the sun.
pub const SUN: &str = "Never point a lens or your eye at the sun without a proper solar filter on the front of the \
    lens: the finder of a camera concentrates it.";
/// Places that can hurt.
pub const PLACES: &str = "No picture is worth ice, traffic, a rail track or a cliff edge. Obey closures and local \
    rules, mind tide and swell, and leave access work to licensed guides or trades.";

const SUN_WORDS: [&str; 9] = [
    "into the sun",
    "sunset",
    "sunrise",
    "eclipse",
    "against the light",
    "contre-jour",
    "back light",
    "backlight",
    "back lit",
];
const PLACE_WORDS: [&str; 22] = [
    "ice",
    "icy",
    "cliff",
    "cliffs",
    "traffic",
    "road",
    "railway",
    "rails",
    "track",
    "tracks",
    "roof",
    "rooftop",
    "crane",
    "scaffold",
    "scaffolding",
    "breakwater",
    "swell",
    "surf",
    "tide",
    "causeway",
    "slipway",
    "ladder",
];

/// The cautions that apply to a trip, in a fixed order.
pub fn for_trip(trip: &Trip) -> Vec<&'static str> {
    let frames = || trip.rolls.iter().flat_map(|r| &r.frames);
    let has = |words: &[&str]| frames().any(|f| mentions(f, words));
    let mut found = Vec::new();
    found.extend(trip.rolls.iter().any(|r| !r.frames.is_empty()).then_some(CHEMICALS));
    found.extend(has(&SUN_WORDS).then_some(SUN));
    found.extend(has(&PLACE_WORDS).then_some(PLACES));
    found
}

/// Whether a frame's subject, place, light or words contain one of these, as
/// whole words.
fn mentions(frame: &Frame, words: &[&str]) -> bool {
    let settled = [&frame.subject, &frame.place, &frame.light].into_iter().flatten().map(|s| s.value.as_str());
    let mut texts = settled.chain(frame.said.iter().map(|q| q.text.as_str()));
    texts.any(|text| {
        let plain: String =
            text.to_lowercase().chars().map(|c| if c.is_alphanumeric() || c == '-' { c } else { ' ' }).collect();
        let plain = format!(" {} ", plain.split_whitespace().collect::<Vec<_>>().join(" "));
        words.iter().any(|w| plain.contains(&format!(" {w} ")))
    })
}

#[cfg(test)]
mod tests {
    use super::super::tests::{harbour_roll, said};
    use super::*;

    #[test]
    fn cautions_follow_what_was_said() {
        let mut roll = harbour_roll();
        for frame in &mut roll.frames {
            (frame.subject, frame.place, frame.light) = (None, None, None);
            frame.said.clear();
        }
        let trip = |roll| Trip { name: "t".into(), rolls: vec![roll] };
        assert_eq!(for_trip(&trip(roll.clone())), [CHEMICALS]);
        roll.frames[0].said = vec![said("Into the sun, from the breakwater.", 1.0)];
        assert_eq!(for_trip(&trip(roll.clone())), [CHEMICALS, SUN, PLACES]);
        roll.frames[0].said = vec![said("a nice price on the notice", 1.0)];
        assert_eq!(for_trip(&trip(roll)), [CHEMICALS]);
        assert_eq!(for_trip(&Trip { name: "t".into(), rolls: vec![] }), [""; 0]);
    }
}
