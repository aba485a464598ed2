//! What the trip's folders tell of its rolls: a name told apart from its frames, a film that was full.

use crate::facts::{Field, Flag, FrameNumber};

use super::state::{OpenRoll, State};

/// So many frames more than its film holds, and a roll is two: fewer may be miscounted.
const TWO_ROLLS: usize = 3;

impl State<'_> {
    /// Rolls whose frames and name were told apart become one, and one that has more frames than a film holds two,
    /// where a folder of the trip asks for it.
    pub fn fit_folders(&mut self) {
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

    /// A roll that was named and has no frames, if a folder is called so.
    fn is_name_alone(&self, roll: &OpenRoll) -> bool {
        let known = |k: &super::state::KnownRoll| roll.name.as_ref() == Some(&k.name);
        roll.shots.is_empty() && self.known.iter().any(known)
    }

    fn join_told_apart(&mut self) {
        let frames = self.one(|r| r.name.is_none() && !r.shots.is_empty());
        let name = self.one(|r| self.is_name_alone(r));
        let (Some(frames), Some(name)) = (frames, name) else { return };
        let facts = std::mem::take(&mut self.rolls[name].facts);
        let named = self.rolls[name].name.take();
        let roll = &mut self.rolls[frames];
        roll.name = named;
        roll.facts.film = roll.facts.film.take().or(facts.film);
        roll.facts.ei = roll.facts.ei.take().or(facts.ei);
        roll.facts.process = roll.facts.process.take().or(facts.process);
        doubt(roll, 0, "the roll's name was told apart from its frames");
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
        doubt(roll, 0, "the film before was full");
    }
}

/// Puts the numbers of a roll in doubt from a place on.
fn doubt(roll: &mut OpenRoll, from: usize, why: &'static str) {
    for shot in &mut roll.shots[from..] {
        shot.frame.flag(Flag::Unsure(Field::Frame), why);
    }
}
