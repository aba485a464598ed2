//! What a field of a frame rests on, whatever its type.

use crate::exposure::{Aperture, ExposureIndex, Shutter, Stops};
use crate::facts::{Confidence, Field, Reading, Settled, Source};
use crate::kit::Filters;

use super::row::Frame;

/// A value as it stands in a cell of the table.
trait Cell: Clone {
    fn cell(&self) -> String;
}

macro_rules! cells {
    ($($name:ty: $of:expr;)+) => {
        $(impl Cell for $name {
            fn cell(&self) -> String {
                let of: fn(&Self) -> String = $of;
                of(self)
            }
        })+
    };
}

cells! {
    String: Self::clone;
    f64: |n| ((n * 100.0).round() / 100.0).to_string();
    ExposureIndex: |ei| ei.get().to_string();
    Shutter: Self::to_string;
    Aperture: Self::to_string;
    Filters: Self::to_string;
    Stops: |s| ((s.get() * 100.0).round() / 100.0).to_string();
}

/// What a settled value rests on.
pub trait Ground {
    /// The value as in a cell of the table.
    fn cell(&self) -> String;
    /// How sure it is.
    fn confidence(&self) -> Confidence;
    /// Who says so.
    fn sources(&self) -> &[Source];
    /// The readings that did not win, as in the table's cells, likeliest first.
    fn readings(&self) -> Vec<Reading<String>>;
    /// Makes it as sure as its other readings leave room for; `alone` where it has none. Never less sure.
    fn believe(&mut self, alone: f64);
    /// Makes it no surer than `most`, 0 to 1.
    fn at_most(&mut self, most: f64);
    /// The photographer found it right.
    fn confirm(&mut self);
}

impl<T: Cell> Ground for Settled<T> {
    fn cell(&self) -> String {
        self.value.cell()
    }

    fn confidence(&self) -> Confidence {
        self.confidence
    }

    fn sources(&self) -> &[Source] {
        &self.sources
    }

    fn readings(&self) -> Vec<Reading<String>> {
        let text = |r: &Reading<T>| Reading {
            value: r.value.cell(),
            confidence: r.confidence,
            source: r.source,
            said_at: r.said_at.clone(),
            terms: r.terms,
        };
        self.others.iter().map(text).collect()
    }

    fn believe(&mut self, alone: f64) {
        let others: f64 = self.others.iter().map(|o| o.confidence.get()).sum();
        let sure = (1.0 - others).min(alone);
        self.confidence = Confidence::new(sure.max(self.confidence.get()));
    }

    fn at_most(&mut self, most: f64) {
        self.confidence = Confidence::new(self.confidence.get().min(most));
    }

    fn confirm(&mut self) {
        self.confidence = Confidence::SURE;
        if !self.sources.contains(&Source::Edit) {
            self.sources.push(Source::Edit);
        }
        self.why.push("found right by hand".to_owned());
    }
}

/// The slot of a field; none for those that are no settled value.
macro_rules! slot {
    ($frame:expr, $field:expr, $as:ident, $kind:ty) => {
        match $field {
            Field::Camera => $frame.camera.$as().map(|s| s as $kind),
            Field::Lens => $frame.lens.$as().map(|s| s as $kind),
            Field::Film => $frame.film.$as().map(|s| s as $kind),
            Field::FocalMm => $frame.focal_mm.$as().map(|s| s as $kind),
            Field::Ei => $frame.ei.$as().map(|s| s as $kind),
            Field::Shutter => $frame.shutter.$as().map(|s| s as $kind),
            Field::Aperture => $frame.aperture.$as().map(|s| s as $kind),
            Field::Filter => $frame.filter.$as().map(|s| s as $kind),
            Field::CompStops => $frame.comp.$as().map(|s| s as $kind),
            Field::Light => $frame.light.$as().map(|s| s as $kind),
            Field::Support => $frame.support.$as().map(|s| s as $kind),
            Field::Subject => $frame.subject.$as().map(|s| s as $kind),
            Field::Place => $frame.place.$as().map(|s| s as $kind),
            Field::Process => $frame.process.$as().map(|s| s as $kind),
            Field::Roll | Field::Frame | Field::Status | Field::Scan | Field::Taken | Field::BoxIso | Field::Extras => {
                None
            }
        }
    };
}

impl Frame {
    /// What the value of a field rests on, where it has one.
    pub fn ground(&self, field: Field) -> Option<&dyn Ground> {
        slot!(self, field, as_ref, &dyn Ground)
    }

    /// The same, to be changed.
    pub fn ground_mut(&mut self, field: Field) -> Option<&mut dyn Ground> {
        slot!(self, field, as_mut, &mut dyn Ground)
    }

    /// The readings of a field that did not win, as in the table's cells, likeliest first.
    pub fn readings(&self, field: Field) -> Vec<Reading<String>> {
        self.ground(field).map(Ground::readings).unwrap_or_default()
    }
}
