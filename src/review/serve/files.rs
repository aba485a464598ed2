//! The trip's own files that a page may be given: clips, scans, pictures of the
//! film edge. By name from a list; what is not on it is not there.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use crate::audio::{self, Blocks, RATE};
use crate::scans::Thumbnail;
use crate::trip::NoteKind;

use super::super::session::Session;

/// Longer edge of a scan as it is looked at, in pixels.
const LARGE: u32 = 1600;
/// The same of one in a row of others.
const SMALL: u32 = 440;
/// Pictures and sounds that are kept at hand.
const KEPT: usize = 24;
/// No stretch of sound is longer than this.
const LONGEST_S: f64 = 120.0;
/// Heights of the waveform for each second.
const PEAKS_A_SECOND: usize = 100;

/// What may be served.
#[derive(Debug)]
pub struct Files {
    clips: BTreeMap<String, PathBuf>,
    scans: BTreeSet<String>,
    scans_root: PathBuf,
    edge: BTreeMap<String, PathBuf>,
    /// Small pictures that `ingest` made, by scan.
    small: BTreeMap<String, PathBuf>,
    made: Mutex<Vec<(String, Arc<Vec<u8>>)>>,
}

impl Files {
    /// Those of the session's trip.
    pub fn of(session: &Session) -> Self {
        let layout = &session.plan().layout;
        let clips = layout.notes.iter().filter(|n| n.kind == NoteKind::Clip);
        let all = session.kept().trip.rolls.iter();
        let scans = all.flat_map(|r| r.frames.iter().flat_map(|f| &f.scans).chain(&r.other_scans)).cloned().collect();
        let name = |p: &PathBuf| p.file_name().map(|n| n.to_string_lossy().into_owned());
        let pictures = layout.rebate.iter().flat_map(|r| {
            let of = |p: &PathBuf| Some((format!("{}/{}", r.roll, name(p)?), p.clone()));
            r.files.iter().filter(|p| crate::rebate::is_picture(p)).filter_map(of)
        });
        let kept = std::fs::read(session.out().join(".state/thumbs.json")).unwrap_or_default();
        let small: BTreeMap<String, String> = serde_json::from_slice(&kept).unwrap_or_default();
        Self {
            clips: clips.map(|n| (n.name.clone(), n.path.clone())).collect(),
            scans,
            scans_root: layout.root.join("scans"),
            edge: pictures.collect(),
            small: small.into_iter().map(|(scan, file)| (scan, session.out().join(file))).collect(),
            made: Mutex::default(),
        }
    }

    /// Where a clip lies.
    pub fn clip(&self, name: &str) -> Option<&Path> {
        self.clips.get(name).map(PathBuf::as_path)
    }

    /// A scan as a JPEG to look at; `small` for one in a row of others.
    pub fn scan(&self, name: &str, small: bool) -> Option<Arc<Vec<u8>>> {
        let scan = self.scans.get(name)?;
        if small && let Some(made) = self.small.get(scan).and_then(|p| std::fs::read(p).ok()) {
            return Some(Arc::new(made));
        }
        let edge = if small { SMALL } else { LARGE };
        self.kept(&format!("{edge} {scan}"), || picture(&self.scans_root.join(scan), edge))
    }

    /// A picture of the film edge, by roll and file name.
    pub fn edge(&self, name: &str) -> Option<Arc<Vec<u8>>> {
        let path = self.edge.get(name)?;
        self.kept(&format!("edge {name}"), || picture(path, LARGE))
    }

    /// Heights of the sound's waveform in a stretch of a clip, 0 to 255, a hundred a second.
    pub fn peaks(&self, clip: &str, from_s: f64, to_s: f64) -> Option<Vec<u8>> {
        let samples = self.samples(clip, from_s, to_s)?;
        let height = |block: &[f32]| (block.iter().fold(0.0_f32, |m, x| m.max(x.abs())).min(1.0) * 255.0) as u8;
        Some(samples.chunks(RATE / PEAKS_A_SECOND).map(height).collect())
    }

    /// A stretch of a clip as a WAV, for browsers that cannot play the clip itself.
    pub fn sound(&self, clip: &str, from_s: f64, to_s: f64) -> Option<Vec<u8>> {
        let samples = self.samples(clip, from_s, to_s)?;
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: RATE as u32,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let mut bytes = std::io::Cursor::new(Vec::new());
        let mut wav = hound::WavWriter::new(&mut bytes, spec).ok()?;
        for x in samples {
            wav.write_sample((x.clamp(-1.0, 1.0) * f32::from(i16::MAX)) as i16).ok()?;
        }
        wav.finalize().ok()?;
        Some(bytes.into_inner())
    }

    fn samples(&self, clip: &str, from_s: f64, to_s: f64) -> Option<Vec<f32>> {
        let path = self.clip(clip)?;
        if !(from_s >= 0.0 && to_s > from_s && to_s - from_s <= LONGEST_S) {
            return None;
        }
        let (first, last) = ((from_s * RATE as f64) as usize, (to_s * RATE as f64) as usize);
        let mut blocks = audio::open(path).ok()?;
        let (mut at, mut samples) = (0, Vec::with_capacity(last - first));
        // A clip that breaks off is shown as far as it goes.
        while let Ok(Some(block)) = blocks.next() {
            let (skip, take) = (first.saturating_sub(at).min(block.len()), last.saturating_sub(at).min(block.len()));
            samples.extend_from_slice(&block[skip.min(take)..take]);
            at += block.len();
            if at >= last {
                break;
            }
        }
        Some(samples)
    }

    fn kept(&self, name: &str, make: impl FnOnce() -> Option<Vec<u8>>) -> Option<Arc<Vec<u8>>> {
        let at_hand = || self.made.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, made)) = at_hand().iter().find(|(n, _)| n == name) {
            return Some(Arc::clone(made));
        }
        let made = Arc::new(make()?);
        let mut all = at_hand();
        if all.len() == KEPT {
            all.remove(0);
        }
        all.push((name.to_owned(), Arc::clone(&made)));
        Some(made)
    }
}

fn picture(path: &Path, edge: u32) -> Option<Vec<u8>> {
    Thumbnail::of(&std::fs::read(path).ok()?, edge).ok().map(|t| t.jpeg)
}

/// What a clip is, by its name (RFC 4337, 7845 and the IANA list of audio and video types).
pub fn kind(name: &str) -> &'static str {
    match name.rsplit('.').next().unwrap_or_default().to_lowercase().as_str() {
        "m4a" | "mp4" | "m4v" => "audio/mp4",
        "mov" => "video/quicktime",
        "mp3" => "audio/mpeg",
        "wav" => "audio/wav",
        "flac" => "audio/flac",
        "ogg" | "oga" | "opus" => "audio/ogg",
        "webm" => "audio/webm",
        "mkv" => "video/x-matroska",
        "aac" => "audio/aac",
        "3gp" => "audio/3gpp",
        _ => "application/octet-stream",
    }
}
