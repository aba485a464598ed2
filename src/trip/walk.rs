//! Files under a folder.

use std::path::{Path, PathBuf};

use super::natural_cmp;

/// A file or folder that was not taken, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PassedOver {
    /// Where it lies.
    pub path: PathBuf,
    /// Why, and what to do.
    pub why: String,
}

/// What a walk found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Walked {
    /// Files in natural order of their paths.
    pub files: Vec<PathBuf>,
    /// Folders that could not be read, links that lead away, and what is neither file nor folder.
    pub passed_over: Vec<PassedOver>,
}

/// Every file under `dir`, at any depth, in natural order. Hidden files are
/// left out. A link is followed only to a file inside `trip`.
/// A folder that does not exist has no files.
pub fn files_under(dir: &Path, trip: &Path) -> Walked {
    let mut walked = Walked::default();
    if !dir.exists() {
        if dir.symlink_metadata().is_ok() {
            let why = "a link that leads nowhere: put the folder there".to_owned();
            walked.passed_over.push(PassedOver { path: dir.to_owned(), why });
        }
        return walked;
    }
    let hidden = |e: &walkdir::DirEntry| e.depth() > 0 && e.file_name().to_string_lossy().starts_with('.');
    for entry in walkdir::WalkDir::new(dir).into_iter().filter_entry(|e| !hidden(e)) {
        match entry {
            Ok(e) if e.file_type().is_file() => {
                if !is_litter(&e.file_name().to_string_lossy()) {
                    walked.files.push(e.into_path());
                }
            }
            Ok(e) if e.path_is_symlink() && e.depth() > 0 => match inside(e.path(), trip) {
                Ok(()) => walked.files.push(e.into_path()),
                Err(why) => walked.passed_over.push(PassedOver { path: e.into_path(), why }),
            },
            Ok(e) if e.file_type().is_dir() => {}
            Ok(e) => {
                let why = "a pipe, a socket or a device, and no file: it is not read".to_owned();
                walked.passed_over.push(PassedOver { path: e.into_path(), why });
            }
            Err(e) => {
                let path = e.path().unwrap_or(dir).to_owned();
                let why =
                    e.io_error().map_or_else(|| "cannot be read".to_owned(), |io| format!("cannot be read: {io}"));
                walked.passed_over.push(PassedOver { path, why });
            }
        }
    }
    walked.files.sort_by(|a, b| natural_cmp(&a.to_string_lossy(), &b.to_string_lossy()));
    walked
}

/// Whether a link leads to a file inside the trip.
fn inside(link: &Path, trip: &Path) -> Result<(), String> {
    let away = || "a link that leads out of the trip: copy the file in instead".to_owned();
    let target = link.canonicalize().map_err(|e| format!("a link that leads nowhere: {e}"))?;
    let trip = trip.canonicalize().map_err(|_| away())?;
    if !target.starts_with(&trip) {
        Err(away())
    } else if target.is_file() {
        Ok(())
    } else {
        let what =
            if target.is_dir() { "a link to a folder: folders are read where they lie" } else { "a link to no file" };
        Err(what.to_owned())
    }
}

/// Files that systems leave behind in folders of pictures.
fn is_litter(name: &str) -> bool {
    ["thumbs.db", "desktop.ini"].contains(&name.to_ascii_lowercase().as_str())
}

#[cfg(test)]
#[allow(clippy::disallowed_methods)] // tests set the scene
mod tests {
    use super::*;

    #[test]
    fn files_come_in_natural_order_without_hidden_ones() {
        let dir = tempfile::tempdir().unwrap();
        for name in ["b/10.txt", "b/9.txt", "a.txt", ".hidden", ".x/y.txt", "Thumbs.db"] {
            let path = dir.path().join(name);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, "").unwrap();
        }
        let walked = files_under(dir.path(), dir.path());
        let names: Vec<_> =
            walked.files.iter().map(|f| f.strip_prefix(dir.path()).unwrap().to_string_lossy()).collect();
        assert_eq!(names, ["a.txt", "b/9.txt", "b/10.txt"]);
        assert!(walked.passed_over.is_empty());
        assert_eq!(files_under(&dir.path().join("none"), dir.path()), Walked::default());
    }

    #[cfg(unix)]
    #[test]
    fn links_are_followed_only_inside_the_trip() {
        let trip = tempfile::tempdir().unwrap();
        let away = tempfile::tempdir().unwrap();
        let file = away.path().join("secret.txt");
        std::fs::write(&file, "x").unwrap();
        std::fs::write(trip.path().join("here.txt"), "x").unwrap();
        let notes = trip.path().join("notes");
        std::fs::create_dir(&notes).unwrap();
        std::os::unix::fs::symlink(&file, notes.join("away.txt")).unwrap();
        std::os::unix::fs::symlink(away.path(), notes.join("folder")).unwrap();
        std::os::unix::fs::symlink(trip.path().join("here.txt"), notes.join("link.txt")).unwrap();
        let walked = files_under(&notes, trip.path());
        assert_eq!(walked.files, [notes.join("link.txt")]);
        assert_eq!(walked.passed_over.len(), 2);
        assert!(walked.passed_over.iter().all(|p| p.why.contains("out of the trip")), "{:?}", walked.passed_over);
    }
}
