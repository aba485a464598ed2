//! `spooltalk habits`: how frames lie against the daylight rule, and what else shows.

use crate::archive::{Archive, ArchiveError, Query, accuracy_text, habits_svg, habits_text, worked_text};
use crate::cli::Exit;
use crate::cli::args::HabitsArgs;
use crate::cli::failure::Failure;
use crate::cli::places::Places;
use crate::cli::print;
use crate::cli::settle;

/// Prints a table, or a picture, by film, light, filter, lens and year; then how the shutter that was
/// said lies against the film edge, and what exposures worked.
pub fn habits(args: &HabitsArgs) -> Result<Exit, Failure> {
    let query = Query::from_args(&args.terms).map_err(Failure::usage)?;
    let path = settle::archive(args.archive.as_deref(), &Places::usual())?;
    let failed = |e: ArchiveError| Failure::at(&path, e);
    let archive = Archive::open(&path).map_err(failed)?;
    let habits = archive.habits(&query).map_err(failed)?;
    if habits.iter().all(|h| h.groups.is_empty()) {
        tracing::warn!("no frame meets all of that");
    }
    if args.svg {
        return print::text(&habits_svg(&habits));
    }
    let accuracy = accuracy_text(&archive.accuracy(&query).map_err(failed)?);
    let worked = worked_text(&archive.worked(&query).map_err(failed)?);
    print::text(&[habits_text(&habits), accuracy, worked].concat())
}
