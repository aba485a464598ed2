//! WebM and Matroska: elements inside elements (RFC 8794, RFC 9559).

use std::fs::File;
use std::io::{self, Seek, SeekFrom};

use super::{Ending, bytes_at, read_up_to};

const SEGMENT: u32 = 0x1853_8067;
const INFO: u32 = 0x1549_A966;
const CLUSTER: u32 = 0x1F43_B675;
const SCALE: u32 = 0x2A_D7B1;
const DURATION: u32 = 0x4489;
/// Nanoseconds of a tick, unless `TimestampScale` says otherwise.
const USUAL_SCALE: f64 = 1_000_000.0;
/// No more elements are looked at: a day of blocks a fiftieth of a second long has four million.
const MOST: usize = 1 << 23;

pub(super) fn ending(file: &mut File) -> io::Result<Ending> {
    let end = file.seek(SeekFrom::End(0))?;
    let mut found = Ending::default();
    let (mut scale, mut duration) = (USUAL_SCALE, None);
    let mut at = 0;
    for _ in 0..MOST {
        if at >= end {
            break;
        }
        let Some(Element { id, body, size }) = element(file, at)? else {
            // The head of an element is cut through.
            found.is_cut = end - at < 12;
            break;
        };
        let next = size.and_then(|s| body.checked_add(s));
        if next.is_some_and(|n| n > end) {
            found.is_cut = true;
        }
        at = match (id, next) {
            (SEGMENT | INFO, _) | (CLUSTER, None) => body,
            (_, None) => break,
            (_, Some(next)) => next,
        };
        match id {
            SCALE => scale = unsigned(file, body, size.unwrap_or(0))?,
            DURATION => duration = float(file, body, size.unwrap_or(0))?,
            _ => {}
        }
    }
    found.claimed_s = duration.map(|ticks| ticks * scale / 1e9).filter(|s| s.is_finite() && *s > 0.0);
    Ok(found)
}

struct Element {
    id: u32,
    body: u64,
    /// `None` while it is being written.
    size: Option<u64>,
}

fn element(file: &mut File, at: u64) -> io::Result<Option<Element>> {
    let mut head = [0; 12];
    let read = read_up_to(file, at, &mut head)?;
    let head = &head[..read];
    let Some(&first) = head.first() else { return Ok(None) };
    let id_length = first.leading_zeros() as usize + 1;
    let Some(id) = head.get(..id_length).filter(|_| id_length <= 4) else { return Ok(None) };
    let id = id.iter().fold(0, |id, b| id << 8 | u32::from(*b));
    let Some(&first) = head.get(id_length) else { return Ok(None) };
    let length = first.leading_zeros() as usize + 1;
    let Some(size) = head.get(id_length..id_length + length).filter(|_| length <= 8) else { return Ok(None) };
    let size = size.iter().fold(0_u64, |size, b| size << 8 | u64::from(*b));
    let mask = (1_u64 << (7 * length)) - 1;
    let size = size & mask;
    Ok(Some(Element { id, body: at + (id_length + length) as u64, size: (size != mask).then_some(size) }))
}

fn unsigned(file: &mut File, at: u64, size: u64) -> io::Result<f64> {
    let mut bytes = vec![0; size.min(8) as usize];
    read_up_to(file, at, &mut bytes)?;
    Ok(bytes.iter().fold(0_u64, |n, b| n << 8 | u64::from(*b)) as f64)
}

fn float(file: &mut File, at: u64, size: u64) -> io::Result<Option<f64>> {
    Ok(match size {
        4 => bytes_at::<4>(file, at)?.map(|b| f64::from(f32::from_be_bytes(b))),
        8 => bytes_at::<8>(file, at)?.map(f64::from_be_bytes),
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::super::ending_of;

    /// A header, a segment of unknown length, its duration of 2.5 s, and a cluster with one block of 20 bytes.
    fn live() -> Vec<u8> {
        let mut file = vec![0x1A, 0x45, 0xDF, 0xA3, 0x80];
        file.extend([0x18, 0x53, 0x80, 0x67, 0x01, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF]);
        file.extend([0x15, 0x49, 0xA9, 0x66, 0x8B, 0x44, 0x89, 0x88]);
        file.extend(2_500.0_f64.to_be_bytes());
        file.extend([0x1F, 0x43, 0xB6, 0x75, 0x01, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xA3, 0x94]);
        file.extend([0; 20]);
        file
    }

    #[test]
    fn a_block_cut_through_is_seen_and_the_length_is_read() {
        let whole = live();
        let found = ending_of(&whole);
        assert_eq!((found.is_cut, found.claimed_s), (false, Some(2.5)));
        for less in 1..22 {
            assert!(ending_of(&whole[..whole.len() - less]).is_cut || less > 20, "{less} bytes less");
        }
    }
}
