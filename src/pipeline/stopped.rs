//! Why a trip was not taken in.

use crate::archive::ArchiveError;
use crate::edits::EditsError;
use crate::output::OutputError;
use crate::roll::Unaccounted;
use std::path::PathBuf;

/// Why nothing could be done.
#[derive(Debug, thiserror::Error)]
pub enum Stopped {
    /// Every note and every edge print was unusable, or there were none.
    #[error("nothing to work on: no note and no edge print of this trip could be used")]
    NoInput,
    /// Scans, and nothing that says how they were taken.
    #[error(
        "{}: only scans: nothing says how they were taken. Put clips or texts into notes/, or what stands on the film \
         edge into rebate/ (typed off as ROLL.csv, or pictures). Nothing was written",
        .0.display()
    )]
    ScansAlone(PathBuf),
    /// Clips alone, and nothing to hear them with.
    #[error("{0}")]
    NoModel(String),
    /// Something of a roll went lost on the way.
    #[error("{0}; this is a fault of spooltalk. Nothing was written, and what an earlier run wrote is kept")]
    Account(#[from] Unaccounted),
    /// The results could not be written.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// Edits made by hand could not be read or kept.
    #[error(transparent)]
    Edits(#[from] EditsError),
    /// A folder could not be made.
    #[error("{}: {source}: choose another place", path.display())]
    NoRoom {
        /// The folder.
        path: PathBuf,
        /// Why not.
        source: std::io::Error,
    },
    /// The archive could not be opened or written.
    #[error("{}: {why}", path.display())]
    Archive {
        /// The archive.
        path: PathBuf,
        /// Why not.
        why: ArchiveError,
    },
}
