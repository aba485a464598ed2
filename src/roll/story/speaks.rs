//! What the words of a frame speak of, where they tell of no picture of their own.

use super::statement::FrameHeard;
use super::window::Hearing;
use crate::language::compose::{Fact, FactSaid, FrameSaid};
use crate::language::tag::{Mention, Role};
use std::ops::Range;

/// A frame this likely is one, though nothing but gear is told of it: seen in talk, gear alone stays below.
const SURELY_BEGUN: f64 = 0.95;
/// A speed less sure than this is hardly one.
const DOUBTFUL: f64 = 0.5;
/// Tokens from a count within which "of that" stands.
const NEAR_COUNT: usize = 4;

impl Hearing<'_> {
    /// Where the first frame of a sentence begins that goes on to say of which roll it is.
    pub(super) fn first_of_roll(&self, fact: &FactSaid, begins: &[usize]) -> Option<usize> {
        let names = matches!(fact.fact, Fact::Roll(_) | Fact::RollCalled(_) | Fact::RollNth(_));
        let at = fact.tokens.start;
        let of = (at.saturating_sub(2)..at).any(|i| self.lexicon.in_list("of-roll", &self.told.tokens[i]));
        let own = self.sentence(at);
        let first = begins.iter().copied().filter(|b| *b < at && self.sentence(*b) == own).min();
        first.filter(|_| names && of)
    }

    /// The token before which what is said of a frame ends: where the next begins. "Seven and
    /// eight, the long lens" says it of both.
    pub(super) fn run_end(&self, start: usize, begins: &[usize]) -> usize {
        let mut later: Vec<usize> = begins.iter().copied().filter(|b| *b > start).collect();
        later.sort_unstable();
        let mut from = start;
        for b in later {
            let number = |i: usize| {
                let mut all = self.told.read.mentions.iter();
                all.any(|m| m.role == Role::Number && m.tokens.contains(&i))
            };
            if !(from..b).all(|i| self.joins(i) || number(i)) {
                return b;
            }
            from = b;
        }
        self.told.tokens.len()
    }

    /// Whether a frame has nothing of its own, in words that tell what film goes in which camera.
    pub(super) fn tells_of_the_roll(&self, said: &FrameSaid, words: &Range<usize>) -> bool {
        let of_roll = |f: &FactSaid| {
            let kind = matches!(
                f.fact,
                Fact::Roll(_)
                    | Fact::RollBegun
                    | Fact::Film(_)
                    | Fact::FilmAsSaid(_)
                    | Fact::Rating(_)
                    | Fact::BoxSpeed
            );
            kind && words.contains(&self.byte(f.tokens.start))
        };
        let empty = said.unexposed() && said.number.is_none() && said.comp.is_none();
        empty && self.told.said.facts.iter().any(of_roll)
    }

    /// "She's got the thirty-five on to start": gear, and nothing that makes a picture.
    pub(super) fn tells_of_gear(&self, said: &FrameSaid, tokens: Range<usize>) -> bool {
        let makes = |r: Role| {
            !matches!(r, Role::Lens | Role::Filter | Role::Camera | Role::Steer | Role::Roll | Role::Film | Role::Other)
        };
        let gear = |r: Role| matches!(r, Role::Lens | Role::Filter);
        let empty = said.number.is_none() && said.aperture_end.is_none() && said.light.is_none();
        let empty = empty && said.there < SURELY_BEGUN;
        let worn = |t: Range<usize>| self.roles(t.clone()).any(gear) && !self.roles(t).any(makes);
        let framed = self.told.tokens[tokens.clone()].iter().any(|t| self.lexicon.in_list("frame-word", t));
        empty && !framed && !self.is_same(&tokens) && worn(tokens)
    }

    /// "Overcast.", "On the tripod.": of the frame before.
    pub(super) fn tells_of_light(&self, said: &FrameSaid, tokens: Range<usize>) -> bool {
        let light = |r: Role| matches!(r, Role::Light | Role::Support);
        let other = |r: Role| !light(r) && !matches!(r, Role::Steer | Role::Other);
        let empty = said.unexposed() && said.number.is_none() && said.comp.is_none() && said.aperture_end.is_none();
        let told = self.roles(tokens.clone()).any(light) && !self.roles(tokens.clone()).any(other);
        let steers = self.told.tokens[tokens.clone()].iter().any(|t| self.lexicon.in_list("begins-next", t));
        empty && told && !steers && !self.is_same(&tokens)
    }

    /// "Still the orange. … Filter off.": what a later sentence says anew holds from then on.
    pub(super) fn holds_later(&self, fact: &FactSaid, heard: &FrameHeard) -> bool {
        let sentence = |t: &Range<usize>| self.sentence(t.start);
        let glass = |f: &FactSaid| matches!(f.fact, Fact::Glass { .. });
        let own = sentence(&fact.tokens);
        let told = heard.said.shutter.as_ref().map(|s| sentence(&s.tokens));
        let again = heard.gear.iter().any(|b| glass(b) == glass(fact) && sentence(&b.tokens) < own);
        again && told.is_some_and(|t| t < own)
    }

    /// "One twenty … fifth", heard as a number and a speed that no dial has: no lens.
    pub(super) fn is_half_a_speed(&self, fact: &FactSaid, said: &FrameSaid) -> bool {
        let Some(speed) = said.shutter.as_ref().filter(|s| s.sure < DOUBTFUL) else { return false };
        let number = |i: usize| self.told.numbers().any(|(at, _)| at == i);
        matches!(fact.fact, Fact::Glass { .. })
            && fact.tokens.clone().all(number)
            && fact.tokens.end <= speed.tokens.start
            && (fact.tokens.end..speed.tokens.start).all(|i| self.told.tokens[i].is_mark())
    }

    /// Whether neither a number nor what stands before it is a word for frames.
    pub(super) fn is_bare(&self, tokens: &Range<usize>) -> bool {
        let near = &self.told.tokens[tokens.start.saturating_sub(1)..tokens.end];
        !near.iter().any(|t| self.lexicon.in_list("frame-word", t))
    }

    /// "Two of that": a count of what was told before, and no other.
    pub(super) fn counts_those(&self, tokens: Range<usize>) -> bool {
        let end = tokens.end.min(self.told.tokens.len());
        let those = |m: &Mention| {
            m.role == Role::Count
                && self.told.tokens[m.tokens.start..end]
                    .iter()
                    .take(NEAR_COUNT)
                    .any(|t| self.lexicon.in_list("those", t))
        };
        self.mentions(tokens.clone()).any(those) && !self.roles(tokens).any(|r| r == Role::Subject)
    }

    /// "From five B on."
    pub(super) fn is_onwards(&self, number: &Range<usize>) -> bool {
        let listed = |i: usize, list: &str| self.told.tokens.get(i).is_some_and(|t| self.lexicon.in_list(list, t));
        let from = (number.start.saturating_sub(2)..number.start).any(|i| listed(i, "from"));
        from && (number.end..number.end + 2).any(|i| listed(i, "onwards"))
    }

    /// Whether words tell of a picture of their own: what is in it, its number, or its whole exposure.
    pub(super) fn is_picture(&self, tokens: Range<usize>) -> bool {
        let says = |role| self.roles(tokens.clone()).any(|r| r == role);
        says(Role::Subject)
            || says(Role::Number)
            || says(Role::Shutter) && says(Role::Aperture)
            || self.is_same(&tokens) && !says(Role::Shutter) && !says(Role::Aperture)
    }
}
