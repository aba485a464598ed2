//! Kinds of recording that are not decoded here, by their first bytes, so that they can be named.

use std::fs::File;
use std::io::{Read, Seek};

/// What a recording is, when it is one of these; as the start of a sentence on what it needs.
pub(super) fn kind_of(file: &mut File) -> Option<&'static str> {
    let mut first = Vec::new();
    file.rewind().ok()?;
    file.take(512).read_to_end(&mut first).ok()?;
    let has = |mark: &[u8]| first.windows(mark.len()).any(|w| w == mark);
    match &first[..] {
        [b'#', b'!', b'A', b'M', b'R', ..] => Some("an AMR recording"),
        [b'O', b'g', b'g', b'S', ..] if has(b"Speex   ") => Some("Speex sound in an Ogg file"),
        [b'R', b'I' | b'F', ..] if first.get(8..12) == Some(b"WAVE") => in_wav(&first),
        [0x30, 0x26, 0xB2, 0x75, 0x8E, 0x66, 0xCF, 0x11, ..] => Some("a Windows Media recording"),
        _ if first.get(4..8) == Some(b"ftyp") && first.get(8..11) == Some(b"3gp") => Some("the sound in this 3gp file"),
        _ => None,
    }
}

/// By the format's number, which stands first in `fmt ` (RFC 2361).
fn in_wav(first: &[u8]) -> Option<&'static str> {
    let at = first.windows(4).position(|w| w == b"fmt ")? + 8;
    match u16::from_le_bytes(first.get(at..at + 2)?.try_into().ok()?) {
        0x31 => Some("GSM sound in a wav file"),
        0x50 => Some("MP2 sound in a wav file"),
        0x55 => Some("MP3 sound in a wav file"),
        0x45 | 0x64 | 0x65 | 0x40 | 0x14 => Some("G.72x sound in a wav file"),
        0xFF | 0x1600 | 0x706D => Some("AAC sound in a wav file"),
        0x160..=0x163 => Some("Windows Media sound in a wav file"),
        0xA109 => Some("Speex sound in a wav file"),
        1..=3 | 6 | 7 | 0x11 | 0xFFFE => None,
        _ => Some("the sound in this wav file"),
    }
}
