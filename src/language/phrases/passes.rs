//! The passes over a text that find names, amounts and phrases.

use super::sense::bare_weight;
use super::slots::{SOUNDS_ALIKE, Search};
use super::term::{Arg, Named, Quantity, Term};
use crate::language::grammar::{Class, Meaning, NO_VALUE, SoundsLike, Trie};
use crate::language::text::{How, Kind};

// What words weigh that only sound like a phrase or a name, before how near they come: choices, each below a name that
// was said, and below the limit of 0.8 at which a value is in doubt unless they come near indeed.
/// A phrase of the grammar.
const SOUNDS_LIKE_PHRASE: f32 = 0.5;
/// A name of the kit.
const SOUNDS_LIKE_NAME: f32 = 0.55;
/// The same with the number that the name has.
const SOUNDS_LIKE_WITH_NUMBER: f32 = 0.67;
/// What nearness adds at most.
const NEARNESS: f32 = 0.3;
/// Words that the grammar knows seldom are a name misheard: as a part.
const KNOWN_WORD: f32 = 0.75;
/// Four letters are a name if they come nearer than this.
const NEAR_FOUR: f32 = 0.4;
/// Phrases that weigh less are none.
const LEAST_WEIGHT: f32 = 0.05;
/// A phrase that cuts a number in two, as a part of its weight.
const CUTS_NUMBER: f32 = 0.5;

impl Search<'_> {
    pub fn names(&mut self) {
        let mut named = Vec::new();
        let mut mangled = Vec::new();
        for start in 0..self.tokens.len() {
            let trie = &self.lexicon.gear_trie;
            self.walk(trie, Trie::ROOT, start, [None; 2], 1.0, &mut |node, end, _, w| {
                for m in trie.meanings(node) {
                    // The letter of "30k2" or "G9" belongs to the number.
                    if self.in_number(start, end) {
                        continue;
                    }
                    // One word that only sounds like a name is not the name.
                    if w <= SOUNDS_ALIKE && end == start + 1 {
                        continue;
                    }
                    let gear = self.lexicon.gear[m.value as usize];
                    let weight = w * m.weight;
                    match named
                        .iter_mut()
                        .rev()
                        .take_while(|n: &&mut Named| usize::from(n.start) == start)
                        .find(|n| usize::from(n.end) == end && n.gear == gear)
                    {
                        Some(n) => n.weight = n.weight.max(weight),
                        None => named.push(Named { start: start as u16, end: end as u16, gear, weight }),
                    }
                }
            });
            self.mangled(start, &mut named, &mut mangled);
        }
        self.named = named;
        self.found.extend(mangled.into_iter().map(|(m, start, end, weight)| Term {
            class: m.class,
            value: m.value,
            start,
            end,
            args: [None; 2],
            weight,
        }));
    }

    /// Whether tokens that begin with a letter or two are written against a number that is not theirs.
    fn in_number(&self, start: usize, end: usize) -> bool {
        let first = &self.tokens[start];
        let number = |i: usize| self.tokens.get(i).is_some_and(|t| matches!(t.kind, Kind::Number { .. }));
        let before = first.glued && start > 0 && number(start - 1);
        let after = end == start + 1 && number(end) && self.tokens[end].glued;
        first.kind == Kind::Word && first.span.len() <= 2 && (before || after)
    }

    /// Names of the kit that words from `start` only sound like.
    pub fn mangled(&self, start: usize, named: &mut Vec<Named>, mangled: &mut Vec<(Meaning, u16, u16, f32)>) {
        let mut letters = String::new();
        let mut unknown = false;
        for end in start + 1..=(start + 3).min(self.tokens.len()) {
            let token = &self.tokens[end - 1];
            if token.kind != Kind::Word {
                return;
            }
            unknown |= token.id.is_none();
            letters.push_str(&self.folded[token.span.clone()]);
            if letters.len() < 3 {
                continue;
            }
            for (sounds, number, near) in self.lexicon.sounding_like(&letters) {
                let gear = match sounds {
                    SoundsLike::Gear(gear) => gear,
                    SoundsLike::Phrase(meaning) => {
                        if unknown {
                            mangled.push((meaning, start as u16, end as u16, SOUNDS_LIKE_PHRASE + NEARNESS * near));
                        }
                        continue;
                    }
                };
                // Known words that happen to sound like a name need to be near indeed.
                let known_penalty = if unknown { 1.0 } else { KNOWN_WORD };
                let ends: Vec<usize> = match number {
                    Some(v) => self
                        .numbers_at(end)
                        .iter()
                        .filter(|n| n.value == v && n.how != How::Homophone)
                        .map(|n| usize::from(n.end))
                        .collect(),
                    None if letters.len() >= 5 || letters.len() == 4 && near > NEAR_FOUR && unknown => vec![end],
                    None => Vec::new(),
                };
                for end in ends {
                    // A number that the name has speaks for it.
                    let least = if number.is_some() { SOUNDS_LIKE_WITH_NUMBER } else { SOUNDS_LIKE_NAME };
                    let weight = (least + NEARNESS * near) * known_penalty;
                    let (start, end) = (start as u16, end as u16);
                    let mut here = named.iter().rev().take_while(|n| n.start == start);
                    if !here.any(|n| n.end == end && n.gear == gear) {
                        named.push(Named { start, end, gear, weight });
                    }
                }
            }
        }
    }

    pub fn amounts(&mut self) {
        let mut all: Vec<Quantity> = Vec::new();
        for start in 0..self.tokens.len() {
            let trie = &self.lexicon.values_trie;
            self.walk(trie, Trie::ROOT, start, [None; 2], 1.0, &mut |node, end, args, w| {
                for m in trie.meanings(node) {
                    let number = |i: usize| args[i].and_then(|a| self.plain_value(a));
                    let fixed =
                        (m.value != NO_VALUE).then(|| self.lexicon.values[m.value as usize].parse().ok()).flatten();
                    let value = match m.class {
                        Class::Minutes => number(0).map(|n| n * 60.0),
                        Class::MinuteAnd => number(0).map(|n| n + 60.0),
                        Class::MinutesSeconds => number(0).zip(number(1)).map(|(m, s)| m * 60.0 + s),
                        _ => fixed.or_else(|| number(0)),
                    };
                    let class = match m.class {
                        Class::Minutes | Class::MinutesSeconds | Class::MinuteAnd => Class::Duration,
                        c => c,
                    };
                    let Some(value) = value.filter(|v| *v > 0.0) else { continue };
                    if class != Class::Duration && value > 12.0 {
                        continue;
                    }
                    let q = Quantity { start: start as u16, end: end as u16, class, value, weight: w * m.weight };
                    if !all
                        .iter()
                        .rev()
                        .take_while(|o| o.start == q.start)
                        .any(|o| o.end == q.end && o.class == q.class && o.value == q.value)
                    {
                        all.push(q);
                    }
                }
            });
        }
        self.quantities = all;
    }

    /// The likeliest value of a number's tokens.
    pub fn plain_value(&self, arg: Arg) -> Option<f64> {
        let Arg::Number { start, end } = arg else { return None };
        self.numbers_at(usize::from(start))
            .iter()
            .filter(|n| n.end == end && n.how != How::Pair)
            .max_by(|a, b| a.weight.total_cmp(&b.weight))
            .map(|n| n.value)
    }

    pub fn phrases(&mut self) {
        let mut found: Vec<Term> = Vec::new();
        for start in 0..self.tokens.len() {
            let trie = &self.lexicon.phrases_trie;
            self.walk(trie, Trie::ROOT, start, [None; 2], 1.0, &mut |node, end, args, w| {
                for m in trie.meanings(node) {
                    let term = Term {
                        class: m.class,
                        value: m.value,
                        start: start as u16,
                        end: end as u16,
                        args,
                        weight: w * m.weight,
                    };
                    let one_misheard = w == SOUNDS_ALIKE && end == start + 1;
                    if term.weight > LEAST_WEIGHT && !one_misheard && self.sensible(&term) {
                        found.push(term);
                    }
                }
            });
            let here = self.numbers_at(start);
            let mut ends: Vec<u16> = here.iter().map(|n| n.end).collect();
            ends.sort_unstable();
            ends.dedup();
            for end in ends {
                let weight = here.iter().filter(|n| n.end == end).filter_map(bare_weight).fold(0.0, f32::max);
                if weight > 0.0 {
                    let args = [Some(Arg::Number { start: start as u16, end }), None];
                    found.push(Term { class: Class::Bare, value: NO_VALUE, start: start as u16, end, args, weight });
                }
            }
        }
        self.found.extend(found);
    }

    /// A phrase that cuts a number in two ("EI sixty / four of these") is hardly meant.
    pub fn spare_numbers(&mut self) {
        let mut inside = vec![false; self.tokens.len() + 1];
        for n in &self.numbers {
            if n.how == How::Plain && n.end - n.start > 1 {
                for i in n.start + 1..n.end {
                    let joins = self.tokens[usize::from(i)].kind == Kind::Word
                        && self.tokens[usize::from(i) - 1].kind == Kind::Word;
                    inside[usize::from(i)] |= joins;
                }
            }
        }
        for t in &mut self.found {
            if inside[usize::from(t.start)] || inside[usize::from(t.end)] {
                t.weight *= CUTS_NUMBER;
            }
        }
    }
}
