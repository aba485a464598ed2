//! What is said of rolls, films and cameras.

use crate::facts::{Confidence, Settled};
use crate::language::LIKE_A_NAME;
use crate::language::act::{Act, Mode, ProcessSaid, Said, Same};
use crate::language::ways::Way;

use super::build::{Builder, sure};
use super::doubts::doubt_one;
use super::said::{Manner, weigh};

/// Nobody rates a film further from the speed on its box than this. Stops.
const FAR_FROM_BOX: f64 = 3.2;

impl<'a> Builder<'a> {
    pub(super) fn roll_act(&mut self, acts: &[Said], i: usize) {
        let said = &acts[i];
        let real = said.mode == Mode::Real;
        match &said.act {
            Act::Camera(c) => self.camera(*c),
            Act::Roll(name, weight) => {
                // The camera named in the same sentence is the one the roll is in; so is one
                // named after it with nothing but the film between: "Roll four. The ortho, in the small one."
                let mut same_sentence = true;
                let camera = acts[i + 1..]
                    .iter()
                    .take_while(|s| {
                        same_sentence &= s.act != Act::SentenceEnd;
                        let only_film = matches!(
                            s.act,
                            Act::SentenceEnd | Act::Film(_) | Act::Ei(_) | Act::Subject(_) | Act::Camera(_)
                        );
                        only_film || same_sentence && !matches!(s.act, Act::Frames { .. } | Act::Roll(..))
                    })
                    .find_map(|s| if let Act::Camera(c) = s.act { Some(c) } else { None });
                if let Some(c) = camera {
                    self.camera(c);
                }
                let goes_on = self.goes_on(&acts[i + 1..]);
                self.name_roll(name, *weight, goes_on);
            }
            Act::RollBegun => {
                self.close_draft();
                let has_shots =
                    self.hand().roll.is_some_and(|r| !self.rolls[r].shots.is_empty() || self.rolls[r].ended);
                if has_shots {
                    self.hand().roll = None;
                }
            }
            Act::RollEnded(name) => {
                self.close_draft();
                let index = match name {
                    Some(n) => self.roll_named(n),
                    None => self.hand().roll,
                };
                if let Some(r) = index {
                    self.rolls[r].ended = true;
                }
            }
            Act::Film(films) if real => {
                let kit = self.kit();
                let ways: Vec<Way<String>> =
                    films.iter().filter_map(|w| kit.films.get(w.value).map(|f| w.of(f.name.clone()))).collect();
                if let Some(mut w) = weigh(&ways, |_| 1.0, Manner { sure: 1.0, ..Manner::of(said) }) {
                    // A name that only sounds somewhat like the film's stays in doubt.
                    if ways.iter().all(|w| w.weight <= f64::from(LIKE_A_NAME)) {
                        doubt_one(&mut w.settled, "the words were only like this film's name");
                    }
                    let r = self.roll();
                    self.rolls[r].facts.film = Some(w.settled);
                }
            }
            Act::Ei(ways) if real => {
                let (gear, kit) = (self.gear(None), self.kit());
                if let Some(mut w) = weigh(ways, |n| gear.ei(*n), Manner::of(said).at_least(0.6)) {
                    let r = self.roll();
                    let facts = &mut self.rolls[r].facts;
                    let film = facts.film.as_ref().and_then(|f| kit.film(&f.value));
                    let far = |iso: f64| (w.settled.value / iso).log2().abs() > FAR_FROM_BOX;
                    if film.is_some_and(|f| far(f64::from(f.iso.get()))) {
                        doubt_one(&mut w.settled, "far from the speed on the film's box");
                    }
                    facts.ei = Some(w.settled);
                }
            }
            Act::BoxSpeed if real => {
                let r = self.roll();
                let film = self.rolls[r].facts.film.as_ref().and_then(|f| self.kit().film(&f.value));
                if let Some(film) = film {
                    self.rolls[r].facts.ei = Some(sure(f64::from(film.iso.get())));
                }
            }
            Act::Process(p) if real => {
                let text = match p {
                    ProcessSaid::Push(s) if *s < 0.0 => format!("pull {}", -s),
                    ProcessSaid::Push(s) => format!("push {s}"),
                    ProcessSaid::N(0.0) => "N".to_owned(),
                    ProcessSaid::N(s) if *s < 0.0 => format!("N-{}", -s),
                    ProcessSaid::N(s) => format!("N+{s}"),
                };
                let r = self.roll();
                self.rolls[r].facts.process = Some(Settled { confidence: Confidence::new(0.95), ..sure(text) });
            }
            Act::BothCameras => {
                // What was just said of one camera's filter holds for all.
                let said = self.filters(&self.draft.filters, None);
                let filter = said.or_else(|| self.hand().filter.clone());
                for hand in self.hands.values_mut() {
                    hand.filter.clone_from(&filter);
                }
            }
            _ => {}
        }
    }

    pub(super) fn camera(&mut self, c: usize) {
        if self.camera != Some(c) {
            // "Frame five in the folder is a hundredth": the frame so far has only a number.
            let only_named = !self.draft.numbers.is_empty() && !self.draft.has_exposure() && !self.draft.wasted;
            let only_words = !self.draft.is_frame()
                && self.draft.filters.is_empty()
                && self.draft.lens.is_none()
                && self.draft.focal.is_none();
            if !only_named && !only_words {
                self.close_draft();
            }
            // What was said before any camera was named was said of this one.
            if self.camera.is_none()
                && let Some(hand) = self.hands.remove(&None)
            {
                self.hands.entry(Some(c)).or_insert(hand);
            }
            self.camera = Some(c);
        }
        self.camera_said = true;
        self.hand();
    }

    /// Turns to the other camera where only the count tells: a whole exposure for a frame that the
    /// roll in hand has already, and that comes next in just one other roll. Which it is stays in doubt.
    pub(super) fn turn_by_count(&mut self, acts: &[Said]) {
        let settled_otherwise = |s: &Said| {
            s.mode != Mode::Real
                || matches!(
                    s.act,
                    Act::Camera(_) | Act::Roll(..) | Act::Correct | Act::Scratch | Act::ForgetLast | Act::MovedTo
                )
        };
        let says = |dial: fn(&Act) -> bool| acts.iter().any(|s| dial(&s.act));
        let whole = says(|a| matches!(a, Act::Shutter { .. })) && says(|a| matches!(a, Act::Aperture(_)));
        let number = acts.iter().find_map(|s| match &s.act {
            Act::Frames { numbers, weak: false } => numbers.first()?.first().map(|w| w.value),
            _ => None,
        });
        let Some(number) = number.filter(|_| whole && !acts.iter().any(settled_otherwise)) else { return };
        let Some(in_hand) = self.hands.get(&self.camera).and_then(|h| h.roll) else { return };
        let described = |r: usize| {
            let shots = self.rolls[r].shots.iter();
            shots.filter(|s| s.frame.number == number).any(|s| s.frame.shutter.is_some() && s.frame.aperture.is_some())
        };
        let comes_next = |r: usize| {
            let last = self.rolls[r].shots.last().map(|s| s.frame.number);
            !self.rolls[r].ended && last.is_some_and(|l| l.next() == number)
        };
        if !described(in_hand) || comes_next(in_hand) {
            return;
        }
        let others = self.hands.iter().filter(|(c, h)| **c != self.camera && h.roll.is_some_and(comes_next));
        let others: Vec<Option<usize>> = others.map(|(c, _)| *c).collect();
        if let [camera] = others[..] {
            self.close_draft();
            self.camera = camera;
            self.draft.numbers_manner.doubted = true;
        }
    }

    /// The roll without a name that the frame named next goes on with, the one in hand first:
    /// a name said before that frame is its name.
    fn goes_on(&mut self, acts: &[Said]) -> Option<usize> {
        let next = acts.iter().find_map(|s| match &s.act {
            Act::Frames { numbers, .. } => numbers.first()?.first().map(|w| w.value),
            _ => None,
        })?;
        let in_hand = self.hand().roll;
        let open = |r: &usize| {
            let roll = &self.rolls[*r];
            let last = roll.shots.last().map(|s| s.frame.number);
            roll.facts.name.is_none() && !roll.ended && last.is_some_and(|last| next > last)
        };
        in_hand.into_iter().chain(0..self.rolls.len()).find(open)
    }

    /// Names the roll in hand, turns to the roll of that name, or begins it. `goes_on`: the
    /// nameless roll whose count is carried on by what follows.
    pub(super) fn name_roll(&mut self, name: &str, weight: f64, goes_on: Option<usize>) {
        if self.draft.is_frame() && self.draft.has_exposure() && self.draft.rounded_off {
            self.close_draft();
        }
        let settled = Settled { confidence: Confidence::new(weight), ..sure(name.to_owned()) };
        if let Some(i) = self.roll_named(name) {
            self.turn_to(i);
            return;
        }
        if let Some(r) = goes_on.filter(|r| self.hand().roll != Some(*r)) {
            self.close_draft();
            self.turn_to(r);
        }
        let current = self.hand().roll;
        match current {
            // A roll that has no name and nothing on it yet takes the name; a
            // correction renames the one just named.
            Some(r)
                if self.rolls[r].shots.is_empty() && (self.rolls[r].facts.name.is_none() || self.draft.correcting) =>
            {
                self.give_name(r, settled);
            }
            Some(r)
                if self.rolls[r].facts.name.is_none()
                    && !self.rolls[r].ended
                    && (goes_on.is_some() || self.rolls[r].shots.len() < 3) =>
            {
                self.give_name(r, settled);
            }
            _ => {
                if current.is_some() {
                    self.close_draft();
                }
                let r = self.begin_roll();
                self.give_name(r, settled);
            }
        }
    }

    /// Speaking of a roll means its camera; one that is in no camera is taken in hand.
    fn turn_to(&mut self, roll: usize) {
        match self.hands.iter().find(|(_, h)| h.roll == Some(roll)).map(|(c, _)| *c) {
            Some(camera) => self.camera = camera,
            None => self.hand().roll = Some(roll),
        }
    }

    pub(super) fn same_film(&mut self, same: Same) {
        let r = self.roll();
        let before = self.rolls[..r].iter().rev().find(|o| o.facts.film.is_some()).map(|o| o.facts.clone());
        if let Some(before) = before {
            let facts = &mut self.rolls[r].facts;
            match same {
                Same::Film => facts.film = before.film,
                _ => facts.ei = before.ei,
            }
        }
    }
}
