//! From the recogniser's tokens to words, and whether to believe them.

use std::ops::Range;

use super::Word;
use super::timing::{Placed, places};
use super::whisper::{Pass, Token};
use crate::audio::Stretch;
use crate::facts::Confidence;

/// Words with the tokens that they were made of.
pub(super) struct Spoken {
    pub words: Vec<Word>,
    written: Vec<i32>,
    /// For each word, where its tokens begin in what was written.
    starts: Vec<usize>,
}

impl Spoken {
    /// All that the decoder was told and wrote before a word.
    pub fn written_before(&self, word: usize) -> &[i32] {
        &self.written[..self.starts[word]]
    }

    /// What follows a span, with the punctuation at the span's end.
    pub fn text_after(&self, span: &Range<usize>) -> String {
        let last = &self.words[span.end - 1].text;
        let mut text = last[last.trim_end_matches(|c: char| c.is_ascii_punctuation()).len()..].to_owned();
        for word in &self.words[span.end..] {
            text.push(' ');
            text.push_str(&word.text);
        }
        text
    }

    /// A wording as it would be written in place of a span: with a space, and a capital where a sentence begins.
    pub fn in_place(&self, span: &Range<usize>, wording: &str) -> String {
        let begins = span.start == 0 || self.words[span.start - 1].text.ends_with(['.', '!', '?']);
        let mut letters = wording.chars();
        match letters.next() {
            Some(first) if begins => format!(" {}{}", first.to_uppercase(), letters.as_str()),
            _ => format!(" {wording}"),
        }
    }
}

/// Tokens to words: a word begins with a space; its confidence is that of all its parts but
/// the punctuation. Times are seconds from the clip's start.
pub(super) fn spoken(pass: &Pass, stretch: &Stretch) -> Spoken {
    let mut made: Vec<(&Token, Vec<u8>, f64)> = Vec::new();
    for token in &pass.tokens {
        let says = token.bytes.iter().any(|b| b.is_ascii_alphanumeric() || !b.is_ascii());
        let p = if says { f64::from(token.p) } else { 1.0 };
        match made.last_mut() {
            Some((_, bytes, sure)) if !token.bytes.starts_with(b" ") => {
                bytes.extend_from_slice(&token.bytes);
                *sure *= p;
            }
            _ => made.push((token, token.bytes.clone(), p)),
        }
    }
    let texts: Vec<String> = made.iter().map(|(_, b, _)| String::from_utf8_lossy(b).trim().to_owned()).collect();
    let to_place: Vec<Placed> =
        made.iter().zip(&texts).map(|((first, ..), text)| Placed { text, times: &first.times }).collect();
    let times = places(&to_place, &stretch.samples);
    let mut all = Spoken { words: Vec::new(), written: pass.written.clone(), starts: Vec::new() };
    for (((first, _, sure), text), time) in made.iter().zip(&texts).zip(times) {
        if !text.is_empty() {
            let (start_s, end_s) = (stretch.start_s + time.start, stretch.start_s + time.end);
            all.words.push(Word { text: text.clone(), start_s, end_s, confidence: Confidence::new(*sure) });
            all.starts.push(first.place);
        }
    }
    all
}

/// Below this average, the recogniser hardly believes itself. Natural logarithm, a token.
const UNSURE: f64 = -0.9;
/// Tokens of an end that count as said over: shorter ones are said twice in earnest.
const ECHO: usize = 5;
/// Nobody says more tokens in a second of voice than this.
const FASTEST: f64 = 7.0;
/// What recognisers write under noise, from the subtitles they were trained on (common knowledge
/// among their users). Nothing is lost with these words.
const INVENTED: [&str; 12] = [
    "thank you",
    "thank you very much",
    "thanks for watching",
    "thank you for watching",
    "thank you so much for watching",
    "please subscribe",
    "subscribe to my channel",
    "see you next time",
    "see you in the next video",
    "bye",
    "bye bye",
    "you",
];

/// Whether a pass should be tried again: unsure, going round in a loop, saying its end twice, or
/// in a strange script.
pub(super) fn doubtful(pass: &Pass) -> bool {
    !pass.tokens.is_empty()
        && (average(pass) < UNSURE || looping(pass) || strange(pass) || said_once(pass) < pass.tokens.len())
}

/// Whether one pass is to be preferred to another.
pub(super) fn better(this: &Pass, other: &Pass) -> bool {
    let sound = |p: &Pass| !looping(p) && !strange(p) && !p.tokens.is_empty();
    let rank = |p: &Pass| (sound(p), said_once(p) == p.tokens.len(), average(p));
    rank(this) > rank(other)
}

/// Without an end that is said over, where the voice had no time to say it twice. With the time for
/// it, it was said twice.
pub(super) fn without_echo(mut pass: Pass, voiced_s: f64) -> Pass {
    if pass.tokens.len() as f64 > FASTEST * voiced_s {
        pass.tokens.truncate(said_once(&pass));
    }
    pass
}

/// Whether a pass is speech at all. Wind and music come back as `[Music]`, as a loop, as a closing
/// phrase, or as more words than the voice in it could say.
pub(super) fn believable(pass: &Pass, voiced_s: f64) -> bool {
    let text = text(pass);
    let text = text.trim();
    let bracketed = text.starts_with(['[', '(', '♪', '*']) && text.ends_with([']', ')', '♪', '*']);
    let plain: String = text.to_lowercase().chars().filter(|c| c.is_alphanumeric() || *c == ' ').collect();
    let too_many = pass.tokens.len() as f64 > 6.0 + 14.0 * voiced_s;
    !(plain.trim().is_empty()
        || bracketed
        || INVENTED.contains(&plain.trim())
        || looping(pass)
        || strange(pass)
        || too_many)
}

fn text(pass: &Pass) -> String {
    let bytes: Vec<u8> = pass.tokens.iter().flat_map(|t| t.bytes.iter().copied()).collect();
    String::from_utf8_lossy(&bytes).into_owned()
}

fn average(pass: &Pass) -> f64 {
    let sum: f64 = pass.tokens.iter().map(|t| f64::from(t.p.max(1e-6)).ln()).sum();
    sum / pass.tokens.len().max(1) as f64
}

/// The same one to eight tokens over and over at the end, at least four times and for a dozen tokens.
fn looping(pass: &Pass) -> bool {
    let ids: Vec<i32> = pass.tokens.iter().map(|t| t.id).collect();
    (1..=8).any(|n| {
        let last = &ids[ids.len().saturating_sub(n)..];
        let times = ids.rchunks_exact(n).take_while(|c| *c == last).count();
        times >= 4 && times * n >= 12
    })
}

/// How many of the tokens there are before the end is said over, whatever its capitals and commas.
fn said_once(pass: &Pass) -> usize {
    let plain = |t: &Token| -> Vec<u8> {
        t.bytes.iter().filter(|b| b.is_ascii_alphanumeric() || !b.is_ascii()).map(u8::to_ascii_lowercase).collect()
    };
    let said: Vec<(usize, Vec<u8>)> =
        pass.tokens.iter().map(plain).enumerate().filter(|(_, t)| !t.is_empty()).collect();
    let n = said.len();
    for long in ECHO..=n / 2 {
        let same = (long..n).rev().take_while(|&i| said[i].1 == said[i - long].1).count();
        if same >= long {
            return said[n - same].0;
        }
    }
    pass.tokens.len()
}

/// More letters of other scripts than Latin ones.
fn strange(pass: &Pass) -> bool {
    let text = text(pass);
    let letters = || text.chars().filter(|c| c.is_alphabetic());
    let foreign = letters().filter(|c| u32::from(*c) > 0x24F).count();
    foreign * 2 > letters().count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn token(text: &str, p: f32) -> Token {
        let id = text.len() as i32 + i32::from(text.as_bytes()[0]);
        Token { id, place: 0, bytes: text.as_bytes().to_vec(), p, times: Vec::new() }
    }

    fn stretch(start_s: f64) -> Stretch {
        Stretch { start_s, samples: vec![0.1; 32_000], voiced_s: 2.0 }
    }

    /// As the decoder writes it: after the opening and a time.
    fn pass_of(mut tokens: Vec<Token>) -> Pass {
        let mut written = vec![1000, 1001];
        for token in &mut tokens {
            token.place = written.len();
            written.push(token.id);
        }
        Pass { tokens, written }
    }

    fn frame_one() -> Pass {
        pass_of(vec![
            token(" Frame", 0.9),
            token(" 1", 0.8),
            token(",", 0.5),
            token(" 125", 0.9),
            token("th", 0.5),
            token(".", 0.5),
        ])
    }

    fn pass(texts: &[&str], p: f32) -> Pass {
        pass_of(texts.iter().map(|t| token(t, p)).collect())
    }

    #[test]
    fn words_are_put_together_from_their_parts() {
        let said = spoken(&frame_one(), &stretch(10.0));
        assert_eq!(super::super::text_of(&said.words), "Frame 1, 125th.");
        assert!((said.words[1].confidence.get() - 0.8).abs() < 1e-6, "a comma says nothing");
        assert!((said.words[2].confidence.get() - 0.45).abs() < 1e-6);
        let times: Vec<f64> = said.words.iter().flat_map(|w| [w.start_s, w.end_s]).collect();
        assert!(times.is_sorted() && times[0] >= 10.0 && times[5] <= 12.0, "{times:?}");
    }

    #[test]
    fn a_wording_takes_the_place_of_its_words() {
        let said = spoken(&frame_one(), &stretch(0.0));
        let before = said.written_before(2);
        assert_eq!((before.len(), &before[..2]), (5, &[1000, 1001][..]), "what the words came after, and three tokens");
        assert_eq!(said.text_after(&(1..2)), ", 125th.");
        assert_eq!(said.text_after(&(2..3)), ".");
        assert_eq!(said.in_place(&(2..3), "one fiftieth"), " one fiftieth");
        assert_eq!(said.in_place(&(0..2), "frame nine"), " Frame nine");
    }

    #[test]
    fn a_character_cut_in_two_is_whole_again() {
        let mut heard = pass_of(vec![token(" caf", 1.0), token("x", 1.0), token("x", 1.0)]);
        heard.tokens[1].bytes = vec![0xC3];
        heard.tokens[2].bytes = vec![0xA9];
        assert_eq!(spoken(&heard, &stretch(0.0)).words[0].text, "café");
    }

    #[test]
    fn what_is_not_speech_is_not_believed() {
        for text in [" [Music]", " (wind blowing)", " Thanks for watching!", " ...", " ありがとう"] {
            assert!(!believable(&pass(&[text], 0.9), 3.0), "{text}");
        }
        let looped = [" and"; 40];
        assert!(doubtful(&pass(&looped, 0.9)) && !believable(&pass(&looped, 0.9), 30.0));
        assert!(believable(&pass(&[" Frame", " 1", " (f8)"], 0.9), 1.0));
        assert!(!believable(&pass(&[" one", " two", " three", " four", " five", " six", " seven"], 0.9), 0.05));
    }

    #[test]
    fn an_end_said_over_is_tried_again_and_taken_once() {
        let once = [" Frame", " 2", ",", " 125", "th", " f", "8", "."];
        let over =
            ["And", " frame", " 2", " 125", "th", " at", " f", "8", ",", " Frame", " 2", " 125", "th", " at", " F"];
        let mut twice = over.to_vec();
        twice.push("8");
        let (once, twice) = (pass(&once, 0.5), pass(&twice, 0.9));
        assert!(doubtful(&twice) && !doubtful(&once) && better(&once, &twice));
        let left = without_echo(twice.clone(), 2.0);
        assert_eq!(text(&left), "And frame 2 125th at f8,");
        assert_eq!(without_echo(twice.clone(), 5.0), twice, "there was time to say it twice");
        assert_eq!(without_echo(pass(&over, 0.9), 2.0), pass(&over, 0.9), "not the whole end is there again");
        assert_eq!(without_echo(pass(&[" one", " more", " one", " more"], 0.9), 0.1).tokens.len(), 4);
    }

    #[test]
    fn the_surer_pass_is_preferred_unless_it_loops() {
        let (sure, unsure) = (pass(&[" one", " two"], 0.9), pass(&[" one", " three"], 0.2));
        assert!(better(&sure, &unsure) && !better(&unsure, &sure));
        assert!(doubtful(&unsure) && !doubtful(&sure));
        assert!(better(&unsure, &pass(&[" and"; 20], 0.99)));
    }
}
