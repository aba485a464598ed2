//! A scan, and the folder it lies in.

use std::path::PathBuf;

use crate::facts::{Fault, FrameNumber, RollName, Taken};

/// What a picture file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ScanKind {
    /// A picture of a frame.
    Frame,
    /// A raw file of a frame, known by its name only.
    Raw,
    /// An index or contact sheet.
    Index,
    /// A test or calibration scan.
    Test,
}

/// How a scan's number is known, surest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum KnownFrom {
    /// The film maker's edge code in the picture.
    EdgeCode,
    /// A pattern of the kit says where it stands in the name.
    Pattern,
    /// The name or the tags call it a frame.
    Word,
    /// A number in the name that counts up through the folder: the frame's
    /// own, or the scanner's.
    Counter,
}

/// A letter behind a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// The half step after a frame, or the first side of a sheet's holder.
    A,
    /// The second side of a sheet's holder.
    B,
}

impl Side {
    /// A number with its side, if it has one.
    pub const fn on(side: Option<Self>, n: FrameNumber) -> FrameNumber {
        match side {
            None => n,
            Some(Self::A) => n.with_a(),
            Some(Self::B) => n.with_b(),
        }
    }
}

/// A number that a scan carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ScanNumber {
    /// The number as it stands, which may be far from any frame's (`IMG_1234`).
    pub value: u32,
    /// The letter behind it that is part of it: A of a half step on the film, A or B of a sheet's holder.
    pub side: Option<Side>,
    /// How it is known.
    pub known: KnownFrom,
}

impl ScanNumber {
    /// As a number on the film, when it can be one.
    pub fn frame(self) -> Option<FrameNumber> {
        let n = u16::try_from(self.value).ok().filter(|n| *n <= 999).map(FrameNumber::new)?;
        Some(Side::on(self.side, n))
    }
}

/// One picture file.
#[derive(Debug, Clone, PartialEq)]
pub struct Scan {
    /// Path relative to `scans/`, with `/` between folders.
    pub path: String,
    /// What it is.
    pub kind: ScanKind,
    /// The number it carries, if any.
    pub number: Option<ScanNumber>,
    /// Which picture of the folder it shows, from 0 in the order of the names;
    /// files that show the same one have the same.
    pub picture: usize,
    /// When it was scanned, as its tags say: good for the order, not for when
    /// the frame was taken.
    pub scanned: Option<Taken>,
    /// Nearly all black or all clear: nothing on the film there.
    pub is_blank: bool,
    /// Film code on the edge, such as `115-4`, if one was read.
    pub film_code: Option<String>,
}

/// The scans of one roll, in the order of their names.
#[derive(Debug, Clone, PartialEq)]
pub struct ScanFolder {
    /// The roll, named as its folder.
    pub roll: RollName,
    /// Its files.
    pub scans: Vec<Scan>,
}

/// One picture of a frame with every file that shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Paths relative to `scans/`, pictures before raw files.
    pub paths: Vec<String>,
    /// The number it carries, if any.
    pub number: Option<ScanNumber>,
    /// Nothing on the film there.
    pub is_blank: bool,
}

impl ScanFolder {
    /// The pictures of frames, in the order of their names.
    pub fn pictures(&self) -> Vec<Picture> {
        let mut frames: Vec<&Scan> =
            self.scans.iter().filter(|s| matches!(s.kind, ScanKind::Frame | ScanKind::Raw)).collect();
        frames.sort_by_key(|s| (s.picture, s.kind == ScanKind::Raw));
        let mut pictures: Vec<Picture> = Vec::new();
        for group in frames.chunk_by(|a, b| a.picture == b.picture) {
            let seen: Vec<_> = group.iter().filter(|s| s.kind == ScanKind::Frame).collect();
            pictures.push(Picture {
                paths: group.iter().map(|s| s.path.clone()).collect(),
                number: group.iter().filter_map(|s| s.number).min_by_key(|n| n.known),
                is_blank: !seen.is_empty() && seen.iter().all(|s| s.is_blank),
            });
        }
        pictures
    }

    /// The film code that most scans show on the edge, such as `115-4`.
    pub fn film_code(&self) -> Option<&str> {
        let codes = || self.scans.iter().filter_map(|s| s.film_code.as_deref());
        codes().max_by_key(|code| (codes().filter(|c| c == code).count(), std::cmp::Reverse(*code)))
    }

    /// Files that show no frame: index sheets, test scans.
    pub fn other_files(&self) -> Vec<String> {
        let other = |s: &&Scan| matches!(s.kind, ScanKind::Index | ScanKind::Test);
        self.scans.iter().filter(other).map(|s| s.path.clone()).collect()
    }
}

/// Why a scan cannot be read. It still stands in the roll, by its name.
#[derive(Debug, thiserror::Error)]
pub enum ScanError {
    /// The file cannot be opened.
    #[error("{path}: cannot be read: {why}")]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// The system's words.
        why: String,
    },
    /// The program failed at it.
    #[error("{path}: {fault}")]
    Fault {
        /// The file.
        path: PathBuf,
        /// What happened.
        fault: Fault,
    },
    /// A picture of a kind that is not read.
    #[error("{path}: {why}")]
    Kind {
        /// The file.
        path: PathBuf,
        /// Which kind, and what becomes of the frame.
        why: String,
    },
    /// The file is no picture.
    #[error("{path}: no whole picture ({why}): scan or copy it again")]
    Broken {
        /// The file.
        path: PathBuf,
        /// The decoder's words.
        why: String,
    },
}
