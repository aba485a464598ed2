//! What was read of a roll's film edge.

use crate::exposure::{Aperture, ExposureIndex, Shutter, Stops};
use crate::facts::{Field, FrameNumber, RollName, Settled};
use crate::pictures::PictureError;

/// The camera's print beside one frame. What was not printed, or could not be
/// read, is `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct ImprintFrame {
    /// Frame number, if one stands beside it and is sure.
    pub number: Option<FrameNumber>,
    /// Place along the film or in the file, from 0.
    pub order: usize,
    /// Shutter setting.
    pub shutter: Option<Settled<Shutter>>,
    /// Aperture.
    pub aperture: Option<Settled<Aperture>>,
    /// Focal length, mm.
    pub focal_mm: Option<Settled<f64>>,
    /// Exposure index.
    pub ei: Option<Settled<ExposureIndex>>,
    /// Compensation.
    pub comp: Option<Settled<Stops>>,
    /// When, by the camera's clock, in its own time zone.
    pub taken: Option<jiff::civil::DateTime>,
    /// The line as it was typed or seen.
    pub raw: String,
    /// The image it was read from, by its file name; none when typed off.
    pub image: Option<String>,
    /// Fields of which the roll's sources say different things, and what.
    pub conflicts: Vec<(Field, String)>,
}

impl ImprintFrame {
    /// A print of which nothing could be read but its number.
    pub fn blank(number: Option<FrameNumber>, order: usize) -> Self {
        Self {
            number,
            order,
            shutter: None,
            aperture: None,
            focal_mm: None,
            ei: None,
            comp: None,
            taken: None,
            raw: String::new(),
            image: None,
            conflicts: Vec::new(),
        }
    }
}

/// The film edge of one roll.
#[derive(Debug, Clone, PartialEq)]
pub struct RebateRoll {
    /// The roll, named by its files or folder.
    pub roll: RollName,
    /// Its frames, in the order found.
    pub frames: Vec<ImprintFrame>,
}

/// Something that could not be read; the rest was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RebateFault {
    /// File.
    pub file: String,
    /// Line in it, from 1; none for an image.
    pub line: Option<usize>,
    /// What is wrong and what was expected.
    pub what: String,
}

impl std::fmt::Display for RebateFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.line {
            Some(line) => write!(f, "{}, line {line}: {}", self.file, self.what),
            None => write!(f, "{}: {}", self.file, self.what),
        }
    }
}

/// Why nothing of a roll's edge could be read.
#[derive(Debug, thiserror::Error)]
pub enum RebateError {
    /// The file could not be opened or read.
    #[error("cannot be read: {0}")]
    Unreadable(#[from] std::io::Error),
    /// The file's name gives no roll.
    #[error(transparent)]
    Name(#[from] crate::facts::NameError),
    /// A table without any column that the film edge holds.
    #[error("no column is known: expected a first line such as 'frame,shutter,aperture,focal_mm,ei'")]
    NoColumns,
    /// Lines, and no pattern to read them by.
    #[error(
        "no camera in the kit says how it writes on the film edge: add a line such as imprint = \"{{shutter}} F{{aperture}}\" to it in kit.toml"
    )]
    NoPattern,
    /// An image that cannot be decoded.
    #[error("no picture: {0}")]
    Picture(String),
    /// An image that would take too much memory.
    #[error(transparent)]
    TooLarge(PictureError),
    /// More of something than a roll's edge has.
    #[error("has {found} {what}; at most {most} of a roll's edge are read")]
    TooMany {
        /// Of what.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many are read.
        most: usize,
    },
    /// Neither a table nor lines nor an image.
    #[error("is neither .csv, .tsv nor .txt nor a picture")]
    Kind,
}

impl From<PictureError> for RebateError {
    fn from(why: PictureError) -> Self {
        match why {
            PictureError::Unreadable(why) => Self::Unreadable(why),
            PictureError::Unsupported(why) => Self::Picture(why.to_string()),
            PictureError::Broken(why) => Self::Picture(why),
            why @ PictureError::TooLarge { .. } => Self::TooLarge(why),
        }
    }
}
