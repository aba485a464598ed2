//! What was said and not used.

use std::ops::Range;

use super::text::Text;
use crate::language::phrases::Named;
use crate::language::tag::Mention;
use crate::language::text::How;

/// A mention is taken back that is so with this probability: a choice; plain corrections have 0.99.
const TAKEN_BACK: f32 = 0.9;

impl Text<'_> {
    /// Stretches that hold a number or a trade word and that no frame and no roll took; `taken_back`: the text has
    /// words that take something back.
    pub(super) fn unread(&self, used: &[bool], taken_back: bool) -> Vec<Range<usize>> {
        let len = self.r.tokens.len();
        let mut taken = vec![false; len];
        let mut wanted = vec![false; len];
        for (m, used) in self.read.mentions.iter().zip(used) {
            for i in m.tokens.clone() {
                taken[i] |= *used || taken_back && self.is_replaced(m);
                wanted[i] |= !used && m.role.is_trade();
            }
        }
        for n in self.r.found.numbers.iter().filter(|n| n.how != How::Homophone) {
            for w in &mut wanted[usize::from(n.start)..usize::from(n.end)] {
                *w = true;
            }
        }
        // What is left of a name that was taken without its "the" says nothing more.
        let whole = |n: &&Named| !(usize::from(n.start)..usize::from(n.end)).any(|i| taken[i]);
        for n in self.r.found.named.iter().filter(whole) {
            for w in &mut wanted[usize::from(n.start)..usize::from(n.end)] {
                *w = true;
            }
        }
        let mut out: Vec<Range<usize>> = Vec::new();
        for i in (0..len).filter(|i| wanted[*i] && !taken[*i] && !self.r.tokens[*i].is_mark()) {
            match out.last_mut() {
                // A mark between two of them, as in 1/60, parts nothing.
                Some(last) if last.end == i || last.end + 1 == i && self.r.tokens[last.end].is_mark() => {
                    last.end = i + 1
                }
                _ => out.push(i..i + 1),
            }
        }
        out
    }

    /// Whether a value was taken back and another of its kind stands: "f eight, no, f eleven".
    fn is_replaced(&self, mention: &Mention) -> bool {
        let stands = |o: &Mention| o.role == mention.role && o.done();
        mention.standing[2] >= TAKEN_BACK && self.read.mentions.iter().any(stands)
    }
}
