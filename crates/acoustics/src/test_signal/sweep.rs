//! The exponential sweep as a function of the sample's number, and its inverse.

use std::f64::consts::PI;

use super::{Fade, Sweep, frames_in};

impl Sweep {
    /// Returns the natural logarithm of the ratio of its frequencies, R.
    fn rate(&self) -> f64 {
        libm::log(self.to_hz / self.from_hz)
    }

    /// Returns one sample of the inverse, `x(T - t)·e^(-t·R/T)`: played backwards, 6 dB an octave quieter towards low
    /// frequencies.
    ///
    /// A recording of the sweep, linearly convolved with it, is the impulse response of what lay between, delayed by the
    /// sweep's frames less one, and times [`deconvolution_gain`](Self::deconvolution_gain).
    ///
    /// # Units and shape
    /// `frame` counts from 0; 0 beyond the end. Full scale at 1, like [`sweep_sample`].
    ///
    /// # Source
    /// A. Farina, AES 108th convention, 2000.
    pub fn inverse_sample(&self, frame: u64) -> f64 {
        let frames = frames_in(self.duration_s, self.sample_rate_hz);
        let Some(mirrored) = frames.checked_sub(1).and_then(|last| last.checked_sub(frame)) else {
            return 0.0;
        };
        let time_s = frame as f64 / f64::from(self.sample_rate_hz);
        sweep_sample(self, mirrored) * libm::exp(-time_s * self.rate() / self.duration_s)
    }

    /// Returns how much sweep and inverse together amplify within the band, `fs²·T/(4·R·f₂)`, for sums over samples.
    ///
    /// # Source
    /// From the stationary phase of both; the continuous form is T/(4·R·f₂), s².
    pub fn deconvolution_gain(&self) -> f64 {
        let rate_hz = f64::from(self.sample_rate_hz);
        rate_hz * rate_hz * self.duration_s / (4.0 * self.rate() * self.to_hz)
    }
}

/// Returns one sample of a sweep with its fades, before its level: full scale at 1.
///
/// # Units and shape
/// `frame` counts from 0. Silence beyond the end; silence altogether for a sweep that [`Sweep::write`] would refuse and
/// that has no such sample.
///
/// # Source
/// A. Farina, AES 108th convention, 2000.
pub fn sweep_sample(sweep: &Sweep, frame: u64) -> f64 {
    let frames = frames_in(sweep.duration_s, sweep.sample_rate_hz);
    if frame >= frames {
        return 0.0;
    }
    let time_s = frame as f64 / f64::from(sweep.sample_rate_hz);
    let stretch_s = sweep.duration_s / sweep.rate();
    let phase_rad = 2.0 * PI * sweep.from_hz * stretch_s * (libm::exp(time_s / stretch_s) - 1.0);
    let value = libm::sin(phase_rad) * Fade::new(sweep.fade_s, sweep.sample_rate_hz, frames).gain(frame);
    if value.is_finite() { value } else { 0.0 }
}
