//! Which times of files can be believed.

use crate::facts::KnownBy;

use super::Note;

/// Takes away the times that come from the files' own modification times when these
/// cannot be true: a recorder closes a file when its recording ends, so the next
/// recording cannot have begun before that. Copied folders break this rule.
pub fn distrust_copies(notes: &mut [Note]) {
    let mut ends: Vec<(jiff::civil::DateTime, f64)> = file_times(notes).collect();
    ends.sort_by_key(|(end, _)| *end);
    let apart = |a: jiff::civil::DateTime, b: jiff::civil::DateTime| b.duration_since(a).as_secs_f64();
    let possible = ends.windows(2).all(|w| apart(w[0].0, w[1].0) >= w[1].1);
    if ends.len() < 2 || !possible {
        let copied = |n: &&mut Note| n.taken.as_ref().is_some_and(|t| t.known_by == KnownBy::FileTime);
        for note in notes.iter_mut().filter(copied) {
            note.taken = None;
        }
    }
}

/// End and length of every clip known by its file's time; a length that is not known
/// counts as the shortest note there is.
fn file_times(notes: &[Note]) -> impl Iterator<Item = (jiff::civil::DateTime, f64)> + '_ {
    notes.iter().filter_map(|n| {
        let taken = n.taken.as_ref().filter(|t| t.known_by == KnownBy::FileTime)?;
        Some((taken.local, n.length_s.unwrap_or(1.0)))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::Taken;

    fn note(second: i8, length_s: f64) -> Note {
        let local = jiff::civil::date(2025, 9, 13).at(9, 0, second, 0);
        let taken = Some(Taken { local, offset_s: None, known_by: KnownBy::FileTime });
        Note { taken, length_s: Some(length_s), ..Note::default() }
    }

    #[test]
    fn files_that_ended_one_after_the_other_are_believed() {
        let mut notes = [note(50, 8.0), note(10, 5.0), note(30, 20.0)];
        distrust_copies(&mut notes);
        assert!(notes.iter().all(|n| n.taken.is_some()));
    }

    #[test]
    fn a_copied_folder_is_not() {
        let mut notes = [note(10, 8.0), note(11, 5.0), note(12, 20.0)];
        distrust_copies(&mut notes);
        assert!(notes.iter().all(|n| n.taken.is_none()));
        let mut alone = [note(10, 8.0)];
        distrust_copies(&mut alone);
        assert!(alone[0].taken.is_none(), "nothing to check it by");
    }
}
