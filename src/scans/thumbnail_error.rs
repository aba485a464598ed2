//! Why a scan has no small picture.

use crate::pictures::PictureError;
use image::ImageFormat;
use image::error::{ImageFormatHint, UnsupportedError, UnsupportedErrorKind};

/// A scan that gives no thumbnail.
#[derive(Debug, thiserror::Error)]
pub enum ThumbnailError {
    /// The file is empty.
    #[error("is empty; copy or scan it again")]
    Empty,
    /// Broken, or of a kind that is not read.
    #[error("is no picture that can be shown ({0}); scan or copy it again")]
    Broken(String),
    /// A picture of a kind that is not read.
    #[error("is a kind of TIFF that is not read: {0}; the frame is kept without a thumbnail")]
    Kind(String),
    /// It would take too much memory when it is decoded.
    #[error(transparent)]
    Memory(PictureError),
    /// A piece of it would take too much memory.
    #[error("is too large to be shown ({width} × {height} pixels)")]
    TooLarge {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
}

impl From<PictureError> for ThumbnailError {
    fn from(why: PictureError) -> Self {
        match why {
            PictureError::Unsupported(e) if matches!(e.format_hint(), ImageFormatHint::Exact(ImageFormat::Tiff)) => {
                Self::Kind(kind_of(&e))
            }
            why @ PictureError::TooLarge { .. } => Self::Memory(why),
            why => Self::Broken(why.to_string()),
        }
    }
}

/// What a decoder does not read, in plain words.
pub(super) fn kind_of(e: &UnsupportedError) -> String {
    match e.kind() {
        UnsupportedErrorKind::Color(_) => "its colours are none of grey, RGB, CMYK, L*a*b* and a palette".to_owned(),
        UnsupportedErrorKind::GenericFeature(feature) => feature,
        _ => e.to_string(),
    }
}
