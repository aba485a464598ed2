//! What the words of one mention can stand for on the gear there is: every reading with its weight. Does not know what the
//! mention is for, nor which frame it belongs to.

mod counted;
mod dials;
mod gear;
mod things;
mod value;
mod ways;
mod worded;

pub use dials::Opening;
pub use gear::{Gear, OFF_DIAL};
pub use value::Values;
pub use ways::{Way, add};
pub use worded::Shift;
