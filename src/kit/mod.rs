//! What the photographer owns and how they call it: `kit.toml` as typed values.
//! Text in, a [`Kit`] or an error with a line number out. Touches no disk.

mod camera;
mod density;
mod extra;
mod film;
mod filter;
mod format;
mod habits;
pub mod imprint;
mod lens;
mod missing;
mod names;
mod owned;
mod raw;
mod read;
mod starter;
mod text;

pub use camera::{Camera, Dial};
pub use density::Density;
pub use extra::{Back, Bellows, Converter, Flash, Place};
pub use film::Film;
pub use filter::{Filter, Filters};
pub use format::Format;
pub use habits::{Habits, ScanHabits, SettleHabits};
pub use lens::{Focal, Lens};
pub use missing::{Missing, ThingKind};
pub use names::{Called, LONGEST_NAME, quoted};
pub use owned::{Caution, Kit, KitError};
pub use starter::{FirstCamera, Starter};
