//! What the page is told, as JSON.

use std::collections::BTreeMap;

use serde_json::{Value, json};

use crate::edits::Column;
use crate::facts::{FrameNumber, RollName};
use crate::output::words;
use crate::roll::{Frame, Quote, Roll};

use super::doubt::{About, Gravity, onward};
use super::question::place_of;
use super::session::Session;
use super::show;

/// Seconds of a clip that are played before and after the words in doubt.
const AROUND_S: f64 = 2.0;
/// Frames shown to either side of the one in question.
const BESIDE: usize = 4;

/// Which question is wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wanted {
    /// The one at this place in the list, the gravest at 0; past the end, the last.
    At(usize),
    /// The one after that of this name, from the first again at the end.
    After(String),
    /// The one before.
    Before(String),
    /// The one of this name; else the gravest.
    This(String),
}

/// The state of the review with one question.
pub fn state(session: &Session, wanted: &Wanted, told: &[String]) -> Value {
    let doubts = session.doubts();
    let place = |id: &str| doubts.iter().position(|d| d.id() == id);
    let n = doubts.len();
    let at = match wanted {
        Wanted::At(at) => (*at).min(n.saturating_sub(1)),
        Wanted::This(id) => place(id).unwrap_or(0),
        Wanted::After(id) => place(id).map_or(0, |i| (i + 1) % n.max(1)),
        Wanted::Before(id) => place(id).map_or(0, |i| (i + n - 1) % n.max(1)),
    };
    let left: Vec<Value> = Gravity::ALL
        .iter()
        .map(|g| (g, doubts.iter().filter(|d| d.gravity == *g).count()))
        .filter(|(_, n)| *n > 0)
        .map(|(g, n)| json!({"label": g.label(), "n": n}))
        .collect();
    let question = doubts.get(at).and_then(|d| session.ask(d)).map(|q| {
        let mut value = serde_json::to_value(&q).expect("questions have only text keys");
        let shown = frame(session, &q.roll, q.frame);
        value.as_object_mut().expect("an object").insert("shown".into(), shown);
        value
    });
    json!({
        "trip": session.trip().name,
        "left": left,
        "total": n,
        "at": at,
        "question": question,
        "undo": session.can_undo(),
        "told": told,
        "rolls": session.trip().rolls.iter().map(|r| &r.name).collect::<Vec<_>>(),
    })
}

/// A frame with all that is known of it, and the frames beside it.
pub fn frame(session: &Session, roll: &RollName, number: FrameNumber) -> Value {
    let Some(roll) = session.trip().rolls.iter().find(|r| r.name == *roll) else { return Value::Null };
    let Some(at) = place_of(roll, number) else { return Value::Null };
    let frame = &roll.frames[at];
    let beside = &roll.frames[at.saturating_sub(BESIDE)..roll.frames.len().min(at + BESIDE + 1)];
    let edge: Vec<Value> = frame.edge.iter().map(|line| json!({"raw": line.raw, "image": line.image})).collect();
    json!({
        "number": frame.number,
        "status": words::status(frame.status),
        "settings": settings(frame),
        "cells": columns(roll, frame),
        "onward": carried_on(roll, at),
        "flags": frame.flags.iter().map(|f| words::flag(*f)).collect::<Vec<_>>(),
        "looked_at": frame.looked_at.iter().map(|f| words::flag(*f)).collect::<Vec<_>>(),
        "scans": frame.scans,
        "said": frame.said.iter().map(|q| quote(session, q)).collect::<Vec<_>>(),
        "edge": edge,
        "beside": beside.iter().map(small).collect::<Vec<_>>(),
    })
}

/// All frames of a roll in brief, and what holds for it.
pub fn roll(session: &Session, name: &RollName) -> Value {
    let Some(roll) = session.trip().rolls.iter().find(|r| r.name == *name) else { return Value::Null };
    json!({
        "name": roll.name,
        "camera": roll.camera,
        "film": roll.film,
        "ei": roll.ei,
        "process": roll.process,
        "frames": roll.frames.iter().map(small).collect::<Vec<_>>(),
        "other_scans": roll.other_scans,
    })
}

fn small(frame: &Frame) -> Value {
    json!({
        "number": frame.number,
        "status": frame.status.as_str(),
        "settings": settings(frame),
        "subject": frame.subject.as_ref().map(|s| &s.value),
        "scan": frame.scans.first(),
        "doubt": words::in_doubt(frame),
    })
}

fn settings(frame: &Frame) -> String {
    words::settings(frame).into_iter().map(|(_, text)| text).collect::<Vec<_>>().join(" · ")
}

/// The frames that hang on what this one has, by column.
fn carried_on(roll: &Roll, at: usize) -> BTreeMap<&'static str, Vec<FrameNumber>> {
    let of = |c: Column| Some((c.as_str(), onward(roll, at, About::Field(c.as_str().parse().ok()?))));
    Column::values().filter_map(of).filter(|(_, frames)| !frames.is_empty()).collect()
}

/// Columns with their cells, in the order of the table.
fn columns(roll: &Roll, frame: &Frame) -> Vec<(&'static str, String)> {
    Column::values().map(|c| (c.as_str(), show::cell(roll, frame, c))).collect()
}

/// Words with the clip they stand in, and every word around them with its time.
fn quote(session: &Session, quote: &Quote) -> Value {
    let at = &quote.at;
    let from = (at.at_s - AROUND_S).max(0.0);
    let to = at.end_s + AROUND_S;
    let all = session.kept().words.get(&at.clip);
    let words: Vec<&(f64, f64, String)> =
        all.into_iter().flatten().filter(|(start, end, _)| *end >= from && *start <= to).collect();
    json!({
        "text": quote.text,
        "parts": words::parts(quote),
        "clip": at.clip,
        "at": at.at_s,
        "end": at.end_s,
        "from": from,
        "to": to,
        "words": words,
        "sound": all.is_some() || at.end_s > 0.0,
    })
}
