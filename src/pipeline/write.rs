//! The record on disk.

use crate::output::{self, OutDir, OutputError, Unusable, csv, json, safe_stem};
use crate::report::Report;
use crate::roll::Trip;

use super::{Stage, Watch};

/// Writes every result of the trip.
///
/// # Errors
/// As [`OutDir::write`].
pub fn results(out: &OutDir, trip: &Trip, report: &Report, watch: &dyn Watch) -> Result<(), OutputError> {
    watch.begin(Stage::Writing, trip.rolls.len());
    for roll in &trip.rolls {
        let stem = safe_stem(roll.name.as_str());
        out.write(&format!("rolls/{stem}.jsonl"), &json::lines(roll))?;
        out.write(&format!("rolls/{stem}.csv"), &csv::write(roll))?;
        watch.step();
    }
    let unusable: Vec<Unusable> =
        report.entries().iter().map(|u| Unusable { path: u.path.display().to_string(), why: u.why.clone() }).collect();
    out.write("trip.md", &output::trip_md(trip, &unusable))?;
    Ok(())
}
