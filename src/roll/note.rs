//! One note read on its own, as `spooltalk parse` shows it.

use std::fmt::Write as _;

use serde_json::{Map, Value, json};

use crate::facts::{Field, Flag, Settled};
use crate::language::Language;
use crate::language::act::Mode;

use super::Status;
use super::build::{Builder, NoteAt};
use super::shots::Shot;

/// What one note records.
pub struct Note {
    frames: Vec<Value>,
    roll: Map<String, Value>,
    flags: Vec<Flag>,
}

/// Reads one note; nothing is carried from any other.
pub fn read(language: &Language, text: &str, unsure_below: f64) -> Note {
    let mut builder = Builder::new(language, unsure_below);
    builder.carries = false;
    builder.begin_note();
    builder.note = NoteAt { text: text.to_owned(), ..NoteAt::default() };
    builder.read_text();
    builder.end_note();
    builder.into_note()
}

/// The stages of reading a note, for a person: words, phrases, acts, record.
pub fn explain(language: &Language, text: &str, unsure_below: f64, number: usize) -> String {
    let stages = language.stages(text);
    let mut out = format!("{number}: {text}\n  phrases\n");
    let _ = write!(out, "{}", stages.phrases());
    out.push_str("  acts\n");
    for said in &stages.acts {
        let words = text.get(said.span.clone()).unwrap_or_default();
        let mode = if said.mode == Mode::Real { String::new() } else { format!(" [{:?}]", said.mode) };
        let doubt = if said.doubt { " [doubted]" } else { "" };
        let mended = if said.mended < 1.0 { format!(" [mended, {:.2} sure]", said.mended) } else { String::new() };
        let _ = writeln!(out, "    {words:?}: {:?}{mode}{doubt}{mended}", said.act);
    }
    let note = read(language, text, unsure_below);
    let _ = write!(out, "  record\n    {}", note.json(number));
    out
}

impl Builder<'_> {
    fn into_note(self) -> Note {
        let kit = self.kit();
        let mut roll = Map::new();
        let mut flags: Vec<Flag> = self.roll_flags.clone();
        let mut frames = Vec::new();
        // Where a note speaks of frames in two cameras, each frame tells which.
        let mut cameras: Vec<Option<usize>> =
            self.rolls.iter().filter(|r| !r.shots.is_empty()).map(|r| r.camera).collect();
        cameras.dedup();
        let several = cameras.len() > 1;
        for open in &self.rolls {
            let facts = &open.facts;
            let mut put = |field: Field, s: Option<(Value, f64)>| {
                if let Some((v, c)) = s {
                    roll.insert(field.as_str().to_owned(), v);
                    if c < self.unsure_below {
                        flags.push(Flag::Unsure(field));
                    }
                }
            };
            put(Field::Roll, facts.name.as_ref().map(|s| (json!(s.value), s.confidence.get())));
            put(Field::Film, facts.film.as_ref().map(|s| (json!(s.value), s.confidence.get())));
            put(Field::Ei, facts.ei.as_ref().map(|s| (json!(s.value.round() as u64), s.confidence.get())));
            put(Field::Process, facts.process.as_ref().map(|s| (json!(s.value), s.confidence.get())));
            for shot in &open.shots {
                let mut frame = frame(shot);
                if let Some(c) = open.camera.filter(|_| several).and_then(|c| kit.cameras.get(c)) {
                    frame[Field::Camera.as_str()] = json!(c.name);
                }
                frames.push(frame);
                flags.extend(shot.frame.flags.iter().copied());
            }
        }
        if self.camera_said
            && !several
            && let Some(c) = self.camera.and_then(|c| kit.cameras.get(c))
        {
            roll.insert("camera".to_owned(), json!(c.name));
        }
        flags.sort();
        flags.dedup();
        Note { frames, roll, flags }
    }
}

fn frame(shot: &Shot) -> Value {
    fn text<T: std::fmt::Display>(s: &Option<Settled<T>>) -> Option<Value> {
        s.as_ref().map(|s| json!(s.value.to_string()))
    }
    fn number(n: f64) -> Value {
        if n.fract() == 0.0 { json!(n as i64) } else { json!((n * 100.0).round() / 100.0) }
    }
    let f = &shot.frame;
    let fields = [
        (Field::Frame, (!shot.numbers.is_empty()).then(|| json!(f.number.to_string()))),
        (Field::Status, (f.status == Status::Wasted).then(|| json!(f.status.as_str()))),
        (Field::Lens, text(&f.lens)),
        (Field::FocalMm, f.focal_mm.as_ref().map(|s| number(s.value))),
        (Field::Shutter, text(&f.shutter)),
        (Field::Aperture, text(&f.aperture)),
        (Field::Filter, text(&f.filter)),
        (Field::CompStops, f.comp.as_ref().map(|s| number(s.value.get()))),
        (Field::Light, text(&f.light)),
        (Field::Support, text(&f.support)),
        (Field::Subject, text(&f.subject)),
        (Field::Place, text(&f.place)),
    ];
    let mut map: Map<String, Value> =
        fields.into_iter().filter_map(|(k, v)| v.map(|v| (k.as_str().to_owned(), v))).collect();
    if !f.flags.is_empty() {
        map.insert("flags".to_owned(), json!(f.flags.iter().map(Flag::to_string).collect::<Vec<_>>()));
    }
    Value::Object(map)
}

impl Note {
    /// As a JSON object of the contract: `note`, `frames`, `roll`, `flags`.
    pub fn json(&self, number: usize) -> Value {
        json!({
            "note": number,
            "frames": self.frames,
            "roll": self.roll,
            "flags": self.flags.iter().map(Flag::to_string).collect::<Vec<_>>(),
        })
    }
}
