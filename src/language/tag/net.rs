//! The reader's net: a small transformer encoder over word pieces, with what the rules know of
//! each token added to its pieces, and one linear head for every question asked of a token.
//!
//! Attention as in Vaswani et al. (2017), the layers as in Devlin et al. (2018, BERT):
//! normalised after each sum, GELU between the two feed-forward products.

use ndarray::{Array1, Array2, ArrayView2, Axis, Slice};

use super::weights::Weights;

/// Attention heads of a layer.
const HEADS: usize = 12;
/// Yes-or-no questions asked of a token.
const BITS: usize = 5;
/// Added to a variance before its root is taken, as where the weights come from.
const EPSILON: f32 = 1e-12;

struct Linear {
    /// Inputs down, outputs across.
    weight: Array2<f32>,
    bias: Array1<f32>,
}

impl Linear {
    fn load(w: &Weights, name: &str) -> Option<Self> {
        let weight = w.matrix(&format!("{name}.weight"))?;
        Some(Self {
            weight: weight.reversed_axes().as_standard_layout().into_owned(),
            bias: w.row(&format!("{name}.bias"))?,
        })
    }

    fn of(&self, x: &ArrayView2<'_, f32>) -> Array2<f32> {
        x.dot(&self.weight) + &self.bias
    }
}

struct Norm {
    weight: Array1<f32>,
    bias: Array1<f32>,
}

impl Norm {
    fn load(w: &Weights, name: &str) -> Option<Self> {
        Some(Self { weight: w.row(&format!("{name}.weight"))?, bias: w.row(&format!("{name}.bias"))? })
    }

    fn of(&self, mut x: Array2<f32>) -> Array2<f32> {
        for mut row in x.rows_mut() {
            let n = row.len() as f32;
            let mean = row.sum() / n;
            let variance = row.iter().map(|v| (v - mean) * (v - mean)).sum::<f32>() / n;
            let scale = 1.0 / (variance + EPSILON).sqrt();
            for ((v, w), b) in row.iter_mut().zip(&self.weight).zip(&self.bias) {
                *v = (*v - mean) * scale * w + b;
            }
        }
        x
    }
}

struct Layer {
    queries_keys_values: Linear,
    out: Linear,
    first: Norm,
    up: Linear,
    down: Linear,
    second: Norm,
}

impl Layer {
    fn load(w: &Weights, i: usize) -> Option<Self> {
        let name = |part: &str| format!("layers.{i}.{part}");
        Some(Self {
            queries_keys_values: Linear::load(w, &name("qkv"))?,
            out: Linear::load(w, &name("o"))?,
            first: Norm::load(w, &name("n1"))?,
            up: Linear::load(w, &name("i"))?,
            down: Linear::load(w, &name("d"))?,
            second: Norm::load(w, &name("n2"))?,
        })
    }

    fn of(&self, x: &Array2<f32>) -> Array2<f32> {
        let (len, width) = x.dim();
        let all = self.queries_keys_values.of(&x.view());
        let each = width / HEADS;
        let scale = 1.0 / (each as f32).sqrt();
        let mut mixed = Array2::<f32>::zeros((len, width));
        for h in 0..HEADS {
            let part =
                |k: usize| all.slice_axis(Axis(1), Slice::from(k * width + h * each..k * width + (h + 1) * each));
            let mut scores = part(0).dot(&part(1).t()) * scale;
            for mut row in scores.rows_mut() {
                softmax(row.as_slice_mut().expect("a fresh product lies in one piece"));
            }
            mixed.slice_axis_mut(Axis(1), Slice::from(h * each..(h + 1) * each)).assign(&scores.dot(&part(2)));
        }
        let x = self.first.of(self.out.of(&mixed.view()) + x);
        let mut inner = self.up.of(&x.view());
        inner.mapv_inplace(gelu);
        self.second.of(self.down.of(&inner.view()) + &x)
    }
}

/// Turns scores into shares of one.
pub(super) fn softmax(scores: &mut [f32]) {
    let most = scores.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    let mut sum = 0.0;
    for s in scores.iter_mut() {
        *s = (*s - most).exp();
        sum += *s;
    }
    scores.iter_mut().for_each(|s| *s /= sum);
}

/// The share that belongs to a score of a yes-or-no question.
pub(super) fn sigmoid(x: f32) -> f32 {
    1.0 / (1.0 + (-x).exp())
}

/// The error function's approximation: Abramowitz and Stegun 7.1.26.
const ERF_P: f32 = 0.327_591_1;
const ERF: [f32; 5] = [0.254_829_6, -0.284_496_74, 1.421_413_8, -1.453_152, 1.061_405_4];

/// `x·Φ(x)`, with the error function after Abramowitz and Stegun 7.1.26 (error below 1.5e-7).
fn gelu(x: f32) -> f32 {
    let z = x.abs() * std::f32::consts::FRAC_1_SQRT_2;
    let t = 1.0 / (1.0 + ERF_P * z);
    let poly = ERF.iter().rev().fold(0.0, |sum, a| t * (a + sum));
    let erf = 1.0 - poly * (-z * z).exp();
    x / 2.0 * (1.0 + if x < 0.0 { -erf } else { erf })
}

/// What one token came out as, before any question is asked.
pub(super) type Seen = Array2<f32>;

/// The net.
pub(super) struct Net {
    word: Array2<f32>,
    place: Array2<f32>,
    kind: Array1<f32>,
    norm: Norm,
    feature: Array2<f32>,
    layers: Vec<Layer>,
    role: Linear,
    standing: Linear,
    bits: Linear,
    effect: Linear,
    member: Linear,
    frame: Linear,
    member_alone: Linear,
    frame_alone: Linear,
    apart: Array1<f32>,
}

impl Net {
    /// From weights; none where one is missing or of another shape.
    pub(super) fn load(w: &Weights) -> Option<Self> {
        let mut layers = Vec::new();
        while let Some(layer) = Layer::load(w, layers.len()) {
            layers.push(layer);
        }
        Some(Self {
            word: w.matrix("word.weight")?,
            place: w.matrix("pos.weight")?,
            kind: w.row("typ")?,
            norm: Norm::load(w, "n0")?,
            feature: w.matrix("feat.weight")?,
            layers: (!layers.is_empty()).then_some(layers)?,
            role: Linear::load(w, "role")?,
            standing: Linear::load(w, "stand")?,
            bits: Linear::load(w, "bits").filter(|b| b.bias.len() == BITS)?,
            effect: Linear::load(w, "eff")?,
            member: Linear::load(w, "pa")?,
            frame: Linear::load(w, "pb")?,
            member_alone: Linear::load(w, "pq")?,
            frame_alone: Linear::load(w, "pk")?,
            apart: w.row("dist.weight")?,
        })
    }

    /// The most pieces that are seen at once.
    pub(super) fn most(&self) -> usize {
        self.place.nrows()
    }

    /// Encodes pieces; `token` tells whose piece each is, none for those that open and close.
    /// `features` are rows of the feature table for each token.
    pub(super) fn encode(&self, pieces: &[u32], token: &[Option<usize>], features: &[Vec<usize>]) -> Seen {
        let width = self.word.ncols();
        let mut x = Array2::<f32>::zeros((pieces.len(), width));
        for (i, (piece, token)) in pieces.iter().zip(token).enumerate() {
            let mut row = x.row_mut(i);
            row += &self.word.row(*piece as usize);
            row += &self.place.row(i);
            row += &self.kind;
            for f in token.map(|t| features[t].as_slice()).unwrap_or_default() {
                row += &self.feature.row(*f);
            }
        }
        let mut x = self.norm.of(x);
        for layer in &self.layers {
            x = layer.of(&x);
        }
        let mut out = Array2::<f32>::zeros((features.len(), width));
        let mut count = vec![0.0_f32; features.len()];
        for (i, token) in token.iter().enumerate() {
            if let Some(t) = token {
                let mut row = out.row_mut(*t);
                row += &x.row(i);
                count[*t] += 1.0;
            }
        }
        for (mut row, n) in out.axis_iter_mut(Axis(0)).zip(count) {
            row /= n.max(1.0);
        }
        out
    }

    /// Scores of every role for each token: outside, then begin and inside of each role.
    pub(super) fn roles(&self, seen: &Seen) -> Array2<f32> {
        self.role.of(&seen.view())
    }

    /// Scores of done, metered or planned, and corrected away.
    pub(super) fn standing(&self, seen: &Seen) -> Array2<f32> {
        self.standing.of(&seen.view())
    }

    /// Scores of: a frame begins, a run of frames ends, the speaker doubts it, it holds for the roll, the frame was told before.
    pub(super) fn bits(&self, seen: &Seen) -> Array2<f32> {
        self.bits.of(&seen.view())
    }

    /// Scores of what a change of exposure moves.
    pub(super) fn effects(&self, seen: &Seen) -> Array2<f32> {
        self.effect.of(&seen.view())
    }

    /// For tokens `members`, whether each goes with the frame that begins at each of `frames`: shares.
    pub(super) fn together(&self, seen: &Seen, members: &[usize], frames: &[usize]) -> Array2<f32> {
        let take = |linear: &Linear, at: &[usize]| linear.of(&seen.select(Axis(0), at).view());
        let (a, b) = (take(&self.member, members), take(&self.frame, frames));
        let (qa, kb) = (take(&self.member_alone, members), take(&self.frame_alone, frames));
        let mut out = a.dot(&b.t()) / (a.ncols() as f32).sqrt();
        for (i, m) in members.iter().enumerate() {
            for (j, f) in frames.iter().enumerate() {
                out[(i, j)] = sigmoid(out[(i, j)] + qa[(i, 0)] + kb[(j, 0)] + self.apart[apart(*m, *f)]);
            }
        }
        out
    }
}

/// The class of a distance in tokens: its sign and the nearest power of two.
fn apart(member: usize, frame: usize) -> usize {
    let d = (member as i64 - frame as i64).clamp(-64, 64);
    let size = ((d.unsigned_abs() as f32) + 1.0).log2();
    // Halves go to the even side, as where the weights come from.
    let size = size.round_ties_even() as i64;
    (8 + d.signum() * size) as usize
}
