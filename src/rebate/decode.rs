//! A line as seen, read as a chain of pieces that each have a list of
//! possible texts: the probability of every value of every piece, over all
//! ways to lay the chain over the line (forward–backward).

use std::collections::HashMap;

use super::lattice::{ALPHABET, Lattice, index};
use super::vocabulary::Value;

/// One text that a piece may have.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    text: Vec<usize>,
    /// What it means.
    pub value: Value,
    /// How likely before the line is seen.
    pub prior: f64,
}

impl Candidate {
    /// A candidate; none when the text has characters outside the alphabet.
    pub fn new(text: &str, value: Value, prior: f64) -> Option<Self> {
        Some(Self { text: text.chars().map(index).collect::<Option<_>>()?, value, prior })
    }
}

/// What may stand at one piece of the chain.
#[derive(Debug, Clone)]
pub(super) struct Options<'a> {
    /// Texts known beforehand.
    pub known: &'a [Candidate],
    /// Texts that this line itself suggests.
    pub found: Vec<Candidate>,
}

impl Options<'_> {
    fn iter(&self) -> impl Iterator<Item = &Candidate> {
        self.known.iter().chain(&self.found)
    }

    fn get(&self, i: usize) -> &Candidate {
        self.known.get(i).unwrap_or_else(|| &self.found[i - self.known.len()])
    }
}

/// What the line says under a chain of pieces.
#[derive(Debug, Clone)]
pub(super) struct Decoded {
    /// Probability of the line as seen, for comparing chains.
    pub evidence: f64,
    /// Where the imprint most likely starts and ends.
    pub span: (usize, usize),
    /// For each piece, its values with probabilities that sum to 1, likeliest first.
    pub pieces: Vec<Vec<(Value, f64)>>,
}

/// Characters too many that are allowed within one piece.
const EXTRA: usize = 2;
/// Share of the best path below which a start is not followed.
const BEAM: f64 = 1e-9;

/// Weight of one candidate between two places of the line.
struct Arc {
    candidate: usize,
    from: usize,
    to: usize,
    weight: f64,
}

/// Reads a line as a chain of pieces.
pub(super) fn decode(line: &Lattice, chain: &[Options<'_>]) -> Decoded {
    let n = line.cells.len();
    // What stands before and after the imprint is dirt.
    let mut forward = vec![0.0; n + 1];
    forward[0] = 1.0;
    for i in 0..n {
        forward[i + 1] = forward[i] * line.cells[i].extra.max(line.outside);
    }
    let mut arcs: Vec<Vec<Arc>> = Vec::with_capacity(chain.len());
    let mut forwards = vec![forward];
    for piece in chain {
        let before = &forwards[forwards.len() - 1];
        let beam = before.iter().copied().fold(0.0, f64::max) * BEAM;
        let mut after = vec![0.0; n + 1];
        let mut laid = Vec::new();
        let mut work = Work::default();
        for from in (0..=n).filter(|i| before[*i] > beam) {
            for (candidate, c) in piece.iter().enumerate() {
                work.lay(line, &c.text, from, |to, p| {
                    let weight = p * c.prior;
                    after[to] += before[from] * weight;
                    laid.push(Arc { candidate, from, to, weight });
                });
            }
        }
        arcs.push(laid);
        forwards.push(after);
    }

    let mut backward = vec![1.0; n + 1];
    for i in (0..n).rev() {
        backward[i] = backward[i + 1] * line.cells[i].extra.max(line.outside);
    }
    let last = &forwards[chain.len()];
    let evidence: f64 = last.iter().zip(&backward).map(|(f, b)| f * b).sum();
    let likeliest =
        |a: &[f64], b: &[f64]| (0..=n).max_by(|i, j| (a[*i] * b[*i]).total_cmp(&(a[*j] * b[*j]))).unwrap_or(0);
    let end = likeliest(last, &backward);
    let mut pieces = Vec::with_capacity(chain.len());
    for (k, piece) in chain.iter().enumerate().rev() {
        let mut before = vec![0.0; n + 1];
        let mut values: HashMap<Value, f64> = HashMap::new();
        for arc in &arcs[k] {
            let on = arc.weight * backward[arc.to];
            before[arc.from] += on;
            *values.entry(piece.get(arc.candidate).value).or_default() += forwards[k][arc.from] * on;
        }
        backward = before;
        pieces.push(ranked(values));
    }
    pieces.reverse();
    let start = likeliest(&forwards[0], &backward).min(end);
    Decoded { evidence, span: (start, end), pieces }
}

/// Weights brought to a sum of 1, likeliest first; equal ones in a settled order.
pub(super) fn ranked(values: HashMap<Value, f64>) -> Vec<(Value, f64)> {
    let sum: f64 = values.values().sum();
    if sum <= 0.0 {
        return Vec::new();
    }
    let mut list: Vec<(Value, f64)> = values.into_iter().map(|(v, p)| (v, p / sum)).collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.to_string().cmp(&b.0.to_string())));
    list
}

/// Room for laying texts over the line, kept between calls.
#[derive(Default)]
struct Work {
    row: Vec<f64>,
    next: Vec<f64>,
}

impl Work {
    /// Lays a text over the line from a place on, and tells for each place
    /// where it may end how likely the sight in between is.
    fn lay(&mut self, line: &Lattice, text: &[usize], from: usize, mut ends: impl FnMut(usize, f64)) {
        let n = line.cells.len();
        let width = (text.len() * line.stride + EXTRA).min(n - from);
        self.row.clear();
        self.row.resize(width + 1, 0.0);
        self.row[0] = 1.0;
        for &c in text {
            debug_assert!(c < ALPHABET);
            // Dirt may stand before a character, never after the last: so
            // every way to lay the chain counts once.
            for j in 0..width {
                self.row[j + 1] += self.row[j] * line.cells[from + j].extra;
            }
            self.next.clear();
            self.next.resize(width + 1, 0.0);
            let lost = line.losses.of(c);
            for j in 0..=width {
                self.next[j] += self.row[j] * lost;
                if j < width {
                    self.next[j + 1] += self.row[j] * line.cells[from + j].likelihood[c];
                }
            }
            std::mem::swap(&mut self.row, &mut self.next);
        }
        for (j, p) in self.row.iter().enumerate() {
            if *p > 0.0 {
                ends(from + j, *p);
            }
        }
    }
}
