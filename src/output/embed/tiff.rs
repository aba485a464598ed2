//! TIFF (revision 6.0, section 2): directories edited by writing them anew at
//! the end of the file. Nothing before them moves, so every offset to pixels
//! or to a maker's notes still holds.

use super::EmbedError;
use super::exif::{Directory, Entry, Value};

/// Tag of the XMP packet. Source: Adobe, XMP specification part 3, table 13.
const XMP: u16 = 700;
/// Tags that point to the Exif and GPS directories. Source: Exif 2.32, 4.6.3.
const EXIF: u16 = 0x8769;
const GPS: u16 = 0x8825;
/// More entries than any real directory has.
const MOST: usize = 4096;

/// A directory as it stands: entries of 12 bytes, and the offset of the next.
struct Raw {
    entries: Vec<[u8; 12]>,
    next: u32,
}

/// A file that grows at its end.
struct Growing {
    bytes: Vec<u8>,
    big_endian: bool,
}

/// The file with entries and packet in its first directory.
pub fn embedded(
    file: &[u8],
    entries: &[Entry],
    packet: impl Fn(Option<&[u8]>) -> Result<Vec<u8>, EmbedError>,
) -> Result<Vec<u8>, EmbedError> {
    let theirs = value_of(file, XMP)?;
    let xmp =
        Entry { directory: Directory::Image, tag: XMP, value: Value::Bytes(packet(theirs.as_deref())?), yields: false };
    let all: Vec<Entry> = entries.iter().cloned().chain([xmp]).collect();
    let made = with_entries(file, &all)?;
    // All but the pointer to the first directory is there byte for byte.
    if made.len() < file.len() || made[..4] != file[..4] || made[8..file.len()] != file[8..] {
        return Err(EmbedError::Damaged("a copy would not hold the same picture"));
    }
    Ok(made)
}

/// A TIFF with nothing in it, for a JPEG without Exif.
pub const EMPTY: &[u8] = &[b'M', b'M', 0, 42, 0, 0, 0, 8, 0, 0, 0, 0, 0, 0];

/// A file with entries added to its directories, or put in the place of those
/// with the same tag.
pub fn with_entries(file: &[u8], entries: &[Entry]) -> Result<Vec<u8>, EmbedError> {
    let mut out = Growing { bytes: file.to_vec(), big_endian: file.starts_with(b"MM") };
    let first = out.u32_at(4)? as usize;
    let mut image = out.directory(first)?;
    for (directory, pointer) in [(Directory::Exif, EXIF), (Directory::Gps, GPS)] {
        let ours: Vec<&Entry> = entries.iter().filter(|e| e.directory == directory).collect();
        if ours.is_empty() {
            continue;
        }
        let theirs = out.tag_of(&image, pointer).map(|e| out.u32_in(&e[8..])).map(|at| out.directory(at as usize));
        let raw = match (theirs.transpose()?, directory) {
            // A place is one value in many entries: it is replaced as a whole.
            (Some(raw), Directory::Exif) => raw,
            _ => Raw { entries: Vec::new(), next: 0 },
        };
        let at = out.append(raw, &ours)?;
        let link = Entry { directory: Directory::Image, tag: pointer, value: Value::Long(at), yields: false };
        out.set(&mut image, &link)?;
    }
    let ours: Vec<&Entry> = entries.iter().filter(|e| e.directory == Directory::Image).collect();
    let at = out.append(image, &ours)?;
    let at = out.u32(at);
    out.bytes[4..8].copy_from_slice(&at);
    Ok(out.bytes)
}

/// The bytes of an entry of the first directory.
fn value_of(file: &[u8], tag: u16) -> Result<Option<Vec<u8>>, EmbedError> {
    let source = Growing { bytes: file.to_vec(), big_endian: file.starts_with(b"MM") };
    let image = source.directory(source.u32_at(4)? as usize)?;
    let Some(entry) = source.tag_of(&image, tag) else { return Ok(None) };
    let length = source.u32_in(&entry[4..]) as usize;
    if length <= 4 {
        return Ok(Some(entry[8..8 + length].to_vec()));
    }
    let at = source.u32_in(&entry[8..]) as usize;
    let value = at.checked_add(length).and_then(|end| file.get(at..end));
    value.map(|v| Some(v.to_vec())).ok_or(EmbedError::Damaged("a value lies past its end"))
}

impl Growing {
    fn u16(&self, n: u16) -> [u8; 2] {
        if self.big_endian { n.to_be_bytes() } else { n.to_le_bytes() }
    }

    fn u32(&self, n: u32) -> [u8; 4] {
        if self.big_endian { n.to_be_bytes() } else { n.to_le_bytes() }
    }

    fn u16_in(&self, b: &[u8]) -> u16 {
        if self.big_endian { u16::from_be_bytes([b[0], b[1]]) } else { u16::from_le_bytes([b[0], b[1]]) }
    }

    fn u32_in(&self, b: &[u8]) -> u32 {
        let four = [b[0], b[1], b[2], b[3]];
        if self.big_endian { u32::from_be_bytes(four) } else { u32::from_le_bytes(four) }
    }

    fn u32_at(&self, at: usize) -> Result<u32, EmbedError> {
        self.bytes.get(at..at + 4).map(|b| self.u32_in(b)).ok_or(EmbedError::Damaged("it breaks off in its header"))
    }

    fn directory(&self, at: usize) -> Result<Raw, EmbedError> {
        let short = || EmbedError::Damaged("a directory lies past its end");
        let head = at.checked_add(2).and_then(|end| self.bytes.get(at..end)).ok_or_else(short)?;
        let count = usize::from(self.u16_in(head));
        if count > MOST {
            return Err(EmbedError::Damaged("a directory has too many entries"));
        }
        let body = self.bytes.get(at + 2..at + 2 + count * 12 + 4).ok_or_else(short)?;
        let entries = body[..count * 12].chunks_exact(12).map(|e| e.try_into().expect("chunks of 12")).collect();
        Ok(Raw { entries, next: self.u32_in(&body[count * 12..]) })
    }

    fn tag_of(&self, raw: &Raw, tag: u16) -> Option<[u8; 12]> {
        raw.entries.iter().copied().find(|e| self.u16_in(e) == tag)
    }

    /// Puts an entry in place of the one with its tag, its value at the end of
    /// the file when it does not fit into the entry.
    fn set(&mut self, raw: &mut Raw, entry: &Entry) -> Result<(), EmbedError> {
        let there = raw.entries.iter().position(|e| self.u16_in(e) == entry.tag);
        if entry.yields && there.is_some() {
            return Ok(());
        }
        let (kind, count, mut data) = self.encoded(&entry.value);
        if data.len() > 4 {
            let at = self.end()?;
            self.bytes.extend(&data);
            data = self.u32(at).to_vec();
        }
        data.resize(4, 0);
        let mut made = [0; 12];
        made[..2].copy_from_slice(&self.u16(entry.tag));
        made[2..4].copy_from_slice(&self.u16(kind));
        made[4..8].copy_from_slice(&self.u32(count));
        made[8..].copy_from_slice(&data);
        match there {
            Some(i) => raw.entries[i] = made,
            None => raw.entries.push(made),
        }
        Ok(())
    }

    /// Writes the directory with these entries at the end; gives its offset.
    fn append(&mut self, mut raw: Raw, entries: &[&Entry]) -> Result<u32, EmbedError> {
        for entry in entries {
            self.set(&mut raw, entry)?;
        }
        raw.entries.sort_by_key(|e| self.u16_in(e));
        let at = self.end()?;
        let count = self.u16(raw.entries.len() as u16);
        self.bytes.extend(count);
        raw.entries.iter().for_each(|e| self.bytes.extend(e));
        let next = self.u32(raw.next);
        self.bytes.extend(next);
        Ok(at)
    }

    /// The end of the file on an even offset, as TIFF asks for.
    fn end(&mut self) -> Result<u32, EmbedError> {
        if self.bytes.len() % 2 == 1 {
            self.bytes.push(0);
        }
        u32::try_from(self.bytes.len()).map_err(|_| EmbedError::Big)
    }

    /// Type, count and bytes. Source: TIFF 6.0, p. 15.
    fn encoded(&self, value: &Value) -> (u16, u32, Vec<u8>) {
        match value {
            Value::Bytes(b) => (1, b.len() as u32, b.clone()),
            Value::Ascii(t) => (2, t.len() as u32 + 1, [t.as_bytes(), &[0]].concat()),
            Value::Short(n) => (3, 1, self.u16(*n).to_vec()),
            Value::Long(n) => (4, 1, self.u32(*n).to_vec()),
            Value::Rationals(all) => {
                (5, all.len() as u32, all.iter().flat_map(|(n, d)| [self.u32(*n), self.u32(*d)]).flatten().collect())
            }
            Value::Undefined(b) => (7, b.len() as u32, b.clone()),
            Value::Signed(n, d) => (10, 1, [self.u32(*n as u32), self.u32(*d as u32)].concat()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_broken_file_is_an_error_and_no_panic() {
        let whole = with_entries(
            EMPTY,
            &[Entry {
                directory: Directory::Exif,
                tag: 0x829A,
                value: Value::Rationals(vec![(1, 125)]),
                yields: false,
            }],
        )
        .unwrap();
        for n in 0..whole.len() {
            let _ = embedded(&whole[..n], &[], |_| Ok(b"x".to_vec()));
        }
        let mut looping = whole.clone();
        looping[4..8].copy_from_slice(&u32::MAX.to_be_bytes());
        assert!(matches!(with_entries(&looping, &[]), Err(EmbedError::Damaged(_))));
    }
}
