//! Which row on the disk is which row that was written: by frame number, and by
//! the recorded words where a number was changed.

use std::collections::HashMap;

use crate::facts::FrameNumber;
use crate::output::csv::RowText;

use super::cell::tidy;
use super::number;

/// What became of the rows.
#[derive(Debug, Default)]
pub(super) struct Pairs {
    /// Row written, row on the disk.
    pub matched: Vec<(usize, usize)>,
    /// Pairs whose frame number was changed; they are matched as well.
    pub renumbered: Vec<(usize, usize)>,
    /// Rows on the disk whose frame was not there before.
    pub added: Vec<(FrameNumber, usize)>,
    /// Rows on the disk for a frame that another row stands for already.
    pub doubled: Vec<usize>,
    /// Rows on the disk without a frame number.
    pub nameless: Vec<usize>,
    /// Rows written that are on the disk no more.
    pub removed: Vec<usize>,
}

pub(super) fn pair(written: &[RowText], on_disk: &[RowText]) -> Pairs {
    let (by_words, words_on_disk) = (unique_words(written), unique_words(on_disk));
    let numbers: Vec<Option<FrameNumber>> = written.iter().map(number_of).collect();
    let mut taken = vec![false; written.len()];
    let mut pairs = Pairs::default();
    for (d, row) in on_disk.iter().enumerate() {
        let Some(number) = number_of(row) else {
            pairs.nameless.push(d);
            continue;
        };
        // A spreadsheet writes `00` as `0`.
        let is_it = |n: FrameNumber| n == number || number == FrameNumber::new(0) && n == FrameNumber::DOUBLE_ZERO;
        let same_number: Vec<usize> = (0..written.len()).filter(|w| numbers[*w].is_some_and(is_it)).collect();
        let said = words(row).filter(|w| words_on_disk.contains_key(w)).and_then(|w| by_words.get(&w).copied());
        match said {
            Some(w) if !same_number.contains(&w) && !taken[w] && !only_words_moved(&written[w], row) => {
                taken[w] = true;
                pairs.matched.push((w, d));
                pairs.renumbered.push((w, d));
            }
            _ => {
                let free = same_number.iter().copied().filter(|w| !taken[*w]);
                match free.max_by_key(|w| (alike(&written[*w], row), std::cmp::Reverse(*w))) {
                    Some(w) => {
                        taken[w] = true;
                        pairs.matched.push((w, d));
                    }
                    None if same_number.is_empty() => pairs.added.push((number, d)),
                    None => pairs.doubled.push(d),
                }
            }
        }
    }
    pairs.removed = (0..written.len()).filter(|w| !taken[*w]).collect();
    pairs
}

/// The frame number in a row, as a spreadsheet may show it.
fn number_of(row: &RowText) -> Option<FrameNumber> {
    let cell = tidy(row.get("frame")?);
    cell.parse().ok().or_else(|| {
        let whole = number::numbers(&cell).into_iter().find(|n| n.fract() == 0.0 && (0.0..=999.0).contains(n))?;
        Some(FrameNumber::new(whole as u16))
    })
}

/// The recorded words of a row; none when it has none.
fn words(row: &RowText) -> Option<(String, String)> {
    let said = tidy(row.get("said")?);
    (!said.is_empty()).then(|| (said, tidy(row.get("clip").unwrap_or_default())))
}

/// Rows by their words, those whose words no other row has.
fn unique_words(rows: &[RowText]) -> HashMap<(String, String), usize> {
    let mut seen: HashMap<(String, String), Option<usize>> = HashMap::new();
    for (i, row) in rows.iter().enumerate() {
        if let Some(words) = words(row) {
            seen.entry(words).and_modify(|at| *at = None).or_insert(Some(i));
        }
    }
    seen.into_iter().filter_map(|(words, at)| Some((words, at?))).collect()
}

/// The words were copied to a row that is otherwise another frame.
fn only_words_moved(written: &RowText, on_disk: &RowText) -> bool {
    alike(written, on_disk) * 2 < written.iter().filter(|(_, cell)| !cell.is_empty()).count()
}

/// How many cells with something in them are the same in both.
fn alike(written: &RowText, on_disk: &RowText) -> usize {
    written.iter().filter(|(c, cell)| !cell.is_empty() && on_disk.get(c).is_some_and(|d| tidy(d) == tidy(cell))).count()
}
