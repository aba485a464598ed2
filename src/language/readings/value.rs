//! What a stretch of words stands for, once it is known what it is for.
//!
//! The purpose of words is settled elsewhere (see `tag`); here the grammar's
//! phrases, the number words and the kit's names say which values they can
//! mean, each with how likely the words mean it. The gear is not asked.

use super::ways::Way;
use crate::language::grammar::{Class, NO_VALUE};
use crate::language::phrases::{Arg, Passage, Term};
use crate::language::text::{How, Kind, Number, NumberKind, NumberWord, Token, numbers};
use std::ops::Range;

/// A number whose words only sound like number words weighs this, against one of plain words.
const SPELT: f32 = 0.9;
/// No setting has more digits.
const MOST_DIGITS: usize = 5;
/// No number has more words.
const MOST_SPELT: usize = 9;

/// Reads stretches of one text's tokens.
pub struct Values<'a> {
    pub(super) r: &'a Passage<'a>,
}

impl<'a> Values<'a> {
    /// Of a text that was read as far as its phrases.
    pub const fn of(reading: &'a Passage<'a>) -> Self {
        Self { r: reading }
    }

    /// Phrases of these classes inside a stretch (one token over either edge is forgiven), the
    /// longest first, then the surest.
    pub(super) fn terms(&self, span: &Range<usize>, wanted: &[Class]) -> Vec<&'a Term> {
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
    pub(super) fn number(&self, span: &Range<usize>, fits: impl Fn(&Number) -> bool) -> Vec<Number> {
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
    pub(super) fn spelt(&self, span: &Range<usize>) -> Vec<Number> {
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

    pub(super) fn readings(&self, arg: Option<Arg>) -> Vec<Number> {
        match arg {
            Some(Arg::Number { start, end }) => self.r.found.readings(start, end).copied().collect(),
            _ => Vec::new(),
        }
    }

    pub(super) fn written(&self, numbers: &[Number]) -> bool {
        numbers.first().is_some_and(|n| matches!(self.r.tokens[usize::from(n.start)].kind, Kind::Number { .. }))
    }

    pub(super) fn fixed(&self, term: &Term) -> Option<f64> {
        self.text(term)?.parse().ok()
    }

    pub(super) fn text(&self, term: &Term) -> Option<&'a str> {
        (term.value != NO_VALUE).then(|| self.r.lexicon.values[term.value as usize].as_str())
    }

    pub(super) fn alike(&self) -> &'a [(u32, u32)] {
        &self.r.lexicon.numbers.alike
    }

    /// Whether a stretch holds a stroke, or a word said for one ("one by sixty").
    pub(super) fn stroke(&self, span: &Range<usize>) -> bool {
        self.r.tokens[span.clone()].iter().any(|t| t.kind == Kind::Mark('/') || self.r.lexicon.in_list("stroke", t))
    }

    /// Whether a stretch holds a word of one of the grammar's lists.
    pub fn has(&self, span: &Range<usize>, list: &str) -> bool {
        self.r.tokens[span.clone()].iter().any(|t| self.r.lexicon.in_list(list, t))
    }
}

pub(super) fn sorted<T>(mut ways: Vec<Way<T>>) -> Vec<Way<T>> {
    ways.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    ways
}
