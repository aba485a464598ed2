//! MP3 and AAC without a container: frames one after the other, each with its length in its head.
//!
//! Sources: ISO/IEC 11172-3 and 13818-3 (MPEG audio heads, bit rates and rates), 14496-3 (ADTS). The
//! `Xing` and `VBRI` tags, which say how many frames there are, are described in public articles; from memory.

use std::fs::File;
use std::io::{self, BufReader, Read, Seek, SeekFrom};

use super::{Ending, read_up_to};

/// Kilobits a second, layer III, version 1; then versions 2 and 2.5.
const BIT_RATES: [[u32; 15]; 2] = [
    [0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320],
    [0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160],
];
/// Samples a second of version 1; the others have a half and a quarter.
const RATES: [u32; 3] = [44_100, 48_000, 32_000];

/// What may stand behind the last frame.
const TAGS: [&[u8]; 4] = [b"TAG", b"APETAGE", b"LYRICS", b"ID3"];
/// So many bytes that are no frame are left by writers of tags, and no damage. A guess.
const MOST_TAG: u64 = 1 << 12;

pub(super) fn ending(file: &mut File) -> io::Result<Ending> {
    let end = file.seek(SeekFrom::End(0))?;
    let start = after_tag(file)?;
    let mut first = vec![0; 1 << 12];
    let read = read_up_to(file, start, &mut first)?;
    first.truncate(read);
    match first[..] {
        [0xFF, b, ..] if b & 0xF6 == 0xF0 => walk(file, start, end, adts),
        [0xFF, b, ..] if b & 0xE0 == 0xE0 => {
            let Some(frame) = layer_3(&first) else { return Ok(Ending::default()) };
            match told(&first) {
                Some(Told { frames, bytes }) => {
                    let claimed = f64::from(frames) * f64::from(frame.samples) / f64::from(frame.rate);
                    let is_cut = bytes.is_some_and(|n| start + u64::from(n) > end);
                    Ok(Ending { claimed_s: Some(claimed).filter(|s| *s > 0.0), is_cut, ..Ending::default() })
                }
                None => walk(file, start, end, |h| layer_3(h).map(|f| f.bytes)),
            }
        }
        _ => Ok(Ending::default()),
    }
}

/// Where an `ID3` tag ends: ten bytes, and a length of seven bits a byte.
fn after_tag(file: &mut File) -> io::Result<u64> {
    let mut head = [0; 10];
    if read_up_to(file, 0, &mut head)? < 10 || &head[..3] != b"ID3" {
        return Ok(0);
    }
    let length = head[6..].iter().fold(0_u64, |n, b| n << 7 | u64::from(b & 0x7F));
    Ok(10 + length + if head[5] & 0x10 != 0 { 10 } else { 0 })
}

/// Goes from head to head. Cut, when the last frame goes on behind the end.
fn walk(file: &mut File, start: u64, end: u64, length: impl Fn(&[u8]) -> Option<u64>) -> io::Result<Ending> {
    file.seek(SeekFrom::Start(start))?;
    let mut from = BufReader::with_capacity(1 << 16, file);
    let mut at = start;
    while at + 7 <= end {
        let mut head = [0; 7];
        from.read_exact(&mut head)?;
        let Some(n) = length(&head).filter(|n| *n >= 7) else {
            // Tags may stand behind the last frame; anything else there is damage.
            let tag = TAGS.iter().any(|t| head.starts_with(t));
            return Ok(Ending { faults: usize::from(!tag && end - at > MOST_TAG), ..Ending::default() });
        };
        at += n;
        if at > end {
            return Ok(Ending { is_cut: true, ..Ending::default() });
        }
        from.seek_relative(n as i64 - 7)?;
    }
    Ok(Ending { is_cut: at < end && end - at < 7 && at > start, ..Ending::default() })
}

struct Frame {
    bytes: u64,
    samples: u32,
    rate: u32,
}

fn layer_3(head: &[u8]) -> Option<Frame> {
    let &[0xFF, b, c, ..] = head else { return None };
    let (version, layer) = (b >> 3 & 3, b >> 1 & 3);
    if b & 0xE0 != 0xE0 || version == 1 || layer != 1 {
        return None;
    }
    let first = version == 3;
    let kilobits = *BIT_RATES[usize::from(!first)].get(usize::from(c >> 4))?;
    let rate = RATES.get(usize::from(c >> 2 & 3))? >> [2, 0, 1, 0][usize::from(version)];
    let samples = if first { 1152 } else { 576 };
    let bytes = samples / 8 * kilobits * 1000 / rate + u32::from(c >> 1 & 1);
    (kilobits > 0).then_some(Frame { bytes: u64::from(bytes), samples, rate })
}

/// What the first frame tells of all.
struct Told {
    frames: u32,
    /// From that frame on.
    bytes: Option<u32>,
}

fn told(first: &[u8]) -> Option<Told> {
    let number = |at: usize| Some(u32::from_be_bytes(first.get(at..at + 4)?.try_into().ok()?));
    // Behind the side information, which is 9 to 32 bytes.
    let at = (13..=36).find(|at| matches!(first.get(*at..at + 4), Some(b"Xing" | b"Info")));
    if let Some(at) = at {
        let has = number(at + 4)?;
        let bytes = if has & 2 != 0 { number(at + 12) } else { None };
        return (has & 1 != 0).then(|| Some(Told { frames: number(at + 8)?, bytes })).flatten();
    }
    (first.get(36..40) == Some(b"VBRI")).then(|| Some(Told { frames: number(50)?, bytes: number(46) })).flatten()
}

fn adts(head: &[u8]) -> Option<u64> {
    let &[0xFF, b, _, d, e, f, ..] = head else { return None };
    (b & 0xF6 == 0xF0).then(|| u64::from(d & 3) << 11 | u64::from(e) << 3 | u64::from(f >> 5))
}

#[cfg(test)]
mod tests {
    use super::super::ending_of;

    /// 128 kbit/s at 44.1 kHz without padding: 144 × 128000 / 44100 = 417 bytes.
    fn frame() -> Vec<u8> {
        let mut frame = vec![0; 417];
        frame[..4].copy_from_slice(&[0xFF, 0xFB, 0x90, 0x00]);
        frame
    }

    #[test]
    fn a_last_frame_cut_through_is_seen() {
        let whole = [b"ID3\x04\0\0\0\0\0\x05xxxxx".to_vec(), frame(), frame(), frame()].concat();
        assert!(!ending_of(&whole).is_cut);
        for less in [1, 5, 200, 416] {
            assert!(ending_of(&whole[..whole.len() - less]).is_cut, "{less} bytes less");
        }
        assert!(!ending_of(&[whole.clone(), b"TAG and a title".to_vec()].concat()).is_cut);
        let holed = [&whole[..700], &vec![0; 5_000]].concat();
        assert_eq!((ending_of(&holed).faults, ending_of(&whole).faults), (1, 0));
    }

    #[test]
    fn the_first_frame_tells_how_many_there_are() {
        let mut first = frame();
        first[36..52].copy_from_slice(b"Xing\0\0\0\x03\0\0\x00\x64\0\0\x03\x42");
        // 100 frames of 1152 samples at 44.1 kHz; 834 bytes, which are two frames.
        let whole = [first, frame()].concat();
        let claimed = ending_of(&whole).claimed_s.unwrap();
        assert!((claimed - 2.612).abs() < 0.001, "{claimed}");
        assert!(!ending_of(&whole).is_cut && ending_of(&whole[..833]).is_cut);
    }

    #[test]
    fn aac_by_itself_is_cut_within_a_frame() {
        let mut frame = vec![0; 100];
        frame[..7].copy_from_slice(&[0xFF, 0xF1, 0x50, 0x80, 100 >> 3, (100 & 7) << 5, 0xFC]);
        let whole = [frame.clone(), frame].concat();
        assert!(!ending_of(&whole).is_cut && ending_of(&whole[..150]).is_cut);
    }
}
