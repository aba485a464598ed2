//! `spooltalk ingest`: a trip's folder in, its record out.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

#[cfg(not(feature = "whisper"))]
use super::check::NO_ENGINE;
use super::check::check;
use super::watch;
use crate::cli::Exit;
use crate::cli::args::IngestArgs;
use crate::cli::failure::Failure;
use crate::cli::places::Places;
use crate::cli::print;
use crate::cli::progress::Bar;
use crate::cli::settle;
use crate::cli::{grammar, phone};
use crate::facts::{Fate, shown};
use crate::kit::Missing;
use crate::language::Language;
use crate::output::Counts;
use crate::output::words::counted;
use crate::pipeline::{self, Done};
use crate::plan::Plan;
use crate::report::Report;
use crate::speech::Recogniser;

/// Takes trips in, one after the other, and tells what became of each. One that cannot be done
/// does not stop the others.
pub fn ingest(args: &IngestArgs, bar: &Bar, quiet: bool) -> Result<Exit, Failure> {
    let places = Places::usual();
    if args.trips.len() > 1 && (args.out.is_some() || args.embed.is_some()) {
        return Err(Failure::usage("--out and --embed are for one trip: give the trips one by one"));
    }
    if args.watch {
        return watched(args, &places, bar, quiet);
    }
    all(args, &places, bar, quiet)
}

/// Takes in what is there, and what arrives, until Ctrl-C.
fn watched(args: &IngestArgs, places: &Places, bar: &Bar, quiet: bool) -> Result<Exit, Failure> {
    let folders = match args.trips.is_empty() {
        true => vec![phone::named(places)?.0],
        false => args.trips.clone(),
    };
    if let Some(gone) = folders.iter().find(|f| !f.is_dir()) {
        return Err(Failure::at(gone, "no such folder"));
    }
    let usual = args.trips.iter().map(|t| t.join("spooltalk"));
    let out: Vec<PathBuf> =
        args.out.iter().cloned().chain(usual).chain(args.embed.clone()).chain(args.archive.clone()).collect();
    watch::watch(&folders, &out, || {
        // What is wrong now may be put right by the next file.
        if let Err(failure) = all(args, places, bar, quiet) {
            tracing::error!("{}", failure.why);
        }
        bar.clear();
        tracing::warn!("watching; Ctrl-C ends it");
    })
}

/// Takes in all trips that were asked for.
fn all(args: &IngestArgs, places: &Places, bar: &Bar, quiet: bool) -> Result<Exit, Failure> {
    if args.trips.is_empty() {
        let news = phone::take_in(places)?;
        if news.new == 0 {
            tracing::warn!("nothing new has arrived from the phone");
            return Ok(Exit::Done);
        }
        return one(args, &news.trip, places, bar, quiet);
    }
    let mut ends = Vec::new();
    for trip in &args.trips {
        match one(args, trip, places, bar, quiet) {
            Err(failure) if args.trips.len() == 1 => return Err(failure),
            Err(failure) => {
                tracing::error!("{}", failure.why);
                ends.push(failure.exit);
            }
            Ok(exit) => ends.push(exit),
        }
    }
    let worst = ends.iter().copied().max().unwrap_or(Exit::Done);
    let some_done = ends.iter().any(|e| *e <= Exit::Partly);
    Ok(if some_done { worst.min(Exit::Partly) } else { worst })
}

/// Takes one trip in.
fn one(args: &IngestArgs, trip: &Path, places: &Places, bar: &Bar, quiet: bool) -> Result<Exit, Failure> {
    let plan = settle::plan(args, trip, places)?;
    if args.check {
        return check(&plan, args.json);
    }
    if plan.kit_file.is_none() {
        tracing::warn!(
            "no kit: nothing is known of your cameras, lenses, films and filters, so more is guessed and what the gear \
             cannot do is not flagged. `spooltalk init {}` writes a first one",
            trip.display()
        );
    }
    let mut report = Report::default();
    let language = grammar::language(args.grammar.as_deref(), plan.kit.clone())?;
    let load = || recogniser(&plan, &language);
    let done = pipeline::ingest(&plan, &language, &load, bar, &mut report);
    bar.clear();
    for line in report.lines() {
        tracing::error!("{line}");
    }
    let exit = match &done {
        Err(_) => Exit::Nothing,
        Ok(_) if report.is_clean() => Exit::Done,
        Ok(_) => Exit::Partly,
    };
    if args.json {
        print::text(&format!("{:#}\n", object(&plan, done.as_ref().ok(), &report, exit)))?;
    }
    let done = done.map_err(Failure::nothing)?;
    for line in unheard(&done).lines() {
        tracing::warn!("{line}");
    }
    for notice in &done.notices {
        tracing::warn!("{notice}");
    }
    if let Some(text) = missing(trip, &done.missing) {
        tracing::warn!("{text}");
    }
    if !args.json && !quiet {
        print::text(&summary(&plan, &done))?;
    }
    Ok(exit)
}

#[cfg(feature = "whisper")]
pub(super) fn recogniser(plan: &Plan, language: &Language) -> Result<Box<dyn Recogniser>, String> {
    use crate::speech::{Hearing, Settings};
    let model = plan.ears.model.as_ref().map_err(Clone::clone)?;
    tracing::info!("speech model: {}", model.display());
    let settings = Settings::default();
    let workers = plan.ears.jobs.unwrap_or(settings.workers);
    let settings = Settings { workers, plain: plan.ears.plain, names: language.names(), ..settings };
    let hearing = Hearing::new(model, &settings).map_err(|e| format!("{}: {e}", model.display()))?;
    Ok(Box::new(hearing))
}

#[cfg(not(feature = "whisper"))]
pub(super) fn recogniser(_: &Plan, _: &Language) -> Result<Box<dyn Recogniser>, String> {
    Err(NO_ENGINE.to_owned())
}

/// Notes in which nothing was heard or understood; nobody may have spoken of the film in them.
fn unheard(done: &Done) -> Report {
    let mut report = Report::default();
    for i in done.inputs.iter().filter(|i| matches!(i.fate, Fate::NothingHeard | Fate::NothingUnderstood)) {
        let why: Vec<String> = std::iter::once(i.fate.to_string()).chain(i.remarks.iter().cloned()).collect();
        report.unusable(&i.path, why.join(": "), "");
    }
    report
}

/// What was heard and is not in the kit, with the lines that would add it.
fn missing(trip: &Path, all: &[Missing]) -> Option<String> {
    if all.is_empty() {
        return None;
    }
    let names: Vec<String> = all.iter().map(|m| shown(&m.to_string())).collect();
    let lines: String = all
        .iter()
        .flat_map(|m| {
            ["\n".to_owned()].into_iter().chain(m.table().lines().map(|l| format!("\n  {l}")).collect::<Vec<_>>())
        })
        .collect();
    let trip = trip.display();
    Some(format!("heard, but not in your kit: {}. `spooltalk kit add {trip}` writes:{lines}\n", names.join(", ")))
}

/// A line a roll, and where to look.
fn summary(plan: &Plan, done: &Done) -> String {
    let mut lines = String::new();
    for roll in &done.trip.rolls {
        let counts = Counts::of(&roll.frames);
        let name = shown(roll.name.as_str());
        let _ = writeln!(lines, "roll {name}: {}, {} to check", counted(counts.frames, "frame"), counts.to_check);
    }
    lines + &format!("results: {}\n", plan.out.join("trip.html").display())
}

/// The report for other programs.
fn object(plan: &Plan, done: Option<&Done>, report: &Report, exit: Exit) -> Value {
    let rolls = done.iter().flat_map(|d| &d.trip.rolls).map(|roll| {
        let counts = Counts::of(&roll.frames);
        json!({
            "roll": roll.name,
            "camera": roll.camera,
            "film": roll.film,
            "frames": counts.frames,
            "ok": counts.ok,
            "wasted": counts.wasted,
            "unscanned": counts.unscanned,
            "unnoted": counts.unnoted,
            "to_check": counts.to_check,
        })
    });
    json!({
        "trip": plan.layout.name,
        "out": plan.out,
        "exit": exit.code(),
        "rolls": rolls.collect::<Vec<_>>(),
        "hearing": done.map(|d| d.hearing),
        "inputs": done.iter().flat_map(|d| &d.inputs).collect::<Vec<_>>(),
        "unusable": report.entries(),
        "not_in_kit": done.iter().flat_map(|d| &d.missing).collect::<Vec<_>>(),
        "notices": done.iter().flat_map(|d| &d.notices).map(ToString::to_string).collect::<Vec<_>>(),
    })
}
