//! MP4, QuickTime and 3GP: boxes one after the other (ISO/IEC 14496-12).
//!
//! A recording written in pieces (`moof` and `mdat`) has no length in its `mvhd`; it may have one
//! in `mehd` or in a `sidx` before the pieces.

use std::fs::File;
use std::io::{self, Seek, SeekFrom};

use super::{Ending, bytes_at};

/// No more than so many bytes behind the last box are padding, and no damage. A guess.
const PADDING: u64 = 1 << 12;
/// No more boxes are looked at.
const MOST: usize = 1 << 20;

pub(super) fn ending(file: &mut File) -> io::Result<Ending> {
    let end = file.seek(SeekFrom::End(0))?;
    let mut found = Ending { no_index: true, ..Ending::default() };
    let mut pieces_s = 0.0;
    let mut at = 0;
    for _ in 0..MOST {
        let Some(Box { kind, body, next }) = box_at(file, at, end)? else { break };
        if !kind.iter().all(|b| b.is_ascii_graphic() || *b == b' ' || *b == 0xA9) {
            found.is_cut |= end - at > PADDING;
            break;
        }
        match &kind {
            b"moov" => {
                found.no_index = false;
                found.claimed_s = fragments_s(file, body, next.min(end))?;
            }
            b"sidx" => pieces_s += segments_s(file, body)?.unwrap_or(0.0),
            _ => {}
        }
        if next > end {
            found.is_cut = true;
            found.no_index |= &kind == b"moov";
            found.claimed_bytes = Some(next);
            break;
        }
        at = next;
    }
    if pieces_s > 0.0 {
        found.claimed_s = found.claimed_s.or(Some(pieces_s));
    }
    Ok(found)
}

struct Box {
    kind: [u8; 4],
    body: u64,
    next: u64,
}

fn box_at(file: &mut File, at: u64, end: u64) -> io::Result<Option<Box>> {
    let Some(head) = bytes_at::<8>(file, at)? else { return Ok(None) };
    let (size, kind) = (u32_of(&head, 0), [head[4], head[5], head[6], head[7]]);
    let (size, head) = match size {
        0 => (end - at, 8),
        1 => match bytes_at::<8>(file, at + 8)? {
            Some(wide) => (u64::from_be_bytes(wide), 16),
            None => return Ok(None),
        },
        n => (u64::from(n), 8),
    };
    let next = at.checked_add(size).filter(|_| size >= head);
    Ok(next.map(|next| Box { kind, body: at + head, next }))
}

/// `moov` → `mvex` → `mehd`: the length of all pieces, in the units of `mvhd`.
fn fragments_s(file: &mut File, from: u64, to: u64) -> io::Result<Option<f64>> {
    let Some(mvex) = child(file, from, to, b"mvex")? else { return Ok(None) };
    let (Some(mehd), Some(mvhd)) =
        (child(file, mvex.body, mvex.next.min(to), b"mehd")?, child(file, from, to, b"mvhd")?)
    else {
        return Ok(None);
    };
    let scale_at = if bytes_at::<1>(file, mvhd.body)? == Some([1]) { 20 } else { 12 };
    let Some(scale) = bytes_at::<4>(file, mvhd.body + scale_at)?.map(u32::from_be_bytes) else { return Ok(None) };
    let length = match bytes_at::<1>(file, mehd.body)? {
        Some([1]) => bytes_at::<8>(file, mehd.body + 4)?.map(u64::from_be_bytes),
        _ => bytes_at::<4>(file, mehd.body + 4)?.map(|b| u64::from(u32::from_be_bytes(b))),
    };
    Ok(length.filter(|l| *l > 0 && scale > 0).map(|l| l as f64 / f64::from(scale)))
}

fn child(file: &mut File, from: u64, to: u64, kind: &[u8; 4]) -> io::Result<Option<Box>> {
    let mut at = from;
    while at < to {
        let Some(b) = box_at(file, at, to)? else { return Ok(None) };
        if &b.kind == kind {
            return Ok(Some(b));
        }
        at = b.next;
    }
    Ok(None)
}

/// The seconds that a `sidx` lists, when all it lists is media.
fn segments_s(file: &mut File, body: u64) -> io::Result<Option<f64>> {
    let Some(head) = bytes_at::<12>(file, body)? else { return Ok(None) };
    let (wide, scale) = (head[0] == 1, u32_of(&head, 8));
    let list = body + 12 + if wide { 16 } else { 8 };
    let Some(count) = bytes_at::<4>(file, list)?.map(|b| u16::from_be_bytes([b[2], b[3]])) else { return Ok(None) };
    let mut ticks = 0_u64;
    for i in 0..u64::from(count) {
        let Some(entry) = bytes_at::<8>(file, list + 4 + i * 12)? else { return Ok(None) };
        if entry[0] & 0x80 != 0 {
            return Ok(None);
        }
        ticks += u64::from(u32_of(&entry, 4));
    }
    Ok((scale > 0).then(|| ticks as f64 / f64::from(scale)))
}

fn u32_of(bytes: &[u8], at: usize) -> u32 {
    u32::from_be_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]])
}

#[cfg(test)]
mod tests {
    use super::super::{Ending, ending_of};

    fn boxed(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
        [&(body.len() as u32 + 8).to_be_bytes(), kind.as_slice(), body].concat()
    }

    #[test]
    fn a_box_that_goes_on_behind_the_end_is_cut() {
        let whole = [boxed(b"ftyp", b"isom\0\0\0\0"), boxed(b"moov", b""), boxed(b"mdat", &[0; 50])].concat();
        assert_eq!(ending_of(&whole), Ending::default());
        assert!(ending_of(&whole[..whole.len() - 1]).is_cut);
        // Padding behind the recording is no part of it.
        assert!(!ending_of(&[whole.clone(), vec![0xFF; 20]].concat()).is_cut);
        assert!(ending_of(&[whole, vec![0xFF; 5_000]].concat()).is_cut, "most of a recording in pieces is noise");
    }

    #[test]
    fn without_its_index_a_recording_was_not_finished() {
        let cut = [boxed(b"ftyp", b"isom\0\0\0\0"), boxed(b"mdat", &[0; 50])].concat();
        assert!(ending_of(&cut).no_index && !ending_of(&cut).is_cut);
        let begun = [cut, boxed(b"moov", &[0; 50])].concat();
        assert!(!ending_of(&begun).no_index && ending_of(&begun[..begun.len() - 1]).no_index);
    }

    #[test]
    fn pieces_tell_their_length_beforehand() {
        let mut mvhd = vec![0; 100];
        mvhd[12..16].copy_from_slice(&1000_u32.to_be_bytes());
        let mehd = boxed(b"mehd", &[&[0; 4][..], &12_500_u32.to_be_bytes()].concat());
        let moov = boxed(b"moov", &[boxed(b"mvhd", &mvhd), boxed(b"mvex", &mehd)].concat());
        let file = [boxed(b"ftyp", b"isom\0\0\0\0"), moov].concat();
        assert_eq!(ending_of(&file).claimed_s, Some(12.5));
    }
}
