//! What wants a look on a settled frame: what the gear cannot do, what the
//! light does not ask for, what was hardly held still, what is not sure.
//!
//! Flags; never changes a value.

use crate::exposure::{Millimetres, Seconds, Shutter, Support, shake};
use crate::facts::{Field, Flag, Settled};
use crate::kit::{Camera, Kit};

use crate::roll::record::Frame;
use crate::roll::value::over_rule;

/// How far the settings may lie from what the light asks for, stops: the rule's
/// own stop, and two more for side light, back light and intention.
const OFF_THE_RULE: f64 = 3.0;
/// Times from here on are taken for a tripod's where no support was said.
const SURELY_ON_LEGS_S: f64 = 0.5;

/// Raises the flags of one frame. `unsure_below` is the confidence that the
/// user set.
pub fn review(frame: &mut Frame, kit: &Kit, unsure_below: f64) {
    let camera = frame.camera.as_ref().and_then(|c| kit.camera(&c.value));
    for (flag, why) in [gear(frame, kit, camera), light(frame, kit), held(frame, camera)].into_iter().flatten() {
        frame.flag(flag, why);
    }
    for (field, confidence) in confidences(frame) {
        if confidence < unsure_below {
            // Words stand nowhere among the settings: they are told with their doubt.
            let words = match field {
                Field::Subject => frame.subject.as_ref().map(|s| format!("'{}', ", s.value)),
                Field::Place => frame.place.as_ref().map(|s| format!("'{}', ", s.value)),
                _ => None,
            };
            let why = format!("{}{:.0} % sure", words.unwrap_or_default(), confidence * 100.0);
            frame.flag(Flag::Unsure(field), why);
        }
    }
}

/// A time this part of another is the same mark.
const SAME_MARK: f64 = 0.98;

type Raised = Vec<(Flag, String)>;

/// What camera and lens cannot do.
fn gear(frame: &Frame, kit: &Kit, camera: Option<&Camera>) -> Raised {
    let mut raised = Raised::new();
    let mut odd = |field, why| raised.push((Flag::Odd(field), why));
    if let (Some(camera), Some(shutter)) = (camera, &frame.shutter)
        && !camera.dial.allows(shutter.value)
    {
        odd(Field::Shutter, format!("{} has no {}", camera.name, shutter.value));
    }
    if let (Some(camera), Some(shutter), Some(flash)) = (camera, &frame.shutter, &frame.extras.flash)
        && let (Some(sync), Shutter::Timed(time)) = (camera.flash_sync, shutter.value)
        && time.seconds() < sync.seconds() * SAME_MARK
    {
        let shutter = shutter.value;
        odd(Field::Shutter, format!("the {flash} was used, and {shutter} is faster than the {}'s {sync}", camera.name));
    }
    if let Some(holders) = camera.and_then(|c| c.holders)
        && frame.number.place() > most_of(holders, frame.number.has_side())
    {
        odd(Field::Frame, format!("the kit has {holders} holders: no sheet {}", frame.number));
    }
    let Some(lens) = frame.lens.as_ref().and_then(|l| kit.lens(&l.value)) else { return raised };
    if let Some(aperture) = frame.aperture.as_ref().filter(|a| !lens.allows(a.value)) {
        odd(Field::Aperture, format!("the {} has no f/{}", lens.name, aperture.value));
    }
    let converted = frame.extras.converter.as_ref().and_then(|c| c.times).unwrap_or(1.0);
    if let Some(focal) = frame.focal_mm.as_ref().filter(|f| !lens.focal.covers(f.value / converted)) {
        odd(Field::FocalMm, format!("the {} has no {} mm", lens.name, focal.value));
    }
    if let Some(camera) = camera.filter(|c| !lens.fits(&c.name)) {
        odd(Field::Lens, format!("the {} does not fit the {}", lens.name, camera.name));
    }
    raised
}

/// The highest number of a sheet: that of its holder where sides are told, else two a holder.
fn most_of(holders: u16, by_side: bool) -> i16 {
    let sheets = if by_side { holders } else { 2 * holders };
    i16::try_from(sheets).unwrap_or(i16::MAX)
}

/// Settings far from what the light that was said asks for.
fn light(frame: &Frame, kit: &Kit) -> Raised {
    let over = over_rule(frame, kit).map(|(light, over)| (light, over.get()));
    let Some((light, over)) = over.filter(|(_, over)| over.abs() >= OFF_THE_RULE) else { return Raised::new() };
    let field = less_sure(frame);
    let how = if over > 0.0 { "more" } else { "less" };
    vec![(Flag::Odd(field), format!("{:.0} stops {how} than {light} asks for", over.abs()))]
}

/// Which of shutter and aperture is the likelier slip.
fn less_sure(frame: &Frame) -> Field {
    fn of<T>(s: &Option<Settled<T>>) -> f64 {
        s.as_ref().map_or(1.0, |s| s.confidence.get())
    }
    if of(&frame.aperture) < of(&frame.shutter) { Field::Aperture } else { Field::Shutter }
}

/// Times longer than the hand-holding rule allows.
fn held(frame: &Frame, camera: Option<&Camera>) -> Raised {
    let over = || {
        let camera = camera?;
        let time = frame.shutter.as_ref()?.value;
        let seconds = time.seconds()?;
        let support: Support = match &frame.support {
            Some(s) => s.value.parse().ok()?,
            // Nobody holds a view camera, B, or half a second.
            None if camera.format.is_sheet() || !matches!(time, Shutter::Timed(_)) || seconds >= SURELY_ON_LEGS_S => {
                return None;
            }
            None => Support::Handheld,
        };
        let focal = Millimetres::new(frame.focal_mm.as_ref()?.value)?;
        let diagonal = Millimetres::new(camera.format.diagonal_mm())?;
        let over = shake(Seconds::new(seconds)?, focal, diagonal, support)?;
        Some((over.get(), support, frame.support.is_some()))
    };
    let Some((over, support, said)) = over() else { return Raised::new() };
    let how = if said { support.as_str() } else { "handheld, as nothing else was said" };
    vec![(Flag::Shake, format!("{over:.1} stops longer than the rule allows, {how}"))]
}

/// The confidence of each field that has one.
fn confidences(frame: &Frame) -> Vec<(Field, f64)> {
    fn of<T>(field: Field, s: &Option<Settled<T>>) -> Option<(Field, f64)> {
        s.as_ref().map(|s| (field, s.confidence.get()))
    }
    [
        of(Field::Camera, &frame.camera),
        of(Field::Lens, &frame.lens),
        of(Field::Film, &frame.film),
        of(Field::FocalMm, &frame.focal_mm),
        of(Field::Ei, &frame.ei),
        of(Field::Shutter, &frame.shutter),
        of(Field::Aperture, &frame.aperture),
        of(Field::Filter, &frame.filter),
        of(Field::CompStops, &frame.comp),
        of(Field::Light, &frame.light),
        of(Field::Support, &frame.support),
        of(Field::Subject, &frame.subject),
        of(Field::Place, &frame.place),
    ]
    .into_iter()
    .flatten()
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exposure::{Aperture, ExposureIndex};
    use crate::facts::{Confidence, FrameNumber, Source};
    use crate::roll::record::Status;

    const KIT: &str = "[[camera]]\nname = \"six\"\nformat = \"6x6\"\nshutters = [\"1s\", \"1/500\"]\n\
        [[lens]]\nname = \"80\"\nfocal_mm = 80\nwidest = 2.8\nsmallest = 22\n\
        [[filter]]\nname = \"red\"\nstops = 3\n";

    fn some<T>(value: T) -> Option<Settled<T>> {
        Some(Settled::from_one(value, Confidence::new(0.95), Source::Voice))
    }

    fn frame(shutter: &str, aperture: f64) -> Frame {
        Frame {
            camera: some("six".to_owned()),
            lens: some("80".to_owned()),
            focal_mm: some(80.0),
            ei: some(ExposureIndex::new(100).unwrap()),
            shutter: some(shutter.parse().unwrap()),
            aperture: some(Aperture::new(aperture).unwrap()),
            ..Frame::blank(FrameNumber::new(1), Status::Ok)
        }
    }

    fn flags(mut frame: Frame) -> Vec<String> {
        review(&mut frame, &Kit::parse(KIT).unwrap(), 0.8);
        frame.flags.iter().map(ToString::to_string).collect()
    }

    #[test]
    fn what_the_gear_cannot_do_is_odd() {
        assert_eq!(flags(frame("1/125", 11.0)), [""; 0]);
        assert_eq!(flags(frame("1/1000", 11.0)), ["odd:shutter"]);
        assert_eq!(flags(frame("1/125", 2.0)), ["odd:aperture"]);
        assert_eq!(flags(Frame { focal_mm: some(120.0), ..frame("1/125", 8.0) }), ["odd:focal_mm"]);
    }

    #[test]
    fn settings_far_from_the_light_are_odd() {
        let sunny = |shutter, aperture| Frame { light: some("full sun".to_owned()), ..frame(shutter, aperture) };
        assert_eq!(flags(sunny("1/125", 16.0)), [""; 0]);
        assert_eq!(flags(sunny("1/125", 4.0)), ["odd:shutter"]);
        // The same through a red filter of three stops is a stop over: fine.
        let red = Frame { filter: some(crate::kit::Filters::from("red".to_owned())), ..sunny("1/125", 5.6) };
        assert_eq!(flags(red), [""; 0]);
    }

    #[test]
    fn long_times_by_hand_shake() {
        let on = |support: &str, shutter| Frame { support: some(support.to_owned()), ..frame(shutter, 8.0) };
        // 80 mm on 6x6 can be held for 1/44 s.
        assert_eq!(flags(frame("1/60", 8.0)), [""; 0]);
        assert_eq!(flags(frame("1/15", 8.0)), ["shake"]);
        assert_eq!(flags(on("tripod", "1/15")), [""; 0]);
        assert_eq!(flags(on("handheld", "1s")), ["shake"]);
        assert_eq!(flags(frame("1s", 8.0)), [""; 0], "on legs, though nobody said so");
    }

    #[test]
    fn what_is_not_sure_says_so() {
        let mut unsure = frame("1/125", 8.0);
        unsure.aperture.as_mut().unwrap().confidence = Confidence::new(0.7);
        assert_eq!(flags(unsure), ["unsure:aperture"]);
    }
}
