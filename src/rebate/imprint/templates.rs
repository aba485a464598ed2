//! How each character looks under a grid of samples, at several blurs.

use std::sync::OnceLock;

use super::glyphs::{Face, Ink};
use crate::rebate::lattice::index;

/// Samples across a character: two a dot, half a dot beyond its five on each side.
pub(super) const COLUMNS: usize = 12;
/// Samples down: two a dot, one dot beyond its seven above and below.
pub(super) const ROWS: usize = 18;
/// Samples of a character.
pub(super) const SAMPLES: usize = COLUMNS * ROWS;
/// Samples of a quick look: one a dot, with the gap to the right, above and
/// below: 6 × 9, and two that stay empty.
pub(super) const QUICK: usize = 56;
/// Samples across of a quick look.
pub(super) const QUICK_COLUMNS: usize = 6;

/// Spread of the blur in dots.
const BLURS: [f32; 4] = [0.3, 0.55, 0.8, 1.1];

/// A character's look; ink is 1, ground 0.
#[derive(Debug, Clone)]
pub(super) struct Template {
    /// Its index in the alphabet.
    pub letter: usize,
    /// Row by row.
    pub samples: [f32; SAMPLES],
    /// Sum of the squares.
    pub power: f32,
    /// The same for a quick look.
    pub quick: [f32; QUICK],
    /// Sum of their squares.
    pub quick_power: f32,
}

/// Sum of products, in lanes that a machine can add side by side.
pub(super) fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut lanes = [0.0_f32; 8];
    for (x, y) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for i in 0..8 {
            lanes[i] += x[i] * y[i];
        }
    }
    lanes.iter().sum()
}

/// Faces that one camera may mix: the forms of dotted characters vary.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Family {
    Dots,
    Segments,
    Leaning,
}

impl Family {
    pub const ALL: [Self; 3] = [Self::Dots, Self::Segments, Self::Leaning];

    fn faces(self) -> &'static [Face] {
        match self {
            Self::Dots => &[Face::Dots, Face::SquareDots, Face::BlockDots],
            Self::Segments => &[Face::Segments, Face::OpenSegments],
            Self::Leaning => &[Face::LeaningSegments, Face::OpenLeaningSegments],
        }
    }

    /// Whether a decimal point stands in the gap after a character.
    pub fn points_in_gaps(self) -> bool {
        self != Self::Dots
    }
}

/// The templates of one family at one blur.
#[derive(Debug)]
pub(super) struct Look {
    /// The blank first.
    pub templates: Vec<Template>,
}

/// Every look, made once: by family, then from sharp to soft.
pub(super) fn looks() -> &'static [Look] {
    static LOOKS: OnceLock<Vec<Look>> = OnceLock::new();
    LOOKS.get_or_init(|| Family::ALL.iter().flat_map(|family| BLURS.iter().map(|blur| look(*family, *blur))).collect())
}

/// The looks of a family, from sharp to soft.
pub(super) fn looks_of(family: Family) -> &'static [Look] {
    let n = BLURS.len();
    let at = Family::ALL.iter().position(|f| *f == family).unwrap_or(0);
    &looks()[at * n..(at + 1) * n]
}

fn look(family: Family, blur: f32) -> Look {
    let blank = Template { letter: 0, samples: [0.0; SAMPLES], power: 0.0, quick: [0.0; QUICK], quick_power: 0.0 };
    let mut templates = vec![blank];
    for face in family.faces() {
        for c in face.characters().filter(|c| *c != ' ') {
            let Some(letter) = index(c) else { continue };
            for ink in face.forms(c) {
                let (samples, quick) = sampled(ink, blur);
                let same = |t: &Template| t.letter == letter && t.samples == samples;
                if !templates.iter().any(same) {
                    let (power, quick_power) = (dot(&samples, &samples), dot(&quick, &quick));
                    templates.push(Template { letter, samples, power, quick, quick_power });
                }
            }
        }
    }
    Look { templates }
}

/// Points to a dot when a shape is drawn for sampling.
const FINE: usize = 8;

/// A shape blurred, and its mean over each sample.
fn sampled(ink: Ink, blur: f32) -> ([f32; SAMPLES], [f32; QUICK]) {
    // From half a dot to the left of the shape to one and a half to the right.
    let (w, h) = (7 * FINE, ROWS / 2 * FINE);
    let place = |i: usize, from: f32| from + (i as f32 + 0.5) / FINE as f32;
    let mut fine = vec![0.0_f32; w * h];
    for j in 0..h {
        for i in 0..w {
            if ink.covers(place(i, -0.5), place(j, -1.0), 0.45) {
                fine[j * w + i] = 1.0;
            }
        }
    }
    let spread = blur * FINE as f32;
    let reach = (3.0 * spread).ceil() as i32;
    let kernel: Vec<f32> = (-reach..=reach).map(|k| (-0.5 * (k as f32 / spread).powi(2)).exp()).collect();
    let sum: f32 = kernel.iter().sum();
    let smooth = |from: &[f32], step: usize, length: usize, place: &dyn Fn(usize) -> usize| -> Vec<f32> {
        (0..from.len())
            .map(|at| {
                let here = place(at) as i32;
                let mut total = 0.0;
                for (k, weight) in kernel.iter().enumerate() {
                    let there = here + k as i32 - reach;
                    if (0..length as i32).contains(&there) {
                        let there = (at as i32 + (there - here) * step as i32) as usize;
                        total += weight * from[there];
                    }
                }
                total / sum
            })
            .collect()
    };
    let fine = smooth(&fine, 1, w, &|at| at % w);
    let fine = smooth(&fine, w, h, &|at| at / w);
    let mean = |x: usize, y: usize, side: usize| {
        let sum: f32 = (y..y + side).map(|j| fine[j * w + x..j * w + x + side].iter().sum::<f32>()).sum();
        sum / (side * side) as f32
    };
    let mut samples = [0.0; SAMPLES];
    for (s, sample) in samples.iter_mut().enumerate() {
        *sample = mean(s % COLUMNS * FINE / 2, s / COLUMNS * FINE / 2, FINE / 2);
    }
    let mut quick = [0.0; QUICK];
    for (s, sample) in quick.iter_mut().take(QUICK_COLUMNS * ROWS / 2).enumerate() {
        *sample = mean(FINE / 2 + s % QUICK_COLUMNS * FINE, s / QUICK_COLUMNS * FINE, FINE);
    }
    (samples, quick)
}
