//! Clips to transcripts, several at a time, with nothing heard twice.

use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use super::cache::Content;
use super::{Asker, Cache, Recogniser, SpeechError, Transcript};
use crate::audio::{self, AudioError, Blocks, Bounded};
use crate::facts::{self, Fault};

/// A clip's words.
#[derive(Debug, Clone, PartialEq)]
pub struct Heard {
    /// What was said.
    pub transcript: Transcript,
    /// Whether the words were known from an earlier run.
    pub known: bool,
    /// The clip's content, whatever it is called.
    pub content: Content,
}

/// Hears one clip, or takes what is known of it from the cache; then only questions that were
/// not asked before are listened to.
///
/// # Errors
/// When the clip cannot be read, or the recogniser fails.
pub fn hear(
    clip: &Path,
    recogniser: &dyn Recogniser,
    asker: &dyn Asker,
    cache: Option<&Cache>,
) -> Result<Heard, SpeechError> {
    audio::within_bounds(clip)?;
    let content = Content::of(clip).map_err(AudioError::from)?;
    let decoded = |listen: &dyn Fn(&mut dyn Blocks) -> Result<Transcript, SpeechError>| {
        let mut sound = audio::open(clip)?;
        let heard = listen(&mut Bounded::of(&mut sound))?;
        Ok::<_, SpeechError>(Transcript { sound: Some(sound.sound()?), ..heard })
    };
    let Some(cache) = cache else {
        return Ok(Heard { transcript: decoded(&|sound| recogniser.hear(sound, asker))?, known: false, content });
    };
    let fingerprint = recogniser.fingerprint();
    let (transcript, known) = match cache.get(&content, &fingerprint) {
        Some(t) if t.utterances.iter().all(|u| u.answers_all(&asker.questions(&u.words))) => match &t.sound {
            Some(_) => return Ok(Heard { transcript: t, known: true, content }),
            // Kept by an earlier version, which did not tell how a clip sounds.
            None if t.is_empty() => (decoded(&|sound| recogniser.hear(sound, asker))?, true),
            None => (decoded(&|_| Ok(t.clone()))?, true),
        },
        Some(t) => (decoded(&|sound| recogniser.hear_again(sound, t.clone(), asker))?, true),
        None => (decoded(&|sound| recogniser.hear(sound, asker))?, false),
    };
    cache.put(&content, &fingerprint, &transcript);
    Ok(Heard { transcript, known, content })
}

/// Hears many clips, as many at a time as there are processors; what comes back is in the order
/// of the clips. `done` is told of each when it is finished, in whatever order that is.
pub fn hear_all<P: AsRef<Path> + Sync>(
    clips: &[P],
    recogniser: &dyn Recogniser,
    asker: &dyn Asker,
    cache: Option<&Cache>,
    done: &(dyn Fn(usize) + Sync),
) -> Vec<Result<Heard, SpeechError>> {
    let processors = thread::available_parallelism().map_or(1, usize::from);
    let (next, heard) = (AtomicUsize::new(0), Mutex::new(Vec::new()));
    thread::scope(|scope| {
        for _ in 0..processors.min(clips.len()) {
            scope.spawn(|| {
                while let Some((i, clip)) =
                    Some(next.fetch_add(1, Ordering::Relaxed)).and_then(|i| Some((i, clips.get(i)?)))
                {
                    let result = caught(|| hear(clip.as_ref(), recogniser, asker, cache));
                    heard.lock().unwrap_or_else(std::sync::PoisonError::into_inner).push((i, result));
                    done(i);
                }
            });
        }
    });
    let mut heard = heard.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    heard.sort_by_key(|(i, _)| *i);
    heard.into_iter().map(|(_, r)| r).collect()
}

/// What `work` gives; a panic in it becomes an error of the clip at hand, and the other clips are heard.
pub(super) fn caught<T>(work: impl FnOnce() -> Result<T, SpeechError>) -> Result<T, SpeechError> {
    facts::caught(work).unwrap_or_else(|Fault(why)| Err(SpeechError::Broke(why)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::Blocks;
    use crate::speech::{NoQuestions, Question, Scored, Utterance, Word, Wording, text_of};
    use std::fs;

    /// Says how many samples it was given, and counts how often it listened.
    #[derive(Default)]
    struct Counter {
        heard: AtomicUsize,
        again: AtomicUsize,
    }

    impl Recogniser for Counter {
        fn fingerprint(&self) -> String {
            "counter".to_owned()
        }

        fn hear(&self, sound: &mut dyn Blocks, _: &dyn Asker) -> Result<Transcript, SpeechError> {
            self.heard.fetch_add(1, Ordering::Relaxed);
            let mut n = 0;
            while let Some(block) = sound.next()? {
                n += block.len();
            }
            let words = vec![Word::written(&n.to_string())];
            let utterance = Utterance { start_s: 0.0, end_s: 1.0, words, scored: Vec::new() };
            Ok(Transcript { utterances: vec![utterance], ..Transcript::default() })
        }

        fn hear_again(
            &self,
            _: &mut dyn Blocks,
            mut known: Transcript,
            asker: &dyn Asker,
        ) -> Result<Transcript, SpeechError> {
            self.again.fetch_add(1, Ordering::Relaxed);
            for u in &mut known.utterances {
                let wording = |text: String| Wording { text, logprob: -1.0 };
                let answer =
                    |q: Question| Scored { words: q.words, wordings: q.wordings.into_iter().map(wording).collect() };
                u.scored = asker.questions(&u.words).into_iter().map(answer).collect();
            }
            Ok(known)
        }
    }

    struct AsksTwice;

    impl Asker for AsksTwice {
        fn fingerprint(&self) -> String {
            "twice".to_owned()
        }

        fn questions(&self, words: &[Word]) -> Vec<Question> {
            vec![Question { words: 0..1, wordings: vec![text_of(words), "other".to_owned()] }]
        }
    }

    fn wave(folder: &Path, name: &str, samples: usize) -> std::path::PathBuf {
        let path = folder.join(name);
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: 16_000,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let mut writer = hound::WavWriter::create(&path, spec).unwrap();
        (0..samples).for_each(|i| writer.write_sample((i % 100) as i16).unwrap());
        writer.finalize().unwrap();
        path
    }

    #[test]
    fn every_clip_in_its_place_and_the_bad_one_alone() {
        let folder = tempfile::tempdir().unwrap();
        let mut clips: Vec<_> = (1..=5).map(|i| wave(folder.path(), &format!("{i}.wav"), i * 1000)).collect();
        clips.insert(2, folder.path().join("text.m4a"));
        fs::write(&clips[2], "this is no recording").unwrap();
        let told = Mutex::new(Vec::new());
        let heard = hear_all(&clips, &Counter::default(), &NoQuestions, None, &|i| told.lock().unwrap().push(i));
        let texts: Vec<_> =
            heard.iter().map(|h| h.as_ref().map_or("bad".to_owned(), |h| h.transcript.text())).collect();
        assert_eq!(texts, ["1000", "2000", "bad", "3000", "4000", "5000"]);
        told.lock().unwrap().sort_unstable();
        assert_eq!(*told.lock().unwrap(), [0, 1, 2, 3, 4, 5]);
    }

    /// Breaks at sound of one length.
    struct Brittle(Counter);

    impl Recogniser for Brittle {
        fn fingerprint(&self) -> String {
            "brittle".to_owned()
        }

        fn hear(&self, sound: &mut dyn Blocks, asker: &dyn Asker) -> Result<Transcript, SpeechError> {
            let heard = self.0.hear(sound, asker)?;
            assert_ne!(heard.text(), "2000", "broken on purpose");
            Ok(heard)
        }
    }

    #[test]
    fn a_fault_ends_one_clip_and_no_more() {
        let folder = tempfile::tempdir().unwrap();
        let clips: Vec<_> = (1..=5).map(|i| wave(folder.path(), &format!("{i}.wav"), i * 1000)).collect();
        let heard = hear_all(&clips, &Brittle(Counter::default()), &NoQuestions, None, &|_| {});
        let texts: Vec<_> = heard.iter().flatten().map(|h| h.transcript.text()).collect();
        assert_eq!(texts, ["1000", "3000", "4000", "5000"]);
        let fault = heard[1].as_ref().unwrap_err().to_string();
        assert!(fault.contains("please report it") && fault.contains("broken on purpose"), "{fault}");
    }

    #[test]
    fn nothing_is_heard_twice_and_only_new_questions_are_asked() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::at(folder.path().join("cache"));
        let clip = wave(folder.path(), "a.wav", 500);
        let counter = Counter::default();
        let hear = |asker: &dyn Asker| hear(&clip, &counter, asker, Some(&cache)).unwrap();
        let counts = || (counter.heard.load(Ordering::Relaxed), counter.again.load(Ordering::Relaxed));
        assert!(!hear(&NoQuestions).known);
        assert!(hear(&NoQuestions).known);
        assert_eq!(counts(), (1, 0));
        assert_eq!(hear(&AsksTwice).transcript.utterances[0].scored.len(), 1);
        assert_eq!(hear(&AsksTwice).transcript.utterances[0].scored.len(), 1);
        assert_eq!(counts(), (1, 1));
        hear(&NoQuestions);
        assert_eq!(counts(), (1, 1));
    }
}
