//! Phrases found in tokens: what they mean, and what stands in their slots.

use crate::language::grammar::{Class, KitThing};
use crate::language::text::{Number, Token};

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
    Gear(KitThing, f32),
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

    pub fn score(&self) -> f64 {
        (self.len() as f64).powf(1.2) * f64::from(self.weight)
    }
}

/// An amount or a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    pub start: u16,
    pub end: u16,
    pub class: Class,
    pub value: f64,
    pub weight: f32,
}

/// A name of the kit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Named {
    pub start: u16,
    pub end: u16,
    pub gear: KitThing,
    pub weight: f32,
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
    pub named: Vec<Named>,
    /// Amounts and times, in order of their first tokens.
    pub quantities: Vec<Quantity>,
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
