//! Changes of a setting and brackets, applied to the frames that they are told of.

use super::group::Group;
use super::said::{FrameSaid, Moved, MovedDial};
use super::shift;
use super::sure::Sure;
use super::text::{GOES_WITH, NEARLY_AS_SURE, TWO_VALUES, Text};
use crate::exposure::{Aperture, Shutter};
use crate::language::grammar::Class;
use crate::language::readings::{Gear, Shift};
use crate::language::tag::{Effect, Role};

/// One of two dials was moved, not said which: as likely the one as the other.
const EITHER: f64 = 0.5;
/// What follows from another value by a change is no surer than this part of it.
const CHANGED: f64 = 0.92;
/// A bracket whose count was not said has this many exposures, as is usual.
const USUAL_BRACKET: usize = 3;

/// The settings of the frame before, for changes that go on from it.
#[derive(Default)]
pub(super) struct Bases {
    pub(super) shutter: Option<(Option<usize>, Sure<Shutter>)>,
    pub(super) aperture: Option<(Option<usize>, Sure<Aperture>)>,
    /// What was last said outright, before any change went on from it.
    pub(super) said_shutter: Option<Sure<Shutter>>,
    pub(super) said_aperture: Option<Sure<Aperture>>,
    /// The last change of each dial: towards more light, and by how many stops.
    pub(super) shutter_change: Option<(bool, f64)>,
    pub(super) aperture_change: Option<(bool, f64)>,
}

#[derive(Clone, Copy, PartialEq)]
pub(super) enum Dial {
    Aperture,
    Shutter,
    None,
}

/// One exposure of a bracket.
pub(super) struct Step {
    stops: f64,
    clicks: bool,
    dial: Dial,
}

impl Text<'_> {
    /// The side of the sheet holder before that a group is said to be: "side B".
    pub(super) fn side_said(&self, group: &Group) -> Option<char> {
        let number = |i: &&usize| self.mention(**i).role == Role::Number;
        group.used.iter().filter(number).find_map(|i| self.values.side_alone(&self.mention(*i).tokens))
    }

    /// Applies what was changed; a bracket gives one step a frame.
    // Long: one arm an effect, all on the two dials of one frame.
    #[allow(clippy::too_many_arguments, reason = "one frame's parts, taken apart by their dial")]
    pub(super) fn changes(
        &self,
        group: &Group,
        column: usize,
        gear: &Gear<'_>,
        bases: &mut Bases,
        shutters: &[(usize, Sure<Shutter>)],
        apertures: &[(usize, Sure<Aperture>)],
        frame: &mut FrameSaid,
        used: &mut [bool],
    ) -> Option<Vec<Step>> {
        frame.shutter = one_of(shutters);
        frame.aperture = one_of(apertures);
        let own = |all: Option<usize>| all.is_some_and(|i| column == 0 || self.goes[i][column - 1] < GOES_WITH);
        if own(shutters.last().map(|s| s.0)) {
            bases.said_shutter = frame.shutter.clone();
            bases.shutter_change = None;
        }
        if own(apertures.last().map(|a| a.0)) {
            bases.said_aperture = frame.aperture.clone();
            bases.aperture_change = None;
        }
        let alone = self.goes.first().is_some_and(|g| g.len() == 1);
        let mut steps: Vec<Shift> = Vec::new();
        let mut offsets: Vec<f64> = Vec::new();
        let spoken = self.r.found.terms.iter().any(|t| matches!(t.class, Class::Bracket | Class::BracketCount));
        // "One over, one under", of one frame alone: a bracket told step by step.
        let changes: Vec<usize> = self.of(Role::Change, column, true);
        let signs: Vec<bool> =
            changes.iter().filter_map(|i| self.values.shift(&self.mention(*i).tokens)?.more).collect();
        let both = alone && signs.contains(&true) && signs.contains(&false);
        let mut made_up = None;
        for i in changes {
            let m = self.mention(i);
            let Some(by) = self.values.shift(&m.tokens) else {
                if self.values.makes_up(&m.tokens) {
                    used[i] = true;
                    made_up = Some((self.sure(i, Some(column)), m.tokens.clone()));
                }
                continue;
            };
            let sure = self.sure(i, Some(column)) * f64::from(m.effect.1);
            used[i] = true;
            if let (true, Some(more), None) = (both, by.more, by.of_shutter) {
                offsets.push(if more { by.amount } else { -by.amount });
                continue;
            }
            let effect = match m.effect.0 {
                _ if alone && (by.bracket || spoken && by.more.is_none()) => Effect::Bracket,
                Effect::Bracket if !alone => Effect::Nothing,
                // Nothing of this frame was said but the change: it moved something.
                Effect::Nothing
                    if self.only_repeats(column, shutters, apertures)
                        || shutters.is_empty() && apertures.is_empty() && by.of_shutter.is_some() =>
                {
                    match (by.of_shutter, by.more) {
                        (Some(true), Some(more)) => Effect::Shutter(more),
                        (Some(false), Some(more)) => Effect::Aperture(more),
                        (None, Some(more)) => Effect::Either(more),
                        (_, None) => Effect::Nothing,
                    }
                }
                effect => effect,
            };
            match effect {
                Effect::Nothing => {}
                Effect::Compensation(more) => {
                    // The words tell the sign better than the reader, where they do.
                    let stops = if by.more.unwrap_or(more) { by.amount } else { -by.amount };
                    frame.comp = Some(Sure::new(stops, sure, m.tokens.clone()));
                    offsets.push(stops);
                }
                Effect::Aperture(more) => {
                    let more = by.more.unwrap_or(more);
                    let further = self.values.goes_further(&m.tokens);
                    let middle = from_middle(bases.aperture_change, more, by.amount, further);
                    bases.aperture_change = Some((more, by.amount));
                    let middle = bases.said_aperture.clone().filter(|_| middle);
                    let from = middle.or_else(|| base(&frame.aperture, apertures, &bases.aperture));
                    if let Some((from, value)) =
                        from.and_then(|f| Some((f.clone(), shift::aperture(f.value, by, more, gear)?)))
                    {
                        frame.aperture = Some(Sure::new(value, from.sure.min(sure) * CHANGED, m.tokens.clone()));
                    } else {
                        frame.moved.push(Moved { dial: MovedDial::Aperture, by, more, sure, tokens: m.tokens.clone() });
                    }
                }
                Effect::Shutter(more) => {
                    let more = by.more.unwrap_or(more);
                    let further = self.values.goes_further(&m.tokens);
                    let middle = from_middle(bases.shutter_change, more, by.amount, further);
                    bases.shutter_change = Some((more, by.amount));
                    let middle = bases.said_shutter.clone().filter(|_| middle);
                    let from = middle.or_else(|| base(&frame.shutter, shutters, &bases.shutter));
                    if let Some((from, value)) =
                        from.and_then(|f| Some((f.clone(), shift::shutter(f.value, by, more, gear)?)))
                    {
                        frame.shutter = Some(Sure::new(value, from.sure.min(sure) * CHANGED, m.tokens.clone()));
                    } else {
                        frame.moved.push(Moved { dial: MovedDial::Shutter, by, more, sure, tokens: m.tokens.clone() });
                    }
                }
                Effect::Either(more) => {
                    let from = base(&frame.aperture, apertures, &bases.aperture);
                    if let Some((from, value)) =
                        from.and_then(|f| Some((f.clone(), shift::aperture(f.value, by, more, gear)?)))
                    {
                        frame.aperture = Some(Sure {
                            others: vec![(from.value, EITHER)],
                            ..Sure::new(value, EITHER, m.tokens.clone())
                        });
                        frame.either = true;
                    } else {
                        frame.moved.push(Moved { dial: MovedDial::Either, by, more, sure, tokens: m.tokens.clone() });
                    }
                }
                Effect::Bracket => steps.push(by),
            }
        }
        if let Some((sure, tokens)) = made_up {
            make_up(frame, bases, gear, sure, tokens);
        }
        // Steps said one by one, "one over, one under", are a bracket too, where no frame is told by itself.
        let apart = alone && offsets.len() > 1 && offsets.iter().any(|o| *o > 0.0) && offsets.iter().any(|o| *o < 0.0);
        match (steps.first(), apart) {
            (None, false) => None,
            (step, true) => {
                frame.comp = None;
                let amount = step.filter(|s| !s.clicks).map(|s| s.amount);
                let stops = |o: &f64| amount.map_or(*o, |a| if o.abs() == 1.0 { o.signum() * a } else { *o });
                let dial = self.dial();
                let all = std::iter::once(0.0).chain(offsets.iter().map(stops));
                Some(all.map(|stops| Step { stops, clicks: false, dial }).collect())
            }
            (Some(by), false) => {
                frame.comp = None;
                Some(self.bracket(group, column, *by))
            }
        }
    }

    /// Whether a frame has only what the one before it had: no number of either dial was said for it.
    fn only_repeats(
        &self,
        column: usize,
        shutters: &[(usize, Sure<Shutter>)],
        apertures: &[(usize, Sure<Aperture>)],
    ) -> bool {
        let shared = |i: usize| column > 0 && self.goes[i][column - 1] >= GOES_WITH;
        column > 0
            && !(shutters.is_empty() && apertures.is_empty())
            && shutters.iter().all(|s| shared(s.0))
            && apertures.iter().all(|a| shared(a.0))
    }

    /// The dial that a bracket is said to be made with.
    pub(super) fn dial(&self) -> Dial {
        let has = |class| self.r.found.terms.iter().any(|t| t.class == class);
        if has(Class::BracketByAperture) || has(Class::ApertureList) {
            Dial::Aperture
        } else if has(Class::BracketByShutter) || has(Class::ShutterList) {
            Dial::Shutter
        } else {
            Dial::None
        }
    }

    /// The steps of a bracket: the middle, then one less and one more, and so on.
    fn bracket(&self, group: &Group, column: usize, by: Shift) -> Vec<Step> {
        let count = self
            .of(Role::Count, column, true)
            .into_iter()
            .find_map(|i| self.values.count(&self.mention(i).tokens))
            .map_or(0, |n| n as usize);
        let size = if group.numbers.len() > 1 { group.numbers.len() } else { count.max(USUAL_BRACKET) };
        let dial = self.dial();
        (0..size)
            .map(|k| {
                let far = k.div_ceil(2) as f64;
                let stops = if k % 2 == 1 { -far * by.amount } else { far * by.amount };
                Step { stops, clicks: by.clicks, dial }
            })
            .collect()
    }
}

/// Whether a change goes on from what was said outright and not from the change before: "a stop over, then a
/// stop under" and "one under, two under" are told from the middle.
fn from_middle(before: Option<(bool, f64)>, more: bool, amount: f64, further: bool) -> bool {
    !further && before.is_some_and(|(way, by)| way != more || amount > by)
}

/// One dial moved since the frame before: the other goes the other way by as much.
fn make_up(frame: &mut FrameSaid, bases: &Bases, gear: &Gear<'_>, sure: f64, tokens: std::ops::Range<usize>) {
    let (Some((_, aperture)), Some((_, shutter))) = (&bases.aperture, &bases.shutter) else { return };
    let by = |stops: f64| Shift { amount: stops.abs(), clicks: false, more: None, bracket: false, of_shutter: None };
    let opened = frame.aperture.as_ref().map_or(0.0, |a| a.value.over(aperture.value).get());
    let ratio = |a: &Sure<Shutter>| Some((a.value.seconds()? / shutter.value.seconds()?).log2());
    let slowed = frame.shutter.as_ref().and_then(ratio).unwrap_or(0.0);
    if slowed.abs() > opened.abs() {
        let value = shift::aperture(aperture.value, by(slowed), slowed < 0.0, gear);
        frame.aperture =
            value.map(|v| Sure::new(v, sure.min(aperture.sure) * CHANGED, tokens)).or(frame.aperture.take());
    } else if opened.abs() > 0.0 {
        let value = shift::shutter(shutter.value, by(opened), opened < 0.0, gear);
        frame.shutter = value.map(|v| Sure::new(v, sure.min(shutter.sure) * CHANGED, tokens)).or(frame.shutter.take());
    }
}

/// What a change goes on from: the frame's own setting; but one that the frame before went on from
/// already stands for that frame's result.
fn base<T: Clone + PartialEq>(
    own: &Option<Sure<T>>,
    said: &[(usize, Sure<T>)],
    before: &Option<(Option<usize>, Sure<T>)>,
) -> Option<Sure<T>> {
    match (own, before) {
        (Some(o), Some((Some(from), result)))
            if said.last().is_some_and(|s| s.0 == *from) && o.value != result.value =>
        {
            Some(result.clone())
        }
        (Some(o), _) => Some(o.clone()),
        (None, Some((_, result))) => Some(result.clone()),
        (None, None) => None,
    }
}

/// The last said of one dial's settings; less sure where others differ.
fn one_of<T: Clone + PartialEq>(all: &[(usize, Sure<T>)]) -> Option<Sure<T>> {
    let best = all.iter().map(|(_, s)| s).max_by(|a, b| a.sure.total_cmp(&b.sure))?;
    let mut chosen =
        all.iter().rev().map(|(_, s)| s).find(|s| s.sure >= NEARLY_AS_SURE * best.sure).unwrap_or(best).clone();
    let others: Vec<(T, f64)> =
        all.iter().filter(|(_, s)| s.value != chosen.value).map(|(_, s)| (s.value.clone(), s.sure)).collect();
    if !others.is_empty() {
        chosen.sure = chosen.sure.min(TWO_VALUES);
        chosen.others.extend(others);
    }
    Some(chosen)
}

impl Step {
    /// Moves the dial of a frame.
    pub(super) fn put(&self, frame: &mut FrameSaid, gear: &Gear<'_>) {
        let by = Shift { amount: self.stops.abs(), clicks: self.clicks, more: None, bracket: false, of_shutter: None };
        let more = self.stops > 0.0;
        if self.stops == 0.0 {
            return;
        }
        match self.dial {
            Dial::Aperture => {
                frame.aperture = frame
                    .aperture
                    .take()
                    .map(|s| Sure { value: shift::aperture(s.value, by, more, gear).unwrap_or(s.value), ..s });
            }
            Dial::Shutter => {
                frame.shutter = frame
                    .shutter
                    .take()
                    .map(|s| Sure { value: shift::shutter(s.value, by, more, gear).unwrap_or(s.value), ..s });
            }
            Dial::None => frame.comp = Some(Sure::new(self.stops, frame.there, 0..0)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_two_values_said_of_one_dial_the_later_stands_in_doubt() {
        let said = |v: u8, sure: f64| (0, Sure::new(v, sure, 0..1));
        let one = one_of(&[said(8, 0.95), said(11, 0.9)]).unwrap();
        assert_eq!((one.value, one.sure, one.others), (11, TWO_VALUES, vec![(8, 0.95)]));
        // What was hardly heard does not take the place of what was.
        assert_eq!(one_of(&[said(8, 0.95), said(11, 0.3)]).unwrap().value, 8);
        assert_eq!(one_of(&[said(8, 0.95), said(8, 0.9)]).unwrap().sure, 0.9);
        assert_eq!(one_of::<u8>(&[]), None);
    }
}
