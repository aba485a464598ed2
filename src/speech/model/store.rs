//! The folder where models lie, and what is in it.

use std::ffi::OsString;
use std::fs::{self, File};
use std::path::{Path, PathBuf};

use super::ggml::{self, Fault};
use super::{About, ModelError};

/// A folder of ggml files, each `NAME.bin`.
#[derive(Debug, Clone)]
pub struct Store(PathBuf);

/// One model in the store.
#[derive(Debug)]
pub struct Listed {
    /// What `--model` calls it.
    pub name: String,
    /// Where it lies.
    pub path: PathBuf,
    /// What it is, or what is wrong with it.
    pub about: Result<About, ModelError>,
}

/// Taken first when none is asked for, best first.
const PREFERRED: [&str; 4] = ["base-q8_0", "base", "tiny.en-q8_0", "tiny.en"];

impl Store {
    /// The store in this folder, which need not exist yet.
    pub fn at(folder: impl Into<PathBuf>) -> Self {
        Self(folder.into())
    }

    /// The usual place: `$SPOOLTALK_HOME/models`, else `spooltalk/models` in the user's data folder
    /// (`$XDG_DATA_HOME`, else `~/.local/share`). `var` reads the environment. `None` without any of them.
    pub fn usual(var: impl Fn(&str) -> Option<OsString>) -> Option<Self> {
        let set = |name| var(name).filter(|v| !v.is_empty()).map(PathBuf::from);
        let home = set("SPOOLTALK_HOME").or_else(|| {
            let data = set("XDG_DATA_HOME").or_else(|| set("HOME").map(|h| h.join(".local/share")));
            data.map(|d| d.join("spooltalk"))
        })?;
        Some(Self(home.join("models")))
    }

    /// Where it is.
    pub fn folder(&self) -> &Path {
        &self.0
    }

    pub(super) fn path_of(&self, name: &str) -> PathBuf {
        self.0.join(format!("{name}.bin"))
    }

    /// Everything in the store, by name, each read from end to end.
    ///
    /// # Errors
    /// `Io` when the folder is there but cannot be read. An empty or missing one lists nothing.
    pub fn list(&self) -> Result<Vec<Listed>, ModelError> {
        let mut listed = self.found()?;
        for l in &mut listed {
            if l.about.is_ok() {
                l.about = sound(&l.path);
            }
        }
        Ok(listed)
    }

    /// Everything in the store, by name, each looked through for what it is.
    fn found(&self) -> Result<Vec<Listed>, ModelError> {
        let entries = match fs::read_dir(&self.0) {
            Ok(entries) => entries,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(e) => return Err(ModelError::io(&self.0, e)),
        };
        let mut paths: Vec<PathBuf> = entries.filter_map(Result::ok).map(|e| e.path()).collect();
        paths.retain(|p| p.extension().is_some_and(|e| e == "bin") && p.is_file());
        paths.sort();
        Ok(paths
            .into_iter()
            .map(|path| Listed {
                name: path.file_stem().unwrap_or_default().to_string_lossy().into_owned(),
                about: about(&path),
                path,
            })
            .collect())
    }

    /// The model to hear with: `wanted` is a name in the store or the path of a file; without it
    /// the best of the usual ones, else the first sound one.
    ///
    /// # Errors
    /// `None` or `NoSuch` when there is none, `Unsound` when it is damaged.
    pub fn find(&self, wanted: Option<&str>) -> Result<PathBuf, ModelError> {
        if let Some(name) = wanted {
            let inside = self.path_of(name);
            let path = if inside.is_file() { inside } else { PathBuf::from(name) };
            if path.is_file() {
                return sound(&path).map(|_| path);
            }
        }
        let mut listed = self.found()?;
        if let Some(name) = wanted {
            let there: Vec<&str> = listed.iter().map(|l| l.name.as_str()).collect();
            let there = if there.is_empty() { "none".to_owned() } else { there.join(", ") };
            return Err(ModelError::NoSuch { name: name.to_owned(), store: self.0.clone(), there });
        }
        let rank = |l: &Listed| PREFERRED.iter().position(|p| l.name == *p).unwrap_or(PREFERRED.len());
        listed.sort_by_key(rank);
        let mut first_fault = None;
        for Listed { path, about, .. } in listed {
            match about.and_then(|_| sound(&path)) {
                Ok(_) => {
                    if let Some(fault) = first_fault {
                        tracing::warn!("{fault}; clips are heard with {} instead", path.display());
                    }
                    return Ok(path);
                }
                Err(fault) => first_fault = first_fault.or(Some(fault)),
            }
        }
        Err(first_fault.unwrap_or_else(|| ModelError::None { store: self.0.clone() }))
    }
}

/// The file beside a model that holds its content's hash, as it was when it was taken in.
pub(super) fn seal_of(path: &Path) -> PathBuf {
    path.with_extension("blake3")
}

/// The hash of a file's content, in hexadecimal digits.
pub(super) fn seal(path: &Path) -> Result<String, ModelError> {
    let mut hash = blake3::Hasher::new();
    let read = File::open(path).and_then(|file| hash.update_reader(file).map(drop));
    read.map_err(|e| ModelError::io(path, e))?;
    Ok(hash.finalize().to_hex().to_string())
}

/// Reads a model from end to end: its content must be what was taken in, where that is known, and its weights numbers.
fn sound(path: &Path) -> Result<About, ModelError> {
    if let Ok(known) = fs::read_to_string(seal_of(path))
        && known.trim() != seal(path)?
    {
        return Err(ModelError::unsound(path, "its content is not what was taken in: it was damaged, import it again"));
    }
    let mut file = File::open(path).map_err(|e| ModelError::io(path, e))?;
    ggml::check(&mut file, true).map_err(|f| faulty(path, f))
}

/// Looks a ggml file through.
pub(super) fn about(path: &Path) -> Result<About, ModelError> {
    let mut file = File::open(path).map_err(|e| ModelError::io(path, e))?;
    ggml::check(&mut file, false).map_err(|f| faulty(path, f))
}

pub(super) fn faulty(path: &Path, fault: Fault) -> ModelError {
    match fault {
        Fault::Is(why) => ModelError::unsound(path, why),
        Fault::Io(e) => ModelError::io(path, e),
    }
}

#[cfg(test)]
#[allow(clippy::disallowed_methods, reason = "tests set the scene")]
mod tests {
    use super::super::ggml::{Sizes, Tensor};
    use super::*;

    /// The smallest file that passes for a model: one layer each, every tensor a few halves.
    fn model() -> Vec<u8> {
        let sizes = Sizes::smallest(51_864, 8);
        let mut out = Vec::new();
        ggml::write_head(&mut out, &sizes, &vec![0.0; 80 * 201], &[b"a".to_vec()]).unwrap();
        for i in 0..7 + 4 + 15 + 24 {
            let name = format!("t{i}");
            let data = [0x00, 0x3C].repeat(8); // ones
            ggml::write_tensor(&mut out, &Tensor { name: &name, shape: &[8], kind: 1, data: &data }).unwrap();
        }
        out
    }

    #[test]
    fn a_damaged_model_is_not_called_sound() {
        let dir = tempfile::tempdir().unwrap();
        let store = Store::at(dir.path().join("store"));
        let (whole, given) = (model(), dir.path().join("ggml-small.bin"));
        fs::write(&given, &whole).unwrap();
        super::super::import(&[given], false, &store).unwrap();
        let listed = || store.list().unwrap().remove(0).about;
        assert!(listed().is_ok() && store.find(None).is_ok(), "{:?}", listed());
        // One bit, in a weight that stays a number.
        let mut bytes = whole.clone();
        *bytes.last_mut().unwrap() ^= 1;
        fs::write(store.path_of("small"), &bytes).unwrap();
        let why = listed().unwrap_err().to_string();
        assert!(why.contains("import it again"), "{why}");
        assert!(store.find(None).unwrap_err().to_string().contains("damaged"), "not: there is none");
        // Nobody knows what was taken in; a weight is no number.
        fs::remove_file(seal_of(&store.path_of("small"))).unwrap();
        assert!(listed().is_ok());
        let last = bytes.len() - 1;
        bytes[last] = 0x7E;
        fs::write(store.path_of("small"), &bytes).unwrap();
        let why = listed().unwrap_err().to_string();
        assert!(why.contains("no number"), "{why}");
    }

    #[test]
    fn a_sound_model_is_taken_before_a_damaged_one() {
        let dir = tempfile::tempdir().unwrap();
        let store = Store::at(dir.path());
        let whole = model();
        fs::write(store.path_of("base"), &whole[..whole.len() - 3]).unwrap();
        fs::write(store.path_of("other"), &whole).unwrap();
        assert_eq!(store.find(None).unwrap(), store.path_of("other"));
    }
}
