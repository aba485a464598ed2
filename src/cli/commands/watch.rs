//! `spooltalk ingest --watch`: takes in what is new, as it arrives, until it is ended.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, SystemTime};

use crate::trip::files_under;

/// How long between two looks. A folder that was the same twice is at rest: what is copied into it has arrived.
const BETWEEN: Duration = Duration::from_secs(2);

/// What tells one version of a file from another: its length, and when it was written.
type Version = (u64, Option<SystemTime>);

/// Runs `take_in` once, and again each time that something under `folders` was changed and is at rest. Files under
/// `but_for` are results and do not count. Never returns.
pub(super) fn watch(folders: &[PathBuf], but_for: &[PathBuf], mut take_in: impl FnMut()) -> ! {
    loop {
        let taken = versions(folders, but_for);
        take_in();
        let mut before = taken.clone();
        loop {
            thread::sleep(BETWEEN);
            let now = versions(folders, but_for);
            if now != taken && now == before {
                break;
            }
            before = now;
        }
    }
}

/// The files under some folders, each with its version.
fn versions(folders: &[PathBuf], but_for: &[PathBuf]) -> BTreeMap<PathBuf, Version> {
    let version = |path: &Path| {
        let about = fs::metadata(path).ok()?;
        Some((about.len(), about.modified().ok()))
    };
    let all = folders.iter().flat_map(|f| files_under(f, f).files);
    all.filter(|p| !but_for.iter().any(|out| p.starts_with(out)))
        .filter_map(|p| Some((p.clone(), version(&p)?)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_do_not_count_and_changes_do() {
        let dir = tempfile::tempdir().unwrap();
        let (trip, out) = (dir.path().to_owned(), dir.path().join("spooltalk"));
        fs::create_dir_all(&out).unwrap();
        let at = |name: &str| fs::File::create(trip.join(name)).map(drop).unwrap();
        at("a.txt");
        let look = || versions(std::slice::from_ref(&trip), std::slice::from_ref(&out));
        let before = look();
        assert_eq!(before.len(), 1);
        at("spooltalk/trip.html");
        assert_eq!(look(), before);
        at("b.txt");
        assert_ne!(look(), before);
    }
}
