//! What can be wrong with a picture.

/// Why a picture cannot be decoded.
#[derive(Debug, thiserror::Error)]
pub enum PictureError {
    /// The file cannot be opened.
    #[error("cannot be read: {0}")]
    Unreadable(std::io::Error),
    /// Of a kind that the decoder does not read.
    #[error("{0}")]
    Unsupported(image::error::UnsupportedError),
    /// Broken, or of a kind that is not read.
    #[error("{0}")]
    Broken(String),
    /// It would take too much memory.
    #[error("takes {} MB when it is decoded; the limit is {} MB", mega(*.bytes), mega(super::LARGEST))]
    TooLarge {
        /// Bytes that it claims.
        bytes: u64,
    },
}

fn mega(bytes: u64) -> u64 {
    bytes.div_ceil(1 << 20)
}
