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

/// Levenshtein distance, giving up beyond `most`.
pub fn distance(a: &str, b: &str, most: usize) -> Option<usize> {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    if a.len().abs_diff(b.len()) > most {
        return None;
    }
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let change = diagonal + usize::from(ca != cb);
            diagonal = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(row[j + 1] + 1);
        }
    }
    row.last().copied().filter(|d| *d <= most)
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
