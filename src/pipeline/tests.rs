//! The whole way with a recogniser that says what it was told to.

use std::path::Path;

use crate::kit::Kit;
use crate::plan::{Archives, Ears, Plan};
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
        kit_file: None,
        unsure_below: 0.8,
        archives: Archives::Usual(Some(trip.join("all.db"))),
        drop_gone: false,
        embed: None,
        ears: Ears { model: Err("no model".to_owned()), plain: false, cache: None, jobs: None },
    }
}

fn said(text: &str, start_s: f64) -> Transcript {
    let words = text.split_whitespace().map(|w| Word { start_s, end_s: start_s + 0.3, ..Word::written(w) }).collect();
    let utterance = Utterance { start_s, end_s: start_s + 3.0, words, scored: Vec::new() };
    Transcript { utterances: vec![utterance], ..Transcript::default() }
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

/// A recogniser that says the same of every clip, once for each.
fn says(texts: &'static [&'static str]) -> impl Fn() -> Result<Box<dyn Recogniser>, String> {
    move || Ok(Box::new(Script::new(texts.iter().map(|t| said(t, 1.0)))))
}

fn run(trip: &Path, load: super::Load<'_>, drop_gone: bool) -> super::Done {
    let plan = Plan { drop_gone, ..plan(trip) };
    let mut report = Report::default();
    ingest(&plan, &Language::english(plan.kit.clone()), load, &Unwatched, &mut report).unwrap()
}

fn out(trip: &Path, name: &str) -> String {
    std::fs::read_to_string(trip.join("out").join(name)).unwrap()
}

#[test]
fn a_clip_that_is_gone_keeps_its_frames_and_says_so() {
    let dir = tempfile::tempdir().unwrap();
    clip(dir.path());
    let note = dir.path().join("notes/20250913_091500.wav");
    run(dir.path(), &says(&["Roll seven. Frame one, f8 at a sixtieth."]), false);
    let before = out(dir.path(), "rolls/7.csv");
    assert!(!before.contains("gone"), "{before}");

    // Renamed and moved: the same clip, heard before.
    let moved = dir.path().join("notes/day 1/pier.wav");
    std::fs::create_dir(dir.path().join("notes/day 1")).unwrap();
    std::fs::rename(&note, &moved).unwrap();
    let done = run(dir.path(), &|| Err("no model".to_owned()), false);
    assert_eq!((done.trip.rolls[0].frames.len(), done.hearing.known, done.notices.len()), (1, 1, 0));
    assert!(out(dir.path(), "rolls/7.csv").contains("day 1/pier.wav"));

    // Deleted: the frame stands, with its words, and the table, the pages and the summary say so.
    std::fs::remove_file(&moved).unwrap();
    std::fs::write(dir.path().join("notes/b.txt"), "roll seven, frame two, a thirtieth at f eleven").unwrap();
    let done = run(dir.path(), &|| Err("no model".to_owned()), false);
    let frames = &done.trip.rolls[0].frames;
    assert_eq!(frames.len(), 2);
    assert_eq!(frames[0].shutter.as_ref().unwrap().value.to_string(), "1/60");
    assert!(done.notices.iter().any(|n| n.to_string().contains("pier.wav is gone")), "{:?}", done.notices);
    let table = out(dir.path(), "rolls/7.csv");
    let rows: Vec<&str> = table.lines().collect();
    assert!(rows[1].contains("gone:clip") && rows[1].contains("sixtieth") && !rows[2].contains("gone:clip"), "{table}");
    let page = out(dir.path(), "rolls/7.html");
    assert!(page.contains("Clip gone: ") && !page.contains("pier.wav#t="), "{page}");
    assert!(out(dir.path(), "trip.md").contains("Roll 7: clip gone, its words kept: 1"));
    assert!(out(dir.path(), "trip.html").contains("with the clip gone"));

    // And it stays so until it is let go.
    assert_eq!(run(dir.path(), &|| Err("no model".to_owned()), false).trip.rolls[0].frames.len(), 2);
    let frames = run(dir.path(), &|| Err("no model".to_owned()), true).trip.rolls.remove(0).frames;
    assert_eq!(frames.len(), 1);
    assert_eq!(frames[0].number.to_string(), "2");
}

#[test]
fn a_picture_is_in_doubt_when_any_of_its_words_was_hardly_heard() {
    let dir = tempfile::tempdir().unwrap();
    clip(dir.path());
    let load = || -> Result<Box<dyn Recogniser>, String> {
        let mut heard = said(
            "Roll seven. Frame one, one twenty-fifth at f eleven, fishing boats in the Ener Harbor, hazy sun.",
            1.0,
        );
        let word = heard.utterances[0].words.iter_mut().find(|w| w.text == "Ener").unwrap();
        word.confidence = crate::facts::Confidence::new(0.12);
        Ok(Box::new(Script::new([heard])))
    };
    let done = run(dir.path(), &load, false);
    let frame = &done.trip.rolls[0].frames[0];
    let subject = crate::facts::Flag::Unsure(crate::facts::Field::Subject);
    assert!(frame.subject.as_ref().unwrap().value.contains("Ener"), "{:?}", frame.subject);
    assert!(frame.flags.contains(&subject), "{:?}", frame.flags);
    // What is in doubt is told with the doubt: it stands nowhere among the settings.
    let page = out(dir.path(), "trip.html");
    assert!(page.contains("Ener Harbor&#39;, 50 % sure") || page.contains("Ener Harbor', 50 % sure"), "{page}");
}

#[test]
fn a_text_has_no_time_of_exposure_and_subtitles_have() {
    let dir = tempfile::tempdir().unwrap();
    let notes = dir.path().join("notes");
    std::fs::create_dir_all(&notes).unwrap();
    // Saved one after the other, so that their files' times could be believed; one has a time in its name.
    std::fs::write(notes.join("a.txt"), "Roll seven, frame one, a sixtieth at f eight.").unwrap();
    std::thread::sleep(std::time::Duration::from_millis(1100));
    std::fs::write(notes.join("20250913_193000.txt"), "Roll seven, frame two, a thirtieth at f eight.").unwrap();
    let cue = "WEBVTT\n\n00:00:30.000 --> 00:00:34.000\nRoll seven, frame three, a fifteenth at f eight.\n";
    std::fs::write(notes.join("20250913_194500.vtt"), cue).unwrap();
    let done = run(dir.path(), &|| Err("no model".to_owned()), false);
    let taken: Vec<Option<String>> =
        done.trip.rolls[0].frames.iter().map(|f| f.taken.as_ref().map(crate::facts::Taken::rfc3339)).collect();
    assert_eq!(taken, [None, None, Some("2025-09-13T19:45:30+01:00".to_owned())]);
}

/// A second of a phone's video, where ffmpeg is there to make it.
fn video(path: &Path) -> bool {
    let made = std::process::Command::new("ffmpeg")
        .args(["-v", "error", "-y", "-f", "lavfi", "-i", "testsrc=size=640x360:rate=10:duration=2"])
        .args(["-f", "lavfi", "-i", "sine=duration=2", "-c:v", "mpeg4", "-shortest"])
        .arg(path)
        .status();
    made.is_ok_and(|status| status.success())
}

#[test]
fn a_phones_video_shows_what_was_in_front_of_it() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::create_dir_all(dir.path().join("notes")).unwrap();
    if !video(&dir.path().join("notes/20250913_091500.mp4")) {
        eprintln!("no ffmpeg here: nothing can be shown, and the page stands without");
        return;
    }
    run(dir.path(), &says(&["Roll seven. Frame one, f8 at a sixtieth."]), false);
    let stills = || {
        let files = std::fs::read_dir(dir.path().join("out/thumbs")).unwrap().flatten();
        files.filter(|e| e.file_name().to_string_lossy().starts_with("still-")).map(|e| e.path()).collect::<Vec<_>>()
    };
    let [still] = &stills()[..] else { panic!("{:?}", stills()) };
    // Its edge, measured by another library than the one that drew it.
    assert_eq!(image::image_dimensions(still).unwrap(), (320, 180));
    let page = out(dir.path(), "rolls/7.html");
    assert!(page.contains("class=\"still\"") && page.contains("as frame 1 was spoken of"), "{page}");
}

/// A trip with every kind of input in it, told of one by one.
#[test]
fn every_input_is_accounted_for() {
    let dir = tempfile::tempdir().unwrap();
    clip(dir.path());
    let put = |name: &str, bytes: &[u8]| {
        let path = dir.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        #[allow(clippy::disallowed_methods, reason = "tests set the scene")]
        std::fs::write(path, bytes).unwrap();
    };
    let sound = std::fs::read(dir.path().join("notes/20250913_091500.wav")).unwrap();
    put("notes/20250913_091600.wav", &sound);
    put("notes/20250913_091700.wav", &sound[..10_000]);
    put("notes/a.txt", b"");
    put("notes/b.txt", b"The weather is fine today.");
    put("notes/c.xyz", b"?");
    put("notes/d.m4a", b"no recording");
    put("scans/R7/1.jpg", b"no picture");
    put("scans/R7/index.jpg", b"no picture");
    put("scans/R7/1.xmp", b"");
    put("rebate/7.csv", b"frame,shutter\n1,1/60\n");
    put("rebate/8.csv", b"moon,cheese\n");
    let load = || -> Result<Box<dyn Recogniser>, String> {
        Ok(Box::new(Script::new([said("Roll seven. Frame one, f8 at a sixtieth.", 0.1)])))
    };
    let mut report = Report::default();
    let plan = Plan { ears: Ears { jobs: Some(1), ..plan(dir.path()).ears }, ..plan(dir.path()) };
    let done = ingest(&plan, &Language::english(plan.kit.clone()), &load, &Unwatched, &mut report).unwrap();
    let told: Vec<String> = done
        .inputs
        .iter()
        .map(|i| format!("{} {}, {}, {} words, {} frames", i.path, i.kind, i.fate, i.words, i.frames))
        .collect();
    let words = |path: &str| done.inputs.iter().find(|i| i.path == path).map_or(0, |i| i.words);
    // Several clips are heard at a time, and the script speaks in the first that asks.
    assert_eq!(
        words("notes/20250913_091500.wav") + words("notes/20250913_091600.wav") + words("notes/20250913_091700.wav"),
        8
    );
    for expected in [
        "notes/a.txt text, nothing heard, 0 words, 0 frames",
        "notes/b.txt text, nothing understood, 5 words, 0 frames",
        "notes/d.m4a clip, refused, 0 words, 0 frames",
        "scans/R7/1.jpg scan, damaged, 0 words, 1 frames",
        "scans/R7/index.jpg scan, passed over, 0 words, 0 frames",
        "rebate/7.csv print, used, 0 words, 1 frames",
        "rebate/8.csv print, refused, 0 words, 0 frames",
        "scans/R7/1.xmp other, passed over, 0 words, 0 frames",
        "notes/c.xyz other, passed over, 0 words, 0 frames",
    ] {
        assert!(told.iter().any(|t| t == expected), "{expected} in {told:#?}");
    }
    assert_eq!(told.len(), 12, "{told:#?}");
    let remarks =
        |path: &str| done.inputs.iter().find(|i| i.path == path).map_or(String::new(), |i| i.remarks.join("; "));
    assert!(
        remarks("notes/20250913_091700.wav").contains("breaks off at 0.3 s"),
        "{}",
        remarks("notes/20250913_091700.wav")
    );
    assert!(remarks("notes/20250913_091600.wav").contains("silence from its start"));
    // The page and the summary list the same.
    for page in ["trip.md", "trip.html"] {
        let page = std::fs::read_to_string(dir.path().join("out").join(page)).unwrap();
        for input in &done.inputs {
            let name = input.path.rsplit('/').next().unwrap();
            assert!(page.contains(name) || page.contains(&name.replace('_', "\\_")), "{name}");
        }
    }
}

#[test]
fn a_picture_told_in_words_that_were_hardly_heard_is_in_doubt() {
    let doubts = |trust: f64| {
        let dir = tempfile::tempdir().unwrap();
        clip(dir.path());
        let load = move || -> Result<Box<dyn Recogniser>, String> {
            let mut heard = said("Roll seven. Frame one, f8 at a sixtieth, the enter harbour.", 1.0);
            let words = &mut heard.utterances[0].words;
            let at = words.iter().position(|w| w.text == "enter").unwrap();
            words[at].confidence = crate::facts::Confidence::new(trust);
            Ok(Box::new(Script::new([heard])))
        };
        let done = run(dir.path(), &load, false);
        let frame = &done.trip.rolls[0].frames[0];
        assert!(frame.subject.as_ref().unwrap().value.contains("harbour"), "{:?}", frame.subject);
        frame.flags.contains(&crate::facts::Flag::Unsure(crate::facts::Field::Subject))
    };
    assert!(doubts(0.2));
    assert!(!doubts(0.9));
}
