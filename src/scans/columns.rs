//! Which number in a folder's names counts the frames.
//!
//! All names are looked at together: an order number or a date stays the same
//! from file to file, the frame's number counts up.

use std::collections::HashSet;

use super::tokens::Tokens;

/// Words before a number that call it a frame's.
pub(super) const FRAME_WORDS: [&str; 10] =
    ["frame", "fr", "f", "neg", "negative", "exp", "exposure", "shot", "no", "nr"];
/// Words before a number that call it a strip's.
const STRIP_WORDS: [&str; 5] = ["strip", "strips", "row", "sleeve", "streifen"];
/// A column emptier than this is a code or a time, not a count.
const LEAST_DENSITY: f64 = 0.25;

/// Where a folder's names carry the frame's number, by columns counted from
/// the left among the numbers of a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Layout {
    /// One column; files with the same number show the same frame.
    One(usize),
    /// A strip and a place on it; their order counts the frames.
    Strip(usize, usize),
    /// A lettered strip and a place on it: `A1` … `A6`, `B1` ….
    Lettered(usize),
}

/// The layout of names that all have `width` numbers; none when no column counts.
pub(super) fn layout(names: &[&Tokens], width: usize, capacity: u16, roll: Option<u32>) -> Option<Layout> {
    let columns: Vec<Column> = (0..width).map(|i| Column::of(names, i)).collect();
    if names.len() == 1 {
        let plausible = |c: &&Column| c.values[0] <= u32::from(capacity) + 4 && Some(c.values[0]) != roll;
        let best = columns.iter().rev().find(|c| c.frame_word).or(columns.iter().rev().find(plausible));
        return best.or(columns.last()).map(|c| Layout::One(c.index));
    }
    let counting = |c: &&Column| c.distinct > 1 && (c.density >= LEAST_DENSITY || c.frame_word);
    let best = columns.iter().filter(counting).max_by(|a, b| a.score(capacity).total_cmp(&b.score(capacity)))?;
    if best.share() >= 0.75 {
        return Some(Layout::One(best.index));
    }
    // Several files to each number: strips, or several scans of a frame?
    let pairs_differ = |c: &&Column| {
        c.index != best.index && c.distinct > 1 && {
            let pairs: HashSet<_> = c.values.iter().zip(&best.values).collect();
            pairs.len() == names.len()
        }
    };
    if let Some(other) = columns.iter().find(pairs_differ) {
        let (strip, place) = if other.index < best.index { (other, best) } else { (best, other) };
        let few = names.len() <= usize::from(capacity) + 4;
        let full = strip.distinct * place.distinct * 7 <= names.len() * 10;
        if strip.strip_word || (few && full && place.distinct >= 3 && strip.distinct >= 2) {
            return Some(Layout::Strip(strip.index, place.index));
        }
        // The frame is the column with more values, the left one of equals; the
        // other tells the scans apart.
        let fuller = |c: &Column| (c.distinct, std::cmp::Reverse(c.index));
        let frame = if fuller(other) > fuller(best) && other.density >= LEAST_DENSITY { other } else { best };
        return Some(Layout::One(frame.index));
    }
    let letters: Vec<Option<&str>> = names.iter().map(|t| strip_letter(t, best.index)).collect();
    let lettered: HashSet<_> = letters.iter().zip(&best.values).collect();
    if letters.iter().all(Option::is_some) && lettered.len() == names.len() {
        return Some(Layout::Lettered(best.index));
    }
    Some(Layout::One(best.index))
}

/// The single letter right before the number of column `i`.
pub(super) fn strip_letter(name: &Tokens, i: usize) -> Option<&str> {
    let (piece, _) = name.numbers().nth(i)?;
    let letter = piece.checked_sub(1).and_then(|p| name.word(p))?;
    (letter.chars().count() == 1).then_some(letter)
}

/// The numbers that stand in one place of every name.
struct Column {
    index: usize,
    values: Vec<u32>,
    distinct: usize,
    density: f64,
    frame_word: bool,
    strip_word: bool,
}

impl Column {
    fn of(names: &[&Tokens], index: usize) -> Self {
        let cells: Vec<_> = names.iter().map(|t| t.numbers().nth(index).expect("names of one width")).collect();
        let values: Vec<u32> = cells.iter().map(|(_, d)| d.value).collect();
        let distinct = values.iter().collect::<HashSet<_>>().len();
        let (min, max) = (values.iter().min().copied().unwrap_or(0), values.iter().max().copied().unwrap_or(0));
        let before = |words: &[&str]| {
            names
                .iter()
                .zip(&cells)
                .all(|(t, (piece, _))| piece.checked_sub(1).and_then(|p| t.word(p)).is_some_and(|w| words.contains(&w)))
        };
        Self {
            index,
            distinct,
            density: distinct as f64 / (f64::from(max - min) + 1.0),
            frame_word: before(&FRAME_WORDS),
            strip_word: before(&STRIP_WORDS),
            values,
        }
    }

    /// How many files have a number of their own in this column, 0 to 1.
    fn share(&self) -> f64 {
        self.distinct as f64 / self.values.len() as f64
    }

    fn score(&self, capacity: u16) -> f64 {
        let min = self.values.iter().min().copied().unwrap_or(0);
        let max = self.values.iter().max().copied().unwrap_or(0);
        let fits = max <= u32::from(capacity) + 4;
        let starts = f64::from(min.abs_diff(1).min(10));
        // Gaps are natural: frames are left out. So half full is full enough.
        self.share() + (self.density * 2.0).min(1.0) + 0.02 * self.index as f64 - 0.03 * starts
            + if self.frame_word { 0.5 } else { 0.0 }
            + if fits { 0.2 } else { 0.0 }
    }
}
