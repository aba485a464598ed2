//! Whether what a kit holds can be called by voice: each thing by some name, no two by the same.

use std::collections::HashMap;

use crate::kit::{Called, Caution, Focal, Kit};

use super::note::Language;
use crate::language::beside::AsideKind;
use crate::language::grammar::KitThing;
use crate::language::text::{Kind, Token, fold};

/// What of a kit cannot be called by voice, or not apart from something else; by line.
pub fn reach(language: &Language, called: &[Called]) -> Vec<Caution> {
    let mut cautions = alike(language, called);
    let mut things: Vec<(&str, &str)> = Vec::new();
    for c in called {
        let thing = (c.kind, c.thing.as_str());
        if things.contains(&thing) {
            continue;
        }
        things.push(thing);
        let mut ways = called.iter().filter(|o| (o.kind, o.thing.as_str()) == thing);
        if !ways.any(|w| is_heard(language, w)) {
            let what = format!(
                "{} '{}' cannot be called by voice: add what you say for it, as in said = [\"the {}\"]",
                c.kind,
                c.thing,
                example(c.kind)
            );
            cautions.push(Caution { line: c.line, what });
        }
    }
    cautions.sort_by(|a, b| (a.line, &a.what).cmp(&(b.line, &b.what)));
    cautions
}

fn example(kind: &str) -> &'static str {
    match kind {
        "lens" => "long one",
        "camera" => "old box",
        "film" => "slow one",
        _ => "grey one",
    }
}

/// Things that are called by the same words, or by words that sound the same.
fn alike(language: &Language, called: &[Called]) -> Vec<Caution> {
    let mut cautions = Vec::new();
    let mut by_words: HashMap<String, &Called> = HashMap::new();
    let mut by_sound: HashMap<String, &Called> = HashMap::new();
    for c in called {
        let words = bare(language, &c.phrase);
        if words.is_empty() {
            continue;
        }
        let same = |o: &Called| (o.kind, &o.thing) == (c.kind, &c.thing);
        match by_words.get(&words).copied() {
            Some(o) if same(o) => {}
            // A number alone is told by what it is said of.
            Some(o) if o.kind != c.kind && only_number(&words) => {}
            Some(o) => {
                let what = format!(
                    "'{}' is {} '{}', and {} '{}' in line {}: nothing tells them apart when it is said",
                    c.phrase, c.kind, c.thing, o.kind, o.thing, o.line
                );
                cautions.push(Caution { line: c.line, what });
            }
            None => {
                by_words.insert(words.clone(), c);
                if let Some(key) = sound(language, &words) {
                    match by_sound.get(&key).copied() {
                        Some(o) if !same(o) && o.kind == c.kind => {
                            let what = format!(
                                "'{}' sounds like '{}' in line {}, which is {} '{}': one may be heard for the other",
                                c.phrase, o.phrase, o.line, o.kind, o.thing
                            );
                            cautions.push(Caution { line: c.line, what });
                        }
                        Some(_) => {}
                        None => drop(by_sound.insert(key, c)),
                    }
                }
            }
        }
    }
    cautions
}

/// A phrase in lower case, its words parted by one space, without "the" and its like before it.
fn bare(language: &Language, phrase: &str) -> String {
    let folded = fold(phrase);
    let all = language.lexicon().tokens(&folded);
    let leading = all.iter().take_while(|t| language.lexicon().in_list("leading", t)).count();
    let words = all[leading..].iter().filter(|t| !t.is_mark()).map(|t| &folded[t.span.clone()]);
    words.collect::<Vec<_>>().join(" ")
}

fn only_number(words: &str) -> bool {
    words.chars().all(|c| c.is_ascii_digit() || c == ' ' || c == '.')
}

/// What words sound like: the sounds of the letters and the figures between them. None for too few letters.
fn sound(language: &Language, words: &str) -> Option<String> {
    let letters: String = words.chars().filter(|c| c.is_alphabetic()).collect();
    let figures: String = words.chars().filter(char::is_ascii_digit).collect();
    let key = language.lexicon().sounds.key(&letters);
    // Two sounds are shared by too many words.
    (key.chars().count() > 2).then(|| format!("{key} {figures}"))
}

/// Whether saying a phrase names its thing.
fn is_heard(language: &Language, called: &Called) -> bool {
    let kit = language.kit();
    let told = language.told(&format!("with {}", called.phrase));
    let at =
        |names: &mut dyn Iterator<Item = &String>| names.enumerate().find(|(_, n)| **n == called.thing).map(|n| n.0);
    let named = |gear: KitThing| told.found.iter().any(|(_, f)| f.named.iter().any(|n| n.gear == gear));
    let aside = |kinds: &[AsideKind], i: usize| {
        let text = format!("with {} at {}", called.phrase, called.phrase);
        let told = language.told(&text);
        told.asides.iter().any(|a| kinds.contains(&a.kind) && a.gear == Some(i))
    };
    let gear = match called.kind {
        "camera" => at(&mut kit.cameras.iter().map(|c| &c.name)).map(|i| KitThing::Camera(i as u16)),
        "film" => at(&mut kit.films.iter().map(|f| &f.name)).map(|i| KitThing::Film(i as u16)),
        "filter" => at(&mut kit.filters.iter().map(|f| &f.name)).map(|i| KitThing::Filter(i as u16)),
        "lens" => {
            let Some(i) = at(&mut kit.lenses.iter().map(|l| &l.name)) else { return true };
            if by_focal(kit, i) {
                return true;
            }
            Some(KitThing::Lens(i as u16))
        }
        "flash" => return at(&mut kit.flashes.iter().map(|f| &f.name)).is_none_or(|i| aside(&[AsideKind::Flash], i)),
        "converter" => {
            let i = at(&mut kit.converters.iter().map(|f| &f.name));
            // One that is called by how many times it is.
            return i.is_none_or(|i| aside(&[AsideKind::Converter], i) || kit.converters.len() == 1);
        }
        "place" => return at(&mut kit.places.iter().map(|f| &f.name)).is_none_or(|i| aside(&[AsideKind::Place], i)),
        // By the word for it, and by words as any roll is called.
        _ => return told.tokens.iter().any(is_word),
    };
    gear.is_none_or(named)
}

fn is_word(token: &Token) -> bool {
    token.kind == Kind::Word
}

/// Whether a lens is told by its focal length: no other lens that fits one of its cameras has it.
fn by_focal(kit: &Kit, i: usize) -> bool {
    let lens = &kit.lenses[i];
    let shared = |o: &crate::kit::Lens| {
        o.cameras.is_empty() || lens.cameras.is_empty() || o.cameras.iter().any(|c| lens.cameras.contains(c))
    };
    kit.lenses.iter().enumerate().all(|(k, o)| k == i || !shared(o) || !covers(o.focal, lens.focal))
}

fn covers(other: Focal, own: Focal) -> bool {
    match own {
        Focal::Prime(mm) => other == own || matches!(other, Focal::Prime(_)) && other.covers(mm),
        Focal::Zoom(..) => other == own,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(kit: &str) -> Vec<String> {
        let (kit, _, called) = Kit::read_with_names(kit).unwrap();
        reach(&Language::english(kit), &called).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn what_cannot_be_told_by_voice_is_named_with_its_line() {
        let kit = "[[camera]]\nname = \"Quill 66\"\nsaid = [\"the quill\"]\nformat = \"6x6\"\n\
            [[lens]]\nname = \"75\"\nfocal_mm = 75\n[[lens]]\nname = \"150\"\nfocal_mm = 150\n\
            [[filter]]\nname = \"green\"\nfactor = 4\n[[place]]\nname = \"Tarn Quay\"\n";
        assert_eq!(told(kit), [""; 0], "nothing is wrong with this");
        let alike = kit.to_owned() + "[[film]]\nname = \"Bellbuoy\"\nsaid = [\"the quill\"]\niso = 125\n";
        let [one] = &told(&alike)[..] else { panic!("{:?}", told(&alike)) };
        assert!(one.starts_with("line 18: 'the quill' is film 'Bellbuoy', and camera 'Quill 66' in line 3"), "{one}");
        let twice = kit.to_owned() + "[[lens]]\nname = \"75 \u{2160}\"\nfocal_mm = 75\n";
        assert!(told(&twice).iter().any(|t| t.starts_with("line 6: lens '75' cannot")), "{:?}", told(&twice));
        let mute = kit.to_owned() + "[[filter]]\nname = \"8\"\nstops = 1\n";
        let [one] = &told(&mute)[..] else { panic!("{:?}", told(&mute)) };
        assert!(one.starts_with("line 17: filter '8' cannot be called by voice"), "{one}");
        let sounds =
            kit.to_owned() + "[[filter]]\nname = \"mist\"\nstops = 0\n[[filter]]\nname = \"missed\"\nstops = 1\n";
        assert!(told(&sounds).iter().any(|t| t.contains("sounds like 'mist' in line 17")), "{:?}", told(&sounds));
    }
}
