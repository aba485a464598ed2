//! Arguments, kit and environment to settled values.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;

use crate::kit::Kit;
use crate::plan::{Ears, Plan};
use crate::speech::Cache;
use crate::speech::model::Store;
use crate::trip::TripLayout;

use super::args::IngestArgs;
use super::failure::Failure;

/// Confidence below which a value is flagged when nobody says otherwise.
const UNSURE_BELOW: f64 = 0.8;

/// Where the program keeps what is the user's, from the environment.
#[derive(Debug, Clone)]
pub struct Places {
    /// Everything under one folder (`SPOOLTALK_HOME`).
    home: Option<PathBuf>,
    /// `$XDG_CONFIG_HOME/spooltalk` or `~/.config/spooltalk`.
    config: Option<PathBuf>,
}

impl Places {
    /// As the environment has it.
    pub fn usual() -> Self {
        Self::from(|name| std::env::var_os(name))
    }

    /// From variables looked up by name.
    pub fn from(var: impl Fn(&str) -> Option<OsString>) -> Self {
        let set = |name| var(name).filter(|v| !v.is_empty()).map(PathBuf::from);
        let config = set("XDG_CONFIG_HOME").filter(|p| p.is_absolute());
        let config = config.or_else(|| set("HOME").map(|h| h.join(".config")));
        Self { home: set("SPOOLTALK_HOME"), config: config.map(|c| c.join("spooltalk")) }
    }

    /// The user's own kit file, where it would lie.
    pub fn kit(&self) -> Option<PathBuf> {
        self.home.as_ref().or(self.config.as_ref()).map(|d| d.join("kit.toml"))
    }
}

/// What `ingest` is to do.
///
/// # Errors
/// When there is no such trip, the kit is none, or an output would lie among the originals.
pub fn plan(args: &IngestArgs, places: &Places) -> Result<Plan, Failure> {
    let layout = TripLayout::read(&args.trip).map_err(Failure::nothing)?;
    let kit = kit(args.kit.as_deref(), layout.kit.as_deref(), places)?;
    for path in [&args.out, &args.archive, &args.embed].into_iter().flatten() {
        not_among_originals(path, &args.trip)?;
    }
    let zone = kit.habits.timezone.as_deref().map(TimeZone::get).transpose().map_err(Failure::usage)?;
    let model = match Store::usual(|name| std::env::var_os(name)) {
        Some(store) => store.find(args.model.as_deref()).map_err(|e| e.to_string()),
        None => Err("no place for speech models: set HOME, or SPOOLTALK_HOME to a folder of your choice".to_owned()),
    };
    if let (Some(_), Err(why)) = (&args.model, &model) {
        return Err(Failure::usage(why));
    }
    Ok(Plan {
        out: args.out.clone().unwrap_or_else(|| args.trip.join("spooltalk")),
        unsure_below: args.unsure_below.or(kit.settle.unsure_below).unwrap_or(UNSURE_BELOW),
        archive: args.archive.clone(),
        embed: args.embed.clone(),
        ears: Ears { model, cache: Cache::usual(|name| std::env::var_os(name)), jobs: args.jobs.map(usize::from) },
        layout,
        kit,
        zone,
    })
}

/// Where the results of a trip are.
///
/// # Errors
/// When they are not there.
pub fn results(trip: &Path, out: Option<&Path>) -> Result<PathBuf, Failure> {
    let path = out.map_or_else(|| trip.join("spooltalk"), Path::to_owned);
    if path.is_dir() {
        Ok(path)
    } else {
        Err(Failure::at(
            &path,
            "no results there: run `spooltalk ingest` on the trip first, or name the folder with --out",
        ))
    }
}

/// The archive to search: the one that was asked for, a trip's, or the one that lies here.
///
/// # Errors
/// When there is none.
pub fn archive(asked: Option<&Path>) -> Result<PathBuf, Failure> {
    let places = match asked {
        Some(path) if path.is_dir() => vec![path.join("spooltalk/archive.db"), path.join("archive.db")],
        Some(path) => vec![path.to_owned()],
        None => vec!["spooltalk/archive.db".into(), "archive.db".into()],
    };
    places.iter().find(|p| p.is_file()).cloned().ok_or_else(|| {
        Failure::at(&places[0], "no archive there: run `spooltalk ingest` on a trip first, or name it with --archive")
    })
}

/// Refuses a place for results inside `notes/`, `scans/` or `rebate/`.
fn not_among_originals(path: &Path, trip: &Path) -> Result<(), Failure> {
    let real = real(path);
    match ["notes", "scans", "rebate"].iter().find(|name| real.starts_with(self::real(&trip.join(name)))) {
        Some(name) => Err(Failure::usage(format_args!(
            "{}: lies in {name}/ of the trip, which is only read: choose another place",
            path.display()
        ))),
        None => Ok(()),
    }
}

/// The path with links resolved as far as it is there.
fn real(path: &Path) -> PathBuf {
    let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let there = whole.ancestors().find_map(|a| Some((a, a.canonicalize().ok()?)));
    match there {
        Some((ancestor, real)) => real.join(whole.strip_prefix(ancestor).unwrap_or(Path::new(""))),
        None => whole,
    }
}

/// The kit that was asked for; else the trip's; else the user's own; else the built-in
/// defaults: every marked speed and aperture, and no gear by name.
///
/// # Errors
/// When a kit file cannot be read or is no kit.
pub fn kit(asked: Option<&Path>, trips: Option<&Path>, places: &Places) -> Result<Kit, Failure> {
    let own = places.kit().filter(|p| p.is_file());
    match asked.or(trips).or(own.as_deref()) {
        Some(path) => read_kit(path),
        None => Ok(Kit::default()),
    }
}

fn read_kit(path: &Path) -> Result<Kit, Failure> {
    tracing::info!("kit: {}", path.display());
    let bytes = std::fs::read(path).map_err(|e| Failure::usage(format_args!("{}: {e}", path.display())))?;
    let text = String::from_utf8(bytes)
        .map_err(|_| Failure::usage(format_args!("{}: not UTF-8: save it as UTF-8 text", path.display())))?;
    let text = text.strip_prefix('\u{FEFF}').unwrap_or(&text);
    let (kit, cautions) = Kit::read(text).map_err(|e| Failure::usage(format_args!("{}: {e}", path.display())))?;
    for caution in cautions {
        tracing::warn!("{}: {caution}", path.display());
    }
    Ok(kit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(set: &[(&str, &str)]) -> Places {
        let set: Vec<(String, String)> = set.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect();
        Places::from(move |name| set.iter().find(|(k, _)| k == name).map(|(_, v)| v.into()))
    }

    #[test]
    fn one_folder_beats_the_desktop_rules() {
        assert_eq!(places(&[("HOME", "/u"), ("SPOOLTALK_HOME", "/s")]).kit(), Some("/s/kit.toml".into()));
        assert_eq!(places(&[("HOME", "/u")]).kit(), Some("/u/.config/spooltalk/kit.toml".into()));
        // The desktop rules say that a relative path there is to be ignored.
        let relative = places(&[("HOME", "/u"), ("XDG_CONFIG_HOME", "c")]);
        assert_eq!(relative.kit(), Some("/u/.config/spooltalk/kit.toml".into()));
        assert_eq!(places(&[]).kit(), None);
    }

    #[test]
    fn a_kit_asked_for_must_be_there() {
        let none = places(&[]);
        assert!(kit(None, None, &none).is_ok_and(|k| k.cameras.is_empty()));
        let failure = kit(Some(Path::new("/no/kit.toml")), None, &none).unwrap_err();
        assert_eq!(failure.exit, super::super::Exit::Usage);
        assert!(failure.why.starts_with("/no/kit.toml: "), "{}", failure.why);
    }
}
