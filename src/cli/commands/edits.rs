//! `spooltalk edits`: what was changed by hand in a trip's tables.

use crate::cli::Exit;
use crate::cli::args::EditsArgs;
use crate::cli::failure::Failure;
use crate::cli::{print, settle};
use crate::edits;
use crate::output::OutDir;

/// Lists the edits kept and those not yet taken in.
pub fn edits(args: &EditsArgs) -> Result<Exit, Failure> {
    let path = settle::results(&args.trip, args.out.as_deref())?;
    let out = OutDir::open(&path, &args.trip).map_err(Failure::nothing)?;
    let edits = edits::list(&out).map_err(Failure::nothing)?;
    for notice in &edits.notices {
        tracing::warn!("{notice}");
    }
    print::text(&edits.all.iter().map(|e| format!("{e}\n")).collect::<String>())
}
