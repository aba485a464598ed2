//! Phrases found in tokens, and the best way to cover the text with them.

use super::class::Class;
use super::lexicon::{Gear, Lexicon};
use super::number::{How, Number, NumberKind, numbers};
use super::sense::fits;
use super::token::{Kind, Token};
use super::trie::{Slot, Trie};

/// A word heard for one that sounds like it.
pub(super) const MISHEARD: f32 = 0.75;

/// What stands in a slot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Arg {
    /// Tokens that read as a number, in one or more ways.
    Number {
        /// First token.
        start: u16,
        /// Token after the last.
        end: u16,
    },
    /// Stops, or an amount.
    Amount(f64),
    /// Clicks of a dial or ring.
    Clicks(f64),
    /// Seconds; whether they were said as a part of a second.
    Time(f64),
    /// A thing of the kit, with how surely it was named.
    Gear(Gear, f32),
    /// A roll's name.
    Name {
        /// First token.
        start: u16,
        /// Token after the last.
        end: u16,
    },
}

/// A phrase found.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// What it means.
    pub class: Class,
    /// Index into the lexicon's values; [`NO_VALUE`] for none.
    pub value: u32,
    /// First token.
    pub start: u16,
    /// Token after the last.
    pub end: u16,
    /// Its slots, in order.
    pub args: [Option<Arg>; 2],
    /// How sure it means this.
    pub weight: f32,
}

impl Term {
    /// Tokens covered.
    pub fn len(&self) -> usize {
        usize::from(self.end - self.start)
    }

    /// Whether it covers nothing; never so for a term that was found.
    pub fn is_empty(&self) -> bool {
        self.end == self.start
    }

    pub(super) fn score(&self) -> f64 {
        (self.len() as f64).powf(1.2) * f64::from(self.weight)
    }
}

/// An amount or a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Quantity {
    pub(super) start: u16,
    pub(super) end: u16,
    pub(super) class: Class,
    pub(super) value: f64,
    pub(super) weight: f32,
}

/// A name of the kit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Named {
    pub(super) start: u16,
    pub(super) end: u16,
    pub(super) gear: Gear,
    pub(super) weight: f32,
}

/// Everything found in the tokens of one text.
#[derive(Debug, Clone, Default)]
pub struct Found {
    /// All numbers that may be read.
    pub numbers: Vec<Number>,
    /// The terms that cover the text best, in order.
    pub terms: Vec<Term>,
    /// Terms that lost only narrowly to one in `terms` of the same span.
    pub rivals: Vec<Term>,
    /// Every term that may be read, in order of their first tokens.
    pub all: Vec<Term>,
    /// Things of the kit that are named, in order of their first tokens.
    pub(super) named: Vec<Named>,
    /// Amounts and times, in order of their first tokens.
    pub(super) quantities: Vec<Quantity>,
}

impl Found {
    /// The phrases, one a line: the words, and what they mean.
    pub fn lines(&self, folded: &str, tokens: &[Token]) -> String {
        let mut out = String::new();
        for t in &self.terms {
            let from = tokens[usize::from(t.start)].span.start;
            let to = tokens[usize::from(t.end) - 1].span.end;
            out.push_str(&format!("    {:?}: {} ({:.2})\n", &folded[from..to], t.class.as_str(), t.weight));
        }
        out
    }

    /// The ways to read these tokens as a number.
    pub fn readings(&self, start: u16, end: u16) -> impl Iterator<Item = &Number> {
        let from = self.numbers.partition_point(|n| n.start < start);
        self.numbers[from..].iter().take_while(move |n| n.start == start).filter(move |n| n.end == end)
    }
}

/// Finds the phrases of a text.
pub fn find(folded: &str, tokens: &[Token], lexicon: &Lexicon) -> Found {
    let mut search = Search {
        folded,
        tokens,
        lexicon,
        numbers: numbers(tokens, &lexicon.numbers),
        quantities: Vec::new(),
        named: Vec::new(),
        found: Vec::new(),
    };
    search.names();
    search.amounts();
    search.phrases();
    search.misheard_film();
    search.spare_numbers();
    search.found.sort_by_key(|t| t.start);
    let (terms, rivals) = cover(search.found.clone(), tokens.len());
    Found {
        numbers: search.numbers,
        terms,
        rivals,
        all: search.found,
        named: search.named,
        quantities: search.quantities,
    }
}

pub(super) struct Search<'a> {
    pub(super) folded: &'a str,
    pub(super) tokens: &'a [Token],
    pub(super) lexicon: &'a Lexicon,
    pub(super) numbers: Vec<Number>,
    pub(super) quantities: Vec<Quantity>,
    pub(super) named: Vec<Named>,
    pub(super) found: Vec<Term>,
}

type Args = [Option<Arg>; 2];

impl Search<'_> {
    pub(super) fn numbers_at(&self, start: usize) -> &[Number] {
        let from = self.numbers.partition_point(|n| usize::from(n.start) < start);
        let to = self.numbers.partition_point(|n| usize::from(n.start) <= start);
        &self.numbers[from..to]
    }

    #[allow(clippy::too_many_arguments, reason = "the state of one step of a recursion")]
    pub(super) fn walk(
        &self,
        trie: &Trie,
        node: u32,
        at: usize,
        args: Args,
        weight: f32,
        emit: &mut impl FnMut(u32, usize, Args, f32),
    ) {
        if !trie.meanings(node).is_empty() {
            emit(node, at, args, weight);
        }
        let Some(token) = self.tokens.get(at) else { return };
        if let Some(id) = token.id {
            if let Some(next) = trie.word(node, id) {
                self.walk(trie, next, at + 1, args, weight, emit);
            }
            for meant in self.lexicon.meant_by(id) {
                if let Some(next) = trie.word(node, *meant) {
                    self.walk(trie, next, at + 1, args, weight * MISHEARD, emit);
                }
            }
        }
        // "2 thirds" is said as "two thirds".
        if let Some(next) = self.lexicon.word_of(token).and_then(|id| trie.word(node, id)) {
            self.walk(trie, next, at + 1, args, weight, emit);
        }
        for &(slot, next) in trie.slots(node) {
            self.fill(slot, at, &mut |end, arg, w| {
                let mut args = args;
                if let Some(arg) = arg
                    && let Some(free) = args.iter_mut().find(|a| a.is_none())
                {
                    *free = Some(arg);
                }
                self.walk(trie, next, end, args, weight * w, emit);
            });
        }
    }

    pub(super) fn fill(&self, slot: Slot, at: usize, then: &mut dyn FnMut(usize, Option<Arg>, f32)) {
        match slot {
            Slot::Number(_) | Slot::Ordinal | Slot::Integer(_) | Slot::FNumber(_) => {
                let here = self.numbers_at(at);
                let mut ends: smallset::Ends = smallset::Ends::default();
                for n in here {
                    if !fits(slot, n) || self.cuts_fraction(n) || !ends.insert(n.end) {
                        continue;
                    }
                    // A word that only sounds like a number needs a phrase around it.
                    let w = if n.how == How::Homophone { n.weight.max(0.65) } else { 1.0 };
                    then(usize::from(n.end), Some(Arg::Number { start: n.start, end: n.end }), w);
                }
            }
            Slot::Exactly(hundredths) => {
                for n in self.numbers_at(at) {
                    if (n.value * 100.0).round() as u32 == hundredths && n.how != How::Homophone {
                        then(usize::from(n.end), None, 1.0);
                    }
                }
            }
            Slot::Stops | Slot::Amount | Slot::Duration => {
                let from = self.quantities.partition_point(|q| usize::from(q.start) < at);
                for q in self.quantities[from..].iter().take_while(|q| usize::from(q.start) == at) {
                    let fits = match slot {
                        Slot::Duration => q.class == Class::Duration,
                        Slot::Stops => q.class == Class::Stops,
                        _ => q.class != Class::Duration,
                    };
                    if fits {
                        let arg = match q.class {
                            Class::Duration => Arg::Time(q.value),
                            Class::Clicks => Arg::Clicks(q.value),
                            _ => Arg::Amount(q.value),
                        };
                        then(usize::from(q.end), Some(arg), q.weight);
                    }
                }
            }
            Slot::Lens | Slot::Filter | Slot::Film | Slot::Camera => {
                let skip = usize::from(self.tokens.get(at).is_some_and(|t| self.lexicon.in_list("leading", t)));
                let from = self.named.partition_point(|n| usize::from(n.start) < at);
                for n in self.named[from..].iter().take_while(|n| usize::from(n.start) <= at + skip) {
                    let fits = matches!(
                        (slot, n.gear),
                        (Slot::Lens, Gear::Lens(_))
                            | (Slot::Filter, Gear::Filter(_))
                            | (Slot::Film, Gear::Film(_))
                            | (Slot::Camera, Gear::Camera(_))
                    );
                    if (usize::from(n.start) == at || usize::from(n.start) == at + skip) && fits {
                        then(usize::from(n.end), Some(Arg::Gear(n.gear, n.weight)), n.weight);
                    }
                }
            }
            Slot::RollName(sounding) => {
                let letter = self.is_letter(at);
                let from = if letter { at + 1 } else { at };
                for n in self.numbers_at(from) {
                    if n.kind != NumberKind::Cardinal || (n.how == How::Homophone && (letter || !sounding)) {
                        continue;
                    }
                    let w = if n.how == How::Homophone { n.weight.max(0.65) } else { 1.0 };
                    then(usize::from(n.end), Some(Arg::Name { start: at as u16, end: n.end }), w);
                }
                if letter && &self.folded[self.tokens[at].span.clone()] != "i" {
                    then(at + 1, Some(Arg::Name { start: at as u16, end: at as u16 + 1 }), 0.4);
                }
            }
        }
    }

    /// Whether a number is only the one of 1/320.
    fn cuts_fraction(&self, n: &Number) -> bool {
        let stroke = self.tokens.get(usize::from(n.end)).is_some_and(|t| t.glued && t.kind == Kind::Mark('/'));
        let rest = self.tokens.get(usize::from(n.end) + 1).map(|t| t.kind);
        n.value == 1.0 && stroke && matches!(rest, Some(Kind::Number { .. }))
    }

    pub(super) fn is_number_token(&self, at: usize) -> bool {
        let token = &self.tokens[at];
        matches!(token.kind, Kind::Number { .. })
            || token.id.is_some_and(|id| self.lexicon.numbers.words.contains_key(&id))
    }

    pub(super) fn is_letter(&self, at: usize) -> bool {
        self.tokens.get(at).is_some_and(|t| t.kind == Kind::Word && t.span.len() == 1)
    }
}

/// The terms that cover most of the text, and their close rivals.
pub(super) fn cover(mut found: Vec<Term>, len: usize) -> (Vec<Term>, Vec<Term>) {
    found.sort_by_key(|t| t.start);
    let mut best = vec![0.0_f64; len + 1];
    let mut pick: Vec<Option<usize>> = vec![None; len + 1];
    let mut from = found.len();
    for at in (0..len).rev() {
        best[at] = best[at + 1];
        let to = from;
        while from > 0 && usize::from(found[from - 1].start) == at {
            from -= 1;
        }
        for (k, term) in found[from..to].iter().enumerate() {
            let total = term.score() + best[usize::from(term.end)];
            if total > best[at] + 1e-9 {
                best[at] = total;
                pick[at] = Some(from + k);
            }
        }
    }
    let mut chosen = Vec::new();
    let mut at = 0;
    while at < len {
        match pick[at] {
            Some(k) => {
                at = usize::from(found[k].end);
                chosen.push(k);
            }
            None => at += 1,
        }
    }
    let terms: Vec<Term> = chosen.iter().map(|k| found[*k].clone()).collect();
    let lost_to = |t: &Term| {
        let c = &terms[terms.binary_search_by_key(&t.start, |c| c.start).ok()?];
        (c.end == t.end).then_some(c.weight)
    };
    let rivals = found
        .iter()
        .enumerate()
        .filter(|(k, t)| chosen.binary_search(k).is_err() && lost_to(t).is_some_and(|w| w < t.weight * 3.0))
        .map(|(_, t)| t.clone())
        .collect();
    (terms, rivals)
}

/// A tiny set of token places.
mod smallset {
    #[derive(Default)]
    pub struct Ends {
        seen: [u16; 8],
        len: usize,
    }

    impl Ends {
        /// Whether it was new.
        pub fn insert(&mut self, end: u16) -> bool {
            if self.seen[..self.len].contains(&end) || self.len == self.seen.len() {
                return false;
            }
            self.seen[self.len] = end;
            self.len += 1;
            true
        }
    }
}
