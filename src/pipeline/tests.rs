//! The whole way with a recogniser that says what it was told to.

use std::path::Path;

use crate::kit::Kit;
use crate::plan::{Ears, Plan};
use crate::report::Report;
use crate::speech::{Recogniser, Script, Transcript, Utterance, Word};
use crate::trip::TripLayout;

use super::{Stopped, Unwatched, ingest};
use crate::language::Language;

const KIT: &str = r#"
[[camera]]
name = "Quill 66"
format = "6x6"
shutters = ["1s", "1/500"]

[photographer]
timezone = "Europe/Lisbon"
"#;

/// Half a second of silence, under a name that tells its time.
fn clip(trip: &Path) {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    std::fs::create_dir_all(trip.join("notes")).unwrap();
    let mut wav = hound::WavWriter::create(trip.join("notes/20250913_091500.wav"), spec).unwrap();
    (0..8_000).for_each(|_| wav.write_sample(0_i16).unwrap());
    wav.finalize().unwrap();
}

fn plan(trip: &Path) -> Plan {
    let kit = Kit::parse(KIT).unwrap();
    Plan {
        layout: TripLayout::read(trip).unwrap(),
        out: trip.join("out"),
        zone: kit.habits.timezone.as_deref().map(|z| jiff::tz::TimeZone::get(z).unwrap()),
        kit,
        unsure_below: 0.8,
        archive: None,
        embed: None,
        ears: Ears { model: Err("no model".to_owned()), cache: None, jobs: None },
    }
}

fn said(text: &str, start_s: f64) -> Transcript {
    let words = text.split_whitespace().map(|w| Word { start_s, end_s: start_s + 0.3, ..Word::written(w) }).collect();
    let utterance = Utterance { start_s, end_s: start_s + 3.0, words, scored: Vec::new() };
    Transcript { utterances: vec![utterance], broken_off_s: None }
}

#[test]
fn what_is_heard_lands_on_its_frame_with_its_time() {
    let dir = tempfile::tempdir().unwrap();
    clip(dir.path());
    let load = || -> Result<Box<dyn Recogniser>, String> {
        Ok(Box::new(Script::new([said("Roll seven. Frame one, f8 at a sixtieth.", 61.5)])))
    };
    let mut report = Report::default();
    let done =
        ingest(&plan(dir.path()), &Language::english(plan(dir.path()).kit), &load, &Unwatched, &mut report).unwrap();
    assert!(report.is_clean(), "{:?}", report.entries());
    let [roll] = &done.trip.rolls[..] else { panic!("{:?}", done.trip) };
    assert_eq!((roll.name.as_str(), roll.frames.len()), ("7", 1));
    let frame = &roll.frames[0];
    assert_eq!(frame.shutter.as_ref().unwrap().value.to_string(), "1/60");
    assert_eq!((frame.said[0].at.clip.as_str(), frame.said[0].at.at_s), ("20250913_091500.wav", 61.5));
    // Portugal's summer time is an hour ahead of UTC; a minute passed before it was said.
    assert_eq!(frame.taken.as_ref().unwrap().rfc3339(), "2025-09-13T09:16:01+01:00");
    assert!(dir.path().join("out/rolls/7.csv").is_file());
}

#[test]
fn without_ears_clips_alone_are_nothing() {
    let dir = tempfile::tempdir().unwrap();
    clip(dir.path());
    let load = || -> Result<Box<dyn Recogniser>, String> { Err("no model".to_owned()) };
    let mut report = Report::default();
    let stopped = ingest(&plan(dir.path()), &Language::english(plan(dir.path()).kit), &load, &Unwatched, &mut report)
        .unwrap_err();
    assert!(matches!(stopped, Stopped::NoModel(_)), "{stopped}");
    assert_eq!(report.entries().len(), 1);
    assert!(!dir.path().join("out/rolls").exists());
}
