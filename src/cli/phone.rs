//! A folder that a phone's clips arrive in, named once in the settings.
//!
//! The clips stay where they are and are only read. Which trip each belongs to is kept in
//! `phone.jsonl` among the user's data: a clip belongs to the trip that the settings named when
//! it was first seen, so a new trip begins by naming it there.

use std::collections::HashSet;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::pipeline::remembered_contents;
use crate::speech::Content;
use crate::trip::{NoteFile, files_under};

use super::failure::Failure;
use super::places::Places;
use super::settings::{Phone, Settings};

/// A clip or text of the phone's folder.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Arrived {
    /// Relative to the phone's folder.
    file: PathBuf,
    bytes: u64,
    content: String,
    /// The folder of the trip that it belongs to.
    trip: PathBuf,
}

/// What arrived, and what of it is new.
#[derive(Debug)]
pub struct News {
    /// The trip that new clips belong to.
    pub trip: PathBuf,
    /// How many are new.
    pub new: usize,
}

/// The phone's folder and the trip that new clips belong to, as the settings name them.
///
/// # Errors
/// When the settings name no such folder, or it is not there.
pub fn named(places: &Places) -> Result<(PathBuf, PathBuf), Failure> {
    let Some(phone) = Settings::read(places)?.phone else {
        let settings = places.settings().unwrap_or_else(|| PathBuf::from("settings.toml"));
        return Err(Failure::usage(format_args!(
            "which trip? Give its folder; or name the folder that your phone's clips arrive in, once, in {}:\n\n  \
             [phone]\n  folder = \"~/Phone/Recordings\"\n  trip = \"~/film/this trip\"",
            settings.display()
        )));
    };
    let Phone { folder, trip } = phone;
    let folder = places.path(&folder);
    if !folder.is_dir() {
        return Err(Failure::at(&folder, "the phone's folder, as the settings name it, is not there"));
    }
    Ok((folder, places.path(&trip)))
}

/// Gives what is new in the phone's folder to the trip that the settings name.
///
/// # Errors
/// When the settings name no such folder, or it cannot be read.
pub fn take_in(places: &Places) -> Result<News, Failure> {
    let (folder, trip) = named(places)?;
    fs::create_dir_all(&trip).map_err(|e| Failure::at(&trip, e))?;
    let trip = fs::canonicalize(&trip).map_err(|e| Failure::at(&trip, e))?;
    let mut known = arrived(places);
    let before = known.len();
    for path in files_under(&folder, &folder).files.iter().filter(|p| NoteFile::at(p, String::new()).is_some()) {
        let file = path.strip_prefix(&folder).unwrap_or(path);
        let bytes = fs::metadata(path).map_or(0, |m| m.len());
        if bytes == 0 || known.iter().any(|a| a.file == file && a.bytes == bytes) {
            continue;
        }
        let content = Content::of(path).map_err(|e| Failure::at(path, e))?.hex();
        match known.iter_mut().find(|a| a.content == content) {
            // Renamed: it belongs where it belonged.
            Some(same) => same.file = file.to_owned(),
            None => {
                // A name that came before with less in it had not arrived whole.
                let part = |a: &Arrived| a.file == file && a.bytes < bytes;
                known.retain(|a| !part(a));
                known.push(Arrived { file: file.to_owned(), bytes, content, trip: trip.clone() });
            }
        }
    }
    keep(places, &known)?;
    let new = known.len().saturating_sub(before);
    Ok(News { trip, new })
}

/// The clips of the phone's folder that belong to a trip, under their whole paths. A trip whose
/// folder was moved still knows them by what is in them.
///
/// # Errors
/// When the settings make no sense.
pub fn notes_of(trip: &Path, out: &Path, places: &Places) -> Result<Vec<NoteFile>, Failure> {
    let Some(phone) = Settings::read(places)?.phone else { return Ok(Vec::new()) };
    let folder = places.path(&phone.folder);
    let known = arrived(places);
    if known.is_empty() {
        return Ok(Vec::new());
    }
    let trip = fs::canonicalize(trip).unwrap_or_else(|_| trip.to_owned());
    let heard: HashSet<String> = remembered_contents(out);
    let of_trip = known.iter().filter(|a| a.trip == trip || heard.contains(&a.content));
    let note = |a: &Arrived| {
        let path = folder.join(&a.file);
        path.is_file().then(|| NoteFile::at(&path, path.to_string_lossy().into_owned())).flatten()
    };
    Ok(of_trip.filter_map(note).collect())
}

fn place(places: &Places) -> Option<PathBuf> {
    Some(places.data()?.join("phone.jsonl"))
}

/// What arrived so far. A line that does not read is an arrival forgotten.
fn arrived(places: &Places) -> Vec<Arrived> {
    let text = place(places).and_then(|p| fs::read_to_string(p).ok()).unwrap_or_default();
    text.lines().filter_map(|line| serde_json::from_str(line).ok()).collect()
}

fn keep(places: &Places, all: &[Arrived]) -> Result<(), Failure> {
    let path = place(places).ok_or_else(|| Failure::usage("no place for what is known of the phone: set HOME"))?;
    let folder = path.parent().unwrap_or(Path::new("."));
    let written = fs::create_dir_all(folder).and_then(|()| {
        let mut file = tempfile::NamedTempFile::new_in(folder)?;
        for arrived in all {
            writeln!(file, "{}", serde_json::to_string(arrived)?)?;
        }
        file.persist(&path).map_err(|e| e.error).map(drop)
    });
    written.map_err(|e| Failure::at(&path, e))
}
