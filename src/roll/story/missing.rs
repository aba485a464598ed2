//! What is spoken of and not in the kit, counted as it is heard.

use std::collections::BTreeMap;

use crate::kit::{Kit, Missing, ThingKind};
use crate::language::compose::{Fact, FactSaid};
use crate::language::{Aside, AsideKind, Lexicon};

/// Converters whose factors differ by less are one.
const SAME_TIMES: f64 = 0.05;

/// Less sure than this, nothing was understood that could be listed.
const UNDERSTOOD: f64 = 0.5;
/// The name of a lens or a film that no kit has is seldom heard surer than about half.
const NAME_UNDERSTOOD: f64 = 0.3;
/// Things by kind and name.
#[derive(Debug)]
pub(super) struct Outside<'a> {
    lexicon: &'a Lexicon,
    /// The film named just before.
    film: Option<String>,
    heard: BTreeMap<(ThingKind, String), (usize, Option<f64>)>,
}

impl<'a> Outside<'a> {
    pub fn new(lexicon: &'a Lexicon) -> Self {
        Self { lexicon, film: None, heard: BTreeMap::new() }
    }

    /// Counts what a fact names that the kit has not.
    pub fn fact(&mut self, said: &FactSaid, kit: &Kit) {
        // "The portmere four hundred": heard as a film and its rating.
        if let (Some(film), Fact::Rating(speed)) = (self.film.take(), &said.fact)
            && let Some((_, figure)) = self.heard.get_mut(&(ThingKind::Film, film))
        {
            figure.get_or_insert(*speed);
        }
        let name = matches!(said.fact, Fact::FilmAsSaid(_) | Fact::Glass { as_said: Some(_), .. });
        let least = if name { NAME_UNDERSTOOD } else { UNDERSTOOD };
        if said.sure < least {
            return;
        }
        match &said.fact {
            Fact::Glass { lens: None, focal: None, as_said: Some(name) } => self.count(ThingKind::Lens, name, None),
            Fact::Glass { lens: None, focal: Some(mm), .. } if !kit.lenses.iter().any(|l| l.focal.covers(*mm)) => {
                self.count(ThingKind::Lens, &mm.to_string(), Some(*mm));
            }
            Fact::FilterOn(names, false) => names.iter().for_each(|n| self.count(ThingKind::Filter, n, None)),
            Fact::FilmAsSaid(name) => {
                self.count(ThingKind::Film, name, None);
                self.film = Some(self.lexicon.bare_name(name));
            }
            _ => {}
        }
    }

    /// Counts what an aside names that the kit has not.
    pub fn aside(&mut self, aside: &Aside, kit: &Kit) {
        match (aside.kind, aside.gear) {
            (AsideKind::Flash, None) if kit.flashes.is_empty() => self.count(ThingKind::Flash, "flash", None),
            (AsideKind::ConverterTimes, None) => {
                let known = |n: f64| kit.converters.iter().any(|c| (c.times - n).abs() < SAME_TIMES);
                if let Some(n) = aside.value.filter(|n| !known(*n)) {
                    self.count(ThingKind::Converter, &format!("{n}x converter"), Some(n));
                }
            }
            (AsideKind::Converter | AsideKind::ConverterOn, None) if kit.converters.is_empty() => {
                self.count(ThingKind::Converter, "converter", None);
            }
            _ => {}
        }
    }

    fn count(&mut self, kind: ThingKind, name: &str, figure: Option<f64>) {
        let name = self.lexicon.bare_name(name);
        if !name.is_empty() {
            let (times, known) = self.heard.entry((kind, name)).or_default();
            *times += 1;
            *known = known.or(figure);
        }
    }

    /// All of it, the most spoken of first.
    pub fn all(&self) -> Vec<Missing> {
        let one = |((kind, name), (times, figure)): (&(ThingKind, String), &(usize, Option<f64>))| Missing {
            kind: *kind,
            name: name.clone(),
            times: *times,
            figure: *figure,
        };
        let mut all: Vec<Missing> = self.heard.iter().map(one).collect();
        all.sort_by(|a, b| b.times.cmp(&a.times).then(a.kind.cmp(&b.kind)).then(a.name.cmp(&b.name)));
        all
    }
}
