//! Small pictures of scans, for pages. Pure: bytes in, bytes out.

use super::strips;
use super::thumbnail_error::ThumbnailError;
use crate::pictures::{self};
use fast_image_resize::images::Image;
use fast_image_resize::{FilterType, IntoImageView, PixelType, ResizeAlg, ResizeOptions, Resizer};
use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{DynamicImage, ExtendedColorType, ImageReader};
use std::io::{BufRead, Cursor, Seek};

/// Quality of the JPEG, 1 to 100.
const QUALITY: u8 = 80;

/// A TIFF is first made so many times finer than its thumbnail.
const FINER: u32 = 2;

/// A small JPEG, upright.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Thumbnail {
    /// The file's bytes, 8-bit, grey or sRGB.
    pub jpeg: Vec<u8>,
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
}

impl Thumbnail {
    /// Of a TIFF, JPEG or PNG of 1 to 16 bits a sample, its longer edge at most
    /// `edge` pixels (never enlarged), turned as its orientation tag says.
    /// Reduced with a Lanczos filter (3 lobes) at the picture's own depth.
    ///
    /// # Errors
    /// [`ThumbnailError`] when the bytes are no whole picture or too large.
    pub fn of(bytes: &[u8], edge: u32) -> Result<Self, ThumbnailError> {
        Self::read(Cursor::new(bytes), edge).map(|(made, _)| made)
    }

    /// As [`Thumbnail::of`], of a file that need not be in memory as a whole; and whether a part of it could not be
    /// read and is black.
    ///
    /// # Errors
    /// As for `of`.
    pub fn read(mut from: impl BufRead + Seek, edge: u32) -> Result<(Self, bool), ThumbnailError> {
        if from.fill_buf().is_ok_and(<[u8]>::is_empty) {
            return Err(ThumbnailError::Empty);
        }
        match strips::small(&mut from, edge.max(1).saturating_mul(FINER))? {
            Some(small) => Ok((finished(small.picture, small.orientation, edge)?, small.in_part)),
            None => Ok((pictures::from_reader(from, |p, o| finished(p, o, edge))??, false)),
        }
    }

    /// One made before, if these are the bytes of a whole JPEG.
    pub fn from_jpeg(jpeg: Vec<u8>) -> Option<Self> {
        if !jpeg.ends_with(&[0xFF, 0xD9]) {
            return None;
        }
        let reader = ImageReader::with_format(Cursor::new(&jpeg), image::ImageFormat::Jpeg);
        let (width, height) = reader.into_dimensions().ok()?;
        Some(Self { jpeg, width, height })
    }
}

/// The thumbnail of a picture.
fn finished(picture: DynamicImage, orientation: Orientation, edge: u32) -> Result<Thumbnail, ThumbnailError> {
    let mut small = reduced(picture, edge.max(1))?;
    small.apply_orientation(orientation);
    let (width, height) = (small.width(), small.height());
    let mut jpeg = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut jpeg, QUALITY);
    let written = if small.color().has_color() {
        encoder.encode(&small.into_rgb8(), width, height, ExtendedColorType::Rgb8)
    } else {
        encoder.encode(&small.into_luma8(), width, height, ExtendedColorType::L8)
    };
    written.map_err(|e| ThumbnailError::Broken(e.to_string()))?;
    Ok(Thumbnail { jpeg, width, height })
}

fn reduced(picture: DynamicImage, edge: u32) -> Result<DynamicImage, ThumbnailError> {
    let broken = |e: &dyn std::fmt::Display| ThumbnailError::Broken(e.to_string());
    let scale = f64::from(edge) / f64::from(picture.width().max(picture.height()).max(1));
    if scale >= 1.0 {
        return Ok(picture);
    }
    let side = |n: u32| ((f64::from(n) * scale).round() as u32).max(1);
    let (width, height) = (side(picture.width()), side(picture.height()));
    // Half a dozen layouts are resized as they are; the odd ones by way of 8 bits.
    let picture = match picture.pixel_type() {
        Some(PixelType::F32 | PixelType::F32x2 | PixelType::F32x3 | PixelType::F32x4) | None => {
            picture.into_rgb8().into()
        }
        Some(_) => picture,
    };
    let pixels = picture.pixel_type().ok_or_else(|| broken(&"unknown layout of samples"))?;
    let mut small = Image::new(width, height, pixels);
    let options = ResizeOptions::new().resize_alg(ResizeAlg::Convolution(FilterType::Lanczos3));
    Resizer::new().resize(&picture, &mut small, &options).map_err(|e| broken(&e))?;
    let raw = small.into_vec();
    let wide = || raw.chunks_exact(2).map(|b| u16::from_ne_bytes([b[0], b[1]])).collect::<Vec<u16>>();
    use image::ImageBuffer as B;
    let image = match pixels {
        PixelType::U8 => B::from_raw(width, height, raw).map(DynamicImage::ImageLuma8),
        PixelType::U8x2 => B::from_raw(width, height, raw).map(DynamicImage::ImageLumaA8),
        PixelType::U8x3 => B::from_raw(width, height, raw).map(DynamicImage::ImageRgb8),
        PixelType::U8x4 => B::from_raw(width, height, raw).map(DynamicImage::ImageRgba8),
        PixelType::U16 => B::from_raw(width, height, wide()).map(DynamicImage::ImageLuma16),
        PixelType::U16x2 => B::from_raw(width, height, wide()).map(DynamicImage::ImageLumaA16),
        PixelType::U16x3 => B::from_raw(width, height, wide()).map(DynamicImage::ImageRgb16),
        PixelType::U16x4 => B::from_raw(width, height, wide()).map(DynamicImage::ImageRgba16),
        _ => None,
    };
    image.ok_or_else(|| broken(&"unknown layout of samples"))
}

#[cfg(test)]
mod tests {
    use image::{ImageBuffer, ImageFormat, Luma, Rgb};

    use super::*;

    fn encoded(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
        let mut bytes = Cursor::new(Vec::new());
        picture.write_to(&mut bytes, format).unwrap();
        bytes.into_inner()
    }

    /// Dark left half, light right half, 300 × 200.
    fn halves_16() -> DynamicImage {
        ImageBuffer::from_fn(300, 200, |x, _| Luma([if x < 150 { 8_000_u16 } else { 56_000 }])).into()
    }

    fn shows_halves(thumbnail: &Thumbnail) {
        assert_eq!((thumbnail.width, thumbnail.height), (60, 40));
        let seen = image::load_from_memory(&thumbnail.jpeg).unwrap().into_luma8();
        let (dark, light) = (seen.get_pixel(10, 20).0[0], seen.get_pixel(50, 20).0[0]);
        // 8 000 of 65 535 is 31 of 255, 56 000 is 218.
        assert!(dark.abs_diff(31) < 5 && light.abs_diff(218) < 5, "{dark} {light}");
    }

    #[test]
    fn every_depth_and_layout_is_shown() {
        let grey = halves_16();
        let pictures = [
            grey.clone(),
            DynamicImage::ImageRgb16(grey.to_rgb16()),
            DynamicImage::ImageRgba16(grey.to_rgba16()),
            DynamicImage::ImageLuma8(grey.to_luma8()),
            DynamicImage::ImageRgb8(grey.to_rgb8()),
            DynamicImage::ImageRgba8(grey.to_rgba8()),
        ];
        for picture in pictures {
            shows_halves(&Thumbnail::of(&encoded(&picture, ImageFormat::Tiff), 60).unwrap());
            shows_halves(&Thumbnail::of(&encoded(&picture, ImageFormat::Png), 60).unwrap());
        }
        let grey_alpha = DynamicImage::ImageLumaA16(grey.to_luma_alpha16());
        shows_halves(&Thumbnail::of(&encoded(&grey_alpha, ImageFormat::Png), 60).unwrap());
        let jpeg = encoded(&DynamicImage::ImageRgb8(grey.to_rgb8()), ImageFormat::Jpeg);
        shows_halves(&Thumbnail::of(&jpeg, 60).unwrap());
        let float = DynamicImage::ImageRgb32F(grey.to_rgb32f());
        shows_halves(&Thumbnail::of(&encoded(&float, ImageFormat::Tiff), 60).unwrap());
    }

    /// A tag's type, how many there are of it, and their bytes.
    type Value = (u16, u32, Vec<u8>);

    /// A TIFF written by hand: little-endian, one strip a row, 8 or more bits a sample.
    fn tiff(
        photometric: u16,
        bits: u16,
        format: u16,
        samples: u16,
        size: (u32, u32),
        more: &[(u16, u16, Vec<u8>)],
        rows: &[u8],
    ) -> Vec<u8> {
        let (w, h) = size;
        let short = |n: u16| (3, 1, n.to_le_bytes().to_vec());
        let long = |n: u32| (4, 1, n.to_le_bytes().to_vec());
        let row = w * u32::from(bits) / 8 * u32::from(samples);
        let offsets: Vec<u8> = (0..h).flat_map(|y| (8 + y * row).to_le_bytes()).collect();
        let counts: Vec<u8> = (0..h).flat_map(|_| row.to_le_bytes()).collect();
        let mut tags: Vec<(u16, Value)> = vec![
            (256, long(w)),
            (257, long(h)),
            (258, (3, u32::from(samples), bits.to_le_bytes().repeat(samples.into()))),
            (259, short(1)),
            (262, short(photometric)),
            (273, (4, h, offsets)),
            (277, short(samples)),
            (278, long(1)),
            (279, (4, h, counts)),
            (339, (3, u32::from(samples), format.to_le_bytes().repeat(samples.into()))),
        ];
        tags.extend(more.iter().map(|(tag, kind, v)| (*tag, (*kind, (v.len() / 2) as u32, v.clone()))));
        tags.sort_by_key(|t| t.0);
        let mut out = [b"II\x2a\0".as_slice(), &(8 + rows.len() as u32).to_le_bytes(), rows].concat();
        let mut behind = out.len() + 2 + tags.len() * 12 + 4;
        out.extend((tags.len() as u16).to_le_bytes());
        let mut values = Vec::new();
        for (tag, (kind, count, value)) in tags {
            out.extend([&tag.to_le_bytes()[..], &kind.to_le_bytes(), &count.to_le_bytes()].concat());
            if value.len() <= 4 {
                out.extend([value.clone(), vec![0; 4 - value.len()]].concat());
            } else {
                out.extend((behind as u32).to_le_bytes());
                behind += value.len();
                values.extend(value);
            }
        }
        out.extend([0; 4]);
        out.extend(values);
        out
    }

    /// The tones of a thumbnail's left and right half.
    fn halves(thumbnail: &Thumbnail) -> [[u8; 3]; 2] {
        let seen = image::load_from_memory(&thumbnail.jpeg).unwrap().into_rgb8();
        [seen.width() / 4, seen.width() * 3 / 4].map(|x| seen.get_pixel(x, seen.height() / 2).0)
    }

    fn close(a: [u8; 3], b: [u8; 3]) -> bool {
        a.iter().zip(b).all(|(a, b)| a.abs_diff(b) < 8)
    }

    /// L\*a\*b\* of 54, 81, 70 under D50 is about the red of sRGB (255, 0, 0); 30, 68, -112 is its blue.
    #[test]
    fn kinds_that_few_read_are_shown() {
        let rows = |left: &[u8], right: &[u8]| [left.repeat(50), right.repeat(50)].concat().repeat(60);
        let size = (100, 60);
        let lab = tiff(8, 8, 1, 3, size, &[], &rows(&[138, 81, 70], &[76, 68, 144]));
        let icc = tiff(9, 8, 1, 3, size, &[], &rows(&[138, 209, 198], &[76, 196, 16]));
        for bytes in [lab, icc] {
            let [left, right] = halves(&Thumbnail::of(&bytes, 60).unwrap());
            assert!(left[0] > 235 && left[1] < 40 && left[2] < 40, "{left:?}");
            assert!(right[2] > 225 && right[0] < 60 && right[1] < 60, "{right:?}");
        }
        let mut map = vec![0_u8; 3 * 256 * 2];
        map[2 * 7 + 1] = 200; // red of colour 7
        map[2 * (256 + 9) + 1] = 120; // green of colour 9
        let palette = tiff(3, 8, 1, 1, size, &[(320, 3, map)], &rows(&[7], &[9]));
        let [left, right] = halves(&Thumbnail::of(&palette, 60).unwrap());
        assert!(close(left, [200, 0, 0]) && close(right, [0, 120, 0]), "{left:?} {right:?}");
        let deep = |v: f64| (v * f64::from(u32::MAX)) as u32;
        let whole = tiff(1, 32, 1, 1, size, &[], &rows(&deep(0.25).to_le_bytes(), &deep(0.75).to_le_bytes()));
        let float = tiff(1, 32, 3, 1, size, &[], &rows(&0.25_f32.to_le_bytes(), &0.75_f32.to_le_bytes()));
        let nan = tiff(1, 32, 3, 1, size, &[], &rows(&f32::NAN.to_le_bytes(), &0.75_f32.to_le_bytes()));
        for (bytes, dark) in [(whole, 64), (float, 64), (nan, 0)] {
            let [left, right] = halves(&Thumbnail::of(&bytes, 60).unwrap());
            assert!(close(left, [dark; 3]) && close(right, [191; 3]), "{left:?} {right:?}");
        }
    }

    #[test]
    fn a_tiff_cut_short_shows_what_there_is() {
        let rows = [[40_u8; 100], [220; 100]].concat().repeat(50);
        let whole = tiff(1, 8, 1, 1, (100, 100), &[], &rows);
        // The strips of its lower half lie behind the end.
        let mut cut = whole.clone();
        let behind = cut.len() as u32;
        let at = cut.windows(8).position(|w| w == [17, 1, 4, 0, 100, 0, 0, 0]).unwrap() + 8;
        let list = u32::from_le_bytes(cut[at..at + 4].try_into().unwrap()) as usize;
        for y in 50..100 {
            cut[list + 4 * y..list + 4 * y + 4].copy_from_slice(&behind.to_le_bytes());
        }
        assert!(
            crate::scans::is_cut_short(&mut Cursor::new(&cut)) && !crate::scans::is_cut_short(&mut Cursor::new(&whole))
        );
        let seen = image::load_from_memory(&Thumbnail::of(&cut, 50).unwrap().jpeg).unwrap().into_luma8();
        assert!(seen.get_pixel(25, 10).0[0] > 90 && seen.get_pixel(25, 40).0[0] < 20);
    }

    #[test]
    fn small_pictures_are_not_enlarged() {
        let dot: DynamicImage = ImageBuffer::from_pixel(8, 4, Rgb([200_u8, 30, 30])).into();
        let thumbnail = Thumbnail::of(&encoded(&dot, ImageFormat::Png), 400).unwrap();
        assert_eq!((thumbnail.width, thumbnail.height), (8, 4));
        assert_eq!(Thumbnail::from_jpeg(thumbnail.jpeg.clone()), Some(thumbnail));
    }

    #[test]
    fn a_turned_picture_is_set_upright() {
        // Tag 274 (Orientation) of a TIFF: 6 is a quarter turn clockwise (TIFF 6.0, p. 36).
        let mut bytes = encoded(&halves_16(), ImageFormat::Tiff);
        let ifd = u32::from_le_bytes(bytes[4..8].try_into().unwrap()) as usize;
        assert_eq!(&bytes[..2], b"II");
        let count = u16::from_le_bytes(bytes[ifd..ifd + 2].try_into().unwrap());
        let old = bytes[ifd + 2..ifd + 2 + 12 * usize::from(count)].to_vec();
        let mut entries: Vec<[u8; 12]> = old.chunks_exact(12).map(|e| e.try_into().unwrap()).collect();
        entries.push([0x12, 0x01, 3, 0, 1, 0, 0, 0, 6, 0, 0, 0]);
        entries.sort_by_key(|e| u16::from_le_bytes([e[0], e[1]]));
        let moved = bytes.len() as u32;
        bytes.extend((count + 1).to_le_bytes());
        bytes.extend(entries.into_iter().flatten());
        bytes.extend([0; 4]);
        bytes[4..8].copy_from_slice(&moved.to_le_bytes());
        let thumbnail = Thumbnail::of(&bytes, 60).unwrap();
        assert_eq!((thumbnail.width, thumbnail.height), (40, 60));
        let seen = image::load_from_memory(&thumbnail.jpeg).unwrap().into_luma8();
        assert!(seen.get_pixel(20, 5).0[0] < 60 && seen.get_pixel(20, 55).0[0] > 190);
    }

    #[test]
    fn what_is_no_picture_says_so() {
        assert!(matches!(Thumbnail::of(b"", 60), Err(ThumbnailError::Empty)));
        assert!(matches!(Thumbnail::of(b"not a picture", 60), Err(ThumbnailError::Broken(_))));
        let whole = encoded(&halves_16(), ImageFormat::Png);
        assert!(matches!(Thumbnail::of(&whole[..whole.len() / 2], 60), Err(ThumbnailError::Broken(_))));
        assert_eq!(Thumbnail::from_jpeg(vec![0xFF, 0xD8, 0xFF]), None);
    }
}
