//! Results on standard output. A reader that has gone, as with `| head`, is no fault.

use std::io::{self, Write, stdout};

use super::Exit;
use super::failure::Failure;

/// Prints a text as it is.
pub fn text(text: &str) -> Result<Exit, Failure> {
    bytes(text.as_bytes())
}

/// Prints bytes as they are.
pub fn bytes(bytes: &[u8]) -> Result<Exit, Failure> {
    ended(stdout().write_all(bytes).and_then(|()| stdout().flush()))
}

/// What the end of a write to standard output means.
pub fn ended(written: io::Result<()>) -> Result<Exit, Failure> {
    match written {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => Err(Failure::nothing(format_args!("standard output: {e}"))),
        _ => Ok(Exit::Done),
    }
}
