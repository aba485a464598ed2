//! What could not be used, why, and what to do about it. One bad input never
//! stops a trip: it is named here, and the exit code remembers.

use std::fmt;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::facts::shown;

/// How much of an input was lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Loss {
    /// Nothing of it was used.
    Whole,
    /// What came before the fault was used.
    Part,
    /// A piece of it was left out; what comes before and after was used.
    Piece,
}

/// An input that was not used, or not wholly.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unusable {
    /// The file or folder.
    #[serde(serialize_with = "as_text")]
    pub path: PathBuf,
    /// How much was lost.
    pub loss: Loss,
    /// What is wrong with it: one fact, lower case.
    pub why: String,
    /// What the photographer can do; empty when there is nothing.
    pub advice: String,
}

impl fmt::Display for Unusable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", shown(&self.path.to_string_lossy()), shown(&self.why))?;
        f.write_str(match self.loss {
            Loss::Whole => "",
            Loss::Part => "; what came before it was used",
            Loss::Piece => "; the rest was used",
        })?;
        if self.advice.is_empty() { Ok(()) } else { write!(f, " ({})", self.advice) }
    }
}

/// From so many inputs on, a shared reason is told once.
const MANY: usize = 4;

/// A path as text; what is not UTF-8 in it is lost, as it is wherever it is shown.
fn as_text<S: serde::Serializer>(path: &Path, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(&path.to_string_lossy())
}

/// All that was unusable in a run, by path.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Report {
    unusable: Vec<Unusable>,
}

impl Report {
    /// Nothing of `path` could be used.
    pub fn unusable(&mut self, path: impl AsRef<Path>, why: impl fmt::Display, advice: impl Into<String>) {
        self.add(path.as_ref(), Loss::Whole, why, advice.into());
    }

    /// `path` was used up to a fault.
    pub fn partly(&mut self, path: impl AsRef<Path>, why: impl fmt::Display, advice: impl Into<String>) {
        self.add(path.as_ref(), Loss::Part, why, advice.into());
    }

    /// `path` was used but for one piece, such as a line of a table.
    pub fn but_for(&mut self, path: impl AsRef<Path>, why: impl fmt::Display, advice: impl Into<String>) {
        self.add(path.as_ref(), Loss::Piece, why, advice.into());
    }

    /// Takes in what another part of the run could not use.
    pub fn merge(&mut self, other: Self) {
        for entry in other.unusable {
            self.insert(entry);
        }
    }

    /// Whether everything was usable.
    pub fn is_clean(&self) -> bool {
        self.unusable.is_empty()
    }

    /// The unusable inputs, by path, whichever order they were found in.
    pub fn entries(&self) -> &[Unusable] {
        &self.unusable
    }

    /// As lines for a reader. What many inputs share, such as a missing speech
    /// model, is said once, with each of them named below it.
    pub fn lines(&self) -> Vec<String> {
        let mut lines = Vec::new();
        let mut told: Vec<(Loss, &str, &str)> = Vec::new();
        for entry in &self.unusable {
            let reason = (entry.loss, entry.why.as_str(), entry.advice.as_str());
            if told.contains(&reason) {
                continue;
            }
            let alike: Vec<&Unusable> =
                self.unusable.iter().filter(|u| (u.loss, u.why.as_str(), u.advice.as_str()) == reason).collect();
            if alike.len() < MANY {
                lines.push(entry.to_string());
                continue;
            }
            told.push(reason);
            let text = Unusable { path: PathBuf::from(format!("{} inputs", alike.len())), ..entry.clone() };
            let names = alike.iter().map(|u| format!("\n  {}", shown(&u.path.to_string_lossy()))).collect::<String>();
            lines.push(format!("{text}{names}"));
        }
        lines
    }

    fn add(&mut self, path: &Path, loss: Loss, why: impl fmt::Display, advice: String) {
        self.insert(Unusable { path: path.to_owned(), loss, why: why.to_string(), advice });
    }

    /// Keeps the order by path, and says nothing twice.
    fn insert(&mut self, entry: Unusable) {
        let at = self.unusable.partition_point(|u| (&u.path, u.loss, &u.why) < (&entry.path, entry.loss, &entry.why));
        if self.unusable.get(at) != Some(&entry) {
            self.unusable.insert(at, entry);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_input_is_named_once_with_what_to_do() {
        let mut report = Report::default();
        report.unusable("notes/b.m4a", "is empty", "record it again");
        report.partly("notes/a.m4a", "audio breaks off at 0:42 of 1:10", "");
        let mut other = Report::default();
        other.unusable("notes/b.m4a", "is empty", "record it again");
        report.merge(other);
        let lines: Vec<String> = report.entries().iter().map(ToString::to_string).collect();
        assert_eq!(
            lines,
            [
                "notes/a.m4a: audio breaks off at 0:42 of 1:10; what came before it was used",
                "notes/b.m4a: is empty (record it again)"
            ]
        );
        assert!(!report.is_clean() && Report::default().is_clean());
        assert_eq!(report.lines(), lines);
        let json = serde_json::to_value(&report).unwrap();
        assert_eq!(json[0]["loss"], "part");
        assert_eq!(json[1]["path"], "notes/b.m4a");
    }

    #[test]
    fn a_reason_that_many_share_is_told_once() {
        let mut report = Report::default();
        report.unusable("notes/b.m4a", "is empty", "");
        for n in 1..=4 {
            report.unusable(format!("notes/{n}.m4a"), "no speech model", "run scripts/get-model");
        }
        assert_eq!(
            report.lines(),
            [
                "4 inputs: no speech model (run scripts/get-model)\n  notes/1.m4a\n  notes/2.m4a\n  notes/3.m4a\n  \
                 notes/4.m4a",
                "notes/b.m4a: is empty"
            ]
        );
    }
}
