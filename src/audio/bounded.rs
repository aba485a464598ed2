//! How much sound of one clip is heard.

use std::path::Path;

use super::{AudioError, Blocks, RATE, probe};

/// Longest clip, in hours: a day out with the recorder left running.
const LONGEST_H: u64 = 24;
const LONGEST_S: u64 = LONGEST_H * 3600;

/// A clip's sound, refused once it is longer than any clip.
pub struct Bounded<'a> {
    sound: &'a mut dyn Blocks,
    samples_left: u64,
}

impl<'a> Bounded<'a> {
    /// All of it, up to the limit.
    pub fn of(sound: &'a mut dyn Blocks) -> Self {
        Self { sound, samples_left: LONGEST_S * RATE as u64 }
    }
}

impl Blocks for Bounded<'_> {
    fn next(&mut self) -> Result<Option<Vec<f32>>, AudioError> {
        let block = self.sound.next()?;
        let more = block.as_ref().map_or(0, |b| b.len() as u64);
        self.samples_left = self.samples_left.checked_sub(more).ok_or(AudioError::TooLong { most_h: LONGEST_H })?;
        Ok(block)
    }
}

/// Refuses a clip that says itself that it is longer, before any of it is heard.
///
/// # Errors
/// `TooLong`; that it cannot be read is left to who opens it.
pub fn within_bounds(path: &Path) -> Result<(), AudioError> {
    let claimed_s = probe(path, None).ok().and_then(|r| r.length_s);
    let long = claimed_s.is_some_and(|s| s > LONGEST_S as f64);
    if long { Err(AudioError::TooLong { most_h: LONGEST_H }) } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Endless;

    impl Blocks for Endless {
        fn next(&mut self) -> Result<Option<Vec<f32>>, AudioError> {
            Ok(Some(vec![0.0; 8]))
        }
    }

    #[test]
    fn sound_without_an_end_is_refused() {
        let mut sound = Endless;
        let mut bounded = Bounded { sound: &mut sound, samples_left: 20 };
        assert!(bounded.next().is_ok() && bounded.next().is_ok());
        let why = bounded.next().unwrap_err().to_string();
        assert_eq!(why, "has more than 24 hours of sound, which is the limit: cut it into several");
    }
}
