//! Copies of scans with the metadata inside: XMP and Exif in JPEG and TIFF.
//!
//! Pixels are not decoded: what holds them is carried over byte for byte, and
//! that is checked before a copy is written. Originals are only read. What a
//! scan already says of itself stays: its scanner, the time of scanning, its
//! keywords, a caption, a rating. What is said of the exposure is replaced.

mod exif;
mod jpeg;
mod merge;
mod tiff;

use std::collections::BTreeSet;
use std::path::Path;

use crate::roll::{Frame, Roll, Trip};

use super::xmp::{packet, properties};
use super::{OutDir, OutputError};

/// Most bytes of a file that is copied.
const LARGEST: u64 = 1 << 30;

/// Why a copy with metadata cannot be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EmbedError {
    /// Neither JPEG nor TIFF.
    #[error("is neither JPEG nor TIFF; its sidecar holds the metadata")]
    Kind,
    /// The disk said no.
    #[error("cannot be read: {0}")]
    Unreadable(String),
    /// Systems do not agree on what its name means.
    #[error("has a name that other systems read as a path; rename it")]
    Name,
    /// A file of more than is taken into memory.
    #[error("has more than {} MB, which is the limit of a copy; its sidecar holds the metadata", LARGEST >> 20)]
    TooLarge,
    /// A TIFF of more than 4 GB.
    #[error("is a BigTIFF; its sidecar holds the metadata")]
    Big,
    /// The file's structure breaks off or contradicts itself.
    #[error("is damaged ({0}); copy or scan it again")]
    Damaged(&'static str),
    /// Metadata in it cannot be read, so it cannot be kept.
    #[error("has XMP in it that cannot be read ({0}); its sidecar holds the metadata")]
    Foreign(String),
    /// It does not fit into a segment of a JPEG.
    #[error("has no room for the metadata; its sidecar holds it")]
    TooLong,
}

/// A scan's bytes with the metadata of its frame in them.
///
/// # Errors
/// [`EmbedError`] when the file is of another kind, or damaged.
pub fn embedded(scan: &[u8], roll: &Roll, frame: &Frame) -> Result<Vec<u8>, EmbedError> {
    let ours = properties(&roll.name, frame);
    let entries = exif::entries(&roll.name, frame);
    let merged = |theirs: Option<&[u8]>| match theirs {
        None => Ok(packet(&ours)),
        Some(xmp) => merge::merged(xmp, &ours),
    };
    match scan {
        [0xFF, 0xD8, 0xFF, ..] => jpeg::embedded(scan, &entries, merged),
        [b'I', b'I', 42, 0, ..] | [b'M', b'M', 0, 42, ..] => tiff::embedded(scan, &entries, merged),
        [b'I', b'I', 43, 0, ..] | [b'M', b'M', 0, 43, ..] => Err(EmbedError::Big),
        _ => Err(EmbedError::Kind),
    }
}

/// Writes a copy of every scan of the trip that can take metadata into `copies`,
/// under its path below `scans/`. Returns how many were written, and the scans
/// that were not, with why.
///
/// # Errors
/// [`OutputError`] when a copy cannot be written.
pub fn embed_all(
    trip: &Trip,
    trip_dir: &Path,
    copies: &OutDir,
) -> Result<(usize, Vec<(String, EmbedError)>), OutputError> {
    let (mut written, mut left) = (0, Vec::new());
    let scans = trip.rolls.iter().flat_map(|r| &r.frames).flat_map(|f| &f.scans);
    let folders: BTreeSet<&str> = scans.filter_map(|s| Some(s.rsplit_once('/')?.0)).collect();
    folders.into_iter().for_each(|folder| copies.sweep_in(folder));
    for roll in &trip.rolls {
        for (frame, scan) in roll.frames.iter().flat_map(|f| f.scans.iter().map(move |s| (f, s))) {
            let made = bytes_of(&trip_dir.join("scans").join(scan)).and_then(|bytes| embedded(&bytes, roll, frame));
            let made = made.and_then(|bytes| match copies.write(scan, &bytes) {
                Err(OutputError::BadName(_)) => Err(EmbedError::Name),
                written => Ok(written),
            });
            match made {
                Ok(Err(failed)) => return Err(failed),
                Ok(Ok(_)) => written += 1,
                Err(why) => left.push((format!("scans/{scan}"), why)),
            }
        }
    }
    Ok((written, left))
}

/// A scan's bytes, which are taken into memory whole.
fn bytes_of(scan: &Path) -> Result<Vec<u8>, EmbedError> {
    let unreadable = |e: std::io::Error| EmbedError::Unreadable(e.to_string());
    if std::fs::metadata(scan).map_err(unreadable)?.len() > LARGEST {
        return Err(EmbedError::TooLarge);
    }
    std::fs::read(scan).map_err(unreadable)
}
