//! The record: one frame, one roll, one trip, settled.

use std::ops::Range;

use serde::{Deserialize, Serialize};

use crate::exposure::{Aperture, BoxSpeed, ExposureIndex, Shutter, Stops};
use crate::facts::{Flag, FrameNumber, Moment, Position, RollName, Settled, Source, Taken};
use crate::kit::Filters;

use super::developed::Developed;
use super::extras::Extras;

/// What became of a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// Noted and scanned.
    Ok,
    /// Fogged, cap on, fired by accident.
    Wasted,
    /// Noted, no scan.
    Unscanned,
    /// Scan or edge print, no note.
    Unnoted,
}

impl Status {
    /// The word in the `status` column.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Ok => "ok",
            Self::Wasted => "wasted",
            Self::Unscanned => "unscanned",
            Self::Unnoted => "unnoted",
        }
    }
}

/// Words that a frame rests on, and where they were said.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Quote {
    /// The words.
    pub text: String,
    /// Clip and seconds; text notes have a time of 0 or that of their subtitle.
    pub at: Moment,
    /// Bytes of the text that hold a number or a trade word and were not used.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub unread: Vec<Range<usize>>,
}

impl Quote {
    /// Words of which all was used that could be.
    pub fn new(text: impl Into<String>, at: Moment) -> Self {
        Self { text: text.into(), at, unread: Vec::new() }
    }

    /// The words that were not used.
    pub fn unread_words(&self) -> impl Iterator<Item = &str> {
        self.unread.iter().filter_map(|r| self.text.get(r.clone()))
    }
}

/// What was read on the film edge beside a frame.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EdgeRead {
    /// As it was typed or seen.
    pub raw: String,
    /// The picture it was read from, by its file name.
    pub image: Option<String>,
}

/// One frame: a row of the roll's table. An unknown value is `None`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Frame {
    /// Number on the film.
    pub number: FrameNumber,
    /// How sure the number is.
    pub number_confidence: f64,
    /// What became of it.
    pub status: Status,
    /// Scan files relative to `scans/`, with `/` between folders.
    pub scans: Vec<String>,
    /// How sure the match with its scans is, 0 to 1; 1 when there is none.
    pub scan_confidence: f64,
    /// When it was taken.
    pub taken: Option<Taken>,
    /// Where it was taken.
    pub position: Option<Position>,
    /// Camera, by its kit name or as said.
    pub camera: Option<Settled<String>>,
    /// Lens, by its kit name or as said.
    pub lens: Option<Settled<String>>,
    /// Film, by its kit name or as said.
    pub film: Option<Settled<String>>,
    /// Focal length used, mm.
    pub focal_mm: Option<Settled<f64>>,
    /// Speed on the box.
    pub box_iso: Option<BoxSpeed>,
    /// Exposure index used.
    pub ei: Option<Settled<ExposureIndex>>,
    /// Shutter setting.
    pub shutter: Option<Settled<Shutter>>,
    /// Aperture setting.
    pub aperture: Option<Settled<Aperture>>,
    /// Filters on the lens.
    pub filter: Option<Settled<Filters>>,
    /// Light lost to them.
    pub filter_stops: Option<Stops>,
    /// Compensation dialled or intended.
    pub comp: Option<Settled<Stops>>,
    /// Light, in the grammar's words.
    pub light: Option<Settled<String>>,
    /// Support, in the grammar's words.
    pub support: Option<Settled<String>>,
    /// What is in the picture, as said.
    pub subject: Option<Settled<String>>,
    /// Where, as said.
    pub place: Option<Settled<String>>,
    /// What is asked of the lab for the roll.
    pub process: Option<Settled<String>>,
    /// What was said beside the settings.
    #[serde(default, skip_serializing_if = "Extras::is_empty")]
    pub extras: Extras,
    /// What was read on the film edge beside it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub edge: Option<EdgeRead>,
    /// What wants a look, sorted.
    pub flags: Vec<Flag>,
    /// Why each flag was raised, for a reader.
    pub reasons: Vec<(Flag, String)>,
    /// Flags that were looked at and left open: they stand, and no longer ask for a look.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub looked_at: Vec<Flag>,
    /// The words that the row rests on, in the order said.
    pub said: Vec<Quote>,
    /// The photographer's own rating, 1 to 5, added by hand.
    pub rating: Option<u8>,
    /// The photographer's own remark, added by hand.
    pub remark: Option<String>,
}

impl Frame {
    /// A frame of which nothing is known but its number.
    pub fn blank(number: FrameNumber, status: Status) -> Self {
        Self {
            number,
            number_confidence: 1.0,
            status,
            scans: Vec::new(),
            scan_confidence: 1.0,
            taken: None,
            position: None,
            camera: None,
            lens: None,
            film: None,
            focal_mm: None,
            box_iso: None,
            ei: None,
            shutter: None,
            aperture: None,
            filter: None,
            filter_stops: None,
            comp: None,
            light: None,
            support: None,
            subject: None,
            place: None,
            process: None,
            extras: Extras::default(),
            edge: None,
            flags: Vec::new(),
            reasons: Vec::new(),
            looked_at: Vec::new(),
            said: Vec::new(),
            rating: None,
            remark: None,
        }
    }

    /// A copy without the words, which grow with every time that a frame is spoken of.
    pub fn without_words(&self) -> Self {
        Self {
            number: self.number,
            number_confidence: self.number_confidence,
            status: self.status,
            scans: self.scans.clone(),
            scan_confidence: self.scan_confidence,
            taken: self.taken.clone(),
            position: self.position,
            camera: self.camera.clone(),
            lens: self.lens.clone(),
            film: self.film.clone(),
            focal_mm: self.focal_mm.clone(),
            box_iso: self.box_iso,
            ei: self.ei.clone(),
            shutter: self.shutter.clone(),
            aperture: self.aperture.clone(),
            filter: self.filter.clone(),
            filter_stops: self.filter_stops,
            comp: self.comp.clone(),
            light: self.light.clone(),
            support: self.support.clone(),
            subject: self.subject.clone(),
            place: self.place.clone(),
            process: self.process.clone(),
            extras: self.extras.clone(),
            edge: self.edge.clone(),
            flags: self.flags.clone(),
            reasons: self.reasons.clone(),
            looked_at: self.looked_at.clone(),
            said: Vec::new(),
            rating: self.rating,
            remark: self.remark.clone(),
        }
    }

    /// The least sure of the settings (shutter, aperture, filter, focal length,
    /// film, exposure index); none when none is known.
    pub fn confidence(&self) -> Option<f64> {
        fn of<T>(s: &Option<Settled<T>>) -> Option<f64> {
            s.as_ref().map(|s| s.confidence.get())
        }
        [of(&self.shutter), of(&self.aperture), of(&self.filter), of(&self.focal_mm), of(&self.film), of(&self.ei)]
            .into_iter()
            .flatten()
            .min_by(f64::total_cmp)
    }

    /// Every source that a setting of this row came from, in their order.
    pub fn sources(&self) -> Vec<Source> {
        fn of<T>(s: &Option<Settled<T>>) -> &[Source] {
            s.as_ref().map_or(&[], |s| &s.sources)
        }
        let all = [
            of(&self.shutter),
            of(&self.aperture),
            of(&self.filter),
            of(&self.focal_mm),
            of(&self.film),
            of(&self.ei),
            of(&self.comp),
            of(&self.camera),
            of(&self.lens),
            of(&self.light),
            of(&self.support),
            of(&self.subject),
            of(&self.place),
        ];
        let mut sources: Vec<Source> = all.into_iter().flatten().copied().collect();
        sources.sort();
        sources.dedup();
        sources
    }

    /// Raises a flag with its reason, once.
    pub fn flag(&mut self, flag: Flag, reason: impl Into<String>) {
        if let Err(i) = self.flags.binary_search(&flag) {
            self.flags.insert(i, flag);
            self.reasons.push((flag, reason.into()));
        }
    }

    /// Takes a flag away with its reasons.
    pub fn unflag(&mut self, flag: Flag) {
        self.flags.retain(|f| *f != flag);
        self.reasons.retain(|(f, _)| *f != flag);
    }
}

/// One roll, or one case of cut film.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Roll {
    /// Its name.
    pub name: RollName,
    /// Camera it was in.
    pub camera: Option<String>,
    /// Film.
    pub film: Option<String>,
    /// Exposure index.
    pub ei: Option<ExposureIndex>,
    /// Process asked for.
    pub process: Option<String>,
    /// Frames that the film holds by its format.
    pub capacity: Option<u16>,
    /// Frames in film order.
    pub frames: Vec<Frame>,
    /// Scan files in the roll's folder that are no frame (index sheets, test scans).
    pub other_scans: Vec<String>,
    /// Remarks on the whole roll, for the summary and the lab.
    pub remarks: Vec<String>,
    /// How it was developed.
    #[serde(default, skip_serializing_if = "Developed::is_empty")]
    pub developed: Developed,
}

impl Roll {
    /// A roll of which nothing is known but its name.
    pub fn blank(name: RollName) -> Self {
        Self {
            name,
            camera: None,
            film: None,
            ei: None,
            process: None,
            capacity: None,
            frames: Vec::new(),
            other_scans: Vec::new(),
            remarks: Vec::new(),
            developed: Developed::default(),
        }
    }

    /// A copy without its frames.
    pub fn clone_head(&self) -> Self {
        Self {
            name: self.name.clone(),
            camera: self.camera.clone(),
            film: self.film.clone(),
            ei: self.ei,
            process: self.process.clone(),
            capacity: self.capacity,
            frames: Vec::new(),
            other_scans: self.other_scans.clone(),
            remarks: self.remarks.clone(),
            developed: self.developed.clone(),
        }
    }
}

/// One trip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Trip {
    /// The trip folder's name.
    pub name: String,
    /// Rolls, in order of their names.
    pub rolls: Vec<Roll>,
}
