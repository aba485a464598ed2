//! Links from a page to the originals.

use std::collections::HashSet;
use std::path::{Component, Path};

use crate::facts::Moment;

use super::super::markdown::href;

/// Where the originals lie, seen from the output folder. Both end in `/`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Links {
    notes: String,
    scans: String,
    gone: HashSet<String>,
}

/// What a clip's kind lets a page do with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Note {
    /// Sound, or pictures with sound.
    Clip,
    /// Text.
    Text,
}

impl Links {
    /// From the output folder `out` to the folders of `trip`; both without links
    /// in their paths.
    pub fn between(out: &Path, trip: &Path) -> Self {
        let base = relative(out, trip);
        Self { notes: format!("{base}notes/"), scans: format!("{base}scans/"), gone: HashSet::new() }
    }

    /// The same, but for clips that are not there any more.
    pub fn without(self, gone: HashSet<String>) -> Self {
        Self { gone, ..self }
    }

    /// Whether a clip is not there any more.
    pub fn is_gone(&self, clip: &str) -> bool {
        self.gone.contains(clip)
    }

    /// A scan, from a page `depth` folders below the output folder.
    pub fn scan(&self, scan: &str, depth: usize) -> String {
        up(&self.scans, depth) + &href(scan)
    }

    /// A clip where something was said, as a media fragment in seconds, with
    /// half a second left after the words. Source: W3C, "Media Fragments URI
    /// 1.0", 4.2.1.
    pub fn moment(&self, at: &Moment, depth: usize) -> String {
        // A clip that lies in no trip has its whole path for a name.
        let elsewhere = Path::new(&at.clip).is_absolute();
        let clip = if elsewhere { file_url(Path::new(&at.clip)) } else { up(&self.notes, depth) + &href(&at.clip) };
        match note(&at.clip) {
            Note::Text => clip,
            Note::Clip => {
                let start = (at.at_s.max(0.0) * 10.0).floor() / 10.0;
                let end = ((at.end_s + 0.5) * 10.0).ceil() / 10.0;
                let end = if at.end_s > at.at_s { format!(",{end}") } else { String::new() };
                format!("{clip}#t={start}{end}")
            }
        }
    }
}

/// What a note is, by its name.
pub fn note(name: &str) -> Note {
    let extension = name.rsplit('.').next().unwrap_or_default().to_lowercase();
    if matches!(extension.as_str(), "txt" | "md" | "srt" | "vtt") { Note::Text } else { Note::Clip }
}

/// A file as an address that works from wherever a page lies (RFC 8089).
pub fn file_url(path: &Path) -> String {
    let text = path.to_string_lossy().replace('\\', "/");
    format!("file:///{}", href(text.trim_start_matches('/')))
}

fn up(base: &str, depth: usize) -> String {
    if base.starts_with("file:") { base.to_owned() } else { "../".repeat(depth) + base }
}

/// From one folder to another, ending in `/` unless they are the same; a
/// `file:` address where there is no relative way (another drive).
fn relative(from: &Path, to: &Path) -> String {
    let (from, to): (Vec<Component>, Vec<Component>) = (from.components().collect(), to.components().collect());
    let shared = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
    let encoded =
        |parts: &[Component]| parts.iter().map(|p| href(&p.as_os_str().to_string_lossy()) + "/").collect::<String>();
    if shared == 0 && !to.is_empty() {
        return format!("file:///{}", encoded(&to).trim_start_matches('/'));
    }
    "../".repeat(from.len() - shared) + &encoded(&to[shared..])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(clip: &str, at_s: f64, end_s: f64) -> Moment {
        Moment { clip: clip.into(), at_s, end_s }
    }

    #[test]
    fn links_lead_from_the_page_to_the_clip() {
        let usual = Links::between(Path::new("/t/trip/spooltalk"), Path::new("/t/trip"));
        assert_eq!(usual.moment(&at("day 1/a.m4a", 3.57, 8.0), 1), "../../notes/day%201/a.m4a#t=3.5,8.5");
        assert_eq!(usual.moment(&at("a.txt", 0.0, 0.0), 0), "../notes/a.txt");
        assert_eq!(usual.scan("R1/1#.tif", 1), "../../scans/R1/1%23.tif");
        assert_eq!(usual.moment(&at("/sync/a b.m4a", 1.0, 0.0), 1), "file:///sync/a%20b.m4a#t=1");
        let apart = Links::between(Path::new("/out"), Path::new("/t/my trip"));
        assert_eq!(apart.moment(&at("a.wav", 0.0, 0.0), 1), "../../t/my%20trip/notes/a.wav#t=0");
    }
}
