//! Dates and times that recorders and phones put into file names:
//! `VID_20250618_091502.mp4`, `2025-06-18 11.20.05.m4a`, `Note 2025-06-18 at 11.20.m4a`.

use std::sync::LazyLock;

use jiff::civil::DateTime;
use regex::Regex;

static PATTERN: LazyLock<Regex> = LazyLock::new(|| {
    let date = r"(?:^|\D)((?:19|20)\d\d)([-_.]?)(\d\d)[-_.]?(\d\d)";
    let between = r"(?:\s+at\s+|[-_ T.,]{1,3})?";
    let time = r"(\d\d)[-_.:h]?(\d\d)(?:[-_.:m]?(\d\d)(?:[.,]?\d{3})?)?";
    Regex::new(&format!(r"{date}{between}{time}(?:\D|$)")).expect("a pattern of ours")
});

/// The local time in a file's name, when there is one.
pub(super) fn time_in(name: &str) -> Option<DateTime> {
    let found = PATTERN.captures(name)?;
    let number = |i: usize| found.get(i).map_or(Some(0), |m| m.as_str().parse::<i16>().ok());
    let small = |i: usize| number(i).and_then(|n| i8::try_from(n).ok());
    DateTime::new(number(1)?, small(3)?, small(4)?, small(5)?, small(6)?, small(7)?, 0).ok()
}

#[cfg(test)]
mod tests {
    use super::time_in;

    #[test]
    fn what_phones_write() {
        for (name, want) in [
            ("VID_20250618_091502.mp4", "2025-06-18T09:15:02"),
            ("2025-06-18 11.20.05.m4a", "2025-06-18T11:20:05"),
            ("20250618-112005.wav", "2025-06-18T11:20:05"),
            ("20250618112005.wav", "2025-06-18T11:20:05"),
            ("Note 2025-06-18 at 11.20.m4a", "2025-06-18T11:20:00"),
            ("rec_2025-06-18T11-20-05.123.ogg", "2025-06-18T11:20:05"),
            ("VID_20250618_091502123.mp4", "2025-06-18T09:15:02"),
        ] {
            assert_eq!(time_in(name).map(|t| t.to_string()).as_deref(), Some(want), "{name}");
        }
    }

    #[test]
    fn numbers_that_are_no_time() {
        for name in [
            "IMG_0418.mov",
            "pier 01.m4a",
            "20251399_091502.mp4",
            "20250618.m4a",
            "roll 2025 06.m4a",
            "120250618_0915.m4a",
        ] {
            assert_eq!(time_in(name), None, "{name}");
        }
    }
}
