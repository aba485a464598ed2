//! Sound as it flows: 16 kHz, one channel, a block at a time.

use super::AudioError;

/// Samples a second everywhere past decoding.
pub const RATE: usize = 16_000;

/// A source of sound, −1 to 1, at [`RATE`], one channel.
pub trait Blocks {
    /// The next samples, as many as come conveniently; `None` at the end.
    ///
    /// # Errors
    /// When the rest cannot be read; blocks given before stay good.
    fn next(&mut self) -> Result<Option<Vec<f32>>, AudioError>;
}

/// Samples already in memory.
pub struct Samples(Option<Vec<f32>>);

impl Samples {
    /// One block of sound.
    pub fn new(samples: Vec<f32>) -> Self {
        Self(Some(samples))
    }
}

impl Blocks for Samples {
    fn next(&mut self) -> Result<Option<Vec<f32>>, AudioError> {
        Ok(self.0.take())
    }
}
