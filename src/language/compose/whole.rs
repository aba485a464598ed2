//! Sentences that must be frames: a picture with a whole exposure, after one that has its own, is another.

use std::ops::Range;

use super::super::class::Class;
use super::super::tag::{Mention, Role};
use super::pick::{GOES_WITH, Text};

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
        let again = term(&[Class::SameAgain]);
        let same = again || term(&[Class::Same]);
        let other = same || term(&[Class::SameShutter, Class::SameAperture]);
        let (shutter, aperture) = (says(Role::Shutter), says(Role::Aperture));
        let exposed = shutter && (aperture || other) || aperture && other || same;
        exposed && (says(Role::Subject) || again || shutter && aperture) && !corrects
    }

    /// Dials that go with no frame that was begun: each lot of them is a frame of its own, begun by
    /// the likeliest of the mentions that go with it.
    pub(super) fn orphans(&self, begun: &[Vec<usize>]) -> Vec<usize> {
        let mutual = |a: usize, b: usize| (self.read.together[a][b] + self.read.together[b][a]) / 2.0;
        let taken = |i: usize| begun.iter().any(|g| self.together(i, g) >= GOES_WITH);
        let tells = |m: &Mention| {
            let role = matches!(m.role, Role::Shutter | Role::Aperture | Role::Subject | Role::Number | Role::Count);
            role && m.done() && m.sure >= SURE
        };
        let free: Vec<usize> = (0..self.read.mentions.len())
            .filter(|i| tells(self.mention(*i)) && self.whole.iter().all(|w| !w.0.contains(&self.mention(*i).tokens.start)))
            .filter(|i| !taken(*i))
            .collect();
        let mut lots: Vec<Vec<usize>> = Vec::new();
        for i in free {
            match lots.iter_mut().find(|l| l.iter().any(|o| mutual(*o, i) >= GOES_WITH)) {
                Some(lot) => lot.push(i),
                None => lots.push(vec![i]),
            }
        }
        let dial = |i: &usize| matches!(self.mention(*i).role, Role::Shutter | Role::Aperture);
        lots.retain(|l| l.len() > 1 && l.iter().any(dial));
        let likeliest = |l: &Vec<usize>| l.iter().copied().max_by(|a, b| self.mention(*a).opens.total_cmp(&self.mention(*b).opens));
        lots.iter().filter_map(likeliest).collect()
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
