//! Tells the story: reads the tape window by window and lets each statement change the state.

use std::collections::HashSet;
use std::ops::Range;

use crate::facts::RollName;
use crate::kit::Missing;
use crate::language::compose::Fact;
use crate::language::{DevelopingSaid, Language};
use crate::roll::record::{NotedRoll, Quote};
use crate::speech::Transcript;

use super::cut::tear;
use super::ear::Ear;
use super::facts::stems;
use super::hear::statements;
use super::missing::Outside;
use super::state::{KnownRoll, State};
use super::statement::{FrameHeard, Statement};
use super::tape::{Tape, Window};

/// A part of a window.
enum Part {
    /// To be read.
    Talk(Window),
    /// How a roll was developed.
    Developing(DevelopingSaid),
}

/// Gathers the notes of a trip, in the order they were made.
pub struct Builder<'a> {
    language: &'a Language,
    unsure_below: f64,
    tape: Tape,
    state: State<'a>,
    /// The sentence that the last statement stood in.
    sentence: usize,
    /// Clips and texts that said something of a frame or a roll.
    understood: HashSet<String>,
    /// What is spoken of and not in the kit.
    outside: Outside<'a>,
    /// Bytes of the tape that hold a number or a trade word and served nothing.
    unread: Vec<Range<usize>>,
}

impl<'a> Builder<'a> {
    /// An empty trip; settings below `unsure_below` are flagged.
    pub fn new(language: &'a Language, unsure_below: f64) -> Self {
        let state = State::new(language.kit());
        Self {
            language,
            unsure_below,
            tape: Tape::default(),
            state,
            sentence: 0,
            understood: HashSet::new(),
            outside: Outside::new(language.lexicon()),
            unread: Vec::new(),
        }
    }

    /// Tells it which rolls the trip has folders of, so that a name said is known for one of them.
    #[must_use]
    pub fn knowing<'n>(mut self, rolls: impl IntoIterator<Item = &'n RollName>) -> Self {
        for name in rolls {
            let text = name.as_str();
            let told = self.language.told(text);
            let numbers: Vec<f64> = told.numbers().map(|(_, n)| n.value).collect();
            let spelt = !text.contains(|c: char| c.is_ascii_digit());
            let number = match numbers[..] {
                [one] if spelt => Some(one.to_string()),
                _ => digits(text),
            };
            let known = KnownRoll { name: name.clone(), number, stems: stems(text) };
            if self.state.known.iter().all(|k| k.name != known.name) {
                self.state.known.push(known);
            }
        }
        self
    }

    /// Adds one clip or text, in order of time. `clip` is its path relative to `notes/`.
    pub fn add(&mut self, clip: &str, heard: &Transcript) {
        // The second listen's scores (`Utterance::scored`) are asked about stretches of words; they
        // are joined to the reader's mentions here once those can be asked about.
        for window in self.tape.add(clip, heard) {
            for part in self.parts(&window) {
                self.take(&part, clip);
            }
        }
    }

    /// A window in parts: the sentences that tell how a roll was developed, and what is between them.
    fn parts(&self, window: &Window) -> Vec<Part> {
        let mut parts: Vec<Part> = Vec::new();
        for sentence in self.tape.sentences_of(window) {
            let text = self.tape.text(&(sentence.from..sentence.to));
            match (self.language.developing(text), parts.last_mut()) {
                (Some(said), _) => parts.push(Part::Developing(said)),
                (None, Some(Part::Talk(last))) => last.to = sentence.to,
                (None, _) => parts.push(Part::Talk(sentence)),
            }
        }
        parts
    }

    fn take(&mut self, part: &Part, clip: &str) {
        match part {
            Part::Developing(said) => {
                tracing::debug!("developing {said:?}");
                self.understood.insert(clip.to_owned());
                self.state.developed(said);
            }
            Part::Talk(window) => {
                for all in self.read(window) {
                    if all.iter().any(|s| !matches!(s, Statement::Maybe)) {
                        self.understood.insert(clip.to_owned());
                    }
                    self.tell(&all);
                }
            }
        }
    }

    /// What a window says; cut in two where a frame is lost in the whole.
    fn read(&mut self, window: &Window) -> Vec<Vec<Statement>> {
        let text = self.tape.text(&(window.from..window.to));
        tracing::debug!("read {text:?}");
        let language = self.language;
        let (mut told, lexicon) = (language.told(text), language.lexicon());
        let parts = tear(&told, lexicon, window, &self.tape).and_then(|s| self.tape.cut(window, s));
        match parts {
            Some((first, then)) => [self.read(&first), self.read(&then)].concat(),
            None => {
                let sounds = language.sounds(text, &told, &self.tape.answers(window));
                let mut said = std::mem::take(&mut told.said);
                Ear { told: &told, sounds: &sounds, trust: &self.tape.trust(window) }.weigh(&mut said);
                told.said = said;
                let byte = |t: &Range<usize>| told.tokens[t.start].span.start..told.tokens[t.end - 1].span.end;
                let on_tape = |r: Range<usize>| window.from + r.start..window.from + r.end;
                self.unread.extend(told.said.unread.iter().map(|t| on_tape(byte(t))));
                let asides = std::mem::take(&mut told.asides);
                vec![statements(&told, lexicon, window, &self.tape, asides)]
            }
        }
    }

    fn tell(&mut self, all: &[Statement]) {
        let kit = self.language.kit();
        for statement in all {
            statement.facts().iter().for_each(|f| self.outside.fact(f, kit));
            statement.asides().iter().for_each(|a| self.outside.aside(a, kit));
        }
        for i in 0..all.len() {
            let next = all[i..].iter().find_map(|s| match s {
                Statement::Frame(f) => f.said.number.as_ref().map(|n| n.value.place()),
                _ => None,
            });
            self.hear(&all[i], next);
        }
    }

    fn hear(&mut self, statement: &Statement, next: Option<i16>) {
        tracing::debug!("{}", statement.shown(&self.tape));
        match statement {
            Statement::Frame(f) => {
                self.enter(f.at.0);
                let quote = self.quote(f);
                self.state.shoot(f, quote, self.unsure_below);
            }
            Statement::Maybe => self.state.miss(),
            Statement::Beside(asides) => self.state.beside_the_last(asides),
            Statement::Again(f) => self.state.again(f, self.unsure_below),
            Statement::Fact { said, camera, at } => {
                // "Roll twelve, I said four hundred. So two hundred, the whole of that roll."
                let on = matches!(said.fact, Fact::Rating(_) | Fact::BoxSpeed | Fact::Process(_));
                if !on {
                    self.enter(at.start);
                }
                if said.fact == Fact::ScansReversed {
                    let sentence = self.tape.sentence_start(at.start)..at.end;
                    self.state.reversed(self.tape.text(&sentence));
                } else {
                    let clause = self.tape.text(&(self.tape.sentence_start(at.start)..at.start));
                    let clause = clause.rsplit([',', ';', ':']).next().unwrap_or_default();
                    let words = format!("{clause} {}", self.tape.text(at));
                    let behind = self.tape.text(&(at.end..self.tape.sentence_end(at.start)));
                    let behind = behind.split_whitespace().next().unwrap_or_default();
                    self.state.learn(said, *camera, next, &words, behind);
                }
            }
        }
    }

    /// A new sentence is about what is in hand, until it says otherwise.
    fn enter(&mut self, at: usize) {
        let sentence = self.tape.sentence(at);
        if sentence != self.sentence {
            self.state.new_sentence();
            self.sentence = sentence;
        }
    }

    fn quote(&self, heard: &FrameHeard) -> Quote {
        let text = self.tape.text(&heard.words);
        let mut quote = Quote::new(text, self.tape.moment(&heard.words));
        let from = self.tape.trimmed(&heard.words);
        let within = |r: &&Range<usize>| r.start >= from && r.end <= from + text.len();
        quote.unread = self.unread.iter().filter(within).map(|r| r.start - from..r.end - from).collect();
        quote
    }

    /// Clips and texts that said something of a frame or a roll.
    pub fn understood(&self) -> &HashSet<String> {
        &self.understood
    }

    /// What was spoken of and is not in the kit, the most spoken of first.
    pub fn missing(&self) -> Vec<Missing> {
        self.outside.all()
    }

    /// The rolls, in the order they were begun.
    pub fn finish(self) -> Vec<NotedRoll> {
        self.state.noted(self.unsure_below)
    }
}

/// The number in a name that has letters too: "G4".
fn digits(name: &str) -> Option<String> {
    let letters = name.contains(char::is_alphabetic);
    let runs: Vec<&str> = name.split(|c: char| !c.is_ascii_digit()).filter(|r| !r.is_empty()).collect();
    match runs[..] {
        [one] if letters => Some(one.trim_start_matches('0').to_owned()),
        _ => None,
    }
}
