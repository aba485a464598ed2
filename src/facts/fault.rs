//! A fault of the program itself, kept to the one thing that it was met in.

use std::panic::{AssertUnwindSafe, catch_unwind};

/// A fault of the program, in its own words. It costs what was being done, and nothing else.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("a fault of this program, please report it: {0}")]
pub struct Fault(pub String);

/// What `work` gives. Whatever it changed before a fault must not be used afterwards.
///
/// # Errors
/// [`Fault`] when it panics.
pub fn caught<T>(work: impl FnOnce() -> T) -> Result<T, Fault> {
    catch_unwind(AssertUnwindSafe(work)).map_err(|panic| {
        let text = panic.downcast_ref::<String>().map(String::as_str);
        let text = text.or_else(|| panic.downcast_ref::<&str>().copied());
        Fault(text.unwrap_or("no reason given").to_owned())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_tells_its_reason() {
        assert_eq!(caught(|| 7), Ok(7));
        let numbers = [1, 2];
        let why = caught(|| numbers[numbers.len()]).unwrap_err().to_string();
        assert!(why.contains("report it") && why.contains("out of bounds"), "{why}");
    }
}
