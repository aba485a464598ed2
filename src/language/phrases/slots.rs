//! A search through the phrases of the grammar, word by word, and what may fill their slots.

use smallvec::SmallVec;

use super::term::{Arg, Named, Quantity, Term};
use crate::language::grammar::{Class, KitThing, Lexicon, Slot, Trie};
use crate::language::text::{How, Kind, Number, NumberKind, Token};

/// A word that sounds like a number, with a phrase around it that asks for one: as a part, at least. A choice.
const SOUND_IN_PHRASE: f32 = 0.65;
/// A single letter as a roll's name, which it seldom is. A choice.
const LETTER_ALONE: f32 = 0.4;

/// A word heard for one that sounds like it.
pub const SOUNDS_ALIKE: f32 = 0.75;

/// The search of one text: what was found so far, for the passes that build on it.
pub struct Search<'a> {
    pub folded: &'a str,
    pub tokens: &'a [Token],
    pub lexicon: &'a Lexicon,
    pub numbers: Vec<Number>,
    pub quantities: Vec<Quantity>,
    pub named: Vec<Named>,
    pub found: Vec<Term>,
}

type Args = [Option<Arg>; 2];

impl Search<'_> {
    pub fn numbers_at(&self, start: usize) -> &[Number] {
        let from = self.numbers.partition_point(|n| usize::from(n.start) < start);
        let to = self.numbers.partition_point(|n| usize::from(n.start) <= start);
        &self.numbers[from..to]
    }

    #[allow(clippy::too_many_arguments, reason = "the state of one step of a recursion")]
    pub fn walk(
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
                    self.walk(trie, next, at + 1, args, weight * SOUNDS_ALIKE, emit);
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

    pub fn fill(&self, slot: Slot, at: usize, then: &mut dyn FnMut(usize, Option<Arg>, f32)) {
        match slot {
            Slot::Number(_) | Slot::Ordinal | Slot::Integer(_) | Slot::FNumber(_) => {
                let here = self.numbers_at(at);
                let mut ends: SmallVec<[u16; 8]> = SmallVec::new();
                for n in here {
                    if !fits(slot, n) || self.cuts_fraction(n) || ends.contains(&n.end) {
                        continue;
                    }
                    ends.push(n.end);
                    // A word that only sounds like a number needs a phrase around it.
                    let w = if n.how == How::Homophone { n.weight.max(SOUND_IN_PHRASE) } else { 1.0 };
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
                        (Slot::Lens, KitThing::Lens(_))
                            | (Slot::Filter, KitThing::Filter(_))
                            | (Slot::Film, KitThing::Film(_))
                            | (Slot::Camera, KitThing::Camera(_))
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
                    let w = if n.how == How::Homophone { n.weight.max(SOUND_IN_PHRASE) } else { 1.0 };
                    then(usize::from(n.end), Some(Arg::Name { start: at as u16, end: n.end }), w);
                }
                if letter && &self.folded[self.tokens[at].span.clone()] != "i" {
                    then(at + 1, Some(Arg::Name { start: at as u16, end: at as u16 + 1 }), LETTER_ALONE);
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

    pub fn is_number_token(&self, at: usize) -> bool {
        let token = &self.tokens[at];
        matches!(token.kind, Kind::Number { .. })
            || token.id.is_some_and(|id| self.lexicon.numbers.words.contains_key(&id))
    }

    pub fn is_letter(&self, at: usize) -> bool {
        self.tokens.get(at).is_some_and(|t| t.kind == Kind::Word && t.span.len() == 1)
    }
}

pub fn fits(slot: Slot, n: &Number) -> bool {
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
