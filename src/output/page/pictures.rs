//! Small pictures inside a page.

use std::collections::HashMap;
use std::sync::Arc;

use crate::facts::Moment;
use crate::scans::Thumbnail;

use super::super::stills;

/// The pictures of a trip's pages.
#[derive(Debug, Clone, Default)]
pub struct Pictures {
    /// Thumbnails by the scan's path relative to `scans/`, or why there is none.
    pub scans: HashMap<String, Result<Arc<Thumbnail>, String>>,
    /// Stills out of clips, by their moment.
    pub stills: HashMap<String, Arc<Thumbnail>>,
}

impl Pictures {
    /// What is there for a scan.
    pub fn of(&self, scan: &str) -> Option<&Result<Arc<Thumbnail>, String>> {
        self.scans.get(scan)
    }

    /// What a clip showed at a moment, where it is a video.
    pub fn still(&self, at: &Moment) -> Option<&Thumbnail> {
        self.stills.get(&stills::name_of(at)).map(AsRef::as_ref)
    }
}

/// The picture as a `data:` address (RFC 2397).
pub fn data_url(thumbnail: &Thumbnail) -> String {
    format!("data:image/jpeg;base64,{}", base64(&thumbnail.jpeg))
}

/// RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let three = [chunk[0], *chunk.get(1).unwrap_or(&0), *chunk.get(2).unwrap_or(&0)];
        let bits = u32::from_be_bytes([0, three[0], three[1], three[2]]);
        for i in 0..4 {
            let digit = DIGITS[(bits >> (18 - 6 * i) & 63) as usize] as char;
            out.push(if i <= chunk.len() { digit } else { '=' });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_as_its_standard_gives_it() {
        // Test vectors of RFC 4648, section 10.
        for (plain, coded) in [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foobar", "Zm9vYmFy")] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
        assert_eq!(base64(&[0xFB, 0xFF, 0xFE]), "+//+");
    }
}
