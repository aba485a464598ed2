//! All outputs of a trip but its tables, its archive, and copies of scans.

use std::collections::HashSet;
use std::path::Path;

use crate::facts::Flag;
use crate::roll::Trip;

use super::page::{Links, roll_html, trip_html};
use super::summary::Unusable;
use super::{OutDir, OutputError, geojson, gpx, json, lab_md, safe_stem, sidecars, thumbs, trip_md};

/// What was written.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Written {
    /// Outputs made.
    pub files: usize,
    /// Of these, the ones whose bytes are new.
    pub changed: usize,
    /// Scans that could not be shown, and why.
    pub unshown: Vec<Unusable>,
}

/// Writes pages, data, sidecars and summaries of a trip. `trip_dir` is where its
/// originals lie; `unusable` is named in the summary, followed by the scans that
/// could not be shown unless they are in it already. The tables are written by
/// `edits`, which knows what the photographer changed in them.
///
/// # Errors
/// [`OutputError`] at the first file that cannot be written; those before it
/// are whole.
pub fn write_all(trip: &Trip, trip_dir: &Path, out: &OutDir, unusable: &[Unusable]) -> Result<Written, OutputError> {
    let mut written = Written::default();
    let mut put = |name: &str, bytes: &[u8]| -> Result<(), OutputError> {
        written.changed += usize::from(out.write(name, bytes)?);
        written.files += 1;
        Ok(())
    };
    let root = std::fs::canonicalize(trip_dir).unwrap_or_else(|_| trip_dir.to_owned());
    let links = Links::between(out.root(), &root).without(gone(trip, &root));
    let (pictures, unshown) = thumbs::pictures(trip, trip_dir, out)?;
    for roll in &trip.rolls {
        let stem = safe_stem(roll.name.as_str());
        for (name, bytes) in sidecars(roll) {
            put(&name, &bytes)?;
        }
        put(&format!("rolls/{stem}.html"), &roll_html(&trip.name, roll, &pictures, &links))?;
        put(&format!("rolls/{stem}.jsonl"), &json::lines(roll))?;
    }
    let known = |u: &&Unusable| !unusable.iter().any(|k| k.path == u.path);
    let all: Vec<Unusable> = unusable.iter().chain(unshown.iter().filter(known)).cloned().collect();
    put("lab.md", &lab_md(trip))?;
    put("trip.html", &trip_html(trip, &all, &pictures))?;
    put("trip.md", &trip_md(trip, &all))?;
    for (name, bytes) in [("trip.gpx", gpx(trip)), ("trip.geojson", geojson(trip))] {
        match bytes {
            Some(bytes) => put(name, &bytes)?,
            None => out.remove(name)?,
        }
    }
    written.unshown = unshown;
    Ok(written)
}

/// Clips of frames that are flagged for it, and that are not there.
fn gone(trip: &Trip, trip_dir: &Path) -> HashSet<String> {
    let flagged = trip.rolls.iter().flat_map(|r| &r.frames).filter(|f| f.flags.contains(&Flag::GoneClip));
    let clips = flagged.flat_map(|f| &f.said).map(|q| &q.at.clip);
    clips.filter(|clip| !trip_dir.join("notes").join(clip).is_file()).cloned().collect()
}
