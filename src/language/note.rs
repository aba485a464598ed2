//! A language joined with a kit: text in, acts out.

use crate::kit::Kit;

use super::act::{Act, Said};
use super::lexicon::{ENGLISH, GrammarError, GrammarText, Lexicon};
use super::statement::{Modes, Reading, acts};
use super::stretch::stretches;
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
    /// Its tokens, with what was found in them, stretch by stretch.
    pub stretches: Vec<(Vec<Token>, Found)>,
    /// What it says.
    pub acts: Vec<Said>,
}

impl Stages {
    /// The phrases found, one a line: the words, and what they mean.
    pub fn phrases(&self) -> String {
        let mut out = String::new();
        for (tokens, found) in &self.stretches {
            for t in &found.terms {
                let from = tokens[usize::from(t.start)].span.start;
                let to = tokens[usize::from(t.end) - 1].span.end;
                out.push_str(&format!("    {:?}: {} ({:.2})\n", &self.folded[from..to], t.class.as_str(), t.weight));
            }
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
        let mut stretches = Vec::new();
        let (folded, acts) = self.read(text, |tokens, found| stretches.push((tokens, found)));
        Stages { folded, stretches, acts }
    }

    /// What a text says, act by act.
    pub fn acts(&self, text: &str) -> Vec<Said> {
        self.read(text, |_, _| {}).1
    }

    /// Folds a text and reads it stretch by stretch; `done` is given what was found in each.
    fn read(&self, text: &str, mut done: impl FnMut(Vec<Token>, Found)) -> (String, Vec<Said>) {
        let folded = fold(text);
        let (mut said, mut modes) = (Vec::new(), Modes::default());
        for stretch in stretches(&folded) {
            let tokens = self.lexicon.known(&folded, stretch);
            let found = find(&folded, &tokens, &self.lexicon);
            let reading = Reading {
                folded: &folded,
                text,
                tokens: &tokens,
                found: &found,
                lexicon: &self.lexicon,
                kit: &self.kit,
            };
            said.extend(acts(&reading, &mut modes));
            done(tokens, found);
        }
        // The text ends the last sentence.
        let (act, mode, span) = (Act::SentenceEnd, modes.mode, text.len()..text.len());
        said.push(Said { act, mode, doubt: false, weight: 1.0, heard: 1.0, mended: 1.0, span });
        (folded, said)
    }
}
