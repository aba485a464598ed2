//! Small pictures of scans, for pages. Pure: bytes in, bytes out.

use std::io::Cursor;

use fast_image_resize::images::Image;
use fast_image_resize::{FilterType, IntoImageView, PixelType, ResizeAlg, ResizeOptions, Resizer};
use image::codecs::jpeg::JpegEncoder;
use image::metadata::Orientation;
use image::{DynamicImage, ExtendedColorType, ImageDecoder, ImageReader, Limits};

/// Decoded pictures may take this many bytes: 10 × 12 inches at 2400 dpi in
/// 16-bit colour is 4.1 GB and refused; 4 × 5 inches is 0.7 GB and taken.
const LARGEST: u64 = 2 << 30;
/// Quality of the JPEG, 1 to 100.
const QUALITY: u8 = 80;

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

/// A scan that gives no thumbnail.
#[derive(Debug, thiserror::Error)]
pub enum ThumbnailError {
    /// The file is empty.
    #[error("is empty; copy or scan it again")]
    Empty,
    /// Broken, or of a kind that is not read.
    #[error("is no picture that can be shown ({0}); scan or copy it again")]
    Broken(String),
    /// It would take too much memory.
    #[error("is too large to be shown ({width} × {height} pixels)")]
    TooLarge {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
}

impl Thumbnail {
    /// Of a TIFF, JPEG or PNG of 1 to 16 bits a sample, its longer edge at most
    /// `edge` pixels (never enlarged), turned as its orientation tag says.
    /// Reduced with a Lanczos filter (3 lobes) at the picture's own depth.
    ///
    /// # Errors
    /// [`ThumbnailError`] when the bytes are no whole picture or too large.
    pub fn of(bytes: &[u8], edge: u32) -> Result<Self, ThumbnailError> {
        if bytes.is_empty() {
            return Err(ThumbnailError::Empty);
        }
        let (picture, orientation) = decoded(bytes)?;
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
        Ok(Self { jpeg, width, height })
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

fn decoded(bytes: &[u8]) -> Result<(DynamicImage, Orientation), ThumbnailError> {
    let broken = |e: image::ImageError| ThumbnailError::Broken(e.to_string());
    let mut reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|e| ThumbnailError::Broken(e.to_string()))?;
    let mut limits = Limits::default();
    limits.max_alloc = Some(LARGEST);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(broken)?;
    let (width, height) = decoder.dimensions();
    if decoder.total_bytes() > LARGEST {
        return Err(ThumbnailError::TooLarge { width, height });
    }
    // A tag that cannot be read leaves the picture as it lies.
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    Ok((DynamicImage::from_decoder(decoder).map_err(broken)?, orientation))
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
