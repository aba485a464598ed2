//! How rolls were developed, as it was said.

use crate::facts::RollName;
use crate::language::DevelopingSaid;
use crate::roll::record::Developed;

use super::state::State;
use super::sure::plain;

impl State<'_> {
    /// How a roll was developed: the one named, else the one in hand. What was said last counts.
    pub fn developed(&mut self, said: &DevelopingSaid) {
        let named = said.roll.as_ref().and_then(|n| self.known_as(n).or_else(|| RollName::new(n).ok()));
        let in_hand = self.topic.or(self.hand(self.camera).roll);
        let r = named.as_ref().map_or(in_hand, |name| self.named(name));
        let mut new = Developed::from(said);
        match (r, named) {
            (Some(r), _) => {
                let facts = &mut self.rolls[r].facts;
                new.fill(&facts.developed);
                facts.developed = new;
                if let Some(process) = &said.process {
                    facts.process = Some(plain(process.clone(), said.sure));
                }
            }
            // Told before its roll is.
            (None, Some(name)) => self.developed_of.push((name, new)),
            (None, None) => {}
        }
    }
}
