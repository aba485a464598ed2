//! Opens an archive and brings it to the present version.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use super::{ArchiveError, developing, geo, rule};

/// Every version's change, oldest first. An entry is never edited once a
/// program with it is out; a new one is added at the end.
const VERSIONS: &[&str] = &[
    include_str!("schema/1.sql"),
    include_str!("schema/2.sql"),
    include_str!("schema/3.sql"),
    include_str!("schema/4.sql"),
];

/// Marks the file as an archive of this program: `spol`, as SQLite's `application_id`.
const APPLICATION: i32 = 0x7370_6f6c;

/// An open archive, of the present version.
#[derive(Debug)]
pub struct Archive {
    pub(super) db: Connection,
}

impl Archive {
    /// The archive at `path`, made when there is none, migrated when it is older.
    ///
    /// # Errors
    /// [`ArchiveError::TooNew`], [`ArchiveError::Foreign`], [`ArchiveError::Link`],
    /// or a failure of the database.
    pub fn open_or_create(path: &Path) -> Result<Self, ArchiveError> {
        refuse_links(path)?;
        Self::opened(Connection::open(path)?, path)
    }

    /// The archive at `path`, for a search.
    ///
    /// # Errors
    /// [`ArchiveError::Missing`] when there is none; else as [`Self::open_or_create`].
    pub fn open(path: &Path) -> Result<Self, ArchiveError> {
        if !path.is_file() {
            return Err(ArchiveError::Missing(path.to_owned()));
        }
        refuse_links(path)?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let archive = Self::opened(Connection::open_with_flags(path, flags)?, path)?;
        // Reads spare the copy; writes stay with the usual calls, which cannot fault.
        archive.db.pragma_update(None, "mmap_size", 4_i64 << 30)?;
        Ok(archive)
    }

    /// An archive that lives in memory, for tests.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn in_memory() -> Result<Self, ArchiveError> {
        Self::opened(Connection::open_in_memory()?, Path::new(":memory:"))
    }

    fn opened(mut db: Connection, path: &Path) -> Result<Self, ArchiveError> {
        db.busy_timeout(Duration::from_secs(30))?;
        db.pragma_update(None, "journal_mode", "wal")?;
        db.pragma_update(None, "synchronous", "normal")?;
        db.pragma_update(None, "foreign_keys", true)?;
        db.pragma_update(None, "cache_size", -64_000)?;
        db.set_prepared_statement_cache_capacity(64);
        geo::teach(&db)?;
        rule::teach(&db)?;
        developing::teach(&db)?;
        migrate(&mut db, path, VERSIONS)?;
        Ok(Self { db })
    }
}

/// Brings `db` to the last of `versions`, all or nothing.
fn migrate(db: &mut Connection, path: &Path, versions: &[&str]) -> Result<(), ArchiveError> {
    let known = versions.len() as u32;
    let version = |db: &Connection| db.pragma_query_value(None, "user_version", |r| r.get::<_, u32>(0));
    if version(db)? == known && is_ours(db)? {
        return Ok(());
    }
    // Asked again inside the transaction: another process may have been quicker.
    let tx = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let found = version(&tx)?;
    if found > known {
        return Err(ArchiveError::TooNew { found, known });
    }
    let empty = found == 0 && tx.query_row("SELECT count(*) = 0 FROM sqlite_schema", [], |r| r.get(0))?;
    if !empty && !is_ours(&tx)? {
        return Err(ArchiveError::Foreign(path.to_owned()));
    }
    for change in &versions[found as usize..] {
        tx.execute_batch(change)?;
    }
    tx.pragma_update(None, "application_id", APPLICATION)?;
    tx.pragma_update(None, "user_version", known)?;
    tx.commit()?;
    Ok(())
}

fn is_ours(db: &Connection) -> rusqlite::Result<bool> {
    db.pragma_query_value(None, "application_id", |r| r.get::<_, i32>(0)).map(|id| id == APPLICATION)
}

/// The database also writes `-wal`, `-shm` and `-journal` beside its file.
fn refuse_links(path: &Path) -> Result<(), ArchiveError> {
    for tail in ["", "-wal", "-shm", "-journal"] {
        let mut name = path.as_os_str().to_owned();
        name.push(tail);
        let file = PathBuf::from(name);
        if file.symlink_metadata().is_ok_and(|m| m.file_type().is_symlink()) {
            return Err(ArchiveError::Link(file));
        }
    }
    Ok(())
}

#[cfg(test)]
#[allow(clippy::disallowed_methods, reason = "tests set the scene")]
mod tests {
    use super::super::{Query, samples};
    use super::*;

    /// An archive as the first version of the program left it, with one frame:
    /// 1/125 at f/8 on EI 100 in full sun, one stop over the rule.
    fn first_version(path: &Path) {
        let db = Connection::open(path).unwrap();
        db.execute_batch(VERSIONS[0]).unwrap();
        db.execute_batch(
            r#"INSERT INTO trips VALUES (1, 'old', 'Ebb', '/trips/ebb');
             INSERT INTO rolls VALUES (1, 1, '7', '7', NULL, NULL, 100, NULL, 12,
                 '["edge fogged","developed: developer halcyon, dilution 1+50, time 11 min, sleeve 14"]');
             INSERT INTO names VALUES (1, 'light', 'full sun');
             INSERT INTO frames (id, trip, roll, place_no, frame, status, light, ei, seconds, aperture, ev100)
                 VALUES (5, 1, 1, 0, '1', 'ok', 1, 100, 0.008, 8, 12.9658);
             INSERT INTO details VALUES (5, NULL, '1/125', NULL, NULL, NULL, 'voice', '', '[]', 'old boats', NULL, NULL,
                 '{}', NULL);
             INSERT INTO words (rowid, said) VALUES (5, 'old boats');
             PRAGMA user_version = 1;"#,
        )
        .unwrap();
        db.pragma_update(None, "application_id", APPLICATION).unwrap();
    }

    #[test]
    fn an_archive_of_the_first_version_is_brought_up() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("archive.db");
        first_version(&path);
        let mut archive = Archive::open(&path).unwrap();
        let version: u32 = archive.db.pragma_query_value(None, "user_version", |r| r.get(0)).unwrap();
        assert_eq!(version as usize, VERSIONS.len());
        let found = archive.find(&Query::parse("boats rule:+2.0 shutter:1/125").unwrap(), 9).unwrap().frames;
        assert_eq!((found.len(), found[0].trip.as_str()), (1, "Ebb"));
        let developed = &found[0].rest;
        assert_eq!((developed.developer.as_deref(), developed.dev_time.as_deref()), (Some("halcyon"), Some("11 min")));
        assert_eq!((developed.sleeve.as_deref(), &developed.temperature), (Some("14"), &None));
        let remarks: String = archive.db.query_row("SELECT remarks FROM rolls", [], |r| r.get(0)).unwrap();
        assert_eq!(remarks, r#"["edge fogged"]"#, "what was developing is no remark any more");
        archive.store(&samples::harbour(), &samples::key("new")).unwrap();
        drop(archive);
        let again = Archive::open(&path).unwrap();
        assert_eq!(again.find(&Query::default(), 99).unwrap().frames.len(), 7);
        let check: String = again.db.query_row("PRAGMA integrity_check", [], |r| r.get(0)).unwrap();
        assert_eq!(check, "ok");
    }

    #[test]
    fn a_migration_that_fails_leaves_the_old_version() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("archive.db");
        first_version(&path);
        let mut db = Connection::open(&path).unwrap();
        let bad = [VERSIONS[0], "CREATE TABLE new (x); INSERT INTO nowhere VALUES (1);"];
        assert!(matches!(migrate(&mut db, &path, &bad), Err(ArchiveError::Database(_))));
        assert_eq!(db.pragma_query_value(None, "user_version", |r| r.get::<_, u32>(0)).unwrap(), 1);
        let new: bool =
            db.query_row("SELECT count(*) > 0 FROM sqlite_schema WHERE name = 'new'", [], |r| r.get(0)).unwrap();
        assert!(!new);
    }

    #[test]
    fn other_files_are_left_alone() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("archive.db");
        assert!(matches!(Archive::open(&path), Err(ArchiveError::Missing(_))));
        Connection::open(&path).unwrap().execute_batch("CREATE TABLE theirs (x)").unwrap();
        assert!(matches!(Archive::open_or_create(&path), Err(ArchiveError::Foreign(_))));
        let newer = dir.path().join("newer.db");
        drop(Archive::open_or_create(&newer).unwrap());
        Connection::open(&newer).unwrap().pragma_update(None, "user_version", 99).unwrap();
        assert!(matches!(Archive::open(&newer), Err(ArchiveError::TooNew { found: 99, .. })));
        let text = dir.path().join("text.db");
        std::fs::write(&text, "not a database, but long enough to look like one to be opened".repeat(20)).unwrap();
        assert!(matches!(Archive::open(&text), Err(ArchiveError::Database(_))));
        #[cfg(unix)]
        {
            let link = dir.path().join("link.db");
            std::os::unix::fs::symlink(&newer, &link).unwrap();
            assert!(matches!(Archive::open_or_create(&link), Err(ArchiveError::Link(_))));
        }
    }
}
