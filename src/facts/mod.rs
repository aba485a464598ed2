//! Small shared types: names, places in a clip, readings with their source, flags.
//! No files, no words of any language, no arithmetic of exposure.

mod columns;
mod fault;
mod flag;
mod input;
mod moment;
mod names;
mod position;
mod reading;
mod shown;
mod taken;

pub use columns::COLUMNS;
pub use fault::{Fault, caught};
pub use flag::{Field, Flag};
pub use input::{Fate, Input, InputKind};
pub use moment::Moment;
pub use names::{FrameNumber, NameError, RollName};
pub use position::Position;
pub use reading::{Confidence, Reading, Settled, Source, Terms};
pub use shown::shown;
pub use taken::{KnownBy, Taken};
