//! Thumbnails of a trip's scans, made once for each content.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::{BufReader, Seek};
use std::path::Path;
use std::sync::Arc;

use rayon::prelude::*;

use crate::roll::Trip;
use crate::scans::{Thumbnail, is_cut_short};
use crate::trip::is_raw;

use super::page::Pictures;
use super::stills::stills;
use super::summary::Unusable;
use super::{OutDir, OutputError};

/// Longer edge of a thumbnail in pixels.
const EDGE: u32 = 440;
/// Which scan has which thumbnail.
const NAMES: &str = ".state/thumbs.json";

/// Thumbnails of every scan in `trip`, from the cache in `thumbs/` or made and
/// put there. The second part names scans that could not be shown, or not wholly, and why.
///
/// # Errors
/// [`OutputError`] when the cache cannot be written.
pub fn pictures(trip: &Trip, trip_dir: &Path, out: &OutDir) -> Result<(Pictures, Vec<Unusable>), OutputError> {
    let scans: BTreeSet<&str> =
        trip.rolls.iter().flat_map(|r| &r.frames).flat_map(|f| &f.scans).map(String::as_str).collect();
    let dir = trip_dir.join("scans");
    let of = |scan: &str| Ok((scan.to_owned(), one(&dir, scan, out)?));
    let all: Vec<(String, Made)> = scans.into_par_iter().map(of).collect::<Result<_, OutputError>>()?;
    let names: BTreeMap<&str, &str> =
        all.iter().filter_map(|(scan, made)| Some((scan.as_str(), made.name.as_deref()?))).collect();
    out.write(NAMES, &serde_json::to_vec(&names).expect("names are text"))?;
    let mut ill = Vec::new();
    for (scan, made) in all.iter().filter(|(scan, _)| !raw(scan)) {
        let why = match &made.picture {
            Err(why) => why.clone(),
            Ok(_) if made.in_part => {
                "is cut short or damaged: a part of it is missing; scan or copy it again".to_owned()
            }
            Ok(_) => continue,
        };
        ill.push(Unusable { path: format!("scans/{scan}"), why });
    }
    ill.sort_by(|a, b| a.path.cmp(&b.path));
    let stills = stills(trip, trip_dir, out)?.into_iter().collect();
    let scans = all.into_iter().map(|(scan, made)| (scan, made.picture)).collect();
    Ok((Pictures { scans, stills }, ill))
}

fn raw(scan: &str) -> bool {
    scan.rsplit_once('.').is_some_and(|(_, extension)| is_raw(extension))
}

/// What became of one scan.
struct Made {
    picture: Result<Arc<Thumbnail>, String>,
    /// The file that the thumbnail stands in.
    name: Option<String>,
    /// Some of it is missing.
    in_part: bool,
}

fn one(dir: &Path, scan: &str, out: &OutDir) -> Result<Made, OutputError> {
    let none = |why: String| Ok(Made { picture: Err(why), name: None, in_part: false });
    if raw(scan) {
        return none("a raw file is known by its name only".into());
    }
    let mut hash = blake3::Hasher::new();
    let opened = File::open(dir.join(scan)).and_then(|mut file| {
        hash.update_reader(&mut file)?;
        Ok(BufReader::new(file))
    });
    let mut file = match opened {
        Ok(file) => file,
        Err(e) => return none(format!("cannot be read: {e}")),
    };
    let in_part = is_cut_short(&mut file);
    let name = format!("thumbs/{}.jpg", &hash.finalize().to_hex()[..32]);
    if let Some(made) = out.read(&name).and_then(Thumbnail::from_jpeg) {
        return Ok(Made { picture: Ok(Arc::new(made)), name: Some(name), in_part });
    }
    if let Err(e) = file.rewind() {
        return none(format!("cannot be read: {e}"));
    }
    Ok(match Thumbnail::read(file, EDGE) {
        // Not kept, so that it is told the next time too.
        Ok((made, true)) => Made { picture: Ok(Arc::new(made)), name: None, in_part: true },
        Ok((made, false)) => {
            out.write(&name, &made.jpeg)?;
            Made { picture: Ok(Arc::new(made)), name: Some(name), in_part }
        }
        Err(why) => Made { picture: Err(why.to_string()), name: None, in_part },
    })
}
