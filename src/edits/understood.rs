//! What a cell was understood as.

/// A changed cell, in the table's own form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Understood {
    pub text: String,
    /// A spreadsheet had changed what was typed; this is what it most likely was.
    pub guessed: bool,
}
