//! A recording opened: packets to samples to one channel at 16 kHz.

use std::fs::File;
use std::path::Path;
use std::sync::LazyLock;

use symphonia::core::codecs::CodecParameters;
use symphonia::core::codecs::audio::{AudioDecoder, AudioDecoderOptions};
use symphonia::core::codecs::registry::CodecRegistry;
use symphonia::core::errors::Error;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatReader, TrackType};
use symphonia::core::io::MediaSourceStream;

use super::ffmpeg::Ffmpeg;
use super::resample::Resample;
use super::{AudioError, Blocks, RATE};

/// Packets that make no sense, one after the other, before the clip is given up.
const PATIENCE: usize = 50;
/// A clip this much shorter than it says is cut short. Seconds.
const SHORT_BY_S: f64 = 1.0;

static CODECS: LazyLock<CodecRegistry> = LazyLock::new(|| {
    let mut all = CodecRegistry::new();
    symphonia::default::register_enabled_codecs(&mut all);
    all.register_audio_decoder::<symphonia_adapter_libopus::OpusDecoder>();
    all
});

/// Opens a recording. What is not read here goes through the program ffmpeg, when it is installed.
///
/// # Errors
/// `Empty`, `NotAudio`, `NoTrack` or `NeedsFfmpeg`; `CutShort` comes later, from the blocks.
pub fn open(path: &Path) -> Result<Box<dyn Blocks + Send>, AudioError> {
    if std::fs::metadata(path)?.len() == 0 {
        return Err(AudioError::Empty);
    }
    match Decode::open(path) {
        Ok(d) => Ok(Box::new(d)),
        Err(why @ (AudioError::Io(_) | AudioError::NoTrack { .. })) => Err(why),
        Err(why) => match Ffmpeg::open(path) {
            Ok(Some(f)) => Ok(Box::new(f)),
            // Without ffmpeg, name it only where it would have helped.
            Ok(None) if matches!(why, AudioError::NeedsFfmpeg { .. }) => Err(why),
            _ => Err(match why {
                AudioError::NeedsFfmpeg { what } => AudioError::NotAudio(what),
                why => why,
            }),
        },
    }
}

struct Decode {
    format: Box<dyn FormatReader>,
    decoder: Box<dyn AudioDecoder>,
    track: u32,
    /// Seconds that the container claims, where such claims are exact.
    claimed_s: Option<f64>,
    resample: Option<(u32, Resample)>,
    interleaved: Vec<f32>,
    bad: usize,
    /// Samples given so far, at [`RATE`].
    given: usize,
    done: bool,
}

impl Decode {
    fn open(path: &Path) -> Result<Self, AudioError> {
        let mut hint = Hint::new();
        let extension = path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_ascii_lowercase();
        hint.with_extension(&extension);
        let stream = MediaSourceStream::new(Box::new(File::open(path)?), Default::default());
        let format = symphonia::default::get_probe()
            .probe(&hint, stream, Default::default(), Default::default())
            .map_err(|e| not_audio(&e))?;
        let container = format.format_info().short_name;
        let track = format
            .default_track(TrackType::Audio)
            .or_else(|| format.first_track(TrackType::Audio))
            .ok_or_else(|| unknown_track(&*format, container))?;
        let Some(CodecParameters::Audio(params)) = &track.codec_params else {
            return Err(unknown_track(&*format, container));
        };
        let claimed_s = match (track.time_base, track.duration) {
            (Some(base), Some(length)) if container != "mp3" => base.calc_duration(length).map(|t| t.as_secs_f64()),
            _ => None,
        };
        let decoder = CODECS
            .make_audio_decoder(params, &AudioDecoderOptions::default())
            .map_err(|e| AudioError::NeedsFfmpeg { what: format!("the sound in this {container} file ({e})") })?;
        let track = track.id;
        Ok(Self {
            format,
            decoder,
            track,
            claimed_s,
            resample: None,
            interleaved: Vec::new(),
            bad: 0,
            given: 0,
            done: false,
        })
    }

    /// The next packet of the track, decoded, mixed and resampled onto `out`; false at the end.
    fn step(&mut self, out: &mut Vec<f32>) -> Result<bool, AudioError> {
        let packet = match self.format.next_packet() {
            Ok(Some(p)) if p.track_id == self.track => p,
            Ok(Some(_)) => return Ok(true),
            Ok(None) => return Ok(false),
            Err(Error::IoError(e)) if e.kind() == std::io::ErrorKind::UnexpectedEof => return Ok(false),
            Err(Error::ResetRequired) => {
                self.decoder.reset();
                return Ok(true);
            }
            Err(_) => return Err(self.cut_short()),
        };
        let sound = match self.decoder.decode(&packet) {
            Ok(s) => s,
            Err(_) if self.bad < PATIENCE => {
                self.bad += 1;
                return self.silence_for(packet.dur.get(), out).map(|()| true);
            }
            Err(_) => return Err(self.cut_short()),
        };
        self.bad = 0;
        let (rate, channels) = (sound.spec().rate(), sound.spec().channels().count().max(1));
        self.interleaved.resize(sound.samples_interleaved(), 0.0);
        sound.copy_to_slice_interleaved(&mut self.interleaved);
        let mono: Vec<f32> =
            self.interleaved.chunks_exact(channels).map(|f| f.iter().sum::<f32>() / channels as f32).collect();
        let resample = match &mut self.resample {
            Some((r, resample)) if *r == rate => resample,
            slot => &mut slot.insert((rate, Resample::from(rate)?)).1,
        };
        resample.push(&mono, out)?;
        Ok(true)
    }

    /// A packet that cannot be read is as long as it says, so that what follows keeps its time.
    fn silence_for(&mut self, ticks: u64, out: &mut Vec<f32>) -> Result<(), AudioError> {
        if let Some((_, resample)) = &mut self.resample {
            resample.push(&vec![0.0; ticks.min(48_000) as usize], out)?;
        }
        Ok(())
    }

    fn cut_short(&self) -> AudioError {
        if self.given == 0 {
            return AudioError::NotAudio("nothing in it can be decoded".to_owned());
        }
        AudioError::CutShort { at_s: self.given as f64 / RATE as f64 }
    }
}

impl Blocks for Decode {
    fn next(&mut self) -> Result<Option<Vec<f32>>, AudioError> {
        let mut out = Vec::new();
        while !self.done && out.len() < RATE {
            match self.step(&mut out) {
                Ok(true) => {}
                Ok(false) => {
                    self.done = true;
                    if let Some((_, r)) = &mut self.resample {
                        r.finish(&mut out)?;
                    }
                }
                Err(e) if out.is_empty() => return Err(e),
                Err(_) => break, // what was read before counts; the error comes again
            }
        }
        self.given += out.len();
        if !out.is_empty() {
            return Ok(Some(out));
        }
        let missing = self.claimed_s.is_some_and(|s| s > self.given as f64 / RATE as f64 + SHORT_BY_S);
        if missing || self.given == 0 {
            self.claimed_s = None;
            return Err(self.cut_short());
        }
        Ok(None)
    }
}

fn not_audio(e: &Error) -> AudioError {
    AudioError::NotAudio(match e {
        Error::Unsupported(_) => "its kind is not known, or its start is missing".to_owned(),
        Error::IoError(e) if e.kind() == std::io::ErrorKind::UnexpectedEof => "it is cut short".to_owned(),
        e => e.to_string(),
    })
}

/// Symphonia lists tracks of codecs that it does not know without saying what they are.
fn unknown_track(format: &dyn FormatReader, container: &str) -> AudioError {
    if format.tracks().iter().any(|t| t.codec_params.is_none()) {
        return AudioError::NeedsFfmpeg { what: format!("a track in this {container} file") };
    }
    AudioError::NoTrack { container: container.to_owned() }
}
