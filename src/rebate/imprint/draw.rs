//! Draws pictures of film edges with the camera's print on them, for the tests
//! and for `scripts/make-imprints`. Everything follows from a seed.

use image::{GrayImage, Luma};
use imageproc::geometric_transformations::{Border, Interpolation, rotate_about_center};

use super::glyphs::{Face, point_covers};
use crate::rebate::draw::{Dice, inverted, turned};

/// How bad the picture is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::rebate) enum Level {
    Clean,
    Middle,
    Hard,
}

impl Level {
    pub const ALL: [Self; 3] = [Self::Clean, Self::Middle, Self::Hard];

    pub fn name(self) -> &'static str {
        match self {
            Self::Clean => "clean",
            Self::Middle => "middle",
            Self::Hard => "hard",
        }
    }

    /// How far the film's curl moves a line up and down, in dots.
    fn curl(self) -> f64 {
        match self {
            Self::Clean => 0.0,
            Self::Middle => 0.3,
            Self::Hard => 0.6,
        }
    }

    fn wear(self, dice: &mut Dice) -> Wear {
        match self {
            Self::Clean => Wear {
                dot: dice.between(4.0, 7.0),
                blur: dice.between(0.2, 0.35),
                halation: 0.0,
                grain: dice.between(1.0, 4.0),
                contrast: dice.between(110.0, 160.0),
                uneven: 0.05,
                slope: 5.0,
                tilt: dice.between(-0.4, 0.4),
                dim: 0.05,
                lost: 0.0,
                dust: 0,
            },
            Self::Middle => Wear {
                dot: dice.between(3.2, 6.0),
                blur: dice.between(0.4, 0.65),
                halation: dice.between(0.1, 0.25),
                grain: dice.between(7.0, 12.0),
                contrast: dice.between(90.0, 130.0),
                uneven: 0.2,
                slope: 25.0,
                tilt: dice.between(-1.5, 1.5),
                dim: 0.12,
                lost: 0.002,
                dust: 3,
            },
            Self::Hard => Wear {
                dot: dice.between(3.0, 5.0),
                blur: dice.between(0.5, 0.8),
                halation: dice.between(0.2, 0.4),
                grain: dice.between(12.0, 18.0),
                contrast: dice.between(80.0, 110.0),
                uneven: 0.3,
                slope: 30.0,
                tilt: dice.between(-3.0, 3.0),
                dim: 0.2,
                lost: 0.015,
                dust: 10,
            },
        }
    }
}

struct Wear {
    /// Pixels from dot to dot.
    dot: f64,
    /// Spread of the blur, dots.
    blur: f64,
    /// Light thrown around, share of the ink.
    halation: f64,
    /// Spread of the grain, levels.
    grain: f64,
    /// Levels between ground and ink.
    contrast: f64,
    /// How far the ink's strength swings along the strip, share.
    uneven: f64,
    /// How far the ground's brightness swings along the strip, levels.
    slope: f64,
    /// Degrees.
    tilt: f64,
    /// Spread of the dots' strength, share.
    dim: f64,
    /// Share of dots that are missing.
    lost: f64,
    /// Specks a frame.
    dust: usize,
}

/// A picture and how it lies.
pub(in crate::rebate) struct Scene {
    pub picture: GrayImage,
    pub negative: bool,
    pub mirrored: bool,
    /// Quarter turns clockwise that it was given before it was mirrored.
    pub quarters: u8,
}

/// A strip of frames, each with its line in the rebate below it.
pub(in crate::rebate) fn scene(lines: &[String], face: Face, level: Level, dice: &mut Dice) -> Scene {
    let wear = level.wear(dice);
    let curl = if face.is_held() { level.curl() } else { 0.0 };
    let strip = strip(lines, face, &wear, curl, dice);
    let (negative, mirrored, quarters) = (dice.below(2) == 0, dice.below(4) == 0, dice.below(4) as u8);
    let lying = turned(&strip, quarters, mirrored);
    let picture = if negative { lying } else { inverted(&lying) };
    Scene { picture, negative, mirrored, quarters }
}

fn strip(lines: &[String], face: Face, wear: &Wear, curl: f64, dice: &mut Dice) -> GrayImage {
    let dot = wear.dot;
    let longest = lines.iter().map(String::len).max().unwrap_or(1) as f64;
    let gap = if face.is_segments() { dice.between(1.6, 2.2) } else { dice.between(0.9, 1.4) };
    let stretch = dice.between(0.85, 1.05);
    let pitch = (5.0 + gap) * dot * stretch;
    let frame = (longest * pitch * dice.between(1.25, 1.6)).max(60.0 * dot);
    let (picture_h, band) = (40.0 * dot, 20.0 * dot);
    let (w, h) = ((frame * lines.len() as f64) as usize, (picture_h + band + 4.0 * dot) as usize);

    let mut ink = vec![0.0_f64; w * h];
    for (i, line) in lines.iter().enumerate() {
        let room = frame - longest * pitch;
        let left = frame * i as f64 + room * dice.between(0.1, 0.6);
        let top = picture_h + 4.0 * dot + dice.between(2.0, 7.0) * dot;
        write(&mut ink, (w, h), line, face, (left, top), (dot * stretch, dot, pitch), wear, dice);
    }
    let glow = blurred(&ink, w, h, 2.2 * dot);
    let sharp = blurred(&ink, w, h, wear.blur * dot);
    let phase = dice.between(0.0, 6.3);
    let base = dice.between(175.0, 205.0);
    let mut levels = vec![0.0_f64; w * h];
    for y in 0..h {
        for x in 0..w {
            let swing = (x as f64 / frame * 1.9 + phase).sin();
            let strength = wear.contrast * (1.0 + wear.uneven * swing);
            let at = y * w + x;
            let darkness = (sharp[at] + wear.halation * glow[at]) * strength;
            levels[at] = base + wear.slope * (x as f64 / frame * 1.1 - phase).cos() - darkness;
        }
    }
    for i in 0..lines.len() {
        let x0 = (frame * (i as f64 + 0.04)) as usize;
        let x1 = (frame * (i as f64 + 0.96)) as usize;
        view(&mut levels, w, (x0, x1), (2, picture_h as usize), dice);
    }
    for _ in 0..wear.dust * lines.len() {
        let (x, y, r) = (dice.between(0.0, w as f64), dice.between(0.0, h as f64), dice.between(0.3, 0.8) * dot);
        let level = dice.between(60.0, 250.0);
        for j in (y - r).max(0.0) as usize..((y + r) as usize).min(h) {
            for i in (x - r).max(0.0) as usize..((x + r) as usize).min(w) {
                levels[j * w + i] = level;
            }
        }
    }
    let soft = blurred(&levels, w, h, 0.6);
    let tilt = (wear.tilt.to_radians()) as f32;
    // The scan reaches as far as the tilted strip does.
    let rise = (0.5 * w as f32 * tilt.sin().abs()) as usize;
    let picture = GrayImage::from_fn(w as u32, (h + 2 * rise) as u32, |x, y| {
        // Film that is not flat bends the line: highest in the middle of each frame.
        let bend = curl * dot * (std::f64::consts::TAU * f64::from(x) / frame).cos();
        let y = f64::from(y) - rise as f64 - bend;
        let (above, part) = (y.floor(), y - y.floor());
        let at = |y: f64| if (0.0..h as f64).contains(&y) { soft[y as usize * w + x as usize] } else { base };
        let level = at(above) * (1.0 - part) + at(above + 1.0) * part;
        Luma([level.round().clamp(0.0, 255.0) as u8])
    });
    let mut picture =
        rotate_about_center(&picture, tilt, Interpolation::Bilinear, Border::Constant(Luma([base.min(255.0) as u8])));
    for p in picture.pixels_mut() {
        p.0[0] = (f64::from(p.0[0]) + wear.grain * dice.normal()).round().clamp(0.0, 255.0) as u8;
    }
    picture
}

/// Writes a line of characters as ink.
#[expect(clippy::too_many_arguments, reason = "a drawing takes what it takes")]
fn write(
    ink: &mut [f64],
    (w, h): (usize, usize),
    line: &str,
    face: Face,
    (left, top): (f64, f64),
    (dx, dy, pitch): (f64, f64, f64),
    wear: &Wear,
    dice: &mut Dice,
) {
    let size = dice.between(0.36, 0.5) as f32;
    let mut place = -1.0;
    for c in line.chars() {
        let pointed = c == '.' && face.is_segments();
        if !pointed {
            place += 1.0;
        }
        let strengths: Vec<f64> = (0..63)
            .map(|_| if dice.between(0.0, 1.0) < wear.lost { 0.0 } else { (1.0 + wear.dim * dice.normal()).max(0.2) })
            .collect();
        let Some(shape) = (if pointed { face.ink(' ') } else { face.ink(c) }) else {
            panic!("{face:?} cannot show '{c}'")
        };
        let x0 = left + place * pitch;
        let (from, to) = ((x0 - 2.0 * dx).max(0.0) as usize, ((x0 + 8.0 * dx) as usize).min(w));
        for y in (top - dy).max(0.0) as usize..((top + 9.0 * dy) as usize).min(h) {
            for x in from..to {
                let mut covered = 0.0;
                for (sx, sy) in [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)] {
                    let u = (x as f64 + sx - x0) / dx;
                    let v = (y as f64 + sy - top) / dy;
                    let inside =
                        if pointed { point_covers(u as f32, v as f32) } else { shape.covers(u as f32, v as f32, size) };
                    if inside {
                        let cell = (u.clamp(0.0, 8.0) as usize) + 9 * (v.clamp(0.0, 6.9) as usize);
                        covered += 0.25 * strengths[cell.min(62)];
                    }
                }
                let at = y * w + x;
                ink[at] = f64::max(ink[at], covered);
            }
        }
    }
}

/// Something that looks like a picture: tones, shapes, edges.
fn view(levels: &mut [f64], w: usize, (x0, x1): (usize, usize), (y0, y1): (usize, usize), dice: &mut Dice) {
    let (a, b, c) = (dice.between(40.0, 170.0), dice.between(-60.0, 60.0), dice.between(-60.0, 60.0));
    let shapes: Vec<[f64; 6]> = (0..12)
        .map(|_| {
            [
                dice.between(0.0, 1.0),
                dice.between(0.0, 1.0),
                dice.between(0.02, 0.3),
                dice.between(0.02, 0.3),
                dice.between(25.0, 200.0),
                dice.between(0.0, 2.0),
            ]
        })
        .collect();
    for y in y0..y1 {
        for x in x0..x1.min(w) {
            let (u, v) = ((x - x0) as f64 / (x1 - x0) as f64, (y - y0) as f64 / (y1 - y0) as f64);
            let mut level = a + b * u + c * v;
            for [sx, sy, rx, ry, tone, kind] in &shapes {
                let (p, q) = ((u - sx) / rx, (v - sy) / ry);
                let inside = if *kind < 1.0 { p.abs() < 1.0 && q.abs() < 1.0 } else { p * p + q * q < 1.0 };
                if inside {
                    level = *tone + 10.0 * p;
                }
            }
            levels[y * w + x] = level.clamp(15.0, 235.0);
        }
    }
}

/// Gaussian blur of this spread in pixels.
fn blurred(from: &[f64], w: usize, h: usize, spread: f64) -> Vec<f64> {
    let reach = (3.0 * spread).ceil() as usize;
    let kernel: Vec<f64> =
        (0..=2 * reach).map(|k| (-0.5 * ((k as f64 - reach as f64) / spread).powi(2)).exp()).collect();
    let sum: f64 = kernel.iter().sum();
    let mut across = vec![0.0; from.len()];
    for y in 0..h {
        for x in 0..w {
            let mut total = 0.0;
            for (k, weight) in kernel.iter().enumerate() {
                let i = (x + k).saturating_sub(reach).min(w - 1);
                total += weight * from[y * w + i];
            }
            across[y * w + x] = total / sum;
        }
    }
    let mut both = vec![0.0; from.len()];
    for y in 0..h {
        for (k, weight) in kernel.iter().enumerate() {
            let j = (y + k).saturating_sub(reach).min(h - 1);
            for x in 0..w {
                both[y * w + x] += weight / sum * across[j * w + x];
            }
        }
    }
    both
}
