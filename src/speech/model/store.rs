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

    /// Everything in the store, by name, each looked through.
    ///
    /// # Errors
    /// `Io` when the folder is there but cannot be read. An empty or missing one lists nothing.
    pub fn list(&self) -> Result<Vec<Listed>, ModelError> {
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
                return about(&path).map(|_| path);
            }
        }
        let listed = self.list()?;
        if let Some(name) = wanted {
            let there: Vec<&str> = listed.iter().map(|l| l.name.as_str()).collect();
            let there = if there.is_empty() { "none".to_owned() } else { there.join(", ") };
            return Err(ModelError::NoSuch { name: name.to_owned(), store: self.0.clone(), there });
        }
        let sound = |l: &&Listed| l.about.is_ok();
        PREFERRED
            .iter()
            .find_map(|p| listed.iter().filter(sound).find(|l| l.name == *p))
            .or_else(|| listed.iter().find(sound))
            .map(|l| l.path.clone())
            .ok_or_else(|| ModelError::None { store: self.0.clone() })
    }
}

/// Looks a ggml file through.
pub(super) fn about(path: &Path) -> Result<About, ModelError> {
    let mut file = File::open(path).map_err(|e| ModelError::io(path, e))?;
    ggml::check(&mut file).map_err(|f| faulty(path, f))
}

pub(super) fn faulty(path: &Path, fault: Fault) -> ModelError {
    match fault {
        Fault::Is(why) => ModelError::unsound(path, why),
        Fault::Io(e) => ModelError::io(path, e),
    }
}
