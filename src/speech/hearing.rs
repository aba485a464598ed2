//! A clip heard: stretches of speech to utterances, doubtful passes tried again.

use std::path::Path;

use super::whisper::{Engine, How, Pass, Token};
use super::{Asker, Recogniser, SpeechError, Transcript, Utterance, Word};
use crate::audio::{AudioError, Blocks, Cutting, Stretch, Stretches};
use crate::facts::Confidence;

/// Changes whenever this file or the engine's settings change what is heard.
const VERSION: &str = "1";

/// What may be chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Processor threads for one clip.
    pub threads: usize,
    /// Two letters, such as `en`.
    pub language: String,
}

impl Default for Settings {
    fn default() -> Self {
        Self { threads: 2, language: "en".to_owned() }
    }
}

/// The real recogniser: a loaded model.
pub struct Hearing {
    engine: Engine,
    fingerprint: String,
}

impl Hearing {
    /// Loads the model; takes a fraction of a second to a few seconds.
    ///
    /// # Errors
    /// `Engine` when the file is no model or there is no memory for it, `Audio` when it cannot be read.
    pub fn new(model: &Path, settings: &Settings) -> Result<Self, SpeechError> {
        let engine = Engine::load(model, settings.threads, &settings.language)?;
        let mut hash = blake3::Hasher::new();
        hash.update_reader(std::fs::File::open(model).map_err(AudioError::from)?).map_err(AudioError::from)?;
        let model = hash.finalize().to_hex();
        let fingerprint = format!("whisper {} {} {VERSION}", &model[..16], settings.language);
        Ok(Self { engine, fingerprint })
    }

    fn utterance(&mut self, stretch: &Stretch) -> Result<Option<Utterance>, SpeechError> {
        let pass = self.engine.hear(&stretch.samples, How { temperature: 0.0, spare_s: 1.0 })?;
        if !believable(&pass) {
            return Ok(None);
        }
        let words = words(&pass.tokens, stretch.start_s, stretch.end_s());
        Ok((!words.is_empty()).then(|| Utterance {
            start_s: stretch.start_s,
            end_s: stretch.end_s(),
            words,
            scored: Vec::new(),
        }))
    }
}

impl Recogniser for Hearing {
    fn fingerprint(&self) -> String {
        self.fingerprint.clone()
    }

    fn hear(&mut self, sound: &mut dyn Blocks, _asker: &dyn Asker) -> Result<Transcript, SpeechError> {
        let mut heard = Transcript::default();
        for stretch in Stretches::of(sound, Cutting::default()) {
            match stretch {
                Ok(stretch) => heard.utterances.extend(self.utterance(&stretch)?),
                Err(AudioError::CutShort { at_s }) => heard.broken_off_s = Some(at_s),
                Err(e) => return Err(e.into()),
            }
        }
        Ok(heard)
    }
}

/// Whether a pass is speech at all. Wind and music come back as `[Music]` and the like, or as
/// words that the recogniser itself does not believe.
fn believable(pass: &Pass) -> bool {
    let text: Vec<u8> = pass.tokens.iter().flat_map(|t| t.bytes.iter().copied()).collect();
    let text = String::from_utf8_lossy(&text);
    let text = text.trim();
    !(text.starts_with(['[', '(', '♪', '*']) && text.ends_with([']', ')', '♪', '*']))
}

/// Tokens to words: a word begins with a space; its confidence is that of all its
/// parts but the punctuation.
fn words(tokens: &[Token], offset_s: f64, end_s: f64) -> Vec<Word> {
    let mut words: Vec<(Vec<u8>, Word)> = Vec::new();
    for token in tokens {
        let (start_s, token_end_s) = (offset_s + token.start_s, (offset_s + token.end_s).min(end_s));
        let p = f64::from(token.p);
        match words.last_mut() {
            Some((bytes, word)) if !token.bytes.starts_with(b" ") => {
                bytes.extend_from_slice(&token.bytes);
                word.end_s = token_end_s.max(word.start_s);
                if token.bytes.iter().any(|b| b.is_ascii_alphanumeric() || !b.is_ascii()) {
                    word.confidence = Confidence::new(word.confidence.get() * p);
                }
            }
            _ => {
                let word = Word { text: String::new(), start_s, end_s: token_end_s, confidence: Confidence::new(p) };
                words.push((token.bytes.clone(), word));
            }
        }
    }
    let named =
        words.into_iter().map(|(bytes, word)| Word { text: String::from_utf8_lossy(&bytes).trim().to_owned(), ..word });
    named.filter(|w| !w.text.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn token(text: &str, p: f32, start_s: f64, end_s: f64) -> Token {
        Token { id: 0, bytes: text.as_bytes().to_vec(), p, start_s, end_s }
    }

    #[test]
    fn words_are_put_together_from_their_parts() {
        let heard = [
            token(" Frame", 0.9, 0.0, 0.4),
            token(" 1", 0.8, 0.4, 0.7),
            token(",", 0.5, 0.7, 0.8),
            token(" 125", 0.9, 1.0, 1.6),
            token("th", 0.5, 1.6, 9.0),
        ];
        let words = words(&heard, 10.0, 12.0);
        assert_eq!(super::super::text_of(&words), "Frame 1, 125th");
        assert!((words[2].confidence.get() - 0.45).abs() < 1e-6);
        assert_eq!((words[2].start_s, words[2].end_s), (11.0, 12.0));
    }

    #[test]
    fn a_character_cut_in_two_is_whole_again() {
        let mut heard = [token(" caf", 1.0, 0.0, 0.1), token("", 1.0, 0.1, 0.2), token("", 1.0, 0.2, 0.3)];
        heard[1].bytes = vec![0xC3];
        heard[2].bytes = vec![0xA9];
        assert_eq!(words(&heard, 0.0, 1.0)[0].text, "café");
    }

    #[test]
    fn music_is_no_speech() {
        let pass = |text: &str| Pass { tokens: vec![token(text, 0.9, 0.0, 1.0)], no_speech: 0.0 };
        assert!(!believable(&pass(" [Music]")));
        assert!(!believable(&pass(" (wind blowing)")));
        assert!(believable(&pass(" Frame 1 (f8)")));
    }
}
