//! Sentences that must be frames: a picture with a whole exposure, after one that has its own, is another.

use std::ops::Range;

use super::super::class::Class;
use super::super::tag::Role;
use super::pick::Text;

/// Mentions less sure than this settle nothing.
const SURE: f32 = 0.6;
/// A mention that begins a frame more likely than not.
const BEGINS: f32 = 0.5;

impl Text<'_> {
    /// The sentences that tell of a picture and a whole exposure while no frame that was begun waits
    /// for one; each with the mention to begin its frame with.
    pub(super) fn whole_sentences(&self) -> Vec<(Range<usize>, usize)> {
        // A frame that was begun still waits for its exposure.
        let mut waits = false;
        let mut out = Vec::new();
        for sentence in self.sentences() {
            let inside: Vec<usize> =
                (0..self.read.mentions.len()).filter(|i| sentence.contains(&self.mention(*i).tokens.start)).collect();
            let begun = inside.iter().any(|i| self.mention(*i).opens >= BEGINS && self.mention(*i).role != Role::Other);
            let whole = self.is_whole(&sentence, &inside);
            if whole && !begun && !waits {
                let opener = inside
                    .iter()
                    .filter(|i| self.mention(**i).done() && !matches!(self.mention(**i).role, Role::Other | Role::Lens | Role::Filter))
                    .max_by(|a, b| self.mention(**a).opens.total_cmp(&self.mention(**b).opens));
                out.extend(opener.map(|o| (sentence.clone(), *o)));
            }
            waits = !whole && (begun || waits);
        }
        out
    }

    fn is_whole(&self, sentence: &Range<usize>, inside: &[usize]) -> bool {
        let says = |role| {
            inside.iter().map(|i| self.mention(*i)).any(|m| m.role == role && m.done() && m.sure >= SURE)
        };
        let term = |classes: &[Class]| {
            self.r.found.terms.iter().any(|t| classes.contains(&t.class) && sentence.contains(&usize::from(t.start)))
        };
        // Single words of correction are mostly hesitation: "er", "uh", "hmm".
        let corrects = self.r.found.terms.iter().any(|t| {
            let inside = sentence.contains(&usize::from(t.start));
            let firmly = t.class == Class::Correct && t.len() > 1 || matches!(t.class, Class::Scratch | Class::Claimed);
            inside && (firmly || t.class == Class::CorrectNo && usize::from(t.start) == sentence.start)
        })
            || self.r.tokens[sentence.clone()].iter().any(|t| self.r.lexicon.in_list("was", t));
        let other = term(&[Class::Same, Class::SameAgain, Class::SameShutter, Class::SameAperture]);
        let (shutter, aperture) = (says(Role::Shutter), says(Role::Aperture));
        says(Role::Subject) && (shutter && (aperture || other) || aperture && other) && !corrects
    }

    fn sentences(&self) -> Vec<Range<usize>> {
        let mut out = Vec::new();
        let mut from = 0;
        for (i, token) in self.r.tokens.iter().enumerate() {
            if token.ends_sentence() || i + 1 == self.r.tokens.len() {
                out.push(from..i + 1);
                from = i + 1;
            }
        }
        out
    }
}
