//! Halving a sample rate: a half-band low-pass that keeps every second sample, without delay.

use std::f64::consts::PI;

use crate::kaiser::bessel_i0;

/// Taps on each side of the middle that are not zero; the filter reaches twice as far less one.
const PAIRS: usize = 8;

/// How many samples the filter looks ahead and back.
pub(super) const REACH: usize = 2 * PAIRS - 1;

/// Shape of the Kaiser window: 81 dB down where it would fold into a band.
const BETA: f64 = 8.0;

/// Halves a rate: 31 taps, flat to 0.001 dB up to 0.117 of the incoming rate, 81 dB down from 0.383.
///
/// An outgoing sample lies at the time of an even incoming one, not later: what comes out is as long as what went in and
/// in step with it. Every other tap is zero, so only the odd incoming samples are summed and the even ones copied.
///
/// # Source
/// Windowed sinc, in every textbook of digital filters.
#[derive(Debug, Clone)]
pub(super) struct HalfBand {
    taps: [f64; PAIRS],
    /// Incoming samples of even and odd place that a coming sample still needs, oldest first.
    even: Vec<f64>,
    odd: Vec<f64>,
    next_is_odd: bool,
}

impl HalfBand {
    pub(super) fn new() -> Self {
        // Before the start there was silence: eight odd places lie before the first even one.
        Self { taps: taps(), even: Vec::new(), odd: vec![0.0; PAIRS], next_is_odd: false }
    }

    /// Takes samples in and appends those that can be told to `out`.
    pub(super) fn process(&mut self, samples: &[f64], out: &mut Vec<f64>) {
        let lone = usize::from(self.next_is_odd).min(samples.len());
        self.odd.extend_from_slice(&samples[..lone]);
        let pairs = samples[lone..].chunks_exact(2);
        self.even.extend(pairs.clone().map(|pair| pair[0]));
        self.odd.extend(pairs.clone().map(|pair| pair[1]));
        self.even.extend_from_slice(pairs.remainder());
        self.next_is_odd ^= samples.len() % 2 == 1;
        // A sample at an even place needs the eight odd places before it, in `odd` from its own index, and eight after.
        let ready = self.even.len().min((self.odd.len() + 1).saturating_sub(2 * PAIRS));
        if ready == 0 {
            return;
        }
        let start = out.len();
        out.extend(self.even[..ready].iter().map(|sample| 0.5 * sample));
        let out = &mut out[start..];
        for (pair, tap) in self.taps.iter().enumerate() {
            let before = &self.odd[PAIRS - 1 - pair..][..ready];
            let after = &self.odd[PAIRS + pair..][..ready];
            for ((sum, before), after) in out.iter_mut().zip(before).zip(after) {
                *sum += tap * (before + after);
            }
        }
        self.even.drain(..ready);
        self.odd.drain(..ready);
    }

    /// `H` at a frequency: real, for there is no delay.
    #[cfg(test)]
    pub(super) fn gain(&self, hz: f64, sample_rate_hz: f64) -> f64 {
        let angle = 2.0 * PI * hz / sample_rate_hz;
        let pair = |(index, tap): (usize, &f64)| 2.0 * tap * ((2 * index + 1) as f64 * angle).cos();
        0.5 + self.taps.iter().enumerate().map(pair).sum::<f64>()
    }
}

fn taps() -> [f64; PAIRS] {
    let tap = |index: usize| {
        let place = (2 * index + 1) as f64;
        let edge = place / REACH as f64;
        let window = bessel_i0(BETA * (1.0 - edge * edge).sqrt());
        (PI * place / 2.0).sin() / (PI * place) * window
    };
    let taps: [f64; PAIRS] = std::array::from_fn(tap);
    // Both sides together make up the other half: gain 1 at 0 Hz.
    let sum: f64 = taps.iter().sum();
    taps.map(|tap| tap * 0.25 / sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn taps_match_published_ones() {
        // Computed independently with scipy 1.17: firwin(31, 0.5, window=("kaiser", 8)), middle tap made 0.5.
        let half_band = HalfBand::new();
        #[rustfmt::skip]
        let expected: [f64; PAIRS] = [
            3.130_351_44e-01, -9.122_178_22e-02, 4.153_532_69e-02, -1.922_700_02e-02,
            8.020_057_98e-03, -2.734_350_72e-03, 6.422_327_22e-04, -4.962_823_24e-05,
        ];
        for (tap, expected) in half_band.taps.iter().zip(expected) {
            assert!((tap - expected).abs() < 1e-9, "{tap}, not {expected}");
        }
        assert!(
            (bessel_i0(8.0) - 427.564_115_721_804_74).abs() < 1e-9,
            "computed independently with scipy 1.17"
        );
    }

    #[test]
    fn passes_and_stops_where_it_should() {
        let half_band = HalfBand::new();
        for step in 0..=117 {
            let gain_db = 20.0 * half_band.gain(f64::from(step), 1000.0).log10();
            assert!(gain_db.abs() < 0.001, "{step}: {gain_db}");
            let folded_db = 20.0 * half_band.gain(500.0 - f64::from(step), 1000.0).abs().max(1e-12).log10();
            assert!(folded_db < -81.0, "{step}: {folded_db}");
        }
    }

    #[test]
    fn what_comes_out_is_in_step_and_as_long() {
        let wave = |n: usize| (n as f64 * 0.2).sin();
        let samples: Vec<f64> = (0..1001).map(wave).collect();
        let mut half_band = HalfBand::new();
        let mut out = Vec::new();
        for piece in samples.chunks(37) {
            half_band.process(piece, &mut out);
        }
        half_band.process(&[0.0; REACH], &mut out);
        assert_eq!(out.len(), 501);
        for (m, y) in out.iter().enumerate().skip(8).take(485) {
            assert!((y - wave(2 * m)).abs() < 1e-4, "{m}: {y}");
        }
    }
}
