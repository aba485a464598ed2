//! Two sequences with gaps on both sides, aligned as one probabilistic model.
//!
//! A pair hidden Markov model with three states: a row and a column together,
//! a row alone, a column alone. Viterbi gives the likeliest alignment,
//! forward–backward how sure each link of it is. Knows nothing of film.
//!
//! Source: Durbin, Eddy, Krogh, Mitchison, "Biological Sequence Analysis",
//! ch. 4 (pair HMMs, posterior of a match). Long runs of gaps weigh less than
//! any `f64`: see [`super::weight`].

use super::product::{Weight, Weights};

/// How likely a gap is behind another, and behind none: choices; the figures of links hardly move with them.
const GAP_GOES_ON: f64 = 0.25;
const GAP_BEGINS: f64 = 0.1;
/// Links less likely than this are not told.
const LEAST_LIKELY: f64 = 1e-4;

/// States, and their index in the transition table.
const TOGETHER: usize = 0;
const ROW: usize = 1;
const COLUMN: usize = 2;
const STATES: usize = 3;

/// Tables up to this many cells are filled whole; larger ones along a band.
const WHOLE: usize = 400_000;
/// Least distance of the band's edge from the straight line.
const BAND: usize = 96;

/// What is to be aligned: natural logarithms of weights, higher is likelier.
/// Weights need not sum to one; ratios between alternatives count.
pub struct Model {
    row_alone: Vec<RowAlone>,
    column_alone: Vec<f64>,
    /// Weight of going from one state to another; symmetric, so that the
    /// model reads the same from either end.
    turn: [[f64; STATES]; STATES],
    /// Columns that may be left out at the start and at the end at no cost of
    /// their own.
    free: (usize, usize),
    /// Weight of leaving any out at the start.
    late: f64,
    /// What a column alone weighs besides, by how many rows stand before it.
    room: Vec<f64>,
    band: Band,
    together: Vec<f64>,
}

/// Weight of a row without a column.
#[derive(Debug, Clone, Copy)]
pub struct RowAlone {
    /// Wherever it stands.
    pub anywhere: f64,
    /// Before this column, where that is another.
    pub before: Option<(usize, f64)>,
}

impl From<f64> for RowAlone {
    fn from(anywhere: f64) -> Self {
        Self { anywhere, before: None }
    }
}

impl RowAlone {
    /// Its weight where the next column is `k`.
    fn at(&self, k: usize) -> f64 {
        self.before.filter(|(at, _)| *at == k).map_or(self.anywhere, |(_, weight)| weight)
    }

    fn exp(self) -> Self {
        Self { anywhere: self.anywhere.exp(), before: self.before.map(|(k, weight)| (k, weight.exp())) }
    }
}

/// The cells of the table that are filled.
#[derive(Clone, Copy)]
struct Band {
    rows: usize,
    columns: usize,
    /// Cells in a row.
    width: usize,
    half: usize,
}

impl Band {
    fn new(rows: usize, columns: usize) -> Self {
        if (rows + 1) * (columns + 1) <= WHOLE {
            return Self { rows, columns, width: columns + 1, half: columns + 1 };
        }
        // The line from corner to corner moves by columns/rows a row.
        let slope = (columns + rows / 2) / rows.max(1);
        let half = BAND * slope.max(1) + rows.abs_diff(columns) / 16;
        Self { rows, columns, width: (2 * half + 1).min(columns + 1), half }
    }

    /// The first column of a row's cells.
    fn start(&self, i: usize) -> usize {
        let centre = i * self.columns / self.rows.max(1);
        centre.saturating_sub(self.half).min(self.columns + 1 - self.width)
    }

    /// Where a cell lies, when it is one.
    fn cell(&self, i: usize, k: usize) -> Option<usize> {
        let start = self.start(i);
        (i <= self.rows && k >= start && k < start + self.width).then(|| i * self.width + k - start)
    }
}

/// How the sequences lie on each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Alignment {
    /// For each row the column it goes with in the likeliest alignment.
    pub pairs: Vec<Option<usize>>,
    /// For each row, every column it may go with and how likely that is
    /// (from 0.0001 up); what is missing to 1 is the row alone.
    pub links: Vec<Vec<(usize, f64)>>,
    /// Logarithm of the weight of all alignments together.
    pub log_total: f64,
}

impl Alignment {
    /// How likely a row goes with a column.
    #[cfg(test)]
    pub fn sure(&self, row: usize, column: usize) -> f64 {
        self.links[row].iter().find(|(k, _)| *k == column).map_or(0.0, |(_, p)| *p)
    }

    /// How likely a row goes with no column.
    pub fn alone(&self, row: usize) -> f64 {
        (1.0 - self.links[row].iter().map(|(_, p)| p).sum::<f64>()).max(0.0)
    }
}

impl Model {
    /// A model of `row_alone.len()` rows and `column_alone.len()` columns.
    /// `together(i, k)` is the weight of row `i` with column `k`; `free` is how
    /// many columns may be left out at no cost at the start and at the end.
    pub fn new(
        row_alone: Vec<RowAlone>,
        column_alone: Vec<f64>,
        free: (usize, usize),
        together: impl Fn(usize, usize) -> f64,
    ) -> Self {
        let band = Band::new(row_alone.len(), column_alone.len());
        let mut links = vec![f64::NEG_INFINITY; (band.rows + 1) * band.width];
        for i in 0..band.rows {
            let start = band.start(i);
            for k in start..(start + band.width).min(band.columns) {
                links[i * band.width + k - start] = together(i, k);
            }
        }
        // Gaps come in runs: a note forgotten is often not the only one.
        let (stay, leave, cross) = (GAP_GOES_ON.ln() - GAP_BEGINS.ln(), 0.0, -1.0);
        let turn = [[0.0, leave, leave], [leave, stay, cross], [leave, cross, stay]];
        Self { row_alone, column_alone, turn, free, late: 0.0, room: vec![0.0; band.rows + 1], band, together: links }
    }

    /// The same with a weight for leaving free columns out at the start, however many.
    pub fn begun_late(self, late: f64) -> Self {
        Self { late, ..self }
    }

    /// The same with what a column alone weighs besides, by how many rows stand before it.
    pub fn with_room(self, room: Vec<f64>) -> Self {
        debug_assert_eq!(room.len(), self.band.rows + 1);
        Self { room, ..self }
    }

    /// Weight of column `k` alone after `i` rows.
    fn alone(&self, i: usize, k: usize) -> f64 {
        self.column_alone[k] + self.room[i]
    }

    fn link(&self, i: usize, k: usize) -> f64 {
        self.band.cell(i, k).map_or(f64::NEG_INFINITY, |c| self.together[c])
    }

    /// Weight of an alignment's beginning before column `k`.
    fn begins(&self, k: usize) -> f64 {
        match k {
            0 => 0.0,
            _ if k <= self.free.0 => self.late,
            _ => f64::NEG_INFINITY,
        }
    }

    /// Whether an alignment may end before column `k`.
    fn ends(&self, k: usize) -> bool {
        k + self.free.1 >= self.band.columns
    }

    /// The likeliest alignment and the likelihood of every link.
    pub fn align(&self) -> Alignment {
        self.align_after(&self.forward())
    }

    /// The same from this model's own forward table, where that is at hand.
    pub fn align_after(&self, forward: &Forward) -> Alignment {
        let backward = self.backward();
        let mut links = Vec::with_capacity(self.band.rows);
        for i in 1..=self.band.rows {
            let start = self.band.start(i);
            let cell = |c: usize, s: usize| {
                let at = i * self.band.width + c;
                forward.cells[at].get(s).by(backward[at].get(s))
            };
            let both = |c| cell(c, TOGETHER).plus(cell(c, ROW));
            let mass = (0..self.band.width).map(both).fold(Weight::ZERO, Weight::plus);
            let likely = |c: usize| {
                let p = if mass == Weight::ZERO { 0.0 } else { cell(c, TOGETHER).part_of(mass) };
                (p >= LEAST_LIKELY).then(|| (start + c - 1, p))
            };
            links.push((0..self.band.width).filter(|&c| start + c > 0).filter_map(likely).collect());
        }
        Alignment { pairs: self.viterbi(), links, log_total: forward.log_total }
    }

    /// The table that tells how much all alignments weigh together.
    pub fn forward(&self) -> Forward {
        let (band, leading) = (self.band, self.leading());
        let (column_alone, room) = (exp(&self.column_alone), exp(&self.room));
        let begins = |k: usize| Weight::new(self.begins(k).exp());
        let mut cells = vec![Cell::ZERO; (band.rows + 1) * band.width];
        for (i, room) in room.iter().enumerate() {
            let start = band.start(i);
            let row_alone = i.checked_sub(1).map(|r| self.row_alone[r].exp());
            for k in start..start + band.width {
                let here = i * band.width + k - start;
                let mut cell = [Weight::ZERO; STATES];
                if let Some(alone) = row_alone {
                    let from = |k: usize, to: usize| {
                        let before = band.cell(i - 1, k).map_or(Weight::ZERO, |c| cells[c].sum(&leading[to]));
                        if i == 1 { before.plus(begins(k)) } else { before }
                    };
                    if k > 0 {
                        cell[TOGETHER] = from(k - 1, TOGETHER).times(self.link(i - 1, k - 1).exp());
                    }
                    cell[ROW] = from(k, ROW).times(alone.at(k));
                }
                if k > start {
                    let before = cells[here - 1].sum(&leading[COLUMN]);
                    let from = if i == 0 { before.plus(begins(k - 1)) } else { before };
                    cell[COLUMN] = from.times(column_alone[k - 1] * room);
                }
                cells[here] = Cell::new(cell);
            }
        }
        let start = band.start(band.rows);
        let last = &cells[band.rows * band.width..];
        let ending = (0..band.width).filter(|c| self.ends(start + c)).map(|c| last[c].sum(&[1.0; STATES]));
        // Without rows an alignment may end where it begins.
        let empty = (0..=band.columns).filter(|&k| band.rows == 0 && self.ends(k)).map(begins);
        let total = ending.chain(empty).fold(Weight::ZERO, Weight::plus);
        Forward { cells, log_total: total.ln() }
    }

    fn backward(&self) -> Vec<Cell> {
        let (band, turn) = (self.band, self.turn.map(|r| r.map(f64::exp)));
        let (column_alone, room) = (exp(&self.column_alone), exp(&self.room));
        let mut cells = vec![Cell::ZERO; (band.rows + 1) * band.width];
        for i in (0..=band.rows).rev() {
            let start = band.start(i);
            let row_alone = self.row_alone.get(i).map(|r| r.exp());
            for k in (start..start + band.width).rev() {
                let here = i * band.width + k - start;
                let mut next = [Weight::ZERO; STATES];
                if let Some(alone) = row_alone {
                    if k < band.columns
                        && let Some(c) = band.cell(i + 1, k + 1)
                    {
                        next[TOGETHER] = cells[c].get(TOGETHER).times(self.link(i, k).exp());
                    }
                    if let Some(c) = band.cell(i + 1, k) {
                        next[ROW] = cells[c].get(ROW).times(alone.at(k));
                    }
                }
                if k + 1 < start + band.width {
                    next[COLUMN] = cells[here + 1].get(COLUMN).times(column_alone[k] * room[i]);
                }
                let (next, ends) = (Cell::new(next), i == band.rows && self.ends(k));
                let from = |state: usize| {
                    let on = next.sum(&turn[state]);
                    if ends { on.plus(Weight::new(1.0)) } else { on }
                };
                cells[here] = Cell::new(std::array::from_fn(from));
            }
        }
        cells
    }

    /// For each state the factors of those before it.
    fn leading(&self) -> [[f64; STATES]; STATES] {
        std::array::from_fn(|to| std::array::from_fn(|from| self.turn[from][to].exp()))
    }

    /// The likeliest alignment. Of equals, the one that pairs earlier.
    fn viterbi(&self) -> Vec<Option<usize>> {
        const START: u8 = 3;
        let (band, turn) = (self.band, &self.turn);
        let none = [f64::NEG_INFINITY; STATES];
        let mut before = vec![none; band.width];
        let mut came = vec![[START; STATES]; (band.rows + 1) * band.width];
        for i in 0..=band.rows {
            let start = band.start(i);
            let mut row = vec![none; band.width];
            for k in start..start + band.width {
                let here = k - start;
                let back = &mut came[i * band.width + here];
                let mut take = |state: usize, weight: f64, from: Option<&[f64; STATES]>, begins: f64| {
                    let mut best = (begins, START);
                    for (s, value) in from.into_iter().flatten().enumerate() {
                        let value = value + turn[s][state];
                        if value > best.0 {
                            best = (value, s as u8);
                        }
                    }
                    back[state] = best.1;
                    best.0 + weight
                };
                let mut cell = none;
                if let Some(r) = i.checked_sub(1) {
                    let first = band.start(r);
                    let at = |k: usize| k.checked_sub(first).and_then(|c| before.get(c));
                    let begun = |k: usize| if r == 0 { self.begins(k) } else { f64::NEG_INFINITY };
                    if k > 0 {
                        cell[TOGETHER] = take(TOGETHER, self.link(r, k - 1), at(k - 1), begun(k - 1));
                    }
                    cell[ROW] = take(ROW, self.row_alone[r].at(k), at(k), begun(k));
                }
                if here > 0 {
                    let left = row[here - 1];
                    let begins = if i == 0 { self.begins(k - 1) } else { f64::NEG_INFINITY };
                    cell[COLUMN] = take(COLUMN, self.alone(i, k - 1), Some(&left), begins);
                }
                row[here] = cell;
            }
            before = row;
        }
        let start = band.start(band.rows);
        let mut best = (f64::NEG_INFINITY, None);
        for c in (0..band.width).filter(|c| self.ends(start + c)) {
            for (s, &value) in before[c].iter().enumerate() {
                if value > best.0 {
                    best = (value, Some((start + c, s)));
                }
            }
        }
        let mut pairs = vec![None; band.rows];
        let (mut i, mut at) = (band.rows, best.1);
        while let Some((k, state)) = at {
            let Some(cell) = band.cell(i, k) else { break };
            let from = came[cell][state];
            let k = match state {
                TOGETHER => {
                    i -= 1;
                    pairs[i] = Some(k - 1);
                    k - 1
                }
                ROW => {
                    i -= 1;
                    k
                }
                _ => k - 1,
            };
            at = (from != START).then_some((k, usize::from(from)));
        }
        pairs
    }
}

/// The weights of a cell's states.
type Cell = Weights<STATES>;

/// The weight of all that may come before each cell.
pub struct Forward {
    cells: Vec<Cell>,
    /// Logarithm of the weight of all alignments together.
    pub log_total: f64,
}

fn exp(logarithms: &[f64]) -> Vec<f64> {
    logarithms.iter().map(|x| x.exp()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rows_alone(weights: Vec<f64>) -> Vec<RowAlone> {
        weights.into_iter().map(RowAlone::from).collect()
    }

    fn model(rows: usize, columns: usize, scores: &[f64], free: (usize, usize)) -> Model {
        let alone = |n: usize, at: usize| -> Vec<f64> {
            (0..n).map(|i| -2.0 - scores[(at + i) % scores.len()].abs() / 3.0).collect()
        };
        let at = |i: usize, k: usize| scores[(i * columns + k) % scores.len()];
        Model::new(rows_alone(alone(rows, 1)), alone(columns, 5), free, at)
            .with_room((0..=rows).map(|i| scores[i] / 2.0).collect())
    }

    /// Every alignment, one by one: the outside check of the tables.
    fn walk(
        m: &Model,
        i: usize,
        k: usize,
        last: Option<usize>,
        weight: f64,
        pairs: &mut Vec<Option<usize>>,
        out: &mut Vec<(f64, Vec<Option<usize>>)>,
    ) {
        let (rows, columns) = (m.band.rows, m.band.columns);
        if i == rows && m.ends(k) {
            out.push((weight, pairs.clone()));
        }
        let turn = |s: usize| last.map_or(0.0, |l| m.turn[l][s]);
        if i < rows && k < columns {
            pairs.push(Some(k));
            walk(m, i + 1, k + 1, Some(TOGETHER), weight + turn(TOGETHER) + m.link(i, k), pairs, out);
            pairs.pop();
        }
        if i < rows {
            pairs.push(None);
            walk(m, i + 1, k, Some(ROW), weight + turn(ROW) + m.row_alone[i].at(k), pairs, out);
            pairs.pop();
        }
        if k < columns {
            walk(m, i, k + 1, Some(COLUMN), weight + turn(COLUMN) + m.alone(i, k), pairs, out);
        }
    }

    fn all(m: &Model) -> Vec<(f64, Vec<Option<usize>>)> {
        let mut out = Vec::new();
        for k in 0..=m.free.0.min(m.band.columns) {
            walk(m, 0, k, None, m.begins(k), &mut Vec::new(), &mut out);
        }
        out
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn the_tables_agree_with_trying_everything(
            rows in 0..4usize, columns in 0..4usize,
            scores in proptest::collection::vec(-3.0..3.0f64, 17), lead in 0..2usize, tail in 0..2usize,
            late in -3.0..0.0f64,
        ) {
            let mut m = model(rows, columns, &scores, (lead, tail)).begun_late(late);
            for (i, row) in m.row_alone.iter_mut().enumerate() {
                row.before = Some((i.min(columns), scores[i]));
            }
            let all = all(&m);
            let total: f64 = all.iter().map(|(w, _)| w.exp()).sum();
            let found = m.align();
            prop_assert!((found.log_total - total.ln()).abs() < 1e-9, "{} {}", found.log_total, total.ln());
            let best = all.iter().map(|(w, _)| *w).fold(f64::NEG_INFINITY, f64::max);
            let own = all.iter().filter(|(_, p)| *p == found.pairs).map(|(w, _)| *w).fold(f64::NEG_INFINITY, f64::max);
            prop_assert!((best - own).abs() < 1e-9, "{best} {own}");
            for i in 0..rows {
                for k in 0..columns {
                    let with: f64 = all.iter().filter(|(_, p)| p[i] == Some(k)).map(|(w, _)| w.exp()).sum();
                    prop_assert!((found.sure(i, k) - with / total).abs() < 1e-3);
                }
            }
        }

        #[test]
        fn links_never_cross_and_read_the_same_from_the_other_end(
            rows in 0..9usize, columns in 0..9usize,
            scores in proptest::collection::vec(-3.0..3.0f64, 97), lead in 0..3usize, tail in 0..3usize,
        ) {
            let m = model(rows, columns, &scores, (lead, tail));
            let found = m.align();
            let linked: Vec<usize> = found.pairs.iter().flatten().copied().collect();
            prop_assert!(linked.windows(2).all(|w| w[0] < w[1]), "{linked:?}");
            let turned = Model::new(
                m.row_alone.iter().rev().copied().collect(),
                m.column_alone.iter().rev().copied().collect(),
                (tail, lead),
                |i, k| m.link(rows - 1 - i, columns - 1 - k),
            );
            let turned = turned.with_room(m.room.iter().rev().copied().collect());
            let back = turned.align();
            prop_assert!((back.log_total - found.log_total).abs() < 1e-9);
            for i in 0..rows {
                prop_assert_eq!(back.pairs[rows - 1 - i].map(|k| columns - 1 - k), found.pairs[i]);
                for k in 0..columns {
                    prop_assert!((back.sure(rows - 1 - i, columns - 1 - k) - found.sure(i, k)).abs() < 1e-3);
                }
            }
        }
    }

    #[test]
    fn a_long_run_of_lone_columns_leaves_every_row_its_place() {
        // As a frame number typed with a digit too many makes it; each lone column weighs e^-8.
        for columns in [40, 180, 5000] {
            let far = columns - 1;
            let m = Model::new(rows_alone(vec![-9.0; 3]), vec![-8.0; columns], (0, 0), |i, k| {
                if [0, 1, far][i] == k { 0.0 } else { -20.0 }
            });
            let found = m.align();
            assert_eq!(found.pairs, [Some(0), Some(1), Some(far)], "{columns}");
            assert!(found.log_total.is_finite() && found.log_total < -7.0 * (columns - 3) as f64);
            assert!([(0, 0), (1, 1), (2, far)].into_iter().all(|(i, k)| found.sure(i, k) > 0.98), "{:?}", found.links);
        }
    }

    #[test]
    fn a_long_roll_is_aligned_along_its_band() {
        let n = 3000;
        let m = Model::new(rows_alone(vec![-3.0; n]), vec![-3.0; n - 5], (0, 0), |i, k| {
            // Row 100 to 104 have no column.
            let want = if i < 100 {
                Some(i)
            } else if i < 105 {
                None
            } else {
                Some(i - 5)
            };
            if want == Some(k) { 0.0 } else { -9.0 }
        });
        let found = m.align();
        assert!(m.band.width < n / 2);
        assert_eq!(found.pairs[99], Some(99));
        assert_eq!(found.pairs[100..105], [None; 5]);
        assert_eq!(found.pairs[n - 1], Some(n - 6));
        assert!(found.sure(2000, 1995) > 0.99);
    }
}
