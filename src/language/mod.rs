//! Words to what was meant. Knows no language of its own: the grammar is data
//! under `grammar/`, the gear comes from the kit.

mod note;

pub use note::{Language, Note};
