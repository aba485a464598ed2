//! Who looks on while a trip is taken in.

use std::fmt;

/// What is being done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Clips are heard; the steps are clips.
    Hearing,
    /// Scans are looked at; the steps are rolls.
    Scans,
    /// Results are written; the steps are rolls.
    Writing,
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Hearing => "listening",
            Self::Scans => "looking at scans",
            Self::Writing => "writing",
        })
    }
}

/// Is told how far things are. Must not slow them down.
pub trait Watch: Sync {
    /// A stage of this many steps begins.
    fn begin(&self, stage: Stage, steps: usize);
    /// One step is done.
    fn step(&self);
}

/// Looks away.
#[derive(Debug, Clone, Copy, Default)]
pub struct Unwatched;

impl Watch for Unwatched {
    fn begin(&self, _: Stage, _: usize) {}
    fn step(&self) {}
}
