//! What the evidence of a trip comes to, kept beside the results: a review goes on from there
//! without hearing anything twice.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::facts::Input;
use crate::kit::Missing;
use crate::output::{OutDir, OutputError};
use crate::plan::Plan;
use crate::report::Report;
use crate::roll::Trip;

use super::Note;

const FILE: &str = ".state/settled.json";
const VERSION: u32 = 2;

/// A word of a clip, with the seconds where it begins and ends.
pub type HeardWord = (f64, f64, String);

/// A trip as its evidence settles it, before anything that was changed by hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Settled {
    version: u32,
    /// Confidence below which values were flagged, 0 to 1.
    pub unsure_below: f64,
    /// The trip.
    pub trip: Trip,
    /// What could not be used.
    pub report: Report,
    /// What became of each input.
    pub inputs: Vec<Input>,
    /// The words of each clip, where they have times; by its path relative to `notes/`.
    pub words: BTreeMap<String, Vec<HeardWord>>,
    /// What was spoken of and is not in the kit.
    #[serde(default)]
    pub missing: Vec<Missing>,
}

/// Why a review cannot begin.
#[derive(Debug, thiserror::Error)]
pub enum SettledError {
    /// Nothing was taken in yet, or by a version that kept it otherwise.
    #[error("{0}: run `spooltalk ingest` on the trip, then review it")]
    Missing(&'static str),
    /// It does not read.
    #[error("{FILE} cannot be read: {0}; run `spooltalk ingest` on the trip, then review it")]
    Broken(String),
}

impl Settled {
    /// Of a trip that was just settled.
    pub fn new(plan: &Plan, trip: &Trip, notes: &[Note], report: &Report) -> Self {
        let words = |note: &Note| -> Vec<HeardWord> {
            let all = note.heard.utterances.iter().flat_map(|u| &u.words).filter(|w| w.end_s > 0.0);
            all.map(|w| (w.start_s, w.end_s, w.text.clone())).collect()
        };
        Self {
            report: report.clone(),
            words: notes.iter().map(|n| (n.name.clone(), words(n))).filter(|(_, w)| !w.is_empty()).collect(),
            ..Self::of(trip.clone(), plan.unsure_below)
        }
    }

    /// A trip that was settled otherwise, with no words and no edge beside it.
    pub fn of(trip: Trip, unsure_below: f64) -> Self {
        Self {
            version: VERSION,
            unsure_below,
            trip,
            report: Report::default(),
            inputs: Vec::new(),
            words: BTreeMap::new(),
            missing: Vec::new(),
        }
    }

    /// Keeps it among the results.
    ///
    /// # Errors
    /// A failure to write.
    pub fn keep(&self, out: &OutDir) -> Result<(), OutputError> {
        let bytes = serde_json::to_vec(self).expect("settled trips have only text keys");
        out.write(FILE, &bytes).map(|_| ())
    }

    /// What the last run kept.
    ///
    /// # Errors
    /// [`SettledError`] when it kept nothing that reads.
    pub fn kept(out: &OutDir) -> Result<Self, SettledError> {
        let bytes = out.read(FILE).ok_or(SettledError::Missing("nothing was taken in yet"))?;
        let kept: Self = serde_json::from_slice(&bytes).map_err(|e| SettledError::Broken(e.to_string()))?;
        if kept.version == VERSION {
            Ok(kept)
        } else {
            Err(SettledError::Missing("it was taken in by another version"))
        }
    }
}
