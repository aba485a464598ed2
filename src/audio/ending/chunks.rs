//! WAV, AIFF and CAF: chunks one after the other.
//!
//! Sources: the RIFF and IFF forms (a name, a length in 4 bytes, padding to an even place), EBU Tech 3306
//! (`RF64`, with the length in `ds64`), the Core Audio Format (lengths in 8 bytes).

use std::fs::File;
use std::io::{self, Seek, SeekFrom};

use super::{Ending, bytes_at};

/// Lengths that recorders write when they do not know yet: from here up they are no claim.
const UNKNOWN: u64 = 0x7FFF_0000;
const MOST: usize = 1 << 16;

pub(super) fn ending(file: &mut File, first: &[u8]) -> io::Result<Ending> {
    let end = file.seek(SeekFrom::End(0))?;
    let caf = first.starts_with(b"caff");
    let little = first.starts_with(b"RI") || first.starts_with(b"RF");
    let mut at = if caf { 8 } else { 12 };
    let mut wide = None;
    for _ in 0..MOST {
        let (kind, size, body) = if caf {
            let Some(head) = bytes_at::<12>(file, at)? else { break };
            (&head[..4].to_owned(), eight(&head[4..], false), at + 12)
        } else {
            let Some(head) = bytes_at::<8>(file, at)? else { break };
            let size = [head[4], head[5], head[6], head[7]];
            let size = if little { u32::from_le_bytes(size) } else { u32::from_be_bytes(size) };
            (&head[..4].to_owned(), u64::from(size), at + 8)
        };
        if kind == b"ds64" {
            wide = bytes_at::<16>(file, body)?.map(|b| eight(&b[8..], true));
        }
        let size = match wide {
            Some(wide) if kind == b"data" && size == u64::from(u32::MAX) => wide,
            _ => size,
        };
        let Some(next) = body.checked_add(size) else { break };
        if next > end {
            let is_sound = kind == b"data" || kind == b"SSND";
            let is_claim = if caf || wide.is_some() { size <= i64::MAX as u64 } else { size < UNKNOWN };
            return Ok(Ending { is_cut: is_sound && is_claim, ..Ending::default() });
        }
        at = if caf { next } else { next + next % 2 };
    }
    Ok(Ending::default())
}

fn eight(bytes: &[u8], little: bool) -> u64 {
    let mut all = [0; 8];
    all.copy_from_slice(&bytes[..8]);
    if little { u64::from_le_bytes(all) } else { u64::from_be_bytes(all) }
}

#[cfg(test)]
mod tests {
    use super::super::ending_of;

    #[test]
    fn sound_shorter_than_its_chunk_is_cut() {
        let riff =
            |size: u32| [b"RIFF\0\0\0\0WAVEfmt \x02\0\0\0xxdata".as_slice(), &size.to_le_bytes(), &[0; 20]].concat();
        assert!(!ending_of(&riff(20)).is_cut && ending_of(&riff(21)).is_cut);
        assert!(!ending_of(&riff(u32::MAX)).is_cut, "a recorder that did not know its length");
        let aiff = |size: u32| [b"FORM\0\0\0\0AIFFSSND".as_slice(), &size.to_be_bytes(), &[0; 20]].concat();
        assert!(!ending_of(&aiff(20)).is_cut && ending_of(&aiff(24)).is_cut);
        let caf = |size: i64| [b"caff\0\x01\0\0data".as_slice(), &size.to_be_bytes(), &[0; 20]].concat();
        assert!(!ending_of(&caf(20)).is_cut && ending_of(&caf(21)).is_cut && !ending_of(&caf(-1)).is_cut);
    }
}
