//! What a second listen asks of the sound: for each value that matters, what it could be mistaken for on the gear there is.
//! Hears nothing itself; what the answers are worth is weighed where the story is told.

mod ask;
mod mistaken;
mod names;

pub use ask::Sounds;
pub use mistaken::Value;
