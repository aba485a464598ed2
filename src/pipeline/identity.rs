//! Which trip this is, whatever its folder is called and wherever it lies.
//!
//! `.state/trip.json` in the output folder holds the trip's identity and where it was last
//! taken in. A folder that was moved or renamed keeps it; a copy that lies beside its model is
//! another trip.

use std::hash::{BuildHasher, Hasher, RandomState};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::output::{OutDir, OutputError};

const FILE: &str = ".state/trip.json";

/// A trip's identity and its places.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Identity {
    /// Stays the same as long as the trip is the same.
    pub id: String,
    /// The trip's folder.
    pub root: String,
    /// Where its results are.
    pub out: String,
}

impl Identity {
    /// The identity of the trip at `root` with its results in `out`: the one kept there, else the
    /// one that `known` gives for this folder, else a new one. It is kept.
    ///
    /// # Errors
    /// A failure to write.
    pub fn of(out: &OutDir, root: &Path, known: impl FnOnce() -> Option<String>) -> Result<Self, OutputError> {
        let (root, place) = (text(root), text(out.root()));
        let id = match kept(out.read(FILE)).filter(|k| is_same(k, &root, &place)) {
            Some(kept) => kept.id,
            None => known().unwrap_or_else(|| fresh(&root)),
        };
        let identity = Self { id, root, out: place };
        let mut bytes = serde_json::to_vec(&identity).expect("texts alone");
        bytes.push(b'\n');
        out.write(FILE, &bytes)?;
        Ok(identity)
    }
}

/// Whether what was kept means the trip at `root` with its results in `out`.
fn is_same(kept: &Identity, root: &str, out: &str) -> bool {
    if kept.root == root {
        return true;
    }
    if kept.out == out {
        // One output folder for two trips: the other one is still there.
        return !Path::new(&kept.root).is_dir();
    }
    // Where it was taken in last it is no more, or something else is there: it was moved.
    let there = std::fs::read(PathBuf::from(&kept.out).join(FILE)).ok();
    self::kept(there).is_none_or(|other| other.id != kept.id)
}

fn kept(bytes: Option<Vec<u8>>) -> Option<Identity> {
    serde_json::from_slice(&bytes?).ok()
}

fn text(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

/// An identity that no other trip has.
fn fresh(root: &str) -> String {
    // The keys of a hash table's state come from the system's random numbers.
    let random = || RandomState::new().build_hasher().finish();
    let text = format!("{root}\0{:x}\0{:x}", random(), random());
    blake3::hash(text.as_bytes()).to_hex()[..32].to_owned()
}

#[cfg(test)]
#[allow(clippy::disallowed_methods, reason = "tests set the scene")]
mod tests {
    use std::fs;

    use super::*;

    fn id(trip: &Path) -> String {
        let out = OutDir::open(&trip.join("spooltalk"), trip).unwrap();
        Identity::of(&out, trip, || None).unwrap().id
    }

    #[test]
    fn a_moved_folder_is_the_same_trip_and_a_copy_is_another() {
        let dir = tempfile::tempdir().unwrap();
        let home = dir.path().canonicalize().unwrap();
        let (a, b) = (home.join("a"), home.join("b"));
        fs::create_dir(&a).unwrap();
        let first = id(&a);
        assert_eq!(id(&a), first);
        fs::rename(&a, &b).unwrap();
        assert_eq!(id(&b), first);
        // Another trip where it was.
        fs::create_dir(&a).unwrap();
        assert_ne!(id(&a), first);
        assert_eq!(id(&b), first);
        // A copy of a whole folder, as to start from.
        let c = home.join("c/spooltalk/.state");
        fs::create_dir_all(&c).unwrap();
        fs::copy(b.join("spooltalk").join(FILE), c.join("trip.json")).unwrap();
        assert_ne!(id(&home.join("c")), first);
        assert_eq!(id(&b), first);
    }

    #[test]
    fn what_an_archive_knows_by_its_folder_keeps_its_name_there() {
        let dir = tempfile::tempdir().unwrap();
        let out = OutDir::open(&dir.path().join("out"), dir.path()).unwrap();
        let known = || Some("/old/key".to_owned());
        assert_eq!(Identity::of(&out, dir.path(), known).unwrap().id, "/old/key");
        assert_eq!(Identity::of(&out, dir.path(), || None).unwrap().id, "/old/key");
    }
}
