//! What a window of the tape states, in the order said: frames, and facts that reach further. Data only.

use super::tape::Tape;
use crate::language::Aside;
use crate::language::compose::{Fact, FactSaid, FrameSaid};
use std::ops::Range;

/// Words that begin a frame less likely than this begin none.
pub(super) const MAY_BEGIN: f64 = 0.25;
/// A frame this likely to have been told before is none of its own: as likely as not.
pub(super) const TOLD_BEFORE: f64 = 0.5;

/// Which earlier frames are meant.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Late {
    /// Stems of the words for what is in the picture.
    pub picture: Vec<String>,
    pub pick: Pick,
}

/// Which of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Pick {
    /// The first so many of the roll.
    First(usize),
    /// The last so many.
    Last(usize),
    /// All of the roll; with exceptions, where `true`.
    Roll(bool),
    /// All that fit the words.
    Every,
    /// So many from the first that fits on: "the three in the shed".
    Some(usize),
    /// The one of this place among those that fit.
    Nth(usize),
    /// The one that fits best, the latest of several.
    One,
}

/// One statement.
#[derive(Debug, Clone)]
pub(super) enum Statement {
    /// A frame is taken, or spoken of by its number.
    Frame(FrameHeard),
    /// There may be a frame here that was not taken for one.
    Maybe,
    /// More is said of a frame that was begun before this window's new words.
    Again(FrameHeard),
    /// Something beside the settings, of the frame told last.
    Beside(Vec<Aside>),
    /// A fact.
    Fact {
        said: FactSaid,
        /// The camera that its clause or sentence names.
        camera: Option<usize>,
        /// Bytes of the tape.
        at: Range<usize>,
    },
}

/// A frame as heard, with what of it was said in its own words.
#[derive(Debug, Clone)]
pub(super) struct FrameHeard {
    pub said: FrameSaid,
    /// Byte of the tape where it is begun, and its place among those begun together.
    pub at: (usize, usize),
    /// How many are begun together.
    pub together: usize,
    /// Bytes of the tape that speak of it.
    pub words: Range<usize>,
    pub camera: Option<usize>,
    /// What it says of gear itself, in order.
    pub gear: Vec<FactSaid>,
    /// What is not said is as before, or as on a frame of a number.
    pub same: Option<Option<u16>>,
    /// Token from which on its words are new.
    pub new: usize,
    /// It speaks of what is over.
    pub past: bool,
    /// What it says of gear holds from its number on.
    pub onwards: bool,
    /// It only counts frames like the one before: "took two of that".
    pub counts: bool,
    /// It speaks of frames taken before.
    pub late: Option<Late>,
    /// Its number is a number word with no word for frames: "one" may be no number at all.
    pub bare_number: bool,
    /// What it says beside the settings.
    pub asides: Vec<Aside>,
}

impl FrameHeard {
    /// Whether it says something of the lens.
    pub fn tells_glass(&self) -> bool {
        self.gear.iter().any(|g| matches!(g.fact, Fact::Glass { .. }))
    }

    /// Whether it says something of the filter.
    pub fn tells_filter(&self) -> bool {
        self.gear.iter().any(|g| matches!(g.fact, Fact::FilterOn(..) | Fact::FilterOff))
    }
}

impl Statement {
    /// What it tells of gear and rolls.
    pub fn facts(&self) -> &[FactSaid] {
        match self {
            Self::Frame(h) | Self::Again(h) => &h.gear,
            Self::Fact { said, .. } => std::slice::from_ref(said),
            _ => &[],
        }
    }

    /// What it tells beside settings.
    pub fn asides(&self) -> &[Aside] {
        match self {
            Self::Frame(h) | Self::Again(h) => &h.asides,
            Self::Beside(all) => all,
            _ => &[],
        }
    }

    /// For a person who follows the story.
    pub fn shown(&self, tape: &Tape) -> String {
        let frame = |kind: &str, h: &FrameHeard| {
            let s = &h.said;
            let show = |v: Option<String>| v.unwrap_or_else(|| "-".to_owned());
            format!(
                "{kind} {:.2} before {:.2} number {} shutter {} aperture {}{}{}{} {:?} {:?}",
                s.there,
                s.again,
                show(s.number.as_ref().map(|n| format!("{} ({:.2})", n.value, n.sure))),
                show(s.shutter.as_ref().map(|n| format!("{} ({:.2})", n.value, n.sure))),
                show(s.aperture.as_ref().map(|n| format!("{} ({:.2})", n.value, n.sure))),
                if h.same.is_some() { " same" } else { "" },
                h.late.as_ref().map_or(String::new(), |l| format!(" late {l:?}")),
                if s.wasted.is_some() { " wasted" } else { "" },
                h.gear.iter().map(|g| &g.fact).collect::<Vec<_>>(),
                tape.text(&h.words),
            )
        };
        match self {
            Self::Frame(h) => frame("frame", h),
            Self::Again(h) => frame("again", h),
            Self::Beside(all) => format!("beside {:?}", all.iter().map(|a| a.kind).collect::<Vec<_>>()),
            Self::Maybe => "a frame may be lost".to_owned(),
            Self::Fact { said, camera, at } => {
                format!("fact {:?} ({:.2}) of camera {camera:?} {:?}", said.fact, said.sure, tape.text(at))
            }
        }
    }
}
