//! The grammar files' phrases, expanded.
//!
//! ```text
//! phrases  = phrase { "|" phrase }
//! phrase   = { item } [ "~" weight ]
//! item     = ( word | "{" slot "}" | "(" choice { "/" choice } ")" ) [ "?" ]
//! choice   = { item }
//! ```
//! A backslash takes the next sign as it is.

/// One step of a phrase before words have numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Piece {
    /// A word or mark.
    Word(String),
    /// A slot's name.
    Slot(String),
}

/// A phrase that cannot be read, and why.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PatternError {
    /// A bracket without its other half.
    #[error("'{0}' without its other half")]
    Unclosed(char),
    /// More than [`MOST`] ways to say one phrase.
    #[error("more than {MOST} ways to say it: split the phrase")]
    TooMany,
    /// A weight that is no number from 0 to 1.
    #[error("'{0}' is no weight: expected a number from 0 to 1")]
    Weight(String),
    /// Nothing in it.
    #[error("a phrase is empty, or all of it may be missing")]
    Empty,
}

/// The most ways one phrase may expand to.
pub const MOST: usize = 20_000;

/// All ways to say the phrases, each with its weight.
///
/// # Errors
/// [`PatternError`] for the first phrase that cannot be read.
pub fn expand(text: &str) -> Result<Vec<(Vec<Piece>, f32)>, PatternError> {
    let mut out = Vec::new();
    for phrase in split_top(text, '|') {
        let (body, weight) = match phrase.rsplit_once('~') {
            Some((body, w)) => {
                let w = w.trim();
                let weight = w.parse::<f32>().ok().filter(|x| (0.0..=1.0).contains(x));
                (body, weight.ok_or_else(|| PatternError::Weight(w.to_owned()))?)
            }
            None => (phrase, 1.0),
        };
        let mut reader = Reader { chars: body.chars().peekable() };
        let ways = reader.sequence(None)?;
        for way in ways {
            if way.is_empty() {
                return Err(PatternError::Empty);
            }
            out.push((way, weight));
        }
    }
    Ok(out)
}

fn split_top(text: &str, by: char) -> Vec<&str> {
    let mut parts = Vec::new();
    let (mut start, mut escaped) = (0, false);
    for (i, c) in text.char_indices() {
        if escaped {
            escaped = false;
        } else if c == '\\' {
            escaped = true;
        } else if c == by {
            parts.push(&text[start..i]);
            start = i + c.len_utf8();
        }
    }
    parts.push(&text[start..]);
    parts
}

struct Reader<'a> {
    chars: std::iter::Peekable<std::str::Chars<'a>>,
}

type Ways = Vec<Vec<Piece>>;

impl Reader<'_> {
    /// Items up to the end, or up to one of the closing signs when in a group.
    fn sequence(&mut self, group: Option<()>) -> Result<Ways, PatternError> {
        let mut ways: Ways = vec![Vec::new()];
        loop {
            while self.chars.next_if(|c| c.is_whitespace()).is_some() {}
            let item = match self.chars.peek().copied() {
                None if group.is_some() => return Err(PatternError::Unclosed('(')),
                None => return Ok(ways),
                Some('/' | ')') if group.is_some() => return Ok(ways),
                Some(')') => return Err(PatternError::Unclosed(')')),
                Some('(') => self.group()?,
                Some('{') => vec![vec![self.slot()?]],
                Some(_) => vec![self.word()],
            };
            let optional = self.chars.next_if_eq(&'?').is_some();
            let mut next = Vec::with_capacity(ways.len() * (item.len() + usize::from(optional)));
            for way in &ways {
                if optional {
                    next.push(way.clone());
                }
                for tail in &item {
                    next.push(way.iter().chain(tail).cloned().collect());
                }
            }
            if next.len() > MOST {
                return Err(PatternError::TooMany);
            }
            ways = next;
        }
    }

    fn group(&mut self) -> Result<Ways, PatternError> {
        self.chars.next();
        let mut all = Vec::new();
        loop {
            all.extend(self.sequence(Some(()))?);
            match self.chars.next() {
                Some('/') => {}
                _ => return Ok(all),
            }
        }
    }

    fn slot(&mut self) -> Result<Piece, PatternError> {
        self.chars.next();
        let mut name = String::new();
        loop {
            match self.chars.next() {
                Some('}') => return Ok(Piece::Slot(name)),
                Some(c) => name.push(c),
                None => return Err(PatternError::Unclosed('{')),
            }
        }
    }

    fn word(&mut self) -> Vec<Piece> {
        let mut word = String::new();
        while let Some(&c) = self.chars.peek() {
            match c {
                '\\' => {
                    self.chars.next();
                    word.extend(self.chars.next());
                }
                c if c.is_whitespace() || "/(){}?".contains(c) => break,
                c => {
                    word.push(c);
                    self.chars.next();
                }
            }
        }
        if word.is_empty() {
            // A sign that belongs nowhere stands for itself.
            word.extend(self.chars.next());
        }
        vec![Piece::Word(word)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> Vec<String> {
        let words = |w: &Vec<Piece>| {
            w.iter()
                .map(|p| match p {
                    Piece::Word(w) => w.clone(),
                    Piece::Slot(s) => format!("{{{s}}}"),
                })
                .collect::<Vec<_>>()
                .join(" ")
        };
        expand(text).unwrap().iter().map(|(w, _)| words(w)).collect()
    }

    #[test]
    fn groups_and_options_expand() {
        assert_eq!(said("(the)? same (again/thing)"), ["same again", "same thing", "the same again", "the same thing"]);
        assert_eq!(said("f {f} | f \\/ {f} ~0.5"), ["f {f}", "f / {f}"]);
        assert_eq!(said("no ,? wait"), ["no wait", "no , wait"]);
    }

    #[test]
    fn mistakes_are_named() {
        assert_eq!(expand("(a/b"), Err(PatternError::Unclosed('(')));
        assert_eq!(expand("a ~2"), Err(PatternError::Weight("2".into())));
        assert_eq!(expand("a?"), Err(PatternError::Empty));
        assert_eq!(expand("{n"), Err(PatternError::Unclosed('{')));
    }
}
