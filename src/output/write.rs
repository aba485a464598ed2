//! All outputs of a trip but its tables, its archive, and copies of scans.

use std::collections::HashSet;
use std::path::Path;

use crate::facts::{Flag, Input};
use crate::roll::Trip;

use super::page::{Links, Pictures, lab_html, roll_html, trip_html};
use super::summary::Unusable;
use super::{OutDir, OutputError, geojson, gpx, json, lab_md, safe_stem, sidecars, trip_md};

/// What was written.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Written {
    /// Outputs made.
    pub files: usize,
    /// Of these, the ones whose bytes are new.
    pub changed: usize,
}

/// Writes pages, data, sidecars and summaries of a trip. `trip_dir` is where its
/// originals lie, `pictures` are its thumbnails; `unusable` is named in the summary, and
/// every one of the `inputs` is listed. The tables are written by `edits`, which knows what the photographer changed in them.
///
/// # Errors
/// [`OutputError`] at the first file that cannot be written; those before it
/// are whole.
pub fn write_all(
    trip: &Trip,
    trip_dir: &Path,
    out: &OutDir,
    pictures: &Pictures,
    unusable: &[Unusable],
    inputs: &[Input],
) -> Result<Written, OutputError> {
    let mut written = Written::default();
    let mut put = |name: &str, bytes: &[u8]| -> Result<(), OutputError> {
        written.changed += usize::from(out.write(name, bytes)?);
        written.files += 1;
        Ok(())
    };
    let root = std::fs::canonicalize(trip_dir).unwrap_or_else(|_| trip_dir.to_owned());
    let links = Links::between(out.root(), &root).without(gone(trip, &root));
    for roll in &trip.rolls {
        let stem = safe_stem(roll.name.as_str());
        for (name, bytes) in sidecars(roll) {
            put(&name, &bytes)?;
        }
        put(&format!("rolls/{stem}.html"), &roll_html(&trip.name, roll, pictures, &links))?;
        put(&format!("rolls/{stem}.jsonl"), &json::lines(roll))?;
    }
    put("lab.md", &lab_md(trip))?;
    put("lab.html", &lab_html(trip))?;
    put("trip.html", &trip_html(trip, unusable, inputs, pictures, &links))?;
    put("trip.md", &trip_md(trip, unusable, inputs))?;
    for (name, bytes) in [("trip.gpx", gpx(trip)), ("trip.geojson", geojson(trip))] {
        match bytes {
            Some(bytes) => put(name, &bytes)?,
            None => out.remove(name)?,
        }
    }
    Ok(written)
}

/// Clips of frames that are flagged for it, and that are not there.
fn gone(trip: &Trip, trip_dir: &Path) -> HashSet<String> {
    let flagged = trip.rolls.iter().flat_map(|r| &r.frames).filter(|f| f.flags.contains(&Flag::GoneClip));
    let clips = flagged.flat_map(|f| &f.said).map(|q| &q.at.clip);
    clips.filter(|clip| !trip_dir.join("notes").join(clip).is_file()).cloned().collect()
}
