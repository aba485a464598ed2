//! `spooltalk archive`: what is in the archive of all trips, and its care.

use std::fs;
use std::path::{Path, PathBuf};

use crate::archive::{Archive, ArchiveError, Query, TripEntry, overview_html, reader_gone, rolls_text, trips_text};
use crate::cli::Exit;
use crate::cli::args::{ArchiveCommand, ExportFormat};
use crate::cli::failure::Failure;
use crate::cli::places::Places;
use crate::cli::print;
use crate::cli::settings::Settings;
use crate::cli::settle;
use crate::cli::show::show;
use crate::output::words;

/// Lists, checks, exports, moves the archive, or takes a trip out of it.
pub fn archive(command: &ArchiveCommand) -> Result<Exit, Failure> {
    let places = Places::usual();
    let path = settle::all_trips_there(command.archive(), &places)?;
    let failed = |e| Failure::at(&path, e);
    let mut archive = Archive::open(&path).map_err(failed)?;
    match command {
        ArchiveCommand::List(args) if args.rolls => {
            let query = Query::from_args(&args.terms).map_err(Failure::usage)?;
            let rolls = if args.terms.is_empty() { archive.rolls() } else { archive.rolls_with(&query) };
            print::text(&rolls_text(&rolls.map_err(failed)?))
        }
        ArchiveCommand::List(_) => print::text(&trips_text(&archive.trips().map_err(failed)?, there)),
        ArchiveCommand::Forget(args) => forget(&mut archive, &path, &args.trip),
        ArchiveCommand::Move(args) if args.trips => moved(&mut archive, &path, &args.places),
        ArchiveCommand::Move(args) => relocate(archive, &path, &args.places, args.file.archive.is_some(), &places),
        ArchiveCommand::Check(_) => check(&archive, &path),
        ArchiveCommand::Overview(args) => {
            let page = overview_html(&archive.overview().map_err(failed)?);
            if args.open { show(&page, "years.html", &places) } else { print::bytes(&page) }
        }
        ArchiveCommand::Export(args) => {
            let out = std::io::BufWriter::new(std::io::stdout().lock());
            let written = match args.format {
                ExportFormat::Csv => archive.write_csv(out),
                ExportFormat::Json => archive.write_jsonl(out),
            };
            match written {
                Err(why) if !reader_gone(&why) => Err(failed(why)),
                _ => Ok(Exit::Done),
            }
        }
    }
}

fn there(folder: &str) -> bool {
    Path::new(folder).is_dir()
}

/// Takes a trip out of the archive. The trip's own folder is left as it is.
fn forget(archive: &mut Archive, path: &Path, wanted: &str) -> Result<Exit, Failure> {
    let failed = |e: ArchiveError| Failure::at(path, e);
    let trips = archive.trips().map_err(failed)?;
    let trip = chosen(&trips, wanted)?;
    archive.forget(&trip.key).map_err(failed)?;
    print::text(&format!(
        "forgot {}: {}, {}; {} is left as it is\n",
        trip.name,
        words::counted(trip.rolls, "roll"),
        words::counted(trip.frames, "frame"),
        trip.root
    ))
}

/// The trip that is meant by its folder or its name.
fn chosen<'a>(trips: &'a [TripEntry], wanted: &str) -> Result<&'a TripEntry, Failure> {
    let real = fs::canonicalize(wanted).or_else(|_| std::path::absolute(wanted)).unwrap_or_default();
    if let Some(trip) = trips.iter().find(|t| Path::new(&t.root) == real) {
        return Ok(trip);
    }
    let named: Vec<&TripEntry> = trips.iter().filter(|t| t.name == wanted || t.key == wanted).collect();
    match &named[..] {
        [one] => Ok(one),
        [] => {
            Err(Failure::usage(format_args!("no trip '{wanted}' in the archive: `spooltalk archive list` shows them")))
        }
        more => {
            let folders: Vec<&str> = more.iter().map(|t| t.root.as_str()).collect();
            Err(Failure::usage(format_args!(
                "{} trips are called '{wanted}': name one by its folder: {}",
                more.len(),
                folders.join(", ")
            )))
        }
    }
}

/// Tells what is wrong, and which trips are not where they were.
fn check(archive: &Archive, path: &Path) -> Result<Exit, Failure> {
    let failed = |e: ArchiveError| Failure::at(path, e);
    let faults = archive.faults().map_err(failed)?;
    for fault in &faults {
        tracing::error!("{}: {fault}", path.display());
    }
    if !faults.is_empty() {
        tracing::error!("every trip holds its own record: move {} away and take the trips in again", path.display());
    }
    let trips = archive.trips().map_err(failed)?;
    for trip in trips.iter().filter(|t| !there(&t.root)) {
        tracing::warn!(
            "{}: {} is not there: take the trip in from where it is now, say `archive move --trips` when a whole \
             folder of trips moved, or let it go with `archive forget`",
            trip.name,
            trip.root
        );
    }
    let frames: usize = trips.iter().map(|t| t.frames).sum();
    let state = if faults.is_empty() { "whole" } else { "damaged" };
    print::text(&format!(
        "{}: {state}; {}, {}\n",
        path.display(),
        words::counted(trips.len(), "trip"),
        words::counted(frames, "frame")
    ))?;
    Ok(if faults.is_empty() { Exit::Done } else { Exit::Partly })
}

/// Trips that lay in one folder lie in another now.
fn moved(archive: &mut Archive, path: &Path, folders: &[PathBuf]) -> Result<Exit, Failure> {
    let [from, to] = folders else {
        return Err(Failure::usage("--trips takes two folders: where the trips were, and where they are now"));
    };
    let to = fs::canonicalize(to).map_err(|e| Failure::at(to, e))?;
    let from = std::path::absolute(from).map_err(|e| Failure::at(from, e))?;
    let count =
        archive.moved_folders(&from.to_string_lossy(), &to.to_string_lossy()).map_err(|e| Failure::at(path, e))?;
    let are = if count == 1 { "is" } else { "are" };
    print::text(&format!("{} {are} in {} now\n", words::counted(count, "trip"), to.display()))
}

/// The archive to another place, whole or not at all; the settings remember it.
fn relocate(archive: Archive, path: &Path, to: &[PathBuf], named: bool, places: &Places) -> Result<Exit, Failure> {
    let [to] = to else { return Err(Failure::usage("archive move takes one place, a folder or a file")) };
    let to = std::path::absolute(to).map_err(|e| Failure::at(to, e))?;
    let to = if to.is_dir() { to.join("archive.db") } else { to };
    if to.exists() {
        return Err(Failure::usage(format_args!("{}: something is there: choose another place", to.display())));
    }
    let folder = to.parent().unwrap_or(Path::new("/"));
    fs::create_dir_all(folder).map_err(|e| Failure::at(folder, e))?;
    let room = tempfile::tempdir_in(folder).map_err(|e| Failure::at(folder, e))?;
    let copy = room.path().join("archive.db");
    archive.copy_to(&copy).map_err(|e| Failure::at(&to, e))?;
    drop(archive);
    fs::rename(&copy, &to).map_err(|e| Failure::at(&to, e))?;
    if !named {
        Settings::remember_archive(places, &to)?;
    }
    for tail in ["", "-wal", "-shm"] {
        let mut old = path.as_os_str().to_owned();
        old.push(tail);
        // What is left over of the old one is untidy, not wrong.
        let _ = fs::remove_file(PathBuf::from(old));
    }
    let note = if named { "" } else { "; it is used from now on" };
    print::text(&format!("the archive is {} now{note}\n", to.display()))
}
