//! Ogg, with Vorbis, Opus, Speex or FLAC in it: pages one after the other, of which the last is
//! marked (RFC 3533).

use std::fs::File;
use std::io::{self, Seek, SeekFrom};

use super::{Ending, read_up_to};

/// No page is longer: 27 bytes, 255 lengths, 255 × 255 bytes.
const LONGEST: u64 = 27 + 255 + 255 * 255;
/// The mark of a stream's last page.
const LAST: u8 = 4;

pub(super) fn ending(file: &mut File) -> io::Result<Ending> {
    let end = file.seek(SeekFrom::End(0))?;
    let from = end.saturating_sub(2 * LONGEST);
    let mut tail = vec![0; (end - from) as usize];
    let read = read_up_to(file, from, &mut tail)?;
    tail.truncate(read);
    let Some(at) = tail.windows(4).rposition(|w| w == b"OggS") else { return Ok(Ending::default()) };
    let page = &tail[at..];
    let whole = page.get(26).and_then(|n| page.get(27..27 + usize::from(*n))).is_some_and(|lengths| {
        27 + lengths.len() + lengths.iter().map(|l| usize::from(*l)).sum::<usize>() <= page.len()
    });
    let last = page.get(5).is_some_and(|mark| mark & LAST != 0);
    Ok(Ending { is_cut: !(whole && last), ..Ending::default() })
}

#[cfg(test)]
mod tests {
    use super::super::ending_of;

    fn page(mark: u8) -> Vec<u8> {
        let mut page = b"OggS\0".to_vec();
        page.push(mark);
        page.extend([0; 20]);
        page.extend([2, 10, 5]);
        page.extend([7; 15]);
        page
    }

    #[test]
    fn the_last_page_is_marked_and_whole() {
        let whole = [page(2), page(0), page(4)].concat();
        assert!(!ending_of(&whole).is_cut);
        for less in 1..=page(4).len() {
            assert!(ending_of(&whole[..whole.len() - less]).is_cut, "{less} bytes less");
        }
    }
}
