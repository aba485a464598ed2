//! Phrases found in tokens, and the best way to cover the text with them.

use super::class::Class;
use super::lexicon::{Gear, Lexicon, Sounds};
use super::number::{How, Number, NumberKind, numbers};
use super::token::{Kind, Token};
use super::trie::{Meaning, NO_VALUE, Slot, Trie};

/// A word heard for one that sounds like it.
const MISHEARD: f32 = 0.75;

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

    fn score(&self) -> f64 {
        (self.len() as f64).powf(1.2) * f64::from(self.weight)
    }
}

/// An amount or a time.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Quantity {
    start: u16,
    end: u16,
    class: Class,
    value: f64,
    weight: f32,
}

/// A name of the kit.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Named {
    start: u16,
    end: u16,
    gear: Gear,
    weight: f32,
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
}

impl Found {
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
    search.spare_numbers();
    let (terms, rivals) = cover(search.found, tokens.len());
    Found { numbers: search.numbers, terms, rivals }
}

struct Search<'a> {
    folded: &'a str,
    tokens: &'a [Token],
    lexicon: &'a Lexicon,
    numbers: Vec<Number>,
    quantities: Vec<Quantity>,
    named: Vec<Named>,
    found: Vec<Term>,
}

type Args = [Option<Arg>; 2];

impl Search<'_> {
    fn numbers_at(&self, start: usize) -> &[Number] {
        let from = self.numbers.partition_point(|n| usize::from(n.start) < start);
        let to = self.numbers.partition_point(|n| usize::from(n.start) <= start);
        &self.numbers[from..to]
    }

    #[allow(clippy::too_many_arguments, reason = "the state of one step of a recursion")]
    fn walk(
        &self,
        trie: &Trie,
        node: u32,
        at: usize,
        depth: usize,
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
                self.walk(trie, next, at + 1, depth + 1, args, weight, emit);
            }
            for meant in self.lexicon.meant_by(id) {
                if let Some(next) = trie.word(node, *meant) {
                    self.walk(trie, next, at + 1, depth + 1, args, weight * MISHEARD, emit);
                }
            }
        }
        for &(slot, next) in trie.slots(node) {
            self.fill(slot, at, depth, &mut |end, arg, w| {
                let mut args = args;
                if let Some(arg) = arg
                    && let Some(free) = args.iter_mut().find(|a| a.is_none())
                {
                    *free = Some(arg);
                }
                self.walk(trie, next, end, depth + 1, args, weight * w, emit);
            });
        }
    }

    fn fill(&self, slot: Slot, at: usize, depth: usize, then: &mut dyn FnMut(usize, Option<Arg>, f32)) {
        match slot {
            Slot::Number(_) | Slot::Ordinal | Slot::Integer(_) | Slot::FNumber(_) => {
                let here = self.numbers_at(at);
                let mut ends: smallset::Ends = smallset::Ends::default();
                for n in here {
                    if !fits(slot, n) || !ends.insert(n.end) {
                        continue;
                    }
                    // A word that only sounds like a number needs a phrase around it.
                    let w =
                        if n.how == How::Homophone { if depth == 0 { 0.5 } else { n.weight.max(0.65) } } else { 1.0 };
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
                for q in &self.quantities {
                    let fits = match slot {
                        Slot::Duration => q.class == Class::Duration,
                        Slot::Stops => q.class == Class::Stops,
                        _ => q.class != Class::Duration,
                    };
                    if usize::from(q.start) == at && fits {
                        let arg = if slot == Slot::Duration { Arg::Time(q.value) } else { Arg::Amount(q.value) };
                        then(usize::from(q.end), Some(arg), q.weight);
                    }
                }
            }
            Slot::Lens | Slot::Filter | Slot::Film | Slot::Camera => {
                let skip = usize::from(self.tokens.get(at).is_some_and(|t| self.lexicon.in_list("leading", t)));
                for n in &self.named {
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

    fn is_number_token(&self, at: usize) -> bool {
        let token = &self.tokens[at];
        matches!(token.kind, Kind::Number { .. })
            || token.id.is_some_and(|id| self.lexicon.numbers.words.contains_key(&id))
    }

    fn is_letter(&self, at: usize) -> bool {
        self.tokens.get(at).is_some_and(|t| t.kind == Kind::Word && t.span.len() == 1)
    }

    fn names(&mut self) {
        let mut named = Vec::new();
        let mut mangled = Vec::new();
        for start in 0..self.tokens.len() {
            let trie = &self.lexicon.gear_trie;
            self.walk(trie, Trie::ROOT, start, 0, [None; 2], 1.0, &mut |node, end, _, w| {
                for m in trie.meanings(node) {
                    // One word that only sounds like a name is not the name.
                    if w <= MISHEARD && end == start + 1 {
                        continue;
                    }
                    let gear = self.lexicon.gear[m.value as usize];
                    let weight = w * m.weight;
                    match named.iter_mut().find(|n: &&mut Named| {
                        usize::from(n.start) == start && usize::from(n.end) == end && n.gear == gear
                    }) {
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

    /// Names of the kit that words from `start` only sound like.
    fn mangled(&self, start: usize, named: &mut Vec<Named>, mangled: &mut Vec<(Meaning, u16, u16, f32)>) {
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
                    Sounds::Gear(gear) => gear,
                    Sounds::Phrase(meaning) => {
                        if unknown {
                            mangled.push((meaning, start as u16, end as u16, 0.5 + 0.3 * near));
                        }
                        continue;
                    }
                };
                // Known words that happen to sound like a name need to be near indeed.
                let known_penalty = if unknown { 1.0 } else { 0.75 };
                let ends: Vec<usize> = match number {
                    Some(v) => self
                        .numbers_at(end)
                        .iter()
                        .filter(|n| n.value == v && n.how != How::Homophone)
                        .map(|n| usize::from(n.end))
                        .collect(),
                    None if letters.len() >= 5 || letters.len() == 4 && near > 0.4 => vec![end],
                    None => Vec::new(),
                };
                for end in ends {
                    let weight = (0.55 + 0.3 * near) * known_penalty;
                    let (start, end) = (start as u16, end as u16);
                    if !named.iter().any(|n| n.start == start && n.end == end && n.gear == gear) {
                        named.push(Named { start, end, gear, weight });
                    }
                }
            }
        }
    }

    fn amounts(&mut self) {
        let mut all: Vec<Quantity> = Vec::new();
        for start in 0..self.tokens.len() {
            let trie = &self.lexicon.values_trie;
            self.walk(trie, Trie::ROOT, start, 0, [None; 2], 1.0, &mut |node, end, args, w| {
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
                        .any(|o| o.start == q.start && o.end == q.end && o.class == q.class && o.value == q.value)
                    {
                        all.push(q);
                    }
                }
            });
        }
        self.quantities = all;
    }

    /// The likeliest value of a number's tokens.
    fn plain_value(&self, arg: Arg) -> Option<f64> {
        let Arg::Number { start, end } = arg else { return None };
        self.numbers_at(usize::from(start))
            .iter()
            .filter(|n| n.end == end && n.how != How::Pair)
            .max_by(|a, b| a.weight.total_cmp(&b.weight))
            .map(|n| n.value)
    }

    fn phrases(&mut self) {
        let mut found: Vec<Term> = Vec::new();
        for start in 0..self.tokens.len() {
            let trie = &self.lexicon.phrases_trie;
            self.walk(trie, Trie::ROOT, start, 0, [None; 2], 1.0, &mut |node, end, args, w| {
                for m in trie.meanings(node) {
                    let term = Term {
                        class: m.class,
                        value: m.value,
                        start: start as u16,
                        end: end as u16,
                        args,
                        weight: w * m.weight,
                    };
                    let one_misheard = w == MISHEARD && end == start + 1;
                    if term.weight > 0.05 && !one_misheard && self.sensible(&term) {
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
    fn spare_numbers(&mut self) {
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
                t.weight *= 0.5;
            }
        }
    }

    /// Whether the number in a phrase can be what the phrase says it is.
    fn sensible(&self, term: &Term) -> bool {
        let any = |arg: Option<Arg>, test: &dyn Fn(&Number) -> bool| match arg {
            Some(Arg::Number { start, end }) => {
                self.numbers_at(usize::from(start)).iter().any(|n| n.end == end && test(n))
            }
            _ => true,
        };
        match term.class {
            Class::ShutterFraction => {
                let of_seconds = term.len() >= 4;
                any(term.args[0], &|n| {
                    n.value >= 4.0 || n.value >= 2.0 && (n.kind != NumberKind::Ordinal || of_seconds)
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
                !(glued && before.is_some_and(|b| b.kind == Kind::Word && b.span.len() == 1))
            }
            // "this one's" is no frame one.
            Class::FrameS => any(term.args[0], &|n| n.value >= 2.0),
            Class::ShutterNumber | Class::ShutterTo => any(term.args[0], &|n| n.value > 0.2),
            Class::Aperture | Class::ApertureTo => any(term.args[0], &|n| (0.7..=180.0).contains(&n.value)),
            Class::Focal | Class::FocalZoom => any(term.args[0], &|n| (8.0..=2000.0).contains(&n.value)),
            Class::LensThe => any(term.args[0], &|n| self.lexicon.has_prime(n.value)),
            Class::Ei => any(term.args[0], &|n| (1.0..=25_600.0).contains(&n.value) && n.kind == NumberKind::Cardinal),
            Class::FilmAt => any(term.args[1], &|n| (3.0..=25_600.0).contains(&n.value)),
            Class::LensAt => match (term.args[0], term.args[1]) {
                (Some(Arg::Gear(Gear::Lens(i), _)), n) | (n, Some(Arg::Gear(Gear::Lens(i), _))) => {
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
            Class::Count | Class::BracketCount => any(term.args[0], &|n| (2.0..=36.0).contains(&n.value)),
            _ => true,
        }
    }
}

/// How much a number by itself weighs; none for what cannot stand by itself.
fn bare_weight(n: &Number) -> Option<f32> {
    match n.how {
        How::Homophone => (n.weight >= 0.5).then_some(0.3),
        How::OneNth | How::LostPoint => None,
        _ if n.kind == NumberKind::Ordinal => None,
        How::Plain => Some(0.6),
        _ => Some(0.6 * n.weight.min(0.95)),
    }
}

fn fits(slot: Slot, n: &Number) -> bool {
    match slot {
        Slot::Number(h) => n.kind != NumberKind::Ordinal && n.how != How::Pair && (h || n.how != How::Homophone),
        Slot::Ordinal => n.kind == NumberKind::Ordinal,
        Slot::Integer(h) => {
            let said_as_one = !matches!(n.how, How::Joined | How::LostPoint);
            n.kind == NumberKind::Cardinal && n.value < 1000.0 && said_as_one && (h || n.how != How::Homophone)
        }
        Slot::FNumber(h) => {
            n.kind != NumberKind::Ordinal
                && !matches!(n.how, How::Tail | How::LostPoint)
                && (h || n.how != How::Homophone)
        }
        _ => false,
    }
}

/// The terms that cover most of the text, and their close rivals.
fn cover(mut found: Vec<Term>, len: usize) -> (Vec<Term>, Vec<Term>) {
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
    let rivals = found
        .iter()
        .enumerate()
        .filter(|(k, t)| {
            !chosen.contains(k)
                && terms.iter().any(|c| c.start == t.start && c.end == t.end && c.weight < t.weight * 3.0)
        })
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
