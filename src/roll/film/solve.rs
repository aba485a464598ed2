//! Notes, scans and edge prints of one roll laid on the film: every hypothesis
//! of [`super::film`] is aligned, and all of them together say how sure each
//! link is.

use std::cell::LazyCell;
use std::collections::HashMap;

use crate::facts::FrameNumber;

use super::align::{Alignment, Forward, Model, RowAlone};
use super::evidence::Evidence;
use super::hypotheses::{Lie, NotedSlot, Slot, lies, slots, uncounted_slots};

/// Sums that differ by less are equal: the first then stands.
const EQUAL: f64 = 1e-9;

/// Hypotheses less likely than this are not followed.
const FAINT: f64 = 1e-3;
/// A frame more than the film holds, but for one.
const BEYOND: f64 = 0.1;
/// Films whose first frames were not used.
const UNUSED: f64 = 0.02;
/// A scan whose number has no place on the film.
const NO_PLACE: f64 = 1e-4;
/// A scan between notes (or before them) whose numbers leave no room for it, where all numbers
/// are said, and what is added where none is. After the last note there is room.
const NO_ROOM: (f64, f64) = (0.02, 0.2);

/// A frame of the film, and what shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    pub number: FrameNumber,
    pub note: Option<usize>,
    pub picture: Option<usize>,
    pub imprint: Option<usize>,
    /// How sure the number is.
    pub number_sure: f64,
    /// How sure note and picture belong together, or, where one of them is
    /// missing, that it is.
    pub scan_sure: f64,
    /// The same of note and edge print.
    pub print_sure: f64,
    /// A note for which the film has no frame.
    pub stray: bool,
}

/// The likeliest lie of everything on the film, in film order. Every note,
/// picture and print stands in it once.
pub fn solve(e: &Evidence<'_>) -> Vec<Place> {
    let noted = LazyCell::new(|| noted_slots(e));
    let mut tried: Vec<(Fitting, Forward, f64)> = Vec::new();
    let mut best = f64::NEG_INFINITY;
    for (lie, prior) in lies(e) {
        let fitting = Fitting::of(e, lie, || noted.clone());
        let forward = fitting.model.forward();
        let weight = prior + fitting.fixed + forward.log_total;
        best = best.max(weight);
        // Tables are large: what is hopeless is not kept.
        tried.retain(|t| t.2 - best > FAINT.ln());
        if weight - best > FAINT.ln() {
            tried.push((fitting, forward, weight));
        }
    }
    tried.sort_by(|a, b| b.2.total_cmp(&a.2));
    let total: f64 = tried.iter().map(|t| (t.2 - best).exp()).sum();
    let mut sure = Sure::default();
    let mut candidates = Vec::new();
    for (fitting, forward, weight) in &tried {
        let found = fitting.model.align_after(forward);
        candidates.push(fitting.places(e, &found));
        fitting.add_to(&mut sure, &found, (weight - best).exp() / total);
    }
    // The likeliest alignment of each hypothesis; of these the one that gets
    // most links right over all hypotheses. The first of equals.
    let mut places = Vec::new();
    let mut most = f64::NEG_INFINITY;
    for candidate in candidates {
        let right = sure.expected(&candidate);
        if right > most + EQUAL {
            (most, places) = (right, candidate);
        }
    }
    insert_left_out(e, &mut places);
    number(e, &mut places);
    for place in &mut places {
        sure.judge(place);
    }
    places
}

/// One hypothesis, ready to be aligned.
struct Fitting {
    model: Model,
    /// Weight that does not depend on the alignment.
    fixed: f64,
    film: Film,
}

enum Film {
    /// Rows are notes, columns the film's frames.
    Frames(Vec<Slot>),
    /// Rows are the film's frames as noted or printed, columns the pictures
    /// in film order.
    Pictures(Vec<NotedSlot>, Vec<usize>),
}

impl Fitting {
    /// `noted` holds the film's frames as notes and edge prints count them.
    fn of(e: &Evidence<'_>, lie: Lie, noted: impl Fn() -> (Vec<NotedSlot>, f64)) -> Self {
        match lie {
            Lie::Numbered { backwards, offset, print_offset } => {
                Self::by_number(e, slots(e, backwards, offset, print_offset))
            }
            Lie::Ordered { backwards } => Self::by_order(e, backwards, noted()),
        }
    }

    fn by_number(e: &Evidence<'_>, slots: Vec<Slot>) -> Self {
        let bare = |s: &&Slot| s.picture.is_none() && s.imprint.is_none();
        let lead = slots.iter().take_while(bare).count();
        let tail = slots.iter().rev().take_while(bare).count();
        let notes = (0..e.notes.len()).map(|i| {
            let first_said = e.notes[i].said_numbers.first().map(|(n, _)| *n);
            let at = first_said.and_then(|n| slots.binary_search_by(|s| s.number.cmp(&Some(n))).ok());
            RowAlone { anywhere: e.of_no_frame(i, None), before: at.map(|k| (k, e.of_no_frame(i, first_said))) }
        });
        let notes = notes.collect();
        let alone =
            slots.iter().map(|s| e.not_noted.ln() + e.scanned(s.picture, None) + e.printed(s.imprint)).collect();
        let model = Model::new(notes, alone, (lead, tail), |i, k| {
            let s = &slots[k];
            (1.0 - e.not_noted).ln()
                + e.scanned(s.picture, Some(i))
                + e.printed(s.imprint)
                + s.number.map_or(0.0, |n| e.said(i, n))
                + s.imprint.map_or(0.0, |p| e.alike(i, p))
        })
        .begun_late(UNUSED.ln())
        .with_room((0..=e.notes.len()).map(|i| gap(e, (i < e.notes.len()).then_some(Some(i)), 1.0)).collect());
        let placed = slots.iter().filter(|s| s.picture.is_some()).count();
        let fixed = NO_PLACE.ln() * (e.pictures.len() - placed) as f64;
        Self { model, fixed, film: Film::Frames(slots) }
    }

    fn by_order(e: &Evidence<'_>, backwards: bool, (rows, fixed): (Vec<NotedSlot>, f64)) -> Self {
        let room = e.capacity.map_or(usize::MAX, |c| usize::from(c) + 1);
        let fixed = fixed + BEYOND.ln() * rows.len().saturating_sub(room) as f64;
        let mut columns: Vec<usize> = (0..e.pictures.len()).collect();
        if backwards {
            columns.reverse();
        }
        let no_room = NO_ROOM.0 + NO_ROOM.1 * e.unsaid;
        let alone = rows.iter().map(|r| if r.is_stray() { 0.0 } else { e.counted(None, r.note) }.into()).collect();
        let pictures = columns.iter().map(|&p| e.not_noted.ln() + no_room.ln() + e.counted(Some(p), None)).collect();
        let model = Model::new(alone, pictures, (0, 0), |i, k| match rows[i].is_stray() {
            true => f64::NEG_INFINITY,
            false => e.counted(Some(columns[k]), rows[i].note),
        })
        .with_room((0..=rows.len()).map(|i| gap(e, rows.get(i).map(|r| r.note), no_room)).collect());
        Self { model, fixed, film: Film::Pictures(rows, columns) }
    }

    /// The alignment as frames in film order; numbers may still be missing,
    /// which is written as `00A`.
    fn places(&self, e: &Evidence<'_>, found: &Alignment) -> Vec<Place> {
        let mut places = Vec::new();
        match &self.film {
            Film::Frames(slots) => {
                let mut k = 0;
                for i in 0..=e.notes.len() {
                    // A note without a frame stands before the next linked one.
                    let until = match found.pairs.get(i) {
                        Some(Some(at)) => *at,
                        Some(None) => k,
                        None => slots.len(),
                    };
                    places.extend(slots[k..until].iter().filter_map(|s| shown(*s, None)));
                    k = until;
                    match found.pairs.get(i) {
                        Some(Some(at)) => {
                            places.extend(shown(slots[*at], Some(i)));
                            k = at + 1;
                        }
                        Some(None) => places.push(Place { stray: true, ..place(UNKNOWN, Some(i), None, None) }),
                        None => {}
                    }
                }
            }
            Film::Pictures(rows, columns) => {
                let mut k = 0;
                for i in 0..=rows.len() {
                    let until = match found.pairs.get(i) {
                        Some(Some(at)) => *at,
                        Some(None) => k,
                        None => columns.len(),
                    };
                    places.extend(columns[k..until].iter().map(|&p| place(UNKNOWN, None, Some(p), None)));
                    k = until;
                    let Some((pair, row)) = found.pairs.get(i).zip(rows.get(i)) else { continue };
                    let picture = pair.map(|at| columns[at]);
                    k += usize::from(pair.is_some());
                    if row.note.is_some() || row.imprint.is_some() || picture.is_some() {
                        let number = row.number.unwrap_or(UNKNOWN);
                        places.push(Place { stray: row.is_stray(), ..place(number, row.note, picture, row.imprint) });
                    }
                }
            }
        }
        places
    }

    fn add_to(&self, sure: &mut Sure, found: &Alignment, weight: f64) {
        match &self.film {
            Film::Frames(slots) => {
                for (i, links) in found.links.iter().enumerate() {
                    for &(k, p) in links {
                        let s = slots[k];
                        sure.add(i, s.picture, s.imprint, s.number, p * weight);
                    }
                    let alone = found.alone(i) * weight;
                    sure.add(i, None, None, None, alone);
                }
            }
            Film::Pictures(rows, columns) => {
                for (row, links) in rows.iter().zip(&found.links) {
                    let Some(i) = row.note else { continue };
                    let mut linked = 0.0;
                    for &(k, p) in links {
                        sure.add(i, Some(columns[k]), row.imprint, row.number, p * weight);
                        linked += p;
                    }
                    sure.add(i, None, row.imprint, row.number, (1.0 - linked).max(0.0) * weight);
                }
            }
        }
    }
}

/// What a frame that nobody noted weighs besides, before a row (`None`: after the last): there is room for it after the
/// last, and where one may have been told that was not taken for one.
fn gap(e: &Evidence<'_>, row: Option<Option<usize>>, no_room: f64) -> f64 {
    match row {
        None => -no_room.ln(),
        Some(Some(i)) if e.notes[i].lost_before => -no_room.ln(),
        Some(_) => 0.0,
    }
}

/// Stands for a number not yet given.
const UNKNOWN: FrameNumber = FrameNumber::DOUBLE_ZERO.with_a();

fn place(number: FrameNumber, note: Option<usize>, picture: Option<usize>, imprint: Option<usize>) -> Place {
    Place { number, note, picture, imprint, number_sure: 1.0, scan_sure: 1.0, print_sure: 1.0, stray: false }
}

fn shown(slot: Slot, note: Option<usize>) -> Option<Place> {
    let any = note.is_some() || slot.picture.is_some() || slot.imprint.is_some();
    any.then(|| place(slot.number.unwrap_or(UNKNOWN), note, slot.picture, slot.imprint))
}

/// The film's frames as notes and edge prints together count them, from the film's first to the last that either
/// shows, and the logarithm of how likely notes and prints are.
fn noted_slots(e: &Evidence<'_>) -> (Vec<NotedSlot>, f64) {
    if e.imprints.is_empty() && e.notes.iter().all(|n| n.said_numbers.is_empty()) {
        return uncounted_slots(e);
    }
    let bare = Evidence { pictures: &[], imprint_numbers: e.imprint_numbers.clone(), ..*e };
    let film = slots(&bare, false, 0, 0);
    let found = Fitting::by_number(&bare, film.clone()).model.align();
    let row = |slot: &Slot, note| NotedSlot { note, imprint: slot.imprint, number: slot.number };
    let mut rows = Vec::new();
    let mut k = 0;
    for (i, pair) in found.pairs.iter().enumerate() {
        match *pair {
            Some(at) => {
                rows.extend(film[k..at].iter().map(|s| row(s, None)));
                rows.push(row(&film[at], Some(i)));
                k = at + 1;
            }
            None => rows.push(NotedSlot { note: Some(i), imprint: None, number: None }),
        }
    }
    let last = film.iter().rposition(|s| s.imprint.is_some()).map_or(k, |p| k.max(p + 1));
    rows.extend(film[k..last].iter().map(|s| row(s, None)));
    (rows, found.log_total)
}

/// How sure each link is, over all hypotheses.
#[derive(Default)]
struct Sure {
    picture: HashMap<(usize, Option<usize>), f64>,
    imprint: HashMap<(usize, Option<usize>), f64>,
    number: HashMap<(usize, FrameNumber), f64>,
    picture_noted: HashMap<usize, f64>,
    imprint_noted: HashMap<usize, f64>,
}

impl Sure {
    fn add(
        &mut self,
        note: usize,
        picture: Option<usize>,
        imprint: Option<usize>,
        number: Option<FrameNumber>,
        p: f64,
    ) {
        *self.picture.entry((note, picture)).or_default() += p;
        *self.imprint.entry((note, imprint)).or_default() += p;
        if let Some(n) = number {
            *self.number.entry((note, n)).or_default() += p;
        }
        if let Some(j) = picture {
            *self.picture_noted.entry(j).or_default() += p;
        }
        if let Some(j) = imprint {
            *self.imprint_noted.entry(j).or_default() += p;
        }
    }

    /// How many links of notes are right, as far as can be told.
    fn expected(&self, places: &[Place]) -> f64 {
        let of = |map: &HashMap<_, f64>, i, j| map.get(&(i, j)).copied().unwrap_or(0.0);
        let noted = places.iter().filter_map(|p| p.note.map(|i| (i, p)));
        noted.map(|(i, p)| of(&self.picture, i, p.picture) + of(&self.imprint, i, p.imprint)).sum()
    }

    fn judge(&self, place: &mut Place) {
        let free = |noted: &HashMap<usize, f64>, j| 1.0 - noted.get(&j).copied().unwrap_or(0.0);
        if let Some(i) = place.note {
            let get = |map: &HashMap<_, f64>, j| map.get(&(i, j)).copied().unwrap_or(0.0).clamp(0.0, 1.0);
            place.scan_sure = get(&self.picture, place.picture);
            place.print_sure = get(&self.imprint, place.imprint);
            place.number_sure = self.number.get(&(i, place.number)).copied().unwrap_or(0.0).clamp(0.0, 1.0);
        } else {
            place.scan_sure = place.picture.map_or(1.0, |j| free(&self.picture_noted, j)).clamp(0.0, 1.0);
            place.print_sure = place.imprint.map_or(1.0, |j| free(&self.imprint_noted, j)).clamp(0.0, 1.0);
            place.number_sure = place.scan_sure.min(place.print_sure);
        }
    }
}

/// Pictures and prints that the hypothesis had no place for (no number among numbered
/// ones, or a second one with the same) stand after the one before them.
fn insert_left_out(e: &Evidence<'_>, places: &mut Vec<Place>) {
    insert(places, e.pictures.len(), |p| p.picture, |j| place(UNKNOWN, None, Some(j), None));
    insert(places, e.imprints.len(), |p| p.imprint, |j| place(UNKNOWN, None, None, Some(j)));
}

fn insert(places: &mut Vec<Place>, all: usize, shows: fn(&Place) -> Option<usize>, bare: fn(usize) -> Place) {
    let mut stands = vec![false; all];
    places.iter().filter_map(shows).for_each(|j| stands[j] = true);
    for j in (0..all).filter(|&j| !stands[j]) {
        let after = places.iter().rposition(|p| shows(p).is_some_and(|other| other < j));
        places.insert(after.map_or(0, |at| at + 1), bare(j));
    }
}

/// Gives numbers to frames without one: the next after the frame before, and
/// where the following frame has that already, the half step between.
fn number(e: &Evidence<'_>, places: &mut [Place]) {
    let mut last: Option<FrameNumber> = None;
    for at in 0..places.len() {
        let next = last.map_or(FrameNumber::new(e.first), FrameNumber::next);
        if places[at].number == UNKNOWN {
            let following = places[at + 1..].iter().map(|p| p.number).find(|n| *n != UNKNOWN);
            let unknown = places[at + 1..].iter().take_while(|p| p.number == UNKNOWN).count() as i16;
            // Before the first numbered frame, count back from it.
            let next = match (last, following) {
                (None, Some(f)) => f.moved(-unknown - 1),
                _ => next,
            };
            places[at].number = match (last, following) {
                (Some(l), Some(f)) if f <= next => l.with_a(),
                _ => next,
            };
        }
        last = Some(last.map_or(places[at].number, |l| l.max(places[at].number)));
    }
}
