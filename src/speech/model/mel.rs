//! Mel filters: triangles that gather a spectrum into bands the ear tells apart.
//!
//! Slaney's scale and area normalisation, as in M. Slaney, *Auditory Toolbox*,
//! Interval Research technical report 1998-010: linear to 1 kHz, logarithmic above.
//! ggml keeps them in the file, CTranslate2 does not.

use crate::audio::RATE;

/// Points of the Fourier transform.
const FFT: usize = 400;
/// Frequencies from 0 to half the sample rate.
pub(super) const BINS: usize = FFT / 2 + 1;

const HZ_PER_MEL: f64 = 200.0 / 3.0;
const LOG_FROM_HZ: f64 = 1000.0;
/// Above 1 kHz, 27 mel take the frequency to 6.4 times itself.
const LOG_STEP: f64 = 27.0;

fn mel(hz: f64) -> f64 {
    if hz < LOG_FROM_HZ {
        hz / HZ_PER_MEL
    } else {
        LOG_FROM_HZ / HZ_PER_MEL + (hz / LOG_FROM_HZ).ln() * LOG_STEP / 6.4f64.ln()
    }
}

fn hz(mel: f64) -> f64 {
    let knee = LOG_FROM_HZ / HZ_PER_MEL;
    if mel < knee { mel * HZ_PER_MEL } else { LOG_FROM_HZ * ((mel - knee) * 6.4f64.ln() / LOG_STEP).exp() }
}

/// `bands` rows of [`BINS`] weights, lowest band first.
pub(super) fn filters(bands: usize) -> Vec<f32> {
    let top = mel(RATE as f64 / 2.0);
    let edge = |i: usize| hz(top * i as f64 / (bands + 1) as f64);
    let mut all = Vec::with_capacity(bands * BINS);
    for band in 0..bands {
        let (low, mid, high) = (edge(band), edge(band + 1), edge(band + 2));
        for bin in 0..BINS {
            let f = bin as f64 * RATE as f64 / FFT as f64;
            let height = ((f - low) / (mid - low)).min((high - f) / (high - mid)).max(0.0);
            all.push((height * 2.0 / (high - low)) as f32);
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Figures printed by the feature extractor of faster-whisper 1.2.1 for 80
    /// bands, 400 points and 16 kHz, which follows librosa.
    #[test]
    fn agree_with_another_implementation() {
        let all = filters(80);
        assert_eq!(all.len(), 80 * 201);
        let near = |band: usize, bin: usize, want: f32| {
            let got = all[band * BINS + bin];
            assert!((got - want).abs() < 1e-7, "band {band}, bin {bin}: {got}, expected {want}");
        };
        near(0, 1, 0.024_862_594);
        near(1, 1, 0.001_990_822);
        near(10, 10, 0.019_908_22);
        near(40, 43, 0.014_735_566);
        near(60, 93, 0.006_591_093);
        near(79, 192, 0.003_164_712);
        near(79, 200, 0.0);
        let sum: f64 = all.iter().map(|&f| f64::from(f)).sum();
        assert!((sum - 1.999_024_1).abs() < 1e-5, "{sum}");
        assert_eq!(all.iter().filter(|f| **f > 0.0).count(), all.iter().filter(|f| **f != 0.0).count());
    }
}
