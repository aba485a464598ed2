//! What the trip's folders tell of its rolls: a name told apart from its frames, a film that was full.

use crate::facts::{Confidence, Field, Flag, FrameNumber};

use super::noted::HARDLY;
use super::state::{KnownRoll, OpenRoll, Shot, State};

/// So many frames more than its film holds, and a roll is two: fewer may be miscounted.
const TWO_ROLLS: usize = 3;

impl State<'_> {
    /// Rolls whose frames and name were told apart become one, and one that has more frames than a film holds two,
    /// where a folder of the trip asks for it.
    pub fn fit_folders(&mut self) {
        self.join_later_part();
        self.join_told_apart();
        self.split_overfull();
    }

    /// Folders that no roll is named after.
    pub fn unclaimed(&self) -> usize {
        self.known.iter().filter(|k| self.named(&k.name).is_none()).count()
    }

    /// The one roll that fits, if just one does.
    fn one(&self, fits: impl Fn(&OpenRoll) -> bool) -> Option<usize> {
        let mut all = (0..self.rolls.len()).filter(|r| fits(&self.rolls[*r]));
        all.next().filter(|_| all.next().is_none())
    }

    /// A roll that was named and has no frames, or what was hardly one, if a folder is called so.
    fn is_name_alone(&self, roll: &OpenRoll) -> bool {
        let known = |k: &KnownRoll| roll.name.as_ref() == Some(&k.name);
        let told = |c: Option<Confidence>| c.is_some_and(|c| c.get() >= HARDLY);
        let frame = |s: &Shot| {
            let f = &s.frame;
            told(f.shutter.as_ref().map(|s| s.confidence)) || told(f.aperture.as_ref().map(|a| a.confidence))
        };
        roll.shots.len() <= 1 && !roll.shots.iter().any(frame) && self.known.iter().any(known)
    }

    fn join_told_apart(&mut self) {
        let frames = self.one(|r| r.name.is_none() && !r.shots.is_empty());
        let name = self.one(|r| self.is_name_alone(r));
        let (Some(frames), Some(name)) = (frames, name) else { return };
        let mut told = std::mem::take(&mut self.rolls[name]);
        let hardly = std::mem::take(&mut told.shots);
        let roll = &mut self.rolls[frames];
        roll.name = told.name.take();
        roll.take_in(told);
        roll.remarks.extend(hardly.into_iter().flat_map(|s| s.frame.said).map(|quote| quote.text));
        doubt(roll, "the roll's name was told apart from its frames");
    }

    /// Frames eight to ten of a roll without a name are those of the one roll that was told up to seven.
    fn join_later_part(&mut self) {
        let parts: Vec<usize> = (0..self.rolls.len()).filter(|r| self.rolls[*r].name.is_none()).collect();
        for part in parts {
            let shots = &self.rolls[part].shots;
            let (Some(first), true) =
                (shots.first().map(|s| s.frame.number), shots.iter().all(|s| !s.numbers.is_empty()))
            else {
                continue;
            };
            if shots.iter().any(|s| s.frame.number < first) {
                continue;
            }
            let film = |roll: &OpenRoll| roll.facts.film.as_ref().map(|f| f.value.clone());
            let (camera, part_film) = (self.rolls[part].camera, film(&self.rolls[part]));
            let all = (0..self.rolls.len()).filter(|r| {
                let roll = &self.rolls[*r];
                let highest = roll.shots.iter().map(|s| s.frame.number).max();
                let alike = agree(&camera, &roll.camera) && agree(&part_film, &film(roll));
                roll.name.is_some() && alike && highest.is_some_and(|n| n.next() == first)
            });
            let all: Vec<usize> = all.collect();
            let [whole] = all[..] else { continue };
            let told = std::mem::take(&mut self.rolls[part]);
            self.rolls[whole].take_in(told);
        }
    }

    fn split_overfull(&mut self) {
        if self.rolls.iter().any(|r| r.name.is_none() && !r.shots.is_empty()) {
            return;
        }
        let over = |r: usize| {
            let roll = &self.rolls[r];
            let sheets = self.body(roll.camera).is_some_and(|c| c.format.is_sheet());
            let holds = self.capacity(r).filter(|_| !sheets)? as usize;
            (roll.shots.len() >= holds + TWO_ROLLS).then_some((r, holds))
        };
        let Some((r, holds)) = (0..self.rolls.len()).find_map(over) else { return };
        let name = self.one(|r| self.is_name_alone(r));
        if name.is_none() && self.unclaimed() == 0 {
            return;
        }
        let rest = self.rolls[r].shots.split_off(holds);
        let camera = self.rolls[r].camera;
        let to = name.unwrap_or_else(|| {
            self.rolls.push(OpenRoll { camera, ..OpenRoll::default() });
            self.rolls.len() - 1
        });
        let first = FrameNumber::new(self.kit.habits.frame_counts_from);
        let roll = &mut self.rolls[to];
        roll.camera = camera;
        roll.shots = rest;
        for (k, shot) in roll.shots.iter_mut().enumerate() {
            if shot.numbers.is_empty() {
                shot.frame.number = first.moved(k as i16);
            }
        }
        doubt(roll, "the film before was full");
    }
}

/// Whether two things may be one: they are alike, or one of them is not known.
fn agree<T: PartialEq>(a: &Option<T>, b: &Option<T>) -> bool {
    a.is_none() || b.is_none() || a == b
}

/// Puts the numbers of a roll in doubt.
fn doubt(roll: &mut OpenRoll, why: &'static str) {
    for shot in &mut roll.shots {
        shot.frame.flag(Flag::Unsure(Field::Frame), why);
    }
}

#[cfg(test)]
mod tests {
    use super::super::state::KnownRoll;
    use super::*;
    use crate::facts::RollName;
    use crate::kit::Kit;
    use crate::roll::record::{Frame, Status};

    fn shots(n: u16) -> Vec<Shot> {
        let blank = |k| Frame::blank(FrameNumber::new(k), Status::Ok);
        (1..=n).map(|k| Shot { frame: blank(k), numbers: Vec::new(), at: (0, 0), there: 1.0 }).collect()
    }

    fn known(name: &str) -> KnownRoll {
        KnownRoll { name: RollName::new(name).unwrap(), number: None, stems: Vec::new() }
    }

    fn doubted(roll: &OpenRoll) -> bool {
        roll.shots.iter().all(|s| s.frame.flags.contains(&Flag::Unsure(Field::Frame)))
    }

    #[test]
    fn a_name_told_apart_from_its_frames_brings_all_that_was_told_with_it() {
        let kit = Kit::default();
        let mut state = State::new(&kit);
        state.known = vec![known("31")];
        let mut named = OpenRoll { name: RollName::new("31").ok(), ..OpenRoll::default() };
        named.facts.box_speed = Some(0.9);
        named.facts.developed.sleeve = Some("14".to_owned());
        named.remarks.push("scanned backwards".to_owned());
        state.rolls = vec![named, OpenRoll { shots: shots(3), ..OpenRoll::default() }];
        state.fit_folders();
        assert_eq!((state.rolls[0].name.as_ref(), state.rolls[0].shots.len()), (None, 0));
        let roll = &state.rolls[1];
        assert_eq!(roll.name.as_ref().map(RollName::as_str), Some("31"));
        assert_eq!(roll.facts.box_speed, Some(0.9));
        assert_eq!(roll.facts.developed.sleeve.as_deref(), Some("14"));
        assert_eq!(roll.remarks, ["scanned backwards"]);
        assert!(doubted(roll));
    }

    #[test]
    fn frames_told_before_the_roll_was_named_go_behind_the_ones_that_they_follow() {
        let kit = Kit::default();
        let mut state = State::new(&kit);
        let numbered = |from: u16, n: u16| {
            let mut all = shots(from + n - 1).split_off(usize::from(from) - 1);
            all.iter_mut().for_each(|s| s.numbers = vec![(s.frame.number, 1.0)]);
            all
        };
        let named = |name: &str, shots| OpenRoll { name: RollName::new(name).ok(), shots, ..OpenRoll::default() };
        let unnamed = || OpenRoll { shots: numbered(8, 3), ..OpenRoll::default() };
        state.rolls = vec![unnamed(), named("B4", numbered(1, 7)), named("B5", numbered(1, 4))];
        state.fit_folders();
        assert_eq!(state.rolls[1].shots.len(), 10);
        assert!(state.rolls[0].shots.is_empty());
        state.rolls = vec![unnamed(), named("B4", numbered(1, 7)), named("B5", numbered(1, 7))];
        state.fit_folders();
        assert_eq!(state.rolls[0].shots.len(), 3, "of which of two is not known");
    }

    #[test]
    fn an_overfull_film_is_two_where_a_folder_waits_and_else_stays() {
        let kit =
            Kit::parse("[[camera]]\nname = \"box\"\nformat = \"6x6\"\nframes = 12\nmarks = [\"1/50\"]\n").unwrap();
        let full =
            || OpenRoll { name: RollName::new("46").ok(), camera: Some(0), shots: shots(20), ..OpenRoll::default() };
        let mut state = State::new(&kit);
        state.rolls = vec![full()];
        state.known = vec![known("46")];
        state.fit_folders();
        assert_eq!(state.rolls.len(), 1, "no folder waits");
        state.known.push(known("47"));
        state.fit_folders();
        let [first, rest] = &state.rolls[..] else { panic!("{} rolls", state.rolls.len()) };
        assert_eq!((first.shots.len(), rest.shots.len()), (12, 8));
        assert_eq!(rest.shots[0].frame.number, FrameNumber::new(1));
        assert!(doubted(rest));
    }
}
