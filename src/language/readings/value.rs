//! What a stretch of words stands for, once it is known what it is for.
//!
//! The purpose of words is settled elsewhere (see `tag`); here the grammar's
//! phrases, the number words and the kit's names say which values they can
//! mean, each with how likely the words mean it. The gear is not asked.

use std::ops::Range;

use crate::exposure::{Aperture, ApertureStep, Shutter, ShutterStep};
use crate::facts::FrameNumber;
use crate::kit::Focal;

use super::ways;
use super::ways::{ShutterForm, Way, add};
use crate::language::grammar::{Class, KitThing, NO_VALUE, SoundsLike};
use crate::language::phrases::{Arg, Passage, Term};
use crate::language::text::{How, Kind, Number, NumberKind, NumberWord, Token, distance, numbers};

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

/// Which glass words name.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Glass {
    /// Lenses of the kit.
    pub lens: Vec<Way<usize>>,
    /// Focal lengths, millimetres.
    pub focal: Vec<Way<f64>>,
    /// The short (`false`) or long (`true`) end of a zoom.
    pub end: Option<bool>,
}

/// A change of exposure as words give it: how far, which way, with what.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// How far, in stops or clicks; never below 0.
    pub amount: f64,
    /// Whether `amount` counts clicks of a dial.
    pub clicks: bool,
    /// More light (`true`) or less, if the words tell.
    pub more: Option<bool>,
    /// It is so far to either side, or from one exposure to the next: a bracket.
    pub bracket: bool,
    /// Which dial the words name: the shutter (`true`) or the aperture.
    pub of_shutter: Option<bool>,
}

/// An amount that is surely the step of a bracket weighs more than this in the grammar.
const SURE_STEP: f32 = 0.7;
/// Sounds that may differ between words and the name they are taken for, as a part of the longer.
const FARTHEST_NAME: f64 = 0.45;
/// How surely a filter is meant by the number in its name alone; our choice, as for a name come near to.
const NUMBERED: f64 = 0.9;
/// How much farther off every other name of the kind must be.
const CLEARLY_NEARER: f64 = 0.1;
/// What a name that was only come near to weighs at best: it is always in doubt.
const NEAR_NAME: f64 = 0.6;
/// Fewer letters sound like too much.
const LEAST_LETTERS: usize = 3;
/// A second filter is meant too if it is named at least so much as surely as the first.
const AS_NEAR: f64 = 0.5;
/// Filters that one stretch names at most.
const MOST_STACKED: usize = 2;
/// A number whose words only sound like number words weighs this, against one of plain words.
const SPELT: f32 = 0.9;
/// Only a lens of the kit has a shorter focal length, millimetres: less is a number misheard. Common practice.
const SHORTEST_MM: f64 = 12.0;
/// No film is pushed or pulled farther, stops.
const MOST_PROCESS: f64 = 4.0;
/// No setting has more digits.
const MOST_DIGITS: usize = 5;
/// No number has more words.
const MOST_SPELT: usize = 9;
/// Nobody changes an exposure by more stops at once.
const MOST_STOPS: f64 = 12.0;

/// Lists of words that tell a light, in the order in which they are asked, with the light.
const LIGHTS: [(&str, &str); 13] = [
    ("light-backlit", "backlit"),
    ("light-low-sun", "low sun"),
    ("light-window-light", "window light"),
    ("light-dusk", "dusk"),
    ("light-dawn", "dawn"),
    ("light-night", "night"),
    ("light-fog", "fog"),
    ("light-rain", "rain"),
    ("light-hazy-sun", "hazy sun"),
    ("light-overcast", "overcast"),
    ("light-open-shade", "open shade"),
    ("light-full-sun", "full sun"),
    ("light-indoors", "indoors"),
];
/// The same for what a camera stands on.
const SUPPORTS: [(&str, &str); 4] = [
    ("support-handheld", "handheld"),
    ("support-monopod", "monopod"),
    ("support-tripod", "tripod"),
    ("support-beanbag", "beanbag"),
];

/// Reads stretches of one text's tokens.
pub struct Values<'a> {
    r: &'a Passage<'a>,
}

impl<'a> Values<'a> {
    /// Of a text that was read as far as its phrases.
    pub const fn of(reading: &'a Passage<'a>) -> Self {
        Self { r: reading }
    }

    /// Phrases of these classes inside a stretch (one token over either edge is forgiven), the
    /// longest first, then the surest.
    fn terms(&self, span: &Range<usize>, wanted: &[Class]) -> Vec<&'a Term> {
        let found: &'a [Term] = &self.r.found.all;
        let from = found.partition_point(|t| usize::from(t.start) + 1 < span.start);
        let mut out: Vec<&Term> = found[from..]
            .iter()
            .take_while(|t| usize::from(t.start) < span.end)
            .filter(|t| usize::from(t.end) <= span.end + 1 && usize::from(t.end) > span.start)
            .filter(|t| wanted.contains(&t.class))
            .collect();
        let over = |t: &Term| {
            let (s, e) = (usize::from(t.start), usize::from(t.end));
            let inside = e.min(span.end) - s.max(span.start);
            2 * inside as i64 - (e - s) as i64
        };
        out.sort_by(|a, b| over(b).cmp(&over(a)).then(b.weight.total_cmp(&a.weight)).then(a.start.cmp(&b.start)));
        out
    }

    /// The longest number that stands wholly in a stretch, the last of several, with all its readings.
    fn number(&self, span: &Range<usize>, fits: impl Fn(&Number) -> bool) -> Vec<Number> {
        let all = &self.r.found.numbers;
        let from = all.partition_point(|n| usize::from(n.start) < span.start);
        let inside = || {
            all[from..]
                .iter()
                .take_while(|n| usize::from(n.start) < span.end)
                .filter(|n| usize::from(n.end) <= span.end)
        };
        let best = inside().filter(|n| fits(n)).max_by_key(|n| (n.end - n.start, n.start));
        let Some(best) = best.map(|n| (n.start, n.end)) else { return Vec::new() };
        inside().filter(|n| (n.start, n.end) == best).copied().collect()
    }

    /// A number that takes every word of a stretch, where some of them only sound like number words:
    /// "to fifty", "one to fifth", "f for point five". Known to be a setting, such words are one.
    fn spelt(&self, span: &Range<usize>) -> Vec<Number> {
        let words = &self.r.lexicon.numbers;
        let sounds = |t: &Token| {
            let digit = t.id.and_then(|id| words.homophones.get(&id));
            digit.and_then(|(value, _)| words.unit_word(*value))
        };
        let is_number =
            |t: &Token| matches!(t.kind, Kind::Number { .. }) || t.id.is_some_and(|id| words.words.contains_key(&id));
        let starts = |t: &Token| is_number(t) || sounds(t).is_some();
        let Some(from) = span.clone().find(|i| starts(&self.r.tokens[*i])) else { return Vec::new() };
        let end = span.clone().rev().find(|i| !self.r.tokens[*i].is_mark()).map_or(from, |i| i + 1);
        if end - from < 2 || end - from > MOST_SPELT {
            return Vec::new();
        }
        if let Some(n) = self.digit_by_digit(from, end) {
            return vec![n];
        }
        let mut changed = false;
        let tokens: Vec<Token> = self.r.tokens[from..end]
            .iter()
            .map(|t| match sounds(t).filter(|_| !is_number(t)) {
                Some(id) => {
                    changed = true;
                    Token { id: Some(id), ..t.clone() }
                }
                None => t.clone(),
            })
            .collect();
        let torn = tokens.last().is_some_and(|t| self.r.lexicon.in_list("teen", t));
        if !changed && !torn {
            return Vec::new();
        }
        // "Eight teen" is 18.
        if let [a, b] = &tokens[..]
            && let Some(NumberWord::Unit(unit @ 4..=9)) = a.id.and_then(|id| words.words.get(&id)).copied()
            && self.r.lexicon.in_list("teen", b)
        {
            let value = f64::from(10 + unit);
            return vec![Number {
                start: from as u16,
                end: end as u16,
                value,
                kind: NumberKind::Cardinal,
                how: How::Plain,
                weight: SPELT,
            }];
        }
        // "Four .5" is 4.5.
        let part = |t: &Token| match t.kind {
            Kind::Number { value, decimals: 1.., .. } if value < 1.0 => Some(value),
            _ => None,
        };
        let whole = |t: &Token| words.units.iter().find(|u| t.id == Some(u.1)).map(|u| f64::from(u.0));
        let (start, stop) = (from as u16, end as u16);
        if let [a, b] = &tokens[..]
            && let (Some(a), Some(b)) = (whole(a), part(b))
        {
            let kind = NumberKind::Decimal;
            return vec![Number { start, end: stop, value: a + b, kind, how: How::Plain, weight: SPELT }];
        }
        let all = numbers(&tokens, words).into_iter();
        all.filter(|n| n.start == 0 && usize::from(n.end) == tokens.len())
            .map(|n| Number { start, end: stop, weight: n.weight * SPELT, ..n })
            .collect()
    }

    /// "One, two, five", "one oh oh oh": three digits or more, with commas at most between them.
    fn digit_by_digit(&self, from: usize, end: usize) -> Option<Number> {
        let one = |n: &Number, i: usize| usize::from(n.end) == i + 1 && n.how == How::Plain && n.value < 10.0;
        let comma = |i: &usize| self.r.tokens[*i].kind == Kind::Mark(',');
        let commas = (from..end).any(|i| comma(&i));
        let digits: Option<Vec<f64>> = (from..end)
            .filter(|i| !comma(i))
            .map(|i| self.number(&(i..i + 1), |n| one(n, i)).first().map(|n| n.value))
            .collect();
        let digits =
            digits.filter(|d| d[0] > 0.0 && d.len() >= if commas { 3 } else { 4 } && d.len() <= MOST_DIGITS)?;
        let value = digits.iter().fold(0.0, |n, d| n * 10.0 + d);
        let kind = NumberKind::Cardinal;
        Some(Number { start: from as u16, end: end as u16, value, kind, how: How::Joined, weight: SPELT })
    }

    fn readings(&self, arg: Option<Arg>) -> Vec<Number> {
        match arg {
            Some(Arg::Number { start, end }) => self.r.found.readings(start, end).copied().collect(),
            _ => Vec::new(),
        }
    }

    fn written(&self, numbers: &[Number]) -> bool {
        numbers.first().is_some_and(|n| matches!(self.r.tokens[usize::from(n.start)].kind, Kind::Number { .. }))
    }

    fn fixed(&self, term: &Term) -> Option<f64> {
        self.text(term)?.parse().ok()
    }

    fn text(&self, term: &Term) -> Option<&'a str> {
        (term.value != NO_VALUE).then(|| self.r.lexicon.values[term.value as usize].as_str())
    }

    fn alike(&self) -> &'a [(u32, u32)] {
        &self.r.lexicon.numbers.alike
    }

    /// Whether a stretch holds a stroke, or a word said for one ("one by sixty").
    fn stroke(&self, span: &Range<usize>) -> bool {
        self.r.tokens[span.clone()].iter().any(|t| t.kind == Kind::Mark('/') || self.r.lexicon.in_list("stroke", t))
    }

    /// Whether a stretch holds a word of one of the grammar's lists.
    pub fn has(&self, span: &Range<usize>, list: &str) -> bool {
        self.r.tokens[span.clone()].iter().any(|t| self.r.lexicon.in_list(list, t))
    }

    /// Shutter settings.
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
                C::ApertureHalf => self.past_mark(ways(term.args[0]), self.fixed(term).unwrap_or(0.5)),
                C::ApertureBetween => self.past_mark(ways(term.args[0]), 0.5),
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

    /// Things of the kit that are named in a stretch, the surest first.
    pub fn gear(&self, span: &Range<usize>) -> Vec<(KitThing, f64)> {
        let mut out: Vec<(KitThing, f64)> = Vec::new();
        let named = &self.r.found.named;
        let from = named.partition_point(|n| usize::from(n.start) + 1 < span.start);
        for n in named[from..].iter().take_while(|n| usize::from(n.start) < span.end) {
            let (s, e) = (usize::from(n.start), usize::from(n.end));
            if e > span.end + 1 || e <= span.start {
                continue;
            }
            let inside = (e.min(span.end) - s.max(span.start)) as f64;
            let share = inside / (e - s).max(span.len()) as f64;
            let weight = f64::from(n.weight) * share.powf(0.25);
            match out.iter_mut().find(|(g, _)| *g == n.gear) {
                Some(o) => o.1 = o.1.max(weight),
                None => out.push((n.gear, weight)),
            }
        }
        out.sort_by(|a, b| b.1.total_cmp(&a.1));
        out
    }

    fn kind<T>(&self, span: &Range<usize>, pick: impl Fn(KitThing) -> Option<T>) -> Vec<Way<T>> {
        let named: Vec<Way<T>> = self.gear(span).into_iter().filter_map(|(g, w)| Some(Way::new(pick(g)?, w))).collect();
        if named.is_empty() { self.sounds_like(span, pick) } else { named }
    }

    /// The one thing of a kind whose name sounds most like the words of a stretch, in doubt; none where two are
    /// about as near.
    fn sounds_like<T>(&self, span: &Range<usize>, pick: impl Fn(KitThing) -> Option<T>) -> Vec<Way<T>> {
        let words = self.r.tokens[span.clone()].iter().filter(|t| {
            let says_nothing = ["leading", "thing"].iter().any(|l| self.r.lexicon.in_list(l, t));
            t.kind == Kind::Word && !self.r.lexicon.is_number_word(t) && !says_nothing
        });
        let letters: String = words.map(|t| &self.r.folded[t.span.clone()]).collect();
        let key = self.r.lexicon.sounds.key(&letters);
        if letters.len() < LEAST_LETTERS || key.len() < 2 {
            return Vec::new();
        }
        let mut all: Vec<(f64, KitThing)> = Vec::new();
        for (name, known) in &self.r.lexicon.sound_names {
            let longest = name.len().max(key.len());
            let Some(off) = distance(&key, name, longest / 2).map(|d| d as f64 / longest as f64) else { continue };
            for k in known {
                let SoundsLike::Gear(gear) = k.sounds else { continue };
                if pick(gear).is_none() || off > FARTHEST_NAME {
                    continue;
                }
                match all.iter_mut().find(|(_, g)| *g == gear) {
                    Some(a) => a.0 = a.0.min(off),
                    None => all.push((off, gear)),
                }
            }
        }
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        let clear = all.len() < 2 || all[1].0 - all[0].0 >= CLEARLY_NEARER;
        let best = all.first().filter(|_| clear);
        best.and_then(|(off, gear)| Some(Way::new(pick(*gear)?, NEAR_NAME * (1.0 - off)))).into_iter().collect()
    }

    /// A lens or a focal length.
    pub fn glass(&self, span: &Range<usize>) -> Glass {
        let mut glass = Glass {
            lens: self.kind(span, |g| if let KitThing::Lens(i) = g { Some(usize::from(i)) } else { None }),
            ..Glass::default()
        };
        let numbers = self.plain_number(span);
        if glass.lens.is_empty() || self.r.kit.lenses[glass.lens[0].value].focal.is_zoom() {
            glass.focal = sorted(ways::values(numbers.iter(), self.alike()));
            let made = |mm: f64| mm >= SHORTEST_MM || self.r.kit.lenses.iter().any(|l| l.focal.covers(mm));
            glass.focal.retain(|w| made(w.value));
        }
        glass.end = self.r.tokens[span.clone()].iter().find_map(|t| {
            let is = |list| self.r.lexicon.in_list(list, t);
            if is("long-end") {
                Some(true)
            } else if is("short-end") {
                Some(false)
            } else {
                None
            }
        });
        // "The long zoom" is a name; "the zoom, long end" says where it stands.
        let end = self.has(span, "zoom-end");
        if !glass.lens.is_empty() && !end || !glass.focal.is_empty() {
            glass.end = None;
        }
        if glass.lens.is_empty() {
            for f in &glass.focal.clone() {
                for (i, lens) in self.r.kit.lenses.iter().enumerate() {
                    if matches!(lens.focal, Focal::Prime(_)) && lens.focal.covers(f.value) {
                        add(&mut glass.lens, i, f.weight);
                    }
                }
            }
        }
        glass
    }

    /// How near the words come to the filter that they name: 1 where they say its name.
    pub fn filter_near(&self, span: &Range<usize>) -> f64 {
        let said = self.gear(span).iter().any(|(g, _)| matches!(g, KitThing::Filter(_)));
        if said { 1.0 } else { self.filters(span).first().map_or(1.0, |w| w.weight.min(1.0)) }
    }

    /// Filters named, in order; none where the words say that there is none.
    pub fn filters(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        let named = self.kind(span, |g| if let KitThing::Filter(i) = g { Some(usize::from(i)) } else { None });
        if named.is_empty() { self.filter_of_number(span) } else { named }
    }

    /// "Number eight": the one filter with that number in its name.
    fn filter_of_number(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        let Some(number) = self.plain_number(span).first().map(|n| n.value) else { return Vec::new() };
        let has = |name: &str| name.split_whitespace().any(|w| w.parse().is_ok_and(|n: f64| n == number));
        let filters = self.r.kit.filters.iter().enumerate();
        let mut all = filters.filter(|(_, f)| has(&f.name)).map(|(i, _)| i);
        match (all.next(), all.next()) {
            (Some(one), None) => vec![Way::new(one, NUMBERED)],
            _ => Vec::new(),
        }
    }

    /// The filters that a stretch means: two names of one place are two ways to read it, unless there are words
    /// enough for both.
    pub fn filters_meant(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        let ways = self.filters(span);
        let Some(first) = ways.first().copied() else { return ways };
        let near = ways.into_iter().filter(|w| w.weight >= AS_NEAR * first.weight).take(MOST_STACKED);
        near.filter(|w| w.value == first.value || span.len() > 2).collect()
    }

    /// The words of a name that the kit does not have; none where there are but articles and the word for the thing.
    pub fn name_words(&self, span: &Range<usize>) -> Option<String> {
        let says =
            |t: &Token| !t.is_mark() && !self.r.lexicon.in_list("leading", t) && !self.r.lexicon.in_list("thing", t);
        self.r.tokens[span.clone()].iter().any(says).then(|| self.words(span))
    }

    /// Whether the words say that no filter is on.
    pub fn bare(&self, span: &Range<usize>) -> bool {
        let off = self.has(span, "off") && self.gear(span).is_empty();
        !self.terms(span, &[Class::FilterNone, Class::FilterOff]).is_empty() || self.has(span, "without") || off
    }

    /// Cameras.
    pub fn camera(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        self.kind(span, |g| if let KitThing::Camera(i) = g { Some(usize::from(i)) } else { None })
    }

    /// Cameras that are named: a lens of no kit may well sound like one.
    pub fn camera_named(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        let camera = |g| if let KitThing::Camera(i) = g { Some(usize::from(i)) } else { None };
        self.gear(span).into_iter().filter_map(|(g, w)| Some(Way::new(camera(g)?, w))).collect()
    }

    /// Films, by name or by the speed on the box where only one has it.
    pub fn film(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        let mut films = self.kind(span, |g| if let KitThing::Film(i) = g { Some(usize::from(i)) } else { None });
        if films.is_empty() {
            // A name that only sounds like one of the kit's, where a roll is announced.
            for term in self.terms(span, &[Class::Film]) {
                if let Some(Arg::Gear(KitThing::Film(i), w)) = term.args[0] {
                    add(&mut films, usize::from(i), f64::from(w * term.weight));
                }
            }
        }
        if films.is_empty() {
            for n in self.number(span, |n| n.kind == NumberKind::Cardinal) {
                let of: Vec<usize> = (0..self.r.kit.films.len())
                    .filter(|i| f64::from(self.r.kit.films[*i].iso.get()) == n.value)
                    .collect();
                if let [one] = of[..] {
                    add(&mut films, one, f64::from(n.weight));
                }
            }
        }
        films
    }

    fn plain_number(&self, span: &Range<usize>) -> Vec<Number> {
        let fits = |n: &Number| n.kind != NumberKind::Ordinal && n.how != How::Pair;
        let spelt: Vec<Number> = self.spelt(span).into_iter().filter(fits).collect();
        if spelt.is_empty() { self.number(span, |n| fits(n) && n.how != How::Homophone) } else { spelt }
    }

    /// Plain numbers: ratings.
    pub fn plain(&self, span: &Range<usize>) -> Vec<Way<f64>> {
        sorted(ways::values(self.plain_number(span).iter(), self.alike()))
    }

    /// A frame's number.
    pub fn frame(&self, span: &Range<usize>) -> Vec<Way<FrameNumber>> {
        if !self.terms(span, &[Class::Frame00]).is_empty() {
            return vec![Way::new(FrameNumber::DOUBLE_ZERO, 1.0)];
        }
        let fits = |n: &Number| n.how != How::Pair && n.kind != NumberKind::Decimal;
        let spelt: Vec<Number> = self.spelt(span).into_iter().filter(|n| fits(n)).collect();
        let plain = self.number(span, |n| fits(n) && n.how != How::Homophone);
        let numbers = if plain.is_empty() { self.number(span, fits) } else { plain };
        let numbers = if spelt.is_empty() { numbers } else { spelt };
        let cardinal: Vec<Number> = numbers.iter().map(|n| Number { kind: NumberKind::Cardinal, ..*n }).collect();
        let mut ways = sorted(ways::frames(cardinal.iter(), self.alike()));
        // Digits said one by one: "one two" is 12, but "first one" is no 11.
        let counted = !numbers.iter().any(|n| n.kind == NumberKind::Ordinal);
        if counted && ways.len() <= 2 && numbers.first().is_some_and(|n| usize::from(n.end - n.start) < span.len()) {
            let digits: Option<Vec<u32>> =
                span.clone().filter(|i| !self.r.tokens[*i].is_mark()).map(|i| self.digit(i)).collect();
            if let Some(d) = digits.filter(|d| (2..=3).contains(&d.len())) {
                let value = d.iter().fold(0, |n, d| n * 10 + d) as u16;
                if self.r.lexicon.most_frames.is_none_or(|most| value <= most + 1) {
                    ways = vec![Way::new(FrameNumber::new(value), 1.0)];
                }
            }
        }
        let end = numbers.first().map_or(span.end, |n| usize::from(n.end));
        match self.side(end, span.end) {
            Some('a') => ways.iter_mut().for_each(|w| w.value = w.value.with_a()),
            Some('b') => ways.iter_mut().for_each(|w| w.value = w.value.with_b()),
            _ => {}
        }
        ways
    }

    /// Numbers of frames that a stretch names one after the other, runs written out: "seven to nine",
    /// "two, three and four". One number or none gives an empty list.
    pub fn frames(&self, span: &Range<usize>) -> Vec<FrameNumber> {
        let all = &self.r.found.numbers;
        let mut out: Vec<FrameNumber> = Vec::new();
        let mut at = span.start;
        let mut run = false;
        while at < span.end {
            let here = all.iter().filter(|n| usize::from(n.start) == at && usize::from(n.end) <= span.end);
            let fits = |n: &&Number| {
                n.kind == NumberKind::Cardinal
                    && n.how == How::Plain
                    && self.r.lexicon.most_frames.is_none_or(|m| n.value <= f64::from(m) + 2.0)
            };
            match here.filter(fits).max_by_key(|n| n.end) {
                Some(n) => {
                    let number = FrameNumber::new(n.value as u16);
                    if let (true, Some(last)) = (run, out.last()) {
                        out.extend(
                            (last.place() + 1..number.place()).map(|p| FrameNumber::new(p as u16)).collect::<Vec<_>>(),
                        );
                    }
                    out.push(number);
                    run = false;
                    at = usize::from(n.end);
                }
                None => {
                    let t = &self.r.tokens[at];
                    run |= t.kind == Kind::Mark('-') || self.r.lexicon.in_list("run-of-frames", t);
                    at += 1;
                }
            }
        }
        let rising = out.windows(2).all(|w| w[0] < w[1]);
        if out.len() > 1 && rising && !self.digits_apart(span) { out } else { Vec::new() }
    }

    /// Whether a stretch is two digits said one by one, with nothing between: "one seven" is 17. A digit
    /// and the one that follows it ("one two") are two frames as likely: they are taken for one number
    /// too, which a film's next frame contradicts sooner.
    fn digits_apart(&self, span: &Range<usize>) -> bool {
        let words: Vec<Option<u32>> = span.clone().map(|i| self.digit(i)).collect();
        let lead = words.iter().position(Option::is_some).unwrap_or(0);
        matches!(words[lead..], [Some(1..), Some(_)])
    }

    fn digit(&self, i: usize) -> Option<u32> {
        let one = |n: &Number| {
            usize::from(n.end) == i + 1 && n.how == How::Plain && n.kind != NumberKind::Ordinal && n.value < 10.0
        };
        self.number(&(i..i + 1), |n| one(n)).first().map(|n| n.value as u32)
    }

    /// The side of a sheet holder that is named behind its number: "4B", "four, side B".
    /// The side that a stretch without a number names: "side B", "B".
    pub fn side_alone(&self, span: &Range<usize>) -> Option<char> {
        if span.clone().any(|i| self.digit(i).is_some()) || !self.number(span, |n| n.how == How::Plain).is_empty() {
            return None;
        }
        let last = span.clone().rev().find(|i| !self.r.tokens[*i].is_mark())?;
        match &self.r.folded[self.r.tokens[last].span.clone()] {
            "a" => Some('a'),
            "b" | "bee" => Some('b'),
            _ => None,
        }
    }

    /// A letter inside the stretch, before `within`, can be nothing else.
    fn side(&self, end: usize, within: usize) -> Option<char> {
        let mut at = end;
        let text = |i: usize| self.r.tokens.get(i).map(|t| &self.r.folded[t.span.clone()]);
        if self.r.tokens.get(at).is_some_and(|t| t.kind == Kind::Mark(',')) {
            at += 1;
        }
        let named = self.r.tokens.get(at).is_some_and(|t| self.r.lexicon.in_list("side", t));
        let at = if named { at + 1 } else { end };
        let glued = self.r.tokens.get(at).is_some_and(|t| t.glued);
        let last = self.r.tokens.get(at + 1).is_none_or(|t| t.is_mark());
        match text(at) {
            Some("b" | "bee" | "be") => Some('b'),
            Some("a" | "ay") if named || glued || last || at < within => Some('a'),
            _ => None,
        }
    }

    /// A roll's name, as in `7` or `A3`.
    pub fn roll(&self, span: &Range<usize>) -> Option<String> {
        for term in self.terms(span, &[Class::Roll, Class::RollNext, Class::RollEnd]) {
            if let Some(Arg::Name { start, end }) = term.args[0] {
                return self.name(usize::from(start)..usize::from(end), true);
            }
        }
        self.name(span.clone(), false)
    }

    /// A letter, a number, or both. `whole`: the stretch is the name and nothing else.
    fn name(&self, span: Range<usize>, whole: bool) -> Option<String> {
        let numbers = self.number(&span, |n| n.kind != NumberKind::Decimal && n.how != How::Pair);
        let number =
            numbers.iter().max_by(|a, b| (a.end - a.start).cmp(&(b.end - b.start)).then(a.weight.total_cmp(&b.weight)));
        let before = number.map_or(span.end, |n| usize::from(n.start));
        let letter = self.r.tokens[span.start..before]
            .iter()
            .rev()
            .enumerate()
            // "Roll A four", but not "a roll".
            .find(|(k, t)| {
                let article = self.r.lexicon.in_list("leading", t)
                    && !(*k == 0 && number.is_some() && (whole || before > span.start + 1));
                t.kind == Kind::Word && t.span.len() == 1 && !article
            })
            .map(|(_, t)| t)
            .map(|t| self.r.folded[t.span.clone()].to_uppercase());
        match (letter, number) {
            (None, None) => None,
            (l, n) => Some(l.unwrap_or_default() + &n.map_or(String::new(), |n| n.value.to_string())),
        }
    }

    /// A change of exposure.
    pub fn shift(&self, span: &Range<usize>) -> Option<Shift> {
        use Class as C;
        let more = [C::Open, C::Slower, C::More, C::Over, C::Extra, C::OneMoreOver];
        let less = [C::Close, C::Faster, C::Less, C::Under, C::OneMoreUnder];
        let either = [C::Comp, C::Step, C::EitherSide, C::OnExposure];
        let wanted: Vec<C> = more.iter().chain(&less).chain(&either).copied().collect();
        let amount = |term: &Term| match term.args[0] {
            Some(Arg::Amount(a)) => Some((a, false)),
            Some(Arg::Clicks(n)) => Some((n, true)),
            Some(Arg::Number { .. }) => self.readings(term.args[0]).first().map(|n| (n.value, false)),
            _ => self.fixed(term).map(|a| (a, false)),
        };
        let signed = self.terms(span, &wanted).into_iter().find_map(|t| amount(t).map(|a| (a, t)));
        // An amount by itself, as long as it goes.
        let quantities = &self.r.found.quantities;
        let best = quantities
            .iter()
            .filter(|q| q.class != C::Duration && usize::from(q.start) >= span.start && usize::from(q.end) <= span.end)
            .max_by_key(|q| (q.class != C::Amount, q.end - q.start));
        let doubles = self.has(span, "doubles");
        let doubled = doubles && signed.is_some_and(|(_, t)| matches!(t.class, C::Slower | C::Faster));
        let (amount, clicks) = match (best.filter(|_| !doubled), signed) {
            (Some(q), _) => (q.value, q.class == C::Clicks),
            (None, Some((a, _))) => a,
            // "Twice as long", "half the speed": one stop.
            (None, None) if doubles => (1.0, false),
            (None, None) => return None,
        };
        let way = signed.and_then(|(_, t)| {
            if more.contains(&t.class) {
                Some(true)
            } else if less.contains(&t.class) {
                Some(false)
            } else {
                None
            }
        });
        // A bare amount may be a step too; words such as "apart" make sure of it.
        let bracket =
            signed.is_some_and(|(_, t)| t.class == C::EitherSide || t.class == C::Step && t.weight > SURE_STEP);
        let of_shutter = signed.and_then(|(_, t)| match t.class {
            C::Open | C::Close => Some(false),
            C::Slower | C::Faster => Some(true),
            _ => None,
        });
        let whole = amount > 0.0 && amount <= MOST_STOPS;
        whole.then_some(Shift { amount, clicks, more: way, bracket, of_shutter })
    }

    /// Whether a change is said to make up for that of the other dial: "shut the stop to suit".
    pub fn makes_up(&self, span: &Range<usize>) -> bool {
        self.has(span, "makes-up")
    }

    /// Whether a change is said to go on from another: "another third".
    pub fn goes_further(&self, span: &Range<usize>) -> bool {
        self.has(span, "further")
    }

    /// A count of frames.
    pub fn count(&self, span: &Range<usize>) -> Option<u32> {
        if let Some(n) = self.terms(span, &[Class::Count]).into_iter().find_map(|t| self.fixed(t)) {
            return Some(n as u32);
        }
        let numbers = self.number(span, |n| n.kind == NumberKind::Cardinal && n.how != How::Pair);
        let n = numbers.iter().max_by(|a, b| a.weight.total_cmp(&b.weight))?.value;
        (1.0..=100.0).contains(&n).then_some(n as u32)
    }

    /// Light, in the grammar's words; else as it was said.
    pub fn light(&self, span: &Range<usize>) -> String {
        self.worded(span, Class::Light, &LIGHTS)
    }

    /// Support, in the grammar's words; else as it was said.
    pub fn support(&self, span: &Range<usize>) -> String {
        self.worded(span, Class::Support, &SUPPORTS)
    }

    fn worded(&self, span: &Range<usize>, class: Class, hints: &[(&str, &'static str)]) -> String {
        let has = |list: &str| self.has(span, list);
        let term = self.terms(span, &[class]).into_iter().find_map(|t| self.text(t));
        let hint = || hints.iter().find(|(list, _)| has(list)).map(|(_, value)| *value);
        term.or_else(hint).map_or_else(|| self.words(span), str::to_owned)
    }

    /// What is asked of the lab: `push 1`, `N+1`, or as it was said.
    pub fn process(&self, span: &Range<usize>) -> String {
        use Class as C;
        let has = |list| self.has(span, list);
        let wanted = [C::Push, C::Pull, C::NPlus, C::NMinus, C::ProcessNormal];
        let named = |c: &[C]| !self.terms(span, c).is_empty();
        let number = || {
            let whole = self.number(span, |n| n.kind == NumberKind::Cardinal && n.how == How::Plain);
            whole.first().map(|n| n.value).filter(|n| *n <= MOST_PROCESS)
        };
        let signs = [("plus", "N+"), ("minus", "N-"), ("push", "push "), ("pull", "pull ")];
        let sign = signs.iter().find(|(list, _)| has(list));
        if let (Some((_, text)), Some(n)) = (sign, number())
            && !named(&wanted[..4])
        {
            return format!("{text}{n}");
        }
        if has("normal") && sign.is_none() && !named(&wanted) {
            return "N".to_owned();
        }
        if let Some(term) = self.terms(span, &wanted).first() {
            let amount = match term.args[0] {
                Some(Arg::Amount(a)) => Some(a),
                Some(Arg::Number { .. }) => self.readings(term.args[0]).first().map(|n| n.value),
                _ => self.fixed(term),
            };
            let amount = amount.unwrap_or(1.0);
            return match term.class {
                C::Push => format!("push {amount}"),
                C::Pull => format!("pull {amount}"),
                C::NPlus => format!("N+{amount}"),
                C::NMinus => format!("N-{amount}"),
                _ => "N".to_owned(),
            };
        }
        self.words(span)
    }

    /// The words as they were written.
    pub fn words(&self, span: &Range<usize>) -> String {
        let tokens = &self.r.tokens[span.clone()];
        match (tokens.first(), tokens.last()) {
            (Some(a), Some(b)) => self.r.text[a.span.start..b.span.end].to_owned(),
            _ => String::new(),
        }
    }

    /// The same for a thing of the kit, with the word for such things that stands right behind: "the macro" | "lens".
    pub fn thing_words(&self, span: &Range<usize>) -> String {
        let behind = self.r.tokens.get(span.end).is_some_and(|t| self.r.lexicon.in_list("thing", t));
        self.words(&(span.start..span.end + usize::from(behind)))
    }
}

fn sorted<T>(mut ways: Vec<Way<T>>) -> Vec<Way<T>> {
    ways.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    ways
}

/// Part of a stop past a marked f-number, as half and third stops are marked.
fn past(a: Aperture, stops: f64) -> Option<Aperture> {
    use crate::exposure::Stops;
    let step = if (stops - 0.5).abs() < 0.05 { ApertureStep::Half } else { ApertureStep::Third };
    step.shifted(a, Stops::new(-stops)).or_else(|| Aperture::new(a.number() * (stops / 2.0).exp2()))
}
