//! What was said of a frame becomes the frame, or the frames, that it describes.

use std::ops::Range;

use crate::exposure::{Aperture, ExposureIndex, Shutter, Stops};
use crate::facts::{Confidence, Field, Flag, FrameNumber, Settled, Source};
use crate::language::act::{BracketSaid, Moved};
use crate::language::ways::Way;

use super::build::{Builder, OpenRoll, sure};
use super::change::{change_aperture, change_shutter};
use super::context::weigh_in_context;
use super::doubts::{doubt_unread, last_of};
use super::draft::{Draft, Valued, offsets};
use super::merge::{doubt_differences, merge};
use super::said::{Manner, weigh};
use super::{Frame, NotedFrame, NotedRoll, Quote, Status};

/// A frame as described, before scans are seen.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shot {
    pub frame: Frame,
    /// Its number, if one was said, with the others it may have been.
    pub numbers: Vec<(FrameNumber, f64)>,
    /// An exposure off the metered one in a bracket.
    pub straight: bool,
}

impl Shot {
    /// A copy for what is taken from one frame to another.
    pub fn without_words(&self) -> Self {
        Self { frame: self.frame.without_words(), numbers: self.numbers.clone(), straight: self.straight }
    }
}

/// So many values of one dial, with none taken back, are one a frame.
const LEAST_LIST: usize = 3;
/// How sure a change leaves a setting that was sure before.
pub(super) const CHANGED: f64 = 0.95;
/// How sure a change leaves a setting when it was not said which dial moved.
pub(super) const EITHER: f64 = 0.5;

pub(super) type Dial = Option<Settled<Shutter>>;
pub(super) type Stop = Option<Settled<Aperture>>;

impl<'a> Builder<'a> {
    /// Makes the frames of a draft; where each stands: roll and place.
    pub(super) fn shoot(&mut self, draft: Draft) -> Vec<(usize, usize)> {
        let mut r = self.roll();
        if self.rolls[r].ended && self.carries {
            let again = draft
                .numbers
                .first()
                .and_then(|n| n.first())
                .is_some_and(|w| self.rolls[r].shots.iter().any(|s| s.frame.number == w.value));
            if !again {
                self.hand().roll = None;
                r = self.roll();
            }
        }
        let before = self.base(&draft, r);
        let lens = self.lens_in_use(&draft, before.as_ref());
        let gear = self.gear(lens);
        let mut flags = Vec::new();

        let mut plain = Frame::blank(FrameNumber::new(0), Status::Ok);
        self.set_gear(&draft, before.as_ref(), lens, &mut plain, &mut flags);
        let (shutters, focal) = self.shutters(&draft, &gear, &mut flags);
        if let Some(f) = focal
            && plain.focal_mm.is_none()
        {
            plain.lens = self.lens_for(f.value).map(|l| sure(l.name.clone()));
            plain.focal_mm = Some(f);
        }
        let apertures = self.apertures(&draft, &gear, lens, &mut flags);
        let listed = |n: usize, of: Moved, apart: bool| {
            n > 1
                && (draft.all
                    || draft.list_of == Some(of)
                    || draft.count == Some(n as u32)
                    || n >= LEAST_LIST && apart && !draft.corrects
                    || draft.bracket.contains(&BracketSaid::Word)
                    || if of == Moved::Shutter { draft.shutter_list } else { draft.aperture_list })
        };
        let shutters = if listed(shutters.len(), Moved::Shutter, shutters.windows(2).all(|w| w[0].value != w[1].value))
        {
            shutters
        } else {
            last_of(shutters, self.run_together(draft.shutters.iter().map(|s| &s.span)))
        };
        let apertures =
            if listed(apertures.len(), Moved::Aperture, apertures.windows(2).all(|w| w[0].value != w[1].value)) {
                apertures
            } else {
                last_of(apertures, self.run_together(draft.apertures.iter().map(|a| &a.span)))
            };

        let (shutters, apertures) = doubt_unread(shutters, apertures, &draft, &gear);

        self.words(&draft, &mut plain);
        let bracket = match offsets(&bracketed(&draft), !draft.numbers.is_empty()) {
            Ok(b) => b,
            Err(comp) => {
                plain.comp = Some(sure(Stops::new(comp)));
                None
            }
        };
        if let Some(c) = draft.comp {
            plain.comp = Some(sure(Stops::new(c)));
        } else if let Some(e) = draft.extra {
            plain.comp = Some(sure(Stops::new(e)));
        }

        let lists = shutters.len().max(apertures.len()).max(1);
        // Settings said one by one need no offsets.
        let bracket = if lists > 1 { None } else { bracket };
        let mut many = lists
            .max(draft.numbers.len())
            .max(draft.count.unwrap_or(1) as usize)
            .max(bracket.as_ref().map_or(1, Vec::len));
        if lists > 1 && draft.numbers.len() <= 1 {
            many = lists;
        }
        many = many.clamp(1, 120);
        let mut made = Vec::with_capacity(many);
        let mut previous = before;
        for i in 0..many {
            let mut frame = plain.clone();
            let pick = |n: usize| if n == 0 { None } else { Some(i.min(n - 1)) };
            frame.shutter = pick(shutters.len()).map(|k| shutters[k].clone());
            frame.aperture = pick(apertures.len()).map(|k| apertures[k].clone());
            self.complete(&draft, previous.as_ref(), &gear, &mut frame, &mut flags);
            if let Some(b) = &bracket {
                let offset = b.get(i).copied().unwrap_or(0.0);
                match draft.bracket_by.or(draft.list_of) {
                    Some(Moved::Aperture) if offset != 0.0 => change_aperture(&mut frame, offset, CHANGED),
                    Some(Moved::Shutter) if offset != 0.0 => change_shutter(&mut frame, offset, self, CHANGED),
                    _ => frame.comp = (offset != 0.0).then(|| sure(Stops::new(offset))),
                }
            }
            let numbers = self.number(&draft, i, r, many);
            let straight = draft.bracket.contains(&BracketSaid::Straight);
            for (flag, reason) in &flags {
                frame.flag(*flag, reason.clone());
            }
            self.flag_unsure(&mut frame, &numbers);
            let shot = Shot { frame, numbers, straight };
            made.push(self.put(r, shot, &draft));
            if i == 0 {
                previous = Some(self.rolls[r].shots[made[0].1].without_words());
            }
        }
        self.spread_bracket(r, &made);
        if draft.all {
            self.spread_back(r, &made);
        }
        self.carry_on(&draft, made.last().copied());
        made
    }

    /// Whether values were written with no word or pause between: "a 15th-8th".
    fn run_together<'s>(&self, mut spans: impl Iterator<Item = &'s Range<usize>>) -> bool {
        let Some(first) = spans.next() else { return false };
        let mut end = first.end;
        spans.any(|s| {
            let between = self.note.text.get(std::mem::replace(&mut end, s.end)..s.start);
            between.is_some_and(|t| !t.contains(|c: char| c.is_alphanumeric() || ",.;:".contains(c)))
        })
    }

    pub(super) fn words(&self, draft: &Draft, frame: &mut Frame) {
        let text = |v: &Option<Valued<String>>| {
            v.as_ref().map(|v| {
                let mut s = sure(v.value.clone());
                v.manner.lower(&mut s);
                s
            })
        };
        frame.light = text(&draft.light);
        frame.support = text(&draft.support);
        let spoken = |parts: &[String]| {
            (!parts.is_empty()).then(|| Settled::from_one(parts.join(", "), Confidence::new(0.8), Source::Voice))
        };
        frame.subject = spoken(&draft.subject);
        frame.place = spoken(&draft.place);
        if draft.wasted {
            frame.status = Status::Wasted;
        }
        if draft.double {
            for field in [Field::Shutter, Field::Aperture] {
                frame.flag(Flag::Unsure(field), "two exposures on one frame");
            }
        }
        let start = draft.spans.iter().map(|s| s.start).min();
        let end = draft.spans.iter().map(|s| s.end).max();
        if let (Some(start), Some(end)) = (start, end)
            && let Some(text) = self.note.text.get(start..end)
        {
            let span = start..end;
            frame.said.push(Quote { text: text.trim().to_owned(), at: self.note.moment(&span) });
        }
    }

    /// The number of the `i`th frame of a draft, with what else it may be.
    pub(super) fn number(&self, draft: &Draft, i: usize, r: usize, many: usize) -> Vec<(FrameNumber, f64)> {
        let gear = self.gear(None);
        let last = self.rolls[r].shots.last().map(|s| s.frame.number);
        let ways = match draft.numbers.get(i) {
            Some(ways) => ways.clone(),
            None => match (draft.numbers.last().and_then(|w| w.first()), draft.numbers.len()) {
                (Some(w), n) if many > n => vec![Way::new(w.value.moved((i + 1 - n) as i16), w.weight * 0.95)],
                // "Frame five …, next one …" is frame six.
                (None, _) if draft.inherit && draft.opened => {
                    match self.rolls[r].shots.last().filter(|s| !s.numbers.is_empty()) {
                        Some(s) => vec![Way::new(s.frame.number.next(), 0.95)],
                        None => return Vec::new(),
                    }
                }
                _ => return Vec::new(),
            },
        };
        let likely = |n: &FrameNumber| {
            let next = last.map(FrameNumber::next);
            let order = match next {
                Some(next) if self.carries && *n != next => {
                    if *n > next {
                        0.7
                    } else {
                        0.5
                    }
                }
                _ => 1.0,
            };
            gear.frame(*n) * order
        };
        let Some(w) = weigh(&ways, likely, Manner { sure: 1.0, ..draft.numbers_manner }) else { return Vec::new() };
        let mut all = vec![(w.settled.value, w.settled.confidence.get())];
        all.extend(w.settled.others.iter().map(|o| (o.value, o.confidence.get())));
        all
    }

    pub(super) fn flag_unsure(&self, frame: &mut Frame, numbers: &[(FrameNumber, f64)]) {
        let below = self.unsure_below;
        fn of<T>(s: &Option<Settled<T>>) -> Option<(f64, String)> {
            s.as_ref().map(|s| (s.confidence.get(), s.why.join("; ")))
        }
        let fields = [
            (Field::Shutter, of(&frame.shutter)),
            (Field::Aperture, of(&frame.aperture)),
            (Field::Filter, of(&frame.filter)),
            (Field::FocalMm, of(&frame.focal_mm)),
            (Field::Lens, of(&frame.lens)),
            (Field::CompStops, of(&frame.comp)),
            (Field::Light, of(&frame.light)),
            (Field::Support, of(&frame.support)),
        ];
        for (field, confidence) in fields {
            if let Some((c, why)) = confidence
                && c < below
            {
                frame.flag(
                    Flag::Unsure(field),
                    if why.is_empty() { "heard with little certainty".to_owned() } else { why },
                );
            }
        }
        if let Some((_, c)) = numbers.first()
            && *c < below
        {
            frame.flag(Flag::Unsure(Field::Frame), "the number may be another");
        }
    }

    /// Puts a shot on its roll: a number that is there already is that frame spoken of again.
    pub(super) fn put(&mut self, r: usize, mut shot: Shot, draft: &Draft) -> (usize, usize) {
        let from = self.kit().habits.frame_counts_from;
        let said = shot.numbers.first().map(|n| n.0);
        let shots = &self.rolls[r].shots;
        let number = said.unwrap_or_else(|| shots.last().map_or(FrameNumber::new(from), |s| s.frame.number.next()));
        shot.frame.number = number;
        shot.frame.number_confidence = shot.numbers.first().map_or(0.9, |n| n.1);
        if said.is_some()
            && let Some(k) =
                shots.iter().position(|s| s.frame.number == number && (!s.numbers.is_empty() || self.carries))
        {
            if !draft.corrects {
                doubt_differences(&self.rolls[r].shots[k].frame, &mut shot.frame);
            }
            merge(&mut self.rolls[r].shots[k].frame, shot.frame);
            if self.rolls[r].shots[k].numbers.is_empty() {
                self.rolls[r].shots[k].numbers = shot.numbers;
            }
            return (r, k);
        }
        if self.carries {
            self.carry(draft, &mut shot.frame);
        }
        self.rolls[r].shots.push(shot);
        (r, self.rolls[r].shots.len() - 1)
    }

    /// "Frame 8 minus a third, 9 zero, 10 plus a third, and zero was …": the
    /// settings said once hold for the whole bracket.
    pub(super) fn spread_bracket(&mut self, r: usize, made: &[(usize, usize)]) {
        let Some(&(_, last)) = made.last() else { return };
        let shots = &mut self.rolls[r].shots;
        let full = shots[last].frame.without_words();
        if full.comp.is_none() || full.shutter.is_none() || full.aperture.is_none() {
            return;
        }
        for k in (0..last).rev() {
            let shot = &mut shots[k];
            let bracketed = shot.frame.comp.is_some() || shot.straight;
            if shot.frame.shutter.is_some() || shot.frame.aperture.is_some() || !bracketed {
                break;
            }
            shot.frame.shutter.clone_from(&full.shutter);
            shot.frame.aperture.clone_from(&full.aperture);
        }
    }

    /// "Frame three with the orange, frame four without, both a sixtieth at f8":
    /// frames of this note that still lack their settings get them too.
    pub(super) fn spread_back(&mut self, r: usize, made: &[(usize, usize)]) {
        let Some(&(_, last)) = made.last() else { return };
        let mine: Vec<usize> = self.this_note_shots.iter().filter(|s| s.0 == r).map(|s| s.1).collect();
        let full = self.rolls[r].shots[last].frame.without_words();
        for k in mine {
            let frame = &mut self.rolls[r].shots[k].frame;
            if frame.status == Status::Wasted {
                continue;
            }
            if frame.shutter.is_none() {
                frame.shutter.clone_from(&full.shutter);
            }
            if frame.aperture.is_none() {
                frame.aperture.clone_from(&full.aperture);
            }
        }
        self.spread_gear(&full);
    }

    /// "…, the eighty-five on for both": gear of all frames of this note that have none of their own.
    pub(super) fn spread_gear(&mut self, from: &Frame) {
        for (r, k) in self.this_note_shots.clone() {
            let frame = &mut self.rolls[r].shots[k].frame;
            if frame.focal_mm.is_none() {
                frame.focal_mm.clone_from(&from.focal_mm);
                frame.lens.clone_from(&from.lens);
            }
            if frame.filter.is_none() {
                frame.filter.clone_from(&from.filter);
            }
            if frame.support.is_none() {
                frame.support.clone_from(&from.support);
            }
        }
    }

    /// The rolls as they are noted.
    pub(super) fn noted(self) -> Vec<NotedRoll> {
        let kit = self.kit();
        let mut cameras: Vec<Option<usize>> = vec![None; self.rolls.len()];
        for (c, hand) in &self.hands {
            if let Some(r) = hand.roll {
                cameras[r] = *c;
            }
        }
        let mut out = Vec::new();
        for (r, roll) in self.rolls.into_iter().enumerate() {
            let camera = roll_camera(&roll, cameras[r].or(roll.camera), kit);
            if roll.shots.is_empty() && roll.facts.name.is_none() {
                continue;
            }
            let mut noted = noted_roll(roll, camera, kit);
            weigh_in_context(&mut noted.frames, kit, self.unsure_below);
            out.push(noted);
        }
        out
    }
}

/// What was said of a bracket; "three shots" beside the word is its count.
pub(super) fn bracketed(draft: &Draft) -> Vec<BracketSaid> {
    let mut said = draft.bracket.clone();
    if let Some(n) = draft.count.filter(|_| said.contains(&BracketSaid::Word)) {
        said.push(BracketSaid::Count(n));
    }
    said
}

pub(super) fn has_bracket_only(draft: &Draft) -> bool {
    draft.has_bracket() && !draft.has_exposure()
}

pub(super) fn roll_camera(_: &OpenRoll, camera: Option<usize>, kit: &crate::kit::Kit) -> Option<String> {
    camera.and_then(|i| kit.cameras.get(i)).map(|c| c.name.clone())
}

pub(super) fn noted_roll(roll: OpenRoll, camera: Option<String>, kit: &crate::kit::Kit) -> NotedRoll {
    let film = roll.facts.film.clone();
    let known = film.as_ref().and_then(|f| kit.film(&f.value));
    let index = |ei: f64| ExposureIndex::new(ei.round() as u32);
    let ei = roll.facts.ei.clone().and_then(|e| index(e.value).map(|i| e.map(|other| index(other).unwrap_or(i))));
    let ei = ei.or_else(|| known.and_then(|f| f.ei).map(|e| Settled { confidence: Confidence::new(0.85), ..sure(e) }));
    let frames = roll
        .shots
        .into_iter()
        .map(|shot| {
            let mut frame = shot.frame;
            frame.camera = camera.clone().map(sure);
            frame.film.clone_from(&film);
            frame.box_iso = known.map(|f| f.iso);
            frame.ei.clone_from(&ei);
            frame.process.clone_from(&roll.facts.process);
            frame.filter_stops = frame.filter.as_ref().and_then(|f| kit.lost_to(&f.value));
            NotedFrame { frame, said_numbers: shot.numbers }
        })
        .collect();
    NotedRoll {
        name: roll.facts.name.and_then(|n| crate::facts::RollName::new(&n.value).ok()),
        camera,
        film: film.map(|f| f.value),
        frames,
        scans_reversed: roll.reversed,
        remarks: roll.remarks,
    }
}
