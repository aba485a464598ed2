//! What the photographer owns and how they call it: `kit.toml` as typed values.
//! Text in, a [`Kit`] or an error with a line number out. Touches no disk.

mod camera;
mod film;
mod filter;
mod format;
mod habits;
pub mod imprint;
mod lens;
mod names;
mod raw;
mod text;

pub use camera::{Camera, Dial};
pub use film::Film;
pub use filter::{Filter, Filters};
pub use format::Format;
pub use habits::{Habits, ScanHabits, SettleHabits};
pub use lens::{Focal, Lens};
pub use names::LONGEST_NAME;
pub use text::{Caution, Kit, KitError};
