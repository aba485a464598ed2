//! An archive that is damaged is set aside, and a new one begun.

use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

use crate::roll::Trip;

use super::{Archive, ArchiveError, TripKey};

impl Archive {
    /// Puts `trip` into the archive at `path`, as [`Archive::store`]. One that is damaged is renamed, and a new
    /// one takes its place; the answer says where the damaged one lies then.
    ///
    /// # Errors
    /// As [`Archive::open_or_create`] and [`Archive::store`], when the archive is not damaged.
    pub fn keep(path: &Path, trip: &Trip, key: &TripKey) -> Result<Option<PathBuf>, ArchiveError> {
        let put = || Self::open_or_create(path)?.store(trip, key);
        match put() {
            Err(why) if is_damage(&why) => {
                let aside = set_aside(path).map_err(|_| why)?;
                put().map(|()| Some(aside))
            }
            done => done.map(|()| None),
        }
    }
}

fn is_damage(why: &ArchiveError) -> bool {
    let ArchiveError::Database(rusqlite::Error::SqliteFailure(failure, _)) = why else { return false };
    matches!(failure.code, ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt)
}

/// Renames the database with the files beside it; nothing is written over.
fn set_aside(path: &Path) -> std::io::Result<PathBuf> {
    let with = |tail: &str| {
        let mut name = path.as_os_str().to_owned();
        name.push(tail);
        PathBuf::from(name)
    };
    let free = (1..).map(|n| if n == 1 { ".damaged".to_owned() } else { format!(".damaged-{n}") });
    let tail = free.into_iter().find(|tail| with(tail).symlink_metadata().is_err()).unwrap_or_default();
    for part in ["-wal", "-shm", "-journal"] {
        if with(part).symlink_metadata().is_ok() {
            std::fs::rename(with(part), with(&format!("{tail}{part}")))?;
        }
    }
    std::fs::rename(path, with(&tail))?;
    Ok(with(&tail))
}

#[cfg(test)]
#[allow(clippy::disallowed_methods, reason = "tests set the scene")]
mod tests {
    use super::super::{Query, samples};
    use super::*;

    #[test]
    fn a_damaged_archive_is_set_aside_and_built_anew() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("archive.db");
        let keep = || Archive::keep(&path, &samples::harbour(), &samples::key("one")).unwrap();
        assert_eq!(keep(), None);
        let frames = || Archive::open(&path).unwrap().find(&Query::default(), 99).unwrap().frames.len();
        let whole = frames();
        assert!(whole > 0);
        for (bytes, name) in [
            (b"no database at all, but long enough to be looked at".repeat(50), "archive.db.damaged"),
            (
                std::fs::read(&path)
                    .unwrap()
                    .iter()
                    .enumerate()
                    .map(|(i, b)| if i < 2_000 { *b } else { 0xA5 })
                    .collect(),
                "archive.db.damaged-2",
            ),
        ] {
            std::fs::write(&path, &bytes).unwrap();
            assert_eq!(keep(), Some(dir.path().join(name)));
            assert_eq!(std::fs::read(dir.path().join(name)).unwrap(), bytes, "what was there is kept");
            assert_eq!(frames(), whole);
        }
    }

    #[test]
    fn an_archive_of_another_program_is_no_damage() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("archive.db");
        rusqlite::Connection::open(&path).unwrap().execute_batch("CREATE TABLE theirs (x)").unwrap();
        let kept = Archive::keep(&path, &samples::harbour(), &samples::key("one"));
        assert!(matches!(kept, Err(ArchiveError::Foreign(_))), "{kept:?}");
    }
}
