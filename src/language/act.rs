//! What a note says, act by act: the statements that `roll` makes frames of.

use std::ops::Range;

use crate::exposure::{Aperture, Shutter};
use crate::facts::FrameNumber;

use super::ways::Way;

/// Whether what is said was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    /// Set, done, there.
    Real,
    /// A meter reading, or what it should have been: a base for what was done.
    Base,
    /// Wished, planned, somebody else's, another day's.
    Unreal,
    /// Said not to be so.
    Denied,
}

/// Which dial a change moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moved {
    /// The shutter.
    Shutter,
    /// The aperture.
    Aperture,
    /// Not said.
    Either,
}

/// How far "the same" reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Same {
    /// All settings.
    All,
    /// All settings, in one frame more.
    Again,
    /// The shutter.
    Shutter,
    /// The aperture.
    Aperture,
    /// The lens.
    Lens,
    /// The film.
    Film,
    /// The rating.
    Rating,
    /// The place.
    Place,
}

/// An aperture, as it was said.
#[derive(Debug, Clone, PartialEq)]
pub enum ApertureSaid {
    /// A number.
    Ways(Vec<Way<Aperture>>),
    /// Part of a stop past a number.
    Past(Vec<Way<Aperture>>, f64),
    /// Between two numbers.
    Between(Vec<Way<Aperture>>, Vec<Way<Aperture>>),
    /// The widest of the lens.
    Widest,
    /// The smallest of the lens.
    Smallest,
}

/// What happened to the filters; indices are the kit's.
#[derive(Debug, Clone, PartialEq)]
pub enum FilterSaid {
    /// One is on, with the ways to take its name.
    On(Vec<Way<usize>>),
    /// It was taken off.
    Off(usize),
    /// The first was changed for the second.
    Swap(usize, usize),
    /// Nothing is on.
    None,
    /// Whatever was on still is.
    Still,
}

/// What is asked of the lab.
#[derive(Debug, Clone, PartialEq)]
pub enum ProcessSaid {
    /// Developed longer for speed, stops; less than 0 is a pull.
    Push(f64),
    /// Developed for contrast: N and steps more or less.
    N(f64),
}

/// A part of a bracket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BracketSaid {
    /// That it is one.
    Word,
    /// How many exposures.
    Count(u32),
    /// How far apart, stops.
    Step(f64),
    /// One over and one under, stops.
    EitherSide(f64),
    /// One exposure this far off; `true` when the amount may be a count of exposures.
    Offset(f64, bool),
    /// The exposure as metered.
    Straight,
    /// None was made.
    No,
    /// What follows is the exposure in the middle.
    Around,
}

/// One act.
#[derive(Debug, Clone, PartialEq)]
pub enum Act {
    /// A sentence, or what a pause ends.
    SentenceEnd,
    /// Frame numbers, in order; each with the ways to take it. `weak` ones count only beside settings.
    Frames {
        /// The numbers.
        numbers: Vec<Vec<Way<FrameNumber>>>,
        /// Only beside settings.
        weak: bool,
    },
    /// The number of the frame just described: "that's frame nineteen".
    ThatFrame(Vec<Way<FrameNumber>>),
    /// The first, second … of those spoken of.
    Nth(u32),
    /// One frame more. `lazy` ones only if something follows.
    Next {
        /// Only if settings or a change follow.
        lazy: bool,
    },
    /// So many frames alike.
    Count(u32),
    /// As the frame before.
    Same(Same),
    /// As the frame of this number.
    SameAs(Vec<Way<FrameNumber>>),
    /// A shutter setting. `firm` ones are enough to make a frame.
    Shutter {
        /// The ways to take it.
        ways: Vec<Way<Shutter>>,
        /// Enough to make a frame.
        firm: bool,
    },
    /// An aperture.
    Aperture(ApertureSaid),
    /// A number that is a shutter speed or a focal length.
    ShutterOrFocal {
        /// As a shutter speed, with the weight of that.
        shutter: (Vec<Way<Shutter>>, f64),
        /// As a focal length.
        focal: (Vec<Way<f64>>, f64),
    },
    /// A focal length.
    Focal(Vec<Way<f64>>),
    /// A lens of the kit.
    Lens(usize, f64),
    /// Filters.
    Filter(FilterSaid),
    /// A film of the kit, with how surely it was named.
    Film(Vec<Way<usize>>),
    /// An exposure index.
    Ei(Vec<Way<f64>>),
    /// The speed on the box.
    BoxSpeed,
    /// What is asked of the lab.
    Process(ProcessSaid),
    /// A roll's name.
    Roll(String, f64),
    /// A roll was begun.
    RollBegun,
    /// A roll was ended.
    RollEnded(Option<String>),
    /// A camera of the kit.
    Camera(usize),
    /// What was said last holds for every camera.
    BothCameras,
    /// The exposure was changed from the one before, stops; + is more light.
    Change(Moved, f64),
    /// A dial was moved by so many of its clicks; + is more light.
    Clicks(Moved, f64),
    /// The other dial was moved so that the exposure stays.
    ToMatch(Moved),
    /// Compensation, stops.
    Compensation(f64),
    /// A bracket.
    Bracket(BracketSaid),
    /// The bracket was made with this dial.
    BracketBy(Moved),
    /// Values of one dial follow, one a frame.
    ListOf(Moved),
    /// All of the frames.
    All,
    /// Light, in the grammar's words.
    Light(String),
    /// Support, in the grammar's words.
    Support(String),
    /// The frame is lost; `true` even if no frame was spoken of.
    Wasted(bool),
    /// Two exposures on one frame.
    DoubleExposure,
    /// What is in the picture.
    Subject(String),
    /// Where it is.
    Place(String),
    /// What follows replaces what was said.
    Correct,
    /// All that was said of the frame goes; what follows replaces it.
    Scratch,
    /// The frame before this note goes.
    ForgetLast,
    /// The picture was not taken.
    Cancel,
    /// From here on it is what was done.
    Turn,
    /// What was set before was moved to what follows.
    MovedTo,
    /// A joining word between two values.
    And,
    /// The value that follows is where a change starts from.
    From,
    /// More exposure was given, stops; what was set may be said after.
    Extra(f64),
    /// The next value is another possibility for the one before.
    Or,
    /// A number that could be a setting, but of which nothing tells what it is.
    Unread(f64),
    /// The scans run from the last frame to the first.
    ScansReversed,
}

/// An act with its ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// What.
    pub act: Act,
    /// Whether it was done.
    pub mode: Mode,
    /// The speaker doubts it.
    pub doubt: bool,
    /// How sure the words mean this act at all, 0 to 1.
    pub weight: f64,
    /// The recogniser's trust in the least sure of the words, 0 to 1; 1 for text.
    pub heard: f64,
    /// How likely the least sure of the words that were mended were mended right, 0 to 1; 1 for
    /// words taken as they were written.
    pub mended: f64,
    /// Bytes of the text it rests on.
    pub span: Range<usize>,
}
