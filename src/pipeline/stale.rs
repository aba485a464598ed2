//! Results of rolls that are no longer in the trip.

use std::collections::HashSet;
use std::fs;

use crate::edits::Notice;
use crate::output::{OutDir, OutputError, safe_stem};
use crate::roll::Trip;

/// Takes away pages and tables of rolls that an earlier run wrote and that the trip no
/// longer has, as when a roll was given a name. A table changed by hand stays.
///
/// # Errors
/// When a file cannot be removed.
pub fn sweep(out: &OutDir, trip: &Trip) -> Result<Vec<Notice>, OutputError> {
    let rolls: HashSet<String> = trip.rolls.iter().map(|r| safe_stem(r.name.as_str())).collect();
    let mut notices = Vec::new();
    for stem in written_before(out).into_iter().filter(|stem| !rolls.contains(stem)) {
        let (table, copy) = (format!("rolls/{stem}.csv"), format!(".state/rolls/{stem}.csv"));
        let there = out.read(&table);
        if there.is_some() && there != out.read(&copy) {
            let text = "the trip has no such roll any more; the table stays, as it was changed by hand".to_owned();
            notices.push(Notice { place: table, text });
            continue;
        }
        for name in [table, copy, format!("rolls/{stem}.html"), format!("rolls/{stem}.jsonl")] {
            out.remove(&name)?;
        }
    }
    Ok(notices)
}

/// Stems of the tables that are remembered as written.
fn written_before(out: &OutDir) -> Vec<String> {
    let entries = fs::read_dir(out.root().join(".state/rolls")).into_iter().flatten().flatten();
    let mut stems: Vec<String> = entries
        .filter_map(|e| Some(e.file_name().to_str()?.strip_suffix(".csv")?.to_owned()))
        .filter(|stem| !stem.is_empty())
        .collect();
    stems.sort();
    stems
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_the_program_wrote_and_nobody_changed_goes() {
        let dir = tempfile::tempdir().unwrap();
        let out = OutDir::open(&dir.path().join("out"), dir.path()).unwrap();
        for name in ["old", "edited"] {
            out.write(&format!(".state/rolls/{name}.csv"), b"roll\n").unwrap();
            out.write(&format!("rolls/{name}.csv"), b"roll\n").unwrap();
            out.write(&format!("rolls/{name}.html"), b"<p>").unwrap();
        }
        out.write("rolls/edited.csv", b"roll\nmine\n").unwrap();
        out.write("rolls/mine.csv", b"roll\n").unwrap();
        let notices = sweep(&out, &Trip { name: "t".to_owned(), rolls: Vec::new() }).unwrap();
        assert_eq!(notices.len(), 1);
        let left = ["old.csv", "old.html", "edited.csv", "edited.html", "mine.csv"]
            .map(|name| out.read(&format!("rolls/{name}")).is_some());
        assert_eq!(left, [false, false, true, true, true]);
    }
}
