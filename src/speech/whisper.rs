//! The speech engine. The only file that knows whisper-rs.
//!
//! One model, loaded once, shared by all engines. A stretch of sound is encoded once, with the
//! encoder's context cut to its length; words and scores of other wordings both come from that.

use std::path::Path;
use std::sync::{Arc, Once};

use whisper_rs::{FullParams, SamplingStrategy, WhisperContext, WhisperContextParameters, WhisperError, WhisperState};

use super::SpeechError;
use super::scoring::Decoder;
use super::spelling::Spelling;
use crate::audio::RATE;

/// Frames of the encoder a second.
const CONTEXT_PER_S: f64 = 50.0;
/// Sound shorter than this is filled up with silence. Seconds.
const LEAST_S: f64 = 1.0;

/// A piece of a word as the decoder writes it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Token {
    pub id: i32,
    /// Where it stands in all that was written.
    pub place: usize,
    /// Its bytes; a character may be cut between two tokens. A new word begins with a space.
    pub bytes: Vec<u8>,
    /// How likely it was, given what stood before it.
    pub p: f32,
    /// Seconds from the start of the sound.
    pub start_s: f64,
    pub end_s: f64,
}

/// What one pass over a stretch gave.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Pass {
    pub tokens: Vec<Token>,
    /// All that the decoder was told and wrote, marks and times too.
    pub written: Vec<i32>,
}

/// How a pass is done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct How {
    /// 0: always the likeliest token.
    pub temperature: f32,
    /// Sound beyond the stretch that the encoder sees as silence, in seconds.
    pub spare_s: f64,
}

/// A loaded model.
#[derive(Clone)]
pub(super) struct Model {
    context: Arc<WhisperContext>,
    spelling: Arc<Spelling>,
}

impl Model {
    pub fn load(path: &Path) -> Result<Self, SpeechError> {
        static QUIET: Once = Once::new();
        QUIET.call_once(whisper_rs::install_logging_hooks);
        let context = WhisperContext::new_with_params(path, WhisperContextParameters::default())
            .map_err(|e| failed("loading the model", &e))?;
        let token = |id| context.token_to_bytes(id).map(<[u8]>::to_vec).unwrap_or_default();
        let spelling = Spelling::of((0..context.token_eot()).map(token));
        Ok(Self { context: Arc::new(context), spelling: Arc::new(spelling) })
    }
}

/// Room to work in, for one stretch at a time.
pub(super) struct Engine {
    model: Model,
    state: WhisperState,
    threads: usize,
    language: String,
    /// Tokens that the decoder has behind it and need not run again.
    past: Vec<i32>,
}

impl Engine {
    pub fn new(model: &Model, threads: usize, language: &str) -> Result<Self, SpeechError> {
        let state = model.context.create_state().map_err(|e| failed("making room for the model", &e))?;
        let language = if model.context.is_multilingual() { language } else { "en" }.to_owned();
        Ok(Self { model: model.clone(), state, threads, language, past: Vec::new() })
    }

    /// Words of one stretch of at most 29 s.
    pub fn hear(&mut self, sound: &[f32], how: How) -> Result<Pass, SpeechError> {
        let mut padded = sound.to_vec();
        padded.resize(sound.len().max((LEAST_S * RATE as f64) as usize), 0.0);
        let mut params = FullParams::new(SamplingStrategy::Greedy { best_of: 1 });
        params.set_n_threads(self.threads as i32);
        params.set_language(Some(&self.language));
        params.set_audio_ctx(self.context_for(padded.len(), how.spare_s));
        params.set_temperature(how.temperature);
        params.set_temperature_inc(0.0);
        params.set_no_context(true);
        params.set_single_segment(true);
        params.set_token_timestamps(true);
        params.set_suppress_blank(true);
        params.set_print_special(false);
        params.set_print_progress(false);
        params.set_print_realtime(false);
        params.set_print_timestamps(false);
        // Loops end themselves: nobody says more than seven tokens a second.
        params.set_max_tokens((12.0 + 7.0 * padded.len() as f64 / RATE as f64) as i32);
        self.past.clear();
        self.state.full(params, &padded).map_err(|e| failed("listening", &e))?;
        let end = self.model.context.token_eot();
        let mut pass = Pass { tokens: Vec::new(), written: self.opening() };
        for segment in self.state.as_iter() {
            for i in 0..segment.n_tokens() {
                let Some(token) = segment.get_token(i) else { continue };
                let data = token.token_data();
                pass.written.push(data.id);
                if data.id >= end {
                    continue; // marks and times
                }
                let bytes = token.to_bytes().map_err(|e| failed("reading a word", &e))?.to_vec();
                let seconds = |t: i64| t as f64 / 100.0;
                pass.tokens.push(Token {
                    id: data.id,
                    place: pass.written.len() - 1,
                    bytes,
                    p: data.p,
                    start_s: seconds(data.t0),
                    end_s: seconds(data.t1),
                });
            }
        }
        // The last token was written and not run.
        self.past.extend_from_slice(&pass.written[..pass.written.len() - 1]);
        Ok(pass)
    }

    /// What the decoder is told before it writes.
    fn opening(&self) -> Vec<i32> {
        let c = &self.model.context;
        if !c.is_multilingual() {
            return vec![c.token_sot()];
        }
        let language = whisper_rs::get_lang_id(&self.language).unwrap_or(0);
        vec![c.token_sot(), c.token_lang(language), c.token_transcribe()]
    }

    /// Stands for whatever is no text: the decoder writes a time or its mark of the end after the last word.
    pub fn end(&self) -> i32 {
        self.model.context.token_eot()
    }

    /// A text in tokens. A word inside a sentence begins with a space.
    pub fn spelled(&self, text: &str) -> Vec<i32> {
        self.model.spelling.tokens(text)
    }

    /// The encoder's context for so many samples: never shorter than the sound.
    fn context_for(&self, samples: usize, spare_s: f64) -> i32 {
        let wanted = (samples as f64 / RATE as f64 + spare_s) * CONTEXT_PER_S;
        // A multiple of 8 keeps the matrices in whole blocks.
        let whole = (wanted.ceil() as i32 + 7) / 8 * 8;
        whole.min(self.model.context.n_audio_ctx())
    }
}

impl Decoder for Engine {
    /// On the stretch heard last. What the decoder has behind it already is not run again.
    fn logprobs_after(&mut self, sequence: &[i32], wanted: &[i32]) -> Result<Vec<f64>, SpeechError> {
        let shared = self.past.iter().zip(sequence).take_while(|(a, b)| a == b).count();
        let from = shared.min(sequence.len() - 1);
        // Only a token that comes alone leaves its logits where they can be read.
        let (middle, last) = sequence[from..].split_at(sequence.len() - 1 - from);
        if !middle.is_empty() {
            self.state.decode(middle, from, self.threads).map_err(|e| failed("listening again", &e))?;
        }
        self.state.decode(last, sequence.len() - 1, self.threads).map_err(|e| failed("listening again", &e))?;
        self.past.clear();
        self.past.extend_from_slice(sequence);
        let logits = self.state.get_logits().map_err(|e| failed("listening again", &e))?;
        let all = log_sum(logits);
        let end = self.end();
        let log = |t: i32| if t == end { log_sum(&logits[t as usize..]) } else { f64::from(logits[t as usize]) };
        Ok(wanted.iter().map(|&t| log(t) - all).collect())
    }
}

/// The logarithm of the sum of numbers given by their logarithms.
fn log_sum(logs: &[f32]) -> f64 {
    let most = logs.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    f64::from(most) + logs.iter().map(|l| f64::from((l - most).exp())).sum::<f64>().ln()
}

fn failed(doing: &'static str, e: &WhisperError) -> SpeechError {
    SpeechError::Engine { doing, why: e.to_string() }
}
