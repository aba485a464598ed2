//! The photographer's own description of how scans are named.
//!
//! ```text
//! pattern = { text | "{frame}" | "{roll}" | "{date}" | "{any}" | "*" }
//! ```
//! Letters and digits of the text stand for themselves without case; any
//! separator stands for any run of separators.

use regex::Regex;

/// A pattern that cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PatternError {
    /// An unknown or unclosed placeholder.
    #[error("scan pattern '{0}': expected {{frame}}, {{roll}}, {{date}}, {{any}} or plain text")]
    Placeholder(String),
    /// No place for the frame.
    #[error("scan pattern '{0}': {{frame}} is missing")]
    NoFrame(String),
}

/// A compiled pattern.
#[derive(Debug, Clone)]
pub struct NamePattern(Regex);

/// What a pattern found in a name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PatternFound {
    /// The frame's number.
    pub value: u32,
    /// Whether the letter A follows.
    pub a: bool,
    /// The roll's name, where the pattern has one.
    pub roll: Option<String>,
}

impl NamePattern {
    /// Compiles a pattern.
    ///
    /// # Errors
    /// [`PatternError`] when it holds an unknown placeholder or no `{frame}`.
    pub fn new(pattern: &str) -> Result<Self, PatternError> {
        let bad = || PatternError::Placeholder(pattern.to_owned());
        let mut out = String::from("(?i)^");
        let mut rest = pattern;
        let (mut frame, mut roll) = (false, false);
        while let Some(c) = rest.chars().next() {
            if c == '{' {
                let end = rest.find('}').ok_or_else(bad)?;
                match &rest[1..end] {
                    "frame" if !frame => {
                        frame = true;
                        out.push_str(r"(?P<frame>\d{1,5})(?P<a>a)?");
                    }
                    "roll" if !roll => {
                        roll = true;
                        out.push_str(r"(?P<roll>[\p{L}\d]+(?:[ -][\p{L}\d]+)*?)");
                    }
                    "date" => out.push_str(r"\d{4}[-_.]?\d{2}[-_.]?\d{2}"),
                    "any" | "order" => out.push_str(".*?"),
                    _ => return Err(bad()),
                }
                rest = &rest[end + 1..];
                continue;
            }
            rest = &rest[c.len_utf8()..];
            match c {
                '*' => out.push_str(".*?"),
                c if c.is_alphanumeric() => out.push_str(&regex::escape(&c.to_string())),
                _ if out.ends_with(r"[\W_]*") => {}
                _ => out.push_str(r"[\W_]*"),
            }
        }
        if !frame {
            return Err(PatternError::NoFrame(pattern.to_owned()));
        }
        out.push('$');
        Regex::new(&out).map(Self).map_err(|_| bad())
    }

    /// Reads a name without its extension.
    pub fn read(&self, stem: &str) -> Option<PatternFound> {
        let found = self.0.captures(stem)?;
        Some(PatternFound {
            value: found["frame"].parse().ok()?,
            a: found.name("a").is_some(),
            roll: found.name("roll").map(|r| r.as_str().to_owned()),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pattern_tells_where_the_frame_stands() {
        let p = NamePattern::new("{date}_{frame}-{roll}").unwrap();
        let found = p.read("2025-06-01_012A-roll 7").unwrap();
        assert_eq!((found.value, found.a, found.roll.as_deref()), (12, true, Some("roll 7")));
        assert_eq!(p.read("012A-roll 7"), None);
        assert_eq!(NamePattern::new("neg{frame}*").unwrap().read("NEG7 final").unwrap().value, 7);
    }

    #[test]
    fn a_bad_pattern_says_what_is_expected() {
        assert!(matches!(NamePattern::new("{roll}"), Err(PatternError::NoFrame(_))));
        assert!(matches!(NamePattern::new("{moon}_{frame}"), Err(PatternError::Placeholder(_))));
        assert!(matches!(NamePattern::new("{frame"), Err(PatternError::Placeholder(_))));
    }
}
