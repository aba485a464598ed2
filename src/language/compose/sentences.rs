//! Which sentence each token of a text stands in, and what a sentence is like.

use std::collections::BTreeSet;

use crate::language::phrases::Passage;
use crate::language::tag::{Mention, Read, Role};

/// The sentences of one text, looked at once.
pub(super) struct Sentences {
    /// For each token, the number of its sentence.
    of: Vec<usize>,
    /// Those that begin with a word for frames, as one dictates: "Frame two, the gate."
    dictated: BTreeSet<usize>,
    /// Those with words that steer the reading ("same", "all") or count.
    steered: BTreeSet<usize>,
}

impl Sentences {
    /// Of a text with what the reader makes of it.
    pub(super) fn of(r: &Passage<'_>, read: &Read) -> Self {
        let frame_word = |t: usize| r.lexicon.in_list("frame-word", &r.tokens[t]);
        let mut of = Vec::with_capacity(r.tokens.len());
        let mut dictated = BTreeSet::new();
        let mut begins = true;
        let mut sentence = 0;
        for (i, token) in r.tokens.iter().enumerate() {
            of.push(sentence);
            if begins && frame_word(i) {
                dictated.insert(sentence);
            }
            begins = token.ends_sentence();
            sentence += usize::from(begins);
        }
        let steers = |m: &&Mention| match m.role {
            Role::Steer => !m.tokens.clone().all(frame_word),
            role => role == Role::Count,
        };
        let steered = read.mentions.iter().filter(steers).map(|m| of[m.tokens.start]).collect();
        Self { of, dictated, steered }
    }

    /// The sentence that a mention begins in.
    pub(super) fn with(&self, mention: &Mention) -> usize {
        self.of[mention.tokens.start]
    }

    /// Whether a sentence and those in which another frame begins are dictated, with no word in any that joins them.
    pub(super) fn apart(&self, own: usize, others: &[usize]) -> bool {
        let steered = |s: &usize| self.steered.contains(s);
        let dictated = |s: &usize| self.dictated.contains(s);
        dictated(&own) && others.iter().any(dictated) && !steered(&own) && !others.iter().any(steered)
    }
}
