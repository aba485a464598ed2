//! What the sound says of the words: the recogniser's trust in them, how they were mended, and the
//! answers of the second listen, joined to the values by their tokens.

use std::ops::Range;

use crate::language::compose::{Fact, NoteSaid, Sure};
use crate::language::{Sounds, Told, Value};
use crate::roll::value::{mended_right, sound_weight, words_right};

/// How often a value is misheard as one that sounds like it, against being heard right.
const MISHEARD: f64 = 0.05;

/// How sure the words of a picture's subject are.
const WORDS: f64 = 0.8;
/// The same where a word of them was hardly heard.
const DOUBTFUL_WORDS: f64 = 0.5;
/// A word trusted less than this was hardly heard: a choice. Of the 15 subjects spoken in the sample's clips, as the
/// default model hears them, the 6 with a wrong word have 0.12 to 0.35 for the word trusted least ("tarch heads" for
/// tarred sheds), and the 9 right ones 0.58 to 0.99.
const HARDLY_HEARD: f64 = 0.35;

/// What was heard of one window.
pub(super) struct Ear<'a> {
    pub told: &'a Told,
    pub sounds: &'a [Sounds],
    /// The recogniser's trust in its words, each with its bytes in the window.
    pub trust: &'a [(Range<usize>, f64)],
}

impl Ear<'_> {
    /// Weighs all that a window says against its sound.
    pub fn weigh(&self, said: &mut NoteSaid) {
        for f in &mut said.frames {
            self.value(&mut f.shutter, |v| if let Value::Shutter(s) = v { Some(s) } else { None });
            self.value(&mut f.aperture, |v| if let Value::Aperture(a) = v { Some(a) } else { None });
            self.value(&mut f.number, |v| if let Value::Frame(n) = v { Some(n) } else { None });
            self.value(&mut f.light, |_| None);
            self.value(&mut f.support, |_| None);
            self.picture(&mut f.subject, &f.pictured);
        }
        for f in &mut said.facts {
            let mut one = Some(Sure::new(f.fact.clone(), f.sure, f.tokens.clone()));
            let fact = f.fact.clone();
            self.value(&mut one, |v| match (v, &fact) {
                (Value::Focal(mm), Fact::Glass { focal: Some(_), .. }) => {
                    Some(Fact::Glass { lens: None, focal: Some(mm), as_said: None })
                }
                (Value::Ei(ei), _) => Some(Fact::Rating(ei)),
                (Value::Film(film), _) => Some(Fact::Film(film)),
                _ => None,
            });
            if let Some(one) = one {
                (f.fact, f.sure) = (one.value, one.sure);
            }
        }
    }

    /// Weighs one value: what else was asked about stands beside it as the sound has it, and it is no
    /// surer than its words.
    fn value<T: Clone + PartialEq>(&self, said: &mut Option<Sure<T>>, of: impl Fn(Value) -> Option<T>) {
        let Some(s) = said else { return };
        let over = |r: &Range<usize>| r.start < s.tokens.end && s.tokens.start < r.end;
        let asked = self.sounds.iter().find(|a| over(&a.tokens));
        let mut lead = 0.0;
        if let Some(asked) = asked
            && let Some(heard) = of(asked.heard)
        {
            lead = self.listened(s, &heard, asked, &of);
        }
        let mended = self.told.tokens[s.tokens.clone()].iter().filter_map(|t| t.mend).map(|m| m.sure());
        let mended = mended.fold(1.0, f64::min);
        s.sure *= words_right(self.trust_in(&s.tokens)) * mended_right(mended, lead);
    }

    /// How sure the words of a picture are: no dial and no kit knows them, so the recogniser's trust in each counts.
    fn picture(&self, said: &mut Option<Sure<String>>, stretches: &[Range<usize>]) {
        let Some(s) = said else { return };
        let least = stretches.iter().map(|t| self.trust_in(t)).fold(1.0, f64::min);
        s.sure = if least < HARDLY_HEARD { DOUBTFUL_WORDS } else { WORDS };
    }

    /// The recogniser's trust in the word that it trusts least.
    fn trust_in(&self, tokens: &Range<usize>) -> f64 {
        let bytes = self.bytes(tokens);
        let words = self.trust.iter().filter(|(at, _)| at.start < bytes.end && bytes.start < at.end);
        words.map(|(_, p)| *p).fold(1.0, f64::min)
    }

    /// Puts the readings asked about beside a value; how much better it sounds than the best of them.
    fn listened<T: Clone + PartialEq>(
        &self,
        s: &mut Sure<T>,
        heard: &T,
        asked: &Sounds,
        of: &impl Fn(Value) -> Option<T>,
    ) -> f64 {
        let left: f64 = s.others.iter().map(|o| o.1).sum();
        let share = (1.0 - left).max(f64::EPSILON);
        let meant = s.sure / share;
        let mut all: Vec<(T, f64, f64)> = vec![(s.value.clone(), share, 0.0)];
        all.extend(s.others.iter().map(|(v, p)| (v.clone(), *p, 0.0)));
        let Some(base) = all.iter().find(|r| r.0 == *heard).map(|r| r.1) else { return 0.0 };
        for (value, sound) in asked.others.iter().filter_map(|(v, sound)| Some((of(*v)?, *sound))) {
            match all.iter_mut().find(|r| r.0 == value) {
                Some(r) => (r.1, r.2) = (r.1.max(base * MISHEARD), sound),
                None => all.push((value, base * MISHEARD, sound)),
            }
        }
        let weight = |r: &(T, f64, f64)| r.1 * sound_weight(r.2);
        let total: f64 = all.iter().map(weight).sum();
        all.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
        let best_other = all[1..].iter().map(|r| r.2).fold(f64::NEG_INFINITY, f64::max);
        let lead = if all.len() > 1 { all[0].2 - best_other } else { 0.0 };
        s.value = all[0].0.clone();
        s.sure = meant * weight(&all[0]) / total;
        s.others = all[1..].iter().map(|r| (r.0.clone(), weight(r) / total)).collect();
        lead
    }

    fn bytes(&self, tokens: &Range<usize>) -> Range<usize> {
        let all = &self.told.tokens;
        let end = tokens.end.checked_sub(1).and_then(|t| all.get(t)).map_or(0, |t| t.span.end);
        all.get(tokens.start).map_or(end, |t| t.span.start)..end
    }
}
