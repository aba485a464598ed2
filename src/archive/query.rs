//! What is looked for: words and conditions, combined.
//!
//! ```text
//! query     = { [ "-" ] ( condition | word | phrase ) }      ; all must hold; "-" is not
//! word      = letters, digits …  [ "*" ]                     ; "*" matches the beginning of words
//! phrase    = '"' words '"'
//! condition = name ( ":" | "=" | "!=" | "<" | "<=" | ">" | ">=" ) value
//! value     = bare | '"' text '"'
//! bare      = no blanks; numbers and dates may be a span "lo..hi", either end left out
//! ```
//!
//! A number matches what rounds to it: `ev:12` is 11.5 up to 12.5, `aperture:5.6`
//! is f/5.6. Times compare as seconds: `shutter>=1/60` is 1/60 s or longer.

use super::compare::{Op, Span};
use super::fields::{Field, Kind};
use super::value;
use crate::facts::{FrameNumber, Position, RollName};
use crate::roll::Status;
use std::fmt;
use std::ops::Range;

/// Where the search terms do not read, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QueryError {
    /// The whole query.
    pub query: String,
    /// The bytes of the term at fault.
    pub at: Range<usize>,
    /// What is wrong and what would do.
    pub why: String,
}

impl fmt::Display for QueryError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let shown = |text: &str| -> String { text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect() };
        let before = self.query[..self.at.start].chars().count();
        let marked = self.query[self.at.clone()].chars().count().max(1);
        writeln!(f, "{}", self.why)?;
        writeln!(f, "  {}", shown(&self.query))?;
        write!(f, "  {}{}", " ".repeat(before), "^".repeat(marked))
    }
}

impl std::error::Error for QueryError {}

/// One thing that must hold, or must not.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// It must not hold.
    pub not: bool,
    /// What.
    pub test: Test,
}

/// What a term asks of a frame.
#[derive(Debug, Clone, PartialEq)]
pub enum Test {
    /// These words follow one another, in one text field or in any.
    Words {
        /// The text field; none for any.
        field: Option<Field>,
        /// As typed.
        text: String,
        /// The last word may go on.
        prefix: bool,
    },
    /// A name holds this text, case aside.
    Name {
        /// Which name.
        field: Field,
        /// As typed.
        text: String,
        /// The name is this text and no more.
        whole: bool,
    },
    /// A number lies in a span.
    Number {
        /// Which number.
        field: Field,
        /// Between which values.
        span: Span<f64>,
    },
    /// Taken in this span of local clock seconds.
    Taken(Span<i64>),
    /// The status.
    Status(Status),
    /// A flag: a whole code such as `unsure:film`, or its first part.
    Flag(String),
    /// The frame number.
    Frame(FrameNumber),
    /// The roll's name.
    Roll(RollName),
    /// The developer's name holds this text, case aside.
    Developer {
        /// As typed.
        text: String,
        /// The name is this text and no more.
        whole: bool,
    },
    /// The negatives are in this sleeve.
    Sleeve(String),
    /// Within so many kilometres of a place.
    Near(Position, f64),
    /// The field is known at all.
    Has(Field),
}

/// A query, read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Query {
    /// All of these must hold.
    pub terms: Vec<Term>,
}

impl Query {
    /// Reads a query.
    ///
    /// # Errors
    /// [`QueryError`] that points at the first term that does not read.
    pub fn parse(text: &str) -> Result<Self, QueryError> {
        let mut terms = Vec::new();
        let mut at = 0;
        while let Some(start) = text[at..].find(|c: char| !is_blank(c)).map(|i| at + i) {
            let end = term_end(text, start);
            terms.push(term(text, start..end)?);
            at = end;
        }
        Ok(Self { terms })
    }

    /// Reads the arguments of a command line: one whole query, or its terms with
    /// the quotes already taken away by the shell (`film:Merrow Pan 100`).
    ///
    /// # Errors
    /// As [`Self::parse`].
    pub fn from_args<S: AsRef<str>>(args: &[S]) -> Result<Self, QueryError> {
        let quoted = |arg: &str| -> String {
            if args.len() < 2 || arg.contains(is_quote) || !arg.contains(is_blank) {
                return arg.to_owned();
            }
            match split_condition(arg) {
                Some((name, op, value)) => format!("{}{op}\"{value}\"", name),
                None => format!("\"{arg}\""),
            }
        };
        Self::parse(&args.iter().map(|a| quoted(a.as_ref())).collect::<Vec<_>>().join(" "))
    }
}

fn is_blank(c: char) -> bool {
    c.is_whitespace() || c.is_control()
}

/// Straight quotes, and those that a phone or a word processor makes of them.
fn is_quote(c: char) -> bool {
    matches!(c, '"' | '\u{201c}' | '\u{201d}' | '\u{201e}')
}

/// Where the term that starts at `start` ends: at a blank outside quotes.
fn term_end(text: &str, start: usize) -> usize {
    let mut quoted = false;
    for (i, c) in text[start..].char_indices() {
        if is_quote(c) {
            quoted = !quoted;
        } else if is_blank(c) && !quoted {
            return start + i;
        }
    }
    text.len()
}

const OPS: [(&str, Op); 7] = [
    ("!=", Op::Not),
    ("<=", Op::AtMost),
    (">=", Op::AtLeast),
    (":", Op::Is),
    ("=", Op::Is),
    ("<", Op::Below),
    (">", Op::Above),
];

/// `name`, comparison and value, when `term` has that form.
fn split_condition(term: &str) -> Option<(&str, &str, &str)> {
    let name_len = term.find(|c: char| !(c.is_ascii_alphanumeric() || c == '_'))?;
    let (name, rest) = term.split_at(name_len);
    let op = OPS.iter().map(|(sign, _)| *sign).find(|sign| rest.starts_with(sign))?;
    name.starts_with(|c: char| c.is_ascii_alphabetic()).then(|| (name, op, &rest[op.len()..]))
}

fn term(query: &str, at: Range<usize>) -> Result<Term, QueryError> {
    let fail = |why: String| QueryError { query: query.to_owned(), at: at.clone(), why };
    let whole = &query[at.clone()];
    if whole.chars().filter(|&c| is_quote(c)).count() % 2 == 1 {
        return Err(fail(format!("{whole} has an opening quote and no closing one")));
    }
    let (not, body) = match whole.strip_prefix('-') {
        Some(rest) if !rest.is_empty() => (true, rest),
        _ => (false, whole),
    };
    let test = match split_condition(body) {
        Some((name, sign, value)) => {
            let op = OPS.iter().find(|(s, _)| *s == sign).map_or(Op::Is, |(_, op)| *op);
            let exact = sign == "=" || sign == "!=";
            let test = condition(name, op, exact, &unquoted(value)).map_err(fail)?;
            return Ok(Term { not: not != (op == Op::Not), test });
        }
        None => words(None, body).map_err(fail)?,
    };
    Ok(Term { not, test })
}

fn unquoted(value: &str) -> String {
    value
        .chars()
        .filter(|&c| !is_quote(c))
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect::<String>()
        .trim()
        .to_owned()
}

fn words(field: Option<Field>, typed: &str) -> Result<Test, String> {
    let prefix = typed.ends_with('*');
    let text = unquoted(typed.trim_end_matches('*'));
    if text.chars().any(char::is_alphanumeric) {
        Ok(Test::Words { field, text, prefix })
    } else {
        Err(format!("{typed} has no word in it to look for"))
    }
}

fn condition(name: &str, op: Op, exact: bool, text: &str) -> Result<Test, String> {
    let field = Field::named(name).ok_or_else(|| match Field::nearest(name) {
        Some(near) => {
            format!("there is no condition '{name}'; did you mean '{near}'? (or quote it to look for the word)")
        }
        None => format!("there is no condition '{name}'; there are {}", Field::list()),
    })?;
    if text.is_empty() {
        return Err(format!("'{name}' needs a value, such as {}", field.example()));
    }
    let only_is = |test: Test| match op {
        Op::Is | Op::Not => Ok(test),
        _ => Err(format!("'{name}' is not a number: write {}", field.example())),
    };
    let expected = |what: &str| format!("'{text}' is no {what}: write {}", field.example());
    match field.kind() {
        Kind::Text => only_is(words(Some(field), text)?),
        Kind::Name => only_is(Test::Name { field, text: text.to_owned(), whole: exact }),
        Kind::Number => {
            value::number(field, op, text).map(|span| Test::Number { field, span }).ok_or_else(|| expected("number"))
        }
        Kind::Time => value::time(op, text).map(Test::Taken).ok_or_else(|| expected("date")),
        Kind::Status => only_is(Test::Status(value::status(text).ok_or_else(|| expected("status"))?)),
        Kind::Flag => only_is(Test::Flag(value::flag(text).ok_or_else(|| expected("flag"))?)),
        Kind::Frame => only_is(Test::Frame(text.parse().map_err(|_| expected("frame number"))?)),
        Kind::Roll => only_is(Test::Roll(RollName::new(text).map_err(|_| expected("roll name"))?)),
        Kind::Developer => only_is(Test::Developer { text: text.to_owned(), whole: exact }),
        Kind::Sleeve => only_is(Test::Sleeve(text.to_owned())),
        Kind::Near => {
            let (position, km) = value::near(text).ok_or_else(|| expected("place"))?;
            only_is(Test::Near(position, km))
        }
        Kind::Has => {
            only_is(Test::Has(Field::named(text).filter(|f| f.can_be_missing()).ok_or_else(|| expected("field"))?))
        }
    }
}
