//! Every phrase of a text, and the best way to cover the text with them.

use super::slots::Search;
use super::term::{Found, Term};
use crate::language::grammar::Lexicon;
use crate::language::text::{Token, numbers};

/// Scores that differ by less are equal: the first found then stands, so that equal input gives equal bytes.
const EQUAL: f64 = 1e-9;

/// Finds the phrases of a text.
pub fn find(folded: &str, tokens: &[Token], lexicon: &Lexicon) -> Found {
    let mut search = Search {
        folded,
        tokens,
        lexicon,
        numbers: numbers(tokens, &lexicon.numbers),
        quantities: Vec::new(),
        named: Vec::new(),
        found: Vec::new(),
    };
    search.names();
    search.amounts();
    search.phrases();
    search.misheard_film();
    search.spare_numbers();
    search.found.sort_by_key(|t| t.start);
    let (terms, rivals) = cover(search.found.clone(), tokens.len());
    Found {
        numbers: search.numbers,
        terms,
        rivals,
        all: search.found,
        named: search.named,
        quantities: search.quantities,
    }
}

/// The terms that cover most of the text, and their close rivals.
pub fn cover(mut found: Vec<Term>, len: usize) -> (Vec<Term>, Vec<Term>) {
    found.sort_by_key(|t| t.start);
    let mut best = vec![0.0_f64; len + 1];
    let mut pick: Vec<Option<usize>> = vec![None; len + 1];
    let mut from = found.len();
    for at in (0..len).rev() {
        best[at] = best[at + 1];
        let to = from;
        while from > 0 && usize::from(found[from - 1].start) == at {
            from -= 1;
        }
        for (k, term) in found[from..to].iter().enumerate() {
            let total = term.score() + best[usize::from(term.end)];
            if total > best[at] + EQUAL {
                best[at] = total;
                pick[at] = Some(from + k);
            }
        }
    }
    let mut chosen = Vec::new();
    let mut at = 0;
    while at < len {
        match pick[at] {
            Some(k) => {
                at = usize::from(found[k].end);
                chosen.push(k);
            }
            None => at += 1,
        }
    }
    let terms: Vec<Term> = chosen.iter().map(|k| found[*k].clone()).collect();
    let lost_to = |t: &Term| {
        let c = &terms[terms.binary_search_by_key(&t.start, |c| c.start).ok()?];
        (c.end == t.end).then_some(c.weight)
    };
    let rivals = found
        .iter()
        .enumerate()
        .filter(|(k, t)| chosen.binary_search(k).is_err() && lost_to(t).is_some_and(|w| w < t.weight * 3.0))
        .map(|(_, t)| t.clone())
        .collect();
    (terms, rivals)
}
