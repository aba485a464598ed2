//! Names of gear, checked when a kit is read: each can be shown, none is blank, and it is told
//! where two things share one.

use std::collections::HashMap;

use toml::Spanned;

use super::Caution;

/// Longer than anybody would call a thing, in characters; what is longer is not listened for.
pub const LONGEST_NAME: usize = 200;
/// The most things of a kind, cameras or lenses or films or filters, that a kit can hold.
const MOST: usize = 1000;

/// A text as a kit or the settings write it: in quotes, with what TOML asks for escaped.
pub fn quoted(text: &str) -> String {
    toml_edit::Value::from(text).to_string()
}

/// What a thing of the kit is called, and where that stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Called {
    /// `camera`, `lens`, `film` and so on.
    pub kind: &'static str,
    /// Its name in the output.
    pub thing: String,
    /// One way to call it; its name is one.
    pub phrase: String,
    /// Line, from 1.
    pub line: usize,
}

/// The names met so far in a kit's text.
pub(super) struct Names {
    pub lines: Lines,
    pub cautions: Vec<Caution>,
    pub called: Vec<Called>,
    /// Where each name of each kind first stands.
    known: HashMap<(&'static str, String), usize>,
    counts: HashMap<&'static str, usize>,
}

/// Where the lines of a text end.
pub(super) struct Lines(Vec<usize>);

impl Lines {
    /// The line, from 1, on which something stands.
    pub fn of<T>(&self, what: &Spanned<T>) -> usize {
        self.0.partition_point(|end| *end < what.span().start) + 1
    }
}

/// A name as it can be shown and written anywhere: without control characters and the two that no
/// document may hold.
pub(super) fn shown(name: &str) -> String {
    name.chars().map(|c| if is_hidden(c) { ' ' } else { c }).collect()
}

fn is_hidden(c: char) -> bool {
    c.is_control() || matches!(c, '\u{FFFE}' | '\u{FFFF}')
}

impl Names {
    pub fn new(text: &str) -> Self {
        let lines = Lines(text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i).collect());
        Self { lines, cautions: Vec::new(), called: Vec::new(), known: HashMap::new(), counts: HashMap::new() }
    }

    /// Notes what is odd at a place.
    pub fn caution<T>(&mut self, at: &Spanned<T>, what: String) {
        self.cautions.push(Caution { line: self.lines.of(at), what });
    }

    /// The name of a thing of this kind and what it is called, each as it can be shown.
    ///
    /// # Errors
    /// When the name is blank, or the kit holds more than [`MOST`] of the kind.
    pub fn named(
        &mut self,
        kind: &'static str,
        name: Spanned<String>,
        said: Vec<Spanned<String>>,
    ) -> Result<(String, Vec<String>), String> {
        let count = self.counts.entry(kind).or_default();
        *count += 1;
        if *count > MOST {
            return Err(format!("a kit holds at most {MOST} of a kind, and here begins one more {kind}"));
        }
        let shown = self.as_shown(&name, kind);
        if shown.trim().is_empty() {
            return Err(format!("a {kind} with a blank name: give it the name that it is to have in the tables"));
        }
        let line = self.lines.of(&name);
        match self.known.get(&(kind, shown.clone())) {
            Some(first) => {
                let what = format!(
                    "{kind} '{shown}' has the name of the one in line {first}, and nothing tells them apart: \
                     give each a name of its own"
                );
                self.caution(&name, what);
            }
            None => drop(self.known.insert((kind, shown.clone()), line)),
        }
        self.called.push(Called { kind, thing: shown.clone(), phrase: shown.clone(), line });
        let mut called = Vec::with_capacity(said.len());
        for way in said {
            let text = self.as_shown(&way, kind);
            if text.trim().is_empty() {
                self.caution(&way, format!("{kind} '{shown}': a blank way to call it is passed over: take it out"));
            } else {
                let line = self.lines.of(&way);
                self.called.push(Called { kind, thing: shown.clone(), phrase: text.clone(), line });
                called.push(text);
            }
        }
        Ok((shown, called))
    }

    fn as_shown(&mut self, text: &Spanned<String>, kind: &str) -> String {
        let name = shown(text.get_ref());
        if let Some(c) = text.get_ref().chars().find(|c| is_hidden(*c)) {
            let code = u32::from(c);
            self.caution(
                text,
                format!("this name of a {kind} holds U+{code:04X}, which cannot be shown: a space is put for it"),
            );
        }
        if name.chars().count() > LONGEST_NAME {
            let what = format!(
                "this name of a {kind} is longer than {LONGEST_NAME} characters and is not listened for: shorten it"
            );
            self.caution(text, what);
        }
        name
    }
}
