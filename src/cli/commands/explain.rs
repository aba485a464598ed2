//! `spooltalk explain`: what a frame's values rest on.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::cli::Exit;
use crate::cli::args::ExplainArgs;
use crate::cli::failure::Failure;
use crate::cli::{print, settle};
use crate::facts::{FrameNumber, Reading, RollName, Settled, Terms};
use crate::output::safe_stem;
use crate::roll::Frame;

/// Prints what was heard for a frame, what else it could have been, and why one value won.
pub fn explain(args: &ExplainArgs) -> Result<Exit, Failure> {
    let name = RollName::new(&args.roll).map_err(Failure::usage)?;
    let number: FrameNumber = args.frame.parse().map_err(Failure::usage)?;
    let rolls = settle::results(&args.trip, args.out.as_deref())?.join("rolls");
    let frames = frames_of(&rolls, &name)?;
    let Some(frame) = frames.iter().find(|f| f.number == number) else {
        let there: Vec<String> = frames.iter().map(|f| f.number.to_string()).collect();
        let why = format!("roll {name} has no frame {number}: there are {}", there.join(", "));
        return Err(Failure::nothing(why));
    };
    print::text(&shown(&name, frame))
}

/// The roll's frames as `ingest` last wrote them.
fn frames_of(rolls: &Path, name: &RollName) -> Result<Vec<Frame>, Failure> {
    let own = rolls.join(format!("{}.jsonl", safe_stem(name.as_str())));
    // The roll may be called otherwise than its file: 7 for R07.
    let path = if own.is_file() { own } else { namesake(rolls, name)? };
    let text = fs::read_to_string(&path).map_err(|e| Failure::at(&path, e))?;
    let mut frames = Vec::new();
    for line in text.lines() {
        let line: Value =
            serde_json::from_str(line).map_err(|e| Failure::at(&path, format_args!("{e}: run ingest again")))?;
        if let Some(record) = line.get("record") {
            let frame = serde_json::from_value(record.clone());
            frames.push(frame.map_err(|e| Failure::at(&path, format_args!("{e}: run ingest again")))?);
        }
    }
    Ok(frames)
}

fn namesake(rolls: &Path, name: &RollName) -> Result<PathBuf, Failure> {
    let entries = fs::read_dir(rolls)
        .map_err(|e| Failure::at(rolls, format_args!("{e}: run `spooltalk ingest` on the trip first")))?;
    let mut paths: Vec<PathBuf> = entries.filter_map(Result::ok).map(|e| e.path()).collect();
    paths.retain(|p| p.extension().is_some_and(|e| e == "jsonl"));
    paths.sort();
    let named = |p: &PathBuf| p.file_stem().and_then(|s| RollName::new(&s.to_string_lossy()).ok());
    match paths.iter().find(|p| named(p).as_ref() == Some(name)) {
        Some(path) => Ok(path.clone()),
        None => {
            let there: Vec<String> = paths.iter().filter_map(named).map(|n| n.to_string()).collect();
            Err(Failure::nothing(format_args!("no roll {name}: there are {}", there.join(", "))))
        }
    }
}

/// Everything that the frame's record says of its ground.
fn shown(roll: &RollName, f: &Frame) -> String {
    let mut out = format!("roll {roll}, frame {} ({})\n", f.number, f.status.as_str());
    for quote in &f.said {
        let _ = writeln!(out, "  said: \"{}\"  ({} at {:.1} s)", quote.text, quote.at.clip, quote.at.at_s);
    }
    if !f.scans.is_empty() {
        let _ = writeln!(out, "  scan: {} ({:.0} % sure)", f.scans.join(", "), f.scan_confidence * 100.0);
    }
    value(&mut out, "shutter", &f.shutter);
    value(&mut out, "aperture", &f.aperture);
    value(&mut out, "focal_mm", &f.focal_mm);
    value(&mut out, "filter", &f.filter);
    value(&mut out, "film", &f.film);
    value(&mut out, "ei", &f.ei.clone().map(|s| s.map(|ei| ei.get())));
    value(&mut out, "comp_stops", &f.comp.clone().map(|s| s.map(|c| c.get())));
    value(&mut out, "camera", &f.camera);
    value(&mut out, "lens", &f.lens);
    value(&mut out, "light", &f.light);
    value(&mut out, "support", &f.support);
    value(&mut out, "subject", &f.subject);
    value(&mut out, "place", &f.place);
    value(&mut out, "process", &f.process);
    for (flag, reason) in &f.reasons {
        let _ = writeln!(out, "\n  {flag}: {reason}");
    }
    out.chars().filter(|c| *c == '\n' || !c.is_control()).collect()
}

fn value<T: std::fmt::Display>(out: &mut String, name: &str, settled: &Option<Settled<T>>) {
    let Some(s) = settled else { return };
    let sources: String = s.sources.iter().map(|s| format!("+{}", s.as_str())).collect();
    let from = if sources.is_empty() { "kit" } else { &sources[1..] };
    let _ = writeln!(out, "\n  {name}: {} ({:.1} % sure, {from})", s.value, s.confidence.get() * 100.0);
    for why in &s.why {
        let _ = writeln!(out, "    because {why}");
    }
    let weighed = |terms: &Terms| *terms != Terms::default() && !s.others.is_empty();
    if weighed(&s.terms) {
        let _ = writeln!(out, "    weighed: {}", parts(&s.terms));
    }
    for Reading { value, confidence, source, said_at, terms } in &s.others {
        let at = said_at.as_ref().map_or(String::new(), |m| format!(", {} at {:.1} s", m.clip, m.at_s));
        let of = if weighed(terms) { format!("; {}", parts(terms)) } else { String::new() };
        let _ = writeln!(out, "    or {value} ({:.1} %, {}{at}{of})", confidence.get() * 100.0, source.as_str());
    }
}

/// The evidence for a reading, part by part, as it was before its weights.
fn parts(t: &Terms) -> String {
    format!(
        "sound {:+.1}, wording {:+.1}, gear {:+.1}, neighbours {:+.1}, light {:+.1}",
        t.sound, t.wording, t.gear, t.neighbours, t.light
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exposure::{Shutter, Speed};
    use crate::facts::{Confidence, Field, Flag, Source};
    use crate::roll::Status;

    #[test]
    fn every_reading_is_shown_with_its_weight() {
        let mut f = Frame::blank(FrameNumber::new(3), Status::Ok);
        let timed = |n| Shutter::Timed(Speed::fraction(n));
        let mut settled = Settled::from_one(timed(125), Confidence::new(0.72), Source::Voice);
        settled.why.push("the dial has it".to_owned());
        let mut other = Reading::new(timed(25), Confidence::new(0.28), Source::Voice);
        other.terms = Terms { sound: -6.25, neighbours: -2.0, ..Terms::default() };
        settled.others.push(other);
        f.shutter = Some(settled);
        f.flag(Flag::Unsure(Field::Shutter), "two readings are close");
        let text = shown(&RollName::new("7").unwrap(), &f);
        for part in [
            "frame 3",
            "shutter: 1/125 (72.0 % sure, voice)",
            "because the dial has it",
            "or 1/25 (28.0 %, voice; sound -6.2, wording +0.0, gear +0.0, neighbours -2.0, light +0.0)",
            "unsure:shutter: two",
        ] {
            assert!(text.contains(part), "no '{part}' in\n{text}");
        }
    }
}
