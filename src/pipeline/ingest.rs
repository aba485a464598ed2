//! The whole way, on one page.

use super::check::ODD_NAME;
use super::developed;
use super::inputs::Known;
use super::memory::{Memory, remembers_clips};
use super::settled::Settled;
use super::stopped::Stopped;
use super::told::told;
use super::{Load, Note, Tally, Watch, evidence, hear, inputs, order, times, write};
use crate::edits::{self, Notice};
use crate::facts::{Flag, Input, caught};
use crate::kit::Missing;
use crate::language::Language;
use crate::output::OutDir;
use crate::plan::Plan;
use crate::rebate::RebateRoll;
use crate::report::Report;
use crate::roll::story::Builder;
use crate::roll::{
    ClipFacts, MatchSettings, NotedRoll, Roll, Trip, Unaccounted, distinct_names, flag_unplaced, is_unplaced,
    match_roll, pair_rolls,
};
use crate::scans::ScanFolder;
use std::collections::{HashMap, HashSet};
use std::path::Path;

/// What became of a trip.
#[derive(Debug)]
pub struct Done {
    /// The trip, settled.
    pub trip: Trip,
    /// Every input, with what became of it.
    pub inputs: Vec<Input>,
    /// How the hearing went.
    pub hearing: Tally,
    /// What was spoken of and is not in the kit, the most spoken of first.
    pub missing: Vec<Missing>,
    /// What should be known of tables that were changed by hand.
    pub notices: Vec<Notice>,
}

/// Takes a trip in, read with a language joined with the trip's kit: hears its notes, settles its frames, writes its record.
/// What could not be used stands in `report`, also when the whole stops.
///
/// # Errors
/// [`Stopped`]; then no result was written.
pub fn ingest(
    plan: &Plan,
    language: &Language,
    load: Load<'_>,
    watch: &dyn Watch,
    report: &mut Report,
) -> Result<Done, Stopped> {
    let (layout, knows) = (&plan.layout, remembers_clips(&plan.out));
    if layout.notes.is_empty() && layout.rebate.is_empty() && layout.passed_over.is_empty() && !knows {
        return Err(Stopped::ScansAlone(layout.root.clone()));
    }
    let out = OutDir::open(&plan.out, &plan.layout.root)?;
    let edits = edits::gather(&out)?;
    for table in &edits.refused {
        let why = "not all that was written into it could be taken in; a copy of it is kept in kept/";
        report.but_for(plan.within(&plan.out.join(table)), why, "");
    }
    for passed in &plan.layout.passed_over {
        report.unusable(plan.within(&passed.path), &passed.why, "");
    }
    for path in &plan.layout.odd_names {
        report.but_for(plan.within(path), ODD_NAME, "rename it");
    }
    let memory = Memory::read(&out);
    let (mut notes, hearing) = hear::notes(plan, language, &memory, load, watch, report);
    let gone = if plan.drop_gone { Vec::new() } else { memory.gone(&notes) };
    let gone_names: HashSet<String> = gone.iter().map(|n| n.name.clone()).collect();
    notes.extend(gone);
    if notes.is_empty() && plan.layout.rebate.is_empty() {
        return Err(match (&plan.ears.model, plan.layout.notes.is_empty()) {
            (Err(why), false) => Stopped::NoModel(why.clone()),
            _ => Stopped::NoInput,
        });
    }
    times::distrust_copies(&mut notes);
    Memory::keep(&out, &notes)?;
    let notes = order::in_order(notes, language);
    let names = plan.layout.scans.iter().map(|s| &s.roll).chain(plan.layout.rebate.iter().map(|r| &r.roll));
    let begin = || Builder::new(language, plan.unsure_below).knowing(names.clone());
    let teller = told(notes.iter().collect(), begin, |b, n| b.add(&n.name, &n.heard), report);
    let understood = teller.understood().clone();
    let missing = teller.missing();
    let noted = teller.finish();
    let folders = evidence::scans(plan, &noted, watch, report);
    let (prints, printed) = evidence::prints(plan, &noted, report);
    let mut rolls = matched(plan, noted, &folders, &prints, &notes, report)?;
    developed::typed(plan, &mut rolls, report);
    let mut trip = Trip { name: plan.layout.name.clone(), rolls };
    mark_gone(&mut trip, &gone_names);
    let mut settled = Settled::new(plan, &trip, &notes, report);
    settled.missing.clone_from(&missing);
    let list = |trip: &Trip, report: &Report| {
        inputs::inputs(plan, &Known { notes: &notes, understood: &understood, printed: &printed, report, trip })
    };
    let (mut notices, inputs) = write::results(plan, &out, &mut trip, edits, &list, report, watch)?;
    (settled.report, settled.inputs) = (report.clone(), inputs.clone());
    settled.keep(&out)?;
    notices.extend(gone_notice(&gone_names));
    Ok(Done { trip, inputs, hearing, missing, notices })
}

/// Flags the frames that were told in clips that are gone.
fn mark_gone(trip: &mut Trip, gone: &HashSet<String>) {
    for frame in trip.rolls.iter_mut().flat_map(|r| &mut r.frames) {
        let mut clips: Vec<&str> =
            frame.said.iter().map(|q| q.at.clip.as_str()).filter(|clip| gone.contains(*clip)).collect();
        clips.dedup();
        if !clips.is_empty() {
            let why = format!("{} cannot be played any more; its words were kept", clips.join(", "));
            frame.flag(Flag::GoneClip, why);
        }
    }
}

fn gone_notice(gone: &HashSet<String>) -> Option<Notice> {
    let mut names: Vec<&str> = gone.iter().map(String::as_str).collect();
    names.sort_unstable();
    let text = match &names[..] {
        [] => return None,
        [one] => format!("{one} is gone since it was heard; its frames are kept (--drop-gone lets them go)"),
        more => format!(
            "{} clips are gone since they were heard ({}); their frames are kept (--drop-gone lets them go)",
            more.len(),
            more.join(", ")
        ),
    };
    Some(Notice { place: "notes".to_owned(), text })
}

/// Notes, scans and edge prints laid on film, roll by roll.
fn matched(
    plan: &Plan,
    noted: Vec<NotedRoll>,
    folders: &[ScanFolder],
    prints: &[RebateRoll],
    notes: &[Note],
    report: &mut Report,
) -> Result<Vec<Roll>, Unaccounted> {
    let facts = |n: &Note| ClipFacts { taken: n.taken.clone().filter(|_| n.is_spoken()), position: n.position };
    let clips: HashMap<&str, ClipFacts> = notes.iter().map(|n| (n.name.as_str(), facts(n))).collect();
    let clock = |clip: &str| clips.get(clip).cloned();
    let settings = MatchSettings { unsure_below: plan.unsure_below };
    let parts = pair_rolls(&noted, folders, prints);
    let unplaced: Vec<bool> = noted.iter().map(|n| is_unplaced(n, folders, &noted)).collect();
    let mut noted: Vec<Option<NotedRoll>> = noted.into_iter().map(Some).collect();
    let mut rolls = Vec::new();
    for (notes, scans, print) in parts {
        let alone = notes.is_some_and(|i| unplaced[i]) && scans.is_none() && print.is_none();
        let noted = notes.and_then(|i| noted[i].take());
        let (scans, print) = (scans.map(|i| &folders[i]), print.map(|i| &prints[i]));
        let name = noted.as_ref().and_then(|n| n.name.clone()).or_else(|| scans.map(|s| s.roll.clone()));
        let name = name.or_else(|| print.map(|p| p.roll.clone())).map_or("unnamed".to_owned(), |n| n.to_string());
        match caught(|| match_roll(noted, scans, print, &plan.kit, &clock, &settings)) {
            Ok(roll) => {
                let mut roll = roll?;
                if alone {
                    flag_unplaced(&mut roll);
                }
                rolls.push(roll);
            }
            Err(fault) => report.unusable(Path::new("rolls").join(name), fault, ""),
        }
    }
    rolls.retain(|roll| !roll.frames.is_empty());
    rolls.sort_by(|a, b| a.name.cmp(&b.name));
    distinct_names(&mut rolls);
    Ok(rolls)
}
