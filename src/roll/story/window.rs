//! A window of the tape with what the reader makes of it: where words stand, and what stretches of them are for.

use super::tape::{Tape, Window};
use crate::language::compose::{Fact, FactSaid, FrameSaid};
use crate::language::tag::{Mention, Role};
use crate::language::{Lexicon, Told};
use std::ops::Range;

/// A mention this likely to go with a frame is said of it.
pub(super) const GOES_WITH: f32 = 0.5;
/// A frame less likely than this is none of its own, if nothing but settings is told of it.
pub(super) const BEGUN: f64 = 0.5;

/// What is read in a window.
pub(super) struct Hearing<'a> {
    pub(super) told: &'a Told,
    pub(super) lexicon: &'a Lexicon,
    pub(super) window: &'a Window,
    pub(super) tape: &'a Tape,
}

impl Hearing<'_> {
    /// The byte of the tape where a token begins.
    pub(super) fn byte(&self, token: usize) -> usize {
        self.told.tokens.get(token).map_or(self.window.to, |t| t.span.start + self.window.from)
    }

    /// The sentence of the tape that a token stands in.
    pub(super) fn sentence(&self, token: usize) -> usize {
        self.tape.sentence(self.byte(token))
    }

    pub(super) fn bytes(&self, tokens: &Range<usize>) -> Range<usize> {
        let end = tokens.end.checked_sub(1).and_then(|t| self.told.tokens.get(t));
        self.byte(tokens.start)..end.map_or(self.window.to, |t| t.span.end + self.window.from)
    }

    /// The token where a frame is begun.
    pub(super) fn begin(&self, frame: &FrameSaid) -> usize {
        frame.begun_by.first().map_or(0, |o| self.told.read.mentions[*o].tokens.start)
    }

    pub(super) fn together(&self, mention: usize, frame: &FrameSaid) -> f32 {
        if frame.begun_by.contains(&mention) {
            return 1.0;
        }
        let read = &self.told.read;
        let weight: f32 = frame.begun_by.iter().map(|o| read.mentions[*o].opens).sum();
        let all: f32 = frame.begun_by.iter().map(|o| read.mentions[*o].opens * read.together(mention, *o)).sum();
        all / weight.max(f32::MIN_POSITIVE)
    }

    /// Whether a token may stand between the numbers of a list.
    pub(super) fn joins(&self, i: usize) -> bool {
        let t = &self.told.tokens[i];
        t.is_mark() || self.lexicon.in_list("setting-after", t) || self.lexicon.in_list("frame-word", t)
    }

    /// Whether "the same" is said in a sentence that puts a new film in.
    pub(super) fn is_of_film(&self, same: &FactSaid) -> bool {
        let sentence = |f: &FactSaid| self.sentence(f.tokens.start);
        let begun = |f: &&FactSaid| f.fact == Fact::RollBegun && sentence(f) == sentence(same);
        self.told.said.facts.iter().any(|f| begun(&f)) && !self.mentions_dial(sentence(same))
    }

    /// Whether a sentence of the tape sets a dial.
    fn mentions_dial(&self, sentence: usize) -> bool {
        let dial = |m: &Mention| matches!(m.role, Role::Shutter | Role::Aperture) && m.done();
        let own = |m: &Mention| self.sentence(m.tokens.start) == sentence;
        self.told.read.mentions.iter().any(|m| dial(m) && own(m))
    }

    /// The tokens that speak of a frame.
    pub(super) fn tokens_of(&self, words: &Range<usize>, start: usize, next: usize) -> Range<usize> {
        let from = self.told.tokens.partition_point(|t| t.span.start + self.window.from < words.start);
        from.min(start)..next
    }

    /// What is done in a stretch, mention by mention.
    pub(super) fn mentions(&self, tokens: Range<usize>) -> impl Iterator<Item = &Mention> {
        self.told.read.mentions.iter().filter(move |m| tokens.contains(&m.tokens.start) && m.done())
    }

    /// What words of a stretch are for.
    pub(super) fn roles(&self, tokens: Range<usize>) -> impl Iterator<Item = Role> {
        self.mentions(tokens).map(|m| m.role)
    }

    /// Whether a word means those that were counted before.
    pub(super) fn says_both(&self, token: usize) -> bool {
        self.lexicon.in_list("both-of", &self.told.tokens[token])
    }

    /// Whether words say that something is as before.
    pub(super) fn is_same(&self, tokens: &Range<usize>) -> bool {
        let same = |f: &FactSaid| matches!(f.fact, Fact::Same | Fact::SameAs(_)) && tokens.contains(&f.tokens.start);
        self.told.said.facts.iter().any(same)
    }

    /// The words of a frame: to the end of the last sentence before the next frame's.
    pub(super) fn quote(&self, from: usize, start: usize, next: usize) -> Range<usize> {
        let last = next.saturating_sub(1).max(start);
        let next_sentence = self.tape.sentence_start(self.byte(next));
        let end = if next < self.told.tokens.len() && next_sentence > self.byte(start) {
            next_sentence
        } else {
            self.bytes(&(start..last + 1)).end
        };
        from..end.max(self.bytes(&(start..start + 1)).end)
    }

    /// The camera that a fact is said of: named in its clause, or before it in its sentence; of a
    /// roll and its film, also after it.
    pub(super) fn camera_of(&self, fact: &FactSaid) -> Option<usize> {
        let own = self.sentence(fact.tokens.start);
        let cameras: Vec<(usize, usize)> = self
            .told
            .said
            .facts
            .iter()
            .filter_map(|f| if let Fact::Camera(c) = f.fact { Some((f.tokens.start, c)) } else { None })
            .filter(|(t, _)| self.sentence(*t) == own)
            .collect();
        let at = fact.tokens.start;
        let one_clause = |t: usize| {
            let between = t.min(at)..t.max(at);
            !self.told.tokens[between].iter().any(crate::language::Token::is_mark)
        };
        let clause = cameras.iter().filter(|c| one_clause(c.0)).min_by_key(|c| c.0.abs_diff(at));
        let before = || cameras.iter().rev().find(|c| c.0 <= at);
        let of_roll = !matches!(fact.fact, Fact::Glass { .. } | Fact::FilterOn(..) | Fact::FilterOff);
        let after = || cameras.iter().find(|c| of_roll && c.0 > at);
        clause.or_else(before).or_else(after).map(|c| c.1)
    }
}

/// Whether a fact takes one film out or puts another in.
pub(super) fn changes_roll(fact: &Fact) -> bool {
    matches!(fact, Fact::RollBegun | Fact::RollEnded | Fact::Roll(_) | Fact::RollNth(_))
}
