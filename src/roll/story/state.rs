//! What is known at a point of the story: rolls, cameras, what is on each.

use std::collections::BTreeMap;

use crate::exposure::ExposureIndex;
use crate::facts::{FrameNumber, RollName, Settled};
use crate::kit::{Camera, Filters, Kit};
use crate::language::compose::FactSaid;
use crate::roll::record::{Developed, Frame, OnLens};

/// A frame as described, before scans are seen.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shot {
    pub frame: Frame,
    /// Its number, if one was said, with the others it may have been.
    pub numbers: Vec<(FrameNumber, f64)>,
    /// Byte of the tape where it is begun; frames begun together count on.
    pub at: (usize, usize),
    /// How likely there is such a frame.
    pub there: f64,
}

/// What holds for a roll as a whole.
#[derive(Debug, Clone, Default)]
pub(super) struct RollFacts {
    pub film: Option<Settled<String>>,
    pub ei: Option<Settled<ExposureIndex>>,
    /// How sure it was said to be rated as the box says.
    pub box_speed: Option<f64>,
    pub process: Option<Settled<String>>,
    /// How it was developed.
    pub developed: Developed,
}

impl RollFacts {
    /// Fills in what is not known here from what was told elsewhere.
    pub fn fill(&mut self, other: Self) {
        self.film = self.film.take().or(other.film);
        // One says of the rating what the other does: they go together.
        if self.ei.is_none() && self.box_speed.is_none() {
            (self.ei, self.box_speed) = (other.ei, other.box_speed);
        }
        self.process = self.process.take().or(other.process);
        self.developed.fill(&other.developed);
    }
}

/// A roll that was begun.
#[derive(Debug, Clone, Default)]
pub(super) struct OpenRoll {
    pub name: Option<RollName>,
    pub facts: RollFacts,
    pub camera: Option<usize>,
    pub shots: Vec<Shot>,
    /// Places among the shots where one more may have been told that was not taken for one.
    pub lost: Vec<usize>,
    /// The number of the frame taken last; corrections do not move it.
    pub counter: Option<FrameNumber>,
    /// It is out of the camera, or full.
    pub ended: bool,
    pub reversed: bool,
    pub remarks: Vec<String>,
    /// Its camera was told in the same breath as its name.
    pub with_camera: bool,
    /// Stems of the words with which it was named: "the grey back is film fifteen".
    pub called: Vec<String>,
}

impl OpenRoll {
    /// What was told of another is told of this one: its frames behind those here, its facts where none is known.
    pub fn take_in(&mut self, told: Self) {
        self.shots.extend(told.shots);
        self.facts.fill(told.facts);
        self.reversed |= told.reversed;
        self.remarks.extend(told.remarks);
    }
}

/// What is on a camera.
#[derive(Debug, Clone, Default)]
pub(super) struct Hand {
    pub roll: Option<usize>,
    pub lens: Option<Settled<String>>,
    pub focal: Option<Settled<f64>>,
    pub filter: Option<Settled<Filters>>,
    /// The converter on it.
    pub converter: Option<OnLens>,
    /// The filter is none of the kit's.
    pub filter_odd: bool,
}

/// The state of a trip.
#[derive(Debug)]
pub(super) struct State<'k> {
    pub kit: &'k Kit,
    pub rolls: Vec<OpenRoll>,
    pub hands: BTreeMap<Option<usize>, Hand>,
    /// The camera that is spoken of.
    pub camera: Option<usize>,
    /// The roll that this sentence is about, where that is not the one in hand.
    pub topic: Option<usize>,
    /// The roll not in hand that was spoken of before this sentence, until a frame or a roll is begun.
    pub digressed: Option<usize>,
    /// Facts of a film that goes in next, until its roll is named or begun.
    pub coming: Option<RollFacts>,
    /// Where frames begin together whose number was that of the last.
    pub shifted: Option<usize>,
    /// Other names of rolls, such as their back's.
    pub aliases: Vec<(RollName, usize)>,
    /// How rolls were developed that were not yet told of.
    pub developed_of: Vec<(RollName, Developed)>,
    /// The rolls that are in the kit's backs.
    pub backs: BTreeMap<usize, usize>,
    /// One that was said and is not yet known to be any roll's.
    pub alias: Option<RollName>,
    /// What was last said of gear.
    pub last_gear: Option<FactSaid>,
    /// Rolls that the trip's folders name.
    pub known: Vec<KnownRoll>,
}

/// A roll of which the trip has a folder.
#[derive(Debug, Clone)]
pub(super) struct KnownRoll {
    pub name: RollName,
    /// The number that its name says in words or beside letters: "Number Nine", "G4".
    pub number: Option<String>,
    /// Stems of the words of its name.
    pub stems: Vec<String>,
}

impl<'k> State<'k> {
    pub fn new(kit: &'k Kit) -> Self {
        let camera = (kit.cameras.len() == 1).then_some(0);
        Self {
            kit,
            rolls: Vec::new(),
            hands: BTreeMap::new(),
            camera,
            topic: None,
            digressed: None,
            coming: None,
            shifted: None,
            aliases: Vec::new(),
            developed_of: Vec::new(),
            backs: BTreeMap::new(),
            alias: None,
            last_gear: None,
            known: Vec::new(),
        }
    }

    pub fn hand(&mut self, camera: Option<usize>) -> &mut Hand {
        self.hands.entry(camera).or_default()
    }

    /// A camera of the kit.
    pub fn body(&self, camera: Option<usize>) -> Option<&'k Camera> {
        self.kit.cameras.get(camera?)
    }

    /// Speaks of a camera from here on. What was said before any was named was said of the first.
    pub fn turn(&mut self, camera: usize) {
        if self.camera.is_none()
            && let Some(hand) = self.hands.remove(&None)
        {
            for roll in self.rolls.iter_mut().filter(|r| r.camera.is_none()) {
                roll.camera = Some(camera);
            }
            self.hands.entry(Some(camera)).or_insert(hand);
        }
        self.camera = Some(camera);
    }

    /// "Roll A four. Lantern four hundred, in the little one": a roll of which nothing but its name was told yet is
    /// that of the camera named next, and not of the one in hand.
    pub fn hand_over(&mut self, camera: usize) {
        let Some(before) = self.camera.filter(|c| *c != camera) else { return };
        let Some(r) = self.hand(Some(before)).roll else { return };
        let roll = &self.rolls[r];
        let new = r + 1 == self.rolls.len()
            && !roll.with_camera
            && roll.name.is_some()
            && roll.shots.is_empty()
            && roll.facts.film.is_none();
        if !new {
            return;
        }
        self.rolls[r].camera = Some(camera);
        let earlier = (0..r).rev().find(|q| self.rolls[*q].camera == Some(before));
        self.hands.entry(Some(before)).or_default().roll = earlier;
        self.turn(camera);
        self.hands.entry(Some(camera)).or_default().roll = Some(r);
    }

    /// A new sentence is about what is in hand, until it says otherwise.
    pub fn new_sentence(&mut self) {
        if let Some(r) = self.topic.take().filter(|r| self.hands.values().all(|h| h.roll != Some(*r))) {
            self.digressed = Some(r);
        }
        self.alias = None;
    }

    /// The roll that the talk is of: the sentence's, that of a sentence before, or the one in a camera.
    pub fn talked_of(&self, camera: Option<usize>) -> Option<usize> {
        self.topic.or(self.digressed).or_else(|| self.hands.get(&camera)?.roll)
    }

    /// The roll in a camera, begun if there is none.
    pub fn roll_in(&mut self, camera: Option<usize>) -> usize {
        match self.hand(camera).roll {
            Some(r) => r,
            None => self.begin(camera),
        }
    }

    /// Puts a new roll into a camera; what was said of a film to come is said of it.
    pub fn begin(&mut self, camera: Option<usize>) -> usize {
        if camera.is_some() && self.body(camera).is_some_and(|c| !c.format.comes_in_backs()) {
            let before = self.rolls.iter_mut().filter(|r| r.camera == camera && !r.shots.is_empty());
            before.for_each(|r| r.ended = true);
        }
        let facts = self.coming.take().unwrap_or_default();
        self.rolls.push(OpenRoll { camera, facts, ..OpenRoll::default() });
        let r = self.rolls.len() - 1;
        self.hand(camera).roll = Some(r);
        self.digressed = None;
        r
    }

    /// The roll of a name.
    pub fn named(&self, name: &RollName) -> Option<usize> {
        self.rolls.iter().position(|r| r.name.as_ref() == Some(name))
    }

    /// Frames that a roll holds, where its camera is known.
    pub fn capacity(&self, roll: usize) -> Option<i16> {
        self.body(self.rolls[roll].camera).map(|c| c.frames as i16)
    }

    /// Whether a roll has had all its frames.
    pub fn is_full(&self, roll: usize) -> bool {
        let sheets = self.body(self.rolls[roll].camera).is_some_and(|c| c.format.is_sheet());
        let last = self.rolls[roll].counter.map_or(0, FrameNumber::place);
        !sheets && self.capacity(roll).is_some_and(|c| last >= c)
    }

    /// The number that comes after the last one on a roll.
    pub fn following(&self, roll: usize) -> FrameNumber {
        let sheets = self.body(self.rolls[roll].camera).is_some_and(|c| c.format.is_sheet());
        match self.rolls[roll].counter {
            None => FrameNumber::new(self.kit.habits.frame_counts_from),
            Some(last) if sheets && last.is_a() => last.with_b(),
            Some(last) if sheets && last != FrameNumber::new(last.place().max(0) as u16) => last.next().with_a(),
            Some(last) => last.next(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::roll::record::Status;

    fn kit() -> Kit {
        Kit::parse("[[camera]]\nname = \"a\"\nformat = \"6x6\"\n[[camera]]\nname = \"b\"\nformat = \"135\"\n").unwrap()
    }

    fn shot(n: u16) -> Shot {
        let frame = crate::roll::record::Frame::blank(crate::facts::FrameNumber::new(n), Status::Ok);
        Shot { frame, numbers: Vec::new(), at: (0, 0), there: 1.0 }
    }

    #[test]
    fn the_first_camera_named_takes_what_was_told_before_it() {
        let kit = kit();
        let mut state = State::new(&kit);
        assert_eq!(state.camera, None, "of two nobody knows which");
        let r = state.roll_in(None);
        state.turn(1);
        assert_eq!((state.camera, state.rolls[r].camera, state.hand(Some(1)).roll), (Some(1), Some(1), Some(r)));
        state.turn(0);
        assert_eq!(state.hand(Some(1)).roll, Some(r), "the other camera keeps its roll");
    }

    #[test]
    fn a_count_goes_on_from_the_number_last_told() {
        let kit = kit();
        let mut state = State::new(&kit);
        let r = state.roll_in(Some(0));
        assert_eq!(state.following(r).to_string(), "1");
        state.rolls[r].shots.push(shot(7));
        state.rolls[r].counter = Some(shot(7).frame.number);
        assert_eq!(state.following(r).to_string(), "8");
    }
}
