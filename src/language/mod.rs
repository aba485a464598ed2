//! Words to what was meant. Knows no language of its own: the grammar is data
//! under `grammar/`, the gear comes from the kit.

pub mod act;
mod class;
pub mod compose;
mod film_name;
pub mod gear;
mod grammar;
mod kit_names;
mod lexicon;
mod listen;
mod listing;
mod marks;
mod meaning;
mod mend;
mod mend_joined;
mod mended;
mod mistaken;
mod note;
mod number;
mod pattern;
mod role;
mod role_corrected;
mod role_counted;
mod role_leftover;
mod role_listed;
mod role_paired;
mod role_places;
mod search;
mod sense;
mod sound;
mod spoken;
mod statement;
mod stretch;
mod subject;
pub mod tag;
mod term;
mod token;
mod trie;
pub mod value;
pub mod ways;

pub use lexicon::{ENGLISH, GrammarError, GrammarText, Lexicon};
pub use note::{Language, Stages, Told};
pub use number::{Number, NumberKind};
pub use stretch::MOST_TOKENS;
pub use subject::LIKE_A_NAME;
pub use token::Token;
