//! How the numbers on scans and edge prints may lie on the film.
//!
//! Labs number from 1 or from anywhere, forwards or backwards, with a number
//! for each frame of the film or only for those they scanned. Each way is a
//! hypothesis with a prior; the evidence of the whole roll weighs them.

use std::collections::BTreeMap;

use crate::facts::FrameNumber;
use crate::scans::{KnownFrom, Side};

use super::evidence::Evidence;

// Shares of rolls, from common practice, as all here; the simulator's tables in DEVELOPERS.md hardly move with them.
/// How far the camera's print is off its own counter.
const PRINTS_OFF: [(i16, f64); 3] = [(0, 0.9), (1, 0.05), (-1, 0.05)];
/// Rolls scanned backwards though their scans are named by frame, as a part of all that are.
const BACKWARDS_CALLED: f64 = 0.1;
/// A scanner's own count that begins with another number than one, among the film's.
const COUNT_BEGINS_LATER: f64 = 0.02;
/// A scan before the first frame; every number beyond the last.
const BEFORE_FIRST: f64 = 0.1;
const BEYOND_END: f64 = 0.4;
/// Numbers in scans' names that are the frames': named so; counted from the frame before the first, from the first on,
/// from later on, and from elsewhere.
const NAMED_BY_FRAME: f64 = 0.97;
const COUNTED_FROM_BEFORE: f64 = 0.7;
const COUNTED_FROM_FIRST: f64 = 0.998;
const COUNTED_ON: f64 = 0.9;
const COUNTED_ELSEWHERE: f64 = 0.05;
/// Rolls scanned backwards from the film's end, and to the film's first frame.
const FROM_THE_END: f64 = 0.1;
const TO_THE_FIRST: f64 = 0.3;
/// A number this likely to have been said needs a place.
const LIKELY_SAID: f64 = 0.5;
/// Of long rolls, hypotheses less likely than this part of the likeliest are not tried; of others, none but what is nothing.
const WORTH_TRYING: f64 = 0.01;
const NOTHING: f64 = 1e-100;
/// No hypothesis is less likely beforehand.
const LEAST: f64 = 1e-60;

/// One way in which scans and edge prints may lie on the film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lie {
    /// A scan's number tells its frame: `value + offset`, or backwards
    /// `offset − value`.
    Numbered { backwards: bool, offset: i32, print_offset: i16 },
    /// Only the order of the scans tells.
    Ordered { backwards: bool },
}

/// A frame of the film as far as scans and edge prints show it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Slot {
    pub number: Option<FrameNumber>,
    pub picture: Option<usize>,
    pub imprint: Option<usize>,
}

/// Rolls that are scanned from the last frame on, when nothing is said of it.
const BACKWARDS: f64 = 0.003;
/// The same when the notes say so.
const BACKWARDS_SAID: f64 = 0.995;
/// Scanners that count what they scan, not what is on the film.
const ONLY_ORDER: f64 = 0.1;
/// Leaving a number out, for such a scanner: a file deleted.
const JUMP: f64 = 0.0005;
/// Frames beyond the film's capacity that a careful loader gets.
const EXTRA: u16 = 3;
/// Rolls longer than this are tried with fewer offsets.
const MANY: usize = 400;

/// Every hypothesis worth trying, with the logarithm of its prior.
pub fn lies(e: &Evidence<'_>) -> Vec<(Lie, f64)> {
    let mut found: Vec<(Lie, f64)> = Vec::new();
    let mut add = |lie: Lie, p: f64| match found.iter_mut().find(|(l, _)| *l == lie) {
        Some((_, sum)) => *sum += p,
        None => found.push((lie, p)),
    };
    let back = if e.said_reversed { BACKWARDS_SAID } else { BACKWARDS };
    let prints: &[(i16, f64)] = if e.imprints.is_empty() { &[(0, 1.0)] } else { &PRINTS_OFF };
    let numbered = e.pictures.iter().filter(|p| p.number.is_some()).count();
    if e.pictures.is_empty() {
        for &(print_offset, p) in prints {
            add(Lie::Numbered { backwards: false, offset: 0, print_offset }, p);
        }
    } else if numbered * 2 > e.pictures.len() {
        let known = e.pictures.iter().filter_map(|p| p.number).map(|n| n.known).min().unwrap_or(KnownFrom::Counter);
        let called = known < KnownFrom::Counter;
        for (offset, p) in forward_offsets(e, known) {
            for &(print_offset, q) in prints {
                add(Lie::Numbered { backwards: false, offset, print_offset }, p * q * (1.0 - back));
            }
        }
        for (offset, p) in backward_offsets(e) {
            for &(print_offset, q) in prints {
                let p = if called && !e.said_reversed { p * BACKWARDS_CALLED } else { p };
                add(Lie::Numbered { backwards: true, offset, print_offset }, p * q * back);
            }
        }
    }
    if !e.pictures.is_empty() {
        // A count of its own begins at 1, or far from the film's numbers.
        let min = value_range(e).0;
        let begins = if numbered == 0 || min <= 1 || min > last_number(e) { 1.0 } else { COUNT_BEGINS_LATER };
        let p = (ONLY_ORDER * begins * JUMP.powi(jumps(e) as i32)).max(LEAST);
        add(Lie::Ordered { backwards: false }, p * (1.0 - back));
        add(Lie::Ordered { backwards: true }, p * back);
    }
    for (lie, p) in &mut found {
        *p *= off_the_film(e, *lie);
    }
    // A drawer of scans takes long to align: only what is likely is tried.
    let most = found.iter().map(|(_, p)| *p).fold(0.0, f64::max);
    let least = if e.pictures.len().max(e.notes.len()) > MANY { most * WORTH_TRYING } else { NOTHING };
    found.into_iter().filter(|(_, p)| *p > least).map(|(lie, p)| (lie, p.ln())).collect()
}

/// How much less likely a hypothesis is for laying scans before the first
/// frame or beyond the film's end.
fn off_the_film(e: &Evidence<'_>, lie: Lie) -> f64 {
    let Lie::Numbered { backwards, offset, .. } = lie else { return 1.0 };
    let (min, max) = value_range(e);
    let (low, high) = if backwards { (offset - max, offset - min) } else { (min + offset, max + offset) };
    let before = if low < i32::from(e.first) { BEFORE_FIRST } else { 1.0 };
    let beyond = BEYOND_END.powi((high - last_number(e)).clamp(0, 20));
    before * beyond
}

/// Places where the scans' own numbers leave one out.
fn jumps(e: &Evidence<'_>) -> usize {
    let values: Vec<u32> = e.pictures.iter().filter_map(|p| p.number).map(|n| n.value).collect();
    values.windows(2).filter(|w| w[1] > w[0] + 1).count()
}

fn value_range(e: &Evidence<'_>) -> (i32, i32) {
    let values = || e.pictures.iter().filter_map(|p| p.number).map(|n| i32::try_from(n.value).unwrap_or(i32::MAX / 2));
    (values().min().unwrap_or(0), values().max().unwrap_or(0))
}

/// The highest number that the film should carry.
fn last_number(e: &Evidence<'_>) -> i32 {
    // More pictures than it should hold tell of a longer film.
    let holds = e.capacity.map(usize::from).filter(|c| e.pictures.len() <= c + usize::from(EXTRA));
    let capacity = holds.unwrap_or(e.pictures.len().max(e.notes.len()));
    i32::try_from(capacity).unwrap_or(i32::MAX / 2) + i32::from(e.first) - 1
}

/// Shares of rolls whose numbers are this far off: the counts of camera and
/// lab, and, farther apart, the camera's and the edge's.
const COUNTS_OFF: [(i32, f64); 7] =
    [(0, 0.985), (1, 0.004), (-1, 0.004), (2, 0.002), (-2, 0.002), (3, 0.0015), (-3, 0.0015)];
const EDGE_OFF: [(i32, f64); 7] = [(0, 0.5), (1, 0.15), (-1, 0.15), (2, 0.05), (-2, 0.05), (3, 0.05), (-3, 0.05)];
/// The same for a scanner's own count. Its first scan may be of a later frame: what that costs, the frames before it
/// tell, which were not scanned; but first frames are seldom left out.
const START_OFF: [(i32, f64); 7] = [(0, 0.97), (1, 0.3), (2, 0.3), (3, 0.3), (-1, 0.02), (-2, 0.005), (-3, 0.005)];
/// The last frame of a roll that is scanned from its end, from the last one that was noted: what it costs that some are
/// not noted, those frames tell.
const END_OFF: [(i32, f64); 7] = [(0, 0.6), (1, 0.6), (2, 0.6), (3, 0.6), (-1, 0.004), (-2, 0.002), (-3, 0.0015)];

/// A table of offsets, or its first line where more would tell nothing.
fn spread(e: &Evidence<'_>, table: &'static [(i32, f64); 7]) -> &'static [(i32, f64)] {
    // Where nobody counts but the scanner, its count is the film's.
    let counted = !e.imprints.is_empty() || e.notes.iter().any(|n| !n.said_numbers.is_empty());
    if !counted || e.pictures.len().max(e.notes.len()) > MANY { &table[..1] } else { table }
}

fn forward_offsets(e: &Evidence<'_>, known: KnownFrom) -> Vec<(i32, f64)> {
    let (min, max) = value_range(e);
    let fits = min <= last_number(e) && max <= last_number(e) + i32::from(EXTRA);
    let own = match known {
        KnownFrom::EdgeCode => 1.0,
        KnownFrom::Pattern | KnownFrom::Word => NAMED_BY_FRAME,
        // A count that runs on from the roll before may begin anywhere.
        KnownFrom::Counter if fits => match min - i32::from(e.first) {
            -1 => COUNTED_FROM_BEFORE,
            0..=3 => COUNTED_FROM_FIRST,
            _ => COUNTED_ON,
        },
        // Far from any frame's number: the scanner's own count.
        KnownFrom::Counter if min > last_number(e) + i32::from(EXTRA) => 0.0,
        KnownFrom::Counter => COUNTED_ELSEWHERE,
    };
    let off = if known == KnownFrom::EdgeCode { &EDGE_OFF } else { &COUNTS_OFF };
    let from_first = i32::from(e.first) - min;
    let mut offsets: Vec<(i32, f64)> = spread(e, off).iter().map(|&(d, p)| (d, p * own)).collect();
    offsets.extend(spread(e, &START_OFF).iter().map(|&(d, p)| (from_first + d, p * (1.0 - own))));
    offsets
}

fn backward_offsets(e: &Evidence<'_>) -> Vec<(i32, f64)> {
    let (min, max) = value_range(e);
    // The first scan is the last frame that was noted, or that the film holds;
    // or the last scan is the film's first frame.
    let said = e.notes.iter().rev().find_map(|n| n.said_numbers.first()).map(|(n, _)| i32::from(n.place()));
    let noted = said.unwrap_or(e.notes.len() as i32 + i32::from(e.first) - 1);
    let mut offsets: Vec<(i32, f64)> = spread(e, &END_OFF).iter().map(|&(d, p)| (noted + min + d, p)).collect();
    for (end, q) in [(last_number(e) + min, FROM_THE_END), (max + i32::from(e.first), TO_THE_FIRST)] {
        offsets.extend(spread(e, &COUNTS_OFF).iter().map(|&(d, p)| (end + d, p * q)));
    }
    offsets
}

/// The film's frames under a hypothesis that numbers tell: every number from
/// the first to the last that scans, prints or the capacity give, shown or not,
/// but for gaps longer than a film.
/// Pictures without a number of their own are left out.
pub fn slots(e: &Evidence<'_>, backwards: bool, offset: i32, print_offset: i16) -> Vec<Slot> {
    let mut at: BTreeMap<FrameNumber, Slot> = BTreeMap::new();
    for (j, picture) in e.pictures.iter().enumerate() {
        let Some(number) = picture.number else { continue };
        let value = i32::try_from(number.value).unwrap_or(i32::MAX / 2);
        let place = if backwards { offset - value } else { value + offset };
        let Some(on_film) = film_number(place, number.side) else { continue };
        at.entry(on_film).or_default().picture = Some(j);
    }
    for (j, number) in e.imprint_numbers.iter().enumerate() {
        // Of two with one number the one that carries it stands there.
        let slot = at.entry(number.moved(print_offset)).or_default();
        if slot.imprint.is_none() || e.imprints[j].number.is_some() {
            slot.imprint = Some(j);
        }
    }
    let shown = at.keys().next_back().map_or(0, |n| i32::from(n.place()));
    let room = last_number(e) + i32::from(EXTRA);
    let first = at.keys().next().map_or(i32::from(e.first), |n| {
        let shown = i32::from(n.place());
        shown.min(i32::from(e.first).max(shown - room))
    });
    let said = e
        .notes
        .iter()
        .flat_map(|n| &n.said_numbers)
        .filter(|(_, w)| *w >= LIKELY_SAID)
        .map(|(n, _)| i32::from(n.place()));
    // Notes without a number of their own need places as well.
    let last = shown.max(said.filter(|n| *n <= room).max().unwrap_or(0)).max(last_number(e));
    let mut before = first - 1;
    let shown: Vec<i32> = at.keys().map(|n| i32::from(n.place())).chain([last]).collect();
    for place in shown {
        // No film is wound on so far: beyond its end, a number gone wrong leaves no frames before it.
        let end = if place - before - 1 > room { room.clamp(before, place) } else { place };
        for number in (before + 1..=end).filter_map(|place| film_number(place, None)) {
            at.entry(number).or_default();
        }
        before = place;
    }
    at.into_iter().map(|(number, slot)| Slot { number: Some(number), ..slot }).collect()
}

fn film_number(place: i32, side: Option<Side>) -> Option<FrameNumber> {
    let n = match place {
        -1 => FrameNumber::DOUBLE_ZERO,
        _ => u16::try_from(place).ok().filter(|n| *n <= 30_000).map(FrameNumber::new)?,
    };
    Some(Side::on(side, n))
}

/// A frame of the film as far as the notes and the edge prints show it; a note without a number is of no frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotedSlot {
    pub note: Option<usize>,
    pub imprint: Option<usize>,
    pub number: Option<FrameNumber>,
}

impl NotedSlot {
    /// Whether it is a note for which there is no frame.
    pub fn is_stray(&self) -> bool {
        self.note.is_some() && self.number.is_none()
    }
}

/// The film's frames where nobody counts: each note, in order. The second part is the logarithm of how likely it
/// is that they are noted so, and with no number.
pub fn uncounted_slots(e: &Evidence<'_>) -> (Vec<NotedSlot>, f64) {
    let mut next = FrameNumber::new(e.first);
    let mut weight = 0.0;
    let mut slots = Vec::with_capacity(e.notes.len());
    for i in 0..e.notes.len() {
        weight += (1.0 - e.not_noted).ln() + e.said(i, next);
        slots.push(NotedSlot { note: Some(i), imprint: None, number: Some(next) });
        next = next.next();
    }
    (slots, weight)
}
