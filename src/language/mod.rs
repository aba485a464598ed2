//! Words to what was meant. Knows no language of its own: the grammar is data
//! under `grammar/`, the gear comes from the kit.
//!
//! Sub-rooms stand in the order in which words pass through them, and each uses only those above it: text, grammar, mend,
//! phrases, tag, readings, compose, beside; then [`Language`] joins them, and listen asks the sound again.

mod text;

mod grammar;

mod mend;

mod phrases;

pub mod tag;

pub mod readings;

pub mod compose;

mod beside;

mod note;

mod listen;

mod developing;
mod parsed;
mod reach;
mod seen;

pub use beside::{Aside, AsideKind};
pub use developing::DevelopingSaid;
pub use grammar::{ENGLISH, GrammarError, GrammarText, Lexicon};
pub use listen::{Sounds, Value};
pub use note::{Language, Told};
pub use parsed::parsed;
pub use reach::reach;
pub use text::{MOST_TOKENS, Number, NumberKind, Token};
