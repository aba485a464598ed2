//! Opens an archive and brings it to the present version.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use super::{ArchiveError, geo};

/// Every version's change, oldest first. An entry is never edited once a
/// program with it is out; a new one is added at the end.
const VERSIONS: &[&str] = &[include_str!("schema/1.sql")];

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
        Self::opened(Connection::open_with_flags(path, flags)?, path)
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
