//! A place in a clip.

use serde::{Deserialize, Serialize};

/// Where something was said: a clip and the seconds into it.
#[derive(Debug, Clone, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Moment {
    /// The clip's path relative to `notes/`, with `/` between folders.
    pub clip: String,
    /// Seconds from the clip's start, where the words begin.
    pub at_s: f64,
    /// Seconds from the clip's start, where the words end.
    pub end_s: f64,
}
