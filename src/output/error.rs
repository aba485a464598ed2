//! What can go wrong between settled rolls and files.

use std::io;
use std::path::PathBuf;

/// An output that could not be made.
#[derive(Debug, thiserror::Error)]
pub enum OutputError {
    /// The output folder is a file, or cannot be made.
    #[error("{}: cannot be the output folder: {source}; choose another with --out", path.display())]
    NoFolder {
        /// The folder asked for.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
    /// The output folder would lie in a folder that is only read.
    #[error("{}: originals are never written; choose an output folder outside notes, scans and rebate", .0.display())]
    AmongOriginals(PathBuf),
    /// A link in the way leads somewhere else.
    #[error("{}: is a link that leads out of the output folder; remove it and run again", .0.display())]
    LeadsOut(PathBuf),
    /// A name that is no plain path below the output folder.
    #[error("'{0}' is no path below the output folder")]
    BadName(String),
    /// Another run holds the folder.
    #[error("{}: another run is writing here; wait for it to end", .0.display())]
    Busy(PathBuf),
    /// The disk said no.
    #[error("{}: cannot be written: {source}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
}

/// A table that could not be read back.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TableError {
    /// Not text.
    #[error("is not UTF-8 or UTF-16 text; save it as CSV in UTF-8")]
    NotText,
    /// No column of ours in the first line.
    #[error("has no column named 'frame' in its first line; keep the line of column names")]
    NoHeader,
    /// A column stands there twice.
    #[error("has the column '{0}' twice; keep one of them")]
    Twice(String),
    /// A line that is no line of a table.
    #[error("line {line} cannot be read: {why}")]
    Line {
        /// Line in the file, from 1.
        line: u64,
        /// Why not.
        why: String,
    },
}
