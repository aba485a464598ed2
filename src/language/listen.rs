//! What a second listen asks of the sound: the values that matter, and what
//! each could be mistaken for on the gear there is; and what its answers say.

use std::ops::Range;

use crate::facts::Confidence;
use crate::speech::{Asker, Question, Scored, Word};

use super::act::{Act, ApertureSaid, FilterSaid, Said};
use super::mistaken::Value;
use super::note::Language;
use super::ways::{Way, add_heard};

/// How often a value is misheard as one that sounds like it, against being heard right.
const MISHEARD: f64 = 0.05;

/// A stretch of words and what it may have been: the wordings of the value heard first.
struct Doubt {
    words: Range<usize>,
    span: Range<usize>,
    values: Vec<(String, Value)>,
}

impl Language {
    /// The words as one text, with the byte where each begins.
    fn joined(words: &[Word]) -> (String, Vec<usize>) {
        let mut text = String::new();
        let mut starts = Vec::with_capacity(words.len());
        for w in words {
            if !text.is_empty() {
                text.push(' ');
            }
            starts.push(text.len());
            text.push_str(&w.text);
        }
        (text, starts)
    }

    fn doubts(&self, words: &[Word]) -> Vec<Doubt> {
        let (text, starts) = Self::joined(words);
        let mut out: Vec<Doubt> = Vec::new();
        for said in &self.acts(&text) {
            let Some((part, values)) = self.mistakable(&said.act, &text, &said.span) else { continue };
            if values.is_empty() || part.is_empty() {
                continue;
            }
            let first = starts.iter().rposition(|s| *s <= part.start).unwrap_or(0);
            let last = starts.iter().rposition(|s| *s < part.end).unwrap_or(first);
            let range = first..last + 1;
            if out.iter().any(|d| d.words.start < range.end && range.start < d.words.end) {
                continue;
            }
            out.push(Doubt { words: range, span: said.span.clone(), values });
        }
        out
    }

    /// Lets the words' confidence and the answers of a second listen stand beside the ways that
    /// values may be taken. The words begin at byte `from` of the text that the acts are of.
    pub fn listened(&self, words: &[Word], scored: &[Scored], acts: &mut [Said], from: usize) {
        let (_, starts) = Self::joined(words);
        // A word that is certain takes nothing from what it says.
        for (word, start) in words.iter().zip(starts).filter(|(w, _)| w.confidence < Confidence::SURE) {
            let span = start + from..start + from + word.text.len();
            for said in acts.iter_mut().filter(|s| s.span.start < span.end && span.start < s.span.end) {
                said.heard = said.heard.min(word.confidence.get());
            }
        }
        if scored.is_empty() {
            return;
        }
        for doubt in self.doubts(words) {
            let Some(answer) = scored.iter().find(|s| s.words == doubt.words) else { continue };
            let score = |text: &str| answer.wordings.iter().find(|w| w.text == text).map(|w| w.logprob);
            let first = doubt.values[0].1;
            let wordings = doubt.values.iter().filter(|(_, v)| *v == first).filter_map(|(text, _)| score(text));
            let Some(heard) = wordings.reduce(f64::max) else { continue };
            let span = doubt.span.start + from..doubt.span.end + from;
            for said in acts.iter_mut().filter(|s| s.span == span) {
                for (text, value) in doubt.values.iter().filter(|(_, v)| *v != first) {
                    let Some(other) = score(text) else { continue };
                    sounds(&mut said.act, first, *value, other - heard);
                }
            }
        }
    }
}

/// Puts another value beside the one heard: misheard so often, and sounding so much better or worse.
fn sounds(act: &mut Act, heard: Value, other: Value, sound: f64) {
    fn put<T: PartialEq + Copy>(ways: &mut Vec<Way<T>>, heard: T, other: T, sound: f64) {
        let base = ways.iter().find(|w| w.value == heard).map_or(1.0, |w| w.weight);
        add_heard(ways, Way { value: other, weight: base * MISHEARD, sound });
    }
    match (act, heard, other) {
        (Act::Shutter { ways, .. }, Value::Shutter(h), Value::Shutter(o)) => put(ways, h, o, sound),
        (Act::Aperture(ApertureSaid::Ways(ways)), Value::Aperture(h), Value::Aperture(o)) => put(ways, h, o, sound),
        (Act::Frames { numbers, .. }, Value::Frame(h), Value::Frame(o)) if numbers.len() == 1 => {
            put(&mut numbers[0], h, o, sound);
        }
        (Act::Focal(ways), Value::Focal(h), Value::Focal(o)) | (Act::Ei(ways), Value::Ei(h), Value::Ei(o)) => {
            put(ways, h, o, sound);
        }
        (Act::Film(ways), Value::Film(h), Value::Film(o))
        | (Act::Filter(FilterSaid::On(ways)), Value::Filter(h), Value::Filter(o)) => put(ways, h, o, sound),
        _ => {}
    }
}

impl Asker for Language {
    fn fingerprint(&self) -> String {
        // What may be asked depends on the grammar and on the kit.
        let mut hash = blake3::Hasher::new();
        hash.update(env!("CARGO_PKG_VERSION").as_bytes());
        hash.update(b"listen 2");
        hash.update(super::ENGLISH.phrases.as_bytes());
        hash.update(super::ENGLISH.numbers.as_bytes());
        hash.update(format!("{:?}", self.kit()).as_bytes());
        hash.finalize().to_hex()[..16].to_owned()
    }

    fn questions(&self, words: &[Word]) -> Vec<Question> {
        self.doubts(words)
            .into_iter()
            .map(|d| Question { words: d.words, wordings: d.values.into_iter().map(|(t, _)| t).collect() })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::Kit;

    const KIT: &str =
        "[[camera]]\nname = \"box\"\nformat = \"6x6\"\nshutters = [\"1s\", \"1/500\"]\nshutter_step = \"third\"\n";

    fn words(text: &str) -> Vec<Word> {
        text.split_whitespace().map(Word::written).collect()
    }

    #[test]
    fn a_speed_is_asked_against_what_sounds_like_it() {
        let language = Language::english(Kit::parse(KIT).unwrap());
        let heard = words("Frame two, 1/125 at f8.");
        let questions = language.questions(&heard);
        let speed = questions.iter().find(|q| q.words == (2..3)).expect("the speed is asked about");
        assert_eq!(speed.wordings[0], "one twenty fifth");
        assert!(questions.iter().all(|q| q.wordings.len() > 1 && q.words.end <= heard.len()));
    }

    #[test]
    fn gear_and_film_are_asked_about_where_the_kit_has_others_that_sound_alike() {
        let more = "[[lens]]\nname = \"90\"\nfocal_mm = 90\n[[lens]]\nname = \"19\"\nfocal_mm = 19\n\
                    [[filter]]\nname = \"light yellow\"\nstops = 1\n[[filter]]\nname = \"right yellow\"\nstops = 1\n\
                    [[film]]\nname = \"Harbour Pan 100\"\niso = 100\n[[film]]\nname = \"Harbour Pen 100\"\niso = 100\n";
        let language = Language::english(Kit::parse(&format!("{KIT}{more}")).unwrap());
        let heard = words("Roll two, Harbour Pan 100, rated at 80. 90mm lens, light yellow on.");
        let questions = language.questions(&heard);
        let asked = |first: usize| questions.iter().find(|q| q.words.start == first).map(|q| q.wordings.as_slice());
        let has = |first: usize, wording: &str| asked(first).is_some_and(|all| all.iter().any(|w| w == wording));
        assert!(has(2, "Harbour Pen 100"), "{questions:?}");
        assert!(has(7, "eight"), "{questions:?}");
        assert!(has(8, "nineteen mm"), "{questions:?}");
        assert!(has(10, "right yellow"), "{questions:?}");
    }

    #[test]
    fn the_sound_gives_another_reading_its_weight() {
        let language = Language::english(Kit::parse(KIT).unwrap());
        let heard = words("a fifteenth at f8");
        let question = language.questions(&heard).into_iter().next().unwrap();
        let wordings = question.wordings.iter().enumerate();
        let scored = Scored {
            words: question.words.clone(),
            wordings: wordings
                .map(|(i, t)| crate::speech::Wording { text: t.clone(), logprob: if i == 1 { -2.0 } else { -20.0 } })
                .collect(),
        };
        let weights = |acts: &[Said]| match &acts[0].act {
            Act::Shutter { ways, .. } => ways.iter().map(|w| w.weight).sum::<f64>(),
            other => panic!("a speed comes first, not {other:?}"),
        };
        let mut acts = language.acts("a fifteenth at f8");
        let before = weights(&acts);
        language.listened(&heard, &[scored], &mut acts, 0);
        assert!(weights(&acts) > before + 0.1);
    }
}
