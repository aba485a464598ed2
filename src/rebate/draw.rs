//! Draws film edges for the tests: codes and prints with grain, blur,
//! halation, tilt and uneven exposure. Everything follows from a seed.

use image::{GrayImage, Luma, imageops};

/// Random numbers from a seed (splitmix64, public domain, S. Vigna).
pub(super) struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Evenly between two numbers.
    pub fn between(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A whole number below `n`.
    pub fn below(&mut self, n: usize) -> usize {
        (self.between(0.0, n as f64) as usize).min(n - 1)
    }

    /// One of a list.
    pub fn of<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[self.below(list.len())]
    }

    /// Normal with a spread of one (sum of twelve).
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.between(0.0, 1.0)).sum::<f64>() - 6.0
    }
}

/// A picture turned clockwise by quarters, then mirrored.
pub(super) fn turned(picture: &GrayImage, quarters: u8, mirrored: bool) -> GrayImage {
    let turned = match quarters % 4 {
        0 => picture.clone(),
        1 => imageops::rotate90(picture),
        2 => imageops::rotate180(picture),
        _ => imageops::rotate270(picture),
    };
    if mirrored { imageops::flip_horizontal(&turned) } else { turned }
}

/// The same with light and dark exchanged.
pub(super) fn inverted(picture: &GrayImage) -> GrayImage {
    let mut picture = picture.clone();
    imageops::invert(&mut picture);
    picture
}

/// A strip of negative film with codes: `(data bits, start in modules)`. Light
/// ground, dark bars; the picture area above, the film's edge below.
pub(super) fn code_strip(codes: &[(Vec<bool>, f64)], module: f64, width: u32, height: u32) -> GrayImage {
    let mut strip = GrayImage::from_pixel(width, height, Luma([205]));
    let track = (3.0 * module).round() as u32;
    let below = (1.5 * module).round() as u32;
    let data_top = height - below - track;
    for (data, start) in codes {
        for (bits, top) in [(super::edge_code::clock(data.len()), data_top - track), (data.clone(), data_top)] {
            for (i, _) in bits.iter().enumerate().filter(|(_, b)| **b) {
                let from = ((start + i as f64) * module).round() as u32;
                let to = ((start + i as f64 + 1.0) * module).round() as u32;
                for x in from..to.min(width) {
                    for y in top..top + track {
                        strip.put_pixel(x, y, Luma([55]));
                    }
                }
            }
        }
    }
    strip
}

/// Blur (spread in pixels) and grain (spread in levels) on a picture.
pub(super) fn worn(picture: &GrayImage, blur: f64, grain: f64, dice: &mut Dice) -> GrayImage {
    let mut worn = if blur > 0.0 { imageops::blur(picture, blur as f32) } else { picture.clone() };
    for p in worn.pixels_mut() {
        p.0[0] = (f64::from(p.0[0]) + grain * dice.normal()).round().clamp(0.0, 255.0) as u8;
    }
    worn
}
