//! What was heard: words with their times, gathered into utterances.

use std::ops::Range;

use serde::{Deserialize, Serialize};

use super::Question;
use crate::audio::Sound;
use crate::facts::Confidence;

/// One word as heard, with the punctuation the recogniser put on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Word {
    /// The word, without surrounding spaces: `f/8,` or `sixtieth.`
    pub text: String,
    /// Seconds from the clip's start where it begins; 0 when not known.
    pub start_s: f64,
    /// Seconds from the clip's start where it ends; 0 when not known.
    pub end_s: f64,
    /// How sure the recogniser is of it; 1 for a text that somebody wrote.
    pub confidence: Confidence,
}

impl Word {
    /// A written word: certain, with no time of its own.
    pub fn written(text: &str) -> Self {
        Self { text: text.to_owned(), start_s: 0.0, end_s: 0.0, confidence: Confidence::SURE }
    }
}

/// One way a stretch of words could have been spoken, and how well the sound fits it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Wording {
    /// As it would be said: `one twenty-fifth`.
    pub text: String,
    /// Natural logarithm of the probability that the recogniser gives the
    /// sound under this wording, its context included. Only differences between the
    /// wordings of one question mean anything.
    pub logprob: f64,
}

/// The answer to one question: its words, and every wording with its score.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Scored {
    /// Which words of the utterance, by index.
    pub words: Range<usize>,
    /// All wordings asked about, the one heard first.
    pub wordings: Vec<Wording>,
}

/// What was said between two pauses.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Utterance {
    /// Seconds from the clip's start where it begins.
    pub start_s: f64,
    /// Seconds from the clip's start where it ends.
    pub end_s: f64,
    /// The words in order.
    pub words: Vec<Word>,
    /// What a second listen found, in the order it was asked; empty without one.
    #[serde(default)]
    pub scored: Vec<Scored>,
}

impl Utterance {
    /// The words with single spaces between them.
    pub fn text(&self) -> String {
        text_of(&self.words)
    }

    /// Whether `scored` holds an answer to each of these questions.
    pub fn answers_all(&self, questions: &[Question]) -> bool {
        questions.iter().all(|q| {
            self.scored.iter().any(|s| s.words == q.words && s.wordings.iter().map(|w| &w.text).eq(&q.wordings))
        })
    }
}

/// Everything heard in one clip, in order.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Transcript {
    /// What was said, pause by pause.
    pub utterances: Vec<Utterance>,
    /// How the recording sounded; none of a text, nor of a clip that nobody decoded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sound: Option<Sound>,
    /// Times written in a text that make no sense; their words are kept without a time.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub bad_times: usize,
}

fn is_zero(n: &usize) -> bool {
    *n == 0
}

impl Transcript {
    /// All words, one utterance a line.
    pub fn text(&self) -> String {
        self.utterances.iter().map(Utterance::text).collect::<Vec<_>>().join("\n")
    }

    /// True when nothing was said.
    pub fn is_empty(&self) -> bool {
        self.utterances.iter().all(|u| u.words.is_empty())
    }
}

/// Words with single spaces between them.
pub fn text_of(words: &[Word]) -> String {
    words.iter().map(|w| w.text.as_str()).collect::<Vec<_>>().join(" ")
}
