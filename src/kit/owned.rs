//! What a kit holds, what is wrong with one, and what is odd in it.

use super::{Back, Bellows, Camera, Converter, Film, Filter, Flash, Habits, Lens, Place, ScanHabits, SettleHabits};

/// Everything the photographer owns.
#[derive(Debug, Clone, Default)]
pub struct Kit {
    /// Cameras.
    pub cameras: Vec<Camera>,
    /// Lenses.
    pub lenses: Vec<Lens>,
    /// Films.
    pub films: Vec<Film>,
    /// Filters.
    pub filters: Vec<Filter>,
    /// Flashes.
    pub flashes: Vec<Flash>,
    /// Converters.
    pub converters: Vec<Converter>,
    /// Bellows and extension tubes.
    pub bellows: Vec<Bellows>,
    /// Backs with a film of their own.
    pub backs: Vec<Back>,
    /// Places by name.
    pub places: Vec<Place>,
    /// The photographer's habits.
    pub habits: Habits,
    /// The lab's habits.
    pub scans: ScanHabits,
    /// Who wins where sources disagree.
    pub settle: SettleHabits,
}

/// What is wrong with a kit file.
#[derive(Debug, thiserror::Error)]
pub enum KitError {
    /// Not TOML, or not the tables and keys expected; the message holds the line.
    #[error("{0}")]
    Syntax(String),
    /// A value that makes no sense.
    #[error("line {line}: {what}")]
    Value {
        /// Line of the table it stands in.
        line: usize,
        /// What is wrong, and what was expected.
        what: String,
    },
}

/// What is odd in a kit that can be used all the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Line, from 1.
    pub line: usize,
    /// What is odd, what becomes of it, and what to do.
    pub what: String,
}

/// The most that a film's first frame can count, as far as a roll can be long. Frames.
pub(super) const MOST_FRAMES: u16 = 999;
