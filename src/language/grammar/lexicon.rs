//! A grammar joined with a kit: every phrase that means something.

use std::borrow::Cow;
use std::collections::HashMap;

use crate::kit::{Dial, Focal, Kit};

use super::trie::{Meaning, Trie};
use crate::language::text::{FILLER, Kind, NumberWords, SoundRules, Token, fold, tokens};

/// Focal lengths that differ by less are one, as engraved in whole millimetres.
const SAME_MM: f64 = 0.5;

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
    /// What is said beside the settings.
    pub asides: &'a str,
    /// The reader's word pieces.
    pub pieces: &'a str,
    /// The reader's weights.
    pub weights: &'a [u8],
}

/// English, as it is built into the program.
pub const ENGLISH: GrammarText<'static> = GrammarText {
    numbers: include_str!("../../../grammar/en/numbers.txt"),
    values: include_str!("../../../grammar/en/values.txt"),
    phrases: include_str!("../../../grammar/en/phrases.txt"),
    words: include_str!("../../../grammar/en/words.txt"),
    sounds: include_str!("../../../grammar/en/sounds.txt"),
    asides: include_str!("../../../grammar/en/asides.txt"),
    pieces: include_str!("../../../grammar/en/reader.vocab"),
    weights: include_bytes!("../../../grammar/en/reader.weights"),
};

/// The kind of a thing in the kit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum KitThing {
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
pub enum SoundsLike {
    /// A thing of the kit.
    Gear(KitThing),
    /// A phrase of the grammar that has a value, such as a light.
    Phrase(Meaning),
}

/// A name of the kit that mangled words are compared with.
#[derive(Debug, Clone)]
pub struct SoundName {
    pub sounds: SoundsLike,
    pub letters: String,
    pub number: Option<f64>,
}

/// Everything needed to find phrases in tokens.
#[derive(Debug, Clone)]
pub struct Lexicon {
    pub(in crate::language) words: HashMap<String, u32>,
    /// Phrases of amounts and times.
    pub values_trie: Trie,
    /// Phrases of settings and of discourse.
    pub phrases_trie: Trie,
    /// Names of the kit; a meaning's value is an index into [`Self::gear`].
    pub gear_trie: Trie,
    /// What the values of gear phrases stand for.
    pub gear: Vec<KitThing>,
    /// Texts that meanings refer to.
    pub values: Vec<String>,
    /// Number words.
    pub numbers: NumberWords,
    pub(in crate::language) lists: HashMap<String, Vec<u32>>,
    pub(in crate::language) sounds_as: HashMap<u32, Vec<u32>>,
    /// Other names of kinds of filter: the kind, and how else it is called.
    pub also: Vec<(u32, String)>,
    /// Words that recognisers tear apart, and the word that is meant.
    pub torn: Vec<(Vec<u32>, u32)>,
    /// Words heard for a number in a certain place: the list, the words, the number's word.
    pub heard_in_place: Vec<(String, Vec<u32>, u32)>,
    /// Frames of the roll that holds most.
    pub most_frames: Option<u16>,
    pub(in crate::language) sounds: SoundRules,
    pub(in crate::language) sound_names: HashMap<String, Vec<SoundName>>,
    pub(in crate::language) sound_initials: Vec<char>,
    pub(in crate::language) spoken: super::wordings::NumberWordings,
    pub(in crate::language) primes: Vec<f64>,
    pub(in crate::language) focals: Vec<Focal>,
    pub(in crate::language) dials: Vec<Dial>,
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
            also: Vec::new(),
            torn: Vec::new(),
            heard_in_place: Vec::new(),
            most_frames: kit.cameras.iter().map(|c| c.frames).max(),
            sounds: SoundRules::default(),
            sound_names: HashMap::new(),
            sound_initials: Vec::new(),
            spoken: super::wordings::NumberWordings::default(),
            dials: kit.cameras.iter().map(|c| c.dial.clone()).collect(),
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
        lexicon.spoken = super::wordings::NumberWordings::from_file(text.numbers);
        Ok(lexicon)
    }

    /// Whether the kit has a lens of this one focal length.
    pub fn has_prime(&self, mm: f64) -> bool {
        self.primes.iter().any(|p| (p - mm).abs() < SAME_MM)
    }

    /// Whether a lens of the kit can be set to a focal length.
    pub fn covers(&self, lens: u16, mm: f64) -> bool {
        self.focals.get(usize::from(lens)).is_some_and(|f| f.covers(mm))
    }

    /// Whether some lens can be set to a focal length; of lenses not known, any may.
    pub fn reaches(&self, mm: f64) -> bool {
        (8.0..=2000.0).contains(&mm) && (self.focals.is_empty() || self.focals.iter().any(|f| f.covers(mm)))
    }

    /// The word for a small number written as a digit; a one is left out, it is too often a part of 1/60.
    pub fn word_of(&self, token: &Token) -> Option<u32> {
        match token.kind {
            Kind::Number { value, digits: 1, decimals: 0 } if value != 1.0 => self.numbers.unit_word(value as u32),
            _ => None,
        }
    }

    /// How numbers are said, for wordings.
    pub fn spoken(&self) -> &super::wordings::NumberWordings {
        &self.spoken
    }

    /// Words that a heard word may stand for.
    pub fn meant_by(&self, id: u32) -> &[u32] {
        self.sounds_as.get(&id).map_or(&[], Vec::as_slice)
    }

    /// Whether a token is in a word list.
    pub fn in_list(&self, list: &str, token: &Token) -> bool {
        token.id.is_some_and(|id| self.lists.get(list).is_some_and(|l| l.contains(&id)))
    }

    /// A name as said, in lower case, without the words before and behind it that are no part of it.
    pub fn bare_name(&self, name: &str) -> String {
        let folded = fold(name);
        let all: Vec<Token> = tokens(&folded).collect();
        let id = |t: &Token| Token { id: self.words.get(&*word(&folded, t)).copied(), ..t.clone() };
        let all: Vec<Token> = all.iter().map(id).collect();
        let from = all.iter().take_while(|t| t.is_mark() || self.in_list("leading", t)).count();
        let behind = |t: &&Token| t.is_mark() || self.in_list("behind-name", t);
        let to = all.len() - all.iter().rev().take_while(behind).count();
        match (all.get(from), to.checked_sub(1).and_then(|l| all.get(l))) {
            (Some(first), Some(last)) if from < to => folded[first.span.start..last.span.end].to_owned(),
            _ => String::new(),
        }
    }

    /// The number of a token's word, which is given one if it has none.
    pub fn id_of(&mut self, folded: &str, token: &Token) -> u32 {
        token.id.unwrap_or_else(|| self.id(&word(folded, token)))
    }

    pub(in crate::language) fn id(&mut self, word: &str) -> u32 {
        let next = self.words.len() as u32;
        *self.words.entry(word.to_owned()).or_insert(next)
    }

    pub(in crate::language) fn value(&mut self, text: &str) -> u32 {
        match self.values.iter().position(|v| v == text) {
            Some(i) => i as u32,
            None => {
                self.values.push(text.to_owned());
                self.values.len() as u32 - 1
            }
        }
    }
}

/// The word of a token: its text without filler.
pub fn word<'a>(folded: &'a str, token: &Token) -> Cow<'a, str> {
    let text = &folded[token.span.clone()];
    if text.contains(FILLER) { text.replace(FILLER, "").into() } else { text.into() }
}
