//! What an answer changed among the edits, so that it can be taken back.

use std::collections::HashSet;

use crate::edits::{Edit, Edits};

/// The edits that an answer took away and those that it put there.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Step {
    taken: Vec<Edit>,
    put: Vec<Edit>,
}

impl Step {
    /// The difference between two states of the edits.
    pub fn between(before: &Edits, after: &Edits) -> Self {
        let missing = |from: &Edits, to: &Edits| {
            let there: HashSet<&Edit> = to.all.iter().collect();
            from.all.iter().filter(|e| !there.contains(e)).cloned().collect()
        };
        Self { taken: missing(before, after), put: missing(after, before) }
    }

    /// Whether nothing was changed.
    pub fn is_nothing(&self) -> bool {
        self.taken.is_empty() && self.put.is_empty()
    }

    /// Takes the step back. What was changed once more since, as in a table, stays; `false` when
    /// there was such.
    pub fn back(&self, edits: &mut Edits) -> bool {
        // The evidence beside an edit is noted anew with every settling.
        let same = |a: &Edit, b: &Edit| a.same_cell(b) && a.now == b.now;
        let mut whole = true;
        for edit in &self.put {
            match edits.all.iter().position(|e| same(e, edit)) {
                Some(at) => drop(edits.all.remove(at)),
                None => whole = false,
            }
        }
        for edit in &self.taken {
            if edits.all.iter().any(|e| e.same_cell(edit)) {
                whole = false;
            } else {
                edits.all.push(edit.clone());
            }
        }
        edits.sort();
        whole
    }
}
