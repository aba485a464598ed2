//! Shutter speeds and apertures that words can mean.

use super::value::{Values, sorted};
use super::ways;
use super::ways::{ShutterForm, Way};
use crate::exposure::{Aperture, ApertureStep, Shutter, ShutterStep};
use crate::language::grammar::Class;
use crate::language::phrases::Arg;
use crate::language::text::{How, Kind, Number, NumberKind};
use std::ops::Range;

/// "Between eight and eleven", where no part is said. Stops.
const HALF_STOP: f64 = 0.5;
/// Parts of a stop no farther apart than this are one.
const SAME_STOPS: f64 = 0.05;

/// An aperture as words give it.
#[derive(Debug, Clone, PartialEq)]
pub enum Opening {
    /// A number, or part of a stop past one.
    Number(Vec<Way<Aperture>>),
    /// As wide as the lens goes.
    Widest,
    /// As small as the lens goes.
    Smallest,
}

impl<'a> Values<'a> {
    /// Shutter settings.
    // Long: one arm a class of phrase, in the order in which they are believed.
    pub fn shutter(&self, span: &Range<usize>) -> Vec<Way<Shutter>> {
        use Class as C;
        let wanted = [
            C::ShutterFraction,
            C::ShutterNumber,
            C::ShutterTo,
            C::Gave,
            C::Time,
            C::TimeFraction,
            C::TimeParts,
            C::HalfInList,
            C::HoldB,
            C::HoldT,
            C::Bulb,
            C::TimeT,
            C::CountOf,
        ];
        if self.second_alone(span) {
            return ways::timed(1.0, self.alike());
        }
        let spelt = self.spelt(span);
        if !spelt.is_empty() {
            let ordinal = spelt.iter().any(|n| n.kind == NumberKind::Ordinal);
            let form = if ordinal { ShutterForm::Fraction } else { ShutterForm::Bare };
            let kind = |n: &&Number| !ordinal || n.kind == NumberKind::Ordinal;
            let ways = ways::shutters(spelt.iter().filter(kind), form, false, self.alike());
            if ways.iter().any(|w| matches!(w.value, Shutter::Timed(s) if ShutterStep::Third.has(s))) {
                return sorted(ways);
            }
        }
        let mut ways = Vec::new();
        for term in self.terms(span, &wanted) {
            let numbers = self.readings(term.args[0]);
            let (start, end) = (usize::from(term.start), usize::from(term.end));
            // "Gave one by two fifty": a phrase that leaves the stroke out is not what was said.
            if self.stroke(span) && !self.stroke(&(start..end)) {
                continue;
            }
            let seconds = || match term.args[0] {
                Some(Arg::Time(s)) => Some(s),
                _ => numbers.first().map(|n| n.value),
            };
            ways = match term.class {
                // "0.4 of a second".
                C::ShutterFraction if numbers.first().is_some_and(|n| n.value < 1.0) => {
                    numbers.first().map(|n| ways::timed(n.value, self.alike())).unwrap_or_default()
                }
                C::ShutterFraction => {
                    let ordinal = numbers.iter().any(|n| n.kind == NumberKind::Ordinal);
                    let kind = |n: &&Number| (n.kind == NumberKind::Ordinal) == ordinal && n.how != How::Homophone;
                    let stroke = self.r.tokens[usize::from(term.start)..usize::from(term.end)]
                        .iter()
                        .any(|t| t.kind == Kind::Mark('/'));
                    let form = if stroke { ShutterForm::Slash } else { ShutterForm::Fraction };
                    ways::shutters(numbers.iter().filter(kind), form, self.written(&numbers), self.alike())
                }
                C::Time | C::CountOf => {
                    let Some(s) = seconds() else { continue };
                    let mut ways = ways::timed(s, self.alike());
                    let last = &self.r.tokens[usize::from(term.end) - 1];
                    if last.glued && self.r.lexicon.in_list("plural", last) {
                        ways::plural_or_seconds(&mut ways, s);
                    }
                    ways
                }
                C::TimeFraction => {
                    self.fixed(term).map(|n| vec![Way::new(Shutter::fraction(n as u32), 1.0)]).unwrap_or_default()
                }
                C::HalfInList => vec![Way::new(Shutter::fraction(2), 1.0)],
                C::TimeParts => match (numbers.first(), self.fixed(term)) {
                    (Some(n), Some(parts)) => ways::timed((n.value / parts * 1000.0).round() / 1000.0, self.alike()),
                    _ => continue,
                },
                C::HoldB => seconds().map(|s| vec![Way::new(Shutter::bulb(s), 1.0)]).unwrap_or_default(),
                C::HoldT => seconds().map(|s| vec![Way::new(Shutter::time(s), 1.0)]).unwrap_or_default(),
                C::Bulb => vec![Way::new(Shutter::Bulb(None), 1.0)],
                C::TimeT => vec![Way::new(Shutter::Time(None), 1.0)],
                _ => ways::shutters(numbers.iter(), ShutterForm::Bare, self.written(&numbers), self.alike()),
            };
            if !ways.is_empty() {
                break;
            }
        }
        if ways.is_empty() {
            let numbers = self.number(span, |n| n.how != How::Pair);
            let form = if self.stroke(span) {
                ShutterForm::Slash
            } else if numbers.iter().any(|n| n.kind == NumberKind::Ordinal) {
                ShutterForm::Fraction
            } else {
                ShutterForm::Bare
            };
            ways = ways::shutters(numbers.iter(), form, self.written(&numbers), self.alike());
        }
        if ways.is_empty() {
            // The letter of the dial, alone.
            let letter = |b: &str| {
                let mut words = span.clone().filter(|i| !self.r.tokens[*i].is_mark());
                words.next_back().is_some_and(|i| &self.r.folded[self.r.tokens[i].span.clone()] == b)
            };
            if letter("t") {
                ways.push(Way::new(Shutter::Time(None), 1.0));
            } else if letter("b") {
                ways.push(Way::new(Shutter::Bulb(None), 1.0));
            }
        }
        if ways.is_empty() {
            let unit = |list| self.has(span, list);
            let seconds = if unit("minute-word") { 60.0 } else { 1.0 };
            if seconds > 1.0 || unit("second-word") {
                ways = ways::timed(seconds, self.alike());
            }
        }
        sorted(ways)
    }

    /// "A second" is one second, not the second of anything, where a shutter setting is spoken of.
    fn second_alone(&self, span: &Range<usize>) -> bool {
        let mut words =
            self.r.tokens[span.clone()].iter().filter(|t| !t.is_mark() && !self.r.lexicon.in_list("leading", t));
        words.next().is_some_and(|t| self.r.lexicon.in_list("second-word", t)) && words.next().is_none()
    }

    /// The unit of time that a stretch names, seconds; none where it names none.
    pub fn time_unit(&self, span: &Range<usize>) -> Option<f64> {
        let unit = |list| self.has(span, list);
        let of_unit = |n: &Number| self.r.lexicon.in_list("second-word", &self.r.tokens[usize::from(n.end) - 1]);
        let part = self.number(span, |n| n.kind == NumberKind::Ordinal && !of_unit(n));
        if unit("minute-word") { Some(60.0) } else { (unit("second-word") && part.is_empty()).then_some(1.0) }
    }

    /// Whether a stretch holds no number at all.
    pub fn number_free(&self, span: &Range<usize>) -> bool {
        self.number(span, |_| true).is_empty()
    }

    /// A plain number of seconds or minutes whose unit was said elsewhere: "three minutes; five; nine".
    pub fn in_unit(&self, span: &Range<usize>, unit: f64) -> Vec<Way<Shutter>> {
        let numbers = self.number(span, |n| n.how != How::Pair);
        if self.stroke(span) || numbers.iter().any(|n| n.kind == NumberKind::Ordinal) {
            return Vec::new();
        }
        let plain = numbers.iter().find(|n| n.kind == NumberKind::Cardinal || n.how == How::Tail);
        plain.map_or_else(Vec::new, |n| ways::timed(n.value * unit, self.alike()))
    }

    /// An aperture.
    pub fn aperture(&self, span: &Range<usize>) -> Option<Opening> {
        use Class as C;
        let spelt = self.spelt(span);
        let ways = ways::apertures(spelt.iter(), false, self.alike());
        let mark = |a: Aperture| ApertureStep::Half.has(a) || ApertureStep::Third.has(a);
        if ways.iter().any(|w| mark(w.value)) {
            return Some(Opening::Number(sorted(ways)));
        }
        let wanted =
            [C::Aperture, C::ApertureTo, C::ApertureHalf, C::ApertureBetween, C::ApertureWidest, C::ApertureSmallest];
        for term in self.terms(span, &wanted) {
            let ways = |arg| {
                let numbers = self.readings(arg);
                ways::apertures(numbers.iter(), self.written(&numbers), self.alike())
            };
            let ways = match term.class {
                C::ApertureWidest => return Some(Opening::Widest),
                C::ApertureSmallest => return Some(Opening::Smallest),
                C::ApertureHalf => self.past_mark(ways(term.args[0]), self.fixed(term).unwrap_or(HALF_STOP)),
                C::ApertureBetween => self.past_mark(ways(term.args[0]), HALF_STOP),
                _ => match self.fixed(term).and_then(Aperture::new) {
                    Some(a) => vec![Way::new(a, 1.0)],
                    None => ways(term.args[0]),
                },
            };
            if !ways.is_empty() {
                return Some(Opening::Number(sorted(ways)));
            }
        }
        let numbers = self.number(span, |n| n.kind != NumberKind::Ordinal && n.how != How::Homophone);
        let numbers = if numbers.is_empty() { self.number(span, |n| n.kind != NumberKind::Ordinal) } else { numbers };
        let ways = ways::apertures(numbers.iter(), self.written(&numbers), self.alike());
        let has = |list| self.has(span, list);
        match () {
            () if !ways.is_empty() => Some(Opening::Number(sorted(ways))),
            () if has("aperture-small") => Some(Opening::Smallest),
            () if has("aperture-wide") => Some(Opening::Widest),
            () => None,
        }
    }

    /// So much past an f-number, in stops; but "nine and a half" is the mark 9.5, since no ring has a nine.
    fn past_mark(&self, ways: Vec<Way<Aperture>>, stops: f64) -> Vec<Way<Aperture>> {
        let one = |w: &Way<Aperture>| {
            let plain = Aperture::new(w.value.number() + stops).filter(|a| ApertureStep::Half.has(*a));
            let value = match plain {
                Some(a) if !ApertureStep::Full.has(w.value) => a,
                _ => past(w.value, stops)?,
            };
            Some(w.of(value))
        };
        ways.iter().filter_map(one).collect()
    }
}

/// Part of a stop past a marked f-number, as half and third stops are marked.
fn past(a: Aperture, stops: f64) -> Option<Aperture> {
    use crate::exposure::Stops;
    let step = if (stops - HALF_STOP).abs() < SAME_STOPS { ApertureStep::Half } else { ApertureStep::Third };
    step.shifted(a, Stops::new(-stops)).or_else(|| Aperture::new(a.number() * (stops / 2.0).exp2()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exposure::Speed;
    use crate::kit::Kit;
    use crate::language::grammar::{ENGLISH, Lexicon};
    use crate::language::phrases::{Passage, find};
    use crate::language::text::{fold, stretches};

    /// The readings of all words of a text as a shutter speed, likeliest first, by the part of a second.
    fn speeds(text: &str) -> Vec<(f64, f64)> {
        let kit = Kit::default();
        let lexicon = Lexicon::new(&ENGLISH, &kit).unwrap();
        let folded = fold(text);
        let tokens = lexicon.known(&folded, stretches(&folded).next().unwrap());
        let found = find(&folded, &tokens, &lexicon);
        let passage = Passage { folded: &folded, text, tokens: &tokens, found: &found, lexicon: &lexicon, kit: &kit };
        let part = |s: Shutter| s.seconds().map(|s| (1.0 / s).round());
        let all = Values::of(&passage).shutter(&(0..tokens.len()));
        all.iter().filter_map(|w| Some((part(w.value)?, w.weight))).collect()
    }

    #[test]
    fn parts_of_a_second_as_people_say_them() {
        for (text, part) in
            [("a sixtieth", 60.0), ("one twenty-fifth", 125.0), ("two fiftieth", 250.0), ("1/500", 500.0)]
        {
            assert_eq!(speeds(text).first().map(|s| s.0), Some(part), "{text}");
        }
        assert!(Speed::nth(125.0).is_some());
    }

    #[test]
    fn what_can_be_said_two_ways_has_both_readings() {
        let all = speeds("one sixtieth");
        assert_eq!(all.first().map(|s| s.0), Some(60.0), "{all:?}");
        assert!(all.iter().any(|s| s.0 == 160.0 && s.1 < all[0].1), "{all:?}");
    }
}
