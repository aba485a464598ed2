//! Nothing is heard twice: transcripts are kept by the content of the clip and the fingerprint of
//! the recogniser. The folder can be shared between machines.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};

use super::Transcript;

/// A folder of transcripts.
#[derive(Debug, Clone)]
pub struct Cache(PathBuf);

/// The content of a clip, whatever it is called.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Content(blake3::Hash);

impl Content {
    /// Its name: the hash in hexadecimal digits.
    pub fn hex(&self) -> String {
        self.0.to_hex().to_string()
    }

    /// Reads the whole file.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn of(path: &Path) -> std::io::Result<Self> {
        let mut hash = blake3::Hasher::new();
        hash.update_reader(File::open(path)?)?;
        Ok(Self(hash.finalize()))
    }
}

impl Cache {
    /// The cache in this folder, which need not exist yet.
    pub fn at(folder: impl Into<PathBuf>) -> Self {
        Self(folder.into())
    }

    /// The usual place: `$SPOOLTALK_HOME/transcripts`, else `spooltalk/transcripts` in the user's
    /// cache folder (`$XDG_CACHE_HOME`, else `~/.cache`). `var` reads the environment. `None` without any.
    pub fn usual(var: impl Fn(&str) -> Option<OsString>) -> Option<Self> {
        let set = |name| var(name).filter(|v| !v.is_empty()).map(PathBuf::from);
        let home = set("SPOOLTALK_HOME").or_else(|| {
            let cache = set("XDG_CACHE_HOME").or_else(|| set("HOME").map(|h| h.join(".cache")));
            cache.map(|c| c.join("spooltalk"))
        })?;
        Some(Self(home.join("transcripts")))
    }

    /// What this recogniser heard in this content before. A broken entry is a miss and a warning.
    pub fn get(&self, content: &Content, fingerprint: &str) -> Option<Transcript> {
        let path = self.path(content, fingerprint);
        let bytes = fs::read(&path).ok()?;
        match serde_json::from_slice(&bytes) {
            Ok(transcript) => Some(transcript),
            Err(why) => {
                tracing::warn!("{}: not a transcript any more ({why}); the clip is heard again", path.display());
                None
            }
        }
    }

    /// Keeps a transcript, whole or not at all. Without room for it the run goes on, with a warning.
    pub fn put(&self, content: &Content, fingerprint: &str, transcript: &Transcript) {
        let path = self.path(content, fingerprint);
        if let Err(why) = write_whole(&path, transcript) {
            tracing::warn!("{}: the transcript could not be kept ({why})", path.display());
        }
    }

    fn path(&self, content: &Content, fingerprint: &str) -> PathBuf {
        let (content, recogniser) = (content.0.to_hex(), blake3::hash(fingerprint.as_bytes()).to_hex());
        self.0.join(&content[..2]).join(format!("{}-{}.json", &content[2..34], &recogniser[..16]))
    }
}

fn write_whole(path: &Path, transcript: &Transcript) -> std::io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    file.write_all(&serde_json::to_vec(transcript)?)?;
    file.persist(path)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::speech::{Utterance, Word};

    fn one_word() -> Transcript {
        let words = vec![Word::written("hello")];
        let utterances = vec![Utterance { start_s: 0.1, end_s: 1.0, words, scored: Vec::new() }];
        Transcript { utterances, ..Transcript::default() }
    }

    #[test]
    fn kept_by_content_and_recogniser() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::at(folder.path().join("new"));
        let clip = |bytes: &[u8]| {
            let path = folder.path().join("clip");
            fs::write(&path, bytes).unwrap();
            Content::of(&path).unwrap()
        };
        let (a, b) = (clip(b"a"), clip(b"b"));
        assert_eq!(cache.get(&a, "base 1"), None);
        cache.put(&a, "base 1", &one_word());
        assert_eq!(cache.get(&a, "base 1"), Some(one_word()));
        assert_eq!(cache.get(&a, "base 2"), None, "another recogniser");
        assert_eq!(cache.get(&b, "base 1"), None, "another clip");
    }

    #[test]
    fn a_broken_entry_is_a_miss() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::at(folder.path());
        let content = Content(blake3::hash(b"a"));
        cache.put(&content, "base", &one_word());
        fs::write(cache.path(&content, "base"), b"{\"utterances\":[").unwrap();
        assert_eq!(cache.get(&content, "base"), None);
    }

    #[test]
    fn a_cache_that_cannot_be_written_stops_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, b"").unwrap();
        let (cache, content) = (Cache::at(&file), Content(blake3::hash(b"a")));
        cache.put(&content, "base", &one_word());
        assert_eq!(cache.get(&content, "base"), None);
    }

    #[test]
    fn the_usual_place() {
        let from = |set: &'static [(&str, &str)]| {
            Cache::usual(|name| set.iter().find(|(n, _)| *n == name).map(|(_, v)| v.into())).map(|c| c.0)
        };
        assert_eq!(from(&[("SPOOLTALK_HOME", "/s"), ("HOME", "/h")]), Some("/s/transcripts".into()));
        assert_eq!(from(&[("SPOOLTALK_HOME", ""), ("HOME", "/h")]), Some("/h/.cache/spooltalk/transcripts".into()));
        assert_eq!(from(&[]), None);
    }
}
