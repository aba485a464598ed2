//! Film codes found in a picture that shows the edge of 135 film: any way up,
//! mirrored, negative or positive.
//!
//! zxing-cpp finds the codes; it wants the clock above the data, dark bars on a
//! light ground, and can take a code for another read backwards. So it is given
//! the picture turned four ways and in both polarities, and every find is
//! looked at again here: the clock tells the direction, the data are read anew.

use image::{GrayImage, Luma, imageops};
use imageproc::geometric_transformations::{Border, Interpolation, rotate_about_center};
use zxingcpp::{BarcodeFormat, BarcodeReader, ImageFormat, ImageView};

use super::edge_code::{EdgeNumber, LONG, SHORT, clock, decode, parse};

/// Longest side that is looked at, pixels: a strip of six frames still has
/// five pixels a module.
const LONGEST_SIDE: u32 = 4000;

/// Degrees that a picture is turned by when nothing is seen in it as it lies.
const TILT: f32 = 3.5;

/// One sight of a code.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sight {
    pub code: EdgeNumber,
    /// Centre in the picture, fractions of its width and height.
    pub centre: (f64, f64),
    /// Unit vector of the reading direction in the picture, in its pixels.
    pub direction: (f64, f64),
    /// Length of the code, pixels of the picture.
    pub length: f64,
    pub mirrored: bool,
    pub negative: bool,
    /// Whether the second look confirmed it.
    pub confirmed: bool,
}

/// Every code that can be seen, each once.
pub(super) fn sights(picture: &GrayImage) -> Vec<Sight> {
    let (w, h) = picture.dimensions();
    if w < SHORT as u32 || h < 4 {
        return Vec::new();
    }
    let longest = w.max(h);
    let small;
    let picture = if longest > LONGEST_SIDE {
        let scale = |n: u32| (u64::from(n) * u64::from(LONGEST_SIDE) / u64::from(longest)).max(1) as u32;
        small = imageops::thumbnail(picture, scale(w), scale(h));
        &small
    } else {
        picture
    };
    let mut found = looked_at(picture);
    if found.is_empty() {
        found = enhanced(picture).iter().map(looked_at).find(|found| !found.is_empty()).unwrap_or_default();
    }
    // Back to the pixels of the picture given.
    let scale = f64::from(longest) / f64::from(picture.width().max(picture.height()));
    for s in &mut found {
        s.length *= scale;
    }
    found
}

/// Every code in a picture as it is. Lengths are in its pixels.
fn looked_at(picture: &GrayImage) -> Vec<Sight> {
    let mut found: Vec<Sight> = Vec::new();
    for negative in [true, false] {
        for quarter in 0..4 {
            let view = View::new(picture, quarter, !negative);
            for sight in view.read() {
                add(&mut found, Sight { negative, ..sight }, picture.dimensions());
            }
        }
    }
    found
}

/// The picture in ways that show a code which is not seen in it as it is: the contrast of its surroundings drawn out;
/// turned by some degrees, as a strip may lie. The places of codes move little, their lengths not at all.
fn enhanced(picture: &GrayImage) -> Vec<GrayImage> {
    let ground = Luma([quantile(picture, 0.9)]);
    let tilted = |degrees: f32| {
        rotate_about_center(picture, degrees.to_radians(), Interpolation::Bilinear, Border::Constant(ground))
    };
    let mut ways = vec![contrasted(picture)];
    ways.extend([-TILT, TILT].map(tilted));
    ways
}

/// Each tone against those around it, as far as the code is high.
fn contrasted(picture: &GrayImage) -> GrayImage {
    let reach = (picture.width().max(picture.height()) / 60).max(4);
    let around = imageproc::filter::box_filter(picture, reach, reach);
    let mut drawn = picture.clone();
    for (to, mean) in drawn.pixels_mut().zip(around.pixels()) {
        let apart = i32::from(to.0[0]) - i32::from(mean.0[0]);
        to.0[0] = (128 + 3 * apart).clamp(0, 255) as u8;
    }
    drawn
}

/// The tone below which this share of a picture lies.
fn quantile(picture: &GrayImage, share: f64) -> u8 {
    let mut counts = [0_usize; 256];
    picture.as_raw().iter().for_each(|v| counts[usize::from(*v)] += 1);
    let wanted = (share * picture.as_raw().len() as f64) as usize;
    let mut below = 0;
    (0..=255)
        .find(|v| {
            below += counts[usize::from(*v)];
            below > wanted
        })
        .unwrap_or(255)
}

/// Keeps the better of two sights of one place.
fn add(found: &mut Vec<Sight>, sight: Sight, (w, h): (u32, u32)) {
    let near = |a: &Sight| {
        let dx = (a.centre.0 - sight.centre.0) * f64::from(w);
        let dy = (a.centre.1 - sight.centre.1) * f64::from(h);
        dx.hypot(dy) < 0.5 * a.length.min(sight.length)
    };
    match found.iter_mut().find(|a| near(a)) {
        Some(a) if sight.confirmed && !a.confirmed => *a = sight,
        Some(_) => {}
        None => found.push(sight),
    }
}

/// The picture as the reader wants it: turned, dark bars on a light ground,
/// all of it in the lower half of a page, since the reader goes from the
/// middle outwards and must meet the clock first.
struct View {
    page: GrayImage,
    top: u32,
    quarter: u8,
    /// Width and height of the picture before turning.
    size: (u32, u32),
}

impl View {
    fn new(picture: &GrayImage, quarter: u8, invert: bool) -> Self {
        let turned = match quarter {
            0 => picture.clone(),
            1 => imageops::rotate90(picture),
            2 => imageops::rotate180(picture),
            _ => imageops::rotate270(picture),
        };
        let (w, h) = turned.dimensions();
        // A ground of the bars' own light side keeps the quiet zone of a code at the margin.
        let side = w / 16 + 8;
        let mut page = GrayImage::from_pixel(w + 2 * side, 2 * h + 8, Luma([255]));
        let top = h + 4;
        for (x, y, p) in turned.enumerate_pixels() {
            page.put_pixel(x + side, y + top, if invert { Luma([255 - p.0[0]]) } else { *p });
        }
        Self { page, top, quarter, size: picture.dimensions() }
    }

    fn side(&self) -> u32 {
        let w = if self.quarter.is_multiple_of(2) { self.size.0 } else { self.size.1 };
        w / 16 + 8
    }

    fn read(&self) -> Vec<Sight> {
        let reader = BarcodeReader::new()
            .formats(BarcodeFormat::DXFilmEdge)
            .try_harder(true)
            .try_rotate(false)
            .try_invert(false);
        let (w, h) = self.page.dimensions();
        let Ok(view) = ImageView::from_slice(self.page.as_raw(), w, h, ImageFormat::Lum) else { return Vec::new() };
        let Ok(codes) = reader.from(view) else { return Vec::new() };
        codes
            .iter()
            .filter(|c| c.is_valid())
            .filter_map(|c| {
                let p = c.position();
                let xs = [p.top_left.x, p.top_right.x, p.bottom_left.x, p.bottom_right.x];
                let ys = [p.top_left.y, p.top_right.y, p.bottom_left.y, p.bottom_right.y];
                let span =
                    |v: [i32; 4]| (f64::from(*v.iter().min().unwrap_or(&0)), f64::from(*v.iter().max().unwrap_or(&0)));
                self.look_again(parse(&c.text())?, span(xs), span(ys), p.top_left.x > p.top_right.x)
            })
            .collect()
    }

    /// Reads the code between `xs` on the rows `ys` anew, in the direction that
    /// its clock gives.
    fn look_again(&self, read: EdgeNumber, xs: (f64, f64), ys: (f64, f64), reversed: bool) -> Option<Sight> {
        let modules = if read.half_frames.is_some() { LONG } else { SHORT };
        let length = xs.1 - xs.0 + 1.0;
        if length < modules as f64 {
            return None;
        }
        let module = length / modules as f64;
        let middle = 0.5 * (ys.0 + ys.1);
        let mut answer = (read, reversed, false);
        if let Some(backwards) = self.clock_runs_backwards(modules, xs, ys, module) {
            let mut bits = self.bits(modules, xs, middle);
            if backwards {
                bits.reverse();
            }
            match decode(&bits) {
                Some(code) => answer = (code, backwards, true),
                // The clock says that the reader went the wrong way, and the
                // right way gives nothing: no code.
                None if backwards != reversed => return None,
                None => {}
            }
        }
        let (code, backwards, confirmed) = answer;
        let towards = if backwards { -1.0 } else { 1.0 };
        let centre = self.in_picture(0.5 * (xs.0 + xs.1), middle);
        Some(Sight {
            code,
            centre,
            direction: self.turned_back(towards, 0.0),
            length,
            mirrored: backwards,
            negative: false,
            confirmed,
        })
    }

    /// Mean brightness of each module on one row.
    fn modules(&self, n: usize, xs: (f64, f64), y: f64) -> Option<Vec<f64>> {
        let (w, h) = self.page.dimensions();
        if y < 0.0 || y >= f64::from(h) {
            return None;
        }
        let width = (xs.1 - xs.0 + 1.0) / n as f64;
        let values = (0..n)
            .map(|i| {
                // The middle half of the module; its sides belong to the blur.
                let from = xs.0 + (i as f64 + 0.25) * width;
                let count = (width * 0.5).ceil().max(1.0) as u32;
                let sum: u32 = (0..count)
                    .map(|k| {
                        let x = (from + f64::from(k)).clamp(0.0, f64::from(w - 1)) as u32;
                        u32::from(self.page.get_pixel(x, y as u32).0[0])
                    })
                    .sum();
                f64::from(sum) / f64::from(count)
            })
            .collect();
        Some(values)
    }

    /// The data bits at this row and its neighbours; dark is a one.
    fn bits(&self, n: usize, xs: (f64, f64), y: f64) -> Vec<bool> {
        let rows: Vec<Vec<f64>> = (-1..=1).filter_map(|k| self.modules(n, xs, y + f64::from(k))).collect();
        let mean: Vec<f64> =
            (0..n).map(|i| rows.iter().map(|r| r[i]).sum::<f64>() / rows.len().max(1) as f64).collect();
        // Start and stop are the same in every code and both ways round: 10101 … 0101.
        let at = |i: usize| mean[i];
        let ones = (at(0) + at(2) + at(4) + at(n - 1) + at(n - 3)) / 5.0;
        let zeros = (at(1) + at(3) + at(n - 2) + at(n - 4)) / 4.0;
        let threshold = 0.5 * (ones + zeros);
        mean.iter().map(|v| *v < threshold).collect()
    }

    /// Which way the clock above the data runs; none when no clock is seen.
    fn clock_runs_backwards(&self, n: usize, xs: (f64, f64), ys: (f64, f64), module: f64) -> Option<bool> {
        let forward = clock(n);
        // The two modules where a clock and its mirror image differ.
        let (first, second) = (3, n - 4);
        let mut votes = 0.0;
        let mut y = ys.1;
        while y > ys.0 - 10.0 * module {
            for shift in [0.0, -0.35 * module, 0.35 * module] {
                let Some(row) = self.modules(n, (xs.0 + shift, xs.1 + shift), y) else { continue };
                let same = |i: &usize| *i != first && *i != second;
                let dark: Vec<f64> = (0..n).filter(same).filter(|i| forward[*i]).map(|i| row[i]).collect();
                let light: Vec<f64> = (0..n).filter(same).filter(|i| !forward[*i]).map(|i| row[i]).collect();
                let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
                let (d, l) = (mean(&dark), mean(&light));
                let contrast = l - d;
                let threshold = 0.5 * (d + l);
                let wrong =
                    dark.iter().filter(|v| **v >= threshold).count() + light.iter().filter(|v| **v < threshold).count();
                if contrast > 8.0 && wrong == 0 {
                    votes += (row[second] - row[first]) / contrast;
                    break;
                }
            }
            y -= 1.0;
        }
        // Forward: the first is dark and the second light.
        (votes.abs() > 0.5).then_some(votes < 0.0)
    }

    /// A place on the page as fractions of the picture.
    fn in_picture(&self, x: f64, y: f64) -> (f64, f64) {
        let (w, h) = (f64::from(self.size.0), f64::from(self.size.1));
        let (x, y) = (x - f64::from(self.side()), y - f64::from(self.top));
        match self.quarter {
            0 => (x / w, y / h),
            1 => (y / w, 1.0 - x / h),
            2 => (1.0 - x / w, 1.0 - y / h),
            _ => (1.0 - y / w, x / h),
        }
    }

    /// A direction on the page as one in the picture.
    fn turned_back(&self, dx: f64, dy: f64) -> (f64, f64) {
        match self.quarter {
            0 => (dx, dy),
            1 => (dy, -dx),
            2 => (-dx, -dy),
            _ => (-dy, dx),
        }
    }
}
