//! What speaks for and against a note, a scan and an edge print being one frame.
//!
//! Each figure is a share of frames, from common practice, not fitted; the
//! simulator in `tests/` shows how little the answers depend on them.

use crate::exposure::{Aperture, Shutter};
use crate::facts::{FrameNumber, Settled};
use crate::rebate::{ImprintFrame, RebateRoll};
use crate::scans::Picture;

use crate::roll::record::{NotedFrame, Status};

/// Jeffreys' prior of a share; one of two chances; half a millimetre.
const HALF: f64 = 0.5;
// How often two frames of a roll have the same by chance, from common practice.
const SAME_SHUTTER: f64 = 0.12;
const SAME_APERTURE: f64 = 0.15;
const SAME_FOCAL: f64 = 0.45;
const SAME_EI: f64 = 0.9;
/// Notes of a frame that are right, and rightly heard.
const NOTED_RIGHT: f64 = 0.9;
/// A print is no less sure than this where it is compared.
const LEAST_PRINT: f64 = 0.1;
/// Times that differ by less, as a part, are one mark.
const SAME_TIME: f64 = 0.02;

/// Frames that nobody noted, and how many frames that experience is worth
/// beside those of the roll.
const NOT_NOTED: (f64, f64) = (0.08, 20.0);
/// Frames that were not scanned; the same.
const NOT_SCANNED: (f64, f64) = (0.06, 20.0);
/// The same, where the scanner counts what it scans: as a part of how often frames of the roll were not scanned. It
/// leaves out what is not worth it, and else less.
const LEFT_OUT: f64 = 0.1;
/// Wasted frames that were not scanned.
const WASTED_NOT_SCANNED: f64 = 0.3;
/// Exposed frames that the edge print lacks.
const NOT_PRINTED: f64 = 0.03;
/// Notes of which there is no frame on the film at all.
const NO_FRAME: f64 = 0.01;
/// The same, of notes with the number that the next frame then has: the counter stood there already.
const NO_FRAME_YET: f64 = 0.03;
/// The same, of notes with neither number nor settings among notes with numbers.
const NO_FRAME_UNSAID: f64 = 0.05;
/// Said numbers that are one off, either way: a slip in counting.
const ONE_OFF: f64 = 0.01;
/// Numbers from 13 to 19, and 30 to 90, of which the other is heard.
const TEEN_OR_TEN: f64 = 0.01;
/// Said numbers that are any other, by a slip of tongue or hearing.
const WRONG_NUMBER: f64 = 0.03;
/// A said number that tells nothing, of some forty that it may be.
const ANY_NUMBER: f64 = WRONG_NUMBER / 40.0;
/// Scans that show nothing: of wasted, of noted and of other frames.
const BLANK: (f64, f64, f64) = (0.5, 0.01, 0.1);

/// Everything known of one roll before it is matched.
pub struct Evidence<'a> {
    pub notes: &'a [NotedFrame],
    pub pictures: &'a [Picture],
    pub imprints: &'a [ImprintFrame],
    /// The number of each edge print: its own, or counted on.
    pub imprint_numbers: Vec<FrameNumber>,
    /// The number of the first frame.
    pub first: u16,
    /// Frames that the film holds.
    pub capacity: Option<u16>,
    /// The notes say that the scans run backwards.
    pub said_reversed: bool,
    /// How often a frame of this roll was not noted.
    pub not_noted: f64,
    /// How often a frame of this roll was not scanned.
    pub not_scanned: f64,
    /// How often this photographer says no number.
    pub unsaid: f64,
    /// The same as the other notes tell it of one that has none.
    pub unsaid_else: f64,
}

impl<'a> Evidence<'a> {
    pub fn new(
        notes: &'a [NotedFrame],
        pictures: &'a [Picture],
        rebate: Option<&'a RebateRoll>,
        first: u16,
        capacity: Option<u16>,
        said_reversed: bool,
    ) -> Self {
        let imprints: &[ImprintFrame] = rebate.map_or(&[], |r| &r.frames);
        let imprint_numbers = counted_on(imprints, first);
        let without = notes.iter().filter(|n| n.said_numbers.is_empty()).count();
        // Half of either beforehand (Jeffreys' prior of a share); a note is no evidence of itself.
        let share = |without: f64, of: f64| (without + HALF) / (of + 2.0 * HALF);
        let (without, all) = (without as f64, notes.len() as f64);
        let unsaid = share(without, all);
        let unsaid_else = share((without - 1.0).max(0.0), (all - 1.0).max(0.0));
        let frames = extent(notes, pictures, first, capacity) as f64;
        let left_out =
            |(share, worth): (f64, f64), there: f64| (share * worth + (frames - there).max(0.0)) / (worth + frames);
        // Where numbers are said, a note without one may be of no frame, and so may one of two with the same.
        let mut numbers: Vec<_> = notes.iter().filter_map(|n| n.said_numbers.first()).map(|(n, _)| *n).collect();
        numbers.dedup();
        let not_noted = left_out(NOT_NOTED, numbers.len() as f64 + without * without / all.max(1.0));
        let not_scanned = left_out(NOT_SCANNED, pictures.len() as f64);
        Self {
            notes,
            pictures,
            imprints,
            imprint_numbers,
            first,
            capacity,
            said_reversed,
            not_noted,
            not_scanned,
            unsaid,
            unsaid_else,
        }
    }

    /// Logarithm of how likely a frame is scanned or not.
    pub fn scanned(&self, picture: Option<usize>, note: Option<usize>) -> f64 {
        if self.pictures.is_empty() {
            return 0.0;
        }
        let wasted = note.is_some_and(|i| self.notes[i].frame.status == Status::Wasted);
        let missing = if wasted { WASTED_NOT_SCANNED } else { self.not_scanned };
        let Some(picture) = picture else { return missing.ln() };
        let blank = match note {
            Some(_) if wasted => BLANK.0,
            Some(_) => BLANK.1,
            None => BLANK.2,
        };
        ((1.0 - missing) * if self.pictures[picture].is_blank { blank } else { 1.0 - blank }).ln()
    }

    /// The same under a count of the scanner's own.
    pub fn counted(&self, picture: Option<usize>, note: Option<usize>) -> f64 {
        let wasted = note.is_some_and(|i| self.notes[i].frame.status == Status::Wasted);
        self.scanned(picture, note)
            + match (picture, wasted) {
                (_, true) => 0.0,
                (None, false) => LEFT_OUT.ln(),
                (Some(_), false) => ((1.0 - LEFT_OUT * self.not_scanned) / (1.0 - self.not_scanned)).ln(),
            }
    }

    /// Logarithm of how likely a frame has an edge print or not.
    pub fn printed(&self, imprint: Option<usize>) -> f64 {
        match (self.imprints.is_empty(), imprint) {
            (true, _) => 0.0,
            (false, Some(_)) => (1.0 - NOT_PRINTED).ln(),
            (false, None) => NOT_PRINTED.ln(),
        }
    }

    /// Logarithm of how likely the number said with a note is, or that none
    /// is, if its frame is number `number`.
    pub fn said(&self, note: usize, number: FrameNumber) -> f64 {
        match &self.notes[note].said_numbers[..] {
            [] => self.unsaid_else.ln(),
            said => ((1.0 - self.unsaid) * heard(said, number)).ln(),
        }
    }

    /// Logarithm of how likely a note is one of which there is no frame, and
    /// says what it says. `next` is the number of the frame that came after it,
    /// if it says that.
    pub fn of_no_frame(&self, note: usize, next: Option<FrameNumber>) -> f64 {
        let said = &self.notes[note].said_numbers;
        // Where numbers are said, a note without one is often none, but for one with settings.
        if said.is_empty() {
            let frame = &self.notes[note].frame;
            let bare = frame.shutter.is_none() && frame.aperture.is_none();
            return ((NO_FRAME + if bare { NO_FRAME_UNSAID * (1.0 - self.unsaid) } else { 0.0 }) * HALF).ln();
        }
        (HALF * next.map_or(NO_FRAME * ANY_NUMBER, |n| NO_FRAME_YET * heard(said, n))).ln()
    }

    /// Logarithm of how much likelier the note's settings are beside this edge
    /// print than beside any.
    pub fn alike(&self, note: usize, imprint: usize) -> f64 {
        let (frame, print) = (&self.notes[note].frame, &self.imprints[imprint]);
        like(&frame.shutter, &print.shutter, SAME_SHUTTER, |a, b| same_shutter(*a, *b))
            + like(&frame.aperture, &print.aperture, SAME_APERTURE, |a, b| same_aperture(*a, *b))
            + like(&frame.focal_mm, &print.focal_mm, SAME_FOCAL, |a, b| (a - b).abs() < HALF)
            + like(&frame.ei, &print.ei, SAME_EI, |a, b| a == b)
    }
}

/// Compares two values that both exist. `chance` is how often two frames have
/// the same by chance; one in ten notes of a frame is wrong or misheard.
fn like<T>(note: &Option<Settled<T>>, print: &Option<Settled<T>>, chance: f64, same: impl Fn(&T, &T) -> bool) -> f64 {
    let (Some(note), Some(print)) = (note, print) else { return 0.0 };
    let mut agree = 0.0;
    for (value, weight) in std::iter::once((&note.value, note.confidence.get()))
        .chain(note.others.iter().map(|o| (&o.value, o.confidence.get() * (1.0 - note.confidence.get()))))
    {
        if same(value, &print.value) {
            agree += weight;
        }
    }
    let right = NOTED_RIGHT * print.confidence.get().max(LEAST_PRINT);
    let p = agree.min(1.0) * right + (1.0 - right) * chance;
    (p / chance).max((1.0 - right) / (1.0 - chance)).ln()
}

/// Whether two shutter settings are one: the same mark, or B and T with or
/// without the time.
pub fn same_shutter(a: Shutter, b: Shutter) -> bool {
    match (a, b) {
        (Shutter::Timed(a), Shutter::Timed(b)) => (a.seconds() / b.seconds() - 1.0).abs() < SAME_TIME,
        (Shutter::Bulb(a), Shutter::Bulb(b)) | (Shutter::Time(a), Shutter::Time(b)) => match (a, b) {
            (Some(a), Some(b)) => a.abs_diff(b) * 20 <= a.max(b),
            _ => true,
        },
        _ => false,
    }
}

/// Whether two f-numbers are one mark: within a sixth of a stop.
pub fn same_aperture(a: Aperture, b: Aperture) -> bool {
    a.over(b).get().abs() < 1.0 / 6.0
}

/// How likely these numbers are what is heard of `number`, by the weight of each.
fn heard(said: &[(FrameNumber, f64)], number: FrameNumber) -> f64 {
    let all = |is: &dyn Fn(FrameNumber) -> bool| said.iter().filter(|(n, _)| is(*n)).map(|(_, w)| w).sum::<f64>();
    (1.0 - 2.0 * ONE_OFF - TEEN_OR_TEN - WRONG_NUMBER) * all(&|n| n == number)
        + ONE_OFF * all(&|n| n != number && (n.place() - number.place()).abs() <= 1)
        + TEEN_OR_TEN * all(&|n| sound_alike(n.place(), number.place()))
        + ANY_NUMBER
}

/// Thirteen and thirty, and so on to nineteen and ninety.
fn sound_alike(a: i16, b: i16) -> bool {
    let (teen, ten) = (a.min(b), a.max(b));
    (13..=19).contains(&teen) && ten == (teen - 10) * 10
}

/// How many frames notes and scans span, as far as their numbers tell.
fn extent(notes: &[NotedFrame], pictures: &[Picture], first: u16, capacity: Option<u16>) -> usize {
    let room = capacity.map_or(i32::MAX, |c| i32::from(c) + i32::from(first));
    let said = || notes.iter().filter_map(|n| Some(i32::from(n.said_numbers.first()?.0.place())));
    let scanned = || pictures.iter().filter_map(|p| i32::try_from(p.number?.value).ok());
    let on_film = || said().chain(scanned()).filter(|n| *n < room);
    let span = on_film().max().zip(on_film().min()).map_or(0, |(last, first)| last - first + 1);
    notes.len().max(pictures.len()).max(usize::try_from(span).unwrap_or(0))
}

/// Every print's number: its own, or the next after the one before.
pub fn counted_on(imprints: &[ImprintFrame], first: u16) -> Vec<FrameNumber> {
    let mut numbers = Vec::with_capacity(imprints.len());
    let own = imprints.iter().position(|p| p.number.is_some());
    let mut next = match own {
        Some(i) => imprints[i].number.expect("found").moved(-(i as i16)),
        None => FrameNumber::new(first),
    };
    for print in imprints {
        let number = print.number.unwrap_or(next);
        numbers.push(number);
        next = number.next();
    }
    numbers
}
