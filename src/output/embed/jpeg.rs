//! JPEG (ITU-T T.81, annex B): the segments before the scan. Exif and XMP are
//! put right after the opening ones; everything else, and all from the first
//! scan on, is carried over byte for byte.

use super::exif::Entry;
use super::{EmbedError, tiff};

const APP0: u8 = 0xE0;
const APP1: u8 = 0xE1;
/// Start of scan.
const SOS: u8 = 0xDA;
const EXIF: &[u8] = b"Exif\0\0";
/// Source: Adobe, XMP specification part 3, 1.1.3.
const XMP: &[u8] = b"http://ns.adobe.com/xap/1.0/\0";

/// The file with entries and packet in segments of their own.
pub fn embedded(
    file: &[u8],
    entries: &[Entry],
    packet: impl Fn(Option<&[u8]>) -> Result<Vec<u8>, EmbedError>,
) -> Result<Vec<u8>, EmbedError> {
    let (segments, scan) = split(file)?;
    let ours = |head: &'static [u8]| move |s: &&(u8, &[u8])| s.0 == APP1 && s.1.starts_with(head);
    let find = |head: &'static [u8]| segments.iter().find(ours(head)).map(|s| &s.1[head.len()..]);
    let exif = match find(EXIF) {
        Some(theirs) if theirs.starts_with(b"II*\0") || theirs.starts_with(b"MM\0*") => {
            tiff::with_entries(theirs, entries)?
        }
        Some(_) => return Err(EmbedError::Damaged("its Exif has no header")),
        None => tiff::with_entries(tiff::EMPTY, entries)?,
    };
    let xmp = packet(find(XMP))?;
    let mut out = vec![0xFF, 0xD8];
    // JFIF wants to be first (JFIF 1.02, p. 2).
    let opening = segments.iter().take_while(|s| s.0 == APP0).count();
    let kept = |s: &&(u8, &[u8])| !ours(EXIF)(s) && !ours(XMP)(s);
    segments[..opening].iter().try_for_each(|(marker, body)| segment(&mut out, *marker, &[body]))?;
    segment(&mut out, APP1, &[EXIF, &exif])?;
    segment(&mut out, APP1, &[XMP, &xmp])?;
    segments[opening..].iter().filter(kept).try_for_each(|(marker, body)| segment(&mut out, *marker, &[body]))?;
    out.extend(scan);
    // Tables and frame header are segments, the rest is the scan: all there, in order.
    let (made, made_scan) = split(&out)?;
    let picture = |all: &[(u8, &[u8])]| {
        all.iter().filter(|s| !(0xE0..=0xEF).contains(&s.0)).map(|s| s.1.to_vec()).collect::<Vec<_>>()
    };
    if made_scan != scan || picture(&made) != picture(&segments) {
        return Err(EmbedError::Damaged("a copy would not hold the same picture"));
    }
    Ok(out)
}

type Segments<'a> = Vec<(u8, &'a [u8])>;

/// Segments with their markers up to the first scan, and all from there on.
fn split(file: &[u8]) -> Result<(Segments<'_>, &[u8]), EmbedError> {
    let short = || EmbedError::Damaged("it breaks off before its picture");
    let mut segments = Vec::new();
    let mut at = 2;
    loop {
        match file.get(at..at + 2).ok_or_else(short)? {
            [0xFF, 0xFF] => at += 1, // padding
            [0xFF, SOS] => return Ok((segments, &file[at..])),
            [0xFF, marker] if !matches!(marker, 0 | 0x01 | 0xD0..=0xD9) => {
                let length = file.get(at + 2..at + 4).ok_or_else(short)?;
                let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
                let body = if length < 2 { None } else { file.get(at + 4..at + 2 + length) };
                segments.push((*marker, body.ok_or_else(short)?));
                at += 2 + length;
            }
            _ => return Err(EmbedError::Damaged("a marker is missing")),
        }
    }
}

fn segment(out: &mut Vec<u8>, marker: u8, parts: &[&[u8]]) -> Result<(), EmbedError> {
    let length: usize = 2 + parts.iter().map(|p| p.len()).sum::<usize>();
    let length = u16::try_from(length).map_err(|_| EmbedError::TooLong)?;
    out.extend([0xFF, marker]);
    out.extend(length.to_be_bytes());
    parts.iter().for_each(|p| out.extend(*p));
    Ok(())
}
