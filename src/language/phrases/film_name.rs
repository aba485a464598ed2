//! A film's name that was misheard where a roll is spoken of: the kit holds few films, and one
//! of them was most likely named.

use super::slots::Search;
use super::term::{Arg, Term};
use crate::language::grammar::{Class, KitThing, NO_VALUE, SoundsLike};
use crate::language::text::{Kind, Token, distance};

/// How much the phrase weighs beside others, as a film's name among phrases; a choice. In doubt is its value.
const PHRASE: f32 = 0.7;

/// Sounds that may differ, as a part of a name's.
const FARTHEST: f64 = 0.34;
/// The same where the film's speed stands behind its name.
const FARTHEST_WITH_SPEED: f64 = 0.45;
/// How much farther off every other film of the kit must be.
const CLEARLY: f64 = 0.15;
/// What such a name is worth at best: it is always in doubt.
const WORTH: f32 = 0.5;
/// Words that a name has at most.
const WORDS: usize = 3;

/// Words that may be a film, and how far their sound is off its name, 0 to 1.
struct Near {
    start: usize,
    end: usize,
    film: u16,
    off: f64,
    farthest: f64,
}

impl Search<'_> {
    /// Adds the one film that words of an announcement come near to, where none is named.
    pub fn misheard_film(&mut self) {
        let announces = |c: Class| {
            matches!(c, Class::Roll | Class::RollNew | Class::RollNext | Class::Ei | Class::EiBox | Class::Push)
        };
        let named = self.named.iter().any(|n| matches!(n.gear, KitThing::Film(_)));
        if named || !self.found.iter().any(|t| announces(t.class)) {
            return;
        }
        let mut all: Vec<Near> = (0..self.tokens.len()).flat_map(|start| self.films_near(start)).collect();
        // Of what is equally near, the first and longest words.
        all.sort_by(|a, b| {
            a.off
                .total_cmp(&b.off)
                .then((a.film, a.start, b.end).cmp(&(b.film, b.start, a.end)))
                .then(b.farthest.total_cmp(&a.farthest))
        });
        let Some(near) = all.first().filter(|n| n.off <= n.farthest) else { return };
        let clear = all.iter().all(|other| other.film == near.film || other.off >= near.off + CLEARLY);
        if clear {
            let worth = WORTH * (1.0 - near.off as f32);
            self.found.push(Term {
                class: Class::Film,
                value: NO_VALUE,
                start: near.start as u16,
                end: near.end as u16,
                args: [Some(Arg::Gear(KitThing::Film(near.film), worth)), None],
                weight: PHRASE,
            });
        }
    }

    /// Films whose names sound somewhat like words from `start`. Words that the grammar knows
    /// count only with the film's speed behind them.
    fn films_near(&self, start: usize) -> Vec<Near> {
        let mut out = Vec::new();
        let mut letters = String::new();
        let mut unknown = false;
        for end in start + 1..=(start + WORDS).min(self.tokens.len()) {
            let token = &self.tokens[end - 1];
            if token.kind != Kind::Word || self.lexicon.is_number_word(token) {
                break;
            }
            unknown |= token.id.is_none();
            letters.push_str(&self.folded[token.span.clone()]);
            let key = self.lexicon.sounds.key(&letters);
            if key.len() < 2 || letters.len() < 4 {
                continue;
            }
            let names = self.lexicon.sound_names.iter().flat_map(|(k, names)| names.iter().map(move |n| (k, n)));
            for (name, known) in names {
                let SoundsLike::Gear(KitThing::Film(film)) = known.sounds else { continue };
                let speed = known.number.map(|v| self.numbers_at(end).iter().find(|n| n.value == v).map(|n| n.end));
                let end = match speed {
                    Some(Some(after)) => usize::from(after),
                    Some(None) => continue,
                    None if unknown && name.len() >= 3 => end,
                    None => continue,
                };
                // Beside an unknown word only the name's own words may stand.
                let own = |t: &Token| t.id.is_none() || known.letters.contains(&self.folded[t.span.clone()]);
                if speed.is_none() && !self.tokens[start..end].iter().all(own) {
                    continue;
                }
                let longest = name.len().max(key.len());
                if let Some(d) = distance(&key, name, longest / 2) {
                    let farthest = if speed.is_some() { FARTHEST_WITH_SPEED } else { FARTHEST };
                    out.push(Near { start, end, film, off: d as f64 / longest as f64, farthest });
                }
            }
        }
        out
    }
}
