//! What can go wrong with hearing.

use super::model::ModelError;
use crate::audio::AudioError;

/// Why nothing was heard.
#[derive(Debug, thiserror::Error)]
pub enum SpeechError {
    /// The sound could not be read.
    #[error(transparent)]
    Audio(#[from] AudioError),
    /// The model could not be read.
    #[error(transparent)]
    Model(#[from] ModelError),
    /// The speech engine gave up.
    #[error("the speech engine failed while {doing}: {why}")]
    Engine {
        /// What it was at.
        doing: &'static str,
        /// In its own words.
        why: String,
    },
    /// A fault of the program, which ends nothing but this clip.
    #[error("a fault of this program ended the hearing, please report it: {0}")]
    Broke(String),
    /// The program was built for another processor.
    #[error("this program was built for a processor with {lacks}, which this one has not: build it on this machine")]
    Processor {
        /// The instructions that are not there.
        lacks: &'static str,
    },
    /// A text longer than any.
    #[error("has more than {most_mb} MB of text, which is the limit: cut it into several")]
    TooLong {
        /// The limit, in megabytes.
        most_mb: usize,
    },
    /// A text that is not one.
    #[error("not readable as text: {0}")]
    Text(String),
}
