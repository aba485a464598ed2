//! The slow thing behind a small trait, and a stand-in for tests.

use std::collections::VecDeque;
use std::sync::Mutex;

use super::{Asker, SpeechError, Transcript};
use crate::audio::Blocks;

/// Sound in, timed words out. Slow. Several clips may be heard at once.
pub trait Recogniser: Sync {
    /// Changes whenever the words could: model, settings, version of the program.
    fn fingerprint(&self) -> String;

    /// Hears a clip from its start to its end, and listens a second time where
    /// `asker` has questions. When the sound breaks off, the words up to there are given.
    ///
    /// # Errors
    /// When the sound cannot be read, or the recogniser fails.
    fn hear(&self, sound: &mut dyn Blocks, asker: &dyn Asker) -> Result<Transcript, SpeechError>;

    /// Listens again to a clip whose words are `known`, where `asker` has questions that are
    /// not answered yet. The words stay as they are.
    ///
    /// # Errors
    /// As for `hear`.
    fn hear_again(
        &self,
        sound: &mut dyn Blocks,
        known: Transcript,
        asker: &dyn Asker,
    ) -> Result<Transcript, SpeechError> {
        let _ = known;
        self.hear(sound, asker)
    }
}

/// Says what it was told to say, one transcript a clip, in order. For tests.
#[derive(Debug, Default)]
pub struct Script(Mutex<VecDeque<Transcript>>);

impl Script {
    /// What to say, clip by clip; nothing after the last.
    pub fn new(clips: impl IntoIterator<Item = Transcript>) -> Self {
        Self(Mutex::new(clips.into_iter().collect()))
    }
}

impl Recogniser for Script {
    fn fingerprint(&self) -> String {
        "script".to_owned()
    }

    fn hear(&self, _: &mut dyn Blocks, _: &dyn Asker) -> Result<Transcript, SpeechError> {
        let mut clips = self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        Ok(clips.pop_front().unwrap_or_default())
    }
}
