//! What to do, settled. Nobody below reads arguments, environment or clock.

use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;

use crate::kit::Kit;
use crate::speech::Cache;
use crate::trip::TripLayout;

/// Everything `ingest` needs to know before it starts.
#[derive(Debug)]
pub struct Plan {
    /// The trip's files.
    pub layout: TripLayout,
    /// Where results go.
    pub out: PathBuf,
    /// What the photographer owns.
    pub kit: Kit,
    /// The file that says so; none where the defaults hold.
    pub kit_file: Option<PathBuf>,
    /// Time zone of the trip, when the kit names one.
    pub zone: Option<TimeZone>,
    /// Confidence below which a value is flagged, 0 to 1.
    pub unsure_below: f64,
    /// Where the trip is made searchable.
    pub archives: Archives,
    /// Clips that were heard once and are gone take their frames along.
    pub drop_gone: bool,
    /// Where copies of the scans with the record embedded go.
    pub embed: Option<PathBuf>,
    /// What clips are heard with.
    pub ears: Ears,
}

impl Plan {
    /// A path of the trip as it is told to the user: relative to the trip folder.
    pub fn within<'a>(&self, path: &'a Path) -> &'a Path {
        path.strip_prefix(&self.layout.root).unwrap_or(path)
    }
}

/// Where a trip is made searchable.
#[derive(Debug, Clone)]
pub enum Archives {
    /// In this one alone.
    Asked(PathBuf),
    /// In one beside the other results, and in the one of all trips where there is a place for it.
    Usual(Option<PathBuf>),
}

/// What clips are heard with.
#[derive(Debug)]
pub struct Ears {
    /// The speech model, or why there is none.
    pub model: Result<PathBuf, String>,
    /// Without the trade ear, also where that fits the model.
    pub plain: bool,
    /// Where transcripts are kept, if anywhere.
    pub cache: Option<Cache>,
    /// Stretches of speech heard at the same time; `None` leaves it to the hearing.
    pub jobs: Option<usize>,
}
