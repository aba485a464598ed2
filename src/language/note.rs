//! A language joined with a kit: text in, what it says out.

use std::sync::{Arc, OnceLock};

use crate::kit::Kit;

use crate::language::beside::{Aside, AsideKind, Asides};
use crate::language::compose::{NoteSaid, Stretches, compose, in_turn, told_alone};
use crate::language::grammar::{ENGLISH, GrammarError, GrammarText, Lexicon};
use crate::language::phrases::{Found, Passage, Whole, find};
use crate::language::tag::{Read, Reader};
use crate::language::text::{Number, Token, fold, stretches};

/// A language joined with a kit: everything needed to read notes.
pub struct Language {
    kit: Kit,
    lexicon: Lexicon,
    asides: Asides,
    reader: Arc<Reader>,
}

/// A text, read whole. Places of tokens count through the whole text.
#[derive(Default)]
pub struct Told {
    /// The text, folded.
    pub folded: String,
    /// Its tokens.
    pub tokens: Vec<Token>,
    /// Its phrases, stretch by stretch, each with the place of its first token.
    pub found: Vec<(usize, Found)>,
    /// What the learned reader makes of it.
    pub read: Read,
    /// What it says of frames and of their roll.
    pub said: NoteSaid,
    /// What it says beside the settings, in the order said.
    pub asides: Vec<Aside>,
}

impl Told {
    /// Adds a stretch behind those that were read.
    fn push(&mut self, tokens: Vec<Token>, found: Found, read: Read, mut said: NoteSaid) {
        let at = self.tokens.len();
        said.moved(at, self.read.mentions.len());
        self.tokens.extend(tokens);
        self.found.push((at, found));
        self.read.push(read, at);
        self.said.push(said);
    }

    /// The same without what the reader makes of it.
    pub fn whole(&self) -> Whole<'_> {
        Whole { folded: &self.folded, tokens: &self.tokens, found: &self.found }
    }

    /// Every number that may be read, with the place of its first token.
    pub fn numbers(&self) -> impl Iterator<Item = (usize, &Number)> {
        self.whole().numbers()
    }

    /// The phrases found, one a line: the words, and what they mean.
    pub fn phrases(&self) -> String {
        self.found.iter().map(|(at, found)| found.lines(&self.folded, &self.tokens[*at..])).collect()
    }
}

impl Language {
    /// Joins the built-in English grammar with a kit.
    pub fn english(kit: Kit) -> Self {
        static READER: OnceLock<Arc<Reader>> = OnceLock::new();
        let read = || Arc::new(reader(&ENGLISH).expect("a test reads the built-in weights"));
        let lexicon = Lexicon::new(&ENGLISH, &kit).expect("a test reads the built-in grammar");
        let asides = Asides::new(ENGLISH.asides, &kit, &lexicon).expect("a test reads the built-in grammar");
        Self { kit, lexicon, asides, reader: Arc::clone(READER.get_or_init(read)) }
    }

    /// Joins a grammar with a kit.
    ///
    /// # Errors
    /// [`GrammarError`] with file and line.
    pub fn from_text(text: &GrammarText<'_>, kit: Kit) -> Result<Self, GrammarError> {
        let lexicon = Lexicon::new(text, &kit)?;
        let asides = Asides::new(text.asides, &kit, &lexicon)?;
        Ok(Self { kit, lexicon, asides, reader: Arc::new(reader(text)?) })
    }

    /// The kit.
    pub fn kit(&self) -> &Kit {
        &self.kit
    }

    /// The phrases.
    pub fn lexicon(&self) -> &Lexicon {
        &self.lexicon
    }

    /// Reads a text whole, stretch by stretch: its phrases, the learned reader's mentions, the frames.
    pub fn told(&self, text: &str) -> Told {
        let folded = fold(text);
        let mut told = Told::default();
        for stretch in stretches(&folded) {
            let tokens = self.lexicon.known(&folded, stretch);
            let found = find(&folded, &tokens, &self.lexicon);
            let reading = self.reading(&folded, text, &tokens, &found);
            let mut read = self.reader.read(&reading);
            told_alone(&reading, &mut read);
            in_turn(&reading, &mut read);
            let said = compose(&reading, &read);
            told.push(tokens, found, read, said);
        }
        told.folded = folded;
        told.asides = self.asides.of(told.whole(), &self.lexicon);
        told.asides.retain(|a| !a.kind.is_of_developing());
        // What is said of a bellows is no focal length.
        let asides = told.asides.iter().filter(|a| a.kind != AsideKind::Place).map(|a| &a.tokens);
        told.said.without(&Stretches::of(asides));
        told
    }

    pub(super) fn asides(&self) -> &Asides {
        &self.asides
    }

    /// A stretch of a text that was read as far as its phrases.
    pub(super) fn reading<'a>(
        &'a self,
        folded: &'a str,
        text: &'a str,
        tokens: &'a [Token],
        found: &'a Found,
    ) -> Passage<'a> {
        Passage { folded, text, tokens, found, lexicon: &self.lexicon, kit: &self.kit }
    }
}

/// The learned reader of a grammar.
fn reader(text: &GrammarText<'_>) -> Result<Reader, GrammarError> {
    Reader::new(text.pieces, text.weights).map_err(|why| GrammarError {
        file: "reader.weights".to_owned(),
        line: 1,
        what: why.to_string(),
    })
}
