//! Peaks between the samples, by oversampling.
//!
//! A converter draws a curve through the samples, and the curve may go higher than any of them: a file that "just fits"
//! then clips on the way to the loudspeaker. Levels by this meter are dB re a sample of 1 (dBTP). It judges what is
//! played; sound pressure peaks of a measurement are for [`meter`](crate::meter).

use std::f64::consts::PI;

use crate::kaiser::bessel_i0;

use crate::NotFinite;

/// Points looked at for each sample.
const OVERSAMPLING: usize = 8;

/// Samples that make up one point.
const TAPS: usize = 24;

/// Shape of the window over the taps. Kaiser's β: chosen here, between ripple and the highest frequency kept.
const KAISER_BETA: f64 = 6.0;

/// Highest frequency, as a part of the sample rate, for which [`UNDER_READING_DB_MOST`] holds.
pub const BANDWIDTH_RATIO: f64 = 0.42;

/// The most by which the meter reads too low, dB, for sound up to [`BANDWIDTH_RATIO`] of the sample rate.
///
/// Between two points at distance 1/8 a sine of frequency f hides `-20·lg cos(π·f/(8·fs))`, 0.119 dB at 0.42 of the
/// rate; the interpolation itself is 0.009 dB low at worst (0.015 dB high).
///
/// # Source
/// The formula of ITU-R BS.1770-4 Annex 2, attachment 1; the filter's own error computed with numpy 2.4 from its
/// response, and checked in the tests.
pub const UNDER_READING_DB_MOST: f64 = 0.13;

/// The largest magnitude of the curve through the samples, in constant memory.
///
/// Eight points to a sample by a windowed sinc, `h(t) = sinc(t)·w(t)`, `w` Kaiser's window over 24 samples, each point
/// scaled so that a constant stays what it is. Before the first and after the last sample the curve runs to zero.
///
/// # Source
/// ITU-R BS.1770-4 Annex 2 asks for at least four points and leaves the filter open; this one is our own.
#[derive(Debug, Clone)]
pub struct TruePeak {
    phases: Box<[[f64; TAPS]]>,
    /// Most that a point can exceed the largest of its samples by, as a factor.
    gain_most: f64,
    /// The last samples twice over, so that a window is always in one piece.
    recent: [f64; 2 * TAPS],
    place: usize,
    /// Samples until a loud one leaves the window.
    loud_for: usize,
    peak: f64,
}

impl Default for TruePeak {
    fn default() -> Self {
        Self::new()
    }
}

impl TruePeak {
    /// Starts with silence.
    pub fn new() -> Self {
        let phases: Box<[[f64; TAPS]]> = (0..OVERSAMPLING).map(phase).collect();
        let gain = |taps: &[f64; TAPS]| taps.iter().map(|tap| tap.abs()).sum::<f64>();
        let gain_most = phases.iter().map(gain).fold(1.0, f64::max);
        Self { phases, gain_most, recent: [0.0; 2 * TAPS], place: 0, loud_for: 0, peak: 0.0 }
    }

    /// Takes in the next samples, in blocks of any size.
    ///
    /// # Errors
    /// [`NotFinite`]; the samples before it count.
    pub fn push(&mut self, samples: &[f64]) -> Result<(), NotFinite> {
        samples.iter().try_for_each(|sample| {
            self.push_one(crate::finite(*sample)?);
            Ok(())
        })
    }

    fn push_one(&mut self, sample: f64) {
        self.recent[self.place] = sample;
        self.recent[self.place + TAPS] = sample;
        self.place = (self.place + 1) % TAPS;
        // Where no sample of the window is loud enough, no point between them can be the peak.
        self.loud_for =
            if sample.abs() * self.gain_most > self.peak { TAPS } else { self.loud_for.saturating_sub(1) };
        if self.loud_for == 0 {
            return;
        }
        let window = &self.recent[self.place..self.place + TAPS];
        for taps in &self.phases {
            let point: f64 = taps.iter().zip(window).map(|(tap, sample)| tap * sample).sum();
            self.peak = self.peak.max(point.abs());
        }
    }

    /// Returns the peak as a number, full scale at 1; the curve is taken to fall to zero from here on.
    ///
    /// # Units and shape
    /// At least the largest sample, to rounding; 0 for silence. Sine waves may read up to 0.015 dB high.
    pub fn peak(&self) -> f64 {
        let mut ended = self.clone();
        for _ in 0..TAPS {
            ended.push_one(0.0);
        }
        ended.peak
    }

    /// Returns the peak in dB re a sample of 1; `None` for silence, which has no level.
    pub fn level_db(&self) -> Option<f64> {
        let peak = self.peak();
        (peak > 0.0).then(|| 20.0 * libm::log10(peak))
    }
}

/// Weights of the samples for the point `index`/8 of a step after the middle one.
fn phase(index: usize) -> [f64; TAPS] {
    let half = TAPS as f64 / 2.0;
    let mut taps: [f64; TAPS] = std::array::from_fn(|tap| {
        let distance = tap as f64 - (half - 1.0) - index as f64 / OVERSAMPLING as f64;
        sinc(distance) * kaiser(distance / half)
    });
    let sum: f64 = taps.iter().sum();
    taps.iter_mut().for_each(|tap| *tap /= sum);
    taps
}

fn sinc(x: f64) -> f64 {
    if x == 0.0 { 1.0 } else { libm::sin(PI * x) / (PI * x) }
}

/// Kaiser's window at -1 to 1; its scale does not matter here.
fn kaiser(x: f64) -> f64 {
    bessel_i0(KAISER_BETA * (1.0 - x * x).max(0.0).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sine(ratio: f64, phase_rad: f64, count: usize) -> Vec<f64> {
        (0..count).map(|n| (2.0 * PI * ratio * n as f64 + phase_rad).sin()).collect()
    }

    /// Fades in and out, so that what is measured is the sine and not its edges.
    fn faded(mut samples: Vec<f64>) -> Vec<f64> {
        let count = samples.len();
        for n in 0..200 {
            let gain = 0.5 - 0.5 * (PI * n as f64 / 200.0).cos();
            samples[n] *= gain;
            samples[count - 1 - n] *= gain;
        }
        samples
    }

    fn level_db(samples: &[f64]) -> f64 {
        let mut meter = TruePeak::new();
        meter.push(samples).unwrap();
        meter.level_db().unwrap()
    }

    #[test]
    fn a_sine_at_a_quarter_of_the_rate_is_found_between_its_samples() {
        // By definition: at 45 degrees every sample is ±0.7071 (-3.01 dB) and the sine between them reaches 1.
        let samples = faded(sine(0.25, PI / 4.0, 2000));
        let highest = samples.iter().fold(0.0f64, |high, sample| high.max(sample.abs()));
        assert!((20.0 * highest.log10() + 3.0103).abs() < 1e-4);
        assert!(level_db(&samples).abs() < 0.015, "{}", level_db(&samples));
    }

    #[test]
    fn sines_of_any_frequency_and_phase_read_within_the_bound() {
        // A faded sine of peak 1 has a true peak of 1 by definition; a third, a fifth and so on of the rate repeat their
        // samples, which is the worst case, and so are phases halfway between two of the eight points.
        for ratio in [0.001, 0.05, 0.1, 0.125, 0.2, 0.25, 1.0 / 3.0, 0.375, 0.4, 0.42] {
            for step in 0..16 {
                let phase_rad = 2.0 * PI * f64::from(step) / 16.0;
                let got_db = level_db(&faded(sine(ratio, phase_rad, 800)));
                assert!((-UNDER_READING_DB_MOST..0.02).contains(&got_db), "{ratio} at {phase_rad}: {got_db}");
            }
        }
    }

    #[test]
    fn the_interpolation_is_level_up_to_the_bandwidth() {
        // Extremes over all phases up to 0.42 of the rate, computed independently with numpy 2.4 from the design
        // formula: -0.009020 and +0.015161 dB.
        let (mut low_db, mut high_db) = (f64::MAX, f64::MIN);
        for index in 0..OVERSAMPLING {
            let taps = phase(index);
            for step in 1..=1680 {
                let angle = 2.0 * PI * f64::from(step) * 0.00025;
                let sum = |wave: fn(f64) -> f64| -> f64 {
                    taps.iter().enumerate().map(|(tap, weight)| weight * wave(angle * tap as f64)).sum()
                };
                let gain_db = 20.0 * sum(f64::cos).hypot(sum(f64::sin)).log10();
                (low_db, high_db) = (low_db.min(gain_db), high_db.max(gain_db));
            }
        }
        assert!((low_db + 0.009020).abs() < 1e-5, "{low_db}");
        assert!((high_db - 0.015161).abs() < 1e-5, "{high_db}");
    }

    #[test]
    fn bessel_values_match() {
        // Computed independently with scipy 1.17, scipy.special.i0.
        for (x, expected) in [(0.0, 1.0), (1.0, 1.2660658777520084), (6.0, 67.23440697647798)] {
            assert!((bessel_i0(x) / expected - 1.0).abs() < 1e-14);
        }
    }

    #[test]
    fn silence_has_no_level_and_numbers_are_wanted() {
        let mut meter = TruePeak::new();
        assert_eq!((meter.peak(), meter.level_db()), (0.0, None));
        assert!(meter.push(&[0.5, f64::NAN]).is_err());
        assert!(meter.peak() >= 0.5);
    }

    proptest! {
        #[test]
        fn a_peak_is_no_lower_than_any_sample_and_blocks_do_not_matter(
            samples in prop::collection::vec(-1.0..1.0f64, 1..200), cut in 0..200usize,
        ) {
            let mut whole = TruePeak::new();
            whole.push(&samples).unwrap();
            let highest = samples.iter().fold(0.0f64, |high, sample| high.max(sample.abs()));
            prop_assert!(whole.peak() >= highest - 1e-12);
            let mut parts = TruePeak::new();
            let cut = cut.min(samples.len());
            parts.push(&samples[..cut]).unwrap();
            parts.push(&samples[cut..]).unwrap();
            prop_assert_eq!(whole.peak(), parts.peak());
        }
    }
}
