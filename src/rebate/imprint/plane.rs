//! A picture as brightness, with the few operations that reading it needs.

use image::GrayImage;

/// Brightness, row by row.
#[derive(Debug, Clone)]
pub(super) struct Plane {
    pub w: usize,
    pub h: usize,
    pub data: Vec<f32>,
}

impl Plane {
    pub fn of(picture: &GrayImage) -> Self {
        let data = picture.as_raw().iter().map(|v| f32::from(*v)).collect();
        Self { w: picture.width() as usize, h: picture.height() as usize, data }
    }

    pub fn at(&self, x: usize, y: usize) -> f32 {
        self.data[y * self.w + x]
    }

    /// Rows `top..low`, as far as there are.
    pub fn rows(&self, top: usize, low: usize) -> Self {
        let top = top.min(self.h - 1);
        let low = low.clamp(top + 1, self.h);
        Self { w: self.w, h: low - top, data: self.data[top * self.w..low * self.w].to_vec() }
    }

    /// Turned a quarter clockwise.
    pub fn turned(&self) -> Self {
        let mut data = Vec::with_capacity(self.data.len());
        for x in 0..self.w {
            for y in (0..self.h).rev() {
                data.push(self.at(x, y));
            }
        }
        Self { w: self.h, h: self.w, data }
    }

    /// Between the pixels; the margin's value beyond it. Pixel centres lie at
    /// whole numbers.
    pub fn between(&self, x: f32, y: f32) -> f32 {
        let x = x.clamp(0.0, (self.w - 1) as f32);
        let y = y.clamp(0.0, (self.h - 1) as f32);
        let (i, j) = (x as usize, y as usize);
        let (fx, fy) = (x - i as f32, y - j as f32);
        let (i1, j1) = ((i + 1).min(self.w - 1), (j + 1).min(self.h - 1));
        let top = self.at(i, j) * (1.0 - fx) + self.at(i1, j) * fx;
        let low = self.at(i, j1) * (1.0 - fx) + self.at(i1, j1) * fx;
        top * (1.0 - fy) + low * fy
    }

    /// Made smaller by a factor of 1 or more, each pixel the mean of what it covers.
    pub fn smaller(&self, factor: f32) -> Self {
        if factor <= 1.001 {
            return self.clone();
        }
        let w = ((self.w as f32 / factor) as usize).max(1);
        let h = ((self.h as f32 / factor) as usize).max(1);
        let sums = Sums::of(self);
        let edge = |i: usize, n: usize| ((i as f32 * factor).round() as usize).min(n);
        let mut data = Vec::with_capacity(w * h);
        for y in 0..h {
            let (y0, y1) = (edge(y, self.h - 1), edge(y + 1, self.h).max(edge(y, self.h - 1) + 1));
            for x in 0..w {
                let (x0, x1) = (edge(x, self.w - 1), edge(x + 1, self.w).max(edge(x, self.w - 1) + 1));
                data.push(sums.mean(x0, y0, x1, y1));
            }
        }
        Self { w, h, data }
    }

    /// Mean over a box of this half width and height around each pixel.
    pub fn boxed(&self, rx: usize, ry: usize) -> Self {
        let (w, h) = (self.w, self.h);
        let mut across = vec![0.0; self.data.len()];
        for y in 0..h {
            let row = &self.data[y * w..(y + 1) * w];
            let mut sum: f32 = row[..rx.min(w)].iter().sum();
            for x in 0..w {
                if x + rx < w {
                    sum += row[x + rx];
                }
                if x > rx {
                    sum -= row[x - rx - 1];
                }
                across[y * w + x] = sum / ((x + rx + 1).min(w) - x.saturating_sub(rx)) as f32;
            }
        }
        let mut data = vec![0.0; self.data.len()];
        let mut sums = vec![0.0_f32; w];
        for y in 0..ry.min(h) {
            for (s, v) in sums.iter_mut().zip(&across[y * w..]) {
                *s += v;
            }
        }
        for y in 0..h {
            if y + ry < h {
                for (s, v) in sums.iter_mut().zip(&across[(y + ry) * w..]) {
                    *s += v;
                }
            }
            if y > ry {
                for (s, v) in sums.iter_mut().zip(&across[(y - ry - 1) * w..]) {
                    *s -= v;
                }
            }
            let n = ((y + ry + 1).min(h) - y.saturating_sub(ry)) as f32;
            for (to, s) in data[y * w..].iter_mut().zip(&sums) {
                *to = s / n;
            }
        }
        Self { w, h, data }
    }
}

/// Sums over rectangles.
struct Sums {
    w: usize,
    data: Vec<f64>,
}

impl Sums {
    fn of(plane: &Plane) -> Self {
        let w = plane.w + 1;
        let mut data = vec![0.0; w * (plane.h + 1)];
        for y in 0..plane.h {
            let mut row = 0.0;
            for x in 0..plane.w {
                row += f64::from(plane.at(x, y));
                data[(y + 1) * w + x + 1] = data[y * w + x + 1] + row;
            }
        }
        Self { w, data }
    }

    /// Mean over columns `x0..x1` and rows `y0..y1`.
    fn mean(&self, x0: usize, y0: usize, x1: usize, y1: usize) -> f32 {
        let at = |x: usize, y: usize| self.data[y * self.w + x];
        let sum = at(x1, y1) - at(x0, y1) - at(x1, y0) + at(x0, y0);
        (sum / ((x1 - x0) * (y1 - y0)) as f64) as f32
    }
}

/// The value that the share `q` of the list lies below. Reorders the list.
pub(super) fn quantile(list: &mut [f32], q: f32) -> f32 {
    if list.is_empty() {
        return 0.0;
    }
    let at = ((list.len() - 1) as f32 * q).round() as usize;
    *list.select_nth_unstable_by(at, f32::total_cmp).1
}
