//! Why a command stopped, in the words and with the exit code that the user gets.

use std::fmt::Display;
use std::path::Path;

use super::Exit;

/// A command that could not be done.
#[derive(Debug)]
pub struct Failure {
    /// What the shell is told.
    pub exit: Exit,
    /// What the user is told.
    pub why: String,
}

impl Failure {
    /// The arguments or the kit make no sense.
    pub fn usage(why: impl Display) -> Self {
        Self { exit: Exit::Usage, why: why.to_string() }
    }

    /// Nothing could be done.
    pub fn nothing(why: impl Display) -> Self {
        Self { exit: Exit::Nothing, why: why.to_string() }
    }

    /// A file that could not be read or written.
    pub fn at(path: &Path, why: impl Display) -> Self {
        Self::nothing(format_args!("{}: {why}", path.display()))
    }
}
