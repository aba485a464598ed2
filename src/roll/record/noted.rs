//! What the notes alone say of a roll, before scans and edge prints are seen.

use crate::facts::{FrameNumber, RollName};

use super::developed::Developed;
use super::row::Frame;

/// A frame as noted. Its [`Frame`] holds the settings settled from the words;
/// its number is the said one, or counted.
#[derive(Debug, Clone, PartialEq)]
pub struct NotedFrame {
    /// The record so far.
    pub frame: Frame,
    /// The number that was said, if one was, with other numbers it may have
    /// been and their weights (summing to 1 with the first).
    pub said_numbers: Vec<(FrameNumber, f64)>,
    /// A frame may have been told before it that was not taken for one.
    pub lost_before: bool,
}

/// A roll as noted.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NotedRoll {
    /// Its name; `None` when none was said.
    pub name: Option<RollName>,
    /// Camera it was in, by its kit name.
    pub camera: Option<String>,
    /// Film, as it stands for the roll.
    pub film: Option<String>,
    /// Frames in the order they were taken.
    pub frames: Vec<NotedFrame>,
    /// The notes say that the scans run from the last frame to the first.
    pub scans_reversed: bool,
    /// Remarks on the whole roll.
    pub remarks: Vec<String>,
    /// How it was developed, as said.
    pub developed: Developed,
}
