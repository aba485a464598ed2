//! The grammar's files and the kit's names as one lexicon. Says what words can mean; reads no text of anybody's, and has
//! no word of a language in its code: all of them stand under `grammar/`.

mod class;
mod kit_names;
mod lexicon;
mod load;
mod pattern;
mod trie;
mod wordings;

pub use class::Class;
pub use lexicon::{ENGLISH, GrammarError, GrammarText, KitThing, Lexicon, SoundsLike, word};
pub use load::{lines, split_line, with_groups};
pub use pattern::{Piece, expand};
pub use trie::{Meaning, NO_VALUE, Slot, Trie};
