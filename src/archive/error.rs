//! What can go wrong with an archive.

use std::path::PathBuf;

use super::query::QueryError;

/// What can go wrong with an archive.
#[derive(Debug, thiserror::Error)]
pub enum ArchiveError {
    /// There is none where one was looked for.
    #[error("no archive at {0}: take a trip in first, or name one with --archive")]
    Missing(PathBuf),
    /// A later version of the program wrote it.
    #[error("archive is of version {found}; this program knows up to {known}: use a newer program")]
    TooNew {
        /// Version in the file.
        found: u32,
        /// Newest version known here.
        known: u32,
    },
    /// The file is a database, but of something else.
    #[error("{0} is a database of another program")]
    Foreign(PathBuf),
    /// One of its files is a link to somewhere else.
    #[error("{0} is a link; an archive is only written where it stands: remove the link")]
    Link(PathBuf),
    /// The search terms do not read.
    #[error(transparent)]
    Query(#[from] QueryError),
    /// The database failed.
    #[error("archive: {0}")]
    Database(#[from] rusqlite::Error),
    /// What was to be written could not be.
    #[error("cannot be written: {0}")]
    Output(std::io::Error),
    /// A record could not be written as JSON or read back.
    #[error("archive: {0}")]
    Json(#[from] serde_json::Error),
}
