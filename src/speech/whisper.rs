//! The speech engine. The only file that knows whisper-rs.
//!
//! One model, loaded once, shared by all engines. A stretch of sound is encoded once, with the
//! encoder's context cut to its length; words and scores of other wordings both come from that.
//! The library encodes and writes the first token. The others are chosen here, so that what the
//! decoder thought of each place is there for the second listen, and for the times of words.

use std::path::Path;
use std::sync::{Arc, Once};

use whisper_rs::{FullParams, SamplingStrategy, WhisperContext, WhisperContextParameters, WhisperError, WhisperState};

use super::decoding::{Choice, Numbers, TIME_STEP_S, Thought, choose, log_sum, opened};
use super::model::Ear;
use super::names::Names;
use super::scoring::Decoder;
use super::spelling::Spelling;
use super::{SpeechError, processor};
use crate::audio::RATE;

/// Frames of the encoder a second.
const CONTEXT_PER_S: f64 = 50.0;
/// Sound shorter than this is filled up with silence. Seconds.
const LEAST_S: f64 = 1.0;

/// An end this near to that of the sound is the end: nothing is said after it. Seconds.
const CLOSING_S: f64 = 0.6;
/// Where the model is surer than this that nobody speaks, and unsure of its words, nothing was
/// said (the reference decoder's `no_speech_threshold` and `logprob_threshold`).
const NO_SPEECH: f32 = 0.6;
const UNLIKELY: f64 = -1.0;

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
    /// Logits of the times from the start of the sound, in steps of `TIME_STEP_S`: where the decoder
    /// would have put an end before this token. Empty for the first.
    pub times: Vec<f32>,
}

/// What one pass over a stretch gave.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Pass {
    pub tokens: Vec<Token>,
    /// All that the decoder was told and wrote, marks and times too.
    pub written: Vec<i32>,
}

/// A loaded model.
#[derive(Clone)]
pub(super) struct Model {
    context: Arc<WhisperContext>,
    spelling: Arc<Spelling>,
    names: Arc<Names>,
    numbers: Numbers,
}

impl Model {
    /// With the difference of an ear added, where there is one. Hears `names` more readily.
    pub fn load(path: &Path, ear: Option<&Ear>, names: &[String]) -> Result<Self, SpeechError> {
        if let Some(lacks) = processor::lacks() {
            return Err(SpeechError::Processor { lacks });
        }
        static QUIET: Once = Once::new();
        QUIET.call_once(whisper_rs::install_logging_hooks);
        let parameters = WhisperContextParameters::default();
        let context = match ear {
            Some(ear) => WhisperContext::new_from_buffer_with_params(&ear.merged(path)?, parameters),
            None => WhisperContext::new_with_params(path, parameters),
        };
        let context = context.map_err(|e| failed("loading the model", &e))?;
        let token = |id| context.token_to_bytes(id).map(<[u8]>::to_vec).unwrap_or_default();
        let numbers = Numbers { end: context.token_eot(), first_time: context.token_beg() };
        let spelling = Spelling::of((0..numbers.end).map(token));
        let names = Names::of(names.iter().map(String::as_str), &spelling);
        Ok(Self { context: Arc::new(context), spelling: Arc::new(spelling), names: Arc::new(names), numbers })
    }
}

impl Model {
    /// What to write, names more readily than the sound alone would have it; how likely it was by the sound alone.
    fn choice(&self, logits: &[f32], written: &[i32]) -> Choice {
        let plain = choose(logits, written, self.numbers);
        if self.names.is_empty() {
            return plain;
        }
        let Choice { id, .. } = choose(&self.names.favoured(logits, written), written, self.numbers);
        let by_sound = || (f64::from(logits[id as usize]) - log_sum(logits)).exp() as f32;
        if id == plain.id { plain } else { Choice { id, p: by_sound() } }
    }
}

/// Room to work in, for one stretch at a time.
pub(super) struct Engine {
    model: Model,
    state: WhisperState,
    threads: usize,
    language: String,
    /// What the decoder is told before it writes.
    opening: Vec<i32>,
    /// Tokens that the decoder has behind it and need not run again.
    past: Vec<i32>,
    /// All that was written on the stretch heard last.
    written: Vec<i32>,
    /// What the decoder thought after each token from the first behind the opening.
    thoughts: Vec<Thought>,
}

impl Engine {
    pub fn new(model: &Model, threads: usize, language: &str) -> Result<Self, SpeechError> {
        let c = &model.context;
        let state = c.create_state().map_err(|e| failed("making room for the model", &e))?;
        let many = c.is_multilingual();
        let language = if many { language } else { "en" }.to_owned();
        let mut opening = vec![c.token_sot()];
        if many {
            let number = whisper_rs::get_lang_id(&language).unwrap_or(0);
            opening.extend([c.token_lang(number), c.token_transcribe()]);
        }
        let (model, past, written, thoughts) = (model.clone(), Vec::new(), Vec::new(), Vec::new());
        Ok(Self { model, state, threads, language, opening, past, written, thoughts })
    }

    /// Words of one stretch of at most 29 s, of which the encoder sees `spare_s` seconds more as silence.
    pub fn hear(&mut self, sound: &[f32], spare_s: f64) -> Result<Pass, SpeechError> {
        let Some((first, no_speech)) = self.begin(sound, spare_s)? else { return Ok(Pass::default()) };
        let numbers = self.model.numbers;
        let sound_s = sound.len() as f64 / RATE as f64;
        let time_s = |id: i32| f64::from(id - numbers.first_time) * TIME_STEP_S;
        // Loops end themselves: nobody says more than seven tokens a second.
        let most = (12.0 + 7.0 * sound_s.max(LEAST_S)) as usize;
        let seen = numbers.first_time as usize..numbers.first_time as usize + (sound_s / TIME_STEP_S) as usize;
        let mut pass = Pass::default();
        let mut likely = 0.0;
        let (mut choice, mut times, mut ended_s) = (first, Vec::new(), None);
        loop {
            likely += f64::from(choice.p.max(1e-9).ln());
            self.written.push(choice.id);
            if choice.id < numbers.end {
                let bytes = self.model.context.token_to_bytes(choice.id).map_err(|e| failed("reading a word", &e))?;
                let (place, bytes) = (self.written.len() - 1, bytes.to_vec());
                pass.tokens.push(Token { id: choice.id, place, bytes, p: choice.p, times: times.clone() });
                ended_s = None;
            } else if choice.id >= numbers.first_time && !pass.tokens.is_empty() {
                ended_s.get_or_insert(time_s(choice.id));
            }
            let closed = ended_s.is_some_and(|s| s > sound_s - CLOSING_S);
            if choice.id == numbers.end || closed || self.written.len() - self.opening.len() >= most {
                break;
            }
            if self.past.len() < self.written.len() {
                self.run(&[choice.id], self.written.len() - 1)?;
                self.past.push(choice.id);
            }
            let logits = self.state.get_logits().map_err(|e| failed("listening", &e))?;
            let written = &self.written[self.opening.len()..];
            choice = self.model.choice(logits, written);
            if !opened(written, numbers) {
                times = logits[seen.clone()].to_vec();
            }
            self.thoughts.push(Thought::of(logits, numbers));
        }
        let average = likely / (self.written.len() - self.opening.len()) as f64;
        if no_speech > NO_SPEECH && average < UNLIKELY {
            return Ok(Pass::default());
        }
        pass.written.clone_from(&self.written);
        Ok(pass)
    }

    /// Encodes, and lets the library write the first token and run it: with it comes how sure the
    /// model is that nobody speaks. Nothing when it would write no word.
    fn begin(&mut self, sound: &[f32], spare_s: f64) -> Result<Option<(Choice, f32)>, SpeechError> {
        let mut padded = sound.to_vec();
        padded.resize(sound.len().max((LEAST_S * RATE as f64) as usize), 0.0);
        let mut params = FullParams::new(SamplingStrategy::Greedy { best_of: 1 });
        params.set_n_threads(self.threads as i32);
        params.set_language(Some(&self.language));
        params.set_audio_ctx(self.context_for(padded.len(), spare_s));
        params.set_temperature_inc(0.0);
        params.set_no_context(true);
        params.set_single_segment(true);
        params.set_suppress_blank(true);
        params.set_no_speech_thold(f32::INFINITY);
        params.set_print_special(false);
        params.set_print_progress(false);
        params.set_print_realtime(false);
        params.set_print_timestamps(false);
        params.set_max_tokens(1);
        self.past.clear();
        self.thoughts.clear();
        self.written.clone_from(&self.opening);
        self.state.full(params, &padded).map_err(|e| failed("listening", &e))?;
        let Some(segment) = self.state.get_segment(0) else { return Ok(None) };
        let Some(first) = segment.get_token(0) else { return Ok(None) };
        self.past.extend_from_slice(&self.opening);
        if segment.n_tokens() > 1 {
            self.past.push(first.token_id());
        }
        Ok(Some((Choice { id: first.token_id(), p: first.token_probability() }, segment.no_speech_probability())))
    }

    /// Runs tokens that come after `past` others.
    fn run(&mut self, tokens: &[i32], past: usize) -> Result<(), SpeechError> {
        self.state.decode(tokens, past, self.threads).map_err(|e| failed("listening", &e))
    }

    /// Stands for whatever is no text: the decoder writes a time or its mark of the end after the last word.
    pub fn end(&self) -> i32 {
        self.model.numbers.end
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
    /// On the stretch heard last. What the decoder thought when it wrote is kept, and what it has
    /// behind it already is not run again.
    fn logprobs_after(&mut self, sequence: &[i32], wanted: &[i32]) -> Result<Vec<f64>, SpeechError> {
        let numbers = self.model.numbers;
        let told = |thought: &Thought| wanted.iter().map(|&t| thought.logprob(t, numbers)).collect();
        let behind = sequence.len().checked_sub(self.opening.len() + 1);
        if let Some(thought) = behind.and_then(|i| self.thoughts.get(i))
            && self.written.starts_with(sequence)
        {
            return Ok(told(thought));
        }
        let shared = self.past.iter().zip(sequence).take_while(|(a, b)| a == b).count();
        let from = shared.min(sequence.len() - 1);
        // Only a token that comes alone leaves its logits where they can be read.
        let (middle, last) = sequence[from..].split_at(sequence.len() - 1 - from);
        if !middle.is_empty() {
            self.run(middle, from)?;
        }
        self.run(last, sequence.len() - 1)?;
        self.past.clear();
        self.past.extend_from_slice(sequence);
        let logits = self.state.get_logits().map_err(|e| failed("listening again", &e))?;
        Ok(told(&Thought::of(logits, numbers)))
    }
}

fn failed(doing: &'static str, e: &WhisperError) -> SpeechError {
    SpeechError::Engine { doing, why: e.to_string() }
}
