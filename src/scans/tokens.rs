//! A file name cut into words and numbers.

/// A piece of a name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Token {
    /// A run of letters, lower case.
    Word(String),
    /// A run of digits.
    Number(Digits),
}

/// A run of digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Digits {
    /// Their value, `u32::MAX` when it is larger.
    pub value: u32,
    /// How many digits.
    pub length: usize,
}

/// A name in pieces, with what hangs together without a separator.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Tokens {
    /// The pieces in order.
    pub all: Vec<Token>,
    /// For each piece: whether it follows the one before without a separator.
    pub joined: Vec<bool>,
}

impl Tokens {
    /// Cuts a name (without its extension).
    pub fn of(stem: &str) -> Self {
        let mut tokens = Self::default();
        let mut joined = false;
        let mut rest = stem;
        while let Some(c) = rest.chars().next() {
            let same = |d: char| if c.is_ascii_digit() { d.is_ascii_digit() } else { d.is_alphabetic() };
            let end = rest.find(|d| !same(d)).unwrap_or(rest.len());
            if end == 0 {
                // A separator.
                joined = false;
                rest = &rest[c.len_utf8()..];
                continue;
            }
            let run = &rest[..end];
            tokens.all.push(if c.is_ascii_digit() {
                Token::Number(Digits { value: run.parse().unwrap_or(u32::MAX), length: run.len() })
            } else {
                Token::Word(run.to_lowercase())
            });
            tokens.joined.push(joined);
            joined = true;
            rest = &rest[end..];
        }
        tokens
    }

    /// The numbers in order, with the index of their piece.
    pub fn numbers(&self) -> impl DoubleEndedIterator<Item = (usize, Digits)> + '_ {
        self.all.iter().enumerate().filter_map(|(i, t)| match t {
            Token::Number(d) => Some((i, *d)),
            Token::Word(_) => None,
        })
    }

    /// The words in order.
    pub fn words(&self) -> impl Iterator<Item = &str> + '_ {
        self.all.iter().filter_map(|t| match t {
            Token::Word(w) => Some(w.as_str()),
            Token::Number(_) => None,
        })
    }

    /// The piece at `i`, when it is a word.
    pub fn word(&self, i: usize) -> Option<&str> {
        match self.all.get(i) {
            Some(Token::Word(w)) => Some(w),
            _ => None,
        }
    }

    /// A single letter that hangs on the number at piece `i`.
    pub fn letter_after(&self, i: usize) -> Option<char> {
        let letter = self.word(i + 1).filter(|_| self.joined[i + 1])?;
        // `12a3` is a code, not frame 12A.
        let alone = !self.joined.get(i + 2).copied().unwrap_or(false);
        let mut chars = letter.chars();
        chars.next().filter(|_| chars.next().is_none() && alone)
    }

    /// Drops the last `n` pieces.
    pub fn cut(&mut self, n: usize) {
        let keep = self.all.len() - n.min(self.all.len());
        self.all.truncate(keep);
        self.joined.truncate(keep);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_falls_into_words_and_numbers() {
        let t = Tokens::of("Roll21 frame-012A");
        assert_eq!(t.words().collect::<Vec<_>>(), ["roll", "frame", "a"]);
        let numbers: Vec<_> = t.numbers().map(|(i, d)| (i, d.value, d.length)).collect();
        assert_eq!(numbers, [(1, 21, 2), (3, 12, 3)]);
        assert_eq!(t.letter_after(3), Some('a'));
        assert_eq!(t.letter_after(1), None);
        assert_eq!(Tokens::of("12a3").letter_after(0), None);
        assert_eq!(Tokens::of("99999999999").numbers().next().unwrap().1.value, u32::MAX);
    }
}
