//! What was heard of a frame, weighed once more against the frames around it and the light
//! that was said: settings change little from frame to frame, and follow the light.

use crate::exposure::{Aperture, ExposureValue, Light, Shutter, Stops, ev100, scene_ev100};
use crate::facts::{Confidence, Field, Flag, Settled, Terms};

use super::weights::{score, shares};
use super::{Frame, NotedFrame};

/// Differences beyond this say no more than this does. Stops.
const FAR: f64 = 5.0;

/// Weighs the readings of shutter and aperture of all frames of a roll, in the order noted.
/// Where a value is surer than `unsure_below` now, it is no longer flagged; where another
/// reading is likelier now, that one stands.
pub(super) fn weigh_in_context(frames: &mut [NotedFrame], unsure_below: f64) {
    let known: Vec<Option<ExposureValue>> = frames.iter().map(|f| exposure(&f.frame)).collect();
    for (i, noted) in frames.iter_mut().enumerate() {
        let around = [i.checked_sub(1), Some(i + 1)];
        let around: Vec<ExposureValue> =
            around.into_iter().flatten().filter_map(|j| known.get(j).copied().flatten()).collect();
        let frame = &mut noted.frame;
        let surroundings = Surroundings { light: asked_by_light(frame), around };
        if let Some(aperture) = frame.aperture.as_ref().map(|a| a.value) {
            let ev = |s: &Shutter| ExposureValue::of(aperture, *s);
            reweigh(frame, |f| &mut f.shutter, Field::Shutter, &surroundings, ev, unsure_below);
        }
        if let Some(shutter) = frame.shutter.as_ref().map(|s| s.value) {
            let ev = |a: &Aperture| ExposureValue::of(*a, shutter);
            reweigh(frame, |f| &mut f.aperture, Field::Aperture, &surroundings, ev, unsure_below);
        }
    }
}

/// What the exposure of a frame should be like.
struct Surroundings {
    light: Option<ExposureValue>,
    around: Vec<ExposureValue>,
}

fn exposure(frame: &Frame) -> Option<ExposureValue> {
    ExposureValue::of(frame.aperture.as_ref()?.value, frame.shutter.as_ref()?.value)
}

/// The EV that the daylight rule asks of the camera, for the light said and what is on the lens.
fn asked_by_light(frame: &Frame) -> Option<ExposureValue> {
    let light: Light = frame.light.as_ref()?.value.parse().ok()?;
    let (aperture, shutter) = (frame.aperture.as_ref()?.value, frame.shutter.as_ref()?.value);
    let settings = ev100(aperture, shutter, frame.ei.as_ref()?.value)?;
    let comp = frame.comp.as_ref().map_or(Stops::ZERO, |c| c.value);
    let over = light.over_rule(scene_ev100(settings, frame.filter_stops.unwrap_or(Stops::ZERO), comp));
    // What gives less exposure has the higher EV.
    Some(ExposureValue::of(aperture, shutter)?.opened_by(Stops::new(-over.get())))
}

fn reweigh<T: Clone + PartialEq>(
    frame: &mut Frame,
    field: impl Fn(&mut Frame) -> &mut Option<Settled<T>>,
    name: Field,
    surroundings: &Surroundings,
    ev: impl Fn(&T) -> Option<ExposureValue>,
    unsure_below: f64,
) {
    let Some(settled) = field(frame) else { return };
    if settled.others.is_empty() || settled.terms == Terms::default() {
        return; // nothing else was heard, or the value was worked out from another
    }
    let away = |a: ExposureValue, b: ExposureValue| -a.over(b).get().abs().min(FAR);
    let in_context = |value: &T, terms: Terms| {
        let Some(ev) = ev(value) else { return terms };
        let around = &surroundings.around;
        let neighbours = around.iter().map(|n| away(ev, *n)).sum::<f64>() / around.len().max(1) as f64;
        Terms { neighbours, light: surroundings.light.map_or(0.0, |l| away(ev, l)), ..terms }
    };
    let before = shares(&scores(settled))[0];
    settled.terms = in_context(&settled.value, settled.terms);
    for other in &mut settled.others {
        other.terms = in_context(&other.value, other.terms);
    }
    let after = shares(&scores(settled));
    let was_unsure = settled.confidence.get() < unsure_below;
    let scale = settled.confidence.get() / before;
    for (other, share) in settled.others.iter_mut().zip(&after[1..]) {
        other.confidence = Confidence::new(*share);
    }
    settled.confidence = Confidence::new(after[0] * scale);
    let likeliest = (1..after.len()).max_by(|a, b| after[*a].total_cmp(&after[*b])).unwrap_or(0);
    if after[likeliest] > after[0] {
        let other = &mut settled.others[likeliest - 1];
        std::mem::swap(&mut settled.value, &mut other.value);
        std::mem::swap(&mut settled.terms, &mut other.terms);
        other.confidence = Confidence::new(after[0]);
        settled.confidence = Confidence::new(after[likeliest] * scale);
        settled.why.push("the frames around it and the light fit it better".to_owned());
    }
    settled.others.sort_by(|a, b| b.confidence.get().total_cmp(&a.confidence.get()));
    let sure_now = was_unsure && settled.confidence.get() >= unsure_below;
    if sure_now {
        let flag = Flag::Unsure(name);
        frame.flags.retain(|f| *f != flag);
        frame.reasons.retain(|(f, _)| *f != flag);
    }
}

fn scores<T>(settled: &Settled<T>) -> Vec<f64> {
    std::iter::once(&settled.terms).chain(settled.others.iter().map(|o| &o.terms)).map(score).collect()
}
