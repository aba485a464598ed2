//! `spooltalk habits`: how frames lie against the daylight rule, and what else shows.

use crate::archive::{Archive, Query, habits_svg, habits_text};
use crate::cli::Exit;
use crate::cli::args::HabitsArgs;
use crate::cli::failure::Failure;
use crate::cli::{print, settle};

/// Prints a table, or a picture, by film, light, filter and lens.
pub fn habits(args: &HabitsArgs) -> Result<Exit, Failure> {
    let query = Query::from_args(&args.terms).map_err(Failure::usage)?;
    let path = settle::archive(args.archive.as_deref())?;
    let habits = Archive::open(&path).and_then(|a| a.habits(&query)).map_err(|e| Failure::at(&path, e))?;
    if habits.iter().all(|h| h.groups.is_empty()) {
        tracing::warn!("no frame meets all of that");
    }
    print::text(&if args.svg { habits_svg(&habits) } else { habits_text(&habits) })
}
