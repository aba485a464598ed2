//! Text to tokens: words in lower case, numbers, marks; each with its place in the text.

use std::ops::Range;

use super::mended::Mend;

/// What the first digit behind a point is worth.
const TENTH: f64 = 0.1;

/// What a token is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A run of letters.
    Word,
    /// Digits, with a decimal part if one is written.
    Number {
        /// Its value.
        value: f64,
        /// Digits before the point.
        digits: u8,
        /// Digits after the point.
        decimals: u8,
    },
    /// A punctuation mark.
    Mark(char),
}

/// One token.
#[derive(Debug, Clone, PartialEq)]
pub struct Token {
    /// What it is.
    pub kind: Kind,
    /// Bytes in the folded text.
    pub span: Range<usize>,
    /// No space stands before it.
    pub glued: bool,
    /// Its number among the lexicon's words; none for words it does not know.
    pub id: Option<u32>,
    /// What was mended to make it so; none where it is as it was written.
    pub mend: Option<Mend>,
}

impl Token {
    /// Whether it ends a sentence.
    pub fn ends_sentence(&self) -> bool {
        matches!(self.kind, Kind::Mark('.' | '!' | '?' | ';' | '\n'))
    }

    /// Whether it is a mark of any kind.
    pub fn is_mark(&self) -> bool {
        matches!(self.kind, Kind::Mark(_))
    }
}

/// Folds what different writers spell differently and lower-cases ASCII, keeping
/// every byte in its place so that spans hold for the original too.
///
/// Only characters with a fold of the same byte length are replaced in place;
/// curly quotes and dashes (three bytes) become their ASCII sign and two spaces
/// are never added inside a word: the sign is followed by zero-width filler that
/// the tokeniser skips.
pub fn fold(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let folded = match c {
            '\u{2018}' | '\u{2019}' | '\u{2032}' => Some('\''),
            '\u{201c}' | '\u{201d}' | '\u{2033}' => Some('"'),
            '\u{2010}'..='\u{2015}' | '\u{2212}' => Some('-'),
            '\u{2044}' | '\u{2215}' => Some('/'),
            '\u{00d7}' => Some('x'),
            '\u{0192}' => Some('f'),
            // What stands for filler below is not one when it is written.
            '\u{00a0}' | '\u{202f}' | '\u{2009}' | FILLER => Some(' '),
            _ => None,
        };
        match folded {
            Some(f) => {
                out.push(f);
                out.extend(std::iter::repeat_n(FILLER, c.len_utf8() - 1));
            }
            None => out.push(c.to_ascii_lowercase()),
        }
    }
    out
}

/// Stands for the bytes that a folded sign no longer needs.
pub const FILLER: char = '\0';

/// Splits folded text into tokens, one after the other. Letters and digits part (`f8` is
/// two tokens); a hyphen between letters only parts words (`twenty-five`).
pub fn tokens(folded: &str) -> impl Iterator<Item = Token> {
    Tokens { folded, at: 0, last_end: usize::MAX }
}

struct Tokens<'a> {
    folded: &'a str,
    /// Byte of the text that is looked at next.
    at: usize,
    /// Byte behind the last token.
    last_end: usize,
}

impl Iterator for Tokens<'_> {
    type Item = Token;

    fn next(&mut self) -> Option<Token> {
        while let Some(c) = self.folded[self.at..].chars().next() {
            if c == FILLER {
                if self.last_end == self.at {
                    self.last_end += 1;
                }
                self.at += 1;
            } else if c.is_whitespace() && c != '\n' {
                self.at += c.len_utf8();
            } else if let Some(token) = self.token(c) {
                return Some(token);
            }
        }
        None
    }
}

impl Tokens<'_> {
    /// Goes past the token that begins here with `c`; none where a hyphen only parts what it joins.
    fn token(&mut self, c: char) -> Option<Token> {
        let (folded, bytes, i) = (self.folded, self.folded.as_bytes(), self.at);
        let glued = self.last_end == i;
        let (kind, end) = if c.is_ascii_digit() {
            number(bytes, i)
        } else if c.is_alphabetic() {
            let end = word_end(folded, i);
            // "Frame eleven's a sixtieth": the 's is a word of its own.
            let stem = folded[i..end].strip_suffix("'s").map_or(end, |s| i + s.len());
            (Kind::Word, if stem > i { stem } else { end })
        } else if c == '\''
            && (glued || i == 0)
            && folded[i..].starts_with("'s")
            && !folded[i + 2..].starts_with(char::is_alphabetic)
        {
            (Kind::Word, i + 2)
        } else if c == '.' && bytes.get(i + 1).is_some_and(u8::is_ascii_digit) && !(glued && i > 0) {
            number(bytes, i)
        } else if c == '.'
            && glued
            && i > 0
            && bytes[i - 1].is_ascii_digit()
            && bytes.get(i + 1).is_some_and(u8::is_ascii_digit)
        {
            // Between the numbers of 125.5.6 it ends nothing.
            (Kind::Mark(','), i + 1)
        } else {
            (Kind::Mark(c), i + c.len_utf8())
        };
        // The bytes that a folded sign no longer needs belong to it.
        let end = end + bytes[end..].iter().take_while(|b| **b == FILLER as u8).count();
        let between_letters = c == '-'
            && i > 0
            && bytes[i - 1].is_ascii_alphabetic()
            && bytes.get(i + 1).is_some_and(u8::is_ascii_alphabetic);
        // `200-th` is one ordinal.
        let before_ending = c == '-'
            && i > 0
            && bytes[i - 1].is_ascii_digit()
            && ["th", "st", "nd", "rd"].iter().any(|e| folded[end..].starts_with(e))
            && !folded[end + 2..].starts_with(char::is_alphabetic);
        self.at = end;
        if before_ending || !between_letters {
            self.last_end = end;
        }
        (!before_ending && !between_letters).then_some(Token { kind, span: i..end, glued, id: None, mend: None })
    }
}

fn word_end(text: &str, start: usize) -> usize {
    let mut end = start;
    let mut chars = text[start..].char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let inner = c == '\'' && chars.peek().is_some_and(|(_, n)| n.is_alphabetic() || *n == FILLER);
        if c.is_alphabetic() || inner || (c == FILLER && at > 0) {
            end = start + at + c.len_utf8();
        } else {
            break;
        }
    }
    end.max(start + 1)
}

/// The most thousands that are written with a comma: 12,800.
const GROUPED: f64 = 12.0;

fn number(bytes: &[u8], start: usize) -> (Kind, usize) {
    let digit = |i: usize| bytes.get(i).is_some_and(u8::is_ascii_digit);
    let mut i = start;
    let mut value = 0.0_f64;
    let mut digits = 0_u8;
    while digit(i) {
        value = value * 10.0 + f64::from(bytes[i] - b'0');
        digits = digits.saturating_add(1);
        i += 1;
        // 1,000: a comma before exactly three digits belongs to the number; 24,400 is a focal
        // length and a speed run together, since nothing said here is counted so high.
        let group = value <= GROUPED
            && bytes.get(i) == Some(&b',')
            && digit(i + 1)
            && digit(i + 2)
            && digit(i + 3)
            && !digit(i + 4);
        if group && digits <= 3 {
            i += 1;
        }
    }
    let mut decimals = 0_u8;
    // A point belongs to the number, but not the first of two as in 11.20.05.
    // In 125.5.6 a speed and an aperture run together: the first point parts them.
    let run_together =
        value >= 15.0 && digit(i + 1) && bytes.get(i + 2) == Some(&b'.') && digit(i + 3) && !digit(i + 4);
    // Nothing is said to three places: 50.160th is a focal length and a speed.
    let run_together = run_together || (digits > 0 && digit(i + 1) && digit(i + 2) && digit(i + 3));
    if bytes.get(i) == Some(&b'.') && digit(i + 1) && !run_together {
        let mut scale = TENTH;
        let mut j = i + 1;
        while digit(j) {
            value += f64::from(bytes[j] - b'0') * scale;
            scale /= 10.0;
            decimals = decimals.saturating_add(1);
            j += 1;
        }
        i = j;
        let scale = 10_f64.powi(i32::from(decimals));
        value = (value * scale).round() / scale;
    }
    (Kind::Number { value, digits, decimals }, i)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(text: &str) -> Vec<String> {
        let folded = fold(text);
        tokens(&folded).map(|t| folded[t.span.clone()].replace('\0', "")).collect()
    }

    #[test]
    fn letters_and_digits_part() {
        assert_eq!(texts("F8 at 1/125th, 80mm."), ["f", "8", "at", "1", "/", "125", "th", ",", "80", "mm", "."]);
        assert_eq!(texts("twenty-five f-11 5.6 5'6"), ["twenty", "five", "f", "-", "11", "5.6", "5", "'", "6"]);
        assert_eq!(texts("didn\u{2019}t it\u{2019}d .5 1,000 12A"), ["didn't", "it'd", ".5", "1,000", "12", "a"]);
        assert_eq!(texts("24,400-f8 12,800 a 200-th"), ["24", ",", "400", "-", "f", "8", "12,800", "a", "200", "th"]);
        // The point stays a point in the text; its token parts as a comma does.
        assert_eq!(texts("50.160th"), ["50", ".", "160", "th"]);
        assert_eq!(texts(".333 0.4567"), [".333", "0", ".", "4567"]);
    }

    #[test]
    fn spans_hold_for_the_original() {
        let text = "didn\u{2019}t \u{2013} F8 \u{00e9}t\u{00e9}";
        let folded = fold(text);
        assert_eq!(folded.len(), text.len());
        for t in tokens(&folded) {
            assert!(text.get(t.span).is_some());
        }
        assert_eq!(texts("sea\0gull"), ["sea", "gull"]);
        let times = fold("6\u{00d7}6");
        assert!(tokens(&times).all(|t| "6\u{00d7}6".get(t.span.clone()).is_some()));
    }
}
