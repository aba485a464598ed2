//! Clips cut, holed and otherwise ill: what is told of them.

use std::fs;
use std::path::{Path, PathBuf};

use super::*;

fn sample(name: &str) -> Vec<u8> {
    fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join(name)).unwrap()
}

/// A sample clip of 6.9 s, AAC in MP4 with its index at the front or the end.
fn m4a() -> Vec<u8> {
    sample("samples/harbour/notes/roll 12/20250913_085210.m4a")
}

fn mp3() -> Vec<u8> {
    sample("samples/harbour/notes/roll 12/20250913_091240.mp3")
}

fn with<T>(name: &str, bytes: &[u8], look: impl Fn(&Path) -> T) -> T {
    let folder = tempfile::tempdir().unwrap();
    let path: PathBuf = folder.path().join(name);
    fs::write(&path, bytes).unwrap();
    look(&path)
}

fn sound(name: &str, bytes: &[u8]) -> Result<Sound, AudioError> {
    with(name, bytes, |path| open(path)?.sound())
}

fn wav(samples: &[f32]) -> Vec<u8> {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut out = std::io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut out, spec).unwrap();
    samples.iter().for_each(|s| writer.write_sample(*s).unwrap());
    writer.finalize().unwrap();
    out.into_inner()
}

#[test]
fn whole_clips_are_whole() {
    for (name, bytes) in [("a.m4a", m4a()), ("a.mp3", mp3()), ("a.wav", wav(&[0.1; 40_000]))] {
        let sound = sound(name, &bytes).unwrap();
        assert_eq!(
            (sound.broken_off_s, sound.damage(), sound.tracks, sound.track),
            (None, None, 1, 1),
            "{name}: {sound:?}"
        );
        assert!(!sound.is_silent() && !sound.is_overloaded(), "{name}: {sound:?}");
    }
}

#[test]
fn a_clip_cut_short_tells_where() {
    let whole_s = sound("a.mp3", &mp3()).unwrap().length_s;
    let mp3 = mp3();
    for share in [0.3, 0.6, 0.9, 0.99] {
        let cut = sound("a.mp3", &mp3[..(mp3.len() as f64 * share) as usize]).unwrap();
        let at_s = cut.broken_off_s.unwrap_or_else(|| panic!("{share}: {cut:?}"));
        assert!(at_s < whole_s && at_s > whole_s * (share - 0.15), "{share}: {at_s} of {whole_s}");
        assert_eq!(cut.damage(), None);
    }
    let wav = wav(&[0.1; 32_000]);
    let cut = sound("a.wav", &wav[..wav.len() - 4_000]).unwrap();
    assert!((cut.broken_off_s.unwrap() - 1.94).abs() < 0.02, "{cut:?}");
}

#[test]
fn an_index_before_the_sound_gives_the_sound_there_is() {
    let whole = sample("tests/data/two-tracks.m4a");
    let moov = whole.windows(4).position(|w| w == b"moov").unwrap();
    let mdat = whole.windows(4).position(|w| w == b"mdat").unwrap();
    assert!(moov < mdat, "this clip has its index at the front");
    let cut = sound("a.m4a", &whole[..whole.len() * 2 / 3]).unwrap();
    assert!(cut.broken_off_s.is_some_and(|s| s > 1.0), "{cut:?}");
    // Without its index nothing can be found in it.
    let mut headless = whole[..moov - 4].to_vec();
    headless.extend(&whole[mdat - 4..]);
    let why = sound("a.m4a", &headless).unwrap_err().to_string();
    assert!(why.contains("not finished") && why.contains("mend"), "{why}");
}

#[test]
fn a_damaged_middle_is_silence_with_its_seconds() {
    let mut bytes = m4a();
    let whole = sound("a.m4a", &bytes).unwrap();
    let mdat = bytes.windows(4).position(|w| w == b"mdat").unwrap();
    let at = mdat + (bytes.len() - mdat) / 2;
    bytes[at..at + 4_000].fill(0);
    let holed = sound("a.m4a", &bytes).unwrap();
    assert!((holed.length_s - whole.length_s).abs() < 0.1, "{holed:?}");
    let told = holed.damage().expect("damage");
    assert!(told.starts_with("damaged at ") && holed.broken_off_s.is_none(), "{told}");
    let lost_s: f64 = holed.lost_s.iter().map(|(from, to)| to - from).sum();
    assert!(lost_s > 0.1 && lost_s < 2.0, "{holed:?}");
}

#[test]
fn one_sample_that_is_no_number_costs_itself_alone() {
    let mut samples = vec![0.25_f32; 16_000];
    samples[8_000] = f32::NAN;
    let bytes = wav(&samples);
    let heard = with("a.wav", &bytes, |path| {
        let mut clip = open(path).unwrap();
        let mut all = Vec::new();
        while let Some(block) = clip.next().unwrap() {
            all.extend(block);
        }
        all
    });
    assert_eq!(heard.iter().filter(|s| **s == 0.25).count(), 15_999);
    let told = sound("a.wav", &bytes).unwrap();
    assert!(told.no_numbers == 1 && told.damage().is_some_and(|d| d.contains("one sample")), "{told:?}");
}

#[test]
fn the_track_in_which_somebody_speaks_is_heard() {
    let sound = sound("a.m4a", &sample("tests/data/two-tracks.m4a")).unwrap();
    assert_eq!((sound.track, sound.tracks, sound.is_silent()), (2, 2, false), "{sound:?}");
}
