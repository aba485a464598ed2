//! The trip into its archives: its own, and that of all trips.

use std::path::{Path, PathBuf};

use crate::archive::{Archive, TripKey};
use crate::edits::Notice;
use crate::output::OutDir;
use crate::plan::{Archives, Plan};
use crate::roll::Trip;

use super::Stopped;
use super::identity::Identity;

/// Puts the trip into each archive, in place of what an earlier run put there. The archive of
/// all trips that nobody asked for stops nothing when it cannot be written; the notice says so.
///
/// # Errors
/// When an archive cannot be written that lies beside the results, or was asked for.
pub fn store(plan: &Plan, out: &OutDir, trip: &Trip) -> Result<Vec<Notice>, Stopped> {
    let own = out.root().join("archive.db");
    let root = plan.layout.root.canonicalize().unwrap_or_else(|_| plan.layout.root.clone());
    let (must, may) = match &plan.archives {
        Archives::Asked(path) => (path.clone(), None),
        Archives::Usual(all) => (own.clone(), all.clone().filter(|all| *all != own)),
    };
    let places: Vec<&PathBuf> = [Some(&must), Some(&own), may.as_ref()].into_iter().flatten().collect();
    let known = || places.iter().find_map(|path| known_as(path, &root)).or_else(|| moved_here(&own));
    let identity = Identity::of(out, &root, known)?;
    let key = TripKey { id: identity.id, root: identity.root, out: identity.out };
    let mut notices = Vec::from_iter(into(&must, trip, &key)?);
    if let Some(path) = may {
        notices.extend(into(&path, trip, &key).unwrap_or_else(|why| {
            let text = format!("the archive of all trips could not be written ({why}); {} was", own.display());
            Some(Notice { place: path.display().to_string(), text })
        }));
    }
    Ok(notices)
}

/// Tells of an archive that was damaged, and is another now.
fn into(path: &Path, trip: &Trip, key: &TripKey) -> Result<Option<Notice>, Stopped> {
    if let Some(folder) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
        std::fs::create_dir_all(folder).map_err(|source| Stopped::NoRoom { path: folder.to_owned(), source })?;
    }
    let aside = Archive::keep(path, trip, key).map_err(|why| Stopped::Archive { path: path.to_owned(), why })?;
    Ok(aside.map(|aside| {
        let name = aside.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let text = format!(
            "was damaged and is kept as {name}; a new one was made from this trip: take others in again to find them in it"
        );
        Notice { place: path.display().to_string(), text }
    }))
}

/// What an archive knows the trip in this folder by. The database that is not there knows nothing.
fn known_as(archive: &Path, root: &Path) -> Option<String> {
    Archive::open(archive).ok()?.key_at(&root.to_string_lossy()).ok().flatten()
}

/// What the archive beside the results knows its only trip by, when the trip is not where it was.
fn moved_here(own: &Path) -> Option<String> {
    let (key, root) = Archive::open(own).ok()?.only_trip().ok().flatten()?;
    (!Path::new(&root).is_dir()).then_some(key)
}
