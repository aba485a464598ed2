//! What the notes of a trip speak of, heard without writing anything: for a first kit.

use crate::exposure::{Shutter, Speed};
use crate::kit::Missing;
use crate::language::Language;
use crate::output::OutDir;
use crate::plan::Plan;
use crate::report::Report;
use crate::roll::story::Builder;

use super::memory::Memory;
use super::told::told;
use super::{Load, Unwatched, hear, order};

/// What the notes speak of.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Speaks {
    /// Notes that were read or heard.
    pub notes: usize,
    /// Things, the most spoken of first.
    pub things: Vec<Missing>,
    /// The slowest and the fastest shutter speed said.
    pub shutters: Option<(Speed, Speed)>,
    /// The most frames told of one roll.
    pub most_frames: usize,
    /// Frames are told by holder and side.
    pub sheets: bool,
}

/// Reads the notes of a trip as far as they can be, with a language that knows no kit. What cannot be used
/// is reported.
pub fn speaks(plan: &Plan, language: &Language, load: Load<'_>, report: &mut Report) -> Speaks {
    // Only looked at where it is: a trip that was never taken in remembers nothing.
    let memory = match plan.out.is_dir() {
        true => OutDir::open(&plan.out, &plan.layout.root).map(|out| Memory::read(&out)).unwrap_or_default(),
        false => Memory::default(),
    };
    let (notes, _) = hear::notes(plan, language, &memory, load, &Unwatched, report);
    let notes = order::in_order(notes, language);
    let begin = || Builder::new(language, plan.unsure_below);
    let teller = told(notes.iter().collect(), begin, |b, n| b.add(&n.name, &n.heard), report);
    let things = teller.missing();
    let rolls = teller.finish();
    let frames = || rolls.iter().flat_map(|r| &r.frames).map(|f| &f.frame);
    let speeds: Vec<Speed> = frames()
        .filter_map(|f| match f.shutter.as_ref().filter(|s| s.confidence.get() >= plan.unsure_below)?.value {
            Shutter::Timed(speed) => Some(speed),
            _ => None,
        })
        .collect();
    let by = |a: &&Speed, b: &&Speed| a.seconds().total_cmp(&b.seconds());
    Speaks {
        notes: notes.len(),
        things,
        shutters: speeds.iter().max_by(by).copied().zip(speeds.iter().min_by(by).copied()),
        most_frames: rolls.iter().map(|r| r.frames.len()).max().unwrap_or(0),
        sheets: frames().any(|f| f.number.has_side()),
    }
}
