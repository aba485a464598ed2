//! What no phrase claims: what is in the picture, and where.

use std::ops::Range;

use super::act::{Act, Said};
use super::class::Class;
use super::statement::Writer;
use super::token::Kind;

impl Writer<'_, '_> {
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
                    span: span.clone(),
                });
            }
        }
        self.out.push(Said { act: Act::Subject(text), mode, doubt: false, weight: 0.6, heard: 1.0, span });
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
