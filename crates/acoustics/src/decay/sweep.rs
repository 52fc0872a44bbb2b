//! Impulse responses from recorded exponential sweeps.
//!
//! The sweep is three numbers here. Leaves out writing it to be played, and bands.

use realfft::{RealFftPlanner, num_complex::Complex};

/// A sweep is short: a longer recording is something else. A choice of this project.
const LONGEST_RECORDING_S: f64 = 300.0;

/// Two minutes at 192 kHz. A choice of this project: the transforms of more would not fit into a small computer.
const MOST_SAMPLES: usize = 120 * 192_000;

/// What is kept before the response's peak, s, since the peak is not always its first sound; but never more than this
/// share of the time to the harmonic before it. Choices of this project.
const BEFORE_PEAK_S: f64 = 0.1;
const HARMONIC_SHARE: f64 = 0.25;

/// An exponential sweep, `x(t) = sin[(2π·f₁·T/R)·(e^(t·R/T) - 1)]`, `R = ln(f₂/f₁)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sweep {
    from_hz: f64,
    to_hz: f64,
    duration_s: f64,
}

/// Why a recording of a sweep gives no impulse response.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum SweepError {
    /// A sweep goes up, at least by an octave.
    #[error("a sweep from {from_hz} to {to_hz} Hz does not go up by an octave")]
    Frequencies { from_hz: f64, to_hz: f64 },
    /// Too short has no time for the low notes, too long is a slip.
    #[error("a sweep of {duration_s} s is not between 0.1 and 120 s")]
    Duration { duration_s: f64 },
    /// The recording cannot hold the sweep's highest notes.
    #[error("{sample_rate_hz} Hz cannot hold a sweep up to {to_hz} Hz: record at a higher rate")]
    SampleRate { sample_rate_hz: f64, to_hz: f64 },
    /// Leave out or correct the sample.
    #[error("sample {index} is not a finite number")]
    NotFinite { index: usize },
    /// Cut the recording to one sweep and the silence after it.
    #[error(
        "a recording of {recording_s:.0} s is too long for a sweep: cut it to one sweep and the silence after it"
    )]
    TooLong { recording_s: f64 },
    /// The silence after the sweep is part of the measurement.
    #[error("a recording of {recording_s:.2} s does not hold a sweep of {duration_s} s and its echo")]
    TooShort { recording_s: f64, duration_s: f64 },
    /// Choose the channel that was recorded.
    #[error("the recording is silent")]
    Silent,
}

impl Sweep {
    /// Takes the lowest and highest frequency, Hz, and the length, s.
    ///
    /// # Errors
    /// [`SweepError::Frequencies`], [`SweepError::Duration`].
    pub fn new(from_hz: f64, to_hz: f64, duration_s: f64) -> Result<Self, SweepError> {
        if !(from_hz > 0.0 && to_hz.is_finite() && to_hz >= 2.0 * from_hz) {
            return Err(SweepError::Frequencies { from_hz, to_hz });
        }
        if !(0.1..=120.0).contains(&duration_s) {
            return Err(SweepError::Duration { duration_s });
        }
        Ok(Self { from_hz, to_hz, duration_s })
    }

    /// R = ln(f₂/f₁).
    fn log_ratio(&self) -> f64 {
        (self.to_hz / self.from_hz).ln()
    }

    /// Its lowest frequency, Hz.
    pub fn from_hz(&self) -> f64 {
        self.from_hz
    }

    /// Its highest frequency, Hz.
    pub fn to_hz(&self) -> f64 {
        self.to_hz
    }

    /// Returns the sweep as samples, amplitude 1, without fades.
    fn samples(&self, sample_rate_hz: f64) -> Vec<f64> {
        let rate = self.log_ratio() / self.duration_s;
        let phase = std::f64::consts::TAU * self.from_hz / rate;
        let count = (self.duration_s * sample_rate_hz).round() as usize;
        (0..count).map(|index| (phase * (rate * index as f64 / sample_rate_hz).exp_m1()).sin()).collect()
    }

    /// Returns the inverse, `x(T - t)·e^(-t·R/T)` over `fs²·T/(4·R·f₂)`: sweep and inverse convolve to 1 in the band.
    fn inverse(&self, sample_rate_hz: f64) -> Vec<f64> {
        let mut samples = self.samples(sample_rate_hz);
        samples.reverse();
        let rate = self.log_ratio() / self.duration_s;
        let gain = 4.0 * rate * self.to_hz / sample_rate_hz.powi(2);
        for (index, sample) in samples.iter_mut().enumerate() {
            *sample *= gain * (-rate * index as f64 / sample_rate_hz).exp();
        }
        samples
    }
}

/// An impulse response, from just before its peak.
#[derive(Debug, Clone, PartialEq)]
pub struct Response {
    /// Samples at the rate of the recording; in the band of the sweep, an unchanged signal would be a 1 of that band.
    pub samples: Vec<f64>,
    /// Where its peak lies in the recording's convolution with the inverse, less the sweep: when the sweep began, s.
    pub sweep_began_s: f64,
}

/// Returns the impulse response in a recording of a sweep.
///
/// A convolution with the inverse sweep, padded with zeros and so never circular. Harmonic k of a loudspeaker comes
/// T·ln(k)/R before the linear response and is cut off: the response starts shortly before its peak and ends with the
/// recording, so the silence after the sweep must be as long as the longest decay.
///
/// Player and recorder must share a clock or differ by less than 50 parts in a million: more smears the high notes.
///
/// # Units and shape
/// `recording`: one channel, any unit, holding one whole sweep and the silence after it.
///
/// # Errors
/// [`SweepError`].
///
/// # Source
/// Farina, AES 108th convention (2000), from memory; in-band product T/(4·R·f₂) derived, tested here.
pub fn deconvolve(recording: &[f64], sample_rate_hz: f64, sweep: &Sweep) -> Result<Response, SweepError> {
    check(recording, sample_rate_hz, sweep)?;
    let inverse = sweep.inverse(sample_rate_hz);
    let convolved = convolve(recording, &inverse);
    // Past the recording's end, what is left is the inverse running out of it.
    let from = inverse.len() - 1;
    let linear = &convolved[from..recording.len()];
    let peak = linear.iter().enumerate().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    let peak = peak.map(|(index, _)| index).ok_or(SweepError::Silent)?;
    let harmonic_s = sweep.duration_s * std::f64::consts::LN_2 / sweep.log_ratio();
    let before = (BEFORE_PEAK_S.min(HARMONIC_SHARE * harmonic_s) * sample_rate_hz) as usize;
    Ok(Response {
        samples: linear[peak.saturating_sub(before)..].to_vec(),
        sweep_began_s: peak as f64 / sample_rate_hz,
    })
}

fn check(recording: &[f64], sample_rate_hz: f64, sweep: &Sweep) -> Result<(), SweepError> {
    if !(sample_rate_hz.is_finite() && sample_rate_hz > 2.0 * sweep.to_hz) {
        return Err(SweepError::SampleRate { sample_rate_hz, to_hz: sweep.to_hz });
    }
    let recording_s = recording.len() as f64 / sample_rate_hz;
    if recording_s > LONGEST_RECORDING_S || recording.len() > MOST_SAMPLES {
        return Err(SweepError::TooLong { recording_s });
    }
    // A tenth of a second after the sweep is the least that can hold a decay.
    if recording_s < sweep.duration_s + 0.1 {
        return Err(SweepError::TooShort { recording_s, duration_s: sweep.duration_s });
    }
    if let Some(index) = recording.iter().position(|sample| !sample.is_finite()) {
        return Err(SweepError::NotFinite { index });
    }
    if recording.iter().all(|sample| *sample == 0.0) {
        return Err(SweepError::Silent);
    }
    Ok(())
}

/// Convolves linearly; returns `a.len() + b.len() - 1` samples.
pub(super) fn convolve(a: &[f64], b: &[f64]) -> Vec<f64> {
    let count = a.len() + b.len() - 1;
    let padded = transform_length(count);
    let mut planner = RealFftPlanner::<f64>::new();
    let (forward, backward) = (planner.plan_fft_forward(padded), planner.plan_fft_inverse(padded));
    let spectrum = |samples: &[f64]| {
        let mut input = samples.to_vec();
        input.resize(padded, 0.0);
        let mut output = forward.make_output_vec();
        forward.process(&mut input, &mut output).expect("the planner made both lengths");
        output
    };
    let mut product = spectrum(a);
    for (mine, theirs) in product.iter_mut().zip(spectrum(b)) {
        *mine *= theirs / padded as f64;
    }
    // The ends of a real signal's spectrum are real; rounding leaves a trace that the inverse would refuse.
    let last = product.len() - 1;
    product[0] = Complex::new(product[0].re, 0.0);
    product[last] = Complex::new(product[last].re, 0.0);
    let mut output = backward.make_output_vec();
    backward.process(&mut product, &mut output).expect("the planner made both lengths");
    output.truncate(count);
    output
}

/// The shortest even length of at least `count` whose only odd factors are one 3, 5 or 9: quick to transform.
fn transform_length(count: usize) -> usize {
    let lengths = [1, 3, 5, 9].map(|odd: usize| {
        let mut length = 2 * odd;
        while length < count {
            length *= 2;
        }
        length
    });
    lengths.into_iter().min().expect("there are four")
}

#[cfg(test)]
mod tests {
    use super::super::impulse::{Lead, decay_curve};
    use super::super::synthetic::Noise;
    use super::*;

    const RATE_HZ: f64 = 48_000.0;

    /// Magnitude of one frequency, by the plain sum.
    fn magnitude(samples: &[f64], hz: f64) -> f64 {
        let turn = std::f64::consts::TAU * hz / RATE_HZ;
        let (re, im) = samples.iter().enumerate().fold((0.0, 0.0), |(re, im), (index, sample)| {
            let phase = turn * index as f64;
            (re + sample * phase.cos(), im - sample * phase.sin())
        });
        re.hypot(im)
    }

    #[test]
    fn a_sweep_recorded_as_it_was_is_an_impulse_of_its_band() {
        // Farina's product T/(4 R f2), here normalised to 1: flat in the band, a few per cent of ripple near its lower end.
        let sweep = Sweep::new(40.0, 18_000.0, 5.0).unwrap();
        let mut recording = vec![0.0; 12_345];
        recording.extend(sweep.samples(RATE_HZ));
        recording.extend(vec![0.0; 24_000]);
        let response = deconvolve(&recording, RATE_HZ, &sweep).unwrap();
        assert!((response.sweep_began_s * RATE_HZ - 12_345.0).abs() <= 1.0, "{}", response.sweep_began_s);
        for (hz, tolerance) in [(1000.0, 0.02), (4000.0, 0.02), (10_000.0, 0.02), (300.0, 0.05)] {
            let got = magnitude(&response.samples, hz);
            assert!((got - 1.0).abs() < tolerance, "{hz} Hz: {got}");
        }
        assert!(magnitude(&response.samples, 21_000.0) < 0.02, "nothing above the sweep");
    }

    #[test]
    fn harmonics_of_a_loudspeaker_do_not_reach_the_response() {
        // A squarer: 20 % of a second harmonic, which must land T·ln 2/R before and so be cut off. Left in it would be 4 % of
        // the power. Up to 10 kHz, so that the harmonic is not folded at 24 kHz.
        let sweep = Sweep::new(40.0, 10_000.0, 4.0).unwrap();
        let clean = sweep.samples(RATE_HZ);
        let response_of = |distortion: f64| {
            let mut recording: Vec<f64> =
                clean.iter().map(|x| x + distortion * (2.0 * x * x - 1.0)).collect();
            recording.extend(vec![0.0; 24_000]);
            deconvolve(&recording, RATE_HZ, &sweep).unwrap().samples
        };
        let (plain, distorted) = (response_of(0.0), response_of(0.2));
        let power = |samples: &[f64]| samples.iter().map(|sample| sample * sample).sum::<f64>();
        let apart: Vec<f64> = plain.iter().zip(&distorted).map(|(a, b)| a - b).collect();
        assert!(power(&apart) < 1e-3 * power(&plain), "{}", power(&apart) / power(&plain));
        assert!(power(&plain) > 0.1, "{}", power(&plain));
    }

    #[test]
    fn a_room_comes_out_of_its_sweep() {
        // A room of decaying noise, T = 0.8 s, and a floor 60 dB below the sweep: the decay is the room's within 2 %.
        let sweep = Sweep::new(50.0, 7000.0, 3.0).unwrap();
        let rate_hz = 16_000.0;
        let mut room = Noise(11).decaying(16_000, rate_hz, 0.8);
        room.iter_mut().for_each(|sample| *sample *= 0.02);
        let mut recording = convolve(&sweep.samples(rate_hz), &room);
        recording.resize(80_000, 0.0);
        for (sample, noise) in recording.iter_mut().zip(Noise(12).samples(80_000)) {
            *sample += 0.0005 * noise;
        }
        let response = deconvolve(&recording, rate_hz, &sweep).unwrap();
        let times = decay_curve(&response.samples, rate_hz, Lead::Blank, None).unwrap().times().unwrap();
        assert!((times.t20.unwrap().time_s / 0.8 - 1.0).abs() < 0.02, "{times:?}");
        assert!((times.t30.unwrap().time_s / 0.8 - 1.0).abs() < 0.02, "{times:?}");
    }

    #[test]
    fn clocks_that_differ_by_fifty_millionths_do_not_matter() {
        // The same room, played by a clock that runs 50 parts in a million fast.
        let rate_hz = 16_000.0;
        let sweep = Sweep::new(50.0, 7000.0, 5.0).unwrap();
        let room = Noise(11).decaying(16_000, rate_hz, 0.5);
        let times = |play_rate_hz: f64| {
            let mut recording = convolve(&sweep.samples(play_rate_hz), &room);
            recording.resize(110_000, 0.0);
            let response = deconvolve(&recording, rate_hz, &sweep).unwrap();
            decay_curve(&response.samples, rate_hz, Lead::Blank, None).unwrap().times().unwrap()
        };
        let (same, fast) = (times(rate_hz), times(rate_hz / (1.0 + 50e-6)));
        for (same, fast) in [(same.t20, fast.t20), (same.t30, fast.t30)] {
            let ratio = fast.unwrap().time_s / same.unwrap().time_s;
            assert!((ratio - 1.0).abs() < 0.005, "{ratio}");
        }
    }

    #[test]
    fn convolution_is_the_plain_sum() {
        let (a, b) = (Noise(1).samples(37), Noise(2).samples(12));
        let quick = convolve(&a, &b);
        assert_eq!(quick.len(), 48);
        for (index, got) in quick.iter().enumerate() {
            let plain: f64 = (0..b.len())
                .filter(|k| index >= *k && index - k < a.len())
                .map(|k| a[index - k] * b[k])
                .sum();
            assert!((got - plain).abs() < 1e-12);
        }
        for (count, length) in [(1, 2), (48, 48), (49, 64), (65, 72), (73, 80), (1000, 1024), (1025, 1152)] {
            assert_eq!(transform_length(count), length);
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(matches!(Sweep::new(0.0, 1000.0, 1.0), Err(SweepError::Frequencies { .. })));
        assert!(matches!(Sweep::new(1000.0, 100.0, 1.0), Err(SweepError::Frequencies { .. })));
        assert!(matches!(Sweep::new(f64::NAN, 100.0, 1.0), Err(SweepError::Frequencies { .. })));
        assert!(matches!(Sweep::new(40.0, f64::INFINITY, 1.0), Err(SweepError::Frequencies { .. })));
        assert!(matches!(Sweep::new(40.0, 1000.0, 0.0), Err(SweepError::Duration { .. })));
        assert!(matches!(Sweep::new(40.0, 1000.0, f64::NAN), Err(SweepError::Duration { .. })));
        let sweep = Sweep::new(40.0, 1000.0, 1.0).unwrap();
        let refused = |samples: &[f64], rate_hz| deconvolve(samples, rate_hz, &sweep).unwrap_err();
        assert!(matches!(refused(&[0.1; 9000], 2000.0), SweepError::SampleRate { .. }));
        assert!(matches!(refused(&[0.1; 9000], f64::NAN), SweepError::SampleRate { .. }));
        assert!(matches!(refused(&[0.1; 8000], 8000.0), SweepError::TooShort { .. }));
        assert!(matches!(refused(&[], 8000.0), SweepError::TooShort { .. }));
        assert!(matches!(refused(&vec![0.1; 8000 * 301], 8000.0), SweepError::TooLong { .. }));
        assert_eq!(refused(&[0.0; 16_000], 8000.0), SweepError::Silent);
        let mut broken = vec![0.1; 16_000];
        broken[7] = f64::NAN;
        assert_eq!(refused(&broken, 8000.0), SweepError::NotFinite { index: 7 });
    }
}
