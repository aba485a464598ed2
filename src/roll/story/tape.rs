//! All words of a trip as one text, so that a sentence is read with what was said before it,
//! whichever clip, cue or line that stood in.

use std::ops::Range;

use crate::facts::Moment;
use crate::speech::{Scored, Transcript};

/// A pause that ends a sentence, seconds.
const SHORT_PAUSE_S: f64 = 0.7;
/// Words that are read at once: some six sentences. On twelve people never learnt from, settings F1 0.70 with 45,
/// 0.72 with 80, 0.72 with 150; sentences seen before and seen again make it worse.
const NEW_WORDS: usize = 80;

/// The most bytes of one sentence: some ten minutes of talk without a pause or a mark. What goes on is cut there, so
/// that a window is bounded.
const LONGEST_SENTENCE: usize = 8_000;
/// The most bytes of one word; what is longer was never spoken, and counts as several.
const LONGEST_WORD: usize = 100;

/// The words so far.
#[derive(Debug, Default)]
pub(super) struct Tape {
    text: String,
    words: Vec<Word>,
    answers: Vec<Answer>,
    /// Bytes where sentences begin.
    sentences: Vec<usize>,
    clips: Vec<String>,
}

#[derive(Debug)]
struct Word {
    at: usize,
    clip: usize,
    start_s: f64,
    end_s: f64,
    /// The recogniser's trust in it.
    trust: f64,
}

/// An answer of the second listen.
#[derive(Debug)]
struct Answer {
    /// Bytes of the words that were asked about.
    at: Range<usize>,
    scored: Scored,
}

/// A stretch of the tape to be read at once: new words with those before them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Window {
    /// Byte of the tape where it begins.
    pub from: usize,
    /// Byte where the new words begin.
    pub new: usize,
    /// Byte where it ends.
    pub to: usize,
}

impl Tape {
    /// Adds a clip; the windows in which it is to be read.
    pub fn add(&mut self, clip: &str, heard: &Transcript) -> Vec<Window> {
        self.clips.push(clip.to_owned());
        let clip = self.clips.len() - 1;
        let first = self.sentences.len();
        self.end_sentence();
        let mut begins = true;
        let mut last_end = 0.0;
        for u in &heard.utterances {
            if u.end_s == 0.0 || u.start_s - last_end > SHORT_PAUSE_S {
                self.end_sentence();
                begins = true;
            }
            last_end = u.end_s;
            let mut places = Vec::with_capacity(u.words.len());
            for w in &u.words {
                if !self.text.is_empty() {
                    self.text.push(' ');
                }
                places.push(self.text.len());
                for part in parts(&w.text) {
                    let at = self.text.len();
                    if begins || self.sentences.last().is_some_and(|s| at - s >= LONGEST_SENTENCE) {
                        self.sentences.push(at);
                    }
                    begins = false;
                    self.words.push(Word { at, clip, start_s: w.start_s, end_s: w.end_s, trust: w.confidence.get() });
                    self.text.push_str(part);
                }
                begins = w.text.ends_with(['.', '!', '?', '…', ';']);
            }
            for scored in &u.scored {
                let ends = places.get(scored.words.end).copied().unwrap_or(self.text.len());
                if let Some(first) = places.get(scored.words.start) {
                    self.answers.push(Answer { at: *first..ends, scored: scored.clone() });
                }
            }
        }
        self.windows(first)
    }

    /// A sentence that nothing closed is closed, so that the next does not run into it.
    fn end_sentence(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with(['.', '!', '?', '…', ';', ':', ',']) {
            self.text.push('.');
        }
    }

    /// Sentences from `first` on, cut into windows.
    fn windows(&self, first: usize) -> Vec<Window> {
        let mut out = Vec::new();
        let mut at = first;
        while at < self.sentences.len() {
            let words = |s: usize| self.words.partition_point(|w| w.at < self.start(s));
            let new = words(at);
            let mut end = at + 1;
            while end < self.sentences.len() && words(end + 1) - new <= NEW_WORDS {
                end += 1;
            }
            out.push(Window { from: self.start(at), new: self.start(at), to: self.start(end) });
            at = end;
        }
        out
    }

    /// A window sentence by sentence.
    pub fn sentences_of(&self, window: &Window) -> Vec<Window> {
        let first = self.sentence(window.from);
        let within = (first..self.sentences.len()).take_while(|s| self.start(*s) < window.to);
        let part = |s: usize| {
            let (from, to) = (self.start(s).max(window.from), self.start(s + 1).min(window.to));
            Window { from, new: from, to }
        };
        within.map(part).collect()
    }

    /// A window cut where a sentence begins, if that lies within it.
    pub fn cut(&self, window: &Window, sentence: usize) -> Option<(Window, Window)> {
        let at = self.start(sentence);
        let part = |from: usize, to: usize| Window { from, new: from, to };
        (at > window.from && at < window.to).then(|| (part(window.from, at), part(at, window.to)))
    }

    /// Where a sentence begins; past the last, where the text ends.
    fn start(&self, sentence: usize) -> usize {
        self.sentences.get(sentence).copied().unwrap_or(self.text.len())
    }

    /// The words of a stretch.
    pub fn text(&self, at: &Range<usize>) -> &str {
        self.text.get(at.clone()).unwrap_or("").trim()
    }

    /// The byte where the words of a stretch begin.
    pub fn trimmed(&self, at: &Range<usize>) -> usize {
        let stretch = self.text.get(at.clone()).unwrap_or("");
        at.start + stretch.len() - stretch.trim_start().len()
    }

    /// The answers of the second listen about words of a window, with their bytes in it.
    pub fn answers(&self, window: &Window) -> Vec<(Range<usize>, &Scored)> {
        let within = |a: &&Answer| a.at.start >= window.from && a.at.end <= window.to;
        let first = self.answers.partition_point(|a| a.at.start < window.from);
        let all = self.answers[first..].iter().take_while(|a| a.at.start < window.to).filter(within);
        all.map(|a| (a.at.start - window.from..a.at.end - window.from, &a.scored)).collect()
    }

    /// How far the recogniser trusts the words of a window, with their bytes in it.
    pub fn trust(&self, window: &Window) -> Vec<(Range<usize>, f64)> {
        let first = self.words.partition_point(|w| w.at < window.from);
        let last = self.words.partition_point(|w| w.at < window.to);
        let end = |k: usize| self.words.get(k + 1).map_or(self.text.len(), |w| w.at);
        (first..last)
            .map(|k| (self.words[k].at - window.from..end(k).max(self.words[k].at) - window.from, self.words[k].trust))
            .collect()
    }

    /// The sentence that a byte stands in.
    pub fn sentence(&self, at: usize) -> usize {
        self.sentences.partition_point(|s| *s <= at).saturating_sub(1)
    }

    /// The byte where the sentence of a byte begins.
    pub fn sentence_start(&self, at: usize) -> usize {
        self.start(self.sentence(at))
    }

    /// The byte where the sentence of a byte ends.
    pub fn sentence_end(&self, at: usize) -> usize {
        self.start(self.sentence(at) + 1)
    }

    /// Where a stretch was said: the part of it that lies in the clip where it begins.
    pub fn moment(&self, at: &Range<usize>) -> Moment {
        let first = self.words.partition_point(|w| w.at <= at.start).saturating_sub(1);
        let last = self.words.partition_point(|w| w.at < at.end).saturating_sub(1);
        let Some(a) = self.words.get(first) else {
            return Moment { clip: String::new(), at_s: 0.0, end_s: 0.0 };
        };
        let end_s =
            self.words[first..=last.max(first)].iter().rev().find(|w| w.clip == a.clip).map_or(0.0, |w| w.end_s);
        Moment { clip: self.clips[a.clip].clone(), at_s: a.start_s, end_s }
    }
}

/// A word in parts of at most [`LONGEST_WORD`] bytes; at least one.
fn parts(word: &str) -> impl Iterator<Item = &str> {
    let mut rest = Some(word);
    std::iter::from_fn(move || {
        let whole = rest?;
        let end = (0..=LONGEST_WORD.min(whole.len())).rev().find(|at| whole.is_char_boundary(*at))?;
        let (part, then) = whole.split_at(end);
        rest = Some(then).filter(|t| !t.is_empty());
        Some(part)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::speech::{TextKind, transcript};

    fn plain(text: &str) -> Transcript {
        transcript(text.as_bytes(), TextKind::Plain).unwrap()
    }

    #[test]
    fn a_clip_is_read_by_itself_and_its_words_keep_their_clip() {
        let mut tape = Tape::default();
        assert_eq!(tape.add("a", &plain("One, f8. Two, f11")), [Window { from: 0, new: 0, to: 17 }]);
        let [w] = &tape.add("b", &plain("Make that f16."))[..] else { panic!("one window") };
        assert_eq!(tape.text(&(w.from..w.to)), "Make that f16.");
        assert_eq!(tape.moment(&(w.new..w.to)).clip, "b");
        assert_eq!(tape.sentence(w.new), 2);
    }

    #[test]
    fn no_window_is_longer_than_its_bounds() {
        for text in ["1/".repeat(100_000), "slipway f8 ".repeat(20_000), "x".repeat(300_000), "é".repeat(50_000)] {
            let mut tape = Tape::default();
            let windows = tape.add("a", &plain(&text));
            assert!(windows.windows(2).all(|w| w[0].to == w[1].from), "nothing is left out");
            assert_eq!((windows[0].from, windows.last().unwrap().to), (0, text.trim().len()));
            let longest = windows.iter().map(|w| w.to - w.from).max().unwrap();
            assert!(longest <= LONGEST_SENTENCE + LONGEST_WORD * NEW_WORDS, "{longest}");
        }
    }

    #[test]
    fn a_long_clip_is_cut_between_sentences() {
        let mut tape = Tape::default();
        let windows = tape.add("a", &plain(&"We walked on along the quay in the rain. ".repeat(30)));
        assert!(windows.len() > 2);
        assert!(windows.windows(2).all(|w| w[0].to == w[1].from && w[1].from == w[1].new));
    }
}
