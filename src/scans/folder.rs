//! One roll's scans, from its files.

use std::path::{Path, PathBuf};

use rayon::prelude::*;

use crate::facts::{RollName, caught};
use crate::kit::Format;
use crate::trip::below;

use super::edge::{FrameEdge, Length, frame_edge, numbers};
use super::{
    KnownFrom, NamePattern, Scan, ScanError, ScanFolder, ScanKind, ScanNumber, Side, Tags, is_blank, names_say, tags,
};

/// Compressed pictures up to this size are looked at in any case; larger ones
/// only when they are much smaller than their neighbours, as empty ones are.
const ALWAYS_LOOK: u64 = 1 << 20;
/// Uncompressed pictures above this size are not looked at.
const LARGEST_LOOK: u64 = 64 << 20;

/// Reads one roll's scans: names, tags, and whether they show anything.
///
/// `files` lie under `scans_root`, the trip's `scans/`; `capacity` is how many
/// frames the film holds; on 35 mm film, as `format` tells, the maker's code is
/// looked for where a scan shows the edge. A file that cannot be read stands in
/// the roll by its name, and is reported.
pub fn read_folder(
    scans_root: &Path,
    roll: &RollName,
    files: &[PathBuf],
    capacity: u16,
    format: Format,
    patterns: &[NamePattern],
) -> (ScanFolder, Vec<ScanError>) {
    let paths: Vec<String> = files.iter().map(|f| below(f, scans_root)).collect();
    let within: Vec<&str> = paths.iter().map(|p| p.split_once('/').map_or(p.as_str(), |(_, rest)| rest)).collect();
    let said = names_say(&within, roll, capacity, format.is_sheet(), patterns);
    let sizes: Vec<u64> = files.iter().map(|f| f.metadata().map_or(0, |m| m.len())).collect();
    let usual = median(&sizes);
    let seen: Vec<Seen> = files
        .par_iter()
        .zip(&said)
        .zip(&sizes)
        .map(|((file, said), &size)| match said.kind {
            ScanKind::Frame => caught(|| look(file, size, usual, format)).unwrap_or_else(|fault| Seen {
                errors: vec![ScanError::Fault { path: file.clone(), fault }],
                ..Seen::default()
            }),
            _ => Seen::default(),
        })
        .collect();
    let edges: Vec<Option<FrameEdge>> = seen.iter().map(|s| s.edge.clone()).collect();
    let pictures: Vec<usize> = said.iter().map(|s| s.picture).collect();
    let on_film = numbers(&edges, &pictures);
    // Numbers of the edge and of the names are two series, which do not mix.
    let by_edge = on_film.iter().any(Option::is_some);
    let mut errors = Vec::new();
    let mut scans: Vec<Scan> = Vec::new();
    for (((path, said), seen), on_film) in paths.into_iter().zip(said).zip(seen).zip(on_film) {
        let named = said.number.or_else(|| seen.tags.as_ref().and_then(described));
        errors.extend(seen.errors);
        scans.push(Scan {
            path,
            kind: said.kind,
            number: if by_edge { on_film } else { named },
            picture: said.picture,
            scanned: seen.tags.and_then(|t| t.scanned),
            is_blank: seen.blank,
            film_code: seen.edge.map(|e| e.film),
        });
    }
    scans.sort_by_key(|s| s.picture);
    (ScanFolder { roll: roll.clone(), scans }, errors)
}

#[derive(Default)]
struct Seen {
    tags: Option<Tags>,
    blank: bool,
    edge: Option<FrameEdge>,
    errors: Vec<ScanError>,
}

fn look(file: &Path, size: u64, usual: u64, format: Format) -> Seen {
    let mut seen = Seen::default();
    match tags(file) {
        Ok(t) => seen.tags = Some(t),
        Err(e) => {
            seen.errors.push(e);
            return seen;
        }
    }
    let packed = !file.extension().is_some_and(|e| e.to_string_lossy().to_lowercase().starts_with("tif"));
    let worth = if packed { size <= ALWAYS_LOOK || size * 3 < usual } else { size <= LARGEST_LOOK };
    if worth {
        match is_blank(file) {
            Ok(blank) => seen.blank = blank,
            Err(e) => seen.errors.push(e),
        }
    }
    if let Some(length) = Length::of(format)
        && seen.errors.is_empty()
    {
        match frame_edge(file, length) {
            Ok(edge) => seen.edge = edge,
            Err(e) => seen.errors.push(e),
        }
    }
    seen
}

/// A frame named in a description (`frame 12`), else the scanner's own count.
fn described(tags: &Tags) -> Option<ScanNumber> {
    let pattern = |p: &str| NamePattern::new(p).expect("a good pattern");
    let said = tags.description.as_deref().and_then(|d| {
        ["frame {frame}", "{any} frame {frame}", "frame {frame} {any}"].iter().find_map(|p| pattern(p).read(d))
    });
    match said {
        Some(found) => {
            Some(ScanNumber { value: found.value, side: found.a.then_some(Side::A), known: KnownFrom::Word })
        }
        None => tags.image_number.map(|value| ScanNumber { value, side: None, known: KnownFrom::Counter }),
    }
}

fn median(sizes: &[u64]) -> u64 {
    let mut sorted = sizes.to_vec();
    sorted.sort_unstable();
    sorted.get(sorted.len() / 2).copied().unwrap_or(0)
}
