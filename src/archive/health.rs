//! Whether an archive is whole: the database itself, and that its parts belong together.

use crate::output::words;

use super::{Archive, ArchiveError};

/// What is counted, what it is, and what is wrong with it when there is any.
const ORPHANS: [(&str, &str, &str); 5] = [
    (
        "SELECT count(*) FROM frames f WHERE NOT EXISTS (SELECT 1 FROM words_docsize w WHERE w.id = f.id)",
        "frame",
        "whose words cannot be searched",
    ),
    (
        "SELECT count(*) FROM words_docsize w WHERE NOT EXISTS (SELECT 1 FROM frames f WHERE f.id = w.id)",
        "record",
        "of searchable words without a frame",
    ),
    (
        "SELECT count(*) FROM frames f WHERE NOT EXISTS (SELECT 1 FROM details d WHERE d.frame = f.id)",
        "frame",
        "in part",
    ),
    (
        "SELECT count(*) FROM trips t WHERE NOT EXISTS (SELECT 1 FROM rolls r WHERE r.trip = t.id)",
        "trip",
        "without a roll",
    ),
    ("SELECT count(*) - count(DISTINCT root) FROM trips", "trip", "in the folder of another"),
];

impl Archive {
    /// What is wrong with the archive, a sentence each; nothing when it is whole.
    ///
    /// # Errors
    /// When the database is too damaged to be asked.
    pub fn faults(&self) -> Result<Vec<String>, ArchiveError> {
        let number = |n: i64, what| words::counted(usize::try_from(n).unwrap_or(usize::MAX), what);
        let mut faults = Vec::new();
        let mut whole = self.db.prepare("PRAGMA integrity_check(20)")?;
        let said: Vec<String> = whole.query_map([], |r| r.get(0))?.collect::<Result<_, _>>()?;
        faults.extend(said.into_iter().filter(|line| line != "ok").map(|line| format!("the database: {line}")));
        let astray: i64 = self.db.query_row("SELECT count(*) FROM pragma_foreign_key_check", [], |r| r.get(0))?;
        if astray > 0 {
            faults.push(format!("{} without an owner", number(astray, "row")));
        }
        if let Err(why) = self.db.execute("INSERT INTO words (words) VALUES ('integrity-check')", []) {
            faults.push(format!("the words to search by: {why}"));
        }
        for (sql, what, wrong) in ORPHANS {
            let count: i64 = self.db.query_row(sql, [], |r| r.get(0))?;
            if count > 0 {
                faults.push(format!("{} {wrong}", number(count, what)));
            }
        }
        Ok(faults)
    }
}

#[cfg(test)]
mod tests {
    use super::super::samples::{harbour, key, stored};

    #[test]
    fn a_whole_archive_has_no_faults() {
        let mut archive = stored();
        archive.store(&harbour(), &key("low-water")).unwrap();
        archive.store(&harbour(), &key("again")).unwrap();
        archive.forget("again").unwrap();
        assert_eq!(archive.faults().unwrap(), [] as [String; 0]);
    }

    #[test]
    fn what_does_not_belong_together_is_told() {
        let archive = stored();
        archive.db.execute("DELETE FROM words WHERE rowid = (SELECT min(id) FROM frames)", []).unwrap();
        archive.db.pragma_update(None, "foreign_keys", false).unwrap();
        archive.db.execute("DELETE FROM rolls WHERE name = 'A3'", []).unwrap();
        let faults = archive.faults().unwrap();
        assert_eq!(faults, ["1 row without an owner", "1 frame whose words cannot be searched"]);
    }
}
