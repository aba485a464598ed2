//! Names of rolls and numbers of frames, as they stand on the film.

use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// What a text must look like to be a name, when it does not.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NameError {
    /// Not a frame number.
    #[error("'{0}' is no frame number: expected 0 to 999, 00, or a number with a side such as 12A or 4B")]
    Frame(String),
    /// Nothing left of a roll name once the punctuation is gone.
    #[error("'{0}' is no roll name: expected letters or digits")]
    Roll(String),
}

/// A number on the film: `00`, `0`, `7`, `12A`; on sheet film the holder's, with the side where
/// that is said: `4A`, `4B`. Orders as on the film: `00` before `0`, `12A` between `12` and `13`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct FrameNumber {
    place: i16,
    side: Side,
}

/// The letter behind a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
enum Side {
    None,
    A,
    B,
}

impl FrameNumber {
    /// The number `00`, before `0`.
    pub const DOUBLE_ZERO: Self = Self { place: -1, side: Side::None };

    /// A plain number, `0` to `999`.
    pub const fn new(n: u16) -> Self {
        Self { place: n as i16, side: Side::None }
    }

    /// The `A` number after this one, such as `12A` after `12`.
    pub const fn with_a(self) -> Self {
        Self { place: self.place, side: Side::A }
    }

    /// Whether a side is named.
    pub const fn has_side(self) -> bool {
        !matches!(self.side, Side::None)
    }

    /// The other side of the same sheet holder, such as `4B`.
    pub const fn with_b(self) -> Self {
        Self { place: self.place, side: Side::B }
    }

    /// Whole number on the film; `00` is −1.
    pub const fn place(self) -> i16 {
        self.place
    }

    /// Whether it carries the letter A.
    pub const fn is_a(self) -> bool {
        matches!(self.side, Side::A)
    }

    /// The next whole number.
    pub const fn next(self) -> Self {
        Self { place: self.place + 1, side: Side::None }
    }

    /// The number `by` places on (back when negative), never before `00`.
    pub const fn moved(self, by: i16) -> Self {
        let place = self.place.saturating_add(by);
        Self { place: if place < -1 { -1 } else { place }, side: self.side }
    }
}

impl fmt::Display for FrameNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let a = match self.side {
            Side::None => "",
            Side::A => "A",
            Side::B => "B",
        };
        if self.place < 0 { write!(f, "00{a}") } else { write!(f, "{}{a}", self.place) }
    }
}

impl FromStr for FrameNumber {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        let bad = || NameError::Frame(text.to_owned());
        let t = text.trim();
        let (digits, side) = match (t.strip_suffix(['a', 'A']), t.strip_suffix(['b', 'B'])) {
            (Some(d), _) => (d.trim_end(), Side::A),
            (_, Some(d)) => (d.trim_end(), Side::B),
            _ => (t, Side::None),
        };
        if digits.is_empty() || digits.len() > 6 || !digits.bytes().all(|b| b.is_ascii_digit()) {
            return Err(bad());
        }
        if digits.len() >= 2 && digits.bytes().all(|b| b == b'0') {
            return Ok(Self { place: -1, side });
        }
        let place: i16 = digits.parse().map_err(|_| bad())?;
        if place > 999 { Err(bad()) } else { Ok(Self { place, side }) }
    }
}

impl TryFrom<String> for FrameNumber {
    type Error = NameError;
    fn try_from(text: String) -> Result<Self, NameError> {
        text.parse()
    }
}

impl From<FrameNumber> for String {
    fn from(n: FrameNumber) -> Self {
        n.to_string()
    }
}

/// A roll's own name, as said or as its scan folder is called. Compares
/// without case, punctuation, leading zeros and the words `roll`, `R`, `film`:
/// `R07`, `roll-07` and `7` are one roll.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct RollName {
    text: String,
    key: String,
}

impl RollName {
    /// A name from its text.
    ///
    /// # Errors
    /// [`NameError::Roll`] when nothing but punctuation is left of it.
    pub fn new(text: &str) -> Result<Self, NameError> {
        let text = text.trim();
        let key = roll_key(text);
        if key.is_empty() { Err(NameError::Roll(text.to_owned())) } else { Ok(Self { text: text.to_owned(), key }) }
    }

    /// As it was written or said.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// What names are compared by; safe in a file name (`a-z0-9` and other letters).
    pub fn key(&self) -> &str {
        &self.key
    }
}

fn roll_key(text: &str) -> String {
    let squeezed: String = text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
    let mut rest = squeezed.as_str();
    for prefix in ["roll", "film"] {
        if let Some(r) = rest.strip_prefix(prefix).filter(|r| !r.is_empty()) {
            rest = r;
            break;
        }
    }
    for prefix in ["number", "no", "nr"] {
        if let Some(r) = rest.strip_prefix(prefix).filter(|r| r.starts_with(|c: char| c.is_ascii_digit())) {
            rest = r;
            break;
        }
    }
    if let Some(r) = rest.strip_prefix('r').filter(|r| !r.is_empty() && r.bytes().all(|b| b.is_ascii_digit())) {
        rest = r;
    }
    // Leading zeros of each run of digits carry nothing.
    let mut key = String::with_capacity(rest.len());
    let mut chars = rest.chars().peekable();
    let mut in_digits = false;
    while let Some(c) = chars.next() {
        let more = chars.peek().is_some_and(char::is_ascii_digit);
        if c == '0' && !in_digits && more {
            continue;
        }
        in_digits = c.is_ascii_digit();
        key.push(c);
    }
    key
}

impl fmt::Display for RollName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl PartialEq for RollName {
    fn eq(&self, other: &Self) -> bool {
        self.key == other.key
    }
}

impl Eq for RollName {}

impl std::hash::Hash for RollName {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.key.hash(state);
    }
}

impl PartialOrd for RollName {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for RollName {
    fn cmp(&self, other: &Self) -> Ordering {
        let number = |k: &str| k.parse::<u64>().ok();
        match (number(&self.key), number(&other.key)) {
            (Some(a), Some(b)) => a.cmp(&b).then_with(|| self.key.cmp(&other.key)),
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (None, None) => self.key.cmp(&other.key),
        }
    }
}

impl TryFrom<String> for RollName {
    type Error = NameError;
    fn try_from(text: String) -> Result<Self, NameError> {
        Self::new(&text)
    }
}

impl From<RollName> for String {
    fn from(name: RollName) -> Self {
        name.text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn frame_numbers_order_as_on_the_film() {
        let film = ["00", "00A", "0", "0A", "1", "2", "12", "12A", "13", "36", "36A", "36B", "37"];
        let numbers: Vec<FrameNumber> = film.iter().map(|t| t.parse().unwrap()).collect();
        assert!(numbers.windows(2).all(|w| w[0] < w[1]));
        for (t, n) in film.iter().zip(&numbers) {
            assert_eq!(n.to_string(), *t);
        }
    }

    #[test]
    fn frame_numbers_refuse_other_text() {
        for bad in ["", "A", "x", "-1", "1.5", "1000", "12C", "1 2", "99999999"] {
            assert!(bad.parse::<FrameNumber>().is_err(), "{bad}");
        }
        assert_eq!("007".parse::<FrameNumber>().unwrap(), FrameNumber::new(7));
    }

    #[test]
    fn roll_names_compare_without_their_dress() {
        let same = [("R07", "7"), ("roll-07", "7"), ("Roll 7", "7"), ("A3", "a 03"), ("roll no. 12", "12")];
        for (a, b) in same {
            assert_eq!(RollName::new(a).unwrap(), RollName::new(b).unwrap(), "{a} {b}");
        }
        assert_ne!(RollName::new("B2").unwrap(), RollName::new("2").unwrap());
        assert_ne!(RollName::new("A10").unwrap(), RollName::new("A1").unwrap());
        assert!(RollName::new(" -- ").is_err());
    }
}
