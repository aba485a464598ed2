//! What a second listen asks of the sound: the values that matter, and what
//! each could be mistaken for on the gear there is; and what its answers say.

use std::ops::Range;

use crate::speech::{Asker, Question, Scored, Word};

use super::mistaken::Value;
use crate::language::note::{Language, Told};
use crate::language::readings::Values;
use crate::language::tag::Role;

/// A stretch of words and what it may have been: the wordings of the value heard first.
struct Doubt {
    /// Tokens of the mention.
    tokens: Range<usize>,
    /// Bytes of the words that say its value.
    part: Range<usize>,
    values: Vec<(String, Value)>,
}

/// What the sound says of a value: how much better than it others sound, natural logarithms.
#[derive(Debug, Clone, PartialEq)]
pub struct Sounds {
    /// Tokens of the mention.
    pub tokens: Range<usize>,
    /// The value heard.
    pub heard: Value,
    /// What else was asked about.
    pub others: Vec<(Value, f64)>,
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

    fn doubts(&self, text: &str, told: &Told) -> Vec<Doubt> {
        let mut out: Vec<Doubt> = Vec::new();
        let ends = told.found.iter().skip(1).map(|f| f.0).chain([told.tokens.len()]);
        for ((at, found), end) in told.found.iter().zip(ends) {
            let tokens = &told.tokens[*at..end];
            let reading = self.reading(&told.folded, text, tokens, found);
            let values = Values::of(&reading);
            for m in told.read.mentions.iter().filter(|m| m.tokens.start >= *at && m.tokens.end <= end) {
                let mut own = m.tokens.start - at..m.tokens.end - at;
                // "Frame | seven": the word before stays as it was heard.
                let word = |i: usize| self.lexicon().in_list("frame-word", &tokens[i]);
                if m.role == Role::Number && own.start > 0 && word(own.start - 1) {
                    own.start -= 1;
                }
                let (Some(first), Some(last)) = (tokens.get(own.start), tokens.get(own.end - 1)) else { continue };
                let span = first.span.start..last.span.end;
                let inner = m.tokens.start - at..own.end;
                let Some((part, values)) = self.mistakable(m, &inner, &values, text, &span) else { continue };
                if !values.is_empty() && !part.is_empty() {
                    out.push(Doubt { tokens: m.tokens.clone(), part, values });
                }
            }
        }
        out
    }

    /// What the answers of a second listen say of the values of a text that was read, each answer
    /// with the bytes of the text that it was asked about.
    pub fn sounds(&self, text: &str, told: &Told, answers: &[(Range<usize>, &Scored)]) -> Vec<Sounds> {
        if answers.is_empty() {
            return Vec::new();
        }
        let mut out = Vec::new();
        for doubt in self.doubts(text, told) {
            let over = |r: &Range<usize>| r.start < doubt.part.end && doubt.part.start < r.end;
            for (_, answer) in answers.iter().filter(|(at, _)| over(at)) {
                let score = |text: &str| answer.wordings.iter().find(|w| w.text == text).map(|w| w.logprob);
                let first = doubt.values[0].1;
                let own = doubt.values.iter().filter(|(_, v)| *v == first).filter_map(|(text, _)| score(text));
                let Some(heard) = own.reduce(f64::max) else { continue };
                let mut others: Vec<(Value, f64)> = Vec::new();
                for (text, value) in doubt.values.iter().filter(|(_, v)| *v != first) {
                    let Some(sound) = score(text).map(|s| s - heard) else { continue };
                    match others.iter_mut().find(|(v, _)| v == value) {
                        Some((_, best)) => *best = best.max(sound),
                        None => others.push((*value, sound)),
                    }
                }
                out.push(Sounds { tokens: doubt.tokens.clone(), heard: first, others });
                break;
            }
        }
        out
    }
}

impl Asker for Language {
    fn fingerprint(&self) -> String {
        // What may be asked depends on the grammar and on the kit.
        let mut hash = blake3::Hasher::new();
        hash.update(env!("CARGO_PKG_VERSION").as_bytes());
        hash.update(b"listen 3");
        hash.update(crate::language::grammar::ENGLISH.phrases.as_bytes());
        hash.update(crate::language::grammar::ENGLISH.numbers.as_bytes());
        hash.update(format!("{:?}", self.kit()).as_bytes());
        hash.finalize().to_hex()[..16].to_owned()
    }

    fn questions(&self, words: &[Word]) -> Vec<Question> {
        let (text, starts) = Self::joined(words);
        let mut out: Vec<Question> = Vec::new();
        for doubt in self.doubts(&text, &self.told(&text)) {
            let first = starts.iter().rposition(|s| *s <= doubt.part.start).unwrap_or(0);
            let last = starts.iter().rposition(|s| *s < doubt.part.end).unwrap_or(first);
            let words = first..last + 1;
            if out.iter().all(|q| q.words.end <= words.start || words.end <= q.words.start) {
                out.push(Question { words, wordings: doubt.values.into_iter().map(|(t, _)| t).collect() });
            }
        }
        out
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
        let heard = words("Roll two, Harbour Pan 100, rated at 80. 90mm lens, the light yellow filter on.");
        let questions = language.questions(&heard);
        let asked = |first: usize| questions.iter().find(|q| q.words.start == first).map(|q| q.wordings.as_slice());
        let has = |first: usize, wording: &str| asked(first).is_some_and(|all| all.iter().any(|w| w == wording));
        assert!(has(2, "Harbour Pen 100"), "{questions:?}");
        assert!(has(7, "eight"), "{questions:?}");
        assert!(has(8, "nineteen mm"), "{questions:?}");
        assert!(has(11, "right yellow"), "{questions:?}");
    }

    #[test]
    fn the_sound_says_how_much_better_another_value_sounds() {
        let language = Language::english(Kit::parse(KIT).unwrap());
        let text = "a fifteenth at f8";
        let question = language.questions(&words(text)).into_iter().next().unwrap();
        let wordings = question.wordings.iter().enumerate();
        let scored = Scored {
            words: question.words.clone(),
            wordings: wordings
                .map(|(i, t)| crate::speech::Wording { text: t.clone(), logprob: if i == 1 { -2.0 } else { -20.0 } })
                .collect(),
        };
        // Joined by the words, whatever stands before them.
        let longer = format!("The long pier. {text}");
        let at = longer.len() - text.len();
        let told = language.told(&longer);
        let sounds = language.sounds(&longer, &told, &[(at..at + "a fifteenth".len(), &scored)]);
        let [one] = &sounds[..] else { panic!("{sounds:?}") };
        assert_eq!(one.heard, Value::Shutter(crate::exposure::Shutter::fraction(15)));
        assert!(one.others.iter().any(|(_, sound)| *sound == 18.0), "{one:?}");
    }
}
