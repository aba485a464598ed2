//! Whether a scan shows anything.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use image::imageops::FilterType;
use image::{DynamicImage, GrayImage};

use super::thumbnail_error::kind_of;
use super::{ScanError, ThumbnailError, strips};
use crate::pictures::{self, PictureError};

/// Light and dark within this share of the full range: nothing to see.
const FLAT: u8 = 12;
/// Darker than this all over: a black positive, a frame never exposed.
const BLACK: u8 = 28;
/// Lighter than this all over: clear film, or fogged through.
const CLEAR: u8 = 238;
/// Side of the small picture that is judged.
const SIDE: u32 = 96;

/// Pixels of the longer edge that are enough to judge a picture and to find an edge code on it.
const FINE_ENOUGH: u32 = 2048;

/// Whether the picture in a file is nearly all black, clear or of one tone.
///
/// # Errors
/// [`ScanError`] when the file cannot be read, is no whole picture, or too large.
pub fn is_blank(path: &Path) -> Result<bool, ScanError> {
    decoded(path, |picture| shows_nothing(&picture.resize(SIDE, SIDE, FilterType::Triangle).to_luma8()))
}

/// The picture in a file, given to `with`.
///
/// # Errors
/// [`ScanError`] when the file cannot be read, is no whole picture, or too large.
pub(super) fn decoded<T>(path: &Path, with: impl Fn(DynamicImage) -> T) -> Result<T, ScanError> {
    match pictures::decoded(path, |picture, _| with(picture)) {
        Ok(seen) => Ok(seen),
        Err(PictureError::Unreadable(io)) => Err(ScanError::Unreadable { path: path.to_owned(), why: io.to_string() }),
        Err(PictureError::Unsupported(why)) => made_small(path, &ThumbnailError::Kind(kind_of(&why))).map(with),
        Err(why @ PictureError::TooLarge { .. }) => made_small(path, &ThumbnailError::Memory(why)).map(with),
        Err(PictureError::Broken(why)) => Err(ScanError::Broken { path: path.to_owned(), why }),
    }
}

/// A TIFF that is too large to be decoded as a whole, or of a rare kind, as fine as is enough; else `why` not.
fn made_small(path: &Path, why: &ThumbnailError) -> Result<DynamicImage, ScanError> {
    match strips::small(BufReader::new(open(path)?), FINE_ENOUGH) {
        Ok(Some(small)) => Ok(small.picture),
        Err(ThumbnailError::Broken(why)) => Err(ScanError::Broken { path: path.to_owned(), why }),
        _ => Err(ScanError::Kind { path: path.to_owned(), why: why.to_string() }),
    }
}

fn open(path: &Path) -> Result<File, ScanError> {
    File::open(path).map_err(|e| ScanError::Unreadable { path: path.to_owned(), why: e.to_string() })
}

/// The tones of all but the brightest and darkest few per cent, without the
/// outer tenth, where a holder or the film's edge may show.
fn shows_nothing(small: &GrayImage) -> bool {
    let (w, h) = small.dimensions();
    let inner = |x: u32, y: u32| x * 10 >= w && x * 10 < w * 9 && y * 10 >= h && y * 10 < h * 9;
    let mut tones: Vec<u8> =
        small.enumerate_pixels().filter(|(x, y, _)| inner(*x, *y)).map(|(_, _, p)| p.0[0]).collect();
    if tones.is_empty() {
        return false;
    }
    tones.sort_unstable();
    let at = |share: usize| tones[(tones.len() - 1) * share / 100];
    let (dark, light) = (at(2), at(98));
    light - dark <= FLAT || light <= BLACK || dark >= CLEAR
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(tone: impl Fn(u32, u32) -> u8) -> GrayImage {
        GrayImage::from_fn(90, 60, |x, y| image::Luma([tone(x, y)]))
    }

    #[test]
    fn black_and_clear_frames_show_nothing() {
        let grain = |x: u32, y: u32| ((x * 7 + y * 13) % 9) as u8;
        assert!(shows_nothing(&picture(grain)));
        assert!(shows_nothing(&picture(|x, y| 246 + grain(x, y))));
        assert!(shows_nothing(&picture(|x, y| if x < 5 || y < 3 { 255 } else { grain(x, y) })), "a holder's edge");
    }

    #[test]
    fn a_night_picture_shows_something() {
        // A street lamp and its pool of light on a tenth of the frame.
        let night = picture(|x, y| if (40..58).contains(&x) && (20..42).contains(&y) { 180 } else { 10 });
        assert!(!shows_nothing(&night));
        assert!(!shows_nothing(&picture(|x, _| 120 + (x / 3) as u8)), "a misty sea");
    }
}
