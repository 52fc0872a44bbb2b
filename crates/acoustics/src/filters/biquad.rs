//! One second-order section, transposed direct form II.

use std::f64::consts::PI;

/// Samples between two looks for states too small to matter.
const LOOK_EVERY: usize = 1024;

/// Below this a state is silence: 600 dB under full scale, and far above the denormal numbers that slow a processor down.
pub(crate) const TOO_SMALL: f64 = 1e-30;

/// `y = b0·x + b1·x₁ + b2·x₂ - a1·y₁ - a2·y₂` with its state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Biquad {
    pub(crate) b: [f64; 3],
    pub(crate) a: [f64; 2],
    state: [f64; 2],
}

impl Biquad {
    pub(crate) fn new(b: [f64; 3], a: [f64; 2]) -> Self {
        Self { b, a, state: [0.0; 2] }
    }

    /// Two zeros at 0 Hz and two real poles.
    pub(crate) fn high_pass(poles: [f64; 2]) -> Self {
        Self::new([1.0, -2.0, 1.0], [-(poles[0] + poles[1]), poles[0] * poles[1]])
    }

    fn process(&mut self, samples: &mut [f64]) {
        let ([b0, b1, b2], [a1, a2], [mut s1, mut s2]) = (self.b, self.a, self.state);
        for sample in samples {
            let x = *sample;
            let y = b0 * x + s1;
            s1 = b1 * x - a1 * y + s2;
            s2 = b2 * x - a2 * y;
            *sample = y;
        }
        self.state = [s1, s2].map(|state| if state.abs() < TOO_SMALL { 0.0 } else { state });
    }

    /// `|H|²` at a frequency.
    fn power(&self, hz: f64, sample_rate_hz: f64) -> f64 {
        let (sin, cos) = (2.0 * PI * hz / sample_rate_hz).sin_cos();
        // z² + c1·z + c2 at z = cos + i·sin, divided by z: the same magnitude with fewer terms.
        let square = |c0: f64, c1: f64, c2: f64| {
            let (real, imaginary) = ((c0 + c2) * cos + c1, (c0 - c2) * sin);
            real * real + imaginary * imaginary
        };
        square(self.b[0], self.b[1], self.b[2]) / square(1.0, self.a[0], self.a[1])
    }
}

/// Runs samples through sections one after the other.
pub(super) fn run(sections: &mut [Biquad], samples: &mut [f64]) {
    for chunk in samples.chunks_mut(LOOK_EVERY) {
        for section in &mut *sections {
            section.process(chunk);
        }
    }
}

/// Forgets what went through.
pub(super) fn reset(sections: &mut [Biquad]) {
    for section in sections {
        section.state = [0.0; 2];
    }
}

/// Returns what sections take off at a frequency, dB; never more than 1000, so that it stays finite at 0 Hz.
pub(super) fn attenuation_db(sections: &[Biquad], hz: f64, sample_rate_hz: f64) -> f64 {
    let lost_db = |section: &Biquad| -10.0 * section.power(hz, sample_rate_hz).max(1e-100).log10();
    sections.iter().map(lost_db).sum::<f64>().min(1000.0)
}
