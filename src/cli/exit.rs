//! What the program tells the shell.

use std::process::ExitCode;

/// How a run ended. The worst of several stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// Everything was done.
    Done,
    /// Done, but some input was unusable; each was named, with why.
    Partly,
    /// The arguments or the kit make no sense.
    Usage,
    /// Nothing could be done: no model, no input, no room to write.
    Nothing,
}

impl Exit {
    /// The number that the shell sees.
    pub const fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Partly => 1,
            Self::Usage => 2,
            Self::Nothing => 3,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit.code())
    }
}
