//! Plain numbers, numbers of frames, names of rolls and counts that words can mean.

use super::value::{Values, sorted};
use super::ways;
use super::ways::Way;
use crate::facts::FrameNumber;
use crate::language::grammar::Class;
use crate::language::phrases::Arg;
use crate::language::text::{How, Kind, Number, NumberKind};
use std::ops::Range;

impl<'a> Values<'a> {
    pub(super) fn plain_number(&self, span: &Range<usize>) -> Vec<Number> {
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

    /// The side of a sheet holder that is named behind its number: "4B", "four, side B". A letter inside the stretch,
    /// before `within`, can be nothing else.
    fn side(&self, end: usize, within: usize) -> Option<char> {
        let mut at = end;
        let text = |i: usize| self.r.tokens.get(i).map(|t| &self.r.folded[t.span.clone()]);
        if self.r.tokens.get(at).is_some_and(|t| t.kind == Kind::Mark(',')) {
            at += 1;
        }
        let is_side = |i: usize| self.r.tokens.get(i).is_some_and(|t| self.r.lexicon.in_list("side", t));
        // "Nine, side B", and "nine, B side,".
        let behind = is_side(at + 1) && self.r.tokens.get(at + 2).is_none_or(|t| t.is_mark());
        let named = is_side(at) || behind;
        let at = if is_side(at) {
            at + 1
        } else if named {
            at
        } else {
            end
        };
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
    pub(super) fn name(&self, span: Range<usize>, whole: bool) -> Option<String> {
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

    /// A count of frames.
    pub fn count(&self, span: &Range<usize>) -> Option<u32> {
        if let Some(n) = self.terms(span, &[Class::Count]).into_iter().find_map(|t| self.fixed(t)) {
            return Some(n as u32);
        }
        let numbers = self.number(span, |n| n.kind == NumberKind::Cardinal && n.how != How::Pair);
        let n = numbers.iter().max_by(|a, b| a.weight.total_cmp(&b.weight))?.value;
        (1.0..=100.0).contains(&n).then_some(n as u32)
    }
}
