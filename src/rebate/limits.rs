//! How much of a typed film edge is read. A line costs thousands of times its
//! own length to read, and a roll holds some hundred frames, not millions.
//!
//! Bulk magazines hold 250 frames, 500 on half frames, and a file may carry
//! remarks beside each; the longest prints have some sixty characters. The
//! limits are several times that: nothing that a camera wrote meets them.

use super::frame::RebateError;

/// Most bytes of a file.
pub(super) const MOST_BYTES: usize = 4 << 20;
/// Most lines of a file that are not blank.
pub(super) const MOST_LINES: usize = 2_000;
/// Most columns of a table: three times those that the output has.
pub(super) const MOST_COLUMNS: usize = 100;
/// Most characters of a line in the camera's pattern, or of a cell.
pub(super) const LONGEST: usize = 200;
/// Most characters of foreign text in a message.
const BRIEF: usize = 40;

/// Fails where there are more than are read.
pub(super) fn at_most(most: usize, found: usize, what: &'static str) -> Result<(), RebateError> {
    if found > most { Err(RebateError::TooMany { what, found, most }) } else { Ok(()) }
}

/// What is wrong with a line or cell that is too long; none when it is not.
pub(super) fn too_long(text: &str) -> Option<String> {
    let found = text.chars().count();
    (found > LONGEST).then(|| format!("'{}' has {found} characters; at most {LONGEST} are read", brief(text)))
}

/// The beginning of a text, for a message.
pub(super) fn brief(text: &str) -> String {
    match text.char_indices().nth(BRIEF) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_too_long_is_told_in_brief() {
        assert_eq!(too_long(&"é".repeat(LONGEST)), None);
        let why = too_long(&"é".repeat(5000)).unwrap();
        assert_eq!(why, format!("'{}…' has 5000 characters; at most 200 are read", "é".repeat(40)));
        assert!(at_most(2, 2, "lines").is_ok());
        assert_eq!(at_most(2, 3, "lines").unwrap_err().to_string(), "has 3 lines; at most 2 of a roll's edge are read");
    }
}
