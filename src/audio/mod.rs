//! Sound from whatever a phone recorded: 16 kHz, one channel, in a stream;
//! when and where it was recorded; and where somebody speaks in it.
//! Knows nothing of words.

mod blocks;
mod bounded;
mod clip;
mod decode;
mod ending;
mod error;
mod ffmpeg;
mod file_name;
mod iso6709;
mod kind;
mod mp4;
mod patient;
mod probe;
mod resample;
mod sound;
mod still;
mod voice;

pub use blocks::{Blocks, RATE, Samples};
pub use bounded::{Bounded, within_bounds};
pub use clip::{Clip, open};
pub use error::AudioError;
pub use probe::{Recording, probe};
pub use sound::Sound;
pub use still::{may_show, still};
pub use voice::{Cutting, Stretch, Stretches};
