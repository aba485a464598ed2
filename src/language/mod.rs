//! Words to what was meant. Knows no language of its own: the grammar is data
//! under `grammar/`, the gear comes from the kit.

pub mod act;
mod class;
pub mod gear;
mod lexicon;
mod listen;
mod note;
mod number;
mod pattern;
mod role;
mod sound;
mod spoken;
mod statement;
mod term;
mod token;
mod trie;
pub mod ways;

pub use lexicon::{ENGLISH, GrammarError, GrammarText};
pub use note::{Language, Stages};
