//! A language joined with a kit: text in, acts out.

use crate::kit::Kit;

use super::act::Said;
use super::lexicon::{ENGLISH, GrammarError, GrammarText, Lexicon};
use super::statement::{Reading, acts};
use super::term::{Found, find};
use super::token::{Token, fold};

/// A language joined with a kit: everything needed to read notes.
pub struct Language {
    kit: Kit,
    lexicon: Lexicon,
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

impl Stages {
    /// The phrases found, one a line: the words, and what they mean.
    pub fn phrases(&self) -> String {
        let mut out = String::new();
        for t in &self.found.terms {
            let from = self.tokens[usize::from(t.start)].span.start;
            let to = self.tokens[usize::from(t.end) - 1].span.end;
            out.push_str(&format!("    {:?}: {} ({:.2})\n", &self.folded[from..to], t.class.as_str(), t.weight));
        }
        out
    }
}

impl Language {
    /// Joins the built-in English grammar with a kit.
    pub fn english(kit: Kit) -> Self {
        Self::from_text(&ENGLISH, kit).expect("a test reads the built-in grammar")
    }

    /// Joins a grammar with a kit.
    ///
    /// # Errors
    /// [`GrammarError`] with file and line.
    pub fn from_text(text: &GrammarText<'_>, kit: Kit) -> Result<Self, GrammarError> {
        let lexicon = Lexicon::new(text, &kit)?;
        Ok(Self { kit, lexicon })
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
