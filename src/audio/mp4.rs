//! What MP4, QuickTime and 3GP files say about themselves, box by box.
//!
//! Sources: ISO/IEC 14496-12 (`mvhd`, boxes, `meta`), the QuickTime File Format
//! (`©xyz`, `keys` with `ilst`, seconds from 1904 in UTC), 3GPP TS 26.244 (`loci`).

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};

use jiff::Timestamp;

use super::iso6709;
use crate::facts::Position;

/// Seconds from 1904-01-01, where these times begin, to 1970-01-01.
const TO_1970: i64 = 2_082_844_800;
/// No text or header of interest is longer.
const LONGEST: u64 = 1 << 16;

/// What was found; any of it may be missing.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Movie {
    /// From `mvhd`, UTC.
    pub created: Option<Timestamp>,
    /// From the key `com.apple.quicktime.creationdate`, local with offset.
    pub created_local: Option<String>,
    pub position: Option<Position>,
    pub length_s: Option<f64>,
}

/// True when the file begins as these files do.
pub(super) fn is_mp4(first: &[u8]) -> bool {
    matches!(first.get(4..8), Some(b"ftyp" | b"moov" | b"mdat" | b"wide" | b"free" | b"skip"))
}

/// Reads the boxes of interest. What is damaged is passed over.
pub(super) fn read(file: &mut File) -> Movie {
    let mut movie = Movie::default();
    let end = file.seek(SeekFrom::End(0)).unwrap_or(0);
    let mut keys = Vec::new();
    // An error ends the walk; what was found before stays.
    let _ = walk(file, 0, end, &[], &mut keys, &mut movie);
    movie
}

fn walk(
    file: &mut File,
    mut at: u64,
    end: u64,
    inside: &[[u8; 4]],
    keys: &mut Vec<String>,
    movie: &mut Movie,
) -> io::Result<()> {
    while at + 8 <= end {
        file.seek(SeekFrom::Start(at))?;
        let (mut size, kind, mut head) = (u64::from(u32::from_be_bytes(read_4(file)?)), read_4(file)?, 8);
        match size {
            0 => size = end - at,
            1 => {
                let mut wide = [0; 8];
                file.read_exact(&mut wide)?;
                (size, head) = (u64::from_be_bytes(wide), 16);
            }
            _ => {}
        }
        if size < head || size > end - at {
            return Ok(());
        }
        let (from, to) = (at + head, at + size);
        at = to;
        match &kind {
            b"moov" | b"udta" | b"ilst" if inside.len() < 4 => {
                walk(file, from, to, &[inside, &[kind]].concat(), keys, movie)?;
            }
            b"meta" if inside.len() < 4 => {
                // ISO puts a version before the boxes, QuickTime does not.
                let skip = if read_4(file)? == [0; 4] { 4 } else { 0 };
                walk(file, from + skip, to, &[inside, &[kind]].concat(), keys, movie)?;
            }
            _ if to - from > LONGEST => {}
            _ => {
                let mut body = vec![0; (to - from) as usize];
                file.read_exact(&mut body)?;
                leaf(&kind, &body, inside, keys, movie);
            }
        }
    }
    Ok(())
}

fn read_4(file: &mut File) -> io::Result<[u8; 4]> {
    let mut b = [0; 4];
    file.read_exact(&mut b)?;
    Ok(b)
}

fn leaf(kind: &[u8; 4], body: &[u8], inside: &[[u8; 4]], keys: &mut Vec<String>, movie: &mut Movie) {
    match kind {
        b"mvhd" => mvhd(body, movie),
        // Length of the text in two bytes, then the language in two.
        b"\xa9xyz" => movie.position = movie.position.or_else(|| iso6709::position(text(body.get(4..)?))),
        b"loci" => movie.position = movie.position.or_else(|| loci(body)),
        b"keys" => *keys = names(body).unwrap_or_default(),
        _ if inside.last() == Some(b"ilst") => {
            let index = u32::from_be_bytes(*kind) as usize;
            let name = index.checked_sub(1).and_then(|i| keys.get(i)).map(String::as_str);
            // A `data` box: size, name, type, locale, then the text.
            let Some(value) = body.get(16..).map(text) else { return };
            match name {
                Some("com.apple.quicktime.location.ISO6709" | "location") => {
                    movie.position = iso6709::position(value).or(movie.position);
                }
                Some("creation_time") => movie.created = movie.created.or_else(|| value.parse().ok()),
                Some("com.apple.quicktime.creationdate") => movie.created_local = Some(value.to_owned()),
                _ if kind == b"\xa9xyz" => movie.position = movie.position.or_else(|| iso6709::position(value)),
                _ => {}
            }
        }
        _ => {}
    }
}

fn mvhd(body: &[u8], movie: &mut Movie) {
    let u32_at = |i: usize| Some(u32::from_be_bytes(body.get(i..i + 4)?.try_into().ok()?));
    let u64_at = |i: usize| Some(u64::from_be_bytes(body.get(i..i + 8)?.try_into().ok()?));
    let (created, scale, length) = match body.first() {
        Some(1) => (u64_at(4), u32_at(20), u64_at(24)),
        _ => (u32_at(4).map(u64::from), u32_at(12), u32_at(16).map(u64::from)),
    };
    let plausible = |t: &Timestamp| (946_684_800..4_102_444_800).contains(&t.as_second()); // 2000 to 2100
    movie.created = created
        .and_then(|s| i64::try_from(s).ok())
        .and_then(|s| Timestamp::from_second(s - TO_1970).ok())
        .filter(plausible);
    movie.length_s = match (length, scale) {
        (Some(l), Some(s)) if s > 0 && l > 0 && l < u64::from(u32::MAX) => Some(l as f64 / f64::from(s)),
        _ => None,
    };
}

/// Version, language, a name ended by zero, a role, then longitude and latitude in 16.16 bits.
fn loci(body: &[u8]) -> Option<Position> {
    let name = body.get(6..)?;
    let after = if name.starts_with(&[0xFE, 0xFF]) || name.starts_with(&[0xFF, 0xFE]) {
        name.chunks_exact(2).position(|c| c == [0, 0])? * 2 + 2
    } else {
        name.iter().position(|b| *b == 0)? + 1
    };
    let rest = name.get(after + 1..)?;
    let fixed = |i: usize| Some(f64::from(i32::from_be_bytes(rest.get(i..i + 4)?.try_into().ok()?)) / 65_536.0);
    Position::new(fixed(4)?, fixed(0)?)
}

/// Version, count, then for each its size, its kind and its name.
fn names(body: &[u8]) -> Option<Vec<String>> {
    let mut rest = body.get(8..)?;
    let mut all = Vec::new();
    while let Some(size) = rest.get(..4) {
        let size = u32::from_be_bytes(size.try_into().ok()?) as usize;
        all.push(text(rest.get(8..size)?).to_owned());
        rest = &rest[size..];
    }
    Some(all)
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap_or_default().trim_matches(['\0', ' '])
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    fn boxed(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
        [&(body.len() as u32 + 8).to_be_bytes(), kind.as_slice(), body].concat()
    }

    fn read_bytes(bytes: &[u8]) -> Movie {
        let mut file = tempfile::tempfile().unwrap();
        file.write_all(bytes).unwrap();
        read(&mut file)
    }

    fn movie_header(created: u32) -> Vec<u8> {
        let mut body = vec![0; 100];
        body[4..8].copy_from_slice(&created.to_be_bytes());
        body[12..16].copy_from_slice(&600u32.to_be_bytes());
        body[16..20].copy_from_slice(&4_500u32.to_be_bytes());
        boxed(b"mvhd", &body)
    }

    /// 3 833 079 302 s from 1904 are 1 750 234 502 s from 1970; `date -u -d @1750234502` says 08:15:02.
    #[test]
    fn time_length_and_place() {
        let place = boxed(b"\xa9xyz", b"\x00\x12\x15\xc7+54.1234-002.5000/");
        let moov = boxed(b"moov", &[movie_header(3_833_079_302), boxed(b"udta", &place)].concat());
        let movie = read_bytes(&[boxed(b"ftyp", b"isom\0\0\0\0"), boxed(b"mdat", &[0; 50]), moov].concat());
        assert_eq!(movie.created.unwrap().to_string(), "2025-06-18T08:15:02Z");
        assert_eq!(movie.length_s, Some(7.5));
        assert_eq!(movie.position, Position::new(54.1234, -2.5));
    }

    #[test]
    fn keys_and_their_values() {
        let name = b"com.apple.quicktime.creationdate";
        let key = [&(name.len() as u32 + 8).to_be_bytes(), b"mdta".as_slice(), name].concat();
        let keys = boxed(b"keys", &[&[0, 0, 0, 0, 0, 0, 0, 1], key.as_slice()].concat());
        let data = boxed(b"data", b"\0\0\0\x01\0\0\0\x002025-06-18T09:15:02+0100");
        let ilst = boxed(b"ilst", &boxed(&[0, 0, 0, 1], &data));
        let movie = read_bytes(&boxed(b"moov", &boxed(b"meta", &[keys, ilst].concat())));
        assert_eq!(movie.created_local.as_deref(), Some("2025-06-18T09:15:02+0100"));
    }

    #[test]
    fn the_place_of_a_3gp_file() {
        let mut body = b"\0\0\0\0\x15\xc7pier\0\0".to_vec();
        body.extend((-5i32 * 32_768).to_be_bytes()); // −2.5 in 16.16 bits
        body.extend((433i32 * 8_192).to_be_bytes()); // 54.125
        let movie = read_bytes(&boxed(b"moov", &boxed(b"udta", &boxed(b"loci", &body))));
        assert_eq!(movie.position, Position::new(54.125, -2.5));
    }

    #[test]
    fn times_never_set_are_not_known() {
        assert_eq!(read_bytes(&boxed(b"moov", &movie_header(0))).created, None);
        assert_eq!(read_bytes(&boxed(b"moov", &movie_header(1_000))).created, None);
    }

    #[test]
    fn damage_ends_the_walk_quietly() {
        let whole = boxed(b"moov", &[movie_header(3_833_079_302), boxed(b"udta", b"xx")].concat());
        for cut in 0..whole.len() {
            read_bytes(&whole[..cut]);
        }
        assert_eq!(read_bytes(&[0xFF; 64]), Movie::default());
    }
}
