//! What is said beside the settings, put into a frame: flash, converter, bellows, focus, rating, place.

use crate::exposure::Stops;
use crate::facts::{Confidence, Field, Flag, Settled, Source};
use crate::kit::Kit;
use crate::language::{Aside, AsideKind};
use crate::roll::record::{Draw, Focus, Frame, OnLens};

use super::state::State;

/// Converters whose factors differ by less are one.
const SAME_TIMES: f64 = 0.05;

/// What a foot is, and a centimetre. Metres; mm.
const FOOT_M: f64 = 0.3048;
const CM_MM: f64 = 10.0;
/// Distances beyond this are no focus scale's. Metres.
const FARTHEST_M: f64 = 1000.0;
/// Converters that are made.
const CONVERTERS: std::ops::RangeInclusive<f64> = 1.1..=4.0;

impl State<'_> {
    /// Puts a converter on a camera or takes it off, as words say; whether they say either.
    pub fn convert(&mut self, asides: &[Aside], camera: Option<usize>) -> bool {
        let told = converted(self.kit, asides);
        if let Some(converter) = &told {
            self.hand(camera).converter.clone_from(converter);
        }
        told.is_some()
    }

    /// The converter on the camera goes into a frame; where it was not said of it, it is carried.
    pub fn converted(&mut self, frame: &mut Frame, camera: Option<usize>, told: bool) {
        frame.extras.converter.clone_from(&self.hand(camera).converter);
        match &frame.extras.converter {
            Some(_) if !told => frame.flag(Flag::Carried(Field::Extras), "not said for this frame"),
            _ => frame.unflag(Flag::Carried(Field::Extras)),
        }
    }
}

/// The converter that is on, or that none is, as words say last; none where they say neither.
pub fn converted(kit: &Kit, asides: &[Aside]) -> Option<Option<OnLens>> {
    asides.iter().rev().find_map(|aside| match aside.kind {
        AsideKind::ConverterOff => Some(None),
        AsideKind::Converter | AsideKind::ConverterOn | AsideKind::ConverterTimes => Some(Some(converter(kit, aside))),
        _ => None,
    })
}

fn converter(kit: &Kit, aside: &Aside) -> OnLens {
    let all = &kit.converters;
    let times = aside.value.filter(|n| CONVERTERS.contains(n));
    let by_times = || times.and_then(|n| all.iter().find(|c| (c.times - n).abs() < SAME_TIMES));
    match aside.gear.and_then(|g| all.get(g)).or_else(by_times) {
        Some(c) => OnLens { name: c.name.clone(), times: Some(c.times), lost: Some(c.lost) },
        None => OnLens {
            name: times.map_or("converter".to_owned(), |n| format!("{n}x converter")),
            times,
            // The f-number grows as the focal length does.
            lost: times.map(|n| Stops::new(2.0 * n.log2())),
        },
    }
}

/// All else that was said beside the settings.
pub fn beside(kit: &Kit, frame: &mut Frame, asides: &[Aside]) {
    for aside in asides {
        let name = aside.gear;
        let x = &mut frame.extras;
        match (aside.kind, aside.value) {
            (AsideKind::Flash, _) => {
                let known = name.and_then(|g| kit.flashes.get(g));
                x.flash = Some(known.map_or("flash".to_owned(), |f| f.name.clone()));
            }
            (AsideKind::NoFlash, _) => x.flash = None,
            (AsideKind::Extension, Some(mm)) => x.draw = Some(Draw::Extension(mm)),
            (AsideKind::ExtensionCm, Some(cm)) => x.draw = Some(Draw::Extension(cm * CM_MM)),
            (AsideKind::ExtensionDouble, _) => x.draw = Some(Draw::FocalLengths(2.0)),
            (AsideKind::ExtensionTimes, Some(n)) => x.draw = Some(Draw::FocalLengths(n)),
            (AsideKind::Tube, Some(mm)) => x.draw = Some(Draw::Tube(mm)),
            (AsideKind::BellowsFactor, Some(n)) => x.draw = Some(Draw::Factor(n)),
            (AsideKind::BellowsStops, Some(n)) if n > 0.0 => x.draw = Some(Draw::Lost(Stops::new(n))),
            // A folding camera has a bellows too: only the kit's own says that the lens was drawn out.
            (AsideKind::Bellows, _) if !kit.bellows.is_empty() => {
                x.draw.get_or_insert(Draw::Unknown);
            }
            (AsideKind::SelfTimer, _) => x.self_timer = true,
            (AsideKind::NoSelfTimer, _) => x.self_timer = false,
            (AsideKind::Focus, Some(m)) => x.focus = distance(m),
            (AsideKind::FocusCm, Some(cm)) => x.focus = distance(cm / 100.0),
            (AsideKind::FocusFeet, Some(feet)) => x.focus = distance(feet * FOOT_M),
            (AsideKind::FocusInfinity, _) => x.focus = Some(Focus::Infinity),
            (AsideKind::Rating, Some(n)) if n.fract() == 0.0 && (1.0..=5.0).contains(&n) => {
                frame.rating = Some(n as u8);
            }
            (AsideKind::Print, _) => x.print = true,
            (AsideKind::NoPrint, _) => x.print = false,
            (AsideKind::Place, _) => {
                let Some(place) = name.and_then(|g| kit.places.get(g)) else { continue };
                let sure = Confidence::new(aside.sure);
                // One that was said plainly is not put aside for one that was nearly said.
                if frame.place.as_ref().is_none_or(|p| p.confidence.get() <= aside.sure) {
                    frame.place = Some(Settled::from_one(place.name.clone(), sure, Source::Voice));
                }
            }
            _ => {}
        }
    }
}

fn distance(metres: f64) -> Option<Focus> {
    (metres > 0.0 && metres <= FARTHEST_M).then_some(Focus::Metres(metres))
}
