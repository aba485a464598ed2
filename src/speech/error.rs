//! What can go wrong with hearing.

use crate::audio::AudioError;

/// Why nothing was heard.
#[derive(Debug, thiserror::Error)]
pub enum SpeechError {
    /// The sound could not be read.
    #[error(transparent)]
    Audio(#[from] AudioError),
    /// The speech engine gave up.
    #[error("the speech engine failed while {doing}: {why}")]
    Engine {
        /// What it was at.
        doing: &'static str,
        /// In its own words.
        why: String,
    },
    /// A text that is not one.
    #[error("not readable as text: {0}")]
    Text(String),
}
