//! Where a window would better be read in two, and where it may have lost a frame.

use super::statement::MAY_BEGIN;
use super::tape::{Tape, Window};
use super::window::Hearing;
use crate::language::compose::{Fact, FrameSaid};
use crate::language::tag::{Mention, Role};
use crate::language::{Lexicon, Told};

impl Hearing<'_> {
    /// The sentence at which to read anew, where the reading has lost a frame: two sentences have a
    /// whole exposure and only one frame between them, or a sentence begins with a word for frames
    /// and none begins in it.
    fn tear(&self) -> Option<usize> {
        let mentions = &self.told.read.mentions;
        let frames = &self.told.said.frames;
        let begins = |f: &FrameSaid| f.begun_by.iter().map(|o| mentions[*o].tokens.start).min();
        let mut begun: Vec<usize> = frames.iter().filter_map(begins).collect();
        begun.sort_unstable();
        begun.dedup();
        let begun: Vec<usize> = begun.into_iter().map(|i| self.sentence(i)).collect();
        // What is read as taken back, though no word takes anything back, was a picture of its own.
        let taken_back = self.told.said.facts.iter().any(|f| f.fact == Fact::TakenBack);
        let said = |m: &Mention| m.done() || !taken_back && m.standing[2] > m.standing[1];
        let of =
            |role| mentions.iter().filter(move |m| m.role == role && said(m)).map(|m| self.sentence(m.tokens.start));
        let same = self.told.said.facts.iter().filter(|f| f.fact == Fact::Same).map(|f| self.sentence(f.tokens.start));
        let mut exposed: Vec<usize> = of(Role::Shutter).filter(|s| of(Role::Aperture).any(|a| a == *s)).collect();
        exposed.extend(same.filter(|s| begun.contains(s)));
        exposed.sort_unstable();
        exposed.dedup();
        let frame = |s: &usize| begun.partition_point(|b| b <= s).max(1);
        let twice = exposed.windows(2).find(|w| frame(&w[0]) == frame(&w[1])).map(|w| w[0] + 1);
        let first = |i: &usize| *i == 0 || self.sentence(*i) != self.sentence(*i - 1);
        let lost = || {
            (1..self.told.tokens.len())
                .filter(first)
                .filter(|i| self.lexicon.in_list("frame-word", &self.told.tokens[*i]))
                .map(|i| self.sentence(i))
                .find(|s| !begun.contains(s))
        };
        twice.or_else(lost)
    }

    /// Where a sentence may begin a frame, or has a whole exposure, and none begins in it.
    pub(super) fn lost(&self, begins: &[usize]) -> Vec<usize> {
        let openers = self.told.said.frames.iter().flat_map(|f| &f.begun_by);
        let mut begun: Vec<usize> = openers.map(|o| self.sentence(self.told.read.mentions[*o].tokens.start)).collect();
        begun.extend(begins.iter().map(|b| self.sentence(*b)));
        let mentions = || self.told.read.mentions.iter().filter(|m| m.done() && m.role != Role::Other);
        let of = |role| mentions().filter(move |m| m.role == role).map(|m| self.sentence(m.tokens.start));
        let exposures: Vec<usize> = of(Role::Shutter).filter(|s| of(Role::Aperture).any(|a| a == *s)).collect();
        let mut out: Vec<usize> = Vec::new();
        for m in mentions().filter(|m| !begun.contains(&self.sentence(m.tokens.start))) {
            let own = self.sentence(m.tokens.start);
            let dial = |role| mentions().any(|o| o.role == role && self.sentence(o.tokens.start) == own);
            let exposed = dial(Role::Shutter) && dial(Role::Aperture);
            let known = out.iter().any(|o| self.sentence(*o) == own);
            // A frame begun before that has its exposure already does not take this one.
            let before = |s: &usize| *s < own && begun.contains(s);
            let again = exposed && exposures.iter().any(before);
            if !known && (f64::from(m.opens) >= MAY_BEGIN || again) {
                out.push(m.tokens.start);
            }
        }
        out
    }
}

/// The sentence at which a window would better be cut and read in two, where a frame is lost in the whole.
pub(super) fn tear(told: &Told, lexicon: &Lexicon, window: &Window, tape: &Tape) -> Option<usize> {
    Hearing { told, lexicon, window, tape }.tear()
}
