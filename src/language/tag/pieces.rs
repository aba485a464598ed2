//! Words to word pieces: the greedy longest match of WordPiece (as in the
//! published BERT tokeniser), over a table that was cut down to what notes need.

use std::collections::HashMap;

/// Piece that opens a text.
pub const OPENS: &str = "[CLS]";
/// Piece that closes a text.
pub const CLOSES: &str = "[SEP]";
/// Piece of what no piece fits.
pub const UNKNOWN: &str = "[UNK]";
/// Longest run of letters that is looked up, in bytes; longer ones are no words.
const LONGEST: usize = 60;

/// The table of word pieces.
#[derive(Debug, Clone)]
pub struct Pieces {
    ids: HashMap<String, u32>,
    /// Number of the piece that opens a text.
    pub opens: u32,
    /// Number of the piece that closes a text.
    pub closes: u32,
    unknown: u32,
}

impl Pieces {
    /// From a text of one piece a line; pieces within a word begin with `##`. None if one of the
    /// special pieces is missing.
    pub fn from_lines(text: &str) -> Option<Self> {
        let ids: HashMap<String, u32> = text.lines().zip(0..).map(|(l, i)| (l.to_owned(), i)).collect();
        let (opens, closes, unknown) = (*ids.get(OPENS)?, *ids.get(CLOSES)?, *ids.get(UNKNOWN)?);
        Some(Self { ids, opens, closes, unknown })
    }

    /// How many pieces there are.
    pub fn len(&self) -> usize {
        self.ids.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.ids.is_empty()
    }

    /// The pieces of one token in lower case; at least one.
    pub fn of(&self, token: &str) -> Vec<u32> {
        let mut out = Vec::new();
        let token = token.replace(crate::language::text::FILLER, "");
        let mut rest = token.as_str();
        while let Some(c) = rest.chars().next() {
            let len = if c.is_alphanumeric() {
                rest.find(|c: char| !c.is_alphanumeric()).unwrap_or(rest.len())
            } else {
                c.len_utf8()
            };
            self.word(&rest[..len], &mut out);
            rest = &rest[len..];
        }
        if out.is_empty() {
            out.push(self.unknown);
        }
        out
    }

    fn word(&self, word: &str, out: &mut Vec<u32>) {
        let before = out.len();
        let mut at = 0;
        while at < word.len() && word.len() <= LONGEST {
            let mut end = word.len();
            let found = loop {
                if end <= at {
                    break None;
                }
                if word.is_char_boundary(end) {
                    let piece = &word[at..end];
                    let id = if at == 0 { self.ids.get(piece) } else { self.ids.get(format!("##{piece}").as_str()) };
                    if let Some(id) = id {
                        break Some(*id);
                    }
                }
                end -= 1;
            };
            match found {
                Some(id) => out.push(id),
                None => break,
            }
            at = end;
        }
        if at < word.len() {
            out.truncate(before);
            out.push(self.unknown);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_longest_pieces_are_taken_from_the_left() {
        let p = Pieces::from_lines("[CLS]\n[SEP]\n[UNK]\nsix\n##tie\n##t\n##h\n5\n.\n6\n##ieth").unwrap();
        assert_eq!(p.of("sixtieth"), [3, 4, 5, 6]);
        assert_eq!(p.of("5.6"), [7, 8, 9]);
        assert_eq!(p.of("ships"), [2]);
        assert_eq!(p.of(""), [2]);
    }
}
