//! Notes, scans and edge prints of one roll laid on the film: every hypothesis
//! of [`super::film`] is aligned, and all of them together say how sure each
//! link is.

use std::collections::HashMap;

use crate::facts::FrameNumber;

use super::align::{Alignment, Forward, Model};
use super::evidence::Evidence;
use super::film::{Lie, NotedSlot, Slot, lies, noted_slots, numbered_as_the_film, slots};

/// Hypotheses less likely than this are not followed.
const FAINT: f64 = 1e-3;
/// A frame more than the film holds, but for one.
const BEYOND: f64 = 0.1;
/// Films whose first frames are neither noted nor scanned, where scans carry
/// the film's own numbers. Where a count begins anywhere, its prior holds that.
const UNUSED: f64 = 0.05;
/// A scan whose number has no place on the film.
const NO_PLACE: f64 = 1e-4;
/// A scan between notes whose numbers leave no room for it, where all numbers
/// are said, and what is added where none is.
const NO_ROOM: (f64, f64) = (0.02, 0.2);

/// A frame of the film, and what shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
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
pub(super) fn solve(e: &Evidence<'_>) -> Vec<Place> {
    let mut tried: Vec<(Fitting, Forward, f64)> = lies(e)
        .into_iter()
        .map(|(lie, prior)| {
            let fitting = Fitting::of(e, lie);
            let forward = fitting.model.forward();
            let weight = prior + fitting.fixed + forward.log_total;
            (fitting, forward, weight)
        })
        .collect();
    tried.sort_by(|a, b| b.2.total_cmp(&a.2));
    let best = tried.first().map_or(0.0, |t| t.2);
    tried.retain(|t| t.2 - best > FAINT.ln());
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
        if right > most + 1e-9 {
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
    fn of(e: &Evidence<'_>, lie: Lie) -> Self {
        match lie {
            Lie::Numbered { backwards, offset, print_offset } => {
                Self::by_number(e, slots(e, backwards, offset, print_offset))
            }
            Lie::Ordered { backwards } => Self::by_order(e, backwards),
        }
    }

    fn by_number(e: &Evidence<'_>, slots: Vec<Slot>) -> Self {
        let bare = |s: &&Slot| s.picture.is_none() && s.imprint.is_none();
        let lead = slots.iter().take_while(bare).count();
        let tail = if lead == slots.len() { 0 } else { slots.iter().rev().take_while(bare).count() };
        let notes = (0..e.notes.len()).map(|i| e.of_no_frame(i)).collect();
        let alone =
            slots.iter().map(|s| e.not_noted.ln() + e.scanned(s.picture, None) + e.printed(s.imprint)).collect();
        let late = if numbered_as_the_film(e) { UNUSED.ln() } else { 0.0 };
        let model = Model::new(notes, alone, (lead, tail), |i, k| {
            let s = &slots[k];
            (1.0 - e.not_noted).ln()
                + e.scanned(s.picture, Some(i))
                + e.printed(s.imprint)
                + s.number.map_or(0.0, |n| e.said(i, n))
                + s.imprint.map_or(0.0, |p| e.alike(i, p))
        })
        .begun_late(late);
        let placed = slots.iter().filter(|s| s.picture.is_some()).count();
        let fixed = NO_PLACE.ln() * (e.pictures.len() - placed) as f64;
        Self { model, fixed, film: Film::Frames(slots) }
    }

    fn by_order(e: &Evidence<'_>, backwards: bool) -> Self {
        let (rows, fixed) = if e.imprints.is_empty() { noted_slots(e) } else { printed_slots(e) };
        let room = e.capacity.map_or(usize::MAX, |c| usize::from(c) + 1);
        let fixed = fixed + BEYOND.ln() * rows.len().saturating_sub(room) as f64;
        let mut columns: Vec<usize> = (0..e.pictures.len()).collect();
        if backwards {
            columns.reverse();
        }
        let no_room = NO_ROOM.0 + NO_ROOM.1 * e.unsaid;
        let noted = |r: &NotedSlot| if r.note.is_some() { (1.0 - e.not_noted).ln() } else { e.not_noted.ln() };
        let alone = rows.iter().map(|r| noted(r) + e.counted(None, r.note)).collect();
        let pictures = columns.iter().map(|&p| e.not_noted.ln() + no_room.ln() + e.counted(Some(p), None)).collect();
        let model =
            Model::new(alone, pictures, (0, 0), |i, k| noted(&rows[i]) + e.counted(Some(columns[k]), rows[i].note));
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
                        places.push(place(row.number.unwrap_or(UNKNOWN), row.note, picture, row.imprint));
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

/// Stands for a number not yet given.
const UNKNOWN: FrameNumber = FrameNumber::DOUBLE_ZERO.with_a();

fn place(number: FrameNumber, note: Option<usize>, picture: Option<usize>, imprint: Option<usize>) -> Place {
    Place { number, note, picture, imprint, number_sure: 1.0, scan_sure: 1.0, print_sure: 1.0, stray: false }
}

fn shown(slot: Slot, note: Option<usize>) -> Option<Place> {
    let any = note.is_some() || slot.picture.is_some() || slot.imprint.is_some();
    any.then(|| place(slot.number.unwrap_or(UNKNOWN), note, slot.picture, slot.imprint))
}

/// The film's frames as notes and edge prints together count them.
fn printed_slots(e: &Evidence<'_>) -> (Vec<NotedSlot>, f64) {
    let bare = Evidence { pictures: &[], imprint_numbers: e.imprint_numbers.clone(), ..*e };
    let fitting = Fitting::by_number(&bare, slots(&bare, false, 0, 0));
    let found = fitting.model.align();
    let rows = fitting
        .places(&bare, &found)
        .into_iter()
        .map(|p| NotedSlot { note: p.note, imprint: p.imprint, number: Some(p.number).filter(|n| *n != UNKNOWN) })
        .collect();
    // The notes' and prints' own weight counts once; the rest is in the rows.
    let noted = found.pairs.iter().flatten().count() as f64;
    (rows, found.log_total - noted * (1.0 - e.not_noted).ln())
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

/// Pictures that the hypothesis had no place for (no number among numbered
/// ones, or a second one with the same) stand after the picture before them.
fn insert_left_out(e: &Evidence<'_>, places: &mut Vec<Place>) {
    let mut stands = vec![false; e.pictures.len()];
    for j in places.iter().filter_map(|p| p.picture) {
        stands[j] = true;
    }
    for j in (0..e.pictures.len()).filter(|&j| !stands[j]) {
        let after = places.iter().rposition(|p| p.picture.is_some_and(|other| other < j));
        places.insert(after.map_or(0, |at| at + 1), place(UNKNOWN, None, Some(j), None));
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
