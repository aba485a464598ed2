//! Numbers, as spoken and as recognisers write them.
//!
//! ```text
//! number  = chunk { chunk } [ tail ]      ; "one" "twenty five" is 125
//! chunk   = digits | unit | tens [unit] | [chunk|"a"] "hundred" [["and"] chunk]
//! decimal = chunk "point" chunk | digits "." digits
//! pair    = digit [mark] digit            ; "five six" is 5.6
//! ```
//! The words come from the grammar; nothing here is of any language.

use std::collections::HashMap;

use super::marks;
use super::token::{Kind, Token};

// How much a number weighs that words give in a way of its own, against one of plain words, 1. Choices, set by hand on
// the notes of five kits in `tests/phrases`; the kit and the learned reader have their say behind them.
/// 56 written "5.6", without another sign that a point is meant.
const TENTHS_LOST: f32 = 0.3;
/// 125 written "1.25": speeds are written so more often than stops.
const HUNDREDTHS_LOST: f32 = 0.6;
/// Hardly anything else is said so: "one two-fiftieth".
const SAID_SO: f32 = 0.95;
/// "One sixtieth": a sixtieth, rarely 1/160.
const ONE_OF_TENS: f32 = 0.8;
/// "One twenty-fifth": 1/125 more often than 1/25.
const ONE_OF_FIVES: f32 = 0.35;
/// Said in parts, as people do: "one / twenty-five", "forty / ate", "five / six".
const LIKELY: f32 = 0.9;
/// "20 5" is 25, or two numbers.
const TENS_APART: f32 = 0.7;
/// Parts that few people say as one number: "five / one hundred".
const HARDLY_JOINED: f32 = 0.3;
/// What the first digit behind a point is worth.
const TENTH: f64 = 0.1;

/// What a word of a number is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NumberWord {
    /// 0 to 19.
    Unit(u32),
    /// 20 to 90.
    Tens(u32),
    /// 100, 1000.
    Scale(u32),
    /// A first to a ninetieth.
    Ordinal(u32),
    /// A hundredth, a thousandth.
    OrdinalScale(u32),
}

/// The number words of a language, by word id.
#[derive(Debug, Clone, Default)]
pub struct NumberWords {
    /// Words of numbers.
    pub words: HashMap<u32, NumberWord>,
    /// Numbers below twenty with their words, in the order given.
    pub units: Vec<(u32, u32)>,
    /// Words that sound like a number, with the weight of that.
    pub homophones: HashMap<u32, (u32, f32)>,
    /// Endings that make digits an ordinal.
    pub suffixes: Vec<u32>,
    /// The word between a whole number and its decimals.
    pub points: Vec<u32>,
    /// The word that may stand after a hundred.
    pub ands: Vec<u32>,
    /// Words that stand for one before a hundred.
    pub articles: Vec<u32>,
    /// What may follow a number, and what it adds.
    pub tails: Vec<(Vec<u32>, f64)>,
    /// Pairs of numbers that sound alike.
    pub alike: Vec<(u32, u32)>,
}

impl NumberWords {
    /// The first word given for a number below twenty.
    pub fn unit_word(&self, value: u32) -> Option<u32> {
        let unit = |w: &&(u32, u32)| w.0 == value;
        self.units.iter().find(unit).map(|w| w.1)
    }
}

/// How a number was put together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum How {
    /// As any speaker would say it.
    Plain,
    /// Parts said one after the other: one / twenty-five.
    Joined,
    /// "one" taken as the one of one-over: one / sixtieth is 1/60.
    OneNth,
    /// Two digits that stand for a decimal: five / six.
    Pair,
    /// With a tail: two / and a half.
    Tail,
    /// A word that sounds like a number.
    Homophone,
    /// A part of it only sounds like one: forty / ate.
    Heard,
    /// A point that should not be there: 1.20 for 120.
    LostPoint,
}

/// What a number can be used as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum NumberKind {
    /// Counts.
    Cardinal,
    /// Orders, or parts of a second.
    Ordinal,
    /// Has decimals.
    Decimal,
}

/// One way to read tokens as a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Number {
    /// First token.
    pub start: u16,
    /// Token after the last.
    pub end: u16,
    /// Its value.
    pub value: f64,
    /// What it can be used as.
    pub kind: NumberKind,
    /// How it was put together.
    pub how: How,
    /// How likely the words mean it, 0 to 1.
    pub weight: f32,
}

/// A part of a number: a run that is one number by itself.
#[derive(Clone, Copy)]
struct Chunk {
    end: usize,
    value: u32,
    ordinal: bool,
    written: bool,
}

/// Every number that may be read, in order of their first tokens.
pub fn numbers(tokens: &[Token], words: &NumberWords) -> Vec<Number> {
    let reader = Reader { tokens, words };
    let mut out = Vec::new();
    for start in 0..tokens.len() {
        reader.at(start, &mut out);
    }
    out
}

/// A word that sounds like a number hardly means anything else from here on.
const SURE_SOUND: f32 = 0.5;

struct Reader<'a> {
    tokens: &'a [Token],
    words: &'a NumberWords,
}

impl Reader<'_> {
    fn word(&self, i: usize) -> Option<NumberWord> {
        self.words.words.get(&self.tokens.get(i)?.id?).copied()
    }

    fn is(&self, i: usize, among: &[u32]) -> bool {
        self.tokens.get(i).and_then(|t| t.id).is_some_and(|id| among.contains(&id))
    }

    /// All chunks at `i`, short to long.
    fn chunks(&self, i: usize, out: &mut Vec<Chunk>) {
        out.clear();
        let Some(token) = self.tokens.get(i) else { return };
        if let Kind::Number { value, decimals: 0, .. } = token.kind {
            if value > 99_999.0 {
                return;
            }
            let value = value as u32;
            let suffixed = self.tokens.get(i + 1).is_some_and(|t| t.glued) && self.is(i + 1, &self.words.suffixes);
            let end = if suffixed { i + 2 } else { i + 1 };
            out.push(Chunk { end, value, ordinal: suffixed, written: true });
            if !suffixed && let Some(scaled) = self.scaled(value, self.past_hyphen(i + 1)) {
                out.extend(scaled);
            }
            // "20-5", "30-one": tens and units, since no range runs down.
            let unit = self.past_hyphen(i + 1);
            if (20..100).contains(&value)
                && value.is_multiple_of(10)
                && unit > i + 1
                && let Some(u) = self.small(unit)
            {
                out.push(Chunk { end: unit + 1, value: value + u, ordinal: false, written: true });
            }
            return;
        }
        match self.word(i) {
            Some(NumberWord::Unit(v)) => {
                out.push(Chunk { end: i + 1, value: v, ordinal: false, written: false });
                if let Some(scaled) = self.scaled(v, i + 1) {
                    out.extend(scaled);
                }
            }
            Some(NumberWord::Tens(v)) => {
                out.push(Chunk { end: i + 1, value: v, ordinal: false, written: false });
                if let Some(scaled) = self.scaled(v, i + 1) {
                    out.extend(scaled);
                }
                // "thirty-th"
                if self.is(i + 1, &self.words.suffixes) {
                    out.push(Chunk { end: i + 2, value: v, ordinal: true, written: false });
                }
                // "fifty 5"
                let written = matches!(self.tokens.get(i + 1).map(|t| t.kind), Some(Kind::Number { .. }));
                if let Some(u) = self.small(i + 1).filter(|_| written) {
                    out.push(Chunk { end: i + 2, value: v + u, ordinal: false, written: false });
                }
                match self.word(i + 1) {
                    Some(NumberWord::Unit(u)) if (1..10).contains(&u) => {
                        out.push(Chunk { end: i + 2, value: v + u, ordinal: false, written: false });
                        if let Some(scaled) = self.scaled(v + u, i + 2) {
                            out.extend(scaled);
                        }
                    }
                    Some(NumberWord::Ordinal(u)) if (1..10).contains(&u) => {
                        out.push(Chunk { end: i + 2, value: v + u, ordinal: true, written: false });
                    }
                    _ => {}
                }
            }
            Some(NumberWord::Ordinal(v)) => out.push(Chunk { end: i + 1, value: v, ordinal: true, written: false }),
            Some(NumberWord::Scale(_) | NumberWord::OrdinalScale(_)) => {
                if let Some(scaled) = self.scaled(1, i) {
                    out.extend(scaled);
                }
            }
            None if self.is(i, &self.words.articles) => {
                if let Some(scaled) = self.scaled(1, i + 1) {
                    out.extend(scaled);
                }
            }
            None => {}
        }
    }

    /// The token behind a hyphen that is written against what stands before it; else `i`.
    fn past_hyphen(&self, i: usize) -> usize {
        let hyphen = self.tokens.get(i).is_some_and(|t| t.glued && t.kind == Kind::Mark('-'));
        if hyphen && self.tokens.get(i + 1).is_some_and(|t| t.glued) { i + 1 } else { i }
    }

    /// A number from 1 to 9.
    fn small(&self, i: usize) -> Option<u32> {
        let value = match (self.tokens.get(i)?.kind, self.word(i)) {
            (Kind::Number { value, digits: 1, decimals: 0 }, _) => value as u32,
            (_, Some(NumberWord::Unit(u))) => u,
            _ => return None,
        };
        (1..10).contains(&value).then_some(value)
    }

    /// `n` hundred, `n` thousand, with what follows.
    fn scaled(&self, n: u32, i: usize) -> Option<Vec<Chunk>> {
        if n == 0 || n > 99 {
            return None;
        }
        let scale = match self.word(i)? {
            NumberWord::OrdinalScale(s) => {
                return Some(vec![Chunk { end: i + 1, value: n * s, ordinal: true, written: false }]);
            }
            NumberWord::Scale(s) => s,
            _ => return None,
        };
        let base = n * scale;
        let mut all = vec![Chunk { end: i + 1, value: base, ordinal: false, written: false }];
        let after = if self.is(i + 1, &self.words.ands) { i + 2 } else { i + 1 };
        let mut rest = Vec::new();
        // A hundred is followed by less than a hundred, a thousand by less than a thousand.
        if self.word(after).is_some_and(|w| !matches!(w, NumberWord::Scale(_) | NumberWord::OrdinalScale(_)))
            || matches!(self.tokens.get(after).map(|t| t.kind), Some(Kind::Number { decimals: 0, .. }))
        {
            self.chunks(after, &mut rest);
        }
        for c in rest {
            if c.value < scale && c.value > 0 && !(c.written && after == i + 1 && !c.ordinal && scale == 1000) {
                all.push(Chunk { value: base + c.value, ..c });
            }
        }
        Some(all)
    }

    // Long: one way of making a number of words after the other, in the order in which they are believed.
    fn at(&self, start: usize, out: &mut Vec<Number>) {
        let first = out.len();
        let mut push = |end: usize, value: f64, kind, how, weight: f32| {
            let n = Number { start: start as u16, end: end as u16, value, kind, how, weight };
            if !out[first..].iter().any(|o| o.end == n.end && o.value == n.value && o.kind == n.kind) {
                out.push(n);
            }
        };
        if let Kind::Number { value, decimals, .. } = self.tokens[start].kind
            && decimals > 0
        {
            push(start + 1, value, NumberKind::Decimal, How::Plain, 1.0);
            if decimals == 1 && value >= 1.0 {
                push(start + 1, (value * 10.0).round(), NumberKind::Cardinal, How::LostPoint, TENTHS_LOST);
            }
            if decimals == 2 && value >= 1.0 {
                push(start + 1, (value * 100.0).round(), NumberKind::Cardinal, How::LostPoint, HUNDREDTHS_LOST);
            }
            return;
        }
        let mut chunks = Vec::new();
        self.chunks(start, &mut chunks);
        if chunks.is_empty() {
            if let Some(&(v, w)) = self.tokens[start].id.and_then(|id| self.words.homophones.get(&id)) {
                push(start + 1, f64::from(v), NumberKind::Cardinal, How::Homophone, w);
                // "won 80", "won 25th"
                if v == 1 && w >= SURE_SOUND {
                    self.chunks(start + 1, &mut chunks);
                    for c in chunks.iter().filter(|c| (10..100).contains(&c.value)) {
                        let kind = if c.ordinal { NumberKind::Ordinal } else { NumberKind::Cardinal };
                        push(c.end, f64::from(100 + c.value), kind, How::Heard, LIKELY);
                    }
                }
            }
            // "point five"
            if self.is(start, &self.words.points)
                && let Some((end, part)) = self.decimals(start + 1)
            {
                push(end, part, NumberKind::Decimal, How::Plain, 1.0);
            }
            return;
        }
        let mut seconds = Vec::new();
        let mut thirds = Vec::new();
        for c in &chunks {
            let kind = if c.ordinal { NumberKind::Ordinal } else { NumberKind::Cardinal };
            push(c.end, f64::from(c.value), kind, How::Plain, 1.0);
            if c.ordinal {
                continue;
            }
            if self.is(c.end, &self.words.points)
                && let Some((end, part)) = self.decimals(c.end + 1)
            {
                push(end, f64::from(c.value) + part, NumberKind::Decimal, How::Plain, 1.0);
            }
            for (tail, more) in &self.words.tails {
                let matches =
                    tail.iter().enumerate().all(|(k, id)| self.tokens.get(c.end + k).and_then(|t| t.id) == Some(*id));
                if matches {
                    push(c.end + tail.len(), f64::from(c.value) + more, NumberKind::Decimal, How::Tail, 1.0);
                }
            }
            self.sounding(*c, &mut push);
            self.pair(*c, &mut push);
            self.chunks(c.end, &mut seconds);
            for s in &seconds {
                self.join(*c, *s, &mut push);
                if s.ordinal || s.value >= 100 || c.value >= 100 {
                    continue;
                }
                self.chunks(s.end, &mut thirds);
                for t in &thirds {
                    // "one two-fiftieth" is 1/250.
                    if c.value == 1 && (2..10).contains(&s.value) && t.ordinal && (10..100).contains(&t.value) {
                        let value = s.value * 100 + t.value;
                        push(t.end, f64::from(value), NumberKind::Ordinal, How::OneNth, SAID_SO);
                    }
                    if t.value < 10 && s.value < 10 && c.value < 10 {
                        let value = c.value * 100 + s.value * 10 + t.value;
                        let kind = if t.ordinal { NumberKind::Ordinal } else { NumberKind::Cardinal };
                        push(t.end, f64::from(value), kind, How::Joined, LIKELY);
                    }
                }
            }
        }
    }

    /// Two chunks one after the other as one number: one / twenty-five.
    fn join(&self, c: Chunk, s: Chunk, push: &mut impl FnMut(usize, f64, NumberKind, How, f32)) {
        // "two hundred" is one number, not 2 and 100.
        if matches!(self.word(c.end), Some(NumberWord::Scale(_) | NumberWord::OrdinalScale(_))) {
            return;
        }
        let kind = if s.ordinal { NumberKind::Ordinal } else { NumberKind::Cardinal };
        if s.ordinal && c.value == 1 && s.value >= 2 {
            push(s.end, f64::from(s.value), kind, How::OneNth, one_nth_weight(s.value));
        }
        // "Hundred and twenty-fifth" written "120 fifth".
        if c.written && s.ordinal && c.value.is_multiple_of(10) && c.value > 20 && (2..10).contains(&s.value) {
            push(s.end, f64::from(c.value + s.value), kind, How::Joined, LIKELY);
            return;
        }
        // Ordinals join by tens: one / twenty-fifth; small ones are counts: one second.
        if c.value == 0 || s.value < 10 && (c.value >= 10 && !s.written || s.ordinal) {
            return;
        }
        let digits = if s.value < 10 {
            10
        } else if s.value < 100 {
            100
        } else {
            1000
        };
        let joined = u64::from(c.value) * digits + u64::from(s.value);
        if joined > 99_999 {
            return;
        }
        // "twenty five" written "20 5" is 25.
        if c.written && s.written && c.value.is_multiple_of(10) && (20..100).contains(&c.value) && s.value < 10 {
            push(s.end, f64::from(c.value + s.value), kind, How::Joined, TENS_APART);
        }
        if c.value == 100 && s.value < 100 {
            push(s.end, f64::from(c.value + s.value), kind, How::Joined, LIKELY);
        }
        // "five hundredth" written "5 100th".
        if s.written && s.ordinal && s.value == 100 && (2..10).contains(&c.value) {
            push(s.end, f64::from(c.value * 100), kind, How::Joined, LIKELY);
            return;
        }
        if c.written
            && s.written
            && s.ordinal
            && !((1..10).contains(&c.value) && s.value < 100 && s.value.is_multiple_of(5))
        {
            return;
        }
        let usual = c.value < 100 && (10..100).contains(&s.value);
        let torn = c.written && s.written && !s.ordinal && !torn_apart(c.value, s.value);
        // "One sixtieth" is a sixtieth; hardly anybody says it for a hundred and sixtieth.
        let one_of = c.value == 1 && s.ordinal && s.value.is_multiple_of(10);
        push(s.end, joined as f64, kind, How::Joined, if usual && !torn && !one_of { LIKELY } else { HARDLY_JOINED });
    }

    /// A unit that is only heard, after tens: "forty ate", "30 won".
    fn sounding(&self, c: Chunk, push: &mut impl FnMut(usize, f64, NumberKind, How, f32)) {
        let heard = self.tokens.get(c.end).and_then(|t| self.words.homophones.get(&t.id?));
        // Before a speed a small word can only be the unit: "20 to 1/250".
        let speed = matches!(self.tokens.get(c.end + 1).map(|t| t.kind), Some(Kind::Number { .. }))
            && matches!(self.tokens.get(c.end + 2).map(|t| t.kind), Some(Kind::Mark('/')));
        if let Some(&(unit, weight)) = heard
            && (20..100).contains(&c.value)
            && c.value.is_multiple_of(10)
            && unit < 10
            && (weight >= SURE_SOUND || speed)
        {
            push(c.end + 1, f64::from(c.value + unit), NumberKind::Cardinal, How::Heard, LIKELY);
        }
    }

    /// Two single digits as a decimal: five / six, 5'6, 5/6.
    fn pair(&self, c: Chunk, push: &mut impl FnMut(usize, f64, NumberKind, How, f32)) {
        if c.value > 9 {
            return;
        }
        let mark = |i: usize| {
            matches!(self.tokens.get(i).map(|t| t.kind), Some(Kind::Mark('\'' | '/' | '-' | '.' | ':' | '"')))
        };
        // A full stop or a colon between two words ends the one and begins the other.
        let loose = matches!(self.tokens.get(c.end).map(|t| t.kind), Some(Kind::Mark('.' | ':')))
            && self.tokens.get(c.end + 1).is_none_or(|t| !t.glued);
        if loose {
            return;
        }
        let after = if mark(c.end) { c.end + 1 } else { c.end };
        let second = match self.tokens.get(after).map(|t| t.kind) {
            Some(Kind::Number { value, digits: 1, decimals: 0 }) => Some(value),
            Some(Kind::Word) => match self.word(after) {
                Some(NumberWord::Unit(v)) if v < 10 => Some(f64::from(v)),
                _ => None,
            },
            _ => None,
        };
        if let Some(d) = second {
            push(after + 1, f64::from(c.value) + d / 10.0, NumberKind::Decimal, How::Pair, LIKELY);
        }
    }

    /// Digits after a point: their end and the part of one they make.
    fn decimals(&self, start: usize) -> Option<(usize, f64)> {
        let (mut i, mut part, mut scale) = (start, 0.0, TENTH);
        if let Some(Kind::Number { value, digits, decimals: 0 }) = self.tokens.get(start).map(|t| t.kind) {
            return (digits <= 3).then(|| (start + 1, value / 10_f64.powi(i32::from(digits))));
        }
        let heard = |i: usize| {
            let word = self.tokens.get(i)?.id?;
            self.words.homophones.get(&word).filter(|h| h.1 >= SURE_SOUND && h.0 < 10).map(|h| h.0)
        };
        let digit = |i: usize| match self.word(i) {
            Some(NumberWord::Unit(v)) if v < 10 => Some(v),
            Some(_) => None,
            None => heard(i),
        };
        while let Some(v) = digit(i).filter(|_| i < start + 2) {
            part += f64::from(v) * scale;
            scale /= 10.0;
            i += 1;
        }
        (i > start).then(|| (i, (part * 100.0).round() / 100.0))
    }
}

/// Whether two written numbers are the halves of one that is said in two: "2 50", "1 25", "3 20".
fn torn_apart(head: u32, rest: u32) -> bool {
    (1..10).contains(&head) && marks::speed(f64::from(head * 100 + rest))
}

/// How likely "one Nth" means 1/N and not 1/(1N): people say "one sixtieth" for
/// a sixtieth, but "one twenty-fifth" for a hundred and twenty-fifth.
fn one_nth_weight(n: u32) -> f32 {
    if !(10..100).contains(&n) {
        SAID_SO
    } else if n % 10 == 5 && n != 15 {
        ONE_OF_FIVES
    } else {
        ONE_OF_TENS
    }
}
