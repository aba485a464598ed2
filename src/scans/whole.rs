//! Whether a picture file ends where it says. Decoders leave what is missing grey and say nothing.
//!
//! Sources: ITU-T T.81 (JPEG markers), the PNG specification (chunks), TIFF 6.0 (strips and tiles).

use std::io::{self, BufRead, Seek, SeekFrom};

use tiff::decoder::Decoder;
use tiff::tags::Tag;

/// True when a JPEG, PNG or TIFF lacks its end, or a part of its picture lies behind it. What is damaged in
/// other ways, or is another kind of file, is not judged.
pub fn is_cut_short(from: &mut (impl BufRead + Seek)) -> bool {
    let mut first = [0; 8];
    let read = from.rewind().and_then(|()| from.read_exact(&mut first));
    let cut = match (read, &first) {
        (Err(_), _) => return false,
        (_, [0xFF, 0xD8, ..]) => jpeg(from),
        (_, [0x89, b'P', b'N', b'G', ..]) => png(from),
        (_, [b'I', b'I', ..] | [b'M', b'M', ..]) => tiff(from),
        _ => return false,
    };
    match cut {
        Ok(cut) => cut,
        Err(e) => e.kind() == io::ErrorKind::UnexpectedEof,
    }
}

/// Segments with their lengths up to a scan; a scan up to the next marker; at last the end of the image.
fn jpeg(from: &mut (impl BufRead + Seek)) -> io::Result<bool> {
    const SCAN: u8 = 0xDA;
    const END: u8 = 0xD9;
    from.seek(SeekFrom::Start(2))?;
    let mut marker = next_marker(from)?;
    loop {
        match marker {
            END => return Ok(false),
            // Markers that stand alone.
            0x01 | 0xD0..=0xD8 => {}
            _ => {
                let mut length = [0; 2];
                from.read_exact(&mut length)?;
                let length = i64::from(u16::from_be_bytes(length));
                if length < 2 {
                    return Ok(false); // damage, which the decoder meets too
                }
                from.seek_relative(length - 2)?;
                if marker == SCAN {
                    marker = behind_scan(from)?;
                    continue;
                }
            }
        }
        marker = next_marker(from)?;
    }
}

fn byte(from: &mut impl BufRead) -> io::Result<u8> {
    let mut one = [0];
    from.read_exact(&mut one)?;
    Ok(one[0])
}

fn next_marker(from: &mut impl BufRead) -> io::Result<u8> {
    while byte(from)? != 0xFF {}
    loop {
        match byte(from)? {
            0xFF => {}
            marker => return Ok(marker),
        }
    }
}

/// In a scan, `FF` is followed by 0 or a restart, or the scan is over.
fn behind_scan(from: &mut impl BufRead) -> io::Result<u8> {
    loop {
        let room = from.fill_buf()?;
        if room.is_empty() {
            return Err(io::ErrorKind::UnexpectedEof.into());
        }
        match room.iter().position(|b| *b == 0xFF) {
            None => {
                let n = room.len();
                from.consume(n);
            }
            Some(at) => {
                from.consume(at + 1);
                match byte(from)? {
                    0 | 0xD0..=0xD7 => {}
                    0xFF => return next_after_fill(from),
                    marker => return Ok(marker),
                }
            }
        }
    }
}

fn next_after_fill(from: &mut impl BufRead) -> io::Result<u8> {
    loop {
        match byte(from)? {
            0xFF => {}
            0 => return behind_scan(from),
            marker => return Ok(marker),
        }
    }
}

fn png(from: &mut (impl BufRead + Seek)) -> io::Result<bool> {
    let end = from.seek(SeekFrom::End(0))?;
    let mut at = from.seek(SeekFrom::Start(8))?;
    loop {
        let mut head = [0; 8];
        from.read_exact(&mut head)?;
        let length = u32::from_be_bytes([head[0], head[1], head[2], head[3]]);
        at += 12 + u64::from(length);
        if at > end {
            return Ok(true);
        }
        if &head[4..] == b"IEND" {
            return Ok(false);
        }
        from.seek(SeekFrom::Start(at))?;
    }
}

/// The first picture's strips or tiles must lie in the file.
fn tiff(from: &mut (impl BufRead + Seek)) -> io::Result<bool> {
    let end = from.seek(SeekFrom::End(0))?;
    from.rewind()?;
    let Ok(mut decoder) = Decoder::new(from) else { return Ok(false) };
    let mut list = |tag| decoder.find_tag_unsigned_vec::<u64>(tag).ok().flatten();
    let (offsets, counts) = match list(Tag::StripOffsets) {
        Some(offsets) => (offsets, list(Tag::StripByteCounts)),
        None => (list(Tag::TileOffsets).unwrap_or_default(), list(Tag::TileByteCounts)),
    };
    let parts = offsets.into_iter().zip(counts.unwrap_or_default());
    Ok(parts.into_iter().any(|(at, length)| at.saturating_add(length) > end))
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use image::{DynamicImage, GrayImage, ImageFormat, Luma};

    use super::*;

    /// Cut anywhere behind its first kilobyte, a picture is told to be cut, and whole it is not.
    #[test]
    fn a_picture_cut_anywhere_is_told() {
        let grain = GrayImage::from_fn(120, 90, |x, y| Luma([(x * 37 + y * 91 + x * y * 13) as u8]));
        for format in [ImageFormat::Jpeg, ImageFormat::Png] {
            let mut bytes = Cursor::new(Vec::new());
            DynamicImage::ImageLuma8(grain.clone()).write_to(&mut bytes, format).unwrap();
            let whole = bytes.into_inner();
            assert!(!is_cut_short(&mut Cursor::new(&whole)), "{format:?}");
            for length in (20..whole.len()).step_by(97).chain([whole.len() - 1]) {
                assert!(is_cut_short(&mut Cursor::new(&whole[..length])), "{format:?}, {length} of {}", whole.len());
            }
            // What cameras write behind the picture is no part of it.
            assert!(!is_cut_short(&mut Cursor::new(&[whole, vec![0; 500]].concat())), "{format:?}");
        }
    }
}
