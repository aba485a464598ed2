//! What the words of one mention can stand for on the gear there is: every reading with its weight. Does not know what the
//! mention is for, nor which frame it belongs to.

mod gear;
mod value;
mod ways;

pub use gear::Gear;
pub use value::{Opening, Shift, Values};
pub use ways::{Way, add};
