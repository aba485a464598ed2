//! A file's picture. What it would take is told by its header, and weighed before it is decoded.

use super::PictureError;
use super::budget::Budget;
use super::largest::LARGEST;
use image::error::ImageFormatHint;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits};
use std::fs::File;
use std::io::{BufRead, BufReader, Cursor, Seek, SeekFrom};
use std::path::Path;

/// Most bytes that pictures take together while they are decoded; a larger one is decoded alone.
const TOGETHER: u64 = 2 << 30;
/// Most bytes of what stands beside a picture in its file, such as a colour profile.
const BESIDE: u64 = 64 << 20;

static BUDGET: Budget = Budget::new(TOGETHER);

/// The picture in a file and how it is to be turned, given to `with` while its memory is held; so `with` must
/// not wait for another picture.
///
/// # Errors
/// [`PictureError`] when the file cannot be read, is no whole picture, or too large.
pub fn decoded<T>(path: &Path, with: impl FnOnce(DynamicImage, Orientation) -> T) -> Result<T, PictureError> {
    let file = File::open(path).map_err(PictureError::Unreadable)?;
    let length = file.metadata().map_err(PictureError::Unreadable)?.len();
    read(BufReader::new(file), length, with)
}

/// Looks at a picture's header alone.
///
/// # Errors
/// [`PictureError`] when the file cannot be read, does not begin like a picture, or would be too large.
pub fn looked_at(path: &Path) -> Result<(), PictureError> {
    let file = File::open(path).map_err(PictureError::Unreadable)?;
    let length = file.metadata().map_err(PictureError::Unreadable)?.len();
    opened(BufReader::new(file), length).map(drop)
}

/// [`decoded`], of a file's bytes.
///
/// # Errors
/// [`PictureError`] when they are no whole picture, or too large.
pub fn from_bytes<T>(bytes: &[u8], with: impl FnOnce(DynamicImage, Orientation) -> T) -> Result<T, PictureError> {
    from_reader(Cursor::new(bytes), with)
}

/// [`decoded`], of an open file from its beginning.
///
/// # Errors
/// [`PictureError`] when it cannot be read, is no whole picture, or too large.
pub fn from_reader<T>(
    mut from: impl BufRead + Seek,
    with: impl FnOnce(DynamicImage, Orientation) -> T,
) -> Result<T, PictureError> {
    let length = from.seek(SeekFrom::End(0)).map_err(PictureError::Unreadable)?;
    from.rewind().map_err(PictureError::Unreadable)?;
    read(from, length, with)
}

/// A picture that is small enough, about to be decoded: the decoder, and most bytes that it takes.
fn opened<'a>(from: impl BufRead + Seek + 'a, length: u64) -> Result<(impl ImageDecoder + 'a, u64), PictureError> {
    let mut reader = ImageReader::new(from).with_guessed_format().map_err(PictureError::Unreadable)?;
    let format = reader.format();
    // The decoder takes a JPEG file in as it is made.
    if format == Some(ImageFormat::Jpeg) && length > LARGEST {
        return Err(PictureError::TooLarge { bytes: length });
    }
    let mut limits = Limits::default();
    limits.max_alloc = Some(BESIDE);
    reader.limits(limits);
    let decoder = reader.into_decoder().map_err(broken)?;
    let bytes = decoder.total_bytes();
    if bytes > LARGEST {
        return Err(PictureError::TooLarge { bytes });
    }
    Ok((decoder, needed(format, bytes, length)))
}

fn read<T>(
    from: impl BufRead + Seek,
    length: u64,
    with: impl FnOnce(DynamicImage, Orientation) -> T,
) -> Result<T, PictureError> {
    let (mut decoder, needed) = opened(from, length)?;
    let held = BUDGET.take(needed);
    let mut limits = Limits::default();
    limits.max_alloc = Some(needed + BESIDE);
    decoder.set_limits(limits.clone()).map_err(broken)?;
    // A tag that cannot be read leaves the picture as it lies.
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    limits.max_alloc = Some(2 * LARGEST);
    decoder.set_limits(limits).map_err(broken)?;
    let picture = DynamicImage::from_decoder(decoder).map_err(broken)?;
    let given = with(picture, orientation);
    drop(held);
    Ok(given)
}

/// Most bytes that are taken while a picture of `bytes` is decoded from a file of `length`: a TIFF is decoded
/// into a second copy; of a JPEG the file lies in memory, and of a progressive one 16 bits for each sample.
fn needed(format: Option<ImageFormat>, bytes: u64, length: u64) -> u64 {
    match format {
        Some(ImageFormat::Tiff) => 2 * bytes,
        Some(ImageFormat::Jpeg) => 3 * bytes + length,
        _ => bytes,
    }
}

fn broken(why: ImageError) -> PictureError {
    match why {
        ImageError::IoError(io) if io.kind() != std::io::ErrorKind::UnexpectedEof => PictureError::Unreadable(io),
        // What has no known beginning is no picture, rather than one of a rare kind.
        ImageError::Unsupported(why) if matches!(why.format_hint(), ImageFormatHint::Exact(_)) => {
            PictureError::Unsupported(why)
        }
        why => PictureError::Broken(why.to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The beginning of a PNG of this size, as its standard lays it out (ISO/IEC 15948, 11.2.2): 16 bits, grey.
    fn png_of(side: u32) -> Vec<u8> {
        let mut header = b"IHDR".to_vec();
        header.extend(side.to_be_bytes());
        header.extend(side.to_be_bytes());
        header.extend([16, 0, 0, 0, 0]);
        let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\x0d".to_vec();
        bytes.extend(&header);
        bytes.extend(crc(&header).to_be_bytes());
        bytes.extend(b"\0\0\0\0IDAT\x35\xaf\x06\x1e");
        bytes
    }

    /// The check sum of a chunk (ISO/IEC 15948, annex D).
    fn crc(bytes: &[u8]) -> u32 {
        let bit = |c: u32| if c & 1 == 1 { 0xEDB8_8320 ^ (c >> 1) } else { c >> 1 };
        !bytes.iter().fold(!0, |crc, b| (0..8).fold(crc ^ u32::from(*b), |c, _| bit(c)))
    }

    #[test]
    fn what_is_too_large_is_refused_by_its_header() {
        // 40,000 × 40,000 × 2 bytes are 3,052 MB; 20,000 × 20,000 × 2 are 763 MB, of which nothing follows.
        let why = from_bytes(&png_of(40_000), |_, _| ()).unwrap_err();
        assert_eq!(why.to_string(), "takes 3052 MB when it is decoded; the limit is 1024 MB");
        assert!(matches!(from_bytes(&png_of(2_000), |_, _| ()), Err(PictureError::Broken(_))));
        let mut tiff = Cursor::new(Vec::new());
        DynamicImage::new_luma8(4, 4).write_to(&mut tiff, ImageFormat::Tiff).unwrap();
        let mut tiff = tiff.into_inner();
        // Tags 256 and 257, width and length, one SHORT or LONG each (TIFF 6.0, p. 18).
        for at in 8..tiff.len() - 12 {
            if tiff[at + 1] == 1 && matches!(tiff[at], 0 | 1) && matches!(tiff[at + 2..at + 4], [3 | 4, 0]) {
                tiff[at + 2..at + 12].copy_from_slice(&[4, 0, 1, 0, 0, 0, 0x40, 0x9C, 0, 0]);
            }
        }
        let why = from_bytes(&tiff, |_, _| ()).unwrap_err();
        assert_eq!(why.to_string(), "takes 1526 MB when it is decoded; the limit is 1024 MB");
    }

    #[test]
    fn a_sound_picture_is_given_with_the_way_it_lies() {
        let mut png = Cursor::new(Vec::new());
        DynamicImage::new_rgb8(3, 2).write_to(&mut png, ImageFormat::Png).unwrap();
        let seen = from_bytes(png.get_ref(), |p, o| (p.width(), p.height(), o)).unwrap();
        assert_eq!(seen, (3, 2, Orientation::NoTransforms));
        let why = decoded(Path::new("/no/such/file"), |_, _| ()).unwrap_err();
        assert!(matches!(why, PictureError::Unreadable(_)), "{why}");
    }
}
