//! An archive to another place.

use std::path::Path;

use super::{Archive, ArchiveError};

impl Archive {
    /// Writes a copy of the archive to `path`, which is not there yet, in a compact form.
    ///
    /// # Errors
    /// A failure of the database, also when something is at `path`.
    pub fn copy_to(&self, path: &Path) -> Result<(), ArchiveError> {
        self.db.execute("VACUUM INTO ?1", [path.to_string_lossy()])?;
        Ok(())
    }

    /// Says that trips whose folders lay in `from` lie in `to` now. Gives how many there were.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn moved_folders(&mut self, from: &str, to: &str) -> Result<usize, ArchiveError> {
        let (from, to) = (from.trim_end_matches('/'), to.trim_end_matches('/'));
        let moved = |column: &str| {
            format!(
                "CASE WHEN {column} = ?1 OR substr({column}, 1, length(?1) + 1) = ?1 || '/'
                     THEN ?2 || substr({column}, length(?1) + 1) ELSE {column} END"
            )
        };
        let sql = format!(
            "UPDATE trips SET root = {}, out = {} WHERE root = ?1 OR substr(root, 1, length(?1) + 1) = ?1 || '/'",
            moved("root"),
            moved("out")
        );
        Ok(self.db.execute(&sql, [from, to])?)
    }
}

#[cfg(test)]
mod tests {
    use super::super::samples::{harbour, key, stored};
    use super::super::{Archive, Query};

    #[test]
    fn a_copy_is_the_same_archive() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("there.db");
        stored().copy_to(&path).unwrap();
        let copy = Archive::open(&path).unwrap();
        assert_eq!(copy.find(&Query::parse("slipway").unwrap(), 9).unwrap().frames.len(), 1);
        assert_eq!(copy.faults().unwrap(), [] as [String; 0]);
        assert!(stored().copy_to(&path).is_err(), "something is there");
    }

    #[test]
    fn only_folders_inside_the_one_that_moved_follow_it() {
        let mut archive = stored();
        archive.store(&harbour(), &key("low-water-2")).unwrap();
        assert_eq!(archive.moved_folders("/trips/low-water", "/disk/lw/").unwrap(), 1);
        assert_eq!(archive.moved_folders("/trips/", "/disk").unwrap(), 1);
        let mut roots: Vec<String> = archive.trips().unwrap().into_iter().map(|t| t.root).collect();
        roots.sort();
        assert_eq!(roots, ["/disk/low-water-2", "/disk/lw"]);
        assert_eq!(
            archive.find(&Query::default(), 1).unwrap().frames[0].out.as_deref().map(|o| o.starts_with("/disk/")),
            Some(true)
        );
    }
}
