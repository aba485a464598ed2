//! How a camera writes on the film edge: the kit's `imprint` line.
//!
//! ```text
//! pattern = { literal | "{{" | "}}" | "{" name [ ":" order ] "}" }
//! name    = "shutter" | "shutter_s" | "aperture" | "focal_mm" | "ei" | "comp_stops" | "comp" | "frame"
//!         | "date" | "time" | "taken"       ; taken is date and time in one
//!         | any other column of a roll's table, which is passed over
//! order   = "ymd" | "dmy" | "mdy"          ; of a date; ymd when not said
//! literal = any other printable ASCII character; letters of either case
//! ```
//!
//! Example: `{shutter} F{aperture} {focal_mm}MM ISO{ei}`. What is printed parses back.

use std::fmt;
use std::str::FromStr;

use crate::facts::COLUMNS;

/// What one place of an imprint holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Slot {
    /// Shutter setting: `1/125`, `2S`, `BULB`.
    Shutter,
    /// The same in seconds: `0.008`.
    ShutterS,
    /// f-number: `5.6`.
    Aperture,
    /// Focal length in mm.
    FocalMm,
    /// Exposure index.
    Ei,
    /// Compensation in stops: `+0.3`.
    Comp,
    /// Frame number.
    Frame,
    /// Date, in this order.
    Date(DateOrder),
    /// Time of day: `14:05` or `14:05:30`.
    Time,
    /// Date and time: `2025-06-18T14:05`.
    Taken,
    /// What a table has a column for and the film edge tells nothing new of: any text.
    Passed(&'static str),
}

/// Order of the parts of a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DateOrder {
    /// Year, month, day.
    Ymd,
    /// Day, month, year.
    Dmy,
    /// Month, day, year.
    Mdy,
}

impl DateOrder {
    const ALL: [(Self, &'static str); 3] = [(Self::Ymd, "ymd"), (Self::Dmy, "dmy"), (Self::Mdy, "mdy")];
}

/// Names of the slots without an order.
const NAMES: [(Slot, &str); 10] = [
    (Slot::Shutter, "shutter"),
    (Slot::ShutterS, "shutter_s"),
    (Slot::Aperture, "aperture"),
    (Slot::FocalMm, "focal_mm"),
    (Slot::Ei, "ei"),
    (Slot::Comp, "comp_stops"),
    (Slot::Frame, "frame"),
    (Slot::Date(DateOrder::Ymd), "date"),
    (Slot::Time, "time"),
    (Slot::Taken, "taken"),
];
/// What compensation may be called too.
const COMP: &str = "comp";

/// A piece of a pattern.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Piece {
    /// Text that stands there as it is, upper case.
    Literal(String),
    /// A value.
    Slot(Slot),
}

/// An imprint pattern.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pattern {
    pieces: Vec<Piece>,
}

/// What is wrong with a pattern. Positions count characters from 1.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PatternError {
    /// A brace opened and not closed.
    #[error("character {at}: this '{{' is not closed")]
    Open {
        /// Position of the brace.
        at: usize,
    },
    /// A brace closed and not opened.
    #[error("character {at}: this '}}' closes nothing; write '}}}}' for the character itself")]
    Close {
        /// Position of the brace.
        at: usize,
    },
    /// No such slot.
    #[error(
        "character {at}: no field '{name}': expected shutter, aperture, focal_mm, ei, comp_stops, frame, date, date:dmy, date:mdy, time, or the name of a column"
    )]
    Unknown {
        /// Position of the name.
        at: usize,
        /// What stands there.
        name: String,
    },
    /// A slot given twice.
    #[error("character {at}: field '{name}' stands here a second time")]
    Twice {
        /// Position of the name.
        at: usize,
        /// Which.
        name: String,
    },
    /// A character that no imprint holds.
    #[error("character {at}: '{found}' cannot stand on a film edge: expected printable ASCII")]
    Character {
        /// Position of the character.
        at: usize,
        /// The character.
        found: char,
    },
    /// Nothing to read.
    #[error("the pattern holds no field such as {{shutter}}")]
    Empty,
}

impl Pattern {
    /// Its pieces, left to right.
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// Its slots, left to right.
    pub fn slots(&self) -> impl Iterator<Item = Slot> {
        self.pieces.iter().filter_map(|p| match p {
            Piece::Slot(s) => Some(*s),
            Piece::Literal(_) => None,
        })
    }

    /// One slot and nothing else, as a cell of a table holds it.
    pub fn only(slot: Slot) -> Self {
        Self { pieces: vec![Piece::Slot(slot)] }
    }
}

fn slot_named(text: &str) -> Option<Slot> {
    if let Some(order) = text.strip_prefix("date:") {
        return DateOrder::ALL.iter().find(|(_, n)| *n == order).map(|(o, _)| Slot::Date(*o));
    }
    let passed = || COLUMNS.iter().find(|n| **n == text).map(|n| Slot::Passed(n));
    let text = if text == COMP { "comp_stops" } else { text };
    NAMES.iter().find(|(_, n)| *n == text).map(|(s, _)| *s).or_else(passed)
}

fn same_field(a: Slot, b: Slot) -> bool {
    let one = |is: fn(Slot) -> bool| is(a) && is(b);
    let whole = |s| s == Slot::Taken;
    a == b
        || one(|s| matches!(s, Slot::Date(_) | Slot::Taken))
        || one(|s| matches!(s, Slot::Shutter | Slot::ShutterS))
        || (whole(a) && b == Slot::Time)
        || (whole(b) && a == Slot::Time)
}

impl FromStr for Pattern {
    type Err = PatternError;

    fn from_str(text: &str) -> Result<Self, PatternError> {
        let chars: Vec<char> = text.chars().collect();
        let mut pieces = Vec::new();
        let mut literal = String::new();
        let mut i = 0;
        while i < chars.len() {
            let at = i + 1;
            match (chars[i], chars.get(i + 1)) {
                ('{', Some('{')) | ('}', Some('}')) => {
                    literal.push(chars[i]);
                    i += 2;
                }
                ('{', _) => {
                    let length = chars[i + 1..].iter().position(|c| *c == '}').ok_or(PatternError::Open { at })?;
                    let name: String = chars[i + 1..][..length].iter().collect();
                    let slot =
                        slot_named(&name).ok_or_else(|| PatternError::Unknown { at: at + 1, name: name.clone() })?;
                    if pieces.iter().any(|p| matches!(p, Piece::Slot(s) if same_field(*s, slot))) {
                        return Err(PatternError::Twice { at: at + 1, name });
                    }
                    if !literal.is_empty() {
                        pieces.push(Piece::Literal(std::mem::take(&mut literal)));
                    }
                    pieces.push(Piece::Slot(slot));
                    i += length + 2;
                }
                ('}', _) => return Err(PatternError::Close { at }),
                (c, _) => {
                    let c = if c == '\t' { ' ' } else { c.to_ascii_uppercase() };
                    if !(' '..='~').contains(&c) {
                        return Err(PatternError::Character { at, found: c });
                    }
                    literal.push(c);
                    i += 1;
                }
            }
        }
        if !literal.is_empty() {
            pieces.push(Piece::Literal(literal));
        }
        let pattern = Self { pieces };
        if pattern.slots().next().is_none() { Err(PatternError::Empty) } else { Ok(pattern) }
    }
}

impl fmt::Display for Slot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Date(order) if *order != DateOrder::Ymd => {
                let name = DateOrder::ALL.iter().find(|(o, _)| o == order).map_or("ymd", |(_, n)| n);
                write!(f, "date:{name}")
            }
            Self::Passed(name) => f.write_str(name),
            slot => f.write_str(NAMES.iter().find(|(s, _)| s == slot).map_or("", |(_, n)| n)),
        }
    }
}

impl fmt::Display for Pattern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for piece in &self.pieces {
            match piece {
                Piece::Slot(slot) => write!(f, "{{{slot}}}")?,
                Piece::Literal(text) => f.write_str(&text.replace('{', "{{").replace('}', "}}"))?,
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_pattern_falls_into_its_pieces() {
        let p: Pattern = "{shutter} F{aperture} {focal_mm}mm iso{ei}".parse().unwrap();
        assert_eq!(p.slots().collect::<Vec<_>>(), [Slot::Shutter, Slot::Aperture, Slot::FocalMm, Slot::Ei]);
        assert_eq!(p.pieces()[1], Piece::Literal(" F".into()));
        assert_eq!(p.to_string(), "{shutter} F{aperture} {focal_mm}MM ISO{ei}");
    }

    #[test]
    fn every_column_of_a_table_is_a_field() {
        // The columns as the README's tables and the output have them.
        let columns = "roll frame status scan taken camera lens film focal_mm box_iso ei shutter shutter_s aperture \
            filter filter_stops comp_stops ev100 light support subject place lat lon process source confidence flags \
            said clip at_s";
        for column in columns.split_whitespace() {
            let pattern: Pattern = format!("{{{column}}}").parse().unwrap();
            assert_eq!(pattern.to_string(), format!("{{{column}}}"));
        }
        assert_eq!("{comp}".parse::<Pattern>(), "{comp_stops}".parse());
        assert!("{taken} {date}".parse::<Pattern>().is_err() && "{shutter}{shutter_s}".parse::<Pattern>().is_err());
    }

    #[test]
    fn errors_name_the_position() {
        let why = |t: &str| t.parse::<Pattern>().unwrap_err();
        assert_eq!(why("F{aperture"), PatternError::Open { at: 2 });
        assert_eq!(why("F}"), PatternError::Close { at: 2 });
        assert_eq!(why("{shuter}"), PatternError::Unknown { at: 2, name: "shuter".into() });
        assert_eq!(why("{ei} {ei}"), PatternError::Twice { at: 7, name: "ei".into() });
        assert_eq!(why("{date} {date:dmy}"), PatternError::Twice { at: 9, name: "date:dmy".into() });
        assert_eq!(why("{ei}é"), PatternError::Character { at: 5, found: 'é' });
        assert_eq!(why("ISO"), PatternError::Empty);
        assert!(why("a {b}").to_string().starts_with("character 4:"));
    }

    proptest! {
        #[test]
        fn what_is_printed_parses_back(
            order in Just(vec!["{shutter}", "{aperture}", "{focal_mm}", "{ei}", "{comp}", "{frame}", "{date:dmy}", "{time}"]).prop_shuffle(),
            between in proptest::collection::vec("[ -z|~]{0,4}", 8),
        ) {
            let text: String = order.iter().zip(&between).map(|(s, b)| format!("{s}{b}")).collect();
            let pattern: Pattern = text.parse().unwrap();
            prop_assert_eq!(pattern.to_string().parse::<Pattern>().unwrap(), pattern);
        }

        #[test]
        fn no_text_makes_it_panic(text in ".{0,40}") {
            if let Ok(p) = text.parse::<Pattern>() {
                prop_assert_eq!(p.to_string().parse::<Pattern>().unwrap(), p);
            }
        }
    }
}
