//! Values that carry their ground: how sure, from where, and what else it could be.

use serde::{Deserialize, Serialize};

use super::Moment;

/// How sure, 0 to 1. Of values given 0.9, nine in ten should be right.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Confidence(f64);

impl Confidence {
    /// Certain.
    pub const SURE: Self = Self(1.0);

    /// A confidence; values outside 0 to 1 and NaN are brought to the nearer end.
    pub fn new(p: f64) -> Self {
        Self(if p.is_nan() { 0.0 } else { p.clamp(0.0, 1.0) })
    }

    /// As a number, 0 to 1.
    pub const fn get(self) -> f64 {
        self.0
    }
}

/// Where a value comes from, as the `source` column names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Source {
    /// Spoken, or written in a text note.
    Voice,
    /// The camera's print on the film edge, read or typed off.
    Rebate,
    /// The film maker's edge code.
    Edge,
    /// A table typed by hand.
    Typed,
    /// The photographer's own correction of an output.
    Edit,
}

impl Source {
    /// The word in the `source` column.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Voice => "voice",
            Self::Rebate => "rebate",
            Self::Edge => "edge",
            Self::Typed => "typed",
            Self::Edit => "edit",
        }
    }
}

/// What spoke for a reading that was heard, part by part: natural logarithms, 0 where a part
/// has nothing against it or nothing was known.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Terms {
    /// The recogniser's score of its spoken wording, against that of the wording first heard.
    pub sound: f64,
    /// How people say it and how recognisers write it.
    pub wording: f64,
    /// What the gear can do.
    pub gear: f64,
    /// Stops from the frame before, as a negative number.
    pub neighbours: f64,
    /// Stops from the daylight rule for the light that was said, as a negative number.
    pub light: f64,
    /// The recogniser's trust in the least sure of the words; the same for all readings of them.
    pub words: f64,
    /// How likely the words were mended right, where they were not taken as they were written; the
    /// same for all readings of them.
    pub mended: f64,
    /// The most that the value may be sure, where the speaker doubted it; the same for all readings.
    pub doubted: f64,
}

impl Terms {
    fn is_silent(&self) -> bool {
        *self == Self::default()
    }
}

/// One reading of a value: what it could be, how likely, and from where.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading<T> {
    /// The value.
    pub value: T,
    /// How likely among its neighbours.
    pub confidence: Confidence,
    /// Who says so.
    pub source: Source,
    /// Where it was said.
    pub said_at: Option<Moment>,
    /// What spoke for it, where it was heard.
    #[serde(default, skip_serializing_if = "Terms::is_silent")]
    pub terms: Terms,
}

impl<T> Reading<T> {
    /// A reading of which nothing more is known.
    pub fn new(value: T, confidence: Confidence, source: Source) -> Self {
        Self { value, confidence, source, said_at: None, terms: Terms::default() }
    }
}

/// A value decided, with what spoke for it and what else was possible.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Settled<T> {
    /// The value that stands.
    pub value: T,
    /// How sure.
    pub confidence: Confidence,
    /// Who says so, in order, without repeats.
    pub sources: Vec<Source>,
    /// The readings that did not win, likeliest first.
    pub others: Vec<Reading<T>>,
    /// Why it won, one short sentence each, for a reader.
    pub why: Vec<String>,
    /// What spoke for the value, where it was heard.
    #[serde(default, skip_serializing_if = "Terms::is_silent")]
    pub terms: Terms,
}

impl<T> Settled<T> {
    /// A value from one source with nothing against it.
    pub fn from_one(value: T, confidence: Confidence, source: Source) -> Self {
        Self { value, confidence, sources: vec![source], others: Vec::new(), why: Vec::new(), terms: Terms::default() }
    }

    /// The same ground under another value.
    pub fn map<U>(self, mut f: impl FnMut(T) -> U) -> Settled<U> {
        Settled {
            value: f(self.value),
            confidence: self.confidence,
            sources: self.sources,
            others: self
                .others
                .into_iter()
                .map(|r| Reading {
                    value: f(r.value),
                    confidence: r.confidence,
                    source: r.source,
                    said_at: r.said_at,
                    terms: r.terms,
                })
                .collect(),
            why: self.why,
            terms: self.terms,
        }
    }
}
