//! What a text says of frames and of their roll, each value with how sure it is.

use std::ops::Range;

use crate::exposure::{Aperture, Shutter};
use crate::facts::FrameNumber;

use super::shift;
use super::sure::Sure;
use crate::language::readings::{Gear, Shift};

/// Which dial was moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MovedDial {
    /// The shutter's.
    Shutter,
    /// The aperture's.
    Aperture,
    /// One of the two, not said which.
    Either,
}

/// A dial that was moved from where it stood before, which this text does not tell.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// The dial.
    pub dial: MovedDial,
    /// How far.
    pub by: Shift,
    /// More light.
    pub more: bool,
    /// How sure that is, 0 to 1.
    pub sure: f64,
    /// Tokens that it rests on.
    pub tokens: Range<usize>,
}

impl Moved {
    /// Where the aperture stands now.
    pub fn aperture(&self, from: Aperture, gear: &Gear<'_>) -> Option<Aperture> {
        shift::aperture(from, self.by, self.more, gear)
    }

    /// Where the shutter stands now.
    pub fn shutter(&self, from: Shutter, gear: &Gear<'_>) -> Option<Shutter> {
        shift::shutter(from, self.by, self.more, gear)
    }
}

/// What is said of one frame.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FrameSaid {
    /// How likely there is such a frame.
    pub there: f64,
    /// How likely it was told before this text.
    pub again: f64,
    /// The mentions that begin it, by their place among the reader's, the likeliest first.
    pub begun_by: Vec<usize>,
    /// Its number.
    pub number: Option<Sure<FrameNumber>>,
    /// Shutter.
    pub shutter: Option<Sure<Shutter>>,
    /// Aperture.
    pub aperture: Option<Sure<Aperture>>,
    /// The widest (`false`) or smallest (`true`) aperture of a lens that the text does not tell.
    pub aperture_end: Option<Sure<bool>>,
    /// One of the two dials was moved, not said which.
    pub either: bool,
    /// Lens, by its place in the kit.
    pub lens: Option<Sure<usize>>,
    /// A lens by its spoken name, where the kit has none such.
    pub lens_as_said: Option<Sure<String>>,
    /// Focal length, millimetres.
    pub focal: Option<Sure<f64>>,
    /// Filters by name; empty where it was said that there is none.
    pub filter: Option<Sure<Vec<String>>>,
    /// A filter is spoken of that the kit does not have.
    pub filter_unknown: bool,
    /// Compensation, stops; plus is more exposure.
    pub comp: Option<Sure<f64>>,
    /// Light.
    pub light: Option<Sure<String>>,
    /// Support.
    pub support: Option<Sure<String>>,
    /// Subject.
    pub subject: Option<Sure<String>>,
    /// Every stretch of tokens that the subject's words stand in.
    pub pictured: Vec<Range<usize>>,
    /// Film, by its place in the kit.
    pub film: Option<Sure<usize>>,
    /// A film by its spoken name, where the kit has none such.
    pub film_as_said: Option<Sure<String>>,
    /// Exposure index.
    pub ei: Option<Sure<f64>>,
    /// Camera, by its place in the kit.
    pub camera: Option<Sure<usize>>,
    /// What is asked of the lab.
    pub process: Option<Sure<String>>,
    /// Dials moved from where they stood on the frame before, which the text does not tell.
    pub moved: Vec<Moved>,
    /// That it is lost.
    pub wasted: Option<f64>,
}

/// What is said of the roll as a whole.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RollSaid {
    /// That a roll is spoken of at all.
    pub spoken: bool,
    /// Its name.
    pub name: Option<Sure<String>>,
    /// Film, by its place in the kit.
    pub film: Option<Sure<usize>>,
    /// A film by its spoken name.
    pub film_as_said: Option<Sure<String>>,
    /// Exposure index.
    pub ei: Option<Sure<f64>>,
    /// Camera, by its place in the kit.
    pub camera: Option<Sure<usize>>,
    /// What is asked of the lab.
    pub process: Option<Sure<String>>,
}

/// One fact.
#[derive(Debug, Clone, PartialEq)]
pub enum Fact {
    /// A camera, by its place in the kit.
    Camera(usize),
    /// The camera that is not the one spoken of.
    OtherCamera,
    /// What was said last holds for each camera.
    BothCameras,
    /// A roll by its name.
    Roll(String),
    /// The first, second … roll.
    RollNth(usize),
    /// A roll by what it is called, "the grey one"; without words the one just spoken of.
    RollCalled(String),
    /// A roll is begun, not said which.
    RollBegun,
    /// The roll in hand is at its end.
    RollEnded,
    /// A film, by its place in the kit.
    Film(usize),
    /// A film by its spoken name.
    FilmAsSaid(String),
    /// An exposure index.
    Rating(f64),
    /// Rated as the box says.
    BoxSpeed,
    /// The film of the roll before.
    SameFilm,
    /// The exposure index of the roll before.
    SameRating,
    /// What is asked of the lab.
    Process(String),
    /// A lens by its place in the kit, a focal length, or both.
    Glass {
        /// The lens.
        lens: Option<usize>,
        /// Millimetres.
        focal: Option<f64>,
        /// Its spoken name, where the kit has none such.
        as_said: Option<String>,
    },
    /// A filter put on: names, and whether the kit has it.
    FilterOn(Vec<String>, bool),
    /// No filter is on.
    FilterOff,
    /// As before: what is not said again stays.
    Same,
    /// One dial is as before.
    SameDial,
    /// As a frame of this number.
    SameAs(u16),
    /// Something said before is taken back.
    TakenBack,
    /// The scans lie from the last frame to the first.
    ScansReversed,
}

/// A fact with the words that it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct FactSaid {
    /// The fact.
    pub fact: Fact,
    /// How sure it is, 0 to 1.
    pub sure: f64,
    /// How likely it holds for the roll, 0 to 1.
    pub of_roll: f64,
    /// Its tokens.
    pub tokens: Range<usize>,
    /// Its place among the reader's mentions; none for what the grammar alone tells.
    pub mention: Option<usize>,
}

/// What one text says.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct NoteSaid {
    /// Frames, in the order said.
    pub frames: Vec<FrameSaid>,
    /// The roll.
    pub roll: RollSaid,
    /// What is said of gear and rolls, in the order said.
    pub facts: Vec<FactSaid>,
    /// Tokens that hold a number or a trade word and served nothing.
    pub unread: Vec<Range<usize>>,
}

impl<T> Sure<T> {
    fn moved(&mut self, by: usize) {
        self.tokens = self.tokens.start + by..self.tokens.end + by;
    }
}

/// Stretches of tokens, to be asked whether one of them holds others.
pub struct Stretches {
    /// Where each begins, in order, and where the farthest of those up to it ends.
    until: Vec<(usize, usize)>,
}

impl Stretches {
    /// From stretches in any order.
    pub fn of<'a>(stretches: impl Iterator<Item = &'a Range<usize>>) -> Self {
        let mut until: Vec<(usize, usize)> = stretches.map(|s| (s.start, s.end)).collect();
        until.sort_unstable();
        let mut farthest = 0;
        for (_, end) in &mut until {
            farthest = farthest.max(*end);
            *end = farthest;
        }
        Self { until }
    }

    fn hold(&self, tokens: &Range<usize>) -> bool {
        let before = self.until.partition_point(|(start, _)| *start <= tokens.start);
        !tokens.is_empty() && before > 0 && tokens.end <= self.until[before - 1].1
    }
}

fn each<T>(value: &mut Option<Sure<T>>, by: usize) {
    if let Some(v) = value {
        v.moved(by);
    }
}

fn less<T>(value: &mut Option<Sure<T>>, by: f64) {
    if let Some(v) = value {
        v.sure *= by;
    }
}

impl FrameSaid {
    /// Whether a whole exposure is said: a shutter setting and an aperture.
    pub fn exposed(&self) -> bool {
        self.shutter.is_some() && self.aperture.is_some()
    }

    /// Whether nothing is said of how the frame was exposed, nor that it is lost.
    pub fn unexposed(&self) -> bool {
        self.shutter.is_none()
            && self.aperture.is_none()
            && self.aperture_end.is_none()
            && self.moved.is_empty()
            && self.wasted.is_none()
    }

    /// Makes every value of it less sure.
    pub(super) fn less_sure(&mut self, by: f64) {
        less(&mut self.number, by);
        less(&mut self.shutter, by);
        less(&mut self.aperture, by);
        less(&mut self.lens, by);
        less(&mut self.focal, by);
        less(&mut self.filter, by);
        less(&mut self.comp, by);
        less(&mut self.light, by);
        less(&mut self.support, by);
        less(&mut self.film, by);
        less(&mut self.ei, by);
        less(&mut self.camera, by);
        less(&mut self.process, by);
    }
}

impl NoteSaid {
    /// Puts every place of a token `by` further on, and of a mention `mentions`.
    pub fn moved(&mut self, by: usize, mentions: usize) {
        for f in &mut self.facts {
            f.tokens = f.tokens.start + by..f.tokens.end + by;
            f.mention = f.mention.map(|m| m + mentions);
        }
        for f in &mut self.frames {
            f.begun_by.iter_mut().for_each(|m| *m += mentions);
            each(&mut f.aperture_end, by);
            each(&mut f.number, by);
            each(&mut f.shutter, by);
            each(&mut f.aperture, by);
            each(&mut f.lens, by);
            each(&mut f.lens_as_said, by);
            each(&mut f.focal, by);
            each(&mut f.filter, by);
            each(&mut f.comp, by);
            each(&mut f.light, by);
            each(&mut f.support, by);
            each(&mut f.subject, by);
            each(&mut f.film, by);
            each(&mut f.film_as_said, by);
            each(&mut f.ei, by);
            each(&mut f.camera, by);
            each(&mut f.process, by);
            for span in &mut f.pictured {
                *span = span.start + by..span.end + by;
            }
            for m in &mut f.moved {
                m.tokens = m.tokens.start + by..m.tokens.end + by;
            }
        }
        let r = &mut self.roll;
        each(&mut r.name, by);
        each(&mut r.film, by);
        each(&mut r.film_as_said, by);
        each(&mut r.ei, by);
        each(&mut r.camera, by);
        each(&mut r.process, by);
        for span in &mut self.unread {
            *span = span.start + by..span.end + by;
        }
    }

    /// Takes out every value whose words stand in a stretch that says something else.
    pub fn without(&mut self, stretches: &Stretches) {
        fn drop_in<T>(value: &mut Option<Sure<T>>, stretches: &Stretches) {
            if value.as_ref().is_some_and(|v| stretches.hold(&v.tokens)) {
                *value = None;
            }
        }
        for f in &mut self.frames {
            drop_in(&mut f.number, stretches);
            drop_in(&mut f.shutter, stretches);
            drop_in(&mut f.aperture, stretches);
            drop_in(&mut f.lens, stretches);
            drop_in(&mut f.lens_as_said, stretches);
            drop_in(&mut f.focal, stretches);
            drop_in(&mut f.filter, stretches);
            drop_in(&mut f.comp, stretches);
            drop_in(&mut f.ei, stretches);
        }
        drop_in(&mut self.roll.ei, stretches);
        drop_in(&mut self.roll.name, stretches);
        self.facts.retain(|f| !stretches.hold(&f.tokens));
        self.unread.retain(|u| !stretches.hold(u));
    }

    /// Adds what the next stretch of the same text says.
    pub fn push(&mut self, next: Self) {
        self.frames.extend(next.frames);
        self.unread.extend(next.unread);
        self.facts.extend(next.facts);
        let (r, n) = (&mut self.roll, next.roll);
        r.spoken |= n.spoken;
        r.name = n.name.or(r.name.take());
        r.film = n.film.or(r.film.take());
        r.film_as_said = n.film_as_said.or(r.film_as_said.take());
        r.ei = n.ei.or(r.ei.take());
        r.camera = n.camera.or(r.camera.take());
        r.process = n.process.or(r.process.take());
    }
}
