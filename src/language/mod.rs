//! Words to what was meant. Knows no language of its own: the grammar is data
//! under `grammar/`, the gear comes from the kit.

mod aside;
mod aside_kind;
mod class;
pub mod compose;
mod developing;
mod film_name;
pub mod gear;
mod grammar;
mod kit_names;
mod lexicon;
mod listen;
mod marks;
mod mend;
mod mend_joined;
mod mended;
mod mistaken;
mod note;
mod number;
mod pattern;
mod reach;
mod reading;
mod search;
mod sense;
mod sound;
mod spoken;
mod stretch;
pub mod tag;
mod term;
mod token;
mod trie;
pub mod value;
pub mod ways;

pub use aside::Aside;
pub use aside_kind::AsideKind;
pub use developing::DevelopingSaid;
pub use lexicon::{ENGLISH, GrammarError, GrammarText, Lexicon};
pub use listen::Sounds;
pub use mistaken::Value;
pub use note::{Language, Told};
pub use number::{Number, NumberKind};
pub use reach::reach;
pub use stretch::MOST_TOKENS;
pub use token::Token;
