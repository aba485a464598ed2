//! What a second listen asks of the sound: the values that matter, and what
//! each could be mistaken for on the gear there is; and what its answers say.

use std::ops::Range;

use crate::exposure::{Aperture, ApertureStep, Shutter};
use crate::facts::FrameNumber;
use crate::speech::{Asker, Question, Scored, Word};

use super::act::{Act, ApertureSaid, Said};
use super::gear::Gear;
use super::note::Language;
use super::sound::distance;
use super::ways::{Way, add_heard};

/// Other wordings asked about, at most.
const MOST: usize = 3;
/// How often a value is misheard as one that sounds like it, against being heard right.
const MISHEARD: f64 = 0.05;
/// Gear that likely allows a value.
const ALLOWED: f64 = 0.5;

/// A value in doubt, as it would be said.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Value {
    Shutter(Shutter),
    Aperture(Aperture),
    Frame(FrameNumber),
}

/// A stretch of words and what it may have been, the value heard first.
struct Doubt {
    words: Range<usize>,
    span: Range<usize>,
    values: Vec<(String, Value)>,
}

impl Language {
    fn gear(&self) -> Gear<'_> {
        Gear { kit: self.kit(), camera: None, lens: None }
    }

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
        let acts = self.acts(&text);
        let mut out: Vec<Doubt> = Vec::new();
        for said in &acts {
            let values = match &said.act {
                Act::Shutter { ways, .. } => self.shutter_values(ways),
                Act::Aperture(ApertureSaid::Ways(ways)) => self.aperture_values(ways, text.get(said.span.clone())),
                Act::Frames { numbers, .. } if numbers.len() == 1 => {
                    self.frame_values(&numbers[0], text.get(said.span.clone()))
                }
                _ => continue,
            };
            if values.len() < 2 || said.span.is_empty() {
                continue;
            }
            let first = starts.iter().rposition(|s| *s <= said.span.start).unwrap_or(0);
            let last = starts.iter().rposition(|s| *s < said.span.end).unwrap_or(first);
            let range = first..last + 1;
            if out.iter().any(|d| d.words.start < range.end && range.start < d.words.end) {
                continue;
            }
            out.push(Doubt { words: range, span: said.span.clone(), values });
        }
        out
    }

    /// The likeliest way on the gear, and the marks that are said alike.
    fn shutter_values(&self, ways: &[Way<Shutter>]) -> Vec<(String, Value)> {
        let gear = self.gear();
        let score = |w: &Way<Shutter>| w.weight * gear.shutter(w.value).max(0.04);
        let Some(heard) = ways.iter().max_by(|a, b| score(a).total_cmp(&score(b))).map(|w| w.value) else {
            return Vec::new();
        };
        let Some(said) = self.say_shutter(heard) else { return Vec::new() };
        let marks = self.kit().cameras.iter().flat_map(|c| c.dial.marks().iter().copied()).map(Shutter::Timed);
        let others = marks.chain(ways.iter().map(|w| w.value)).filter(|s| *s != heard && gear.shutter(*s) >= ALLOWED);
        let others: Vec<(String, Value)> =
            others.filter_map(|s| self.say_shutter(s).map(|t| (t, Value::Shutter(s)))).collect();
        nearest(said, Value::Shutter(heard), others)
    }

    fn say_shutter(&self, s: Shutter) -> Option<String> {
        let Shutter::Timed(speed) = s else { return None };
        let spoken = self.lexicon().spoken();
        let n = speed.number();
        if n.fract() != 0.0 || n < 4.0 || !speed.is_fraction() {
            return None;
        }
        let n = n as u32;
        Some(spoken.joined(n, true).unwrap_or_else(|| spoken.part(n)))
    }

    fn aperture_values(&self, ways: &[Way<Aperture>], text: Option<&str>) -> Vec<(String, Value)> {
        let gear = self.gear();
        let score = |w: &Way<Aperture>| w.weight * gear.aperture(w.value).max(0.01);
        let Some(heard) = ways.iter().max_by(|a, b| score(a).total_cmp(&score(b))).map(|w| w.value) else {
            return Vec::new();
        };
        let letter = text.is_some_and(|t| t.starts_with(['f', 'F']));
        let say = |a: Aperture| {
            let number = self.lexicon().spoken().decimal(a.number());
            if letter { format!("f {number}") } else { number }
        };
        let others = ApertureStep::Full
            .marks()
            .into_iter()
            .chain(ways.iter().map(|w| w.value))
            .filter(|a| *a != heard && gear.aperture(*a) >= ALLOWED)
            .map(|a| (say(a), Value::Aperture(a)))
            .collect();
        nearest(say(heard), Value::Aperture(heard), others)
    }

    fn frame_values(&self, ways: &[Way<FrameNumber>], text: Option<&str>) -> Vec<(String, Value)> {
        let Some(heard) = ways.first().map(|w| w.value) else { return Vec::new() };
        // The word before the number stays as it was heard.
        let head: String = text
            .unwrap_or_default()
            .split_whitespace()
            .take_while(|w| !w.starts_with(|c: char| c.is_ascii_digit()))
            .take(1)
            .map(|w| format!("{w} "))
            .collect();
        let say = |n: FrameNumber| format!("{head}{}", self.lexicon().spoken().cardinal(n.place().max(0) as u32));
        let gear = self.gear();
        let others = ways[1..]
            .iter()
            .filter(|w| gear.frame(w.value) >= ALLOWED)
            .map(|w| (say(w.value), Value::Frame(w.value)))
            .collect();
        nearest(say(heard), Value::Frame(heard), others)
    }

    /// Lets the words' confidence and the answers of a second listen stand beside the ways that
    /// values may be taken. The words begin at byte `from` of the text that the acts are of.
    pub fn listened(&self, words: &[Word], scored: &[Scored], acts: &mut [Said], from: usize) {
        let (_, starts) = Self::joined(words);
        for (word, start) in words.iter().zip(starts) {
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
            let Some(heard) = score(&doubt.values[0].0) else { continue };
            let Some(said) = acts.iter_mut().find(|s| s.span == (doubt.span.start + from..doubt.span.end + from))
            else {
                continue;
            };
            for (text, value) in &doubt.values[1..] {
                let Some(other) = score(text) else { continue };
                sounds(&mut said.act, doubt.values[0].1, *value, other - heard);
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
        _ => {}
    }
}

/// What is said most like the wording heard, which comes first.
fn nearest(said: String, heard: Value, others: Vec<(String, Value)>) -> Vec<(String, Value)> {
    let mut near: Vec<(usize, String, Value)> = others
        .into_iter()
        .filter(|(t, _)| *t != said)
        .filter_map(|(t, v)| {
            let most = said.len().max(t.len()) * 6 / 10;
            distance(&said, &t, most).map(|d| (d, t, v))
        })
        .collect();
    near.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
    near.dedup_by(|a, b| a.1 == b.1);
    let mut out = vec![(said, heard)];
    out.extend(near.into_iter().take(MOST).map(|(_, t, v)| (t, v)));
    out
}

impl Asker for Language {
    fn fingerprint(&self) -> String {
        // What may be asked depends on the grammar and on the kit.
        let mut hash = blake3::Hasher::new();
        hash.update(env!("CARGO_PKG_VERSION").as_bytes());
        hash.update(b"listen 1");
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
