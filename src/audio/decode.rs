//! What is decoded here: packets to samples to one channel at 16 kHz.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;
use std::sync::LazyLock;

use symphonia::core::codecs::CodecParameters;
use symphonia::core::codecs::audio::{AudioDecoder, AudioDecoderOptions};
use symphonia::core::codecs::registry::CodecRegistry;
use symphonia::core::errors::Error;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatReader, Track};
use symphonia::core::io::{MediaSource, MediaSourceStream};
use symphonia::core::packet::Packet;
use symphonia::core::units::TimeBase;

use super::resample::Resample;
use super::sound::{lose, mended};
use super::{AudioError, Blocks, RATE};

/// Places in a row that make no sense before the rest is given up.
const PATIENCE: usize = 50;
/// Time that passes between two packets without sound: more is lost. Codecs that send nothing in a silence
/// say so every 0.4 s. Seconds.
const GAP_S: f64 = 0.5;
/// A gap longer than this is a clock that was set, not a loss. Seconds.
const LONGEST_GAP_S: f64 = 3_600.0;
/// No more silence stands for what is lost. Seconds.
const MOST_LOST_S: f64 = 7_200.0;

static CODECS: LazyLock<CodecRegistry> = LazyLock::new(|| {
    let mut all = CodecRegistry::new();
    symphonia::default::register_enabled_codecs(&mut all);
    all.register_audio_decoder::<symphonia_adapter_libopus::OpusDecoder>();
    all
});

/// What was lost on the way.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Lost {
    /// Stretches that count as silence, from and to in seconds.
    pub spans_s: Vec<(f64, f64)>,
    /// Samples that are no numbers.
    pub no_numbers: u64,
    /// Faults whose place is not known.
    pub faults: usize,
}

impl Lost {
    /// Seconds lost in all.
    fn all_s(&self) -> f64 {
        self.spans_s.iter().map(|(from, to)| to - from).sum()
    }

    /// Where the sound ends, of so many seconds: before what was lost last, if nothing follows it.
    pub fn ends_at(&self, length_s: f64) -> f64 {
        self.spans_s.last().filter(|last| last.1 >= length_s - 0.1).map_or(length_s, |last| last.0)
    }
}

/// A file as long as its container claims. Its decoder looks for the sound before the missing end only if
/// it does not know that the end is missing.
struct Claimed {
    file: File,
    length: u64,
}

impl Read for Claimed {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        self.file.read(out)
    }
}

impl Seek for Claimed {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let to = match to {
            SeekFrom::End(n) => SeekFrom::Start(self.length.saturating_add_signed(n)),
            to => to,
        };
        self.file.seek(to)
    }
}

impl MediaSource for Claimed {
    fn is_seekable(&self) -> bool {
        true
    }

    fn byte_len(&self) -> Option<u64> {
        Some(self.length)
    }
}

/// One track of a recording.
pub(super) struct Decode {
    format: Box<dyn FormatReader>,
    decoder: Box<dyn AudioDecoder>,
    track: u32,
    tracks: usize,
    time_base: Option<TimeBase>,
    /// Seconds that the container claims, where such claims are exact.
    claimed_s: Option<f64>,
    counts_samples: bool,
    resample: Option<(u32, Resample)>,
    interleaved: Vec<f32>,
    /// Places in a row that made no sense.
    bad: usize,
    /// Seconds decoded so far.
    at_s: f64,
    /// By the container's clock, when the next packet begins.
    due_s: Option<f64>,
    /// Samples of silence, at the recording's rate, that come before what is decoded next.
    owed: u64,
    lost: Lost,
    done: bool,
}

impl Decode {
    /// Opens a track with sound, counted from 0. A file that is cut may say how many bytes it would have.
    pub fn open(path: &Path, claimed_bytes: Option<u64>, nth: usize) -> Result<Self, AudioError> {
        let mut hint = Hint::new();
        let extension = path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_ascii_lowercase();
        hint.with_extension(&extension);
        let file = File::open(path)?;
        let length = claimed_bytes.unwrap_or(file.metadata()?.len());
        let stream = MediaSourceStream::new(Box::new(Claimed { file, length }), Default::default());
        let format = symphonia::default::get_probe()
            .probe(&hint, stream, Default::default(), Default::default())
            .map_err(|e| not_audio(&e))?;
        let container = format.format_info().short_name;
        let sounds: Vec<&Track> = format.tracks().iter().filter(|t| is_sound(t)).collect();
        let tracks = sounds.len();
        let track = sounds.get(nth).copied().ok_or_else(|| unknown_track(&*format, container))?;
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
        let resample = params.sample_rate.map(|rate| Ok::<_, AudioError>((rate, Resample::from(rate)?))).transpose()?;
        let (track, time_base) = (track.id, track.time_base);
        Ok(Self {
            format,
            decoder,
            track,
            tracks,
            time_base,
            claimed_s,
            counts_samples: container == "flac",
            resample,
            interleaved: Vec::new(),
            bad: 0,
            at_s: 0.0,
            due_s: None,
            owed: 0,
            lost: Lost::default(),
            done: false,
        })
    }

    /// Tracks with sound in the file.
    pub fn tracks(&self) -> usize {
        self.tracks
    }

    /// Seconds that the container claims, where such claims are exact.
    pub fn claimed_s(&self) -> Option<f64> {
        self.claimed_s
    }

    /// Whether that claim is right to a sample.
    pub fn counts_samples(&self) -> bool {
        self.counts_samples
    }

    /// What was lost so far.
    pub fn lost(&self) -> Lost {
        self.lost.clone()
    }

    /// The next packet of the track, decoded, mixed and resampled onto `out`; false at the end.
    fn step(&mut self, out: &mut Vec<f32>) -> Result<bool, AudioError> {
        if self.owed > 0 {
            return self.pay(out).map(|()| true);
        }
        let packet = match self.format.next_packet() {
            Ok(Some(p)) if p.track_id == self.track => p,
            Ok(Some(_)) => return Ok(true),
            Ok(None) => return Ok(false),
            Err(Error::IoError(e)) if e.kind() == std::io::ErrorKind::UnexpectedEof => return Ok(false),
            Err(Error::ResetRequired) => {
                self.decoder.reset();
                return Ok(true);
            }
            Err(_) => {
                self.bad += 1;
                lose(&mut self.lost.spans_s, self.at_s, self.at_s);
                return if self.bad < PATIENCE { Ok(true) } else { Err(self.cut_short()) };
            }
        };
        self.close_gap(&packet);
        if self.owed > 0 {
            self.pay(out)?;
        }
        let Ok(sound) = self.decoder.decode(&packet) else {
            // A packet that cannot be read is as long as it says, so that what follows keeps its time.
            self.bad += 1;
            let ticks = i64::try_from(packet.dur.get()).ok();
            let length_s = ticks.and_then(|t| Some(self.time_base?.calc_time(t.into())?.as_secs_f64())).unwrap_or(0.0);
            self.owe(length_s);
            return Ok(true);
        };
        self.bad = 0;
        let (rate, channels) = (sound.spec().rate(), sound.spec().channels().count().max(1));
        self.interleaved.resize(sound.samples_interleaved(), 0.0);
        sound.copy_to_slice_interleaved(&mut self.interleaved);
        self.lost.no_numbers += mended(&mut self.interleaved);
        let mono: Vec<f32> =
            self.interleaved.chunks_exact(channels).map(|f| f.iter().sum::<f32>() / channels as f32).collect();
        let length_s = mono.len() as f64 / f64::from(rate.max(1));
        self.at_s += length_s;
        self.due_s = self.begins_s(&packet).map(|s| s + length_s);
        let resample = match &mut self.resample {
            Some((r, resample)) if *r == rate => resample,
            slot => &mut slot.insert((rate, Resample::from(rate)?)).1,
        };
        resample.push(&mono, out)?;
        Ok(true)
    }

    /// When a packet begins by the container's clock, in seconds.
    fn begins_s(&self, packet: &Packet) -> Option<f64> {
        self.time_base?.calc_time(packet.pts).map(|t| t.as_secs_f64())
    }

    /// Pages or clusters that are lost leave a gap in the clock.
    fn close_gap(&mut self, packet: &Packet) {
        let Some((due_s, begins_s)) = self.due_s.zip(self.begins_s(packet)) else { return };
        let gap_s = begins_s - due_s;
        if (GAP_S..LONGEST_GAP_S).contains(&gap_s) {
            self.owe(gap_s);
        }
    }

    /// So many seconds are lost here. A file that claims more than a clip can have is not believed.
    fn owe(&mut self, length_s: f64) {
        let length_s = length_s.min(MOST_LOST_S - self.lost.all_s()).max(0.0);
        lose(&mut self.lost.spans_s, self.at_s, self.at_s + length_s);
        self.at_s += length_s;
        self.due_s = self.due_s.map(|s| s + length_s);
        if let Some((rate, _)) = &self.resample {
            self.owed += (length_s * f64::from(*rate)) as u64;
        }
    }

    /// Gives what is owed of silence, a second at the most.
    fn pay(&mut self, out: &mut Vec<f32>) -> Result<(), AudioError> {
        let Some((rate, resample)) = &mut self.resample else {
            self.owed = 0;
            return Ok(());
        };
        let now = self.owed.min(u64::from(*rate));
        self.owed -= now;
        resample.push(&vec![0.0; now as usize], out)
    }

    fn cut_short(&self) -> AudioError {
        AudioError::CutShort { at_s: self.at_s, of_s: None }
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
        match out.is_empty() {
            false => Ok(Some(out)),
            // What could not be read to the very end is no loss in the middle.
            true if self.bad > 0 => Err(self.cut_short()),
            true => Ok(None),
        }
    }
}

fn is_sound(track: &Track) -> bool {
    matches!(track.codec_params, Some(CodecParameters::Audio(_)))
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
