//! Sound from whatever a phone recorded: 16 kHz, one channel, in a stream;
//! when and where it was recorded; and where somebody speaks in it.
//! Knows nothing of words.

mod blocks;
mod error;

pub use blocks::{Blocks, RATE, Samples};
pub use error::AudioError;
