//! Which folder of a trip holds what.
//!
//! ```text
//! TRIP/kit.toml       what the photographer owns
//! TRIP/roll.toml      how rolls were developed
//! TRIP/notes/         clips and texts, any depth
//! TRIP/scans/ROLL/    pictures, one folder a roll
//! TRIP/rebate/        ROLL.csv, ROLL.tsv, ROLL.txt, a picture ROLL.png, or ROLL/ with any of these
//! ```

use std::path::{Path, PathBuf};

use crate::facts::RollName;

use super::{PassedOver, below, files_under, is_plain};

/// Why a trip cannot be read at all.
#[derive(Debug, thiserror::Error)]
pub enum TripError {
    /// Not a folder.
    #[error("{0}: no such folder: expected a trip with notes/, scans/ or rebate/ in it")]
    NoFolder(PathBuf),
    /// Nothing in it to work on.
    #[error("{0}: nothing to do: expected notes/, scans/ or rebate/ with files in them")]
    Empty(PathBuf),
    /// One of a trip's own folders.
    #[error("{given}: is the {name}/ of a trip: give the folder above it, {above}")]
    Inside {
        /// As given.
        given: PathBuf,
        /// `notes`, `scans` or `rebate`.
        name: &'static str,
        /// The trip's folder.
        above: PathBuf,
    },
    /// Clips or pictures that lie in no folder of their kind.
    #[error("{folder}: {file} lies loose in it: put clips and texts into notes/, scans into scans/ROLL/")]
    Loose {
        /// As given.
        folder: PathBuf,
        /// One of the files.
        file: String,
    },
}

/// How a note is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoteKind {
    /// A recording.
    Clip,
    /// Text or a transcript that someone already has.
    Text,
}

/// A note.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoteFile {
    /// Where it lies.
    pub path: PathBuf,
    /// Its path relative to `notes/`, with `/` between folders; the whole path where it lies elsewhere.
    pub name: String,
    /// How it is read.
    pub kind: NoteKind,
}

impl NoteFile {
    /// The file at `path` as a note of this name; none when it is no clip or text.
    pub fn at(path: &Path, name: String) -> Option<Self> {
        let ext = extension(path);
        let kind = match ext.as_str() {
            e if CLIPS.contains(&e) || MORE_CLIPS.contains(&e) => NoteKind::Clip,
            e if TEXTS.contains(&e) => NoteKind::Text,
            _ => return None,
        };
        Some(Self { path: path.to_owned(), name, kind })
    }
}

/// The scans of one roll.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RollScans {
    /// The roll, named as its folder.
    pub roll: RollName,
    /// Its picture files in natural order.
    pub files: Vec<PathBuf>,
}

/// The edge prints of one roll.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RebateFiles {
    /// The roll, named as its files or folder.
    pub roll: RollName,
    /// All that lies in or under that name, in natural order: tables, lines in the kit's imprint pattern, pictures.
    pub files: Vec<PathBuf>,
}

/// A trip's files, sorted by what they are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TripLayout {
    /// The trip folder.
    pub root: PathBuf,
    /// Its name.
    pub name: String,
    /// The kit file, when there is one.
    pub kit: Option<PathBuf>,
    /// The file of developing notes, when there is one.
    pub developed: Option<PathBuf>,
    /// Notes in natural order.
    pub notes: Vec<NoteFile>,
    /// Scans, roll by roll.
    pub scans: Vec<RollScans>,
    /// Edge prints, roll by roll.
    pub rebate: Vec<RebateFiles>,
    /// Sidecars and listings of the lab among the scans, which are not read.
    pub beside: Vec<PathBuf>,
    /// Files whose names are no UTF-8; they are taken, and nothing can link to them.
    pub odd_names: Vec<PathBuf>,
    /// What was not taken, and why.
    pub passed_over: Vec<PassedOver>,
}

const CLIPS: [&str; 11] = ["m4a", "mp4", "mov", "3gp", "caf", "mp3", "wav", "flac", "ogg", "opus", "webm"];
const MORE_CLIPS: [&str; 6] = ["mkv", "aac", "m4v", "aif", "aiff", "oga"];
const TEXTS: [&str; 4] = ["txt", "md", "srt", "vtt"];
/// Edge prints typed off.
const TYPED: [&str; 3] = ["csv", "tsv", "txt"];
const PICTURES: [&str; 5] = ["tif", "tiff", "jpg", "jpeg", "png"];
/// Raw files of scanners and digital cameras, taken by name only.
const RAWS: [&str; 13] = ["dng", "raw", "fff", "3fr", "iiq", "cr2", "cr3", "nef", "arw", "raf", "rw2", "orf", "pef"];

/// What labs and other programs leave among scans.
const BESIDE: [&str; 7] = ["xmp", "txt", "csv", "xml", "pdf", "md5", "html"];

/// Whether files with this extension are raw files, known by name only.
pub fn is_raw(extension: &str) -> bool {
    RAWS.contains(&extension.to_lowercase().as_str())
}

fn extension(path: &Path) -> String {
    path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default()
}

impl TripLayout {
    /// Sorts the files of a trip.
    ///
    /// # Errors
    /// [`TripError`] when the folder is not there or holds nothing to work on.
    pub fn read(root: &Path) -> Result<Self, TripError> {
        let layout = Self::sorted(root)?;
        if layout.notes.is_empty() && layout.scans.is_empty() && layout.rebate.is_empty() {
            return Err(nothing_in(root));
        }
        Ok(layout)
    }

    /// As [`Self::read`], for a trip that was taken in before and may have lost all its files.
    ///
    /// # Errors
    /// [`TripError::NoFolder`].
    pub fn sorted(root: &Path) -> Result<Self, TripError> {
        if !root.is_dir() {
            return Err(TripError::NoFolder(root.to_owned()));
        }
        let full = root.canonicalize().unwrap_or_else(|_| root.to_owned());
        let mut layout = Self {
            root: root.to_owned(),
            name: full.file_name().map_or_else(|| "trip".to_owned(), |n| n.to_string_lossy().into_owned()),
            kit: None,
            developed: None,
            notes: Vec::new(),
            scans: Vec::new(),
            rebate: Vec::new(),
            beside: Vec::new(),
            odd_names: Vec::new(),
            passed_over: Vec::new(),
        };
        layout.find_kit();
        layout.find_notes();
        layout.find_scans();
        layout.find_rebate();
        Ok(layout)
    }

    fn files_of(&mut self, folder: &str) -> (PathBuf, Vec<PathBuf>) {
        let dir = self.root.join(folder);
        let walked = files_under(&dir, &self.root);
        self.passed_over.extend(walked.passed_over);
        let odd = |f: &&PathBuf| f.strip_prefix(&self.root).is_ok_and(|name| !is_plain(name));
        self.odd_names.extend(walked.files.iter().filter(odd).cloned());
        (dir, walked.files)
    }

    fn pass_over(&mut self, path: PathBuf, why: &str) {
        self.passed_over.push(PassedOver { path, why: why.to_owned() });
    }

    fn find_kit(&mut self) {
        self.developed = Some(self.root.join("roll.toml")).filter(|p| p.is_file());
        let path = self.root.join("kit.toml");
        if path.is_file() {
            self.kit = Some(path);
        } else if path.symlink_metadata().is_ok() {
            self.pass_over(path, "no file: the trip was read with the usual kit");
        }
    }

    fn find_notes(&mut self) {
        let (dir, files) = self.files_of("notes");
        for path in files {
            match NoteFile::at(&path, below(&path, &dir)) {
                Some(note) => self.notes.push(note),
                None => self.pass_over(path, "no clip or text that spooltalk knows: convert it to m4a, wav or txt"),
            }
        }
    }

    fn find_scans(&mut self) {
        let (dir, files) = self.files_of("scans");
        for path in files {
            let ext = extension(&path);
            if !PICTURES.contains(&ext.as_str()) && !is_raw(&ext) {
                // Sidecars and listings of the lab are not an error.
                if BESIDE.contains(&ext.as_str()) {
                    self.beside.push(path);
                } else {
                    self.pass_over(path, "no picture that spooltalk knows: expected tif, jpg, png or a raw file");
                }
                continue;
            }
            let name = below(&path, &dir);
            // A picture that lies loose in scans/ belongs to a roll of that name.
            let folder = name.split_once('/').map_or("scans", |(folder, _)| folder);
            let Ok(roll) = RollName::new(folder) else {
                self.pass_over(path, "its folder's name holds no letter or digit: name it after the roll");
                continue;
            };
            match self.scans.iter_mut().find(|s| s.roll.as_str() == roll.as_str()) {
                Some(scans) => scans.files.push(path),
                None => self.scans.push(RollScans { roll, files: vec![path] }),
            }
        }
    }

    fn find_rebate(&mut self) {
        let (dir, files) = self.files_of("rebate");
        for path in files {
            let name = below(&path, &dir);
            let ext = extension(&path);
            if !TYPED.contains(&ext.as_str()) && !PICTURES.contains(&ext.as_str()) {
                self.pass_over(path, "no edge print that spooltalk knows: expected csv, tsv, txt or pictures");
                continue;
            }
            let folder = name.split_once('/').map(|(folder, _)| folder.to_owned());
            let stem = path.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default();
            let Ok(roll) = RollName::new(folder.as_deref().unwrap_or(&stem)) else {
                self.pass_over(path, "its name holds no letter or digit: name it after the roll");
                continue;
            };
            match self.rebate.iter_mut().find(|r| r.roll == roll) {
                Some(there) => there.files.push(path),
                None => self.rebate.push(RebateFiles { roll, files: vec![path] }),
            }
        }
    }
}

/// Why there is nothing to do in a folder.
fn nothing_in(root: &Path) -> TripError {
    let full = std::path::absolute(root).unwrap_or_else(|_| root.to_owned());
    // A roll's folder lies two below the trip's.
    for inner in full.ancestors().take(2) {
        let name = inner.file_name().unwrap_or_default().to_string_lossy().to_lowercase();
        let name = ["notes", "scans", "rebate"].into_iter().find(|n| *n == name);
        if let (Some(name), Some(above)) = (name, inner.parent()) {
            return TripError::Inside { given: root.to_owned(), name, above: above.to_owned() };
        }
    }
    let entries = std::fs::read_dir(root).into_iter().flatten().flatten();
    let mut loose: Vec<PathBuf> = entries.map(|e| e.path()).filter(|p| p.is_file() && is_input(p)).collect();
    loose.sort();
    match loose.first() {
        Some(file) => TripError::Loose {
            folder: root.to_owned(),
            file: file.file_name().unwrap_or_default().to_string_lossy().into_owned(),
        },
        None => TripError::Empty(root.to_owned()),
    }
}

/// A clip, or a picture: what people put somewhere and expect to be found.
fn is_input(path: &Path) -> bool {
    let ext = extension(path);
    [&CLIPS[..], &MORE_CLIPS, &PICTURES].iter().any(|kinds| kinds.contains(&ext.as_str()))
}

#[cfg(test)]
#[allow(clippy::disallowed_methods)] // tests set the scene
mod tests {
    use super::*;

    fn trip(names: &[&str]) -> tempfile::TempDir {
        let dir = tempfile::tempdir().unwrap();
        for name in names {
            let path = dir.path().join(name);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, "").unwrap();
        }
        dir
    }

    #[test]
    fn each_file_is_what_its_folder_says() {
        let dir = trip(&[
            "kit.toml",
            "notes/day 1/b.m4a",
            "notes/a.TXT",
            "notes/c.xyz",
            "scans/R07/2.tif",
            "scans/R07/sub/10.dng",
            "scans/loose.jpg",
            "scans/R07/readme.txt",
            "rebate/7.csv",
            "rebate/8/1.png",
            "rebate/8/2.png",
            "rebate/R08.tsv",
            "rebate/8.txt",
        ]);
        let layout = TripLayout::read(dir.path()).unwrap();
        assert!(layout.kit.is_some());
        let notes: Vec<_> = layout.notes.iter().map(|n| (n.name.as_str(), n.kind)).collect();
        assert_eq!(notes, [("a.TXT", NoteKind::Text), ("day 1/b.m4a", NoteKind::Clip)]);
        let scans: Vec<_> = layout.scans.iter().map(|s| (s.roll.as_str(), s.files.len())).collect();
        assert_eq!(scans, [("scans", 1), ("R07", 2)]);
        let rebate: Vec<_> = layout.rebate.iter().map(|r| (r.roll.as_str(), r.files.len())).collect();
        assert_eq!(rebate, [("7", 1), ("8", 4)]);
        assert_eq!((layout.passed_over.len(), layout.beside.len()), (1, 1));
        assert!(layout.passed_over[0].path.ends_with("notes/c.xyz"));
    }

    #[test]
    fn a_folder_without_work_says_so() {
        let dir = trip(&["readme.md"]);
        assert!(matches!(TripLayout::read(dir.path()), Err(TripError::Empty(_))));
        assert!(matches!(TripLayout::read(&dir.path().join("no")), Err(TripError::NoFolder(_))));
    }
}
