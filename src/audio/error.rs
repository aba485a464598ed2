//! What can be wrong with a recording.

/// Why a recording cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum AudioError {
    /// No bytes.
    #[error("the file is empty (0 bytes): copy it from the phone again")]
    Empty,
    /// Bytes, but not of a recording.
    #[error("this is no recording that can be read ({0})")]
    NotAudio(String),
    /// A container without sound.
    #[error("no audio track in this {container} file")]
    NoTrack {
        /// Kind of file.
        container: String,
    },
    /// A format that needs a helper program.
    #[error("{what} needs the program ffmpeg: install it, or convert the clip to m4a or wav")]
    NeedsFfmpeg {
        /// What was met.
        what: String,
    },
    /// An MP4 file without its index.
    #[error("the recording was not finished: its index at the end is missing; some tools can mend it")]
    NotFinished,
    /// Sound that stops before the end; what came before it can be used.
    #[error("the audio breaks off at {at_s:.1} s{}: the file is cut short or damaged", of(.of_s))]
    CutShort {
        /// Seconds that could be read.
        at_s: f64,
        /// Seconds that the file claims.
        of_s: Option<f64>,
    },
    /// More sound than any clip has.
    #[error("has more than {most_h} hours of sound, which is the limit: cut it into several")]
    TooLong {
        /// The limit, in hours.
        most_h: u64,
    },
    /// The helper program gives no more.
    #[error(
        "the program ffmpeg kept us waiting for more than {limit_s} s, which is the limit: convert the clip to m4a or wav"
    )]
    Waited {
        /// The limit, in seconds.
        limit_s: u64,
    },
    /// The disk said no.
    #[error(transparent)]
    Io(#[from] std::io::Error),
}

fn of(length_s: &Option<f64>) -> String {
    length_s.map_or(String::new(), |s| format!(" of {s:.1} s"))
}
