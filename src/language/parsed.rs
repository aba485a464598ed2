//! What a text says, as `spooltalk parse` prints it.

use serde_json::{Map, Value, json};

use crate::exposure::{ExposureIndex, ev100};
use crate::facts::{Field, Flag};
use crate::kit::{Filters, Kit};

use super::note::Told;
use crate::language::compose::{FrameSaid, NoteSaid, Sure};

/// One JSON object: `note`, `frames`, `roll`, `flags`, `unread`. Values less sure than
/// `unsure_below` are flagged.
pub fn parsed(told: &Told, text: &str, kit: &Kit, unsure_below: f64, number: usize) -> Value {
    let said = &told.said;
    let mut all = Vec::new();
    let frames: Vec<Value> = said
        .frames
        .iter()
        .map(|f| {
            let mut put = Put { map: Map::new(), flags: Vec::new(), unsure_below };
            frame(f, kit, said, &mut put);
            put.flags.sort();
            put.flags.dedup();
            if !put.flags.is_empty() {
                put.map.insert("flags".to_owned(), json!(texts(&put.flags)));
            }
            all.extend(put.flags);
            Value::Object(put.map)
        })
        .collect();
    let mut roll = Put { map: Map::new(), flags: Vec::new(), unsure_below };
    roll.put(Field::Roll, &said.roll.name, |v| json!(v));
    roll.put(Field::Film, &said.roll.film, |v| json!(kit.films[*v].name));
    if said.roll.film.is_none() && said.roll.film_as_said.is_some() {
        roll.put(Field::Film, &said.roll.film_as_said, |v| json!(v));
        roll.flags.push(Flag::Odd(Field::Film));
    }
    roll.put(Field::Ei, &said.roll.ei, |v| json!(v.round() as u64));
    roll.put(Field::Camera, &said.roll.camera, |v| json!(kit.cameras[*v].name));
    roll.put(Field::Process, &said.roll.process, |v| json!(v));
    all.extend(roll.flags);
    all.sort();
    all.dedup();
    let unread: Vec<Value> = said
        .unread
        .iter()
        .map(|t| {
            let (from, to) = (told.tokens[t.start].span.start, told.tokens[t.end - 1].span.end);
            json!({"text": &text[from..to], "from": from, "to": to})
        })
        .collect();
    json!({"note": number, "frames": frames, "roll": roll.map, "flags": texts(&all), "unread": unread})
}

fn texts(flags: &[Flag]) -> Vec<String> {
    flags.iter().map(Flag::to_string).collect()
}

struct Put {
    map: Map<String, Value>,
    flags: Vec<Flag>,
    unsure_below: f64,
}

impl Put {
    fn put<T>(&mut self, field: Field, value: &Option<Sure<T>>, show: impl Fn(&T) -> Value) {
        if let Some(s) = value {
            self.map.insert(field.as_str().to_owned(), show(&s.value));
            if s.sure < self.unsure_below {
                self.flags.push(Flag::Unsure(field));
            }
        }
    }
}

fn number(n: f64) -> Value {
    if n.fract() == 0.0 { json!(n as i64) } else { json!((n * 100.0).round() / 100.0) }
}

fn frame(f: &FrameSaid, kit: &Kit, said: &NoteSaid, put: &mut Put) {
    put.put(Field::Frame, &f.number, |v| json!(v.to_string()));
    if let Some(sure) = f.wasted {
        put.put(Field::Status, &Some(Sure::new((), sure, 0..0)), |()| json!("wasted"));
    }
    put.put(Field::Camera, &f.camera, |v| json!(kit.cameras[*v].name));
    put.put(Field::Lens, &f.lens, |v| json!(kit.lenses[*v].name));
    if f.lens.is_none() && f.lens_as_said.is_some() {
        put.put(Field::Lens, &f.lens_as_said, |v| json!(v));
        put.flags.push(Flag::Odd(Field::Lens));
    }
    put.put(Field::FocalMm, &f.focal, |v| number(*v));
    put.put(Field::Film, &f.film, |v| json!(kit.films[*v].name));
    put.put(Field::Ei, &f.ei, |v| json!(v.round() as u64));
    put.put(Field::Shutter, &f.shutter, |v| json!(v.to_string()));
    put.put(Field::Aperture, &f.aperture, |v| json!(v.to_string()));
    put.put(Field::Filter, &f.filter, |v| json!(Filters(v.clone()).to_string()));
    if f.filter_unknown {
        put.flags.push(Flag::Odd(Field::Filter));
    }
    put.put(Field::CompStops, &f.comp, |v| number(*v));
    put.put(Field::Light, &f.light, |v| json!(v));
    put.put(Field::Support, &f.support, |v| json!(v));
    put.put(Field::Subject, &f.subject, |v| json!(v));
    put.put(Field::Process, &f.process, |v| json!(v));
    if f.either {
        put.flags.extend([Flag::Unsure(Field::Shutter), Flag::Unsure(Field::Aperture)]);
    }
    derived(f, kit, said, put);
}

/// What follows from the values: the time in seconds, the light lost, the exposure value.
fn derived(f: &FrameSaid, kit: &Kit, said: &NoteSaid, put: &mut Put) {
    let seconds = f.shutter.as_ref().and_then(|s| s.value.seconds());
    let mut add = |name: &str, v: Option<f64>| {
        if let Some(v) = v {
            put.map.insert(name.to_owned(), json!((v * 100_000.0).round() / 100_000.0 + 0.0));
        }
    };
    add("shutter_s", seconds);
    let filters = f.filter.as_ref().map(|s| Filters(s.value.clone()));
    add("filter_stops", filters.and_then(|f| kit.lost_to(&f)).map(|s| s.get()));
    let ei = f.ei.as_ref().or(said.roll.ei.as_ref()).and_then(|s| ExposureIndex::new(s.value.round() as u32));
    let ev = match (&f.aperture, &f.shutter, ei) {
        (Some(a), Some(s), Some(ei)) => ev100(a.value, s.value, ei).map(|e| e.get()),
        _ => None,
    };
    add("ev100", ev.map(|e| (e * 100.0).round() / 100.0));
}
