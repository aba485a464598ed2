//! One note read on its own, as `spooltalk parse` shows it.

use std::fmt::Write as _;

use serde_json::{Map, Value, json};

use crate::facts::{Confidence, Field, Flag, FrameNumber, Settled, Source};
use crate::kit::Kit;
use crate::language::compose::FrameSaid;
use crate::language::parsed;
use crate::language::{Aside, DevelopingSaid, Language, Told};

use crate::roll::record::{Developed, Focus, Frame, Status};
use crate::roll::settle::on_lens;
use crate::roll::story;

/// Reads one note; nothing is carried from any other. A JSON object of the contract.
pub fn read(language: &Language, text: &str, unsure_below: f64, number: usize) -> Value {
    let (talk, developing) = developing(language, text);
    shown(&language.told(&talk), text, &developing, language.kit(), unsure_below, number)
}

/// Sentences of developing, and the text with blanks in their place, so that all else stays where it was.
fn developing(language: &Language, text: &str) -> (String, Vec<DevelopingSaid>) {
    let (mut talk, mut all) = (String::with_capacity(text.len()), Vec::new());
    let mut from = 0;
    while from < text.len() {
        let mut ends = text[from..].match_indices(['.', '!', '?', '…', ';']).map(|(at, mark)| from + at + mark.len());
        // The point of "5.6" ends nothing.
        let to = ends.find(|at| text[*at..].starts_with(char::is_whitespace)).unwrap_or(text.len());
        match language.developing(&text[from..to]) {
            Some(said) => {
                talk.extend(std::iter::repeat_n(' ', to - from));
                all.push(said);
            }
            None => talk.push_str(&text[from..to]),
        }
        from = to;
    }
    (talk, all)
}

/// What a note records, with what was said beside the settings and of developing.
fn shown(told: &Told, text: &str, developing: &[DevelopingSaid], kit: &Kit, unsure_below: f64, number: usize) -> Value {
    let mut note = parsed(told, text, kit, unsure_below, number);
    let begins: Vec<usize> = told.said.frames.iter().map(|f| begin(f, told)).collect();
    // Where the next frame begins elsewhere; frames that begin together share what is said of them.
    let mut nexts = vec![usize::MAX; begins.len()];
    for i in (0..begins.len().saturating_sub(1)).rev() {
        nexts[i] = if begins[i + 1] > begins[i] { begins[i + 1] } else { nexts[i + 1] };
    }
    let mut flags: Vec<String> = Vec::new();
    for (i, said) in told.said.frames.iter().enumerate() {
        // What is said before the first frame is of it.
        let from = if i == 0 { 0 } else { begins[i] };
        // In the order said.
        let place = |token: usize| told.asides.partition_point(|a| a.tokens.start < token);
        let own = told.asides.get(place(from)..place(nexts[i])).unwrap_or_default().to_vec();
        if own.is_empty() {
            continue;
        }
        let frame = with_asides(said, &own, kit, unsure_below);
        let object = note["frames"][i].as_object_mut().expect("frames are objects");
        object.extend(beside(&frame));
        let raised = frame.flags.iter().map(ToString::to_string);
        let mut all: Vec<String> = texts(object.get("flags")).into_iter().chain(raised.clone()).collect();
        flags.extend(raised);
        all.dedup();
        if !all.is_empty() {
            object.insert("flags".to_owned(), json!(all));
        }
    }
    let mut all = texts(note.get("flags"));
    for flag in flags {
        if !all.contains(&flag) {
            all.push(flag);
        }
    }
    note["flags"] = json!(all);
    let roll = note["roll"].as_object_mut().expect("the roll is an object");
    for said in developing {
        for (name, part) in Developed::from(said).parts() {
            roll.insert(name.to_owned(), json!(part));
        }
        let known = [("roll", &said.roll), ("process", &said.process)];
        for (name, value) in known.into_iter().filter_map(|(name, v)| Some((name, v.as_ref()?))) {
            roll.entry(name).or_insert_with(|| json!(value));
        }
    }
    note
}

fn texts(list: Option<&Value>) -> Vec<String> {
    list.and_then(Value::as_array).into_iter().flatten().filter_map(|v| v.as_str().map(str::to_owned)).collect()
}

/// What stands beside the settings, under the names that the table's columns have.
fn beside(frame: &Frame) -> Map<String, Value> {
    let x = &frame.extras;
    let rounded = |n: f64| {
        let n = (n * 100.0).round() / 100.0 + 0.0;
        if n.fract() == 0.0 { json!(n as i64) } else { json!(n) }
    };
    let mut all = Map::new();
    let mut put = |name: &str, value: Option<Value>| all.extend(value.map(|v| (name.to_owned(), v)));
    let names = x.names();
    put("extras", (!names.is_empty()).then(|| json!(names.join("+"))));
    let costs = x.converter.is_some() || x.draw.is_some();
    put("extra_stops", x.lost().filter(|_| costs).map(|s| rounded(s.get())));
    put("focal_mm", frame.focal_mm.as_ref().filter(|_| x.converter.is_some()).map(|f| rounded(f.value)));
    put(
        "focus_m",
        x.focus.map(|f| match f {
            Focus::Metres(m) => rounded(m),
            Focus::Infinity => json!("infinity"),
        }),
    );
    put("rating", frame.rating.map(|n| json!(n)));
    put("place", frame.place.as_ref().map(|p| json!(p.value)));
    put("lat", frame.position.map(|p| json!(p.lat)));
    put("lon", frame.position.map(|p| json!(p.lon)));
    all
}

/// The token at which the words of a frame begin.
fn begin(frame: &FrameSaid, told: &Told) -> usize {
    let openers = frame.begun_by.iter().map(|o| told.read.mentions[*o].tokens.start);
    openers.chain(frame.shutter.iter().map(|s| s.tokens.start)).min().unwrap_or(0)
}

/// A frame of which only this is known: what follows from what was said beside the settings needs no more.
fn with_asides(said: &FrameSaid, asides: &[Aside], kit: &Kit, unsure_below: f64) -> Frame {
    let number = said.number.as_ref().map_or(FrameNumber::new(0), |n| n.value);
    let mut frame = Frame::blank(number, Status::Ok);
    let voice = |focal: f64, sure: f64| Settled::from_one(focal, Confidence::new(sure), Source::Voice);
    frame.focal_mm = said.focal.as_ref().map(|f| voice(f.value, f.sure));
    frame.extras.converter = story::converted(kit, asides).flatten();
    story::beside(kit, &mut frame, asides);
    on_lens::fit(&mut frame, kit);
    if frame.place.as_ref().is_some_and(|p| p.confidence.get() < unsure_below) {
        frame.flag(Flag::Unsure(Field::Place), "nearly said");
    }
    frame
}

/// The stages of reading a note, for a person: phrases, mentions, record.
pub fn explain(language: &Language, text: &str, unsure_below: f64, number: usize) -> String {
    let (talk, developing) = developing(language, text);
    let told = language.told(&talk);
    let mut out = format!("{number}: {text}\n  phrases\n{}  mentions\n", told.phrases());
    for (i, m) in told.read.mentions.iter().enumerate() {
        let words = &text[told.tokens[m.tokens.start].span.start..told.tokens[m.tokens.end - 1].span.end];
        let goes: Vec<String> =
            (0..told.read.mentions.len()).map(|k| format!("{:.2}", told.read.together(i, k))).collect();
        let _ = writeln!(
            out,
            "    {words:?}: {:?} {:.2}, done {:.2} metered {:.2} withdrawn {:.2}, begins {:.2}, again {:.2}, {:?} {:.2}, with {}",
            m.role,
            m.sure,
            m.standing[0],
            m.standing[1],
            m.standing[2],
            m.opens,
            m.again,
            m.effect.0,
            m.effect.1,
            goes.join(" ")
        );
    }
    let _ = write!(out, "  record\n    {}", shown(&told, text, &developing, language.kit(), unsure_below, number));
    out
}
