//! What a photographer settles once, in `settings.toml` beside their own kit file.
//!
//! ```toml
//! archive = "/srv/film/archive.db"   # the archive of all trips
//!
//! [phone]
//! folder = "~/Phone/Recordings"      # where the phone's clips arrive; only read
//! trip = "~/film/this trip"          # the trip that new ones belong to
//! ```

use std::io::Write;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::failure::Failure;
use super::places::Places;

/// The user's settings. Without a file, nothing is settled.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    /// The archive of all trips.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub archive: Option<String>,
    /// Where a phone's clips arrive.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub phone: Option<Phone>,
}

/// A folder that a phone's clips arrive in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Phone {
    /// The folder.
    pub folder: String,
    /// The folder of the trip that new clips belong to.
    pub trip: String,
}

impl Settings {
    /// Names the archive of all trips in the settings; all else in the file stays as it is.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn remember_archive(places: &Places, archive: &Path) -> Result<(), Failure> {
        let path = places.settings().ok_or_else(|| Failure::usage("no place for settings: set HOME"))?;
        let there = std::fs::read_to_string(&path).unwrap_or_default();
        let entry = format!("archive = {}", crate::kit::quoted(&archive.to_string_lossy()));
        let is_entry = |line: &&str| line.split_once('=').is_some_and(|(name, _)| name.trim() == "archive");
        // Above all tables: a name below one would belong to it.
        let kept = there.lines().filter(|line| !is_entry(line));
        let text: String = std::iter::once(entry.as_str()).chain(kept).flat_map(|line| [line, "\n"]).collect();
        let folder = path.parent().unwrap_or(Path::new("."));
        let written = std::fs::create_dir_all(folder).and_then(|()| {
            let mut file = tempfile::NamedTempFile::new_in(folder)?;
            file.write_all(text.as_bytes())?;
            file.persist(&path).map_err(|e| e.error).map(drop)
        });
        written.map_err(|e| Failure::at(&path, e))
    }

    /// The settings as they stand.
    ///
    /// # Errors
    /// When the file cannot be read or makes no sense; the line is named.
    pub fn read(places: &Places) -> Result<Self, Failure> {
        let Some(path) = places.settings().filter(|p| p.is_file()) else { return Ok(Self::default()) };
        let text =
            std::fs::read_to_string(&path).map_err(|e| Failure::usage(format_args!("{}: {e}", path.display())))?;
        toml::from_str(&text).map_err(|e| {
            let line = e.span().map_or(1, |s| 1 + text[..s.start.min(text.len())].matches('\n').count());
            Failure::usage(format_args!("{}: line {line}: {}", path.display(), e.message()))
        })
    }
}
