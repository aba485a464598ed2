//! What a stretch of words stands for, once it is known what it is for.
//!
//! The purpose of words is settled elsewhere (see `tag`); here the grammar's
//! phrases, the number words and the kit's names say which values they can
//! mean, each with how likely the words mean it. The gear is not asked.

use std::ops::Range;

use crate::exposure::{Aperture, Shutter};
use crate::facts::FrameNumber;
use crate::kit::Focal;

use super::class::Class;
use super::lexicon::Gear;
use super::number::{How, Number, NumberKind};
use super::statement::Reading;
use super::term::{Arg, Term};
use super::token::Kind;
use super::trie::NO_VALUE;
use super::ways::{self, ShutterForm, Way, add};

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
/// Nobody changes an exposure by more stops at once.
const MOST_STOPS: f64 = 12.0;

/// Reads stretches of one text's tokens.
pub struct Values<'a> {
    r: &'a Reading<'a>,
}

impl<'a> Values<'a> {
    /// Of a text that was read as far as its phrases.
    pub const fn of(reading: &'a Reading<'a>) -> Self {
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
        let mut ways = Vec::new();
        for term in self.terms(span, &wanted) {
            let numbers = self.readings(term.args[0]);
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
            let unit = |list| self.r.tokens[span.clone()].iter().any(|t| self.r.lexicon.in_list(list, t));
            let seconds = if unit("minute-word") { 60.0 } else { 1.0 };
            if seconds > 1.0 || unit("second-word") {
                ways = ways::timed(seconds, self.alike());
            }
        }
        sorted(ways)
    }

    /// An aperture.
    pub fn aperture(&self, span: &Range<usize>) -> Option<Opening> {
        use Class as C;
        let wanted =
            [C::Aperture, C::ApertureTo, C::ApertureHalf, C::ApertureBetween, C::ApertureWidest, C::ApertureSmallest];
        for term in self.terms(span, &wanted) {
            let ways = |arg| {
                let numbers = self.readings(arg);
                ways::apertures(numbers.iter(), self.written(&numbers), self.alike())
            };
            let part = |ways: Vec<Way<Aperture>>, stops: f64| -> Vec<Way<Aperture>> {
                ways.iter().filter_map(|w| Some(w.of(past(w.value, stops)?))).collect()
            };
            let ways = match term.class {
                C::ApertureWidest => return Some(Opening::Widest),
                C::ApertureSmallest => return Some(Opening::Smallest),
                C::ApertureHalf => part(ways(term.args[0]), self.fixed(term).unwrap_or(0.5)),
                C::ApertureBetween => part(ways(term.args[0]), 0.5),
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
        (!ways.is_empty()).then(|| Opening::Number(sorted(ways)))
    }

    /// Things of the kit that are named in a stretch, the surest first.
    pub(super) fn gear(&self, span: &Range<usize>) -> Vec<(Gear, f64)> {
        let mut out: Vec<(Gear, f64)> = Vec::new();
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

    fn kind<T>(&self, span: &Range<usize>, pick: impl Fn(Gear) -> Option<T>) -> Vec<Way<T>> {
        self.gear(span).into_iter().filter_map(|(g, w)| Some(Way::new(pick(g)?, w))).collect()
    }

    /// A lens or a focal length.
    pub fn glass(&self, span: &Range<usize>) -> Glass {
        let mut glass = Glass {
            lens: self.kind(span, |g| if let Gear::Lens(i) = g { Some(usize::from(i)) } else { None }),
            ..Glass::default()
        };
        let numbers =
            self.number(span, |n| n.kind != NumberKind::Ordinal && n.how != How::Pair && n.how != How::Homophone);
        if glass.lens.is_empty() || self.r.kit.lenses[glass.lens[0].value].focal.is_zoom() {
            glass.focal = sorted(ways::values(numbers.iter(), self.alike()));
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
        let end = self.r.tokens[span.clone()].iter().any(|t| self.r.lexicon.in_list("zoom-end", t));
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

    /// Filters named, in order; none where the words say that there is none.
    pub fn filters(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        self.kind(span, |g| if let Gear::Filter(i) = g { Some(usize::from(i)) } else { None })
    }

    /// Whether the words say that no filter is on.
    pub fn bare(&self, span: &Range<usize>) -> bool {
        !self.terms(span, &[Class::FilterNone, Class::FilterOff]).is_empty()
            || self.r.tokens[span.clone()].iter().any(|t| self.r.lexicon.in_list("without", t))
    }

    /// Cameras.
    pub fn camera(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        self.kind(span, |g| if let Gear::Camera(i) = g { Some(usize::from(i)) } else { None })
    }

    /// Films, by name or by the speed on the box where only one has it.
    pub fn film(&self, span: &Range<usize>) -> Vec<Way<usize>> {
        let mut films = self.kind(span, |g| if let Gear::Film(i) = g { Some(usize::from(i)) } else { None });
        if films.is_empty() {
            // A name that only sounds like one of the kit's, where a roll is announced.
            for term in self.terms(span, &[Class::Film]) {
                if let Some(Arg::Gear(Gear::Film(i), w)) = term.args[0] {
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

    /// Plain numbers: ratings.
    pub fn plain(&self, span: &Range<usize>) -> Vec<Way<f64>> {
        let numbers =
            self.number(span, |n| n.kind != NumberKind::Ordinal && n.how != How::Pair && n.how != How::Homophone);
        sorted(ways::values(numbers.iter(), self.alike()))
    }

    /// A frame's number.
    pub fn frame(&self, span: &Range<usize>) -> Vec<Way<FrameNumber>> {
        if !self.terms(span, &[Class::Frame00]).is_empty() {
            return vec![Way::new(FrameNumber::DOUBLE_ZERO, 1.0)];
        }
        let fits = |n: &Number| n.how != How::Pair && n.kind != NumberKind::Decimal;
        let plain = self.number(span, |n| fits(n) && n.how != How::Homophone);
        let numbers = if plain.is_empty() { self.number(span, fits) } else { plain };
        let cardinal: Vec<Number> = numbers.iter().map(|n| Number { kind: NumberKind::Cardinal, ..*n }).collect();
        let mut ways = sorted(ways::frames(cardinal.iter(), self.alike()));
        // Digits said one by one: "one two" is 12.
        if ways.len() <= 2 && numbers.first().is_some_and(|n| usize::from(n.end - n.start) < span.len()) {
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
        match self.side(end) {
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
        if out.len() > 1 && rising { out } else { Vec::new() }
    }

    fn digit(&self, i: usize) -> Option<u32> {
        let one = |n: &Number| usize::from(n.end) == i + 1 && n.how == How::Plain && n.value < 10.0;
        self.number(&(i..i + 1), |n| one(n)).first().map(|n| n.value as u32)
    }

    /// The side of a sheet holder that is named behind its number: "4B", "four, side B".
    fn side(&self, end: usize) -> Option<char> {
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
            Some("b" | "bee") => Some('b'),
            Some("a") if named || glued || last => Some('a'),
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
        let number = numbers.iter().max_by(|a, b| a.weight.total_cmp(&b.weight));
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
        let (amount, clicks) = match (best, signed) {
            (Some(q), _) => (q.value, q.class == C::Clicks),
            (None, Some((a, _))) => a,
            // "Twice as long", "half the speed": one stop.
            (None, None) if self.r.tokens[span.clone()].iter().any(|t| self.r.lexicon.in_list("doubles", t)) => {
                (1.0, false)
            }
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
        self.worded(span, Class::Light)
    }

    /// Support, in the grammar's words; else as it was said.
    pub fn support(&self, span: &Range<usize>) -> String {
        self.worded(span, Class::Support)
    }

    fn worded(&self, span: &Range<usize>, class: Class) -> String {
        let term = self.terms(span, &[class]).into_iter().find_map(|t| self.text(t));
        term.map_or_else(|| self.words(span), str::to_owned)
    }

    /// What is asked of the lab: `push 1`, `N+1`, or as it was said.
    pub fn process(&self, span: &Range<usize>) -> String {
        use Class as C;
        let wanted = [C::Push, C::Pull, C::NPlus, C::NMinus, C::ProcessNormal];
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
}

fn sorted<T>(mut ways: Vec<Way<T>>) -> Vec<Way<T>> {
    ways.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    ways
}

/// Part of a stop past a marked f-number, as half and third stops are marked.
fn past(a: Aperture, stops: f64) -> Option<Aperture> {
    use crate::exposure::{ApertureStep, Stops};
    let step = if (stops - 0.5).abs() < 0.05 { ApertureStep::Half } else { ApertureStep::Third };
    step.shifted(a, Stops::new(-stops)).or_else(|| Aperture::new(a.number() * (stops / 2.0).exp2()))
}
