//! A clip heard: stretches of speech to utterances, and questions about them to scores.
//!
//! One thread reads, decodes and looks for speech; the workers listen, each with an engine of
//! its own. They are shared by all clips that are heard at the same time.

use std::path::{Path, PathBuf};
use std::sync::{Condvar, Mutex, PoisonError, mpsc};
use std::thread;

use super::clips::caught;
use super::model::Ear;
use super::scoring::scores;
use super::spoken::{Spoken, believable, better, doubtful, spoken, without_echo};
use super::whisper::{Engine, Model, Pass};
use super::{Asker, Question, Recogniser, Scored, SpeechError, Transcript, Utterance, Wording};
use crate::audio::{AudioError, Blocks, Cutting, RATE, Stretch, Stretches};

/// Changes whenever something here changes what is heard.
const VERSION: u32 = 5;
/// Seconds of silence behind the words in the first listen, and where that is doubtful in others:
/// it changes what the encoder makes of the words.
const FIRST_S: f64 = 1.0;
const AGAIN_S: [f64; 2] = [5.0, 10.0];
/// The most that the encoder sees of a stretch and the silence behind it, while there is some: its
/// memory grows with the square.
const MOST_S: f64 = 16.0;
const LEAST_AGAIN_S: f64 = 2.0;
/// Tokens after a wording that are scored with it: "one twenty" is only wrong once "fifth" follows.
const TAIL: usize = 1;

/// What may be chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settings {
    /// Stretches heard at the same time.
    pub workers: usize,
    /// Processor threads for each of them.
    pub threads: usize,
    /// Two letters, such as `en`.
    pub language: String,
    /// Hears without the trade ear, also where that fits the model.
    pub plain: bool,
    /// Names that may be said, to be heard more readily.
    pub names: Vec<String>,
}

impl Default for Settings {
    /// A worker with one thread for each of up to four processors: measured faster than
    /// one worker with several threads, which wait for each other.
    fn default() -> Self {
        let processors = thread::available_parallelism().map_or(1, usize::from);
        Self { workers: processors.min(4), threads: 1, language: "en".to_owned(), plain: false, names: Vec::new() }
    }
}

/// The real recogniser.
pub struct Hearing {
    model: PathBuf,
    ear: Option<&'static Ear>,
    settings: Settings,
    fingerprint: String,
    pool: Mutex<Pool>,
    returned: Condvar,
}

/// Engines that nobody uses; they are made when they are first needed.
#[derive(Default)]
struct Pool {
    model: Option<Model>,
    idle: Vec<Engine>,
    made: usize,
}

/// All that can change the words.
fn fingerprint(content: &str, settings: &Settings, ear: Option<&str>) -> String {
    let ear = ear.map_or("plain", |seal| &seal[..32]);
    let names = blake3::hash(settings.names.join("\n").as_bytes()).to_hex();
    format!("whisper {} {} {VERSION} {ear} {}", &content[..32], settings.language, &names[..16])
}

impl Hearing {
    /// Takes note of the model; it is loaded when the first clip is heard.
    ///
    /// # Errors
    /// `Audio` when the file cannot be read, `Model` when it is no model.
    pub fn new(model: &Path, settings: &Settings) -> Result<Self, SpeechError> {
        let mut hash = blake3::Hasher::new();
        hash.update_reader(std::fs::File::open(model).map_err(AudioError::from)?).map_err(AudioError::from)?;
        let content = hash.finalize().to_hex();
        let ear = Ear::built_in();
        let ear = (!settings.plain && ear.fits(model, &settings.language)?).then_some(ear);
        Ok(Self {
            model: model.to_owned(),
            ear,
            settings: settings.clone(),
            fingerprint: fingerprint(&content, settings, ear.map(Ear::seal)),
            pool: Mutex::default(),
            returned: Condvar::new(),
        })
    }

    /// Borrows an engine for as long as `work` takes; waits while all are busy.
    fn with_engine<T>(&self, work: impl FnOnce(&mut Engine) -> Result<T, SpeechError>) -> Result<T, SpeechError> {
        let mut pool = self.pool.lock().unwrap_or_else(PoisonError::into_inner);
        let mut engine = loop {
            if let Some(idle) = pool.idle.pop() {
                break idle;
            }
            if pool.made < self.settings.workers.max(1) {
                if pool.model.is_none() {
                    pool.model = Some(Model::load(&self.model, self.ear, &self.settings.names)?);
                }
                let model = pool.model.as_ref().expect("loaded above");
                let engine = Engine::new(model, self.settings.threads, &self.settings.language)?;
                pool.made += 1;
                break engine;
            }
            pool = self.returned.wait(pool).unwrap_or_else(PoisonError::into_inner);
        };
        drop(pool);
        let result = caught(|| work(&mut engine));
        let mut pool = self.pool.lock().unwrap_or_else(PoisonError::into_inner);
        match &result {
            // Whatever it was in the middle of, it is not used again.
            Err(SpeechError::Broke(_)) => pool.made -= 1,
            _ => pool.idle.push(engine),
        }
        drop(pool);
        self.returned.notify_one();
        result
    }

    /// Runs `work` over every stretch of the clip that it is wanted for, several at a time.
    /// What comes back is in order. Sound that breaks off ends it; the clip itself remembers where.
    fn over_stretches<T: Send>(
        &self,
        sound: &mut dyn Blocks,
        wanted: impl Fn(&Stretch) -> bool,
        work: impl Fn(&Stretch) -> Result<T, SpeechError> + Sync,
    ) -> Result<Vec<T>, SpeechError> {
        let workers = self.settings.workers.max(1);
        let (give, take) = mpsc::sync_channel::<(usize, Stretch)>(workers);
        let take = Mutex::new(take);
        let done = Mutex::new(Vec::new());
        thread::scope(|scope| {
            for _ in 0..workers {
                scope.spawn(|| {
                    loop {
                        let next = take.lock().unwrap_or_else(PoisonError::into_inner).recv();
                        let Ok((i, stretch)) = next else { break };
                        let result = work(&stretch);
                        done.lock().unwrap_or_else(PoisonError::into_inner).push((i, result));
                    }
                });
            }
            let give = give; // dropped at the end of this block, which ends the workers
            for (i, stretch) in Stretches::of(sound, Cutting::default()).enumerate() {
                match stretch {
                    Ok(stretch) if wanted(&stretch) => drop(give.send((i, stretch))),
                    Ok(_) => {}
                    Err(AudioError::CutShort { .. }) => {}
                    Err(e) => return Err(SpeechError::from(e)),
                }
            }
            Ok(())
        })?;
        let mut done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
        done.sort_by_key(|(i, _)| *i);
        done.into_iter().map(|(_, r)| r).collect()
    }
}

impl Recogniser for Hearing {
    fn fingerprint(&self) -> String {
        self.fingerprint.clone()
    }

    fn hear(&self, sound: &mut dyn Blocks, asker: &dyn Asker) -> Result<Transcript, SpeechError> {
        let listen = |stretch: &Stretch| {
            self.with_engine(|engine| {
                let Some(said) = listen(engine, stretch)? else { return Ok(None) };
                let questions = asker.questions(&said.words);
                let scored = answer(engine, &said, &questions)?;
                Ok(Some(Utterance { start_s: stretch.start_s, end_s: stretch.end_s(), words: said.words, scored }))
            })
        };
        let utterances = self.over_stretches(sound, |_| true, listen)?;
        Ok(Transcript { utterances: utterances.into_iter().flatten().collect(), ..Transcript::default() })
    }

    fn hear_again(
        &self,
        sound: &mut dyn Blocks,
        mut known: Transcript,
        asker: &dyn Asker,
    ) -> Result<Transcript, SpeechError> {
        let open = |start_s: f64| {
            known.utterances.iter().position(|u| u.start_s == start_s && !u.answers_all(&asker.questions(&u.words)))
        };
        let wanted = |stretch: &Stretch| open(stretch.start_s).is_some();
        let listen = |stretch: &Stretch| {
            self.with_engine(|engine| {
                let said = listen(engine, stretch)?;
                let Some((i, said)) = open(stretch.start_s).zip(said) else { return Ok(None) };
                Ok(Some((i, answer(engine, &said, &asker.questions(&said.words))?)))
            })
        };
        let answers = self.over_stretches(sound, wanted, listen)?;
        for (i, scored) in answers.into_iter().flatten() {
            known.utterances[i].scored = scored;
        }
        Ok(known)
    }
}

/// What was said in a stretch: the first listen, or a better one where that is doubtful.
fn listen(engine: &mut Engine, stretch: &Stretch) -> Result<Option<Spoken>, SpeechError> {
    let mut best: Pass = engine.hear(&stretch.samples, FIRST_S)?;
    let (mut best_s, mut last_s) = (FIRST_S, FIRST_S);
    for again_s in AGAIN_S {
        if !doubtful(&best) {
            break;
        }
        let again_s = again_s.min((MOST_S - stretch.samples.len() as f64 / RATE as f64).max(LEAST_AGAIN_S));
        if again_s <= last_s {
            break;
        }
        let other = engine.hear(&stretch.samples, again_s)?;
        last_s = again_s;
        if better(&other, &best) {
            (best, best_s) = (other, again_s);
        }
    }
    if last_s != best_s {
        engine.hear(&stretch.samples, best_s)?; // so that the sound at hand is the one of the words
    }
    let best = without_echo(best, stretch.voiced_s);
    if !believable(&best, stretch.voiced_s) {
        return Ok(None);
    }
    let said = spoken(&best, stretch);
    Ok((!said.words.is_empty()).then_some(said))
}

/// Scores every wording of every question on the stretch that the engine heard last. The last
/// question comes first: what stands before an earlier one is then still behind the decoder.
fn answer(engine: &mut Engine, said: &Spoken, questions: &[Question]) -> Result<Vec<Scored>, SpeechError> {
    let mut all = Vec::new();
    for question in questions.iter().rev() {
        if question.words.is_empty() || question.words.end > said.words.len() || question.wordings.is_empty() {
            continue;
        }
        let (mut tail, ended) = (engine.spelled(&said.text_after(&question.words)), engine.end());
        tail.truncate(TAIL);
        if tail.len() < TAIL {
            tail.push(ended);
        }
        let mut candidates = Vec::new();
        for wording in &question.wordings {
            let mut tokens = engine.spelled(&said.in_place(&question.words, wording));
            tokens.extend(&tail);
            candidates.push(tokens);
        }
        let logprobs = scores(engine, said.written_before(question.words.start), &candidates)?;
        let wordings = question.wordings.iter().zip(logprobs);
        all.push(Scored {
            words: question.words.clone(),
            wordings: wordings.map(|(text, logprob)| Wording { text: text.clone(), logprob }).collect(),
        });
    }
    all.reverse();
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_heard_is_kept_apart_by_ear_and_by_names() {
        let (content, ear) = ("0".repeat(64), "1".repeat(64));
        let settings = Settings::default();
        let named = Settings { names: vec!["bannock".to_owned()], ..settings.clone() };
        let all = [
            fingerprint(&content, &settings, None),
            fingerprint(&content, &settings, Some(&ear)),
            fingerprint(&content, &named, Some(&ear)),
        ];
        assert!(all[0] != all[1] && all[1] != all[2], "{all:?}");
    }
}
