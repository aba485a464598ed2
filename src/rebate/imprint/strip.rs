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
    let strip = cut(picture, line, 0.0);
    // Once more, by the slope that is left.
    let (lift, slope) = leaning(&strip);
    let better = Candidate { y0: line.y0 + lift * scale(line), slope: line.slope + slope, ..*line };
    let strip = cut(picture, &better, 0.0);
    let (fall, bend) = curling(&strip);
    if fall == 0.0 && bend == 0.0 {
        return (strip, better);
    }
    let slope = 2.0 * fall / (strip.w as f32 - 2.0 * MARGIN);
    let flat = Candidate { y0: better.y0 - fall * scale(line), slope: better.slope + slope, ..better };
    (cut(picture, &flat, bend), flat)
}

/// Where a column of the strip lies along the ink: -1 at its left end, 1 at its right.
fn along(i: f32, w: usize) -> f32 {
    (2.0 * (i - MARGIN) / (w as f32 - 2.0 * MARGIN) - 1.0).clamp(-1.25, 1.25)
}

/// How far a line that bends lies below a straight one; on the whole as much below as above.
fn bent(t: f32, bend: f32) -> f32 {
    bend * (1.0 / 3.0 - t * t)
}

/// Cuts out the strip, `bend` pixels of it lower in the middle than at the ends.
fn cut(picture: &Plane, line: &Candidate, bend: f32) -> Plane {
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
            let across = (j as f32 + 0.5 - HEIGHT as f32 / 2.0 + bent(self::along(i as f32, w), bend)) * scale;
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

/// Falls from the middle to an end, and bends, that are tried, in pixels of the strip. Film curls by less than the
/// height of two dots over the length of a line.
const FALLS: [f32; 5] = [-3.0, -1.5, 0.0, 1.5, 3.0];
const BENDS: [f32; 7] = [-4.5, -3.0, -1.5, 0.0, 1.5, 3.0, 4.5];
/// How much sharper the rows must stand out for a bend to be believed.
const SHARPER: f32 = 1.08;

/// The fall and the bend that a line of film which is not flat still has: those without which its rows of dots stand
/// out most from each other.
fn curling(strip: &Plane) -> (f32, f32) {
    const BLOCK: usize = 8;
    let columns = MARGIN as usize..strip.w - MARGIN as usize;
    // Ink by blocks of columns, so that each trial only moves blocks up and down.
    let blocks: Vec<(f32, Vec<f32>)> = columns
        .clone()
        .step_by(BLOCK)
        .map(|x| {
            let to = (x + BLOCK).min(columns.end);
            let row = |y: usize| strip.data[y * strip.w + x..y * strip.w + to].iter().map(|v| v.clamp(0.0, 1.2)).sum();
            (along((x + to) as f32 / 2.0, strip.w), (0..strip.h).map(row).collect())
        })
        .collect();
    let sharpness = |fall: f32, bend: f32| {
        let mut rows = vec![0.0_f32; strip.h];
        for (t, ink) in &blocks {
            let off = fall * t + bent(*t, bend);
            for (y, row) in rows.iter_mut().enumerate() {
                let from = (y as f32 + off).clamp(0.0, (strip.h - 1) as f32);
                let (above, part) = (from as usize, from.fract());
                *row += ink[above] * (1.0 - part) + ink[(above + 1).min(strip.h - 1)] * part;
            }
        }
        let rows = &rows[10..strip.h - 10];
        let mean = rows.iter().sum::<f32>() / rows.len() as f32;
        rows.iter().map(|r| (r - mean).powi(2)).sum::<f32>()
    };
    let straight = sharpness(0.0, 0.0) * SHARPER;
    let trials = FALLS.iter().flat_map(|fall| BENDS.iter().map(move |bend| (*fall, *bend)));
    let best = trials.map(|(fall, bend)| (sharpness(fall, bend), fall, bend)).max_by(|a, b| a.0.total_cmp(&b.0));
    best.filter(|(sharp, ..)| *sharp > straight).map_or((0.0, 0.0), |(_, fall, bend)| (fall, bend))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_on_film_that_curls_is_made_straight() {
        let w = 2 * MARGIN as usize + 400;
        for (fall, bend) in [(0.0, 0.0), (1.5, 0.0), (0.0, 3.0), (-1.5, -3.0)] {
            let mut strip = Plane { w, h: HEIGHT, data: vec![0.0; w * HEIGHT] };
            for x in MARGIN as usize..w - MARGIN as usize {
                let t = along(x as f32, w);
                for row in [18, 32, 46] {
                    let y = (row as f32 + fall * t + bent(t, bend)).round() as usize;
                    (y - 1..=y + 1).for_each(|y| strip.data[y * w + x] = 1.0);
                }
            }
            assert_eq!(curling(&strip), (fall, bend));
        }
    }
}
