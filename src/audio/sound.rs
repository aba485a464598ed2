//! What the sound of a clip was like, seen while it was decoded.

use serde::{Deserialize, Serialize};

/// A recording that never gets louder than this is silent: −70 dB of full scale. A microphone in a
/// quiet room is louder; a muted one is not. A guess.
const SILENT: f32 = 3e-4;
/// A sample this near full scale was too loud for the recorder, or is by chance.
const FULL: f32 = 0.985;
/// With this share of its samples at full scale, a voice is hard to understand. A guess.
const OVERLOADED: f64 = 0.01;
/// No sound is this far above full scale (60 dB): such a sample is no sound.
const LOUDEST: f32 = 1_000.0;
/// Losses nearer than this are one, in seconds.
const ONE_LOSS_S: f64 = 0.25;

/// How a clip sounded, whatever was said in it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Sound {
    /// Seconds of it, with those that were lost in between.
    pub length_s: f64,
    /// The largest sample, 1 at full scale.
    pub peak: f32,
    /// Share of the samples at full scale, 0 to 1.
    pub overloaded: f64,
    /// Samples that are no number, or far beyond full scale; they count as silence.
    pub no_numbers: u64,
    /// What could not be decoded, from and to in seconds; it counts as silence.
    pub lost_s: Vec<(f64, f64)>,
    /// Faults that the decoder met and whose place is not known.
    pub faults: usize,
    /// Where it breaks off, in seconds, when it is not whole.
    pub broken_off_s: Option<f64>,
    /// The seconds it claims to have, when it broke off before them.
    pub claimed_s: Option<f64>,
    /// Tracks of sound in the file.
    pub tracks: usize,
    /// The one that was listened to, from 1.
    pub track: usize,
}

impl Sound {
    /// Nothing but silence.
    pub fn is_silent(&self) -> bool {
        self.peak < SILENT
    }

    /// Too loud for the recorder.
    pub fn is_overloaded(&self) -> bool {
        self.overloaded > OVERLOADED
    }

    /// What of the clip was lost in its middle, as one fact; `None` when nothing was.
    pub fn damage(&self) -> Option<String> {
        let places: Vec<String> =
            self.lost_s.iter().take(MOST_NAMED).map(|(from, to)| format!("{from:.1} to {to:.1} s")).collect();
        let more = self.lost_s.len().saturating_sub(MOST_NAMED);
        let more = if more > 0 { format!(" and {more} more places") } else { String::new() };
        let lost =
            (!places.is_empty()).then(|| format!("damaged at {}{more}: silence was heard there", places.join(", ")));
        // Where it breaks off, the decoder stumbles too.
        let faults = (self.faults > 0 && self.broken_off_s.is_none())
            .then(|| "damaged somewhere: what cannot be read there was left out".to_owned());
        let no_numbers = (self.no_numbers > 0).then(|| match self.no_numbers {
            1 => "damaged: one sample in it is no number and counts as silence".to_owned(),
            n => format!("damaged: {n} samples in it are no numbers and count as silence"),
        });
        let all: Vec<String> = [lost, faults, no_numbers].into_iter().flatten().collect();
        (!all.is_empty()).then(|| all.join("; "))
    }
}

/// Losses named one by one.
const MOST_NAMED: usize = 8;

/// Measures sound as it flows.
#[derive(Debug, Default)]
pub(super) struct Meter {
    peak: f32,
    full: u64,
    samples: u64,
}

impl Meter {
    pub fn take_in(&mut self, block: &[f32]) {
        self.samples += block.len() as u64;
        self.full += block.iter().filter(|v| v.abs() >= FULL).count() as u64;
        self.peak = block.iter().fold(self.peak, |peak, v| peak.max(v.abs()));
    }

    /// Samples seen.
    pub fn samples(&self) -> u64 {
        self.samples
    }

    pub fn tell(&self, sound: &mut Sound) {
        sound.peak = self.peak;
        sound.overloaded = self.full as f64 / self.samples.max(1) as f64;
    }
}

/// Puts silence where a sample is no sound; says how often.
pub(super) fn mended(samples: &mut [f32]) -> u64 {
    let mut bad = 0;
    for s in samples.iter_mut().filter(|s| s.is_nan() || s.abs() > LOUDEST) {
        *s = 0.0;
        bad += 1;
    }
    bad
}

/// Adds a loss, joined with the one before when they are near.
pub(super) fn lose(lost_s: &mut Vec<(f64, f64)>, from: f64, to: f64) {
    match lost_s.last_mut() {
        Some(last) if from <= last.1 + ONE_LOSS_S => last.1 = last.1.max(to),
        _ => lost_s.push((from, to)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_sound_becomes_silence() {
        let mut samples = [0.5, f32::NAN, -0.25, f32::INFINITY, f32::NEG_INFINITY, 1e30, -2.0];
        assert_eq!(mended(&mut samples), 4);
        assert_eq!(samples, [0.5, 0.0, -0.25, 0.0, 0.0, 0.0, -2.0]);
    }

    #[test]
    fn damage_is_told_with_its_seconds() {
        let mut sound = Sound::default();
        assert_eq!(sound.damage(), None);
        lose(&mut sound.lost_s, 3.0, 3.02);
        lose(&mut sound.lost_s, 3.04, 3.06);
        lose(&mut sound.lost_s, 9.0, 9.5);
        sound.no_numbers = 1;
        let told = sound.damage().unwrap();
        assert!(told.starts_with("damaged at 3.0 to 3.1 s, 9.0 to 9.5 s: ") && told.contains("one sample"), "{told}");
    }

    #[test]
    fn silence_and_too_much_are_told_apart() {
        let of = |block: &[f32]| {
            let (mut meter, mut sound) = (Meter::default(), Sound::default());
            meter.take_in(block);
            meter.tell(&mut sound);
            (sound.is_silent(), sound.is_overloaded())
        };
        assert_eq!(of(&[0.0, 1.0 / 32_768.0, -1.0 / 32_768.0]), (true, false));
        assert_eq!(of(&[0.1, -0.3, 0.2]), (false, false));
        assert_eq!(of(&[1.0, -1.0, 0.2]), (false, true));
    }
}
