//! The whole way, on one page.

use crate::language::Language;
use crate::output::{OutDir, OutputError};
use crate::plan::Plan;
use crate::report::Report;
use crate::roll::build::Builder;
use crate::roll::{NotedRoll, Roll, Trip};

use super::{Load, Tally, Watch, hear, order, when, write};

/// What became of a trip.
#[derive(Debug)]
pub struct Done {
    /// The trip, settled.
    pub trip: Trip,
    /// How the hearing went.
    pub hearing: Tally,
}

/// Why nothing could be done.
#[derive(Debug, thiserror::Error)]
pub enum Stopped {
    /// Every note and every edge print was unusable, or there were none.
    #[error("nothing to work on: no note and no edge print of this trip could be used")]
    NoInput,
    /// Clips alone, and nothing to hear them with.
    #[error("{0}")]
    NoModel(String),
    /// The results could not be written.
    #[error(transparent)]
    Output(#[from] OutputError),
}

/// Takes a trip in: hears its notes, settles its frames, writes its record.
/// What could not be used stands in `report`, also when the whole stops.
///
/// # Errors
/// [`Stopped`]; then no result was written.
pub fn ingest(plan: &Plan, load: Load<'_>, watch: &dyn Watch, report: &mut Report) -> Result<Done, Stopped> {
    let out = OutDir::open(&plan.out, &plan.layout.root)?;
    for passed in &plan.layout.passed_over {
        report.unusable(plan.within(&passed.path), &passed.why, "");
    }
    let language = Language::english(plan.kit.clone());
    let (notes, hearing) = hear::notes(plan, &language, load, watch, report);
    if notes.is_empty() && plan.layout.rebate.is_empty() {
        return Err(match (&plan.ears.model, plan.layout.notes.is_empty()) {
            (Err(why), false) => Stopped::NoModel(why.clone()),
            _ => Stopped::NoInput,
        });
    }
    let notes = order::in_order(notes, &language);
    let mut builder = Builder::new(&language, plan.unsure_below);
    for note in &notes {
        builder.add(&note.name, &note.heard);
    }
    let mut noted = builder.finish();
    when::place_frames(&mut noted, &notes);
    let trip = Trip { name: plan.layout.name.clone(), rolls: noted.into_iter().map(as_noted).collect() };
    write::results(&out, &trip, report, watch)?;
    Ok(Done { trip, hearing })
}

fn as_noted(roll: NotedRoll) -> Roll {
    Roll {
        name: roll.name.unwrap_or_else(|| crate::facts::RollName::new("unnamed").expect("letters")),
        camera: roll.camera,
        film: roll.film,
        ei: None,
        process: None,
        capacity: None,
        frames: roll.frames.into_iter().map(|f| f.frame).collect(),
        other_scans: Vec::new(),
        remarks: roll.remarks,
    }
}
