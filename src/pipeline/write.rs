//! The record on disk.

use std::collections::HashSet;
use std::path::Path;

use crate::edits::{Edits, Notice, save, write_table};
use crate::facts::Input;
use crate::output::{self, EmbedError, OutDir, Unusable, csv, safe_stem};
use crate::plan::Plan;
use crate::report::Report;
use crate::roll::Trip;
use crate::trip::below;

use super::{Stage, Stopped, Watch, archived, stale};

/// Lays the edits over the trip and writes every result. Tells what the
/// photographer should know of tables that were changed by hand, and lists the inputs.
/// Scans that could not be shown are reported.
///
/// # Errors
/// At the first result that cannot be written; those before it are whole.
pub fn results(
    plan: &Plan,
    out: &OutDir,
    trip: &mut Trip,
    mut edits: Edits,
    list: &dyn Fn(&Trip, &Report) -> Vec<Input>,
    report: &mut Report,
    watch: &dyn Watch,
) -> Result<(Vec<Notice>, Vec<Input>), Stopped> {
    watch.begin(Stage::Writing, trip.rolls.len() + 1);
    let mut notices = std::mem::take(&mut edits.notices);
    notices.extend(edits.apply(trip, &plan.kit, plan.unsure_below));
    save(out, &edits)?;
    for roll in &trip.rolls {
        let stem = safe_stem(roll.name.as_str());
        notices.extend(write_table(out, &format!("{stem}.csv"), &csv::write(roll))?);
        watch.step();
    }
    edits.written();
    save(out, &edits)?;
    // What could not be read this time may come back.
    let all_read = report.is_clean();
    let (pictures, unshown) = output::pictures(trip, &plan.layout.root, out)?;
    let known: HashSet<String> = report.entries().iter().map(|u| below(&u.path, Path::new(""))).collect();
    for scan in unshown.into_iter().filter(|u| !known.contains(&u.path)) {
        report.but_for(scan.path, scan.why, "");
    }
    if let Some(copies) = &plan.embed {
        notices.extend(embed(plan, copies, trip, report)?);
    }
    let inputs = list(trip, report);
    let unusable: Vec<Unusable> =
        report.entries().iter().map(|u| Unusable { path: below(&u.path, Path::new("")), why: u.why.clone() }).collect();
    output::write_all(trip, &plan.layout.root, out, &pictures, &unusable, &inputs)?;
    if all_read {
        notices.extend(stale::sweep(out, trip)?);
    }
    notices.extend(archived::store(plan, out, trip)?);
    watch.step();
    Ok((notices, inputs))
}

/// Writes copies of the scans with the record in them; tells of those that took none.
fn embed(plan: &Plan, copies: &Path, trip: &Trip, report: &mut Report) -> Result<Vec<Notice>, Stopped> {
    let copies = OutDir::open(copies, &plan.layout.root)?;
    let (_, left) = output::embed_all(trip, &plan.layout.root, &copies)?;
    let mut notices = Vec::new();
    for (scan, why) in left {
        let text = format!("{why}; no copy was written");
        match why {
            // Not every kind of file takes a record in; that is nobody's fault.
            EmbedError::Kind => notices.push(Notice { place: scan, text }),
            _ => report.but_for(scan, text, ""),
        }
    }
    Ok(notices)
}
