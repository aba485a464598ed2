//! The record on disk.

use std::path::Path;

use crate::edits::{Edits, Notice, save, write_table};
use crate::output::{self, OutDir, Unusable, csv, safe_stem};
use crate::plan::Plan;
use crate::report::Report;
use crate::roll::Trip;

use super::{Stage, Stopped, Watch, archived, stale};

/// Lays the edits over the trip and writes every result. Tells what the
/// photographer should know of tables that were changed by hand.
///
/// # Errors
/// At the first result that cannot be written; those before it are whole.
pub fn results(
    plan: &Plan,
    out: &OutDir,
    trip: &mut Trip,
    mut edits: Edits,
    report: &Report,
    watch: &dyn Watch,
) -> Result<Vec<Notice>, Stopped> {
    watch.begin(Stage::Writing, trip.rolls.len() + 1);
    let mut notices = std::mem::take(&mut edits.notices);
    notices.extend(edits.apply(trip, &plan.kit, plan.unsure_below));
    save(out, &edits)?;
    for roll in &trip.rolls {
        let stem = safe_stem(roll.name.as_str());
        notices.extend(write_table(out, &format!("{stem}.csv"), &csv::write(roll))?);
        watch.step();
    }
    let unusable: Vec<Unusable> =
        report.entries().iter().map(|u| Unusable { path: u.path.display().to_string(), why: u.why.clone() }).collect();
    output::write_all(trip, &plan.layout.root, out, &unusable)?;
    if let Some(copies) = &plan.embed {
        notices.extend(embed(plan, copies, trip)?);
    }
    // What could not be read this time may come back.
    if report.is_clean() {
        notices.extend(stale::sweep(out, trip)?);
    }
    notices.extend(archived::store(plan, out, trip)?);
    watch.step();
    Ok(notices)
}

/// Writes copies of the scans with the record in them; tells of those that took none.
fn embed(plan: &Plan, copies: &Path, trip: &Trip) -> Result<Vec<Notice>, Stopped> {
    let copies = OutDir::open(copies, &plan.layout.root)?;
    let (_, left) = output::embed_all(trip, &plan.layout.root, &copies)?;
    Ok(left.into_iter().map(|u| Notice { place: u.path, text: format!("{}; no copy was written", u.why) }).collect())
}
