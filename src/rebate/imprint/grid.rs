//! Where each character of a straightened line stands: all of one width, at
//! equal distances.

use super::plane::{Plane, quantile};
use super::strip::MARGIN;
use super::templates::{COLUMNS, Look, QUICK, QUICK_COLUMNS, ROWS, SAMPLES, Template, dot};

/// Samples of one character.
pub(super) type Window = [f32; SAMPLES];

/// Places of the characters, in pixels of the strip.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grid {
    /// Left side of the first character.
    pub x: f32,
    /// From one character to the next.
    pub pitch: f32,
    /// Width of five dots.
    pub width: f32,
    /// Upper side, in the middle of the line.
    pub top: f32,
    /// How much lower each character stands than the one before it.
    pub fall: f32,
    /// Height of seven dots.
    pub height: f32,
    /// How many.
    pub n: usize,
}

impl Grid {
    /// Left and upper side of a character.
    pub fn corner(&self, k: usize) -> (f32, f32) {
        let off = k as f32 - (self.n as f32 - 1.0) / 2.0;
        (self.x + k as f32 * self.pitch, self.top + off * self.fall)
    }

    /// The samples of one character.
    pub fn window(&self, strip: &Plane, k: usize) -> Window {
        let (dx, dy) = (self.width / 10.0, self.height / 14.0);
        let (left, top) = self.corner(k);
        let mut window = [0.0; SAMPLES];
        for (s, v) in window.iter_mut().enumerate() {
            let (i, j) = ((s % COLUMNS) as f32, (s / COLUMNS) as f32);
            *v = strip.between(left + (i - 0.5) * dx - 0.5, top + (j - 1.5) * dy - 0.5);
        }
        window
    }

    /// Every character's samples.
    pub fn windows(&self, strip: &Plane) -> Vec<Window> {
        (0..self.n).map(|k| self.window(strip, k)).collect()
    }

    /// One sample a dot. `soft` is the strip with each pixel the mean of its neighbourhood.
    fn quick_window(&self, soft: &Plane, k: usize) -> [f32; QUICK] {
        let (dx, dy) = (self.width / 5.0, self.height / 7.0);
        let (left, top) = self.corner(k);
        let mut window = [0.0; QUICK];
        for (s, v) in window.iter_mut().take(QUICK_COLUMNS * ROWS / 2).enumerate() {
            let (i, j) = ((s % QUICK_COLUMNS) as f32, (s / QUICK_COLUMNS) as f32);
            *v = soft.between(left + (i + 0.5) * dx - 0.5, top + (j - 0.5) * dy - 0.5);
        }
        window
    }

    /// Ink that the likeliest characters account for, in pixels of full ink;
    /// `soft` as for a quick look.
    pub fn accounted(&self, soft: &Plane, look: &Look) -> f32 {
        let area = self.width / 5.0 * (self.height / 7.0);
        let sum: f32 = (0..self.n)
            .map(|k| {
                let window = self.quick_window(soft, k);
                look.templates.iter().skip(1).map(|t| gained(dot(&window, &t.quick), t.quick_power)).fold(0.0, f32::max)
            })
            .sum();
        sum * area
    }

    /// The same places once the strip is turned over or mirrored.
    pub fn seen(mut self, strip: &Plane, over: bool, mirrored: bool) -> Self {
        if over {
            self.top = strip.h as f32 - self.top - self.height;
        }
        if over != mirrored {
            self.x = strip.w as f32 - self.x - (self.n - 1) as f32 * self.pitch - self.width;
        }
        if mirrored {
            self.fall = -self.fall;
        }
        self
    }

    /// The grid moved to account for more ink; `soft` as for a quick look.
    pub fn fitted(self, soft: &Plane, look: &Look) -> (Self, f32) {
        self.climbed(&[1.6, 0.8, 0.4], |grid| grid.accounted(soft, look))
    }

    /// The grid moved to where characters that are known fit best: for each
    /// place its shape, if known.
    pub fn settled(self, strip: &Plane, known: &[Option<&Template>]) -> Self {
        let fit = |grid: &Self| {
            let area = grid.width * grid.height;
            let shapes = known.iter().enumerate().filter_map(|(k, shape)| Some((k, (*shape)?)));
            area * shapes.map(|(k, shape)| explained(&grid.window(strip, k), &shape.samples, shape.power)).sum::<f32>()
        };
        self.climbed(&[0.8, 0.4, 0.2], fit).0
    }

    /// The grid moved to a higher score, step by step.
    fn climbed(mut self, steps: &[f32], score_of: impl Fn(&Self) -> f32) -> (Self, f32) {
        let mut best = score_of(&self);
        let moves: [fn(&mut Self, f32); 6] = [
            |g, d| g.x += d,
            |g, d| {
                // Around the middle of the line.
                g.pitch += 0.12 * d;
                g.x -= 0.12 * d * g.n as f32 / 2.0;
            },
            |g, d| g.top += d,
            |g, d| g.fall += 0.08 * d,
            |g, d| {
                g.height += d;
                g.top -= d / 2.0;
            },
            |g, d| {
                g.width += d;
                g.x -= d / 2.0;
            },
        ];
        for &step in steps {
            for _ in 0..3 {
                let before = best;
                for change in &moves {
                    for d in [step, -step] {
                        let mut moved = self;
                        change(&mut moved, d);
                        if !moved.is_sane() {
                            continue;
                        }
                        let score = score_of(&moved);
                        if score > best {
                            (self, best) = (moved, score);
                            break;
                        }
                    }
                }
                if best <= before * 1.001 {
                    break;
                }
            }
        }
        (self, best)
    }

    fn is_sane(&self) -> bool {
        (17.0..40.0).contains(&self.height)
            && (0.45..0.98).contains(&(self.width / self.height))
            && (1.1..1.75).contains(&(self.pitch / self.width))
    }

    /// The grid with blanks before and after, as far as the strip goes.
    pub fn widened(mut self, strip: &Plane, by: usize) -> Self {
        for _ in 0..by {
            // The middle of the line, where its height is told, moves by half a place.
            if self.x - self.pitch > 0.0 {
                self.x -= self.pitch;
                self.top -= 0.5 * self.fall;
                self.n += 1;
            }
            if self.x + (self.n + 1) as f32 * self.pitch < strip.w as f32 {
                self.top += 0.5 * self.fall;
                self.n += 1;
            }
        }
        self
    }
}

/// How much of the window's power a shape accounts for, at the best strength
/// that ink can have.
pub(super) fn explained(window: &Window, shape: &Window, power: f32) -> f32 {
    gained(dot(window, shape), power)
}

/// The same from the product of window and shape.
fn gained(product: f32, power: f32) -> f32 {
    if product <= 0.0 {
        return 0.0;
    }
    let a = (product / power).clamp(0.6, 1.5);
    (2.0 * product - a * power) * a
}

/// Power of the ink in the strip's middle, to compare with what is accounted for.
pub(super) fn power(strip: &Plane, grid: &Grid) -> f32 {
    let rows = (grid.top - 3.0).max(0.0) as usize..((grid.top + grid.height + 3.0) as usize).min(strip.h);
    let columns = (grid.x - 4.0).max(0.0) as usize..((grid.x + grid.n as f32 * grid.pitch) as usize).min(strip.w);
    rows.map(|y| strip.data[y * strip.w..][columns.clone()].iter().map(|v| v * v).sum::<f32>()).sum()
}

/// Grids suggested, at most.
const SUGGESTED: usize = 10;

/// Grids that the ink suggests: at equal distances there are gaps.
pub(super) fn suggested(strip: &Plane) -> Vec<Grid> {
    let ink = |v: f32| v.clamp(0.0, 1.2);
    // The ends of the strip are only looked at later.
    let (from, to) = (MARGIN as usize - 12, strip.w - MARGIN as usize + 12);
    let rows: Vec<f32> =
        (0..strip.h).map(|y| strip.data[y * strip.w + from..y * strip.w + to].iter().map(|v| ink(*v)).sum()).collect();
    let Some((top, height)) = band(&rows) else { return Vec::new() };
    let columns: Vec<f32> = (0..strip.w)
        .map(|x| (top as usize..(top + height).ceil() as usize).map(|y| ink(strip.at(x, y))).sum::<f32>() / height)
        .collect();
    let mean = columns[from..to].iter().sum::<f32>() / (to - from) as f32;
    let is_ink = |x: &usize| columns[*x] > 0.6 * mean.max(0.05);
    let Some(first) = (from..to).find(is_ink) else { return Vec::new() };
    let last = (from..to).rev().find(is_ink).unwrap_or(first);
    // Ink up to each column, for means over stretches.
    let mut sums = vec![0.0];
    for c in &columns {
        sums.push(sums[sums.len() - 1] + c);
    }
    let mean = |a: f32, b: f32| {
        let (a, b) = (a.max(0.0) as usize, (b.max(0.0) as usize).min(columns.len()));
        if b > a { (sums[b] - sums[a]) / (b - a) as f32 } else { 0.0 }
    };
    let mut scored: Vec<(f32, f32, f32)> = Vec::new();
    let mut pitch = 0.58 * height;
    while pitch < 1.25 * height {
        let mut phase = 0.0;
        while phase < pitch {
            // How much less ink stands in the gaps than between them. Many
            // gaps that are a little lighter say more than a few.
            let (mut sum, mut n) = (0.0, 0.0);
            let mut x = phase;
            while x < last as f32 {
                if x > first as f32 - pitch / 2.0 {
                    sum += mean(x, x + pitch) - mean(x - 1.0, x + 2.0);
                    n += 1.0;
                }
                x += pitch;
            }
            if n >= 3.0 {
                scored.push((sum / f32::sqrt(n), pitch, phase));
            }
            phase += 1.0;
        }
        pitch += 0.012 * height;
    }
    scored.sort_by(|a, b| b.0.total_cmp(&a.0));
    scored.truncate(400);
    let mut grids: Vec<Grid> = Vec::new();
    for (_, pitch, gap) in scored {
        let width = pitch * 5.0 / 6.0;
        let first_gap = gap + ((first as f32 - gap) / pitch).floor() * pitch;
        let x = first_gap + (pitch - width) / 2.0;
        let n = (((last as f32 - first_gap) / pitch).ceil() as usize).max(1);
        let new = |g: &Grid| (g.pitch - pitch).abs() > 0.03 * pitch || (g.x - x).abs() > 2.0;
        if grids.iter().all(new) {
            grids.push(Grid { x, pitch, width, top, fall: 0.0, height, n });
        }
        if grids.len() == SUGGESTED {
            break;
        }
    }
    grids
}

/// The band of rows that holds the ink: its top and its height.
fn band(rows: &[f32]) -> Option<(f32, f32)> {
    let smooth: Vec<f32> = (0..rows.len())
        .map(|i| {
            let (a, b) = (i.saturating_sub(1), (i + 2).min(rows.len()));
            rows[a..b].iter().sum::<f32>() / (b - a) as f32
        })
        .collect();
    let middle = rows.len() / 2;
    let floor = quantile(&mut smooth.clone(), 0.1);
    let peak = quantile(&mut smooth[middle - 12..middle + 12].to_vec(), 0.7);
    let threshold = floor + 0.4 * (peak - floor);
    // From the middle outwards, over gaps of a row or two.
    let reach = |step: i32| {
        let (mut last, mut y) = (middle as i32, middle as i32);
        while (0..rows.len() as i32).contains(&y) && (y - last).abs() <= 4 {
            if smooth[y as usize] > threshold {
                last = y;
            }
            y += step;
        }
        last as f32
    };
    let (top, low) = (reach(-1), reach(1) + 1.0);
    let height = low - top;
    (peak > floor && (14.0..48.0).contains(&height)).then(|| {
        let h = height.clamp(20.0, 38.0);
        (top + (height - h) / 2.0, h)
    })
}
