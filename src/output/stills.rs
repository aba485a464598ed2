//! Stills out of the clips that are videos: what was in front of the phone when a frame was
//! spoken of. Made once for each moment of a file.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use rayon::prelude::*;

use crate::audio::{may_show, still};
use crate::facts::Moment;
use crate::roll::Trip;
use crate::scans::Thumbnail;

use super::{OutDir, OutputError};

/// Longer edge of a still in pixels; it stands beside the scan, smaller.
const EDGE: u32 = 320;

/// The still of a moment, by the name it has among the pictures.
type Still = (String, Arc<Thumbnail>);

/// What a still is called among the pictures: by its clip and its tenth of a second.
pub fn name_of(at: &Moment) -> String {
    format!("{}#{}", at.clip, tenths(at))
}

fn tenths(at: &Moment) -> u64 {
    (at.at_s.max(0.0) * 10.0) as u64
}

/// Stills of the moments that frames were first spoken of in a video, from the cache in `thumbs/`
/// or made and put there.
///
/// # Errors
/// [`OutputError`] when the cache cannot be written.
pub fn stills(trip: &Trip, trip_dir: &Path, out: &OutDir) -> Result<Vec<Still>, OutputError> {
    let first = trip.rolls.iter().flat_map(|r| &r.frames).filter_map(|f| f.said.first()).map(|q| &q.at);
    let mut clips: BTreeMap<&str, Vec<&Moment>> = BTreeMap::new();
    for at in first.filter(|at| may_show(&at.clip)) {
        clips.entry(&at.clip).or_default().push(at);
    }
    let all: Vec<Vec<Still>> = clips
        .into_par_iter()
        .map(|(clip, moments)| of_clip(&trip_dir.join("notes").join(clip), &moments, out))
        .collect::<Result<_, OutputError>>()?;
    Ok(all.into_iter().flatten().collect())
}

/// A clip that gives no still at one moment is not asked for more: it has no pictures.
fn of_clip(path: &Path, moments: &[&Moment], out: &OutDir) -> Result<Vec<Still>, OutputError> {
    let Ok(about) = path.metadata() else { return Ok(Vec::new()) };
    let mut all = Vec::new();
    for at in moments {
        let key = format!("{}\0{}\0{:?}\0{}", at.clip, about.len(), about.modified().ok(), tenths(at));
        let file = format!("thumbs/still-{}.jpg", &blake3::hash(key.as_bytes()).to_hex()[..32]);
        let made = match out.read(&file).and_then(Thumbnail::from_jpeg) {
            Some(made) => Some(made),
            None => still(path, at.at_s, EDGE).and_then(Thumbnail::from_jpeg),
        };
        let Some(made) = made else { break };
        out.write(&file, &made.jpeg)?;
        all.push((name_of(at), Arc::new(made)));
    }
    Ok(all)
}
