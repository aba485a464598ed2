//! A clip opened: its sound as it flows, and afterwards what it was like.

use std::fs::File;
use std::path::Path;

use super::decode::{Decode, Lost};
use super::ending::{Ending, ending};
use super::ffmpeg::Ffmpeg;
use super::kind::kind_of;
use super::sound::{Meter, Sound};
use super::voice::{Cutting, Stretches};
use super::{AudioError, Blocks, RATE};

/// A clip this much shorter than it says is cut short. Seconds.
const SHORT_BY_S: f64 = 1.0;
/// Where its container counts samples. Seconds.
const SHORT_BY_SAMPLES_S: f64 = 0.02;
/// Of several tracks, the first with this much voice is the one to hear. Seconds.
const VOICE_ENOUGH_S: f64 = 3.0;
/// No more tracks are listened to.
const MOST_TRACKS: usize = 16;

/// A recording, decoded as it is asked for.
pub struct Clip {
    source: Source,
    ending: Ending,
    meter: Meter,
    tracks: usize,
    track: usize,
    broken_off_s: Option<f64>,
    ended: bool,
}

enum Source {
    Own(Box<Decode>),
    Ffmpeg(Ffmpeg),
}

/// Opens a recording. Of several tracks the one in which somebody speaks is heard. What is not read here
/// goes through the program ffmpeg, when it is installed.
///
/// # Errors
/// `Empty`, `NotFinished`, `NotAudio`, `NoTrack` or `NeedsFfmpeg`; `CutShort` comes later, from the blocks.
pub fn open(path: &Path) -> Result<Clip, AudioError> {
    let mut file = File::open(path)?;
    if file.metadata()?.len() == 0 {
        return Err(AudioError::Empty);
    }
    let ending = ending(&mut file);
    let (source, tracks, track) = match own(path, ending.claimed_bytes) {
        Ok((decode, tracks, track)) => (Source::Own(Box::new(decode)), tracks, track),
        Err(why @ (AudioError::Io(_) | AudioError::NoTrack { .. })) => return Err(why),
        Err(_) if ending.no_index => return Err(AudioError::NotFinished),
        Err(why) => (Source::Ffmpeg(through_ffmpeg(path, &mut file, why)?), 1, 0),
    };
    let claimed_s = match &source {
        Source::Own(decode) => decode.claimed_s(),
        Source::Ffmpeg(_) => None,
    };
    let ending = Ending { claimed_s: ending.claimed_s.or(claimed_s), ..ending };
    Ok(Clip { source, ending, meter: Meter::default(), tracks, track, broken_off_s: None, ended: false })
}

fn own(path: &Path, claimed_bytes: Option<u64>) -> Result<(Decode, usize, usize), AudioError> {
    let decode = Decode::open(path, claimed_bytes, 0)?;
    let tracks = decode.tracks();
    if tracks < 2 {
        return Ok((decode, tracks, 0));
    }
    let track = spoken_track(path, claimed_bytes, tracks);
    Ok((Decode::open(path, claimed_bytes, track)?, tracks, track))
}

/// The first track in which somebody speaks for a while, else the one with most of it.
fn spoken_track(path: &Path, claimed_bytes: Option<u64>, tracks: usize) -> usize {
    let (mut best, mut most_s) = (0, 0.0);
    for track in 0..tracks.min(MOST_TRACKS) {
        let Ok(mut decode) = Decode::open(path, claimed_bytes, track) else { continue };
        let mut voiced_s = 0.0;
        for stretch in Stretches::of(&mut decode, Cutting::default()).flatten() {
            voiced_s += stretch.voiced_s;
            if voiced_s >= VOICE_ENOUGH_S {
                return track;
            }
        }
        if voiced_s > most_s {
            (best, most_s) = (track, voiced_s);
        }
    }
    best
}

/// Without ffmpeg, it is named only where it would have helped.
fn through_ffmpeg(path: &Path, file: &mut File, why: AudioError) -> Result<Ffmpeg, AudioError> {
    let known = kind_of(file);
    match Ffmpeg::open(path) {
        Ok(Some(f)) => Ok(f),
        Ok(None) => Err(match (why, known) {
            (why @ AudioError::NeedsFfmpeg { .. }, None) => why,
            (_, Some(what)) => AudioError::NeedsFfmpeg { what: what.to_owned() },
            (why, None) => why,
        }),
        Err(_) => Err(match why {
            AudioError::NeedsFfmpeg { what } => AudioError::NotAudio(format!("{what}: ffmpeg finds none either")),
            why => why,
        }),
    }
}

impl Clip {
    /// What the clip was like, read to its end.
    ///
    /// # Errors
    /// `NotAudio` when nothing in it can be decoded.
    pub fn sound(mut self) -> Result<Sound, AudioError> {
        loop {
            match self.next() {
                Ok(Some(_)) => {}
                Ok(None) | Err(AudioError::CutShort { .. }) => break,
                Err(why) => return Err(why),
            }
        }
        let Lost { spans_s, no_numbers, faults } = self.lost();
        let heard_s = self.heard_s();
        // What is lost at the very end is not lost in the middle.
        let lost_s = spans_s.into_iter().filter(|(from, _)| self.broken_off_s.is_none_or(|s| *from < s)).collect();
        let mut sound = Sound {
            length_s: heard_s,
            broken_off_s: self.broken_off_s,
            claimed_s: self.broken_off_s.and(self.ending.claimed_s).filter(|s| *s > heard_s + self.short_by_s()),
            lost_s,
            no_numbers,
            faults: faults + self.ending.faults,
            tracks: self.tracks,
            track: self.track + 1,
            ..Sound::default()
        };
        self.meter.tell(&mut sound);
        Ok(sound)
    }

    fn lost(&mut self) -> Lost {
        match &mut self.source {
            Source::Own(decode) => decode.lost(),
            Source::Ffmpeg(ffmpeg) => ffmpeg.lost(),
        }
    }

    fn heard_s(&self) -> f64 {
        self.meter.samples() as f64 / RATE as f64
    }

    fn short_by_s(&self) -> f64 {
        match &self.source {
            Source::Own(decode) if decode.counts_samples() => SHORT_BY_SAMPLES_S,
            _ => SHORT_BY_S,
        }
    }

    /// The end of what could be decoded: of the clip, or of what there is of it.
    fn end(&mut self, broke: bool) -> Result<Option<Vec<f32>>, AudioError> {
        if std::mem::replace(&mut self.ended, true) {
            return Ok(None);
        }
        if self.meter.samples() == 0 {
            return Err(AudioError::NotAudio("nothing in it can be decoded".to_owned()));
        }
        let claimed_s = self.ending.claimed_s.filter(|s| *s > self.heard_s() + self.short_by_s());
        if !broke && claimed_s.is_none() && !self.ending.is_cut {
            return Ok(None);
        }
        let at_s = self.lost().ends_at(self.heard_s());
        self.broken_off_s = Some(at_s);
        Err(AudioError::CutShort { at_s, of_s: claimed_s })
    }
}

impl Blocks for Clip {
    fn next(&mut self) -> Result<Option<Vec<f32>>, AudioError> {
        if self.ended {
            return Ok(None);
        }
        let next = match &mut self.source {
            Source::Own(decode) => decode.next(),
            Source::Ffmpeg(ffmpeg) => ffmpeg.next(),
        };
        match next {
            Ok(Some(block)) => {
                self.meter.take_in(&block);
                Ok(Some(block))
            }
            Ok(None) => self.end(false),
            Err(AudioError::CutShort { .. }) => self.end(true),
            Err(why) => {
                self.ended = true;
                Err(why)
            }
        }
    }
}

#[cfg(test)]
#[path = "clip_tests.rs"]
mod tests;
