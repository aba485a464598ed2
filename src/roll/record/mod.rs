//! The record: what a row of a table, a roll and a trip are, and what the notes alone say of them. Judges nothing and
//! works nothing out.

mod developed;
mod distinct;
mod extras;
mod ground;
mod hanging;
mod noted;
mod row;

pub use developed::Developed;
pub use distinct::distinct_names;
pub use extras::{Draw, Extras, Focus, OnLens};
pub use ground::Ground;
pub use hanging::{HANGS, HANGS_ON_NUMBER, shake, shaken};
pub use noted::{NotedFrame, NotedRoll};
pub use row::{EdgeRead, Frame, Quote, Roll, Status, Trip};
