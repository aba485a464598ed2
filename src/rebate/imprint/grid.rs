//! Where each character of a straightened line stands: all of one width, at
//! equal distances.

use super::plane::{Plane, quantile};
use super::strip::MARGIN;
use super::templates::{COLUMNS, Look, QUICK, QUICK_COLUMNS, ROWS, SAMPLES, dot};

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
    /// Upper side.
    pub top: f32,
    /// Height of seven dots.
    pub height: f32,
    /// How many.
    pub n: usize,
}

impl Grid {
    /// The samples of one character.
    pub fn window(&self, strip: &Plane, k: usize) -> Window {
        let (dx, dy) = (self.width / 10.0, self.height / 14.0);
        let left = self.x + k as f32 * self.pitch;
        let mut window = [0.0; SAMPLES];
        for (s, v) in window.iter_mut().enumerate() {
            let (i, j) = ((s % COLUMNS) as f32, (s / COLUMNS) as f32);
            *v = strip.between(left + (i - 0.5) * dx - 0.5, self.top + (j - 1.5) * dy - 0.5);
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
        let left = self.x + k as f32 * self.pitch;
        let mut window = [0.0; QUICK];
        for (s, v) in window.iter_mut().take(QUICK_COLUMNS * ROWS / 2).enumerate() {
            let (i, j) = ((s % QUICK_COLUMNS) as f32, (s / QUICK_COLUMNS) as f32);
            *v = soft.between(left + (i + 0.5) * dx - 0.5, self.top + (j - 0.5) * dy - 0.5);
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
        self
    }

    /// The grid moved to account for more ink, step by step.
    pub fn fitted(mut self, strip: &Plane, look: &Look) -> (Self, f32) {
        let mut best = self.accounted(strip, look);
        let moves: [fn(&mut Self, f32); 5] = [
            |g, d| g.x += d,
            |g, d| {
                // Around the middle of the line.
                g.pitch += 0.12 * d;
                g.x -= 0.12 * d * g.n as f32 / 2.0;
            },
            |g, d| g.top += d,
            |g, d| {
                g.height += d;
                g.top -= d / 2.0;
            },
            |g, d| {
                g.width += d;
                g.x -= d / 2.0;
            },
        ];
        for step in [1.6, 0.8, 0.4] {
            for _ in 0..3 {
                let before = best;
                for change in &moves {
                    for d in [step, -step] {
                        let mut moved = self;
                        change(&mut moved, d);
                        if !moved.is_sane() {
                            continue;
                        }
                        let score = moved.accounted(strip, look);
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
            && (1.02..1.75).contains(&(self.pitch / self.width))
    }

    /// The grid with blanks before and after, as far as the strip goes.
    pub fn widened(mut self, strip: &Plane, by: usize) -> Self {
        for _ in 0..by {
            if self.x - self.pitch > 0.0 {
                self.x -= self.pitch;
                self.n += 1;
            }
            if self.x + (self.n + 1) as f32 * self.pitch < strip.w as f32 {
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
    let mut scored: Vec<(f32, f32, f32)> = Vec::new();
    let mut pitch = 0.58 * height;
    while pitch < 1.25 * height {
        let mut phase = 0.0;
        while phase < pitch {
            let (mut sum, mut n) = (0.0, 0.0);
            let mut x = phase;
            while x < last as f32 {
                if x > first as f32 - pitch / 2.0 {
                    let i = x as usize;
                    let (a, b) = (i.saturating_sub(1), (i + 2).min(columns.len()));
                    sum += columns[a..b].iter().sum::<f32>() / (b - a) as f32;
                    n += 1.0;
                }
                x += pitch;
            }
            if n >= 3.0 {
                scored.push((sum / n, pitch, phase));
            }
            phase += 1.0;
        }
        pitch += 0.012 * height;
    }
    scored.sort_by(|a, b| a.0.total_cmp(&b.0));
    scored.truncate(400);
    let mut grids: Vec<Grid> = Vec::new();
    for (_, pitch, gap) in scored {
        let width = pitch * 5.0 / 6.0;
        let first_gap = gap + ((first as f32 - gap) / pitch).floor() * pitch;
        let x = first_gap + (pitch - width) / 2.0;
        let n = (((last as f32 - first_gap) / pitch).ceil() as usize).max(1);
        let new = |g: &Grid| (g.pitch - pitch).abs() > 0.03 * pitch || (g.x - x).abs() > 2.0;
        if grids.iter().all(new) {
            grids.push(Grid { x, pitch, width, top, height, n });
        }
        if grids.len() == 6 {
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
