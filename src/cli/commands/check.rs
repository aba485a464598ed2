//! `spooltalk ingest --check`: what would be done, and what is unusable.

use std::fmt::Write as _;

use serde_json::json;

use crate::cli::Exit;
use crate::cli::failure::Failure;
use crate::cli::print;
use crate::output::words::{counted, in_kit};
use crate::pipeline::{self, Checked};
use crate::plan::Plan;
use crate::report::Report;

/// Why a program without its engine hears nothing.
pub(super) const NO_ENGINE: &str =
    "this spooltalk was built without its speech engine and can use no model: it reads texts only";

/// Looks a trip through and tells what it found.
pub fn check(plan: &Plan, as_json: bool) -> Result<Exit, Failure> {
    let mut report = Report::default();
    let checked = pipeline::check(plan, can_hear(plan), &mut report);
    let exit = match (checked.any(), report.is_clean()) {
        (false, _) => Exit::Nothing,
        (true, true) => Exit::Done,
        (true, false) => Exit::Partly,
    };
    for line in report.lines() {
        tracing::error!("{line}");
    }
    if as_json {
        let object = json!({
            "trip": plan.layout.name,
            "out": plan.out,
            "exit": exit.code(),
            "check": checked,
            "unusable": report.entries(),
        });
        print::text(&format!("{object:#}\n"))?;
    } else {
        print::text(&told(plan, &checked))?;
    }
    Ok(exit)
}

/// Whether there is something to hear clips with.
fn can_hear(plan: &Plan) -> Result<(), String> {
    if !cfg!(feature = "whisper") {
        return Err(NO_ENGINE.to_owned());
    }
    plan.ears.model.as_ref().map(drop).map_err(Clone::clone)
}

fn told(plan: &Plan, checked: &Checked) -> String {
    let mut text = format!(
        "kit: {}\nnotes: {} to hear ({:.0} s of sound), {} to read\n",
        in_kit(&plan.kit),
        counted(checked.clips, "clip"),
        checked.sound_s,
        counted(checked.texts, "text"),
    );
    for roll in &checked.rolls {
        let edge = if roll.edge > 0 { format!(", edge data in {}", counted(roll.edge, "file")) } else { String::new() };
        let _ = writeln!(text, "roll {}: {}{edge}", roll.roll, counted(roll.scans, "scan"));
    }
    let nothing = if checked.any() { "" } else { "; there is nothing to work on" };
    let _ = writeln!(text, "checked only, nothing was written{nothing}; results would go to {}", plan.out.display());
    text
}
