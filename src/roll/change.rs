//! What sameness and changes make of the frame before.

use crate::exposure::{Aperture, ApertureStep, Shutter, Speed, Stops};
use crate::facts::{Confidence, Flag, Settled};
use crate::language::act::{Moved, Same};
use crate::language::gear::Gear;

use super::Frame;
use super::build::Builder;
use super::doubts::{UNREAD, doubt};
use super::draft::Draft;
use super::shots::{CHANGED, Dial, EITHER, Shot, Stop, has_bracket_only};

impl<'a> Builder<'a> {
    /// Fills in what sameness and changes say.
    pub(super) fn complete(
        &self,
        draft: &Draft,
        before: Option<&Shot>,
        gear: &Gear<'_>,
        frame: &mut Frame,
        flags: &mut Vec<(Flag, String)>,
    ) {
        let same = |s: Same| draft.same.contains(&s);
        let base_shutter =
            draft.base_shutter.as_ref().and_then(|b| self.settle_shutter(b, gear, None, &mut Vec::new()));
        let base_aperture =
            draft.base_aperture.as_ref().and_then(|b| self.settle_aperture(b, gear, None, &mut Vec::new()));
        let changed = !draft.changes.is_empty() || draft.to_match.is_some();
        let own = (frame.shutter.is_some(), frame.aperture.is_some());
        let one_own = own.0 != own.1;
        let all = same(Same::All)
            || draft.same_as.is_some()
            || changed
            || (draft.inherit && (one_own || has_bracket_only(draft)));
        let old = |dial: bool| -> (Dial, Stop) {
            let b = before.map(|b| &b.frame);
            if dial { (b.and_then(|f| f.shutter.clone()), None) } else { (None, b.and_then(|f| f.aperture.clone())) }
        };
        if frame.shutter.is_none() {
            if base_shutter.is_some() && (own.1 || changed || !draft.numbers.is_empty()) {
                frame.shutter = base_shutter.clone();
                if !own.1 && !changed {
                    doubt(&mut frame.shutter, "only metered, not said to be set");
                }
            } else if all || same(Same::Shutter) {
                frame.shutter = old(true).0;
                if !draft.unread.is_empty() {
                    doubt(&mut frame.shutter, UNREAD);
                }
            }
        }
        if frame.aperture.is_none() {
            if base_aperture.is_some() && (own.0 || changed || !draft.numbers.is_empty()) {
                frame.aperture = base_aperture.clone();
                if !own.0 && !changed {
                    doubt(&mut frame.aperture, "only metered, not said to be set");
                }
            } else if all || same(Same::Aperture) {
                frame.aperture = old(false).1;
                if !draft.unread.is_empty() {
                    doubt(&mut frame.aperture, UNREAD);
                }
            }
        }
        for (moved, stops) in &draft.changes {
            // A dial whose end was said was not moved on from there.
            match moved {
                Moved::Shutter if !own.0 || draft.from => change_shutter(frame, *stops, self, CHANGED),
                Moved::Aperture if !own.1 || draft.from => change_aperture(frame, *stops, CHANGED),
                Moved::Either if !own.0 && !own.1 => {
                    change_aperture(frame, *stops, EITHER);
                    doubt(&mut frame.shutter, "not said which dial was moved");
                    doubt(&mut frame.aperture, "not said which dial was moved");
                }
                _ => continue,
            }
            // Words that moved one dial say nothing of the other.
            match moved {
                Moved::Shutter => frame.shutter.iter_mut().for_each(|s| draft.changes_manner.lower(s)),
                _ => frame.aperture.iter_mut().for_each(|a| draft.changes_manner.lower(a)),
            }
        }
        if let (Some(b), Some(moved)) = (before, draft.to_match) {
            match moved {
                Moved::Shutter => {
                    if let (Some(was), Some(now)) = (&b.frame.aperture, &frame.aperture) {
                        let more = was.value.over(now.value).get().round();
                        frame.shutter = b.frame.shutter.clone();
                        change_shutter(frame, more, self, 0.9);
                    }
                }
                _ => {
                    if let (Some(was), Some(now)) = (&b.frame.shutter, &frame.shutter)
                        && let (Some(a), Some(t)) = (was.value.seconds(), now.value.seconds())
                    {
                        frame.aperture = b.frame.aperture.clone();
                        change_aperture(frame, (a / t).log2().round(), 0.9);
                    }
                }
            }
        }
        let _ = flags;
    }
}

pub(super) fn change_shutter(frame: &mut Frame, stops: f64, builder: &Builder<'_>, sure: f64) {
    let Some(s) = &mut frame.shutter else { return };
    let moved = match s.value {
        Shutter::Timed(from) => match builder.camera_in_hand() {
            Some(c) => c.dial.shifted(from, stops).map(Shutter::Timed).or_else(|| {
                let past = from.seconds() * stops.exp2();
                c.dial.slowest().filter(|m| past > m.seconds() * 1.1).map(|_| Shutter::bulb(past))
            }),
            None => shifted_speed(from, stops).map(Shutter::Timed),
        },
        Shutter::Bulb(Some(t)) => Some(Shutter::bulb(f64::from(t) / 1000.0 * stops.exp2())),
        Shutter::Time(Some(t)) => Some(Shutter::time(f64::from(t) / 1000.0 * stops.exp2())),
        _ => None,
    };
    move_to(s, moved, sure, "the dial has no mark that far from the frame before");
}

pub(super) fn shifted_speed(from: Speed, stops: f64) -> Option<Speed> {
    let want = from.seconds() * stops.exp2();
    crate::exposure::ShutterStep::Third
        .marks()
        .into_iter()
        .min_by(|a, b| (a.seconds() / want).log2().abs().total_cmp(&(b.seconds() / want).log2().abs()))
}

pub(super) fn change_aperture(frame: &mut Frame, stops: f64, sure: f64) {
    let Some(a) = &mut frame.aperture else { return };
    move_to(a, shifted_aperture(a.value, stops), sure, "no mark lies that far from the frame before");
}

/// A setting moved on from the frame before; where it cannot go so far it stays, in doubt, for `why_not`.
fn move_to<T>(settled: &mut Settled<T>, moved: Option<T>, sure: f64, why_not: &str) {
    settled.others.clear();
    let Some(value) = moved else {
        settled.confidence = Confidence::new(0.3);
        settled.why.push(why_not.to_owned());
        return;
    };
    settled.value = value;
    settled.confidence = Confidence::new(settled.confidence.get() * sure);
    settled.why.push("changed from the frame before".to_owned());
}

/// The mark so many stops wider (more light) than another.
pub(super) fn shifted_aperture(from: Aperture, more: f64) -> Option<Aperture> {
    let whole = (more - more.round()).abs() < 0.05;
    let halves = (more * 2.0 - (more * 2.0).round()).abs() < 0.05;
    // A mark of the third series stays on it; from a full mark the step decides.
    let full = ApertureStep::Full.marks().contains(&from);
    let step = if whole && full {
        ApertureStep::Full
    } else if halves && (full || ApertureStep::Half.marks().contains(&from)) {
        ApertureStep::Half
    } else {
        ApertureStep::Third
    };
    step.shifted(from, Stops::new(more))
}
