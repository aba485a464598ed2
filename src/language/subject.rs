//! What no phrase claims: what is in the picture, and where.

use std::ops::Range;

use super::act::{Act, Said};
use super::class::Class;
use super::statement::Writer;
use super::term::{Arg, Term};
use super::token::{Kind, Token};

/// A thing of the kit named no more surely than this was not named clearly. Of four such names in
/// the notes heard by the base model two were right; of thirty named better, all.
pub const LIKE_A_NAME: f32 = 0.66;

impl Writer<'_, '_> {
    /// Whether words that went unread belong to what a term says: "hola and yellow" may be two
    /// filters, "affity minute on bulb" has a time.
    pub(super) fn half_understood(&self, term: &Term) -> bool {
        let tokens = self.r.tokens;
        match term.class {
            Class::FilterOn => {
                let small = |i: usize| {
                    self.r.lexicon.in_list("leading", &tokens[i]) || self.r.lexicon.in_list("joins-filters", &tokens[i])
                };
                // "Red and 15" may be another filter, of that number.
                let after = usize::from(term.end);
                let joined = tokens.get(after).is_some_and(|t| self.r.lexicon.in_list("joins-filters", t));
                let numbered = |n: &super::number::Number| self.r.names_filter(n.value);
                if joined && self.r.found.readings(term.end + 1, term.end + 2).any(numbered) {
                    return true;
                }
                let Some(word) = (0..usize::from(term.start)).rev().find(|i| !small(*i)) else { return false };
                let opens = word.checked_sub(1).is_none_or(|i| tokens[i].is_mark());
                opens && tokens[word].kind == Kind::Word && tokens[word].id.is_none()
            }
            // A name that words only sound somewhat like.
            Class::Lens | Class::LensAt => {
                term.args.iter().flatten().any(|a| matches!(a, Arg::Gear(_, surely) if *surely <= LIKE_A_NAME))
            }
            // "Wratten fifty-eight and a half second": a filter, and half a second.
            Class::Time => match term.args[0] {
                Some(Arg::Time(s)) => s > 2.0 && s.fract() != 0.0 && self.r.names_filter(s.trunc()),
                _ => false,
            },
            Class::Bulb | Class::TimeT => {
                let at = usize::from(term.start);
                let from = tokens[..at].iter().rposition(Token::ends_sentence).map_or(0, |i| i + 1);
                let to = tokens[at..].iter().position(Token::ends_sentence).map_or(tokens.len(), |i| at + i);
                let unread =
                    |i: usize| self.r.lexicon.in_list("time-unit", &tokens[i]) && self.r.found.term_over(i).is_none();
                (from..to).any(unread)
            }
            _ => false,
        }
    }

    /// What is left of a stretch between marks: a subject, and where it is.
    pub(super) fn free_text(&mut self, range: Range<usize>) {
        if range.is_empty() {
            return;
        }
        let covered = |i: usize| self.r.found.term_over(i).map(|t| t.class);
        let mut free = 0;
        let mut settings = 0;
        let mut place_from = None;
        let mut first = None;
        let mut last = range.start;
        for i in range.clone() {
            let class = covered(i);
            let loose = class.is_none() || class.is_some_and(|c| c.is_loose());
            if !loose {
                settings += 1;
                continue;
            }
            let token = &self.r.tokens[i];
            if class == Some(Class::PlaceAt) || class == Some(Class::At) {
                place_from.get_or_insert(i);
                continue;
            }
            let filler = token.kind != Kind::Word || self.r.lexicon.in_list("filler", token) || class.is_some();
            if !filler {
                free += 1;
                first.get_or_insert(i);
                last = i + 1;
            }
        }
        if free == 0 || (settings > 0 && free == 1 && settings > 4) {
            return;
        }
        let first = first.unwrap_or(range.start);
        let text = self.loose_words(first..last, &covered);
        let span = self.r.tokens[first].span.start..self.r.tokens[last - 1].span.end;
        let mode = self.modes.mode;
        if let Some(p) = place_from.filter(|p| p + 1 < last) {
            let place = self.loose_words(p + 1..last, &covered);
            if !place.is_empty() {
                self.out.push(Said {
                    act: Act::Place(place),
                    mode,
                    doubt: false,
                    weight: 0.6,
                    heard: 1.0,
                    mended: 1.0,
                    span: span.clone(),
                });
            }
        }
        self.out.push(Said { act: Act::Subject(text), mode, doubt: false, weight: 0.6, heard: 1.0, mended: 1.0, span });
    }

    pub(super) fn loose_words(&self, range: Range<usize>, covered: &dyn Fn(usize) -> Option<Class>) -> String {
        let mut words: Vec<&str> = Vec::new();
        for i in range {
            if covered(i).is_none_or(|c| c.is_loose()) && !self.r.tokens[i].is_mark() {
                words.push(&self.r.text[self.r.tokens[i].span.clone()]);
            }
        }
        words.join(" ")
    }
}
