//! A line as seen, read as a chain of pieces that each have a list of
//! possible texts: the probability of every value of every piece, over all
//! ways to lay the chain over the line (forward–backward).

use super::candidate::Candidate;
use super::candidate::Value;
use super::lattice::{ALPHABET, Lattice, index};
use std::collections::HashMap;

/// Texts folded together where they begin alike, so that a beginning is laid
/// over the line once for all of them.
#[derive(Debug, Clone)]
pub(super) struct Tree {
    /// The empty beginning first; each after the one that it prolongs.
    nodes: Vec<Node>,
}

#[derive(Debug, Clone, Default)]
struct Node {
    parent: usize,
    /// The character that it adds to its parent.
    letter: usize,
    is_leaf: bool,
    /// What the text so far may mean, with priors.
    ends: Vec<(Value, f64)>,
}

impl Tree {
    /// A tree of these texts.
    pub fn new(candidates: &[Candidate]) -> Self {
        let mut nodes = vec![Node { is_leaf: true, ..Node::default() }];
        let mut known: HashMap<(usize, usize), usize> = HashMap::new();
        for c in candidates {
            let mut at = 0;
            for &letter in &c.text {
                let parent = at;
                at = *known.entry((parent, letter)).or_insert_with(|| {
                    nodes[parent].is_leaf = false;
                    nodes.push(Node { parent, letter, is_leaf: true, ends: Vec::new() });
                    nodes.len() - 1
                });
            }
            nodes[at].ends.push((c.value, c.prior));
        }
        Self { nodes }
    }

    /// Every value that it holds.
    pub fn values(&self) -> impl Iterator<Item = Value> {
        self.nodes.iter().flat_map(|n| &n.ends).map(|(value, _)| *value)
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
    /// For each place of the line, the probability of each character; what is
    /// left to 1 is the probability that no character of the chain stands there.
    pub letters: Vec<[f64; ALPHABET]>,
    /// For each piece, the probability that one of its characters looks far more like another that a value may have.
    pub unlike: Vec<f64>,
}

/// Likelihood of a character beside that of the likeliest below which it was not really seen.
const UNLIKE: f64 = 0.05;
/// What values are written with.
const OF_VALUES: &str = "0123456789./+-";

/// Reads a line as a chain of pieces, each with one or more trees of texts.
pub(super) fn decode(line: &Lattice, chain: &[Vec<&Tree>]) -> Decoded {
    let n = line.cells.len();
    let mut forwards = vec![ends(line, false)];
    let mut laid: Vec<Vec<Laid>> = Vec::with_capacity(chain.len());
    for piece in chain {
        let before = &forwards[forwards.len() - 1];
        let mut after = vec![0.0; n + 1];
        laid.push(piece.iter().map(|tree| Laid::forward(line, tree, before, &mut after)).collect());
        forwards.push(after);
    }

    let mut backward = ends(line, true);
    backward.reverse();
    let last = &forwards[chain.len()];
    let evidence: f64 = product(last, &backward);
    let likeliest =
        |a: &[f64], b: &[f64]| (0..=n).max_by(|i, j| (a[*i] * b[*i]).total_cmp(&(a[*j] * b[*j]))).unwrap_or(0);
    let end = likeliest(last, &backward);
    let mut pieces = Vec::with_capacity(chain.len());
    let mut letters = vec![[0.0; ALPHABET]; n];
    let mut unlike = Vec::with_capacity(chain.len());
    for (trees, laid) in chain.iter().zip(&laid).rev() {
        let mut own = vec![[0.0; ALPHABET]; n];
        let mut values: HashMap<Value, f64> = HashMap::new();
        let mut before = vec![0.0; n + 1];
        for (tree, laid) in trees.iter().zip(laid) {
            laid.backward(line, tree, &backward, &mut before, &mut values, &mut own);
        }
        backward = before;
        pieces.push(ranked(values));
        unlike.push(not_seen(line, &own) / evidence.max(f64::MIN_POSITIVE));
        letters.iter_mut().flatten().zip(own.iter().flatten()).for_each(|(to, p)| *to += p);
    }
    pieces.reverse();
    unlike.reverse();
    let start = likeliest(&forwards[0], &backward).min(end);
    if evidence > 0.0 {
        letters.iter_mut().flatten().for_each(|p| *p /= evidence);
    }
    Decoded { evidence, span: (start, end), pieces, letters, unlike }
}

/// The most that characters weigh, at one place, which look far more like another that a value may have.
fn not_seen(line: &Lattice, weights: &[[f64; ALPHABET]]) -> f64 {
    let places = line.cells.iter().zip(weights).map(|(cell, weights)| {
        let best = OF_VALUES.chars().filter_map(index).map(|i| cell.likelihood[i]).fold(0.0, f64::max);
        let unlike = weights.iter().zip(&cell.likelihood).filter(|(_, seen)| **seen < UNLIKE * best);
        unlike.map(|(weight, _)| weight).sum::<f64>()
    });
    places.fold(0.0, f64::max)
}

/// Likelihood of what stands before an imprint that starts at each place; of
/// what stands after it, when looked at from the end. Whatever it is, a blank
/// parts it from the imprint: so no character of the imprint goes lost in it.
fn ends(line: &Lattice, from_the_end: bool) -> Vec<f64> {
    let n = line.cells.len();
    let place = |i: usize| if from_the_end { n - 1 - i } else { i };
    let mut beyond = vec![1.0; n + 1];
    for i in 0..n {
        beyond[i + 1] = beyond[i] * line.beyond(place(i));
    }
    let parted = |i: usize| {
        let blank = i.saturating_sub(line.stride);
        beyond[blank] * (blank..i).map(|k| line.cells[place(k)].extra).product::<f64>()
    };
    (0..=n).map(parted).collect()
}

/// Weights brought to a sum of 1, likeliest first; equal ones in a settled order. They are summed in that
/// order too: a sum of fractions depends on its order, and that of a map is another in every run.
pub(super) fn ranked(values: HashMap<Value, f64>) -> Vec<(Value, f64)> {
    let mut list: Vec<(Value, f64)> = values.into_iter().collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.to_string().cmp(&b.0.to_string())));
    let sum: f64 = list.iter().map(|(_, p)| p).sum();
    if sum <= 0.0 {
        return Vec::new();
    }
    list.iter_mut().for_each(|(_, p)| *p /= sum);
    list
}

fn product(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Share of the likeliest start below which a beginning is not followed.
const BEAM: f64 = 1e-12;

/// A tree laid over a line.
struct Laid {
    /// For each node, if it was followed: how likely the sight is when the
    /// text so far ends at each place.
    rows: Vec<Option<Vec<f64>>>,
    /// The same with dirt behind it, for nodes that are prolonged. Dirt may
    /// stand before a character, never after the last: so every way to lay the
    /// chain counts once.
    dirty: Vec<Vec<f64>>,
}

impl Laid {
    /// Lays a tree from each start, and adds to `after` where its texts end.
    fn forward(line: &Lattice, tree: &Tree, before: &[f64], after: &mut [f64]) -> Self {
        let n = line.cells.len();
        let least = before.iter().copied().fold(0.0, f64::max) * BEAM;
        let mut rows: Vec<Option<Vec<f64>>> = Vec::with_capacity(tree.nodes.len());
        let mut dirty: Vec<Vec<f64>> = Vec::with_capacity(tree.nodes.len());
        for (k, node) in tree.nodes.iter().enumerate() {
            let row = if k == 0 {
                Some(before.to_vec())
            } else if rows[node.parent].is_some() {
                let from = &dirty[node.parent];
                let lost = line.losses.of(node.letter);
                let mut row: Vec<f64> = from.iter().map(|p| p * lost).collect();
                for j in 0..n {
                    row[j + 1] += from[j] * line.cells[j].likelihood[node.letter];
                }
                Some(row).filter(|row| row.iter().any(|p| *p > least))
            } else {
                None
            };
            let mut soiled = Vec::new();
            if let Some(row) = &row {
                let prior: f64 = node.ends.iter().map(|(_, p)| p).sum();
                if prior > 0.0 {
                    after.iter_mut().zip(row).for_each(|(to, p)| *to += p * prior);
                }
                if !node.is_leaf {
                    soiled.clone_from(row);
                    for j in 0..n {
                        soiled[j + 1] += soiled[j] * line.cells[j].extra;
                    }
                }
            }
            rows.push(row);
            dirty.push(soiled);
        }
        Self { rows, dirty }
    }

    /// From how likely the sight is behind each end, adds to `before` how
    /// likely it is from each start on, and to `values` and `letters` what the
    /// texts and their characters weigh.
    fn backward(
        &self,
        line: &Lattice,
        tree: &Tree,
        after: &[f64],
        before: &mut [f64],
        values: &mut HashMap<Value, f64>,
        letters: &mut [[f64; ALPHABET]],
    ) {
        let n = line.cells.len();
        // For each node, what its prolongings say, from the place where dirt before them ends.
        let mut longer: Vec<Vec<f64>> = vec![Vec::new(); tree.nodes.len()];
        for (k, node) in tree.nodes.iter().enumerate().rev() {
            let Some(row) = &self.rows[k] else { continue };
            let mut on = std::mem::take(&mut longer[k]);
            on.resize(n + 1, 0.0);
            for j in (0..n).rev() {
                on[j] += on[j + 1] * line.cells[j].extra;
            }
            if !node.ends.is_empty() {
                let met = product(row, after);
                for (value, prior) in &node.ends {
                    *values.entry(*value).or_default() += met * prior;
                    on.iter_mut().zip(after).for_each(|(to, p)| *to += p * prior);
                }
            }
            if k == 0 {
                before.iter_mut().zip(&on).for_each(|(to, p)| *to += p);
                continue;
            }
            let to = &mut longer[node.parent];
            to.resize(n + 1, 0.0);
            let lost = line.losses.of(node.letter);
            let from = &self.dirty[node.parent];
            for j in 0..n {
                let here = on[j + 1] * line.cells[j].likelihood[node.letter];
                to[j] += on[j] * lost + here;
                letters[j][node.letter] += from[j] * here;
            }
            to[n] += on[n] * lost;
        }
    }
}
