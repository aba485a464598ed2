//! What was heard of a frame, weighed once more against the frames around it and the light
//! that was said: settings change little from frame to frame, and follow the light.

use std::collections::HashSet;

use crate::exposure::{Aperture, ExposureValue, Shutter, Stops};
use crate::facts::{Confidence, Field, Flag, FrameNumber, Settled, Source, Terms};
use crate::kit::Kit;

use super::by_light::over_rule;
use super::weights::{score, shares};
use crate::roll::record::{Frame, NotedFrame, Roll};

/// A value of which the gear can do nothing like it is never surer than this.
const OFF_GEAR_MOST: f64 = 0.5;
/// Below this the gear cannot do it.
const OFF_GEAR: f64 = 0.1;
/// Differences beyond this say no more than this does. Stops.
const FAR: f64 = 5.0;

/// Weighs the readings of shutter and aperture of all frames of a roll, in the order noted.
/// Where a value is surer than `unsure_below` now, it is no longer flagged; where another
/// reading is likelier now, that one stands.
pub fn weigh_in_context(frames: &mut [NotedFrame], kit: &Kit, unsure_below: f64) {
    weigh(frames.iter_mut().map(|f| &mut f.frame).collect(), &|_| true, kit, unsure_below);
}

/// Weighs once more what was only heard, in and beside frames whose exposure was settled by hand.
pub fn settle_again(roll: &mut Roll, by_hand: &HashSet<FrameNumber>, kit: &Kit, unsure_below: f64) {
    let near: Vec<bool> = (0..roll.frames.len())
        .map(|i| {
            let around = i.saturating_sub(1)..(i + 2).min(roll.frames.len());
            roll.frames[around].iter().any(|f| by_hand.contains(&f.number))
        })
        .collect();
    weigh(roll.frames.iter_mut().collect(), &|i| near[i], kit, unsure_below);
}

fn weigh(mut frames: Vec<&mut Frame>, which: &dyn Fn(usize) -> bool, kit: &Kit, unsure_below: f64) {
    let known: Vec<Option<ExposureValue>> = frames.iter().map(|f| exposure(f)).collect();
    for (i, frame) in frames.iter_mut().enumerate().filter(|(i, _)| which(*i)) {
        let around = [i.checked_sub(1), Some(i + 1)];
        let around: Vec<ExposureValue> =
            around.into_iter().flatten().filter_map(|j| known.get(j).copied().flatten()).collect();
        let surroundings = Surroundings { light: asked_by_light(frame, kit), around };
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
fn asked_by_light(frame: &Frame, kit: &Kit) -> Option<ExposureValue> {
    let (_, over) = over_rule(frame, kit)?;
    // What gives less exposure has the higher EV.
    Some(exposure(frame)?.opened_by(Stops::new(-over.get())))
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
    if settled.sources != [Source::Voice] {
        return; // the film edge or the photographer has had a say
    }
    let unheard = settled.terms == Terms::default() && settled.others.iter().all(|o| o.terms == Terms::default());
    if settled.others.is_empty() || unheard {
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
    settled.confidence = Confidence::new((after[0] * scale).min(most_sure(&settled.terms)));
    let likeliest = (1..after.len()).max_by(|a, b| after[*a].total_cmp(&after[*b])).unwrap_or(0);
    if after[likeliest] > after[0] {
        let other = &mut settled.others[likeliest - 1];
        std::mem::swap(&mut settled.value, &mut other.value);
        std::mem::swap(&mut settled.terms, &mut other.terms);
        other.confidence = Confidence::new(after[0]);
        // What was said of the words holds for all readings of them.
        let Terms { words, mended, doubted, .. } = other.terms;
        settled.terms = Terms { words, mended, doubted, ..settled.terms };
        settled.confidence = Confidence::new((after[likeliest] * scale).min(most_sure(&settled.terms)));
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

/// The most that a value may be sure whatever speaks for it: the gear has none, the speaker doubts it.
fn most_sure(terms: &Terms) -> f64 {
    let gear = if terms.gear.exp() < OFF_GEAR { OFF_GEAR_MOST } else { 1.0 };
    gear.min(terms.doubted.exp())
}

fn scores<T>(settled: &Settled<T>) -> Vec<f64> {
    std::iter::once(&settled.terms).chain(settled.others.iter().map(|o| &o.terms)).map(score).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::Reading;
    use crate::roll::record::Status;

    const KIT: &str = "[[camera]]\nname = \"six\"\nformat = \"6x6\"\n";

    fn f8_at(shutter: Settled<Shutter>) -> NotedFrame {
        let eight = Settled::from_one(Aperture::new(8.0).unwrap(), Confidence::SURE, Source::Voice);
        let blank = Frame::blank(FrameNumber::new(1), Status::Ok);
        let frame = Frame { shutter: Some(shutter), aperture: Some(eight), ..blank };
        NotedFrame { frame, said_numbers: Vec::new(), lost_before: false }
    }

    /// 1/125 between two frames at 1/125, heard as likely as 1/1000 or a little less, and its flag.
    fn between_its_like(terms: Terms, weight: f64) -> Frame {
        let (a, b) = (Shutter::fraction(125), Shutter::fraction(1000));
        let sure = || Settled::from_one(a, Confidence::SURE, Source::Voice);
        let share = weight / (1.0 + weight);
        let most = most_sure(&terms);
        let reading = |value, p: f64| Reading {
            terms: Terms { wording: p.ln(), ..terms },
            ..Reading::new(value, Confidence::new(p), Source::Voice)
        };
        let (first, then) = if share >= 0.5 { ((a, share), (b, 1.0 - share)) } else { ((b, 1.0 - share), (a, share)) };
        let mut heard = Settled::from_one(first.0, Confidence::new(first.1.min(most)), Source::Voice);
        heard.terms = Terms { wording: first.1.ln(), ..terms };
        heard.others = vec![reading(then.0, then.1)];
        let mut doubtful = f8_at(heard);
        doubtful.frame.flag(Flag::Unsure(Field::Shutter), "heard with little certainty");
        let mut frames = [f8_at(sure()), doubtful, f8_at(sure())];
        weigh_in_context(&mut frames, &Kit::parse(KIT).unwrap(), 0.55);
        let [_, doubtful, _] = frames;
        doubtful.frame
    }

    #[test]
    fn the_frames_around_choose_between_readings() {
        let frame = between_its_like(Terms::default(), 0.9);
        let shutter = frame.shutter.unwrap();
        assert_eq!(shutter.value, Shutter::fraction(125));
        assert!(shutter.confidence.get() > 0.55);
        assert_eq!(frame.flags, []);
    }

    #[test]
    fn a_value_settled_by_hand_settles_what_was_heard_beside_it() {
        let (a, b) = (Shutter::fraction(125), Shutter::fraction(1000));
        let mut heard = Settled::from_one(b, Confidence::new(0.52), Source::Voice);
        heard.terms = Terms { wording: 0.52_f64.ln(), ..Terms::default() };
        let terms = Terms { wording: 0.48_f64.ln(), ..Terms::default() };
        heard.others = vec![Reading { terms, ..Reading::new(a, Confidence::new(0.48), Source::Voice) }];
        let mut frames: Vec<Frame> =
            (1..4).map(|n| Frame { number: FrameNumber::new(n), ..f8_at(heard.clone()).frame }).collect();
        frames[0].shutter = Some(Settled::from_one(a, Confidence::SURE, Source::Edit));
        frames[2].shutter.as_mut().unwrap().value = Shutter::fraction(250);
        let mut roll = Roll { frames, ..Roll::blank(crate::facts::RollName::new("7").unwrap()) };
        let before = roll.frames[2].clone();
        let by_hand = HashSet::from([FrameNumber::new(1)]);
        settle_again(&mut roll, &by_hand, &Kit::parse(KIT).unwrap(), 0.55);
        let value = |i: usize| roll.frames[i].shutter.as_ref().unwrap().value;
        assert_eq!((value(0), value(1)), (a, a), "the neighbour follows");
        assert_eq!(roll.frames[2], before, "the next but one is left as it was");
    }

    #[test]
    fn what_the_speaker_doubted_stays_in_doubt() {
        for weight in [0.9, 1.1, 3.0] {
            let frame = between_its_like(Terms { doubted: 0.5_f64.ln(), ..Terms::default() }, weight);
            let shutter = frame.shutter.unwrap();
            assert_eq!(shutter.value, Shutter::fraction(125));
            assert!(shutter.confidence.get() <= 0.5, "{weight}: {:?}", shutter.confidence);
            assert_eq!(frame.flags, [Flag::Unsure(Field::Shutter)]);
        }
    }

    #[test]
    fn what_the_gear_cannot_do_stays_in_doubt() {
        // Two readings off the dial: the frames around choose one, but the dial still has none.
        let frame = between_its_like(Terms { gear: 0.01_f64.ln(), ..Terms::default() }, 0.9);
        let shutter = frame.shutter.unwrap();
        assert_eq!(shutter.value, Shutter::fraction(125));
        assert!(shutter.confidence.get() <= 0.5);
        assert_eq!(frame.flags, [Flag::Unsure(Field::Shutter)]);
        assert_eq!(shutter.others.len(), 1);
    }
}
