//! Thumbnails of a trip's scans, made once for each content.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

use rayon::prelude::*;

use crate::roll::Trip;
use crate::scans::Thumbnail;
use crate::trip::is_raw;

use super::page::Pictures;
use super::stills::stills;
use super::summary::Unusable;
use super::{OutDir, OutputError};

/// Longer edge of a thumbnail in pixels.
const EDGE: u32 = 440;
/// Scans larger than this are decoded one at a time; they may unpack to a
/// gigabyte each.
const LARGE: u64 = 48 << 20;

/// Thumbnails of every scan in `trip`, from the cache in `thumbs/` or made and
/// put there. The second part names scans that could not be shown, and why.
///
/// # Errors
/// [`OutputError`] when the cache cannot be written.
pub fn pictures(trip: &Trip, trip_dir: &Path, out: &OutDir) -> Result<(Pictures, Vec<Unusable>), OutputError> {
    let scans: BTreeSet<&str> =
        trip.rolls.iter().flat_map(|r| &r.frames).flat_map(|f| &f.scans).map(String::as_str).collect();
    let dir = trip_dir.join("scans");
    let size = |scan: &str| std::fs::metadata(dir.join(scan)).map_or(0, |m| m.len());
    let (large, small): (Vec<&str>, Vec<&str>) = scans.into_iter().partition(|scan| size(scan) > LARGE);
    let of = |scan: &str| Ok((scan.to_owned(), one(&dir, scan, out)?));
    let mut all: Vec<(String, Result<Arc<Thumbnail>, String>)> =
        small.into_par_iter().map(of).collect::<Result<_, OutputError>>()?;
    for scan in large {
        all.push(of(scan)?);
    }
    let mut unshown: Vec<Unusable> = all
        .iter()
        .filter(|(scan, _)| !raw(scan))
        .filter_map(|(scan, made)| {
            made.as_ref().err().map(|why| Unusable { path: format!("scans/{scan}"), why: why.clone() })
        })
        .collect();
    unshown.sort_by(|a, b| a.path.cmp(&b.path));
    let stills = stills(trip, trip_dir, out)?.into_iter().collect();
    Ok((Pictures { scans: all.into_iter().collect(), stills }, unshown))
}

fn raw(scan: &str) -> bool {
    scan.rsplit_once('.').is_some_and(|(_, extension)| is_raw(extension))
}

fn one(dir: &Path, scan: &str, out: &OutDir) -> Result<Result<Arc<Thumbnail>, String>, OutputError> {
    if raw(scan) {
        return Ok(Err("a raw file is known by its name only".into()));
    }
    let bytes = match std::fs::read(dir.join(scan)) {
        Ok(bytes) => bytes,
        Err(e) => return Ok(Err(format!("cannot be read: {e}"))),
    };
    let name = format!("thumbs/{}.jpg", &blake3::hash(&bytes).to_hex()[..32]);
    if let Some(made) = out.read(&name).and_then(Thumbnail::from_jpeg) {
        return Ok(Ok(Arc::new(made)));
    }
    match Thumbnail::of(&bytes, EDGE) {
        Ok(made) => {
            out.write(&name, &made.jpeg)?;
            Ok(Ok(Arc::new(made)))
        }
        Err(why) => Ok(Err(why.to_string())),
    }
}
