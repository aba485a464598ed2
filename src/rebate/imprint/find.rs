//! Where lines of characters may stand in a picture.

use super::plane::{Plane, quantile};

/// A line of characters, maybe: in pixels of the picture it was found in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate {
    /// From the first ink to the last.
    pub x0: f32,
    pub x1: f32,
    /// Height of the line's middle at `x0`.
    pub y0: f32,
    /// How much the middle falls for a pixel to the right.
    pub slope: f32,
    /// Height of the characters, about.
    pub height: f32,
    /// Whether the characters are darker than the ground.
    pub dark: bool,
    /// How much it looks like a line, for picking the best.
    pub score: f32,
}

impl Candidate {
    /// The same line with more of what stands to its left, or to its right.
    pub fn longer(&self, left: bool, right: bool) -> Self {
        let more = |wanted: bool| if wanted { 6.0 * self.height } else { 0.0 };
        let (left, right) = (more(left), more(right));
        Self { x0: self.x0 - left, x1: self.x1 + right, y0: self.y0 - self.slope * left, ..*self }
    }
}

/// Height of characters, in pixels, that one pass looks for.
const PASS: f32 = 14.0;
/// Heights looked for in the picture, pixels; each pass finds three quarters to five quarters.
const HEIGHTS: [f32; 7] = [11.0, 16.0, 23.0, 33.0, 47.0, 67.0, 95.0];
/// Shortest line, in heights: five characters.
const SHORTEST: f64 = 4.0;
/// Longest line, in heights: some fifty characters.
const LONGEST: f64 = 45.0;
/// Lines followed up, at most.
const MOST: usize = 28;

/// Lines in a picture whose characters stand upright or upside down.
pub(super) fn candidates(picture: &Plane) -> Vec<Candidate> {
    let mut found: Vec<Candidate> = Vec::new();
    for height in HEIGHTS {
        let factor = (height / PASS).max(1.0);
        if picture.h as f32 / factor < PASS {
            break;
        }
        let small = picture.smaller(factor);
        let wanted = height / factor;
        let soft = small.boxed(1, 1);
        for dark in [true, false] {
            let ink = ink(&soft, wanted, dark);
            let marked = marked(&ink, wanted);
            // Strong characters by their own ink; faint ones as a band that is
            // darker on the whole than what lies above and below.
            let strong = lines(&ink, &marked, &bridged(&marked, ink.w, wanted), wanted);
            let faint = lines(&ink, &marked, &banded(&ink, wanted), wanted);
            for mut c in strong.into_iter().chain(faint) {
                // Pixel centres: the small picture's pixel i covers from i to i + 1 times the factor.
                let back = |v: f32| (v + 0.5) * factor - 0.5;
                c.dark = dark;
                (c.x0, c.x1, c.y0) = (back(c.x0), back(c.x1), back(c.y0));
                c.height *= factor;
                found.push(c);
            }
        }
    }
    found.sort_by(|a, b| b.score.total_cmp(&a.score));
    let mut kept: Vec<Candidate> = Vec::new();
    for c in found {
        let same = |k: &&Candidate| {
            let middle = 0.5 * (c.x0.max(k.x0) + c.x1.min(k.x1));
            let overlap = c.x1.min(k.x1) - c.x0.max(k.x0);
            let apart = (c.y0 + c.slope * (middle - c.x0) - k.y0 - k.slope * (middle - k.x0)).abs();
            c.dark == k.dark
                && overlap > 0.6 * (c.x1 - c.x0).max(k.x1 - k.x0)
                && apart < 0.4 * k.height
                && (c.height / k.height).ln().abs() < 0.2
        };
        if kept.iter().find(same).is_none() && kept.len() < MOST {
            kept.push(c);
        }
    }
    kept
}

/// How far each pixel stands out from the ground above and below it, within a
/// character's height: a closing by an upright line (an opening for light
/// characters), less the picture. The picture's edges do not stand out.
fn ink(soft: &Plane, height: f32, dark: bool) -> Plane {
    let reach = (height * 1.25) as usize;
    let (w, h) = (soft.w, soft.h);
    let sign = if dark { 1.0 } else { -1.0 };
    let data: Vec<f32> = soft.data.iter().map(|v| v * sign).collect();
    let high = extremes(&data, w, h, reach, f32::max);
    let mut ground = extremes(&high, w, h, reach, f32::min);
    // Each pass looks `reach` rows down; both together shift by as much.
    let shift = reach - 1;
    for y in (0..h).rev() {
        for x in 0..w {
            let from = y.saturating_sub(shift);
            ground[y * w + x] = ground[from * w + x] - data[y * w + x];
        }
    }
    Plane { w, h, data: ground }
}

/// The extreme of each pixel and the `reach` − 1 below it in its column.
fn extremes(data: &[f32], w: usize, h: usize, reach: usize, of: fn(f32, f32) -> f32) -> Vec<f32> {
    let mut all = data.to_vec();
    let mut done = 1;
    while done < reach {
        let step = done.min(reach - done);
        for y in 0..h.saturating_sub(step) {
            let (here, below) = all.split_at_mut((y + step) * w);
            for (a, b) in here[y * w..(y + 1) * w].iter_mut().zip(&below[..w]) {
                *a = of(*a, *b);
            }
        }
        done += step;
    }
    all
}

/// What stands out of the noise of its neighbourhood, by blocks.
fn marked(ink: &Plane, height: f32) -> Vec<bool> {
    let (bw, bh) = ((height * 8.0) as usize, (height * 2.0) as usize);
    let mut marked = vec![false; ink.data.len()];
    let mut list = Vec::new();
    for y0 in (0..ink.h).step_by(bh) {
        for x0 in (0..ink.w).step_by(bw) {
            let (x1, y1) = ((x0 + bw).min(ink.w), (y0 + bh).min(ink.h));
            list.clear();
            // The neighbourhood is higher than the block, so that characters fill little of it.
            for y in y0.saturating_sub(bh / 2)..(y1 + bh / 2).min(ink.h) {
                list.extend(ink.data[y * ink.w + x0..y * ink.w + x1].iter().step_by(3));
            }
            // The lower tail is ground alone: of a normal spread, 1.12 of it lies
            // between these two, and the middle 0.52 above the upper.
            let (low, usual) = (quantile(&mut list, 0.05), quantile(&mut list, 0.3));
            let noise = (usual - low) / 1.12;
            // The glow around characters is well below them.
            let strong = quantile(&mut list, 0.95) - usual;
            let threshold = usual + (4.0 * noise).max(0.4 * strong).max(4.0);
            for y in y0..y1 {
                for x in x0..x1 {
                    marked[y * ink.w + x] = ink.data[y * ink.w + x] > threshold;
                }
            }
        }
    }
    marked
}

/// Ink on one row with less than two blanks between belongs together.
fn bridged(marked: &[bool], w: usize, height: f32) -> Vec<bool> {
    let bridge = (height * 1.9) as usize;
    let mut joined = marked.to_vec();
    for row in joined.chunks_mut(w) {
        let mut last: Option<usize> = None;
        for x in 0..w {
            if row[x] {
                if let Some(l) = last
                    && x - l <= bridge
                {
                    row[l..x].fill(true);
                }
                last = Some(x);
            }
        }
    }
    joined
}

/// Bands that hold more ink than most of their neighbourhood.
fn banded(ink: &Plane, height: f32) -> Vec<bool> {
    let mean = ink.boxed((height * 1.4) as usize, (height * 0.35) as usize);
    let reach = (height * 1.6) as usize;
    let peaks = extremes(&mean.data, ink.w, ink.h, reach, f32::max);
    let (bw, bh) = ((height * 8.0) as usize, (height * 2.0) as usize);
    let mut banded = vec![false; ink.data.len()];
    let mut list = Vec::new();
    for y0 in (0..ink.h).step_by(bh) {
        for x0 in (0..ink.w).step_by(bw) {
            let (x1, y1) = ((x0 + bw).min(ink.w), (y0 + bh).min(ink.h));
            list.clear();
            for y in y0.saturating_sub(bh)..(y1 + bh).min(ink.h) {
                list.extend(mean.data[y * ink.w + x0..y * ink.w + x1].iter().step_by(3));
            }
            let (low, usual) = (quantile(&mut list, 0.05), quantile(&mut list, 0.3));
            let threshold = (3.0 * (usual - low) / 1.12).max(0.7);
            for y in y0..y1 {
                for x in x0..x1 {
                    let at = y * ink.w + x;
                    // Half of the peak above or below it, so that a band ends where its glow begins.
                    let peak = peaks[y.saturating_sub(reach / 2) * ink.w + x] - usual;
                    banded[at] = mean.data[at] - usual > threshold.max(0.5 * peak);
                }
            }
        }
    }
    banded
}

/// Lines of characters about `height` high among the parts that hang together.
fn lines(ink: &Plane, marked: &[bool], joined: &[bool], height: f32) -> Vec<Candidate> {
    let (w, h) = (ink.w, ink.h);
    let mut found = Vec::new();
    let mut seen = vec![false; w * h];
    let mut stack = Vec::new();
    for start in 0..w * h {
        if !joined[start] || seen[start] {
            continue;
        }
        let mut part = Part::default();
        seen[start] = true;
        stack.push(start);
        while let Some(at) = stack.pop() {
            let (x, y) = (at % w, at / w);
            if marked[at] {
                part.add(x as f64, y as f64, f64::from(ink.data[at]));
                part.strokes += usize::from(x == 0 || !marked[at - 1]);
            }
            let mut go = |to: usize| {
                if joined[to] && !seen[to] {
                    seen[to] = true;
                    stack.push(to);
                }
            };
            if x > 0 {
                go(at - 1);
            }
            if x + 1 < w {
                go(at + 1);
            }
            // One row may be missing between the dots of a character.
            for step in 1..=2 {
                if y >= step {
                    go(at - step * w);
                }
                if y + step < h {
                    go(at + step * w);
                }
            }
        }
        found.extend(part.line(height));
    }
    found
}

/// Ink that hangs together.
#[derive(Default)]
struct Part {
    n: f64,
    x: f64,
    y: f64,
    xx: f64,
    xy: f64,
    yy: f64,
    left: f64,
    right: f64,
    ink: f64,
    /// Runs of ink on all rows.
    strokes: usize,
}

impl Part {
    fn add(&mut self, x: f64, y: f64, ink: f64) {
        if self.n == 0.0 {
            (self.left, self.right) = (x, x);
        }
        (self.left, self.right) = (self.left.min(x), self.right.max(x));
        self.n += 1.0;
        self.ink += ink;
        self.x += x;
        self.y += y;
        self.xx += x * x;
        self.xy += x * y;
        self.yy += y * y;
    }

    /// A line, when the ink lies along one and is as high as characters are.
    fn line(&self, height: f32) -> Option<Candidate> {
        let length = self.right - self.left;
        if self.n < 30.0 || !(SHORTEST..LONGEST).contains(&(length / f64::from(height))) {
            return None;
        }
        let (mx, my) = (self.x / self.n, self.y / self.n);
        let vx = self.xx / self.n - mx * mx;
        let slope = (self.xy / self.n - mx * my) / vx.max(1.0);
        if slope.abs() > 0.12 {
            return None;
        }
        let spread = (self.yy / self.n - my * my - slope * slope * vx).max(0.0).sqrt();
        // Ink spread evenly over the height has a spread of 1/√12 of it.
        let measured = (spread * 12.0_f64.sqrt()) as f32;
        let share = self.n / (length * f64::from(measured.max(1.0)));
        if !(0.5..1.6).contains(&(measured / height)) || !(0.08..0.8).contains(&share) {
            return None;
        }
        // A row of characters crosses one to two strokes in the width of one; an edge none.
        let strokes = self.strokes as f64 / length;
        if !(0.4..4.0).contains(&strokes) {
            return None;
        }
        Some(Candidate {
            x0: self.left as f32,
            x1: self.right as f32,
            y0: (my + slope * (self.left - mx)) as f32,
            slope: slope as f32,
            height: measured,
            dark: true,
            // Strong ink, of the height looked for, and long enough to say something.
            score: (self.ink / self.n * (length / f64::from(measured)).min(10.0)) as f32
                * (1.0 - 0.7 * (measured / height - 1.0).abs()),
        })
    }
}
