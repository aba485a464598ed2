//! Where the program keeps what is the user's.

use std::ffi::OsString;
use std::path::PathBuf;

/// Where the program keeps what is the user's, from the environment.
#[derive(Debug, Clone)]
pub struct Places {
    /// Everything under one folder (`SPOOLTALK_HOME`).
    home: Option<PathBuf>,
    /// `$XDG_CONFIG_HOME/spooltalk` or `~/.config/spooltalk`.
    config: Option<PathBuf>,
    /// `$XDG_DATA_HOME/spooltalk` or `~/.local/share/spooltalk`.
    data: Option<PathBuf>,
    /// `$XDG_CACHE_HOME/spooltalk` or `~/.cache/spooltalk`.
    cache: Option<PathBuf>,
    /// The user's own folder.
    user: Option<PathBuf>,
}

impl Places {
    /// As the environment has it.
    pub fn usual() -> Self {
        Self::from(|name| std::env::var_os(name))
    }

    /// From variables looked up by name.
    pub fn from(var: impl Fn(&str) -> Option<OsString>) -> Self {
        let set = |name| var(name).filter(|v| !v.is_empty()).map(PathBuf::from);
        // The desktop rules say that a relative path there is to be ignored.
        let folder = |name, usual: &str| {
            let named = set(name).filter(|p| p.is_absolute());
            named.or_else(|| set("HOME").map(|h| h.join(usual))).map(|c| c.join("spooltalk"))
        };
        Self {
            home: set("SPOOLTALK_HOME"),
            config: folder("XDG_CONFIG_HOME", ".config"),
            data: folder("XDG_DATA_HOME", ".local/share"),
            cache: folder("XDG_CACHE_HOME", ".cache"),
            user: set("HOME"),
        }
    }

    /// The user's settings, where they would lie.
    pub fn settings(&self) -> Option<PathBuf> {
        self.home.as_ref().or(self.config.as_ref()).map(|d| d.join("settings.toml"))
    }

    /// A folder for what is the user's own and was made by the program.
    pub fn data(&self) -> Option<PathBuf> {
        self.home.as_ref().or(self.data.as_ref()).cloned()
    }

    /// The archive of all trips, where nobody named another.
    pub fn archive(&self) -> Option<PathBuf> {
        Some(self.data()?.join("archive.db"))
    }

    /// A folder for what can be made again.
    pub fn cache(&self) -> Option<PathBuf> {
        self.home.as_ref().or(self.cache.as_ref()).cloned()
    }

    /// A path as somebody writes it, `~/` for the user's own folder.
    pub fn path(&self, text: &str) -> PathBuf {
        match (text.strip_prefix("~/"), &self.user) {
            (Some(rest), Some(user)) => user.join(rest),
            _ => PathBuf::from(text),
        }
    }

    /// The user's own kit file, where it would lie.
    pub fn kit(&self) -> Option<PathBuf> {
        self.home.as_ref().or(self.config.as_ref()).map(|d| d.join("kit.toml"))
    }
}
