//! Whether a recording ends where its container says. Decoders stop at the last byte without a
//! word; a phone that lost power, a card pulled out and a copy broken off leave just such files.

mod boxes;
mod chunks;
mod ebml;
mod frames;
mod ogg;

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};

/// What a container says of its own end. Nothing, where it says nothing.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Ending {
    /// Seconds that it claims, where such claims are exact.
    pub claimed_s: Option<f64>,
    /// Something in it goes on behind the last byte, or its last part is missing.
    pub is_cut: bool,
    /// The bytes that it would have, where that is known.
    pub claimed_bytes: Option<u64>,
    /// The index is missing without which nothing can be found in it.
    pub no_index: bool,
    /// Places between frames where no frame begins.
    pub faults: usize,
}

/// Looks at how a file ends. What is damaged says nothing.
pub(super) fn ending(file: &mut File) -> Ending {
    let mut first = [0; 12];
    let read = read_up_to(file, 0, &mut first).unwrap_or(0);
    let first = &first[..read];
    let found = match first {
        _ if super::mp4::is_mp4(first) => boxes::ending(file),
        [b'R', b'I' | b'F', ..] | [b'F', b'O', b'R', b'M', ..] | [b'c', b'a', b'f', b'f', ..] => {
            chunks::ending(file, first)
        }
        [0x1A, 0x45, 0xDF, 0xA3, ..] => ebml::ending(file),
        [b'O', b'g', b'g', b'S', ..] => ogg::ending(file),
        _ => frames::ending(file),
    };
    found.unwrap_or_default()
}

/// As many bytes as there are from a place on, up to the room in `out`.
fn read_up_to(file: &mut File, at: u64, out: &mut [u8]) -> io::Result<usize> {
    file.seek(SeekFrom::Start(at))?;
    let mut read = 0;
    while read < out.len() {
        match file.read(&mut out[read..])? {
            0 => break,
            n => read += n,
        }
    }
    Ok(read)
}

/// Exactly so many bytes from a place; `None` when there are not.
fn bytes_at<const N: usize>(file: &mut File, at: u64) -> io::Result<Option<[u8; N]>> {
    let mut out = [0; N];
    Ok((read_up_to(file, at, &mut out)? == N).then_some(out))
}

#[cfg(test)]
pub(super) fn ending_of(bytes: &[u8]) -> Ending {
    use std::io::Write;
    let mut file = tempfile::tempfile().unwrap();
    file.write_all(bytes).unwrap();
    ending(&mut file)
}
