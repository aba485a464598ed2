//! Text to tokens, and every number that some of them may be read as. Chooses nothing, and knows no phrase, no kit
//! and no language: number words and sounds come in as data.

pub mod marks;
mod mended;
mod number;
mod sound;
mod stretch;
mod token;

pub use mended::Mend;
pub use number::{How, Number, NumberKind, NumberWord, NumberWords, numbers};
pub use sound::{SoundRules, distance};
pub use stretch::{MOST_TOKENS, stretches};
pub use token::{FILLER, Kind, Token, fold, tokens};
