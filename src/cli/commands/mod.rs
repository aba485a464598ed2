//! One file a command.

mod parse;
mod shell;

pub use parse::parse;
pub use shell::{completions, man};
