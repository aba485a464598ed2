//! A text as it is put together: its words, the reader's mentions, the values they may have.

use crate::language::phrases::Passage;
use crate::language::readings::Values;
use crate::language::tag::{Mention, Read};

/// A value is no less likely done than this once it was taken for done: a choice, half as for a doubt that was spoken.
pub(super) const LEAST_DONE: f32 = 0.5;
/// What a doubt that was spoken costs: half, so that no such value is surer than one half.
pub(super) const DOUBT_COSTS: f32 = 0.5;

/// A mention this likely to go with a frame is taken for it.
pub(super) const GOES_WITH: f32 = 0.5;

/// The last value said of a dial stands if it is at least so much as sure as the surest. A choice.
pub(super) const NEARLY_AS_SURE: f64 = 0.8;

/// A value that two mentions give differently is no surer than this.
pub(super) const TWO_VALUES: f64 = 0.6;

/// A text with what the reader makes of it.
pub(super) struct Text<'a> {
    pub(super) r: &'a Passage<'a>,
    pub(super) read: &'a Read,
    pub(super) values: Values<'a>,
    /// How likely each mention goes with each group; empty until these are known.
    pub(super) goes: Vec<Vec<f32>>,
}

impl<'a> Text<'a> {
    pub(super) fn mention(&self, i: usize) -> &'a Mention {
        &self.read.mentions[i]
    }

    /// How likely a mention goes with the frame that others begin: by what each of these says, in the
    /// measure in which it begins the frame.
    pub(super) fn together(&self, mention: usize, openers: &[usize]) -> f32 {
        if openers.contains(&mention) {
            return 1.0;
        }
        let weight: f32 = openers.iter().map(|o| self.mention(*o).opens).sum();
        let all: f32 = openers.iter().map(|o| self.mention(*o).opens * self.read.together(mention, *o)).sum();
        all / weight.max(f32::MIN_POSITIVE)
    }
}
