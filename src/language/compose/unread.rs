//! What was said and not used.

use std::ops::Range;

use super::super::number::How;
use super::pick::Text;

impl Text<'_> {
    /// Stretches that hold a number or a trade word and that no frame and no roll took.
    pub(super) fn unread(&self, used: &[bool]) -> Vec<Range<usize>> {
        let len = self.r.tokens.len();
        let mut taken = vec![false; len];
        let mut wanted = vec![false; len];
        for (m, used) in self.read.mentions.iter().zip(used) {
            for i in m.tokens.clone() {
                taken[i] |= *used;
                wanted[i] |= !used && m.role.is_trade();
            }
        }
        for n in self.r.found.numbers.iter().filter(|n| n.how != How::Homophone) {
            for w in &mut wanted[usize::from(n.start)..usize::from(n.end)] {
                *w = true;
            }
        }
        for n in &self.r.found.named {
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
}
