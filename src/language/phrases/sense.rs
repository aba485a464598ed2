//! Whether what a phrase says can be what it says it is.

use super::slots::Search;
use super::term::{Arg, Term};
use crate::language::grammar::{Class, KitThing};
use crate::language::text::{How, Kind, Number, NumberKind, Token, marks};

/// The slowest speed that is said without its unit, a fifth of a second; what is less is a slip.
const LEAST_SPEED: f64 = 0.2;
/// From the widest lens made to a pinhole's stop. Common practice.
const STOPS_MADE: std::ops::RangeInclusive<f64> = 0.7..=180.0;
// What a number weighs that no phrase claims: less than most phrases around one, so that they win. Choices.
/// In plain words.
const BARE: f32 = 0.6;
/// Made of words in another way, at most, as a part of that.
const BELOW_PLAIN: f32 = 0.95;
/// A word that only sounds like a number, if it does so well enough.
const BARE_SOUND: f32 = 0.3;
/// A word that sounds like a number as well as this may stand for it alone.
const SURE_SOUND: f32 = 0.5;

impl Search<'_> {
    /// Whether the number in a phrase can be what the phrase says it is.
    // Long: one arm a class, and each says what its number can be.
    pub fn sensible(&self, term: &Term) -> bool {
        let any = |arg: Option<Arg>, test: &dyn Fn(&Number) -> bool| match arg {
            Some(Arg::Number { start, end }) => {
                self.numbers_at(usize::from(start)).iter().any(|n| n.end == end && test(n))
            }
            _ => true,
        };
        match term.class {
            Class::ShutterFraction => {
                let of_seconds = term.len() >= 4;
                // "1-60" is a speed, "1-3" a range.
                let dash = self.tokens[usize::from(term.start)..usize::from(term.end)]
                    .iter()
                    .any(|t| t.kind == Kind::Mark('-'));
                any(term.args[0], &|n| {
                    n.value >= if dash { 15.0 } else { 4.0 }
                        || !dash && n.value >= 2.0 && (n.kind != NumberKind::Ordinal || of_seconds)
                })
            }
            // A camera called by a bare number opens a sentence: "Thirty-five, frame one".
            Class::Camera if (term.start..term.end).all(|i| self.is_number_token(usize::from(i))) => {
                let opens = term.start == 0 || self.tokens[usize::from(term.start) - 1].ends_sentence();
                let next = self.tokens.get(usize::from(term.end));
                opens
                    && next.is_none_or(|t| {
                        t.is_mark() || t.kind == Kind::Word && !self.lexicon.in_list("setting-after", t)
                    })
            }
            // "f4 men": the number is the aperture's.
            Class::Other => {
                let before = usize::from(term.start).checked_sub(1).map(|i| &self.tokens[i]);
                let glued = self.tokens[usize::from(term.start)].glued;
                let framed = before.is_some_and(|b| self.lexicon.in_list("frame-word", b));
                !(framed || glued && before.is_some_and(|b| b.kind == Kind::Word && b.span.len() == 1))
            }
            // "150/10th" is no time: nobody counts so many parts.
            Class::TimeParts => any(term.args[0], &|n| n.value < 100.0),
            // "this one's" is no frame one.
            Class::FrameS => any(term.args[0], &|n| n.value >= 2.0),
            // "Hold a 3", "a one twenty-five" are no speeds by themselves.
            Class::ShutterNumber
                if term.len() == 2 && self.lexicon.in_list("leading", &self.tokens[usize::from(term.start)]) =>
            {
                any(term.args[0], &|n| n.value >= 8.0)
            }
            Class::ShutterNumber => any(term.args[0], &|n| n.value > LEAST_SPEED && n.value != 1.0),
            Class::ShutterTo => any(term.args[0], &|n| n.value > LEAST_SPEED),
            Class::Aperture | Class::ApertureTo => any(term.args[0], &|n| STOPS_MADE.contains(&n.value)),
            // Without a word for millimetres a zoom is only racked to what it can do.
            Class::FocalZoom => any(term.args[0], &|n| self.lexicon.reaches(n.value)),
            // "Three's the fifteenth at f8" is a speed.
            Class::Nth if term.len() <= 2 => {
                let at =
                    self.tokens.get(usize::from(term.end)).is_some_and(|t| self.lexicon.in_list("setting-after", t));
                !at || any(term.args[0], &|n| n.value < 10.0)
            }
            Class::Focal => any(term.args[0], &|n| (8.0..=2000.0).contains(&n.value)),
            // "Two eight on the long lens" is an aperture and a lens.
            Class::LensThe => {
                let number_first =
                    matches!(term.args[0], Some(Arg::Number { start, end }) if start == term.start && end < term.end);
                let next = self.tokens.get(usize::from(term.end));
                let ends = next.is_none_or(|t| {
                    t.is_mark() || self.lexicon.in_list("counting", t) && !self.lexicon.in_list("leading", t)
                });
                (!number_first || ends) && any(term.args[0], &|n| self.lexicon.has_prime(n.value))
            }
            // An index stands in the series of film speeds.
            Class::Ei => any(term.args[0], &|n| {
                (1.0..=25_600.0).contains(&n.value) && n.kind == NumberKind::Cardinal && marked_index(n.value)
            }),
            // "Used that." ends what it speaks of; "used that one" does not.
            Class::DidIt => self.tokens.get(usize::from(term.end)).is_none_or(Token::is_mark),
            // "As four" by itself, not "same speed as four boats".
            Class::SameAs if term.len() <= 2 => term.start == 0 || self.tokens[usize::from(term.start) - 1].is_mark(),
            // "No. 5", but not "No. Forty-five, …".
            Class::FrameWeak
                if self.tokens[usize::from(term.start)..usize::from(term.end)].iter().any(Token::is_mark) =>
            {
                matches!(self.tokens[usize::from(term.end) - 1].kind, Kind::Number { .. })
            }
            Class::FilmAt => any(term.args[1], &|n| (3.0..=25_600.0).contains(&n.value)),
            Class::LensAt => match (term.args[0], term.args[1]) {
                (Some(Arg::Gear(KitThing::Lens(i), _)), n) | (n, Some(Arg::Gear(KitThing::Lens(i), _))) => {
                    any(n, &|n| self.lexicon.covers(i, n.value))
                }
                _ => false,
            },
            // "1-3" is a range, not three under.
            Class::Under | Class::Over => {
                let sign = &self.tokens[usize::from(term.start)];
                !(sign.is_mark() && sign.glued)
            }
            // "frame one a thirtieth" is no frame 1A.
            Class::FrameA => {
                let letter = &self.tokens[usize::from(term.end) - 1];
                letter.glued || self.tokens.get(usize::from(term.end)).is_none_or(Token::is_mark)
            }
            // "…, twice." but not "twice the time".
            Class::Count if term.args[0].is_none() && term.len() == 1 => {
                self.tokens.get(usize::from(term.end)).is_none_or(Token::is_mark)
            }
            Class::Count | Class::BracketCount => any(term.args[0], &|n| (2.0..=36.0).contains(&n.value)),
            _ => true,
        }
    }
}

/// Whether a number is an exposure index as films and meters mark them: the series of ISO 5800 in
/// thirds, and the older marks beside it.
fn marked_index(n: f64) -> bool {
    marks::film_speed(n) || marks::older_film_speed(n)
}

/// How much a number by itself weighs; none for what cannot stand by itself.
pub fn bare_weight(n: &Number) -> Option<f32> {
    match n.how {
        How::Homophone => (n.weight >= SURE_SOUND).then_some(BARE_SOUND),
        How::OneNth | How::LostPoint => None,
        _ if n.kind == NumberKind::Ordinal => None,
        How::Plain => Some(BARE),
        _ => Some(BARE * n.weight.min(BELOW_PLAIN)),
    }
}
