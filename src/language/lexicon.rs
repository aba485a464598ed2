//! A grammar joined with a kit: every phrase that means something.

use std::collections::HashMap;

use crate::kit::{Focal, Kit};

use super::class::Class;
use super::number::{NumberWord, NumberWords, numbers};
use super::pattern::{PatternError, Piece, expand};
use super::sound::{SoundRules, distance};
use super::token::{FILLER, Kind, Token, fold, tokens};
use super::trie::{Meaning, NO_VALUE, Slot, Step, Trie};

/// A grammar file that cannot be read: which file and line, and why.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}, line {line}: {what}")]
pub struct GrammarError {
    /// Name of the file.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// What is wrong, and what was expected.
    pub what: String,
}

/// The files of one language, as text.
#[derive(Debug, Clone, Copy)]
pub struct GrammarText<'a> {
    /// Number words.
    pub numbers: &'a str,
    /// Amounts and times.
    pub values: &'a str,
    /// Phrases.
    pub phrases: &'a str,
    /// Word lists.
    pub words: &'a str,
    /// Sound rules.
    pub sounds: &'a str,
}

/// English, as it is built into the program.
pub const ENGLISH: GrammarText<'static> = GrammarText {
    numbers: include_str!("../../grammar/en/numbers.txt"),
    values: include_str!("../../grammar/en/values.txt"),
    phrases: include_str!("../../grammar/en/phrases.txt"),
    words: include_str!("../../grammar/en/words.txt"),
    sounds: include_str!("../../grammar/en/sounds.txt"),
};

/// The kind of a thing in the kit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Gear {
    /// A lens, by index.
    Lens(u16),
    /// A filter.
    Filter(u16),
    /// A film.
    Film(u16),
    /// A camera.
    Camera(u16),
}

/// What a mangled word may stand for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sounds {
    /// A thing of the kit.
    Gear(Gear),
    /// A phrase of the grammar that has a value, such as a light.
    Phrase(Meaning),
}

/// A name of the kit that mangled words are compared with.
#[derive(Debug, Clone)]
struct SoundName {
    sounds: Sounds,
    letters: String,
    number: Option<f64>,
}

/// Everything needed to find phrases in tokens.
#[derive(Debug, Clone)]
pub struct Lexicon {
    words: HashMap<String, u32>,
    /// Phrases of amounts and times.
    pub values_trie: Trie,
    /// Phrases of settings and of discourse.
    pub phrases_trie: Trie,
    /// Names of the kit; a meaning's value is an index into [`Self::gear`].
    pub gear_trie: Trie,
    /// What the values of gear phrases stand for.
    pub gear: Vec<Gear>,
    /// Texts that meanings refer to.
    pub values: Vec<String>,
    /// Number words.
    pub numbers: NumberWords,
    lists: HashMap<String, Vec<u32>>,
    sounds_as: HashMap<u32, Vec<u32>>,
    sounds: SoundRules,
    sound_names: HashMap<String, Vec<SoundName>>,
    sound_initials: Vec<char>,
    spoken: super::spoken::Spoken,
    primes: Vec<f64>,
    focals: Vec<Focal>,
}

impl Lexicon {
    /// Joins a grammar with a kit.
    ///
    /// # Errors
    /// [`GrammarError`] with file and line.
    pub fn new(text: &GrammarText<'_>, kit: &Kit) -> Result<Self, GrammarError> {
        let mut lexicon = Self {
            words: HashMap::new(),
            values_trie: Trie::default(),
            phrases_trie: Trie::default(),
            gear_trie: Trie::default(),
            gear: Vec::new(),
            values: Vec::new(),
            numbers: NumberWords::default(),
            lists: HashMap::new(),
            sounds_as: HashMap::new(),
            sounds: SoundRules::default(),
            sound_names: HashMap::new(),
            sound_initials: Vec::new(),
            spoken: super::spoken::Spoken::default(),
            focals: kit.lenses.iter().map(|l| l.focal).collect(),
            primes: kit
                .lenses
                .iter()
                .filter_map(|l| if let Focal::Prime(f) = l.focal { Some(f) } else { None })
                .collect(),
        };
        lexicon.read_words(text.words)?;
        lexicon.read_numbers(text.numbers)?;
        lexicon.read_sounds(text.sounds)?;
        lexicon.read_phrases("values.txt", text.values)?;
        lexicon.read_phrases("phrases.txt", text.phrases)?;
        lexicon.add_kit(kit);
        lexicon.spoken = super::spoken::Spoken::from_file(text.numbers);
        Ok(lexicon)
    }

    /// Whether the kit has a lens of this one focal length.
    pub fn has_prime(&self, mm: f64) -> bool {
        self.primes.iter().any(|p| (p - mm).abs() < 0.5)
    }

    /// Whether a lens of the kit can be set to a focal length.
    pub fn covers(&self, lens: u16, mm: f64) -> bool {
        self.focals.get(usize::from(lens)).is_some_and(|f| f.covers(mm))
    }

    /// How numbers are said, for wordings.
    pub fn spoken(&self) -> &super::spoken::Spoken {
        &self.spoken
    }

    /// Tokens of folded text, with the numbers of the words that the lexicon knows.
    pub fn tokens(&self, folded: &str) -> Vec<Token> {
        let mut all = tokens(folded);
        for t in &mut all {
            let word = &folded[t.span.clone()];
            t.id = match word.contains(FILLER) {
                true => self.words.get(&word.replace(FILLER, "")).copied(),
                false => self.words.get(word).copied(),
            };
        }
        self.part_numbers(&mut all);
        all
    }

    /// "Frame 8200mm" is frame 8 with the 200: a frame number and a focal
    /// length of the kit that a recogniser has written as one.
    fn part_numbers(&self, tokens: &mut Vec<Token>) {
        let mut i = 1;
        while i + 1 < tokens.len() {
            let unit = self.in_list("focal-unit", &tokens[i + 1]);
            if let (true, Kind::Word, Kind::Number { value, digits: 3.., decimals: 0 }) =
                (unit, tokens[i - 1].kind, tokens[i].kind)
                && let Some((head, tail, tail_digits)) = self.frame_and_focal(value as u32)
            {
                let span = tokens[i].span.clone();
                let parted = span.end.saturating_sub(tail_digits);
                if parted > span.start {
                    let number = |value: u32, digits: usize, span, glued| Token {
                        kind: Kind::Number { value: f64::from(value), digits: digits as u8, decimals: 0 },
                        span,
                        glued,
                        id: None,
                    };
                    let head_digits = parted - span.start;
                    let second = number(tail, tail_digits, parted..span.end, false);
                    tokens[i] = number(head, head_digits, span.start..parted, tokens[i].glued);
                    tokens.insert(i + 1, second);
                    i += 1;
                }
            }
            i += 1;
        }
    }

    fn frame_and_focal(&self, n: u32) -> Option<(u32, u32, usize)> {
        if self.focals.iter().any(|f| f.covers(f64::from(n))) {
            return None;
        }
        [3_u32, 2].into_iter().find_map(|digits| {
            let (head, tail) = (n / 10_u32.pow(digits), n % 10_u32.pow(digits));
            let fits = (1..=40).contains(&head) && self.focals.iter().any(|f| f.covers(f64::from(tail)));
            fits.then_some((head, tail, digits as usize))
        })
    }

    /// Words that a heard word may stand for.
    pub fn meant_by(&self, id: u32) -> &[u32] {
        self.sounds_as.get(&id).map_or(&[], Vec::as_slice)
    }

    /// Whether a token is in a word list.
    pub fn in_list(&self, list: &str, token: &Token) -> bool {
        token.id.is_some_and(|id| self.lists.get(list).is_some_and(|l| l.contains(&id)))
    }

    fn id(&mut self, word: &str) -> u32 {
        let next = self.words.len() as u32;
        *self.words.entry(word.to_owned()).or_insert(next)
    }

    fn value(&mut self, text: &str) -> u32 {
        match self.values.iter().position(|v| v == text) {
            Some(i) => i as u32,
            None => {
                self.values.push(text.to_owned());
                self.values.len() as u32 - 1
            }
        }
    }

    fn read_words(&mut self, text: &str) -> Result<(), GrammarError> {
        for (line, body) in lines(text) {
            let (list, words) = split_line("words.txt", line, body)?;
            let ids: Vec<u32> = if list == "spelling" {
                let mut words = words.split_whitespace();
                let first = words.next().map(|w| self.id(w));
                for other in words {
                    if let Some(id) = first {
                        self.words.insert(other.to_owned(), id);
                    }
                }
                continue;
            } else if list == "sounds" {
                let mut words = words.split_whitespace();
                let meant = words.next().map(|w| self.id(w));
                for other in words {
                    let heard = self.id(other);
                    self.sounds_as.entry(heard).or_default().extend(meant);
                }
                continue;
            } else {
                words.split_whitespace().map(|w| self.id(w)).collect()
            };
            self.lists.entry(list.to_owned()).or_default().extend(ids);
        }
        Ok(())
    }

    fn read_numbers(&mut self, text: &str) -> Result<(), GrammarError> {
        const FILE: &str = "numbers.txt";
        for (line, body) in lines(text) {
            let (head, rest) = split_line(FILE, line, body)?;
            let error = |what: String| GrammarError { file: FILE.to_owned(), line, what };
            if let Some(amount) = head.strip_prefix("tail ") {
                let more = amount.trim().parse().map_err(|_| error(format!("'{amount}' is no number")))?;
                let tail = rest.split_whitespace().map(|w| self.id(w)).collect();
                self.numbers.tails.push((tail, more));
                continue;
            }
            for item in rest.split_whitespace() {
                let (word, value) = item.split_once('=').unwrap_or((item, ""));
                if head == "alike" {
                    break;
                }
                let id = self.id(word);
                let (value, weight) = value.split_once('~').unwrap_or((value, "1"));
                let number = || value.parse::<u32>().map_err(|_| error(format!("'{item}': expected word=number")));
                let weight: f32 = weight.parse().map_err(|_| error(format!("'{item}': a weight is a number")))?;
                match head {
                    "unit" => drop(self.numbers.words.insert(id, NumberWord::Unit(number()?))),
                    "tens" => drop(self.numbers.words.insert(id, NumberWord::Tens(number()?))),
                    "scale" => drop(self.numbers.words.insert(id, NumberWord::Scale(number()?))),
                    "ordinal" if weight > 0.0 => drop(self.numbers.words.insert(id, NumberWord::Ordinal(number()?))),
                    "ordinal" => {}
                    "ordinal-scale" => drop(self.numbers.words.insert(id, NumberWord::OrdinalScale(number()?))),
                    "homophone" => drop(self.numbers.homophones.insert(id, (number()?, weight))),
                    "suffix" => self.numbers.suffixes.push(id),
                    "point" => self.numbers.points.push(id),
                    "and" => self.numbers.ands.push(id),
                    "article" => self.numbers.articles.push(id),
                    other => return Err(error(format!("'{other}' is no list of numbers.txt"))),
                }
            }
            if head == "alike" {
                let pair: Vec<u32> = rest.split_whitespace().filter_map(|n| n.parse().ok()).collect();
                match pair[..] {
                    [a, b] => self.numbers.alike.push((a, b)),
                    _ => return Err(error("alike wants two numbers".to_owned())),
                }
            }
        }
        Ok(())
    }

    fn read_sounds(&mut self, text: &str) -> Result<(), GrammarError> {
        let mut rules = Vec::new();
        for (line, body) in lines(text) {
            let Some((from, to)) = body.split_once('=') else {
                let what = "expected letters = sound".to_owned();
                return Err(GrammarError { file: "sounds.txt".to_owned(), line, what });
            };
            rules.push((from.trim().to_owned(), to.trim().to_owned()));
        }
        self.sounds = SoundRules::new(rules);
        Ok(())
    }

    fn read_phrases(&mut self, file: &str, text: &str) -> Result<(), GrammarError> {
        for (line, body) in lines(text) {
            let error = |what: String| GrammarError { file: file.to_owned(), line, what };
            let (head, phrases) = split_head(body).ok_or_else(|| error("expected class: phrases".to_owned()))?;
            let (name, value) = head.split_once(' ').unwrap_or((head, ""));
            let class = Class::named(name).ok_or_else(|| error(format!("'{name}' is no class")))?;
            // What follows in braces only tells a reader which slots there are.
            let value = value.split('{').next().unwrap_or_default().trim().trim_matches('"');
            let value = if value.is_empty() || value.starts_with('{') { NO_VALUE } else { self.value(value) };
            let ways = expand(phrases).map_err(|e: PatternError| error(e.to_string()))?;
            for (way, weight) in ways {
                let mut steps = Vec::with_capacity(way.len());
                for piece in &way {
                    match piece {
                        Piece::Slot(name) => {
                            let slot = slot_named(name).ok_or_else(|| error(format!("no slot {{{name}}}")))?;
                            steps.push(Step::Slot(slot));
                        }
                        // A word is parted as the text will be: e.i is e . i
                        Piece::Word(word) => {
                            let folded = fold(word);
                            let parts = tokens(&folded);
                            if parts.is_empty() {
                                return Err(error(format!("'{word}' is no word")));
                            }
                            steps.extend(parts.iter().map(|p| Step::Word(self.id(&folded[p.span.clone()]))));
                        }
                    }
                }
                if matches!(class, Class::Light | Class::Support) {
                    self.add_phrase_sound(&way, Meaning { class, value, weight });
                }
                let trie = if file == "values.txt" { &mut self.values_trie } else { &mut self.phrases_trie };
                trie.add(&steps, Meaning { class, value, weight });
            }
        }
        Ok(())
    }

    fn add_kit(&mut self, kit: &Kit) {
        for (i, c) in kit.cameras.iter().enumerate() {
            self.add_gear(Gear::Camera(i as u16), &c.name, &c.said);
        }
        for (i, l) in kit.lenses.iter().enumerate() {
            self.add_gear(Gear::Lens(i as u16), &l.name, &l.said);
        }
        for (i, f) in kit.filters.iter().enumerate() {
            self.add_gear(Gear::Filter(i as u16), &f.name, &f.said);
        }
        self.add_densities(kit);
        let first = |name: &str| name.split_whitespace().next().unwrap_or_default().to_lowercase();
        for (i, f) in kit.films.iter().enumerate() {
            let gear = Gear::Film(i as u16);
            self.add_gear(gear, &f.name, &f.said);
            // The first word with the speed, and alone where no other film shares it.
            let word = first(&f.name);
            if word.len() > 2 {
                self.add_name(gear, &format!("{word} {}", f.iso.get()), 0.95);
                let sharing = kit.films.iter().filter(|o| first(&o.name) == word).count();
                if sharing == 1 {
                    self.add_name(gear, &word, 0.9);
                }
            }
        }
    }

    /// Neutral density is named by factor, by density and by stops: ND8 is 0.9 is
    /// three stops. Source: density = 0.301 × stops, as in the trade's tables.
    fn add_densities(&mut self, kit: &Kit) {
        let nd = |name: &str| {
            let n = name.to_lowercase();
            n.strip_prefix("nd").is_some_and(|r| r.trim_start().starts_with(|c: char| c.is_ascii_digit()))
        };
        let densities: Vec<usize> = (0..kit.filters.len()).filter(|i| nd(&kit.filters[*i].name)).collect();
        for &i in &densities {
            let gear = Gear::Filter(i as u16);
            let stops = kit.filters[i].lost.get();
            let factor = stops.exp2().round();
            let density = (stops * 0.3 * 10.0).round() / 10.0;
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
                self.add_name(gear, &name, 0.95);
            }
            if densities.len() == 1 {
                for name in ["nd", "n d"] {
                    self.add_name(gear, name, 0.9);
                }
            }
        }
    }

    fn add_gear(&mut self, gear: Gear, name: &str, said: &[String]) {
        let bare_number = name.chars().all(|c| c.is_ascii_digit() || " .-".contains(c));
        if !bare_number {
            self.add_name(gear, name, 1.0);
        }
        for phrase in said {
            self.add_name(gear, phrase, 1.0);
        }
    }

    fn add_name(&mut self, gear: Gear, phrase: &str, weight: f32) {
        let folded = fold(phrase);
        for t in tokens(&folded) {
            self.id(&folded[t.span]);
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
            Gear::Lens(_) => Class::Lens,
            Gear::Filter(_) => Class::FilterOn,
            Gear::Film(_) => Class::Film,
            Gear::Camera(_) => Class::Camera,
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
                    let id = part[i].id.expect("every word of a name was given a number");
                    ways.iter_mut().for_each(|w| w.push(Step::Word(id)));
                    only_number = false;
                    i += 1;
                }
            }
            // A bare number is never a name by itself.
            if part.is_empty() || only_number && !(skip == 0 && matches!(gear, Gear::Camera(_))) {
                continue;
            }
            let weight = if only_number { weight * 0.7 } else { weight };
            for way in ways {
                self.gear_trie.add(&way, Meaning { class, value: index, weight });
            }
        }
        self.add_sound(gear, &folded, &all[leading..]);
    }

    fn add_sound(&mut self, gear: Gear, folded: &str, part: &[Token]) {
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
        self.sound_names.entry(key).or_default().push(SoundName { sounds: Sounds::Gear(gear), letters, number });
    }

    /// Remembers how a phrase that has a value sounds.
    fn add_phrase_sound(&mut self, way: &[Piece], meaning: Meaning) {
        let letters: String = way.iter().map(|p| if let Piece::Word(w) = p { w.as_str() } else { "" }).collect();
        if letters.chars().count() < 6 || self.sounds.key(&letters).chars().count() < 3 {
            return;
        }
        let key = self.sounds.key(&letters);
        self.sound_initials.extend(key.chars().next());
        self.sound_names.entry(key).or_default().push(SoundName {
            sounds: Sounds::Phrase(meaning),
            letters,
            number: None,
        });
    }

    fn is_number_word(&self, t: &Token) -> bool {
        t.id.is_some_and(|id| self.numbers.words.contains_key(&id))
    }

    /// Names of the kit that sound like these letters: the gear, the number
    /// that must follow, and how near the letters are, 0 to 1.
    pub fn sounding_like(&self, letters: &str) -> Vec<(Sounds, Option<f64>, f32)> {
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
                    Sounds::Phrase(_) => len / 3,
                    Sounds::Gear(_) if n.number.is_some() => len * 2 / 3,
                    Sounds::Gear(_) => len / 2,
                }
                .max(1);
                let apart = distance(letters, &n.letters, most)?;
                Some((n.sounds, n.number, 1.0 - apart as f32 / (most as f32 + 1.0)))
            })
            .collect()
    }
}

/// Lines that say something, with their numbers from 1.
fn lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.lines().enumerate().map(|(i, l)| (i + 1, l.trim())).filter(|(_, l)| !l.is_empty() && !l.starts_with('#'))
}

fn split_line<'a>(file: &str, line: usize, body: &'a str) -> Result<(&'a str, &'a str), GrammarError> {
    body.split_once(':').map(|(a, b)| (a.trim(), b.trim())).ok_or_else(|| GrammarError {
        file: file.to_owned(),
        line,
        what: "expected a name, a colon and words".to_owned(),
    })
}

/// The class part and the phrases: parted by the first colon outside quotes.
fn split_head(body: &str) -> Option<(&str, &str)> {
    let mut quoted = false;
    for (i, c) in body.char_indices() {
        match c {
            '"' => quoted = !quoted,
            ':' if !quoted => return Some((body[..i].trim(), body[i + 1..].trim())),
            _ => {}
        }
    }
    None
}

fn slot_named(name: &str) -> Option<Slot> {
    Some(match name {
        "n" => Slot::Number(false),
        "n*" => Slot::Number(true),
        "o" => Slot::Ordinal,
        "i" => Slot::Integer(false),
        "i*" => Slot::Integer(true),
        "f" => Slot::FNumber(false),
        "f*" => Slot::FNumber(true),
        "s" => Slot::Stops,
        "q" => Slot::Amount,
        "d" => Slot::Duration,
        "lens" => Slot::Lens,
        "filter" => Slot::Filter,
        "film" => Slot::Film,
        "camera" => Slot::Camera,
        "r" => Slot::RollName(false),
        "r*" => Slot::RollName(true),
        _ => return None,
    })
}
