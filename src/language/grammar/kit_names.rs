//! The kit's names as phrases, and by their sound.

use crate::kit::{Kit, LONGEST_NAME};

use super::class::Class;
use super::lexicon::{KitThing, Lexicon, SoundName, SoundsLike};
use super::pattern::Piece;
use super::trie::{Meaning, Slot, Step};
use crate::language::text::{Kind, Token, distance, fold, numbers, tokens};

// How surely a thing of the kit is meant by a way to call it that the kit does not name: choices.
/// A film by its first word and its speed, a neutral density by its figure.
const SURE_NAME: f32 = 0.95;
/// A film by its first word alone, a filter by the other name of its kind: other things may be called so.
const OTHER_NAME: f32 = 0.9;
/// A name that is a number, among all that numbers mean, as a part.
const NUMBER_ALONE: f32 = 0.7;
/// Density of one stop: log 2, as filters are marked, to a tenth.
const DENSITY_OF_A_STOP: f64 = 0.3;

impl Lexicon {
    pub(in crate::language) fn add_kit(&mut self, kit: &Kit) {
        for (i, c) in kit.cameras.iter().enumerate() {
            self.add_gear(KitThing::Camera(i as u16), &c.name, &c.said);
        }
        for (i, l) in kit.lenses.iter().enumerate() {
            self.add_gear(KitThing::Lens(i as u16), &l.name, &l.said);
        }
        for (i, f) in kit.filters.iter().enumerate() {
            self.add_gear(KitThing::Filter(i as u16), &f.name, &f.said);
            let folded = fold(&f.name);
            let words: Vec<u32> = self.tokens(&folded).iter().filter_map(|t| t.id).collect();
            let others: Vec<String> =
                self.also.iter().filter(|(kind, _)| words.contains(kind)).map(|(_, n)| n.clone()).collect();
            for other in others {
                self.add_phrase(KitThing::Filter(i as u16), &other, OTHER_NAME);
            }
        }
        self.add_densities(kit);
        let first = |name: &str| name.split_whitespace().next().unwrap_or_default().to_lowercase();
        for (i, f) in kit.films.iter().enumerate() {
            let gear = KitThing::Film(i as u16);
            self.add_gear(gear, &f.name, &f.said);
            // The first word with the speed, and alone where no other film shares it.
            let word = first(&f.name);
            if word.len() > 2 {
                self.add_name(gear, &format!("{word} {}", f.iso.get()), SURE_NAME);
                let sharing = kit.films.iter().filter(|o| first(&o.name) == word).count();
                if sharing == 1 {
                    self.add_name(gear, &word, OTHER_NAME);
                }
            }
        }
    }

    /// Neutral density is named by factor, by density and by stops: ND8 is 0.9 is
    /// three stops. Source: density = 0.301 × stops, as in the trade's tables.
    pub fn add_densities(&mut self, kit: &Kit) {
        let nd = |name: &str| {
            let n = name.to_lowercase();
            n.strip_prefix("nd").is_some_and(|r| r.trim_start().starts_with(|c: char| c.is_ascii_digit()))
        };
        let densities: Vec<usize> = (0..kit.filters.len()).filter(|i| nd(&kit.filters[*i].name)).collect();
        for &i in &densities {
            let gear = KitThing::Filter(i as u16);
            let stops = kit.filters[i].lost.get();
            let factor = stops.exp2().round();
            let density = (stops * DENSITY_OF_A_STOP * 10.0).round() / 10.0;
            for name in [
                format!("nd {factor}"),
                format!("n d {factor}"),
                format!("nd {density}"),
                format!("n d {density}"),
                format!("{density} nd"),
                format!("{density} n d"),
                format!("{stops} stop nd"),
                format!("{stops} stops of nd"),
                format!("{stops} stop n d"),
                format!("{stops} stops of n d"),
            ] {
                self.add_name(gear, &name, SURE_NAME);
            }
            if densities.len() == 1 {
                for name in ["nd", "n d"] {
                    self.add_name(gear, name, OTHER_NAME);
                }
            }
        }
    }

    pub(in crate::language) fn add_gear(&mut self, gear: KitThing, name: &str, said: &[String]) {
        let bare_number = name.chars().all(|c| c.is_ascii_digit() || " .-".contains(c));
        if !bare_number {
            self.add_name(gear, name, 1.0);
        }
        for phrase in said {
            self.add_name(gear, phrase, 1.0);
        }
    }

    /// A name as a phrase, and by its sound.
    pub fn add_name(&mut self, gear: KitThing, phrase: &str, weight: f32) {
        if phrase.chars().count() > LONGEST_NAME {
            return;
        }
        self.add_phrase(gear, phrase, weight);
        let folded = fold(phrase);
        let all = self.tokens(&folded);
        let leading = all.iter().take_while(|t| self.in_list("leading", t)).count();
        self.add_sound(gear, &folded, &all[leading..]);
    }

    fn add_phrase(&mut self, gear: KitThing, phrase: &str, weight: f32) {
        let folded = fold(phrase);
        for t in tokens(&folded) {
            self.id_of(&folded, &t);
        }
        let all = self.tokens(&folded);
        let leading = all.iter().take_while(|t| self.in_list("leading", t)).count();
        let index = match self.gear.iter().position(|g| *g == gear) {
            Some(i) => i as u32,
            None => {
                self.gear.push(gear);
                self.gear.len() as u32 - 1
            }
        };
        let class = match gear {
            KitThing::Lens(_) => Class::Lens,
            KitThing::Filter(_) => Class::FilterOn,
            KitThing::Film(_) => Class::Film,
            KitThing::Camera(_) => Class::Camera,
        };
        for skip in [0, leading] {
            let part = &all[skip..];
            let mut ways: Vec<Vec<Step>> = vec![Vec::new()];
            let found = numbers(part, &self.numbers);
            let mut i = 0;
            let mut only_number = !part.is_empty();
            while i < part.len() {
                let longest = found.iter().filter(|n| usize::from(n.start) == i).map(|n| n.end).max();
                if let Some(end) = longest {
                    let values: Vec<u32> = found
                        .iter()
                        .filter(|n| usize::from(n.start) == i && n.end == end)
                        .map(|n| (n.value * 100.0).round() as u32)
                        .collect();
                    ways = ways
                        .iter()
                        .flat_map(|w| {
                            values.iter().map(move |v| {
                                let mut w = w.clone();
                                w.push(Step::Slot(Slot::Exactly(*v)));
                                w
                            })
                        })
                        .take(64)
                        .collect();
                    i = usize::from(end);
                } else {
                    let id = self.id_of(&folded, &part[i]);
                    ways.iter_mut().for_each(|w| w.push(Step::Word(id)));
                    only_number = false;
                    i += 1;
                }
            }
            // A bare number is never a name by itself.
            if part.is_empty() || only_number && !(skip == 0 && matches!(gear, KitThing::Camera(_))) {
                continue;
            }
            let weight = if only_number { weight * NUMBER_ALONE } else { weight };
            for way in ways {
                self.gear_trie.add(&way, Meaning { class, value: index, weight });
            }
        }
    }

    pub(in crate::language) fn add_sound(&mut self, gear: KitThing, folded: &str, part: &[Token]) {
        let letters: String = part
            .iter()
            .take_while(|t| t.kind == Kind::Word && !self.is_number_word(t))
            .map(|t| &folded[t.span.clone()])
            .collect();
        let words = part.iter().take_while(|t| t.kind == Kind::Word && !self.is_number_word(t)).count();
        let number = numbers(part, &self.numbers)
            .into_iter()
            .filter(|n| usize::from(n.start) == words)
            .max_by_key(|n| n.end)
            .filter(|n| usize::from(n.end) == part.len())
            .map(|n| n.value);
        if letters.chars().count() < 3 || (number.is_none() && words < part.len()) {
            return;
        }
        let key = self.sounds.key(&letters);
        self.sound_initials.extend(key.chars().next());
        self.sound_names.entry(key).or_default().push(SoundName { sounds: SoundsLike::Gear(gear), letters, number });
    }

    /// Remembers how a phrase that has a value sounds.
    pub fn add_phrase_sound(&mut self, way: &[Piece], meaning: Meaning) {
        let letters: String = way.iter().map(|p| if let Piece::Word(w) = p { w.as_str() } else { "" }).collect();
        if letters.chars().count() < 6 || self.sounds.key(&letters).chars().count() < 3 {
            return;
        }
        let key = self.sounds.key(&letters);
        self.sound_initials.extend(key.chars().next());
        self.sound_names.entry(key).or_default().push(SoundName {
            sounds: SoundsLike::Phrase(meaning),
            letters,
            number: None,
        });
    }

    /// Names of the kit that sound like these letters: the gear, the number
    /// that must follow, and how near the letters are, 0 to 1.
    pub fn sounding_like(&self, letters: &str) -> Vec<(SoundsLike, Option<f64>, f32)> {
        let key = self.sounds.key(letters);
        // One sound is too little to know a name by.
        if key.chars().count() < 2 || !key.chars().next().is_some_and(|c| self.sound_initials.contains(&c)) {
            return Vec::new();
        }
        let Some(names) = self.sound_names.get(&key) else { return Vec::new() };
        names
            .iter()
            .filter_map(|n| {
                // Two thirds of the letters may differ where a number must agree as well.
                let len = n.letters.chars().count();
                let most = match n.sounds {
                    SoundsLike::Phrase(_) => len / 3,
                    SoundsLike::Gear(_) if n.number.is_some() => len * 2 / 3,
                    SoundsLike::Gear(_) => len / 2,
                }
                .max(1);
                let apart = distance(letters, &n.letters, most)?;
                Some((n.sounds, n.number, 1.0 - apart as f32 / (most as f32 + 1.0)))
            })
            .collect()
    }

    pub(in crate::language) fn is_number_word(&self, t: &Token) -> bool {
        t.id.is_some_and(|id| self.numbers.words.contains_key(&id))
    }
}

#[cfg(test)]
mod tests {
    use crate::kit::Kit;
    use crate::language::note::Language;
    use crate::language::phrases::find;
    use crate::language::text::{fold, stretches};

    fn lens(name: &str) -> Language {
        let name = crate::kit::quoted(name);
        Language::english(Kit::parse(&format!("[[lens]]\nname = {name}\nfocal_mm = 240\n")).unwrap())
    }

    #[test]
    fn a_name_that_is_mended_in_a_note_is_known_there() {
        for name in ["Lantern f 240", "Bosun f 210", "Wharf f 1160", "Fisherman\u{2019}s", "Frame 8200mm Long"] {
            let language = lens(name);
            for text in [format!("Frame 2 on the {name}, f8."), format!("{name}.")] {
                let phrases = language.told(&text).phrases();
                assert!(phrases.lines().any(|l| l.contains(": lens (")), "{text}: {phrases}");
            }
        }
    }

    #[test]
    fn no_name_ends_the_program() {
        let long = "f 240 ".repeat(40_000);
        let names = [
            "F210",
            "f",
            "\0",
            "a\0b",
            "\u{85}",
            "2.4.8",
            "1e9",
            "99999999999999999999",
            "f 5635 mil",
            "'s",
            "-",
            "\\",
            "\u{1F4F7}",
            &long,
        ];
        for name in names {
            let language = lens(&format!("x{name}"));
            let folded = fold(&format!("Roll 3. Frame 2 on the x{name} at f8."));
            for stretch in stretches(&folded) {
                find(&folded, &language.lexicon().known(&folded, stretch), language.lexicon());
            }
        }
    }
}
