//! Hearing: where the words of a clip come from, and how sure they are.
//! Knows no trade: what words mean is `language`'s business.

mod cache;
mod clips;
#[cfg(feature = "whisper")]
mod decoding;
mod error;
#[cfg(feature = "whisper")]
mod hearing;
pub mod model;
#[cfg(feature = "whisper")]
mod names;
#[cfg(feature = "whisper")]
mod processor;
mod question;
mod recogniser;
#[cfg(feature = "whisper")]
mod scoring;
mod second;
#[cfg(feature = "whisper")]
mod spelling;
#[cfg(feature = "whisper")]
mod spoken;
#[cfg(feature = "whisper")]
mod timing;
mod transcript;
#[cfg(feature = "whisper")]
mod whisper;
mod words;

pub use cache::{Cache, Content};
pub use clips::{Heard, hear, hear_all};
pub use error::SpeechError;
#[cfg(feature = "whisper")]
pub use hearing::{Hearing, Settings};
pub use question::Question;
pub use recogniser::{Recogniser, Script};
pub use second::{Asker, NoQuestions};
pub use transcript::{LONGEST_TEXT, TextKind, transcript};
pub use words::{Scored, Transcript, Utterance, Word, Wording, text_of};
