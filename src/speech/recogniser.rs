//! The slow thing behind a small trait, and a stand-in for tests.

use super::{Asker, SpeechError, Transcript};
use crate::audio::Blocks;

/// Sound in, timed words out. Slow.
pub trait Recogniser {
    /// Changes whenever the words could: model, settings, version of the program.
    fn fingerprint(&self) -> String;

    /// Hears a clip from its start to its end, and listens a second time where
    /// `asker` has questions.
    ///
    /// # Errors
    /// When the sound breaks off with nothing heard, or the recogniser fails.
    fn hear(&mut self, sound: &mut dyn Blocks, asker: &dyn Asker) -> Result<Transcript, SpeechError>;
}

/// Says what it was told to say, one transcript a clip, in order. For tests.
#[derive(Debug, Clone, Default)]
pub struct Script(pub std::collections::VecDeque<Transcript>);

impl Recogniser for Script {
    fn fingerprint(&self) -> String {
        "script".to_owned()
    }

    fn hear(&mut self, _: &mut dyn Blocks, _: &dyn Asker) -> Result<Transcript, SpeechError> {
        Ok(self.0.pop_front().unwrap_or_default())
    }
}
