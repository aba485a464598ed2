//! Arguments, kit and environment to settled values.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use crate::kit::Kit;

use super::failure::Failure;

/// Where the program keeps what is the user's, from the environment.
#[derive(Debug, Clone)]
pub struct Places {
    /// Everything under one folder (`SPOOLTALK_HOME`).
    home: Option<PathBuf>,
    /// `$XDG_CONFIG_HOME/spooltalk` or `~/.config/spooltalk`.
    config: Option<PathBuf>,
    /// `$XDG_CACHE_HOME/spooltalk` or `~/.cache/spooltalk`.
    cache: Option<PathBuf>,
}

impl Places {
    /// As the environment has it.
    pub fn usual() -> Self {
        Self::from(|name| std::env::var_os(name))
    }

    /// From variables looked up by name.
    pub fn from(var: impl Fn(&str) -> Option<OsString>) -> Self {
        let set = |name| var(name).filter(|v| !v.is_empty()).map(PathBuf::from);
        let user = set("HOME");
        let xdg = |name, fallback| {
            let base = set(name).filter(|p| p.is_absolute()).or_else(|| user.as_ref().map(|h| h.join(fallback)));
            base.map(|b| b.join("spooltalk"))
        };
        Self {
            home: set("SPOOLTALK_HOME"),
            config: xdg("XDG_CONFIG_HOME", ".config"),
            cache: xdg("XDG_CACHE_HOME", ".cache"),
        }
    }

    /// The user's own kit file, where it would lie.
    pub fn kit(&self) -> Option<PathBuf> {
        self.home.as_ref().or(self.config.as_ref()).map(|d| d.join("kit.toml"))
    }

    /// Where transcripts are kept.
    pub fn cache(&self) -> Option<PathBuf> {
        self.home.as_ref().map(|h| h.join("cache")).or_else(|| self.cache.clone())
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
    Kit::parse(text).map_err(|e| Failure::usage(format_args!("{}: {e}", path.display())))
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
        let p = places(&[("HOME", "/u"), ("SPOOLTALK_HOME", "/s"), ("XDG_CACHE_HOME", "/c")]);
        assert_eq!(p.kit(), Some("/s/kit.toml".into()));
        assert_eq!(p.cache(), Some("/s/cache".into()));
        let p = places(&[("HOME", "/u"), ("XDG_CACHE_HOME", "/c")]);
        assert_eq!(p.kit(), Some("/u/.config/spooltalk/kit.toml".into()));
        assert_eq!(p.cache(), Some("/c/spooltalk".into()));
        // The desktop rules say that a relative path there is to be ignored.
        assert_eq!(places(&[("HOME", "/u"), ("XDG_CACHE_HOME", "c")]).cache(), Some("/u/.cache/spooltalk".into()));
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
