//! Words that sound alike: a key by rules of the grammar, and an edit distance.

/// A rule: letters to what they sound as. Applied left to right, longest first.
#[derive(Debug, Clone, Default)]
pub struct SoundRules {
    rules: Vec<(String, String)>,
}

impl SoundRules {
    /// Rules from pairs; longer ones are tried first.
    pub fn new(mut rules: Vec<(String, String)>) -> Self {
        rules.sort_by_key(|(from, _)| std::cmp::Reverse(from.len()));
        Self { rules }
    }

    /// What a run of letters sounds as, repeats folded.
    pub fn key(&self, letters: &str) -> String {
        let mut out = String::with_capacity(letters.len());
        let mut i = 0;
        'next: while i < letters.len() {
            for (from, to) in &self.rules {
                if letters[i..].starts_with(from.as_str()) {
                    for c in to.chars() {
                        if !out.ends_with(c) {
                            out.push(c);
                        }
                    }
                    i += from.len();
                    continue 'next;
                }
            }
            let c = letters[i..].chars().next().expect("i stands on a character");
            if c.is_alphabetic() && !out.ends_with(c) {
                out.push(c);
            }
            i += c.len_utf8();
        }
        out
    }
}

/// Letters to change, add or drop to make one of the other (Levenshtein 1966); `None` beyond `most`.
pub fn distance(a: &str, b: &str, most: usize) -> Option<usize> {
    if a.chars().count().abs_diff(b.chars().count()) > most {
        return None;
    }
    Some(strsim::levenshtein(a, b)).filter(|d| *d <= most)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances() {
        assert_eq!(distance("marrow", "merrow", 2), Some(1));
        assert_eq!(distance("kitten", "sitting", 3), Some(3));
        assert_eq!(distance("kitten", "sitting", 2), None);
        assert_eq!(distance("", "ab", 2), Some(2));
    }
}
