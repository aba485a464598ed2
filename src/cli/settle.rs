//! Arguments, kit and environment to settled values.

use super::args::IngestArgs;
use super::failure::Failure;
use super::phone;
use super::places::Places;
use super::settings::Settings;
use crate::kit::Kit;
use crate::pipeline::remembers_clips;
use crate::plan::{Archives, Ears, Plan};
use crate::speech::Cache;
use crate::speech::model::Store;
use crate::trip::{TripError, TripLayout};
use jiff::tz::TimeZone;
use std::io::Read as _;
use std::path::{Path, PathBuf};

/// Most bytes of a kit file; a thousand cameras take a third of that.
const LARGEST_KIT: u64 = 1 << 20;
/// Confidence below which a value is flagged when nobody says otherwise.
const UNSURE_BELOW: f64 = 0.8;

/// What `ingest` is to do.
///
/// # Errors
/// When there is no such trip, the kit is none, or an output would lie among the originals.
pub fn plan(args: &IngestArgs, trip: &Path, places: &Places) -> Result<Plan, Failure> {
    let out = args.out.clone().unwrap_or_else(|| trip.join("spooltalk"));
    let from_phone = phone::notes_of(trip, &out, places)?;
    let layout = match TripLayout::read(trip) {
        Err(TripError::Empty(_)) if !from_phone.is_empty() || remembers_clips(&out) => TripLayout::sorted(trip),
        read => read,
    };
    let mut layout = layout.map_err(Failure::nothing)?;
    layout.notes.extend(from_phone);
    let kit_file = kit_file(args.kit.as_deref(), layout.kit.as_deref(), places);
    let kit = kit(args.kit.as_deref(), layout.kit.as_deref(), places)?;
    for path in [&args.out, &args.archive, &args.embed].into_iter().flatten() {
        not_among_originals(path, trip)?;
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
        out,
        unsure_below: args.unsure_below.or(kit.settle.unsure_below).unwrap_or(UNSURE_BELOW),
        archives: match &args.archive {
            Some(path) => Archives::Asked(path.clone()),
            None => Archives::Usual(all_trips(places)?),
        },
        drop_gone: args.drop_gone,
        embed: args.embed.clone(),
        ears: Ears {
            model,
            plain: args.plain_ear,
            cache: Cache::usual(|name| std::env::var_os(name)),
            jobs: args.jobs.map(usize::from),
        },
        layout,
        kit,
        kit_file,
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

/// The archive of all trips: the one that the settings name, else in the user's data folder.
///
/// # Errors
/// When the settings make no sense.
pub fn all_trips(places: &Places) -> Result<Option<PathBuf>, Failure> {
    Ok(Settings::read(places)?.archive.map(|text| places.path(&text)).or_else(|| places.archive()))
}

/// The archive of all trips, or the one that was asked for.
///
/// # Errors
/// When there is none.
pub fn all_trips_there(asked: Option<&Path>, places: &Places) -> Result<PathBuf, Failure> {
    if asked.is_some() {
        return archive(asked, places);
    }
    let no_place = || Failure::usage("no place for an archive: set HOME, or SPOOLTALK_HOME to a folder of your choice");
    let path = all_trips(places)?.ok_or_else(no_place)?;
    if path.is_file() {
        return Ok(path);
    }
    Err(Failure::at(&path, "no archive there: run `spooltalk ingest` on a trip first, or name one with --archive"))
}

/// The archive to search: the one that was asked for, a trip's, the one that lies here, or the
/// one of all trips.
///
/// # Errors
/// When there is none.
pub fn archive(asked: Option<&Path>, places: &Places) -> Result<PathBuf, Failure> {
    let candidates = match asked {
        Some(path) if path.is_dir() => vec![path.join("spooltalk/archive.db"), path.join("archive.db")],
        Some(path) => vec![path.to_owned()],
        None => {
            ["spooltalk/archive.db", "archive.db"].map(PathBuf::from).into_iter().chain(all_trips(places)?).collect()
        }
    };
    candidates.iter().find(|p| p.is_file()).cloned().ok_or_else(|| {
        Failure::at(
            candidates.last().unwrap_or(&candidates[0]),
            "no archive there: run `spooltalk ingest` on a trip first, or name it with --archive",
        )
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
    match kit_file(asked, trips, places) {
        Some(path) => read_kit(&path),
        None => Ok(Kit::default()),
    }
}

/// The kit file that counts.
fn kit_file(asked: Option<&Path>, trips: Option<&Path>, places: &Places) -> Option<PathBuf> {
    let own = places.kit().filter(|p| p.is_file());
    asked.or(trips).map(Path::to_owned).or(own)
}

fn read_kit(path: &Path) -> Result<Kit, Failure> {
    tracing::info!("kit: {}", path.display());
    let text = kit_text(path)?;
    let text = text.strip_prefix('\u{FEFF}').unwrap_or(&text);
    let (kit, cautions) = Kit::read(text).map_err(|e| Failure::usage(format_args!("{}: {e}", path.display())))?;
    for caution in cautions {
        tracing::warn!("{}: {caution}", path.display());
    }
    Ok(kit)
}

/// The text of a kit file.
///
/// # Errors
/// When it cannot be read, is too large or no text.
pub fn kit_text(path: &Path) -> Result<String, Failure> {
    if path.exists() && !path.is_file() {
        return Err(Failure::usage(format_args!("{}: no file: name a kit file", path.display())));
    }
    let wrong = |why: &dyn std::fmt::Display| Failure::usage(format_args!("{}: {why}", path.display()));
    let mut bytes = Vec::new();
    let read = std::fs::File::open(path).and_then(|f| f.take(LARGEST_KIT + 1).read_to_end(&mut bytes));
    read.map_err(|e| wrong(&e))?;
    if bytes.len() as u64 > LARGEST_KIT {
        return Err(wrong(&format_args!("has more than {} MB, which is the limit of a kit", LARGEST_KIT >> 20)));
    }
    String::from_utf8(bytes).map_err(|_| wrong(&"not UTF-8: save it as UTF-8 text"))
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
    fn the_trade_ear_can_be_left_out() {
        use super::super::args::{Cli, Command};
        let dir = tempfile::tempdir().unwrap();
        let trip = dir.path().to_string_lossy().into_owned();
        std::fs::create_dir(dir.path().join("notes")).unwrap();
        std::fs::File::create(dir.path().join("notes/0001.wav")).unwrap();
        let plain = |more: &[&str]| {
            let asked =
                <Cli as clap::Parser>::try_parse_from([&["spooltalk", "ingest", &trip], more].concat()).unwrap();
            let Command::Ingest(args) = asked.command else { panic!("ingest was asked for") };
            plan(&args, dir.path(), &places(&[])).unwrap_or_else(|f| panic!("{}", f.why)).ears.plain
        };
        assert!(!plain(&[]) && plain(&["--plain-ear"]));
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
