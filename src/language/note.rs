//! A language joined with a kit: text in, acts out.

use std::sync::{Arc, OnceLock};

use crate::kit::Kit;

use super::act::Said;
use super::compose::{NoteSaid, compose};
use super::lexicon::{ENGLISH, GrammarError, GrammarText, Lexicon};
use super::statement::{Reading, acts};
use super::tag::{Read, Reader};
use super::term::{Found, find};
use super::token::{Token, fold};

/// A language joined with a kit: everything needed to read notes.
pub struct Language {
    kit: Kit,
    lexicon: Lexicon,
    reader: Arc<Reader>,
}

/// A text, read whole.
pub struct Told {
    /// The text, folded.
    pub folded: String,
    /// Its tokens.
    pub tokens: Vec<Token>,
    /// Its phrases.
    pub found: Found,
    /// What the learned reader makes of it.
    pub read: Read,
    /// What it says of frames and of their roll.
    pub said: NoteSaid,
}

/// The stages of reading one text.
pub struct Stages {
    /// The text, folded.
    pub folded: String,
    /// Its tokens.
    pub tokens: Vec<Token>,
    /// Its phrases.
    pub found: Found,
    /// What it says.
    pub acts: Vec<Said>,
}

impl Language {
    /// Joins the built-in English grammar with a kit.
    pub fn english(kit: Kit) -> Self {
        static READER: OnceLock<Arc<Reader>> = OnceLock::new();
        let read = || Arc::new(reader(&ENGLISH).expect("a test reads the built-in weights"));
        let lexicon = Lexicon::new(&ENGLISH, &kit).expect("a test reads the built-in grammar");
        Self { kit, lexicon, reader: Arc::clone(READER.get_or_init(read)) }
    }

    /// Joins a grammar with a kit.
    ///
    /// # Errors
    /// [`GrammarError`] with file and line.
    pub fn from_text(text: &GrammarText<'_>, kit: Kit) -> Result<Self, GrammarError> {
        let lexicon = Lexicon::new(text, &kit)?;
        Ok(Self { kit, lexicon, reader: Arc::new(reader(text)?) })
    }

    /// The kit.
    pub fn kit(&self) -> &Kit {
        &self.kit
    }

    /// The phrases.
    pub fn lexicon(&self) -> &Lexicon {
        &self.lexicon
    }

    /// Whether a stretch of text has a word that names frames, such as "sheet".
    pub fn is_frame_word(&self, text: &str) -> bool {
        let folded = fold(text);
        self.lexicon.tokens(&folded).iter().any(|t| self.lexicon.in_list("frame-word", t))
    }

    /// Reads a text whole: its phrases, the learned reader's mentions, the frames.
    pub fn told(&self, text: &str) -> Told {
        let folded = fold(text);
        let tokens = self.lexicon.tokens(&folded);
        let found = find(&folded, &tokens, &self.lexicon);
        let reading =
            Reading { folded: &folded, text, tokens: &tokens, found: &found, lexicon: &self.lexicon, kit: &self.kit };
        let read = self.reader.read(&reading);
        let said = compose(&reading, &read);
        Told { folded, tokens, found, read, said }
    }

    /// Reads a text, with every stage.
    pub fn stages(&self, text: &str) -> Stages {
        let folded = fold(text);
        let tokens = self.lexicon.tokens(&folded);
        let found = find(&folded, &tokens, &self.lexicon);
        let reading =
            Reading { folded: &folded, text, tokens: &tokens, found: &found, lexicon: &self.lexicon, kit: &self.kit };
        let acts = acts(&reading);
        Stages { folded, tokens, found, acts }
    }

    /// What a text says, act by act.
    pub fn acts(&self, text: &str) -> Vec<Said> {
        self.stages(text).acts
    }
}

/// The learned reader of a grammar.
fn reader(text: &GrammarText<'_>) -> Result<Reader, GrammarError> {
    Reader::new(text.pieces, text.weights)
        .map_err(|why| GrammarError { file: "reader.weights".to_owned(), line: 1, what: why.to_string() })
}
