//! A TIFF made small while it is read, a strip or tile at a time, so that its size does not matter; with the kinds
//! that few programs read: palettes, CIE L\*a\*b\*, 32 bits and floating point.
//!
//! Sources: TIFF 6.0 (photometric interpretations, `ColorMap`, section 23 for L\*a\*b\*) and Adobe's technical note
//! on ICC L\*a\*b\* from memory; CIE 15 for L\*a\*b\* to XYZ; IEC 61966-2-1 for sRGB, from memory.

use std::io::{Read, Seek, SeekFrom};

use image::metadata::Orientation;
use image::{DynamicImage, ImageBuffer};
use tiff::decoder::{ChunkType, Decoder, DecodingResult, Limits};
use tiff::tags::Tag;
use tiff::{ColorType, TiffError};

use super::ThumbnailError;

/// A strip or tile may take so many bytes.
const LARGEST_CHUNK: usize = 1 << 28;
/// The small picture may have so many samples.
const LARGEST_SMALL: usize = 1 << 27;

/// A picture made small.
pub(super) struct Small {
    pub picture: DynamicImage,
    pub orientation: Orientation,
    /// Some of it could not be read and is black.
    pub in_part: bool,
}

/// What the samples of a pixel are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Space {
    Grey,
    Rgb,
    Cmyk,
    Palette,
    /// L\*, a\* and b\* with their signs, or moved up so that they have none.
    Lab {
        moved: bool,
    },
}

/// A TIFF, reduced by a whole number so that its longer edge stays at or above `edge`. `None` when its kind is not
/// read here.
pub(super) fn small(mut from: impl Read + Seek, edge: u32) -> Result<Option<Small>, ThumbnailError> {
    let Some((space, patch)) = space(&mut from) else { return Ok(None) };
    let mut limits = Limits::default();
    (limits.decoding_buffer_size, limits.intermediate_buffer_size) = (LARGEST_CHUNK, LARGEST_CHUNK);
    from.rewind().map_err(|e| ThumbnailError::Broken(e.to_string()))?;
    let mut decoder = match Decoder::new(Patched { from, patch }) {
        Ok(decoder) => decoder.with_limits(limits),
        Err(TiffError::UnsupportedError(_)) => return Ok(None),
        Err(e) => return Err(ThumbnailError::Broken(e.to_string())),
    };
    let broken = |e: TiffError| ThumbnailError::Broken(e.to_string());
    let (width, height) = decoder.dimensions().map_err(broken)?;
    let bits = match decoder.colortype() {
        Ok(ColorType::Gray(b) | ColorType::RGB(b) | ColorType::RGBA(b) | ColorType::CMYK(b) | ColorType::CMYKA(b)) => b,
        Ok(ColorType::Multiband { bit_depth, .. }) => bit_depth,
        _ => return Ok(None),
    };
    let map = match space {
        Space::Palette => Some(decoder.get_tag_u16_vec(Tag::ColorMap).map_err(broken)?),
        _ => None,
    };
    let orientation = decoder.find_tag(Tag::Orientation).ok().flatten().and_then(|v| v.into_u16().ok());
    let orientation = orientation.and_then(|n| Orientation::from_exif(n.min(255) as u8));
    let mut sheet = Sheet::new(width, height, edge, space, bits, map)?;
    let in_part = fill(&mut decoder, &mut sheet)?;
    Ok(Some(Small { picture: sheet.picture(), orientation: orientation.unwrap_or(Orientation::NoTransforms), in_part }))
}

/// Reads every chunk there is; whether some could not be read.
fn fill<R: Read + Seek>(decoder: &mut Decoder<R>, sheet: &mut Sheet) -> Result<bool, ThumbnailError> {
    let broken = |e: TiffError| ThumbnailError::Broken(e.to_string());
    let (chunk_width, chunk_height) = decoder.chunk_dimensions();
    let tiled = decoder.get_chunk_type() == ChunkType::Tile;
    let count = if tiled { decoder.tile_count() } else { decoder.strip_count() }.map_err(broken)?;
    let across = if tiled { sheet.width.div_ceil(chunk_width.max(1)) } else { 1 };
    let down = sheet.height.div_ceil(chunk_height.max(1));
    let plane = across.saturating_mul(down).max(1);
    let mut missing = None;
    let mut read = 0;
    for i in 0..count {
        let (x, y) = ((i % plane % across) * chunk_width, (i % plane / across) * chunk_height);
        match decoder.read_chunk(i) {
            Ok(data) => {
                let (w, h) = decoder.chunk_data_dimensions(i);
                sheet.add(&data, (x, y), (w, h), (i / plane) as usize);
                read += 1;
            }
            Err(TiffError::UnsupportedError(e)) => return Err(ThumbnailError::Kind(e.to_string())),
            Err(TiffError::LimitsExceeded) => {
                return Err(ThumbnailError::TooLarge { width: sheet.width, height: sheet.height });
            }
            Err(e) => missing = Some(e),
        }
    }
    match missing {
        Some(e) if read == 0 => Err(broken(e)),
        missing => Ok(missing.is_some()),
    }
}

/// The sums of the pixels that fall on each small one.
struct Sheet {
    width: u32,
    height: u32,
    /// Pixels across and down that become one.
    factor: u32,
    small: (usize, usize),
    space: Space,
    bits: u8,
    map: Option<Vec<u16>>,
    /// Samples of a small pixel.
    channels: usize,
    sums: Vec<f32>,
    /// How many pixels were added, for each sample.
    counts: Vec<u32>,
}

impl Sheet {
    fn new(
        width: u32,
        height: u32,
        edge: u32,
        space: Space,
        bits: u8,
        map: Option<Vec<u16>>,
    ) -> Result<Self, ThumbnailError> {
        let factor = (width.max(height) / edge.max(1)).max(1);
        let small = (width.div_ceil(factor) as usize, height.div_ceil(factor) as usize);
        let channels = match space {
            Space::Grey => 1,
            Space::Cmyk => 4,
            _ => 3,
        };
        let samples = small.0.checked_mul(small.1).and_then(|n| n.checked_mul(channels));
        let samples =
            samples.filter(|n| *n > 0 && *n <= LARGEST_SMALL).ok_or(ThumbnailError::TooLarge { width, height })?;
        let (sums, counts) = (vec![0.0; samples], vec![0; samples]);
        Ok(Self { width, height, factor, small, space, bits, map, channels, sums, counts })
    }

    /// Adds a chunk that lies at `(x, y)`; `plane` is the sample it holds, where each lies by itself.
    fn add(&mut self, data: &DecodingResult, (x, y): (u32, u32), (w, h): (u32, u32), plane: usize) {
        let pixels = w as usize * h as usize;
        let samples = if self.bits < 8 { 1 } else { length(data) / pixels.max(1) };
        if samples == 0 {
            return;
        }
        let row_bytes = (w as usize * usize::from(self.bits)).div_ceil(8);
        for row in 0..h as usize {
            for column in 0..w as usize {
                let (sx, sy) =
                    ((x as usize + column) / self.factor as usize, (y as usize + row) / self.factor as usize);
                if sx >= self.small.0 || sy >= self.small.1 {
                    continue;
                }
                let at = (sy * self.small.0 + sx) * self.channels;
                let value = |s: usize| match self.bits {
                    8.. => tone(data, (row * w as usize + column) * samples + s),
                    bits => packed(data, row * row_bytes, column, bits),
                };
                if let Some(map) = &self.map {
                    let index = (value(0) * full(self.bits)).round() as usize;
                    let size = map.len() / 3;
                    for s in 0..3 {
                        let tone = map.get(s * size + index.min(size.saturating_sub(1))).copied().unwrap_or(0);
                        self.sums[at + s] += f32::from(tone) / 65_535.0;
                        self.counts[at + s] += 1;
                    }
                } else if samples == 1 && self.channels > 1 {
                    if plane < self.channels {
                        self.sums[at + plane] += value(0);
                        self.counts[at + plane] += 1;
                    }
                } else {
                    for s in 0..self.channels.min(samples) {
                        let signed = self.space == Space::Lab { moved: false } && s > 0;
                        let v = value(s);
                        // A signed sample lies in the upper half when it is below zero.
                        self.sums[at + s] += if signed && v > 0.5 { v - 1.0 } else { v };
                        self.counts[at + s] += 1;
                    }
                }
            }
        }
    }

    /// The small picture, 16 bits a sample, grey or sRGB.
    fn picture(self) -> DynamicImage {
        let mean = |i: usize| self.sums[i] / self.counts[i].max(1) as f32;
        let means: Vec<f32> = (0..self.sums.len()).map(mean).collect();
        // Floating point may go beyond what is shown; the brightest sample is white then.
        let most = means.iter().copied().fold(1.0, f32::max);
        let deep = |v: f32| ((v / most).clamp(0.0, 1.0) * 65_535.0).round() as u16;
        let (w, h) = (self.small.0 as u32, self.small.1 as u32);
        let pixels = means.chunks_exact(self.channels);
        match self.space {
            Space::Grey => {
                ImageBuffer::from_raw(w, h, means.iter().map(|v| deep(*v)).collect()).map(DynamicImage::ImageLuma16)
            }
            space => {
                let rgb = pixels.flat_map(|p| match space {
                    Space::Cmyk => [0, 1, 2].map(|i| deep((1.0 - p[i]) * (1.0 - p[3]))),
                    Space::Lab { moved } => lab(p, moved).map(deep),
                    _ => [deep(p[0]), deep(p[1]), deep(p[2])],
                });
                ImageBuffer::from_raw(w, h, rgb.collect()).map(DynamicImage::ImageRgb16)
            }
        }
        .unwrap_or_default()
    }
}

/// L\*a\*b\* (D50) as samples of 0 to 1, to sRGB of 0 to 1.
fn lab(p: &[f32], moved: bool) -> [f32; 3] {
    let l = p[0] * 100.0;
    let ab = |v: f32| if moved { v * 255.0 - 128.0 } else { v * 256.0 };
    let (a, b) = (ab(p[1]), ab(p[2]));
    let y = (l + 16.0) / 116.0;
    let cube = |t: f32| if t > 6.0 / 29.0 { t * t * t } else { (t - 16.0 / 116.0) * 3.0 * (6.0_f32 / 29.0).powi(2) };
    let (x, y, z) = (0.9642 * cube(y + a / 500.0), cube(y), 0.8249 * cube(y - b / 200.0));
    // XYZ of D50 to linear sRGB of D65, Bradford-adapted.
    let linear = [
        3.1339 * x - 1.6169 * y - 0.4906 * z,
        -0.9788 * x + 1.9161 * y + 0.0335 * z,
        0.0719 * x - 0.2290 * y + 1.4052 * z,
    ];
    linear.map(|v| {
        let v = v.clamp(0.0, 1.0);
        if v <= 0.003_130_8 { v * 12.92 } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 }
    })
}

/// The largest sample of so many bits.
fn full(bits: u8) -> f32 {
    (2.0_f32).powi(i32::from(bits)) - 1.0
}

/// A sample, 0 to 1; of floating point, as it is, and black where it is no number.
fn tone(data: &DecodingResult, i: usize) -> f32 {
    let real = |v: f64| if v.is_finite() { v.clamp(0.0, 1e6) as f32 } else { 0.0 };
    match data {
        DecodingResult::U8(d) => f32::from(d[i]) / full(8),
        DecodingResult::U16(d) => f32::from(d[i]) / full(16),
        DecodingResult::U32(d) => (f64::from(d[i]) / f64::from(u32::MAX)) as f32,
        DecodingResult::U64(d) => (d[i] as f64 / u64::MAX as f64) as f32,
        DecodingResult::I8(d) => (f32::from(d[i]) + 128.0) / full(8),
        DecodingResult::I16(d) => (f32::from(d[i]) + 32_768.0) / full(16),
        DecodingResult::I32(d) => ((f64::from(d[i]) - f64::from(i32::MIN)) / f64::from(u32::MAX)) as f32,
        DecodingResult::I64(d) => ((d[i] as f64 - i64::MIN as f64) / u64::MAX as f64) as f32,
        DecodingResult::F16(d) => real(f64::from(d[i].to_f32())),
        DecodingResult::F32(d) => real(f64::from(d[i])),
        DecodingResult::F64(d) => real(d[i]),
    }
}

/// A sample of 1 to 7 bits in a row that begins at a byte, 0 to 1.
fn packed(data: &DecodingResult, row: usize, column: usize, bits: u8) -> f32 {
    let DecodingResult::U8(bytes) = data else { return 0.0 };
    let bit = column * usize::from(bits);
    let pair = |i: usize| u16::from(bytes.get(row + i).copied().unwrap_or(0));
    let word = pair(bit / 8) << 8 | pair(bit / 8 + 1);
    let value = word >> (16 - bit % 8 - usize::from(bits)) & ((1 << bits) - 1);
    f32::from(value) / full(bits)
}

fn length(data: &DecodingResult) -> usize {
    match data {
        DecodingResult::U8(d) => d.len(),
        DecodingResult::U16(d) => d.len(),
        DecodingResult::U32(d) => d.len(),
        DecodingResult::U64(d) => d.len(),
        DecodingResult::I8(d) => d.len(),
        DecodingResult::I16(d) => d.len(),
        DecodingResult::I32(d) => d.len(),
        DecodingResult::I64(d) => d.len(),
        DecodingResult::F16(d) => d.len(),
        DecodingResult::F32(d) => d.len(),
        DecodingResult::F64(d) => d.len(),
    }
}

/// What the first picture's samples are, and where its interpretation stands with what the decoder is told instead:
/// it reads palettes as grey and L\*a\*b\* as RGB, and here they become what they are.
fn space(from: &mut (impl Read + Seek)) -> Option<(Space, Option<Patch>)> {
    let mut head = [0; 16];
    from.rewind().ok()?;
    from.read_exact(&mut head[..8]).ok()?;
    let little = &head[..2] == b"II";
    if !little && &head[..2] != b"MM" {
        return None;
    }
    let short = |b: &[u8]| if little { u16::from_le_bytes([b[0], b[1]]) } else { u16::from_be_bytes([b[0], b[1]]) };
    let number = |b: &[u8]| {
        let value = |i: usize, shift: usize| u64::from(b[i]) << (8 * shift);
        (0..b.len()).map(|i| value(i, if little { i } else { b.len() - 1 - i })).sum::<u64>()
    };
    let big = short(&head[2..]) == 43;
    if !big && short(&head[2..]) != 42 {
        return None;
    }
    let ifd = if big {
        from.read_exact(&mut head[8..]).ok()?;
        number(&head[8..])
    } else {
        number(&head[4..8])
    };
    from.seek(SeekFrom::Start(ifd)).ok()?;
    let mut count = [0; 8];
    let count = &mut count[..if big { 8 } else { 2 }];
    from.read_exact(count).ok()?;
    let (first, size) = (ifd + count.len() as u64, if big { 20 } else { 12 });
    for i in 0..number(count).min(1 << 12) {
        let mut entry = [0; 20];
        let entry = &mut entry[..size];
        from.read_exact(entry).ok()?;
        if short(entry) != PHOTOMETRIC {
            continue;
        }
        let place = first + i * size as u64 + size as u64 - if big { 8 } else { 4 };
        let as_if = |n: u16| Some((place, if little { n.to_le_bytes() } else { n.to_be_bytes() }));
        return Some(match short(&entry[size - if big { 8 } else { 4 }..]) {
            0 | 1 => (Space::Grey, None),
            2 => (Space::Rgb, None),
            3 => (Space::Palette, as_if(1)),
            5 => (Space::Cmyk, None),
            8 => (Space::Lab { moved: false }, as_if(2)),
            9 => (Space::Lab { moved: true }, as_if(2)),
            _ => return None,
        });
    }
    None
}

/// Tag 262.
const PHOTOMETRIC: u16 = 262;

/// Where two bytes stand, and what is read there instead.
type Patch = (u64, [u8; 2]);

/// A file in which two bytes are others.
struct Patched<R> {
    from: R,
    patch: Option<Patch>,
}

impl<R: Read + Seek> Read for Patched<R> {
    fn read(&mut self, out: &mut [u8]) -> std::io::Result<usize> {
        let Some((place, bytes)) = self.patch else { return self.from.read(out) };
        let at = self.from.stream_position()?;
        let n = self.from.read(out)?;
        for (place, byte) in (place..).zip(bytes) {
            if (at..at + n as u64).contains(&place) {
                out[(place - at) as usize] = byte;
            }
        }
        Ok(n)
    }
}

impl<R: Seek> Seek for Patched<R> {
    fn seek(&mut self, to: SeekFrom) -> std::io::Result<u64> {
        self.from.seek(to)
    }
}
