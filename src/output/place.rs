//! The one file that writes outputs. A file is there whole or not at all, it
//! lies below the output folder, and never among the originals.
//!
//! Writing goes to a temporary file beside the target, which is synced and then
//! renamed over it. A run that was killed leaves at most such temporary files;
//! the next one sweeps them away. One run at a time holds the folder.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Component, Path, PathBuf};

use super::OutputError;

/// Folders of a trip that are only read.
const ORIGINALS: [&str; 3] = ["notes", "scans", "rebate"];
/// Temporary files begin and end so.
const PART: (&str, &str) = (".spooltalk-", ".part");
/// Held while a run writes.
const LOCK: &str = ".spooltalk.lock";
/// Folders that outputs go to, for the sweep.
const OURS: [&str; 6] = ["", "rolls", "sidecars", "thumbs", "kept", ".state"];

/// A folder that outputs go to, held by this run alone until dropped.
#[derive(Debug)]
pub struct OutDir {
    root: PathBuf,
    originals: Vec<PathBuf>,
    _lock: File,
}

impl OutDir {
    /// Makes the folder if need be and holds it. `trip` is the trip folder
    /// whose originals must not be touched.
    ///
    /// # Errors
    /// [`OutputError::NoFolder`] when it is a file or cannot be made,
    /// [`OutputError::AmongOriginals`] when it lies in a folder that is only
    /// read, [`OutputError::LeadsOut`] when it stands in the trip but is a link
    /// out of it, [`OutputError::Busy`] when another run holds it.
    pub fn open(out: &Path, trip: &Path) -> Result<Self, OutputError> {
        let no_folder = |source| OutputError::NoFolder { path: out.to_owned(), source };
        let trip_root = fs::canonicalize(trip).ok();
        let originals: Vec<PathBuf> = ORIGINALS
            .iter()
            .flat_map(|name| {
                let there = trip_root.as_deref().unwrap_or(trip).join(name);
                [fs::canonicalize(&there).ok(), Some(there)]
            })
            .flatten()
            .collect();
        // Judged before anything is made, by the part of the path that is there.
        let planned = planned(out).map_err(no_folder)?;
        if originals.iter().any(|o| planned.starts_with(o)) {
            return Err(OutputError::AmongOriginals(out.to_owned()));
        }
        let parent = out.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let stands_in_trip = trip_root
            .as_deref()
            .is_some_and(|t| fs::canonicalize(parent).is_ok_and(|p| p.starts_with(t)) && !planned.starts_with(t));
        if stands_in_trip && out.file_name().is_some() {
            return Err(OutputError::LeadsOut(out.to_owned()));
        }
        fs::create_dir_all(out).map_err(no_folder)?;
        let root = fs::canonicalize(out).map_err(no_folder)?;
        if !root.is_dir() {
            return Err(no_folder(io::ErrorKind::NotADirectory.into()));
        }
        let lock = hold(&root.join(LOCK))?;
        let dir = Self { root, originals, _lock: lock };
        dir.sweep();
        Ok(dir)
    }

    /// The folder, with no links in its path.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Where a file of this name goes, its folders made. `name` has `/` between
    /// folders.
    ///
    /// # Errors
    /// [`OutputError::BadName`] for an absolute path or one with `..`;
    /// [`OutputError::LeadsOut`] when a folder on the way, or the file itself,
    /// is a link; [`OutputError::AmongOriginals`]; [`OutputError::Write`] when a
    /// folder cannot be made.
    pub fn settle(&self, name: &str) -> Result<PathBuf, OutputError> {
        let relative = Path::new(name);
        let plain = relative.components().all(|c| matches!(c, Component::Normal(_)));
        if !plain || name.is_empty() || name.contains(['\\', '\0']) || name.ends_with('/') {
            return Err(OutputError::BadName(name.to_owned()));
        }
        let mut path = self.root.clone();
        let folders = relative.parent().into_iter().flat_map(Path::components);
        for folder in folders {
            path.push(folder);
            match fs::symlink_metadata(&path) {
                Ok(meta) if meta.is_symlink() => return Err(OutputError::LeadsOut(path)),
                Ok(meta) if meta.is_dir() => {}
                Ok(_) => {
                    return Err(OutputError::Write { path, source: io::ErrorKind::NotADirectory.into() });
                }
                Err(_) => {
                    fs::create_dir(&path).map_err(|source| OutputError::Write { path: path.clone(), source })?;
                }
            }
        }
        // Once more as a whole: nothing on the way may have changed the place.
        let there = fs::canonicalize(&path).map_err(|source| OutputError::Write { path: path.clone(), source })?;
        if !there.starts_with(&self.root) {
            return Err(OutputError::LeadsOut(path));
        }
        let target = there.join(relative.file_name().unwrap_or_default());
        if self.originals.iter().any(|o| target.starts_with(o)) {
            return Err(OutputError::AmongOriginals(target));
        }
        match fs::symlink_metadata(&target) {
            Ok(meta) if meta.is_symlink() => Err(OutputError::LeadsOut(target)),
            _ => Ok(target),
        }
    }

    /// Writes a file whole or not at all. Returns whether anything changed: a
    /// file that already holds these bytes is left alone.
    ///
    /// # Errors
    /// As [`OutDir::settle`]; [`OutputError::Write`] when the disk is full or
    /// refuses.
    pub fn write(&self, name: &str, bytes: &[u8]) -> Result<bool, OutputError> {
        let target = self.settle(name)?;
        if fs::metadata(&target).is_ok_and(|m| m.len() == bytes.len() as u64)
            && fs::read(&target).is_ok_and(|there| there == bytes)
        {
            return Ok(false);
        }
        let folder = target.parent().unwrap_or(&self.root);
        replace(folder, &target, bytes).map_err(|source| OutputError::Write { path: target.clone(), source })?;
        Ok(true)
    }

    /// The bytes of an output written before, if it is there.
    pub fn read(&self, name: &str) -> Option<Vec<u8>> {
        let path = self.settle(name).ok()?;
        // A pipe would be waited for.
        path.is_file().then(|| fs::read(path).ok()).flatten()
    }

    /// Removes an output that no longer holds. A file that is not there is fine.
    ///
    /// # Errors
    /// As [`OutDir::settle`]; [`OutputError::Write`] when it cannot be removed.
    pub fn remove(&self, name: &str) -> Result<(), OutputError> {
        let path = self.settle(name)?;
        match fs::remove_file(&path) {
            Err(source) if source.kind() != io::ErrorKind::NotFound => Err(OutputError::Write { path, source }),
            _ => Ok(()),
        }
    }

    /// Removes what a killed run left half written in a folder that is written to.
    pub fn sweep_in(&self, folder: &str) {
        self.sweep_to(&self.root.join(folder), 1);
    }

    /// Removes what a killed run left half written.
    fn sweep(&self) {
        for (i, folder) in OURS.iter().enumerate() {
            self.sweep_to(&self.root.join(folder), if i == 0 { 1 } else { 2 });
        }
    }

    fn sweep_to(&self, folder: &Path, depth: usize) {
        let walk = walkdir::WalkDir::new(folder).max_depth(depth).follow_links(false);
        for entry in walk.into_iter().flatten().filter(|e| e.file_type().is_file()) {
            let name = entry.file_name().to_string_lossy();
            if name.starts_with(PART.0) && name.ends_with(PART.1) {
                // Left over is untidy, not wrong.
                let _ = fs::remove_file(entry.path());
            }
        }
    }
}

/// The path that `out` will have, links resolved as far as it is there.
fn planned(out: &Path) -> io::Result<PathBuf> {
    let mut there = std::path::absolute(out)?;
    let mut missing = Vec::new();
    loop {
        match fs::canonicalize(&there) {
            Ok(real) => return Ok(missing.iter().rev().fold(real, |path, name| path.join(name))),
            Err(_) => match there.components().next_back() {
                Some(Component::Normal(name)) => missing.push(name.to_owned()),
                _ => return Err(io::ErrorKind::InvalidInput.into()),
            },
        }
        there.pop();
    }
}

fn hold(path: &Path) -> Result<File, OutputError> {
    let failed = |source| OutputError::Write { path: path.to_owned(), source };
    if fs::symlink_metadata(path).is_ok_and(|m| m.is_symlink()) {
        return Err(OutputError::LeadsOut(path.to_owned()));
    }
    // A pipe would be waited for.
    if fs::symlink_metadata(path).is_ok_and(|m| !m.is_file()) {
        return Err(failed(io::Error::new(io::ErrorKind::InvalidInput, "it is no file; remove it and run again")));
    }
    let file = File::options().create(true).truncate(false).write(true).open(path).map_err(failed)?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(fs::TryLockError::WouldBlock) => Err(OutputError::Busy(path.parent().unwrap_or(path).to_owned())),
        // Some network drives know no locks; a run there goes on without.
        Err(fs::TryLockError::Error(e)) if e.kind() == io::ErrorKind::Unsupported => Ok(file),
        Err(fs::TryLockError::Error(e)) => Err(failed(e)),
    }
}

fn replace(folder: &Path, target: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(PART.0).suffix(PART.1);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // Readable as any file of the user; the process's mask still applies.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut part = builder.tempfile_in(folder)?;
    part.write_all(bytes)?;
    part.as_file().sync_all()?;
    part.persist(target).map_err(|e| e.error)?;
    #[cfg(unix)]
    File::open(folder)?.sync_all()?;
    Ok(())
}

#[cfg(test)]
#[allow(clippy::disallowed_methods)] // tests set the scene
mod tests {
    use super::*;

    fn trip() -> tempfile::TempDir {
        let dir = tempfile::tempdir().unwrap();
        for name in ORIGINALS {
            fs::create_dir(dir.path().join(name)).unwrap();
        }
        dir
    }

    #[test]
    fn a_file_is_written_whole_and_once() {
        let trip = trip();
        let out = OutDir::open(&trip.path().join("spooltalk"), trip.path()).unwrap();
        assert!(out.write("rolls/7.csv", b"one").unwrap());
        assert!(!out.write("rolls/7.csv", b"one").unwrap());
        assert!(out.write("rolls/7.csv", b"two").unwrap());
        assert_eq!(out.read("rolls/7.csv").as_deref(), Some(&b"two"[..]));
        let left: Vec<_> = fs::read_dir(out.root().join("rolls")).unwrap().flatten().map(|e| e.file_name()).collect();
        assert_eq!(left, ["7.csv"]);
        out.remove("rolls/7.csv").unwrap();
        assert_eq!(out.read("rolls/7.csv"), None);
        out.remove("rolls/7.csv").unwrap();
    }

    #[test]
    fn names_that_climb_are_refused() {
        let trip = trip();
        let out = OutDir::open(&trip.path().join("spooltalk"), trip.path()).unwrap();
        for name in ["../x", "/etc/x", "rolls/../../x", "", "a\\b", "..", "rolls/", "./x", "a\0b"] {
            let refused = out.write(name, b"x");
            assert!(matches!(refused, Err(OutputError::BadName(_))), "{name:?}: {refused:?}");
        }
        assert!(!trip.path().join("x").exists());
    }

    #[test]
    fn the_folder_cannot_be_among_the_originals() {
        let trip = trip();
        for name in ["scans", "notes/deep/er", "rebate/../scans/x"] {
            let refused = OutDir::open(&trip.path().join(name), trip.path());
            assert!(matches!(refused, Err(OutputError::AmongOriginals(_))), "{name}: {refused:?}");
        }
        assert!(!trip.path().join("notes/deep").exists());
        // A folder that holds the trip cannot reach into it either.
        let around = OutDir::open(trip.path(), trip.path()).unwrap();
        let refused = around.write("scans/7/0001.xmp", b"x");
        assert!(matches!(refused, Err(OutputError::AmongOriginals(_))), "{refused:?}");
    }

    #[test]
    fn a_file_is_no_folder() {
        let trip = trip();
        let file = trip.path().join("spooltalk");
        fs::write(&file, "here first").unwrap();
        let refused = OutDir::open(&file, trip.path()).unwrap_err();
        assert!(matches!(refused, OutputError::NoFolder { .. }), "{refused:?}");
        assert!(refused.to_string().contains("--out"));
        assert_eq!(fs::read_to_string(&file).unwrap(), "here first");
    }

    #[test]
    fn one_run_at_a_time() {
        let trip = trip();
        let path = trip.path().join("spooltalk");
        let first = OutDir::open(&path, trip.path()).unwrap();
        assert!(matches!(OutDir::open(&path, trip.path()), Err(OutputError::Busy(_))));
        drop(first);
        OutDir::open(&path, trip.path()).unwrap();
    }

    #[test]
    fn leavings_of_a_killed_run_are_swept() {
        let trip = trip();
        let rolls = trip.path().join("spooltalk/rolls");
        fs::create_dir_all(&rolls).unwrap();
        fs::write(rolls.join(".spooltalk-abc.part"), "half").unwrap();
        fs::write(rolls.join("mine.part"), "kept").unwrap();
        let copies = trip.path().join("spooltalk/R7/sub");
        fs::create_dir_all(&copies).unwrap();
        fs::write(copies.join(".spooltalk-abc.part"), "half").unwrap();
        let out = OutDir::open(&trip.path().join("spooltalk"), trip.path()).unwrap();
        assert!(!rolls.join(".spooltalk-abc.part").exists() && rolls.join("mine.part").exists());
        // Copies of scans lie in folders of any name, which are swept when they are written to.
        assert!(copies.join(".spooltalk-abc.part").exists());
        out.sweep_in("R7/sub");
        assert!(!copies.join(".spooltalk-abc.part").exists());
    }

    #[cfg(unix)]
    #[test]
    fn links_do_not_lead_out() {
        use std::os::unix::fs::symlink;
        let (trip, elsewhere) = (trip(), tempfile::tempdir().unwrap());
        let out = OutDir::open(&trip.path().join("spooltalk"), trip.path()).unwrap();
        symlink(elsewhere.path(), out.root().join("rolls")).unwrap();
        fs::write(elsewhere.path().join("victim"), "safe").unwrap();
        symlink(elsewhere.path().join("victim"), out.root().join("trip.md")).unwrap();
        symlink(trip.path().join("scans"), out.root().join("sidecars")).unwrap();
        for name in ["rolls/7.csv", "trip.md", "sidecars/0001.xmp"] {
            let refused = out.write(name, b"x");
            assert!(matches!(refused, Err(OutputError::LeadsOut(_))), "{name}: {refused:?}");
        }
        assert_eq!(fs::read_to_string(elsewhere.path().join("victim")).unwrap(), "safe");
        assert_eq!(fs::read_dir(elsewhere.path()).unwrap().count(), 1);
        assert_eq!(fs::read_dir(trip.path().join("scans")).unwrap().count(), 0);
        drop(out);
        // Nor does the folder itself, when it stands in the trip as a link out of it.
        symlink(elsewhere.path(), trip.path().join("out")).unwrap();
        let refused = OutDir::open(&trip.path().join("out"), trip.path());
        assert!(matches!(refused, Err(OutputError::LeadsOut(_))), "{refused:?}");
        assert_eq!(fs::read_dir(elsewhere.path()).unwrap().count(), 1);
    }
}
