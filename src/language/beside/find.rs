//! What is said of a frame beside its settings: a flash, a converter, bellows, a focus distance, a rating. Found by
//! the phrases of `asides.txt`; the learned reader has no purpose for such words.

use std::collections::{BTreeSet, HashMap};

use crate::kit::{Kit, LONGEST_NAME};

use super::aside::{Aside, AsideKind};
use crate::language::grammar::{Class, GrammarError, Lexicon, Piece, expand, lines, split_line, with_groups};
use crate::language::phrases::Whole;
use crate::language::text::{How, NumberKind, distance, fold, tokens};

const FILE: &str = "asides.txt";
/// A place's name said as it stands.
const EXACT: f64 = 0.97;
/// A place's name that was only come near to is never surer than this: it could be another place.
const NEARLY: f64 = 0.6;
/// Letters of a place's name below which nothing is taken to be near it.
const SHORTEST_NEAR: usize = 5;
/// Part of a place's letters that may differ where the sounds are the same, and where they are not.
const NEAR_LETTERS: (usize, usize) = (2, 6);
/// What the words of one kind of thing are, where the kit has no name for it.
const WORDS: [(&str, &[&str]); 3] = [
    ("flash", &["flash", "strobe", "flashgun", "speedlight"]),
    ("converter", &["converter", "teleconverter", "extender"]),
    ("bellows", &["bellows"]),
];

#[derive(Debug, Clone)]
enum Step {
    Word(String),
    Number,
    Stops,
    /// A thing of a kind, by its place in [`WORDS`].
    Thing(usize),
}

#[derive(Debug, Clone)]
struct Phrase {
    kind: AsideKind,
    steps: Vec<Step>,
}

/// A way to call a thing of the kit.
#[derive(Debug, Clone)]
struct Name {
    words: Vec<String>,
    gear: Option<usize>,
}

/// The phrases of a language and the names of a kit.
#[derive(Debug, Clone, Default)]
pub struct Asides {
    phrases: Vec<Phrase>,
    /// Phrases by their first word; those that begin with a slot stand under the empty word.
    by_word: HashMap<String, Vec<usize>>,
    things: [Vec<Name>; WORDS.len()],
    places: Vec<(usize, Vec<String>)>,
    /// Words without which no sentence tells of developing.
    developing: Vec<String>,
}

impl Asides {
    /// Joins phrases with a kit.
    ///
    /// # Errors
    /// [`GrammarError`] with the line.
    pub fn new(text: &str, kit: &Kit, lexicon: &Lexicon) -> Result<Self, GrammarError> {
        let mut asides = Self::default();
        asides.read(text)?;
        let called = |name: &str, said: &[String]| -> Vec<Vec<String>> {
            let all = std::iter::once(name).chain(said.iter().map(String::as_str));
            let fits = all.filter(|n| n.chars().count() <= LONGEST_NAME);
            fits.map(|n| words_of(n, lexicon)).filter(|w| !w.is_empty()).collect()
        };
        for (i, f) in kit.flashes.iter().enumerate() {
            asides.add(0, Some(i), called(&f.name, &f.said));
        }
        for (i, c) in kit.converters.iter().enumerate() {
            asides.add(1, Some(i), called(&c.name, &c.said));
        }
        for (i, b) in kit.bellows.iter().enumerate() {
            asides.add(2, Some(i), called(&b.name, &b.said));
        }
        let counts = [kit.flashes.len(), kit.converters.len(), kit.bellows.len()];
        for (kind, (_, words)) in WORDS.iter().enumerate() {
            // The word for a kind means the only one that there is.
            let only = (counts[kind] == 1).then_some(0);
            asides.add(kind, only, words.iter().map(|w| vec![(*w).to_owned()]).collect());
        }
        for (i, place) in kit.places.iter().enumerate() {
            asides.places.extend(called(&place.name, &place.said).into_iter().map(|w| (i, w)));
        }
        Ok(asides)
    }

    fn add(&mut self, kind: usize, gear: Option<usize>, names: Vec<Vec<String>>) {
        self.things[kind].extend(names.into_iter().map(|words| Name { words, gear }));
    }

    fn read(&mut self, text: &str) -> Result<(), GrammarError> {
        let mut groups: Vec<(&str, String)> = Vec::new();
        for (line, body) in lines(text) {
            let error = |what: String| GrammarError { file: FILE.to_owned(), line, what };
            let (head, phrases) = split_line(FILE, line, body)?;
            if head == "developing-words" {
                self.developing = phrases.split_whitespace().map(str::to_owned).collect();
                continue;
            }
            let phrases = with_groups(phrases, &groups).map_err(error)?;
            if let Some(name) = head.strip_prefix("let ") {
                groups.push((name.trim(), format!("({phrases})")));
                continue;
            }
            let kind = AsideKind::named(head).ok_or_else(|| error(format!("'{head}' is no kind of aside")))?;
            for (way, _) in expand(&phrases).map_err(|e| error(e.to_string()))? {
                let mut steps = Vec::new();
                for piece in way {
                    match piece {
                        Piece::Word(word) => steps.extend(split(&word).into_iter().map(Step::Word)),
                        Piece::Slot(name) => steps.push(match name.as_str() {
                            "n" => Step::Number,
                            "q" => Step::Stops,
                            thing => {
                                let at = WORDS.iter().position(|(kind, _)| *kind == thing);
                                Step::Thing(at.ok_or_else(|| error(format!("no slot {{{thing}}}")))?)
                            }
                        }),
                    }
                }
                let first = match steps.first() {
                    Some(Step::Word(word)) => word.clone(),
                    _ => String::new(),
                };
                self.by_word.entry(first).or_default().push(self.phrases.len());
                self.phrases.push(Phrase { kind, steps });
            }
        }
        Ok(())
    }

    /// Whether a folded text holds a word by which developing is told.
    pub fn may_tell_of_developing(&self, folded: &str) -> bool {
        self.developing.iter().any(|w| folded.contains(w.as_str()))
    }

    /// Every aside of a text, in the order said; where two share a word, the longer.
    pub fn of(&self, text: Whole<'_>, lexicon: &Lexicon) -> Vec<Aside> {
        let heard = Hearing::new(self, text);
        let mut out: Vec<Aside> = Vec::new();
        let mut at = 0;
        while at < text.tokens.len() {
            match heard.longest(at) {
                Some(aside) => {
                    at = aside.tokens.end;
                    out.push(aside);
                }
                None => at += 1,
            }
        }
        out.extend(heard.places(lexicon));
        out.sort_by_key(|a| a.tokens.start);
        out
    }
}

/// A name's words without those that carry nothing before it.
fn words_of(name: &str, lexicon: &Lexicon) -> Vec<String> {
    let folded = fold(name);
    let all = lexicon.tokens(&folded);
    let leading = all.iter().take_while(|t| lexicon.in_list("leading", t)).count();
    let rest = if leading < all.len() { &all[leading..] } else { &all[..] };
    rest.iter().map(|t| folded[t.span.clone()].to_owned()).collect()
}

fn split(word: &str) -> Vec<String> {
    let folded = fold(&word.replace('-', " "));
    tokens(&folded).map(|t| folded[t.span].to_owned()).collect()
}

struct Hearing<'a> {
    asides: &'a Asides,
    text: Whole<'a>,
    /// Values with the token after them, by the token where they begin, the longest first.
    numbers: Vec<Vec<(usize, f64)>>,
    stops: Vec<Vec<(usize, f64)>>,
}

#[derive(Clone, Copy, Default)]
struct Slots {
    value: Option<f64>,
    second: Option<f64>,
    gear: Option<usize>,
}

impl Slots {
    fn and(self, value: f64) -> Self {
        match self.value {
            None => Self { value: Some(value), ..self },
            Some(_) => Self { second: Some(value), ..self },
        }
    }
}

impl<'a> Hearing<'a> {
    fn new(asides: &'a Asides, text: Whole<'a>) -> Self {
        let mut numbers = vec![Vec::new(); text.tokens.len()];
        for (at, n) in text.numbers() {
            let plain = n.kind != NumberKind::Ordinal && !matches!(n.how, How::Homophone | How::Heard);
            if plain {
                numbers[at].push((at + usize::from(n.end - n.start), n.value));
            }
        }
        let mut stops = vec![Vec::new(); text.tokens.len()];
        for (from, found) in text.found {
            for q in found.quantities.iter().filter(|q| matches!(q.class, Class::Stops | Class::Amount)) {
                stops[from + usize::from(q.start)].push((from + usize::from(q.end), q.value));
            }
        }
        let quantities = text.found.iter().flat_map(|(from, f)| f.quantities.iter().map(move |q| (from, q)));
        let durations =
            quantities.filter(|(_, q)| q.class == Class::Duration).map(|(from, q)| from + usize::from(q.start));
        let durations = BTreeSet::from_iter(durations);
        for (at, all) in numbers.iter_mut().enumerate().chain(stops.iter_mut().enumerate()) {
            // The longest, unless it cuts into a time: "one to fifty eleven minutes".
            let cuts = |end: usize| end > at && durations.range(at + 1..end).next().is_some();
            all.sort_by_key(|(end, _)| (cuts(*end), std::cmp::Reverse(*end)));
        }
        Self { asides, text, numbers, stops }
    }

    fn word(&self, at: usize) -> Option<&str> {
        self.text.tokens.get(at).map(|t| &self.text.folded[t.span.clone()])
    }

    fn longest(&self, at: usize) -> Option<Aside> {
        let first = self.asides.by_word.get(self.word(at)?).map_or(&[][..], Vec::as_slice);
        let slots = self.asides.by_word.get("").map_or(&[][..], Vec::as_slice);
        let all = first.iter().chain(slots).map(|i| &self.asides.phrases[*i]);
        let found = all.filter_map(|p| {
            let (end, slots) = self.matched(&p.steps, at, Slots::default())?;
            Some(Aside {
                kind: p.kind,
                value: slots.value,
                second: slots.second,
                gear: slots.gear,
                sure: 1.0,
                tokens: at..end,
            })
        });
        // What speaks against it comes after it in the grammar, and counts where both are as long.
        found.max_by_key(|a| a.tokens.end)
    }

    fn matched(&self, steps: &[Step], at: usize, slots: Slots) -> Option<(usize, Slots)> {
        let Some((step, rest)) = steps.split_first() else { return Some((at, slots)) };
        match step {
            Step::Word(word) => (self.word(at)? == word).then(|| self.matched(rest, at + 1, slots))?,
            Step::Number | Step::Stops => {
                let all = if matches!(step, Step::Number) { &self.numbers } else { &self.stops };
                let ends: &[(usize, f64)] = all.get(at)?;
                ends.iter().find_map(|(end, value)| self.matched(rest, *end, slots.and(*value)))
            }
            Step::Thing(kind) => self.asides.things[*kind].iter().find_map(|name| {
                let end = at + name.words.len();
                let said = (at..end).zip(&name.words).all(|(i, w)| self.word(i) == Some(w));
                said.then(|| self.matched(rest, end, Slots { gear: name.gear, ..slots }))?
            }),
        }
    }

    /// Places of the kit that are named, or nearly so: the nearest of each stretch.
    fn places(&self, lexicon: &Lexicon) -> Vec<Aside> {
        let mut found: Vec<Aside> = Vec::new();
        for (place, words) in &self.asides.places {
            let letters: String = words.concat();
            let key = lexicon.sounds.key(&letters);
            for at in 0..(self.text.tokens.len() + 1).saturating_sub(words.len()) {
                let end = at + words.len();
                if self.text.tokens[at..end].iter().any(crate::language::text::Token::ends_sentence) {
                    continue;
                }
                let said: Vec<&str> = (at..end).filter_map(|i| self.word(i)).collect();
                let sure = if said.iter().zip(words).all(|(a, b)| a == b) {
                    EXACT
                } else {
                    let said = said.concat();
                    let len = letters.chars().count();
                    let part = if lexicon.sounds.key(&said) == key { NEAR_LETTERS.0 } else { NEAR_LETTERS.1 };
                    match distance(&said, &letters, len / part) {
                        Some(apart) if len >= SHORTEST_NEAR => NEARLY * (1.0 - apart as f64 / len as f64),
                        _ => continue,
                    }
                };
                let gear = Some(*place);
                found.push(Aside { kind: AsideKind::Place, value: None, second: None, gear, sure, tokens: at..end });
            }
        }
        // The surest first; what shares a word with a surer one is that one, misread.
        found.sort_by(|a, b| b.sure.total_cmp(&a.sure).then(b.tokens.len().cmp(&a.tokens.len())));
        let mut taken = vec![false; self.text.tokens.len()];
        found.retain(|aside| {
            let own = &mut taken[aside.tokens.clone()];
            let free = own.iter().all(|t| !*t);
            own.iter_mut().for_each(|t| *t |= free);
            free
        });
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::note::Language;

    const KIT: &str = "[[flash]]\nname = \"Beacon\"\nsaid = [\"the lamp\"]\n\
        [[converter]]\nname = \"2x\"\nsaid = [\"the doubler\"]\ntimes = 2\n\
        [[place]]\nname = \"Tarn Quay\"\nlat = 54.1\nlon = -9.2\n";

    /// What is told, its figure, and the thing of the kit.
    type Told = (AsideKind, Option<f64>, Option<usize>);

    fn asides(text: &str) -> Vec<Told> {
        let language = Language::english(Kit::parse(KIT).unwrap());
        let told = language.told(text);
        told.asides.into_iter().map(|a| (a.kind, a.value, a.gear)).collect()
    }

    #[test]
    fn what_is_said_beside_the_settings_is_found() {
        use AsideKind::*;
        let cases: &[(&str, &[Told])] = &[
            ("Frame two, f8 at a sixtieth with flash.", &[(Flash, None, Some(0))]),
            ("with the lamp, f8", &[(Flash, None, Some(0))]),
            ("fill flash, f8", &[(Flash, None, None)]),
            ("no flash said the chief", &[(NoFlash, None, Some(0))]),
            ("the flash didn't go", &[(NoFlash, None, Some(0))]),
            ("batteries for the flash", &[(NoFlash, None, Some(0))]),
            ("the one fifty with the doubler", &[(Converter, None, Some(0))]),
            ("took the doubler off", &[(ConverterOff, None, Some(0))]),
            ("the 1.4x teleconverter", &[(ConverterTimes, Some(1.4), None)]),
            ("bellows drawn out to 180", &[(Extension, Some(180.0), None)]),
            ("roman nail, 100 on the bellows", &[(Extension, Some(100.0), None)]),
            ("two ten at double extension", &[(ExtensionDouble, None, None)]),
            ("bellows factor two and a quarter", &[(BellowsFactor, Some(2.25), None)]),
            ("bellows wants one stop", &[(BellowsStops, Some(1.0), None)]),
            ("two stops for the draw", &[(BellowsStops, Some(2.0), None)]),
            ("so I used the self-timer", &[(SelfTimer, None, None)]),
            ("focused at three metres", &[(Focus, Some(3.0), None)]),
            ("focus set to 10 feet", &[(FocusFeet, Some(10.0), None)]),
            ("give that four stars", &[(Rating, Some(4.0), None)]),
            ("print this one", &[(Print, None, None)]),
            ("don't print this one", &[(NoPrint, None, None)]),
            ("down at Tarn Quay", &[(Place, None, Some(0))]),
            ("down at tarn key", &[(Place, None, Some(0))]),
            ("sector 17, five stars, dust everywhere", &[]),
            ("a fence of two metres", &[]),
            ("the bellows is leaking", &[]),
        ];
        for (text, expected) in cases {
            assert_eq!(asides(text), *expected, "{text}");
        }
    }

    #[test]
    fn a_place_nearly_said_is_in_doubt() {
        let language = Language::english(Kit::parse(KIT).unwrap());
        let sure = |text: &str| language.told(text).asides.first().map(|a| a.sure);
        assert!(sure("at Tarn Quay").unwrap() > 0.9);
        assert!(sure("at tarn key").unwrap() < 0.8);
        assert_eq!(sure("at the bandstand"), None);
    }
}
