//! A line of characters straightened: ink as 1, ground as 0, whatever the exposure.

use super::find::Candidate;
use super::plane::{Plane, quantile};

/// Pixels of the straightened strip to a dot, about.
pub(super) const DOT: f32 = 4.0;
/// Height of the strip; the characters are 28 high and stand in its middle.
pub(super) const HEIGHT: usize = 64;
/// What is seen beyond either end of the ink found, in pixels: six heights, as
/// faint characters may not have been found.
pub(super) const MARGIN: f32 = 168.0;

/// Pixels of the picture to one of the strip.
pub(super) fn scale(line: &Candidate) -> f32 {
    line.height / (7.0 * DOT)
}

/// Straightens the strip around a candidate; with it the candidate as it then lies.
pub(super) fn straightened(picture: &Plane, line: &Candidate) -> (Plane, Candidate) {
    let strip = cut(picture, line);
    // Once more, by the slope that is left.
    let (lift, slope) = leaning(&strip);
    let better = Candidate { y0: line.y0 + lift * scale(line), slope: line.slope + slope, ..*line };
    (cut(picture, &better), better)
}

fn cut(picture: &Plane, line: &Candidate) -> Plane {
    let scale = scale(line);
    let w = ((line.x1 - line.x0) / scale + 2.0 * MARGIN) as usize;
    let fall = line.slope * (line.x1 - line.x0);
    let top = (line.y0 + fall.min(0.0) - 3.0 * line.height).max(0.0) as usize;
    let low = (line.y0 + fall.max(0.0) + 3.0 * line.height).max(1.0) as usize;
    let part = picture.rows(top, low);
    let top = top.min(picture.h - 1) as f32;
    // What is larger than the strip is made smaller first: every pixel of it counts.
    let factor = if scale > 1.3 { scale } else { 1.0 };
    let part = part.smaller(factor);
    let mut data = Vec::with_capacity(w * HEIGHT);
    let (sin, cos) = line.slope.atan().sin_cos();
    for j in 0..HEIGHT {
        for i in 0..w {
            let along = (i as f32 - MARGIN) * scale;
            let across = (j as f32 + 0.5 - HEIGHT as f32 / 2.0) * scale;
            let x = line.x0 + along * cos - across * sin;
            let y = line.y0 + along * sin + across * cos - top;
            data.push(part.between((x + 0.5) / factor - 0.5, (y + 0.5) / factor - 0.5));
        }
    }
    normalised(Plane { w, h: HEIGHT, data }, line.dark)
}

/// Ground to 0 and ink to about 1, following both along the strip.
fn normalised(mut strip: Plane, dark: bool) -> Plane {
    let (w, h) = (strip.w, strip.h);
    if dark {
        for v in &mut strip.data {
            *v = -*v;
        }
    }
    // The ground of a stretch: what most of it is. Characters cover less than
    // half; the rows next to the middle leave out a picture above or below.
    let step = 14;
    let reach = 40;
    let rows = h / 2 - 20..h / 2 + 20;
    let places: Vec<usize> = (0..w).step_by(step).collect();
    let at = |strip: &Plane, x: usize, q: f32| {
        let (a, b) = (x.saturating_sub(reach), (x + reach).min(w));
        let mut list: Vec<f32> = rows.clone().flat_map(|y| strip.data[y * w + a..y * w + b].iter().copied()).collect();
        quantile(&mut list, q)
    };
    let grounds: Vec<f32> = places.iter().map(|x| at(&strip, *x, 0.4)).collect();
    let along = |list: &[f32], x: usize| {
        let p = x as f32 / step as f32;
        let i = (p as usize).min(list.len() - 1);
        let j = (i + 1).min(list.len() - 1);
        list[i] + (list[j] - list[i]) * (p - i as f32).clamp(0.0, 1.0)
    };
    for x in 0..w {
        let ground = along(&grounds, x);
        for y in 0..h {
            strip.data[y * w + x] -= ground;
        }
    }
    let mut heights: Vec<f32> = places.iter().map(|x| at(&strip, *x, 0.93)).collect();
    let usual = quantile(&mut heights.clone(), 0.6).max(1.0);
    for v in &mut heights {
        *v = v.clamp(0.4 * usual, 2.5 * usual);
    }
    for x in 0..w {
        let height = along(&heights, x);
        for y in 0..h {
            strip.data[y * w + x] /= height;
        }
    }
    strip
}

/// The four ways a strip can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Way {
    Upright,
    UpsideDown,
    Mirrored,
    MirroredUpsideDown,
}

impl Way {
    pub const ALL: [Self; 4] = [Self::Upright, Self::UpsideDown, Self::Mirrored, Self::MirroredUpsideDown];

    pub fn is_mirrored(self) -> bool {
        matches!(self, Self::Mirrored | Self::MirroredUpsideDown)
    }

    /// Whether the line runs from right to left in the picture.
    pub fn runs_left(self) -> bool {
        matches!(self, Self::UpsideDown | Self::Mirrored)
    }

    /// Whether it lies upside down once the mirror image, left for right, is undone.
    pub fn is_turned_over(self) -> bool {
        matches!(self, Self::UpsideDown | Self::MirroredUpsideDown)
    }

    /// The strip brought upright.
    pub fn brought_upright(self, strip: &Plane) -> Plane {
        let mut strip = strip.clone();
        if self == Self::UpsideDown || self == Self::MirroredUpsideDown {
            strip.data.reverse();
        }
        if self.is_mirrored() {
            for row in strip.data.chunks_mut(strip.w) {
                row.reverse();
            }
        }
        strip
    }
}

/// Where the ink's middle lies below the strip's, at the left end of the ink,
/// and how it falls to the right.
fn leaning(strip: &Plane) -> (f32, f32) {
    let middle = strip.h as f32 / 2.0 - 0.5;
    let (mut n, mut sx, mut sy, mut sxx, mut sxy) = (0.0_f64, 0.0, 0.0, 0.0, 0.0);
    let ends = MARGIN as usize / 2;
    for y in 10..strip.h - 10 {
        for x in ends..strip.w - ends {
            let v = f64::from(strip.at(x, y).clamp(0.0, 1.0));
            if v > 0.4 {
                let (fx, fy) = (x as f64, f64::from(y as f32 - middle));
                n += v;
                sx += v * fx;
                sy += v * fy;
                sxx += v * fx * fx;
                sxy += v * fx * fy;
            }
        }
    }
    if n < 20.0 {
        return (0.0, 0.0);
    }
    let (mx, my) = (sx / n, sy / n);
    let slope = (sxy / n - mx * my) / (sxx / n - mx * mx).max(1.0);
    let slope = slope.clamp(-0.05, 0.05);
    ((my + slope * (f64::from(MARGIN) - mx)) as f32, slope as f32)
}
