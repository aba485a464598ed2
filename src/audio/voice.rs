//! Where somebody speaks. Sound goes in as it flows; stretches of speech come out,
//! cut at pauses so that no word is cut.

use earshot::{DefaultPredictor, Detector};

use super::{AudioError, Blocks, RATE};

/// Samples the detector looks at together: 16 ms.
const FRAME: usize = 256;
const FRAMES_PER_S: f64 = RATE as f64 / FRAME as f64;

/// How speech is told from the rest. Times in seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cutting {
    /// Speech begins where the detector, averaged over a tenth of a second, is above this.
    pub begins_above: f32,
    /// And goes on while it is above this.
    pub goes_on_above: f32,
    /// A silence this long ends a stretch.
    pub pause_s: f64,
    /// Sound kept before the first and after the last voiced frame.
    pub margin_s: f64,
    /// Less voiced sound than this is a click or a gust.
    pub least_s: f64,
    /// A stretch that grows this long is cut at its quietest moment.
    pub most_s: f64,
}

impl Default for Cutting {
    fn default() -> Self {
        Self { begins_above: 0.55, goes_on_above: 0.35, pause_s: 1.0, margin_s: 0.35, least_s: 0.2, most_s: 15.0 }
    }
}

/// One stretch of speech.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Seconds from the clip's start where its first sample lies.
    pub start_s: f64,
    /// Sound at [`RATE`].
    pub samples: Vec<f32>,
    /// How much of it is voiced, in seconds.
    pub voiced_s: f64,
}

impl Stretch {
    /// Seconds from the clip's start where it ends.
    pub fn end_s(&self) -> f64 {
        self.start_s + self.samples.len() as f64 / RATE as f64
    }
}

/// Stretches of speech in a clip, one after the other. Holds little more sound than one of them.
pub struct Stretches<'a> {
    sound: &'a mut dyn Blocks,
    cutting: Cutting,
    detector: Box<Detector<DefaultPredictor>>,
    /// Sound not given yet. Frames are counted from the clip's start; this begins with frame `first`.
    held: Vec<f32>,
    first: usize,
    /// One voice score for each whole frame held.
    scores: Vec<f32>,
    /// The next frame to look at.
    at: usize,
    /// First and last voiced frame of the stretch that is going on.
    open: Option<(usize, usize)>,
    ended: bool,
    /// Why the sound broke off, told after the last stretch.
    broken: Option<AudioError>,
}

impl<'a> Stretches<'a> {
    /// Looks for speech in `sound`.
    pub fn of(sound: &'a mut dyn Blocks, cutting: Cutting) -> Self {
        Self {
            sound,
            cutting,
            detector: Detector::default_boxed(),
            held: Vec::new(),
            first: 0,
            scores: Vec::new(),
            at: 0,
            open: None,
            ended: false,
            broken: None,
        }
    }

    fn take_block(&mut self) {
        match self.sound.next() {
            Ok(Some(block)) => self.held.extend_from_slice(&block),
            Ok(None) => self.ended = true,
            Err(e) => (self.ended, self.broken) = (true, Some(e)),
        }
        let new = self.held[self.scores.len() * FRAME..].chunks_exact(FRAME);
        self.scores.extend(new.map(|f| self.detector.predict_f32(f)));
    }

    /// Looks at one more frame; a stretch that it closes comes back.
    fn look_at(&mut self, frame: usize) -> Option<Stretch> {
        let voice = self.score(frame);
        let Some((start, last)) = self.open else {
            if voice > self.cutting.begins_above {
                self.open = Some(((frame + 1).saturating_sub(SMOOTH).max(self.first), frame));
            }
            return None;
        };
        let last = if voice > self.cutting.goes_on_above { frame } else { last };
        if frame - last >= frames(self.cutting.pause_s) {
            self.open = None;
            return self.cut(start, last, self.margin());
        }
        self.open = Some((start, last));
        let most = frames(self.cutting.most_s);
        if frame - start < most {
            return None;
        }
        let quietest = (start + most * 2 / 3..=frame).min_by(|&a, &b| self.score(a).total_cmp(&self.score(b)))?;
        self.open = Some((quietest, last.max(quietest)));
        self.cut(start, quietest, 0)
    }

    /// The voice score around a frame.
    fn score(&self, frame: usize) -> f32 {
        let i = frame - self.first;
        let around = &self.scores[(i + 1).saturating_sub(SMOOTH)..=i];
        around.iter().sum::<f32>() / around.len() as f32
    }

    fn margin(&self) -> usize {
        frames(self.cutting.margin_s)
    }

    /// Takes the sound from `start` to `last` out, with a margin on both sides.
    fn cut(&mut self, start: usize, last: usize, margin_after: usize) -> Option<Stretch> {
        let from = start.saturating_sub(self.margin()).max(self.first) - self.first;
        let to = (last + 1 + margin_after - self.first).min(self.scores.len());
        let voiced = self.scores[from..to].iter().filter(|s| **s > 0.5).count();
        let stretch = Stretch {
            start_s: (self.first + from) as f64 / FRAMES_PER_S,
            samples: self.held[from * FRAME..to * FRAME].to_vec(),
            voiced_s: voiced as f64 / FRAMES_PER_S,
        };
        self.drop_frames(to);
        (stretch.voiced_s >= self.cutting.least_s).then_some(stretch)
    }

    /// Outside of a stretch only what may become its margin is kept.
    fn forget_silence(&mut self) {
        if self.open.is_none() {
            let keep = self.margin() + SMOOTH;
            self.drop_frames((self.at - self.first).saturating_sub(keep));
        }
    }

    fn drop_frames(&mut self, n: usize) {
        self.held.drain(..n * FRAME);
        self.scores.drain(..n);
        self.first += n;
    }
}

impl Iterator for Stretches<'_> {
    type Item = Result<Stretch, AudioError>;

    /// The next stretch. When the sound breaks off, what it said comes once, last.
    fn next(&mut self) -> Option<Self::Item> {
        loop {
            while self.at < self.first + self.scores.len() {
                self.at += 1;
                if let Some(s) = self.look_at(self.at - 1) {
                    return Some(Ok(s));
                }
            }
            if self.ended {
                let last = self.open.take().and_then(|(start, last)| self.cut(start, last, self.margin()));
                return last.map(Ok).or_else(|| self.broken.take().map(Err));
            }
            self.forget_silence();
            self.take_block();
        }
    }
}

/// Frames averaged: a tenth of a second.
const SMOOTH: usize = 6;

fn frames(seconds: f64) -> usize {
    (seconds * FRAMES_PER_S).round() as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::Samples;

    fn stretches(sound: Vec<f32>) -> Vec<Stretch> {
        let mut sound = Samples::new(sound);
        Stretches::of(&mut sound, Cutting::default()).collect::<Result<_, _>>().unwrap()
    }

    /// A buzz through three resonances, five syllables a second: near enough to a voice for a detector.
    fn babble(seconds: f64) -> Vec<f32> {
        let n = (seconds * RATE as f64) as usize;
        let mut out = vec![0.0f32; n];
        for (f, q) in [(650.0f32, 0.985f32), (1100.0, 0.98), (2400.0, 0.97)] {
            let w = std::f32::consts::TAU * f / RATE as f32;
            let (mut y1, mut y2) = (0.0, 0.0);
            for (i, o) in out.iter_mut().enumerate() {
                let t = i as f32 / RATE as f32;
                let pitch = 120.0 + 20.0 * (t * 3.0).sin();
                let pulse = if (i % (RATE as f32 / pitch) as usize) == 0 { 1.0 } else { 0.0 };
                let y = pulse + 2.0 * q * w.cos() * y1 - q * q * y2;
                (y1, y2) = (y, y1);
                *o += y * 0.03 * (0.5 - 0.5 * (std::f32::consts::TAU * 5.0 * t).cos());
            }
        }
        out
    }

    #[test]
    fn silence_holds_nothing() {
        assert!(stretches(vec![0.0; 10 * RATE]).is_empty());
        assert!(stretches(Vec::new()).is_empty());
    }

    #[test]
    fn a_long_pause_parts_and_the_times_are_kept() {
        let mut sound = vec![0.0; 2 * RATE];
        sound.extend(babble(3.0));
        sound.extend(vec![0.0; 4 * RATE]);
        sound.extend(babble(2.0));
        sound.extend(vec![0.0; RATE]);
        let found = stretches(sound);
        assert_eq!(found.len(), 2, "{:?}", found.iter().map(|s| (s.start_s, s.end_s())).collect::<Vec<_>>());
        for (s, (start, end)) in found.iter().zip([(2.0, 5.0), (9.0, 11.0)]) {
            assert!((s.start_s - start).abs() < 0.8 && (s.end_s() - end).abs() < 0.8, "{} to {}", s.start_s, s.end_s());
        }
    }

    #[test]
    fn no_stretch_is_longer_than_allowed() {
        let found = stretches(babble(70.0));
        assert!(found.len() >= 3);
        assert!(found.iter().all(|s| s.end_s() - s.start_s < 25.0));
        let heard: f64 = found.iter().map(|s| s.end_s() - s.start_s).sum();
        assert!(heard > 68.0, "only {heard} s of 70 were kept");
    }
}
