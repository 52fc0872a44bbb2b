//! From samples to the history: high-pass, weightings, squares, detectors.

use std::f64::consts::SQRT_2;

use super::measurement::{PERCENTILE_STEP_S, Second};
use crate::filters::biquad::{Biquad, TOO_SMALL};
use crate::filters::{FilterError, WeightingFilter};
use crate::weighting::Curve;

/// Where the offset is cut off, Hz.
const HIGH_PASS_HZ: f64 = 2.0;

/// Time constants of Fast and Slow, s. IEC 61672-1.
const FAST_S: f64 = 0.125;
const SLOW_S: f64 = 1.0;

/// The lowest level is looked for once a detector has risen, after so many of its time constants.
const RISING: f64 = 5.0;

/// A, C and Z, each through Fast and Slow: `[A, C, Z]` Fast and then Slow.
const DETECTORS: usize = 6;

/// Sections of the longer weighting.
const SECTIONS: usize = 3;

/// A detector that decayed to this is at rest. Far below any sound, still above denormal numbers.
const AT_REST: f64 = 1e-290;

/// Samples of one recording on their way to a history.
#[derive(Debug, Clone)]
pub(super) struct Chain {
    sample_rate_hz: u32,
    weightings: Weightings,
    /// How much of a detector is left after a sample.
    keep: [f64; DETECTORS],
    detectors: [f64; DETECTORS],
    /// Samples so far.
    count: u64,
    second: Second,
    seconds: Vec<Second>,
    /// A and C weighted samples of a frame.
    a: Vec<f64>,
    c: Vec<f64>,
}

impl Chain {
    pub(super) fn new(sample_rate_hz: u32) -> Result<Self, FilterError> {
        let rate_hz = f64::from(sample_rate_hz);
        let keep = |tau_s: f64| (-1.0 / (tau_s * rate_hz)).exp();
        let (fast, slow) = (keep(FAST_S), keep(SLOW_S));
        Ok(Self {
            sample_rate_hz,
            weightings: Weightings::new(rate_hz)?,
            keep: [fast, fast, fast, slow, slow, slow],
            detectors: [0.0; DETECTORS],
            count: 0,
            second: Second::default(),
            seconds: Vec::new(),
            a: Vec::new(),
            c: Vec::new(),
        })
    }

    /// Takes a frame in and leaves its Z-weighted samples there.
    pub(super) fn push(&mut self, frame: &mut [f64]) {
        let (mut a, mut c) = (std::mem::take(&mut self.a), std::mem::take(&mut self.c));
        a.resize(frame.len(), 0.0);
        c.resize(frame.len(), 0.0);
        self.weightings.process(frame, &mut a, &mut c);
        let mut done = 0;
        while done < frame.len() {
            let left = usize::try_from(self.next_mark() - self.count).unwrap_or(usize::MAX);
            let end = done + left.min(frame.len() - done);
            self.detect(&a[done..end], &c[done..end], &frame[done..end]);
            self.mark();
            done = end;
        }
        (self.a, self.c) = (a, c);
        let rest = |level: f64| if level < AT_REST { 0.0 } else { level };
        self.detectors = self.detectors.map(rest);
    }

    /// Ends the recording: the history, the last second perhaps a short one.
    pub(super) fn finish(mut self) -> Vec<Second> {
        // A recording shorter than the first reading is read at its end.
        if self.seconds.is_empty() && self.second.sample_count > 0 && self.second.fast_a.is_empty() {
            self.second.fast_a.push(self.detectors[0]);
        }
        if self.second.sample_count > 0 {
            self.seconds.push(self.second);
        }
        self.seconds
    }

    /// Readings for percentiles in a second.
    fn per_second() -> u64 {
        (1.0 / PERCENTILE_STEP_S).round() as u64
    }

    /// The sample count of the `nth` reading.
    fn reading_at(&self, nth: u64) -> u64 {
        nth * u64::from(self.sample_rate_hz) / Self::per_second()
    }

    /// The sample count of the reading that comes next; every full second is one.
    fn next_mark(&self) -> u64 {
        let mut nth = self.count * Self::per_second() / u64::from(self.sample_rate_hz) + 1;
        while self.reading_at(nth) <= self.count {
            nth += 1;
        }
        self.reading_at(nth)
    }

    /// Notes the Fast level where one is due, and ends a second that is full.
    fn mark(&mut self) {
        let rate = u64::from(self.sample_rate_hz);
        let nth = (self.count * Self::per_second()).div_ceil(rate);
        if self.reading_at(nth) == self.count {
            self.second.fast_a.push(self.detectors[0]);
        }
        if self.count.is_multiple_of(rate) {
            self.seconds.push(std::mem::take(&mut self.second));
        }
    }

    /// Runs squares through the detectors, up to the next mark.
    fn detect(&mut self, a: &[f64], c: &[f64], z: &[f64]) {
        let count = a.len() as u64;
        // A run counts for the lowest level if all of it lies where the detector has risen.
        let start_s = self.count as f64 / f64::from(self.sample_rate_hz);
        let (mut levels, keep) = (self.detectors, self.keep);
        let take = keep.map(|keep| 1.0 - keep);
        let mut energy = [0.0; 3];
        let mut highest = [0.0; DETECTORS];
        let mut lowest = [f64::INFINITY; DETECTORS];
        let mut peak: f64 = 0.0;
        for ((a, c), z) in a.iter().zip(c).zip(z) {
            let squares = [a * a, c * c, z * z];
            for lane in 0..3 {
                energy[lane] += squares[lane];
            }
            peak = if squares[1] > peak { squares[1] } else { peak };
            for lane in 0..DETECTORS {
                let level = keep[lane] * levels[lane] + take[lane] * squares[lane % 3];
                highest[lane] = if level > highest[lane] { level } else { highest[lane] };
                lowest[lane] = if level < lowest[lane] { level } else { lowest[lane] };
                levels[lane] = level;
            }
        }
        self.detectors = levels;
        self.count += count;
        let has_risen = |lane: usize| start_s + 1e-9 >= RISING * if lane < 3 { FAST_S } else { SLOW_S };
        let second = &mut self.second;
        second.sample_count += count;
        second.peak_c = second.peak_c.max(peak);
        for (sum, energy) in second.sums.iter_mut().zip(energy) {
            *sum += energy;
        }
        for lane in 0..DETECTORS {
            second.highest[lane] = second.highest[lane].max(highest[lane]);
            if has_risen(lane) {
                second.lowest[lane] = second.lowest[lane].min(lowest[lane]);
            }
        }
    }
}

/// The high-pass, and A and C side by side after it.
#[derive(Debug, Clone)]
struct Weightings {
    high_pass: Lanes<1, 1>,
    a_and_c: Lanes<2, SECTIONS>,
}

impl Weightings {
    fn new(sample_rate_hz: f64) -> Result<Self, FilterError> {
        let a = WeightingFilter::new(Curve::A, sample_rate_hz)?;
        let c = WeightingFilter::new(Curve::C, sample_rate_hz)?;
        Ok(Self {
            high_pass: Lanes::new([&[high_pass(sample_rate_hz)]]),
            a_and_c: Lanes::new([a.sections(), c.sections()]),
        })
    }

    fn process(&mut self, z: &mut [f64], a: &mut [f64], c: &mut [f64]) {
        // Copies, so that states stay in registers.
        let (mut high_pass, mut a_and_c) = (self.high_pass.clone(), self.a_and_c.clone());
        for ((z, a), c) in z.iter_mut().zip(a).zip(c) {
            [*z] = high_pass.step([*z]);
            [*a, *c] = a_and_c.step([*z; 2]);
        }
        high_pass.settle();
        a_and_c.settle();
        *self = Self { high_pass, a_and_c };
    }
}

/// A Butterworth high-pass of second order, by the bilinear transform.
fn high_pass(sample_rate_hz: f64) -> Biquad {
    let k = (std::f64::consts::PI * HIGH_PASS_HZ / sample_rate_hz).tan();
    let size = 1.0 + SQRT_2 * k + k * k;
    let a = [2.0 * (k * k - 1.0) / size, (1.0 - SQRT_2 * k + k * k) / size];
    Biquad::new([1.0 / size, -2.0 / size, 1.0 / size], a)
}

/// `L` cascades of `S` sections each, side by side.
#[derive(Debug, Clone)]
struct Lanes<const L: usize, const S: usize> {
    /// b0, b1, b2, a1, a2.
    coefficients: [[[f64; L]; 5]; S],
    states: [[[f64; L]; 2]; S],
}

impl<const L: usize, const S: usize> Lanes<L, S> {
    /// A cascade that is shorter ends with sections that change nothing.
    fn new(cascades: [&[Biquad]; L]) -> Self {
        let coefficient = |lane: usize, section: usize, index: usize| match cascades[lane].get(section) {
            Some(biquad) => [biquad.b[0], biquad.b[1], biquad.b[2], biquad.a[0], biquad.a[1]][index],
            None => f64::from(u8::from(index == 0)),
        };
        let coefficients = std::array::from_fn(|section| {
            std::array::from_fn(|index| std::array::from_fn(|lane| coefficient(lane, section, index)))
        });
        Self { coefficients, states: [[[0.0; L]; 2]; S] }
    }

    #[inline]
    fn step(&mut self, mut x: [f64; L]) -> [f64; L] {
        for ([b0, b1, b2, a1, a2], [s1, s2]) in self.coefficients.iter().zip(&mut self.states) {
            for lane in 0..L {
                let y = b0[lane] * x[lane] + s1[lane];
                s1[lane] = b1[lane] * x[lane] - a1[lane] * y + s2[lane];
                s2[lane] = b2[lane] * x[lane] - a2[lane] * y;
                x[lane] = y;
            }
        }
        x
    }

    fn settle(&mut self) {
        for state in self.states.as_flattened_mut().as_flattened_mut() {
            if state.abs() < TOO_SMALL {
                *state = 0.0;
            }
        }
    }
}
