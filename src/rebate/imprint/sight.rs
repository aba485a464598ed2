//! How likely each character is at each place of a line.

use super::grid::{Grid, Window, explained};
use super::plane::{Plane, quantile};
use super::templates::{Family, Look, Template, dot, looks_of};
use crate::rebate::lattice::{ALPHABET, Cell, Lattice, Losses, character, index};

/// Neighbouring samples share their blur and their grain, so a window holds
/// far less evidence than it has samples. Chosen on the training seeds, see the
/// tests of this room.
const INDEPENDENT: f32 = 0.15;
/// No difference of a sample counts for more than this: a dot that is missing
/// or a speck of dust shall not make a character.
const CLAMP: f32 = 0.7;
/// Least spread that is believed of dots: cameras draw them in more ways than there are shapes here.
const SPREAD_OF_DOTS: f32 = 0.18;
/// Least spread that is believed of segments, which stand where they stand.
const SPREAD_OF_SEGMENTS: f32 = 0.1;
/// Likelihood of any character beside the best: what the shapes here do not know.
const FLOOR: f64 = 2e-5;

/// Likelihood of a sight beside the imprint: what the likeliest character
/// would get if nothing stood behind it.
const OUTSIDE: f64 = 1.0 / 6.0;

/// Likelihood of a blank place within the imprint where the pattern has none: characters stand side by side.
const BLANK_WITHIN: f64 = 0.15;

/// A line seen.
pub(super) struct Sight {
    pub lattice: Lattice,
    /// Log-likelihood of the likeliest characters over a blank line.
    pub gain: f64,
    /// For each place its likeliest character and how sure that is.
    pub letters: Vec<(char, f64)>,
    /// How much of the ink is accounted for.
    pub share: f32,
    /// The look that fits best.
    pub look: &'static Look,
}

/// Looks at every place of a grid.
pub(super) fn sight(strip: &Plane, grid: &Grid, family: Family) -> Option<Sight> {
    let windows = grid.windows(strip);
    let strength = |w: &Window, t: &Template| dot(w, &t.samples) / t.power;
    let look = looks_of(family).iter().max_by(|a, b| fit(&windows, a).total_cmp(&fit(&windows, b)))?;
    // Strength of the ink around each place, from the characters that fit best.
    let best = |w: &Window| {
        look.templates.iter().skip(1).map(|t| (explained(w, &t.samples, t.power), t)).max_by(|a, b| a.0.total_cmp(&b.0))
    };
    let strengths: Vec<Option<f32>> = windows
        .iter()
        .map(|w| {
            let power: f32 = w.iter().map(|v| v * v).sum();
            best(w).filter(|(e, _)| *e > 0.45 * power && *e > 4.0).map(|(_, t)| strength(w, t))
        })
        .collect();
    let usual = quantile(&mut strengths.iter().flatten().copied().collect::<Vec<_>>(), 0.5);
    if usual < 0.2 {
        return None;
    }
    let around = |k: usize| {
        let near = &strengths[k.saturating_sub(3)..(k + 4).min(strengths.len())];
        let mut near: Vec<f32> = near.iter().flatten().copied().collect();
        near.push(usual);
        quantile(&mut near, 0.5).clamp(0.5 * usual, 2.0 * usual)
    };
    // Spread of the samples around the best shapes.
    let mut spreads: Vec<f32> = windows
        .iter()
        .enumerate()
        .filter(|(k, _)| strengths[*k].is_some())
        .map(|(k, w)| {
            let a = around(k);
            let least = look.templates.iter().map(|t| misfit(w, t, a)).fold(f32::INFINITY, f32::min);
            (least / w.len() as f32).sqrt()
        })
        .collect();
    let spread =
        quantile(&mut spreads, 0.5).max(if family.points_in_gaps() { SPREAD_OF_SEGMENTS } else { SPREAD_OF_DOTS });
    let mut cells = Vec::new();
    let mut letters = Vec::new();
    let mut gain = 0.0;
    let (mut power, mut rest) = (0.0, 0.0);
    for (k, w) in windows.iter().enumerate() {
        let a = around(k);
        let scores = scores(w, look, a, spread);
        let blank = scores[0];
        let top = scores.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        gain += top - blank;
        power += misfit(w, &look.templates[0], a);
        rest += look.templates.iter().map(|t| misfit(w, t, a)).fold(f32::INFINITY, f32::min);
        let mut likelihood = [FLOOR; ALPHABET];
        for (i, (l, s)) in likelihood.iter_mut().zip(&scores).enumerate() {
            // Where a letter looks like a digit, the digit is the likelier.
            let share = if character(i).is_ascii_uppercase() { 0.95 } else { 1.0 };
            *l = l.max((s - top).exp() * share);
        }
        let sum: f64 = likelihood.iter().sum();
        let cell = Cell { likelihood, extra: (BLANK_WITHIN * likelihood[0]).max(1e-6) };
        let most = likelihood.iter().copied().fold(0.0, f64::max);
        letters.push((cell.best().unwrap_or(' '), most / sum));
        cells.push(cell);
        if family.points_in_gaps() {
            cells.push(point(strip, grid, k, a, spread));
        }
    }
    let losses = Losses { point: if family.points_in_gaps() { 0.01 } else { 0.02 }, space: 0.02, other: 1e-4 };
    let stride = if family.points_in_gaps() { 2 } else { 1 };
    Some(Sight {
        lattice: Lattice { cells, stride, segments: family.points_in_gaps(), losses, outside: OUTSIDE, foreign: 0.01 },
        gain,
        letters,
        share: 1.0 - rest / power.max(1e-6),
        look,
    })
}

/// How well a look fits all windows.
fn fit(windows: &[Window], look: &Look) -> f32 {
    let best =
        |w: &Window| look.templates.iter().skip(1).map(|t| explained(w, &t.samples, t.power)).fold(0.0, f32::max);
    windows.iter().map(best).sum()
}

/// Squared differences from a shape of this strength, each no more than the
/// clamp; the strength may differ a little from its neighbours'.
fn misfit(window: &Window, shape: &Template, strength: f32) -> f32 {
    let a = if shape.power > 0.0 {
        (dot(window, &shape.samples) / shape.power).clamp(0.85 * strength, 1.15 * strength)
    } else {
        strength
    };
    let clamp = CLAMP * CLAMP * strength * strength;
    let mut lanes = [0.0_f32; 8];
    for (v, t) in window.chunks_exact(8).zip(shape.samples.chunks_exact(8)) {
        for i in 0..8 {
            let apart = v[i] - a * t[i];
            lanes[i] += (apart * apart).min(clamp);
        }
    }
    lanes.iter().sum()
}

/// Log-likelihood of every character; those without a shape get none.
fn scores(window: &Window, look: &Look, strength: f32, spread: f32) -> [f64; ALPHABET] {
    let mut scores = [f64::NEG_INFINITY; ALPHABET];
    for t in &look.templates {
        let score = -f64::from(misfit(window, t, strength) * INDEPENDENT / (2.0 * spread * spread));
        scores[t.letter] = scores[t.letter].max(score);
    }
    scores
}

/// The gap after a character of segments: a decimal point or nothing.
fn point(strip: &Plane, grid: &Grid, k: usize, strength: f32, spread: f32) -> Cell {
    let unit = (grid.width / 5.0, grid.height / 7.0);
    let (left, top) = grid.corner(k);
    let mut sum = 0.0;
    for (i, j) in [(5.3, 6.3), (5.7, 6.3), (5.3, 6.7), (5.7, 6.7), (5.5, 6.5)] {
        sum += strip.between(left + i * unit.0 - 0.5, top + j * unit.1 - 0.5);
    }
    let seen = f64::from(sum / 5.0 / strength);
    let spread = f64::from(spread).max(0.15);
    let near = |v: f64| (-(seen - v).powi(2) / (2.0 * spread * spread)).exp().max(1e-3);
    // Blur takes from a lone point and gives to its neighbourhood.
    let (lit, dark) = (near(0.75), near(0.08));
    let top = lit.max(dark);
    let mut likelihood = [FLOOR; ALPHABET];
    if let Some(i) = index('.') {
        likelihood[i] = lit / top;
    }
    Cell { likelihood, extra: dark / top }
}
