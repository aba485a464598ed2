//! From the rate of the recording to 16 kHz, a block at a time.

use audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Fft, FixedSync, Indexing, Resampler};

use super::{AudioError, RATE};

/// One channel of sound on its way from one rate to [`RATE`].
pub(super) struct Resample {
    /// `None` when the rate is right already.
    engine: Option<Fft<f32>>,
    waiting: Vec<f32>,
    /// Samples out that belong to the filter's start and not to the sound.
    skip: usize,
    /// Samples that are due, from those that came in.
    due: f64,
    given: usize,
    ratio: f64,
}

impl Resample {
    /// From `rate` samples a second.
    pub fn from(rate: u32) -> Result<Self, AudioError> {
        let odd = |why: String| AudioError::NotAudio(format!("a sample rate of {rate} Hz{why}"));
        if !(4_000..=768_000).contains(&rate) {
            return Err(odd(String::new()));
        }
        let ratio = RATE as f64 / f64::from(rate);
        let engine = if rate as usize == RATE {
            None
        } else {
            let e = Fft::new(rate as usize, RATE, rate as usize / 10, 1, FixedSync::Input);
            Some(e.map_err(|e| odd(format!(": {e}")))?)
        };
        let skip = engine.as_ref().map_or(0, Resampler::output_delay);
        Ok(Self { engine, waiting: Vec::new(), skip, due: 0.0, given: 0, ratio })
    }

    /// Takes samples in, appends those that are ready to `out`.
    pub fn push(&mut self, samples: &[f32], out: &mut Vec<f32>) -> Result<(), AudioError> {
        self.due += samples.len() as f64 * self.ratio;
        let Some(engine) = &mut self.engine else {
            out.extend_from_slice(samples);
            return Ok(());
        };
        self.waiting.extend_from_slice(samples);
        let mut at = 0;
        while self.waiting.len() - at >= engine.input_frames_next() {
            let n = engine.input_frames_next();
            let block = run(engine, &self.waiting[at..at + n], n)?;
            let from = self.skip.min(block.len());
            self.skip -= from;
            self.given += block.len() - from;
            out.extend_from_slice(&block[from..]);
            at += n;
        }
        self.waiting.drain(..at);
        Ok(())
    }

    /// The rest that is still in the filter.
    pub fn finish(&mut self, out: &mut Vec<f32>) -> Result<(), AudioError> {
        let Some(engine) = &mut self.engine else { return Ok(()) };
        let due = self.due.round() as usize;
        while self.given < due {
            let n = engine.input_frames_next();
            let part = self.waiting.len().min(n);
            let mut last: Vec<f32> = self.waiting.drain(..part).collect();
            last.resize(n, 0.0);
            let block = run(engine, &last, n)?;
            let from = self.skip.min(block.len());
            self.skip -= from;
            let take = (block.len() - from).min(due - self.given);
            out.extend_from_slice(&block[from..from + take]);
            self.given += take;
        }
        Ok(())
    }
}

fn run(engine: &mut Fft<f32>, samples: &[f32], n: usize) -> Result<Vec<f32>, AudioError> {
    let bad = |e: String| AudioError::NotAudio(e);
    let input = InterleavedSlice::new(samples, 1, n).map_err(|e| bad(e.to_string()))?;
    let mut out = vec![0.0; engine.output_frames_next()];
    let frames = out.len();
    let mut room = InterleavedSlice::new_mut(&mut out, 1, frames).map_err(|e| bad(e.to_string()))?;
    let (_, written) =
        engine.process_into_buffer(&input, &mut room, Some(&Indexing::new())).map_err(|e| bad(e.to_string()))?;
    out.truncate(written);
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f32::consts::TAU;

    fn through(rate: u32, sound: &[f32], piece: usize) -> Vec<f32> {
        let mut r = Resample::from(rate).unwrap();
        let mut out = Vec::new();
        for p in sound.chunks(piece) {
            r.push(p, &mut out).unwrap();
        }
        r.finish(&mut out).unwrap();
        out
    }

    /// A sine is known at every instant, so the result can be compared with the sine at 16 kHz.
    #[test]
    fn a_tone_stays_where_it_was() {
        for rate in [8_000, 11_025, 16_000, 22_050, 44_100, 48_000, 96_000] {
            let tone = |rate: u32, i: usize| (TAU * 440.0 * i as f32 / rate as f32).sin();
            let sound: Vec<f32> = (0..rate as usize).map(|i| tone(rate, i)).collect();
            let out = through(rate, &sound, 777);
            assert_eq!(out.len(), RATE, "from {rate} Hz");
            let worst = (1600..14_400).map(|i| (out[i] - tone(16_000, i)).abs()).fold(0.0, f32::max);
            // a sample of delay more or less moves this tone by 0.17
            assert!(worst < 0.17, "from {rate} Hz: off by {worst}");
            let power = out[1600..14_400].iter().map(|v| v * v).sum::<f32>() / 12_800.0;
            assert!((power - 0.5).abs() < 0.01, "from {rate} Hz: power {power}");
        }
    }

    #[test]
    fn what_16_khz_cannot_hold_is_gone() {
        let sound: Vec<f32> = (0..48_000).map(|i| (TAU * 10_000.0 * i as f32 / 48_000.0).sin()).collect();
        let out = through(48_000, &sound, 4_800);
        let rms = (out[1600..14_400].iter().map(|v| v * v).sum::<f32>() / 12_800.0).sqrt();
        assert!(rms < 0.005, "{rms} left of a tone above half the rate");
    }

    #[test]
    fn no_rate_of_this_world() {
        assert!(Resample::from(0).is_err());
        assert!(Resample::from(4_000_000).is_err());
    }
}
