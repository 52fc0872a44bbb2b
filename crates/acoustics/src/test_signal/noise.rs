//! Pink noise, sample by sample, the same on every platform.
//!
//! Random words come from a counter and not from a state, so that a place in the noise depends on its number alone.

use std::f64::consts::PI;

use super::Pink;

/// Which use random words are for; each has words of its own.
#[derive(Debug, Clone, Copy)]
pub(super) enum Stream {
    Noise,
    Dither,
}

/// Random words by number: the counter times an odd constant, mixed.
///
/// # Source
/// G. Steele, D. Lea, C. Flood, Fast splittable pseudorandom number generators, OOPSLA 2014 (SplitMix64).
#[derive(Debug, Clone)]
pub(super) struct Uniform {
    key: u64,
    count: u64,
}

/// The odd constant of SplitMix64: 2⁶⁴ over the golden ratio.
const STRIDE: u64 = 0x9e37_79b9_7f4a_7c15;

impl Uniform {
    pub(super) fn new(seed: u64, stream: Stream) -> Self {
        let stream = match stream {
            Stream::Noise => 0,
            Stream::Dither => 1,
        };
        // Mixed twice, so that neighbouring seeds and streams share nothing.
        Self { key: mix(mix(seed.wrapping_add(STRIDE)).wrapping_add(stream)), count: 0 }
    }

    pub(super) fn next_word(&mut self) -> u64 {
        self.count += 1;
        mix(self.key.wrapping_add(self.count.wrapping_mul(STRIDE)))
    }

    /// Nearly Gaussian, mean 0, standard deviation 1: the sum of twelve numbers from 0 to 1, less 6.
    ///
    /// Twelve numbers of 16 bits from three words, added as whole numbers; the half of a step centres each.
    fn next_gaussian(&mut self) -> f64 {
        let mut sum = 0;
        for _ in 0..3 {
            let word = self.next_word();
            sum += (word & 0xffff) + (word >> 16 & 0xffff) + (word >> 32 & 0xffff) + (word >> 48);
        }
        (sum as f64 + 6.0) / 65_536.0 - 6.0
    }
}

/// The finishing steps of SplitMix64.
fn mix(word: u64) -> u64 {
    let word = (word ^ (word >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let word = (word ^ (word >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    word ^ (word >> 31)
}

/// One real pole and one real zero: half an octave of a slope.
#[derive(Debug, Clone)]
struct Pair {
    pole: f64,
    zero: f64,
    before: f64,
    after: f64,
}

impl Pair {
    fn next(&mut self, input: f64) -> f64 {
        let output = input - self.zero * self.before + self.pole * self.after;
        (self.before, self.after) = (input, output);
        output
    }
}

/// Poles and zeros per decade of frequency.
const PAIRS_PER_DECADE: f64 = 4.0;

/// The lowest pole as a part of the sample rate: 1.2 Hz at 48 kHz.
const LOWEST_POLE: f64 = 2.5e-5;

/// Pairs whose poles lie where the formula puts them.
const PLACED_PAIRS: u32 = 15;

/// The top two pairs, pole and zero. Placed by the formula they would let the slope droop towards half the sample rate;
/// these were fitted with scipy 1.17 (least squares, the error cubed) to the slope up to 0.46 of the rate.
const FITTED_PAIRS: [(f64, f64); 2] = [(0.37246, 0.13514781), (-0.29907986, -0.38230198)];

/// A slope of -3 dB an octave: level within 0.031 dB from 0.0002 to 0.46 of the sample rate.
///
/// Poles four to a decade, each with a zero halfway to the next, `e^(-2π·f/fs)`; all in parts of the sample rate, since
/// pink noise has no scale of its own.
fn slope() -> Vec<Pair> {
    let placed = (0..PLACED_PAIRS).map(|index| {
        let ratio = LOWEST_POLE * libm::pow(10.0, f64::from(index) / PAIRS_PER_DECADE);
        let zero_ratio = ratio * libm::pow(10.0, 0.5 / PAIRS_PER_DECADE);
        (libm::exp(-2.0 * PI * ratio), libm::exp(-2.0 * PI * zero_ratio))
    });
    placed.chain(FITTED_PAIRS).map(|(pole, zero)| Pair { pole, zero, before: 0.0, after: 0.0 }).collect()
}

/// A filter of second order, direct form II transposed.
#[derive(Debug, Clone)]
struct Biquad {
    b: [f64; 3],
    a: [f64; 2],
    state: [f64; 2],
}

impl Biquad {
    fn next(&mut self, input: f64) -> f64 {
        let output = self.b[0] * input + self.state[0];
        self.state[0] = self.b[1] * input - self.a[0] * output + self.state[1];
        self.state[1] = self.b[2] * input - self.a[1] * output;
        output
    }
}

/// Order of the filters at the ends of the band.
const ORDER: u32 = 8;

/// How far a Butterworth filter of order 8 falls at the ends of the band, dB.
const EDGE_LOSS_DB: f64 = 0.1;

/// Butterworth filters of order 8 that leave the band from `from_hz` to `to_hz`, 0.1 dB down at both.
///
/// By the bilinear transform, edges prewarped: `Ω = tan(π·f/fs)`. `|H|² = 1/(1 + (Ω/Ωc)^16)`, so the corner lies at
/// `Ω/(10^(0.01) - 1)^(1/16)`, outside the band.
fn band_edges(pink: &Pink) -> Vec<Biquad> {
    let warped = |hz: f64| libm::tan(PI * hz / f64::from(pink.sample_rate_hz));
    let excess = libm::pow(10.0, EDGE_LOSS_DB / 10.0) - 1.0;
    let spread = libm::pow(excess, 1.0 / f64::from(2 * ORDER));
    let (low, high) = (warped(pink.from_hz) * spread, warped(pink.to_hz) / spread);
    let dampings = (0..ORDER / 2).map(|k| 2.0 * libm::sin(PI * f64::from(2 * k + 1) / f64::from(2 * ORDER)));
    dampings.flat_map(|damping| [high_pass(low, damping), low_pass(high, damping)]).collect()
}

fn high_pass(corner: f64, damping: f64) -> Biquad {
    let (norm, a) = denominator(corner, damping);
    Biquad { b: [1.0 / norm, -2.0 / norm, 1.0 / norm], a, state: [0.0; 2] }
}

fn low_pass(corner: f64, damping: f64) -> Biquad {
    let (norm, a) = denominator(corner, damping);
    let gain = corner * corner / norm;
    Biquad { b: [gain, 2.0 * gain, gain], a, state: [0.0; 2] }
}

/// `s² + d·s + 1` at the corner, through the bilinear transform.
fn denominator(corner: f64, damping: f64) -> (f64, [f64; 2]) {
    let square = corner * corner;
    let norm = 1.0 + damping * corner + square;
    (norm, [2.0 * (square - 1.0) / norm, (1.0 - damping * corner + square) / norm])
}

/// The noise without fades, at no particular level, from its first sample on and without end.
///
/// A second runs before the first sample, so that the filters have settled.
pub(super) fn band_limited(pink: &Pink) -> impl Iterator<Item = f64> + use<> {
    let mut words = Uniform::new(pink.seed, Stream::Noise);
    let (mut slope, mut edges) = (slope(), band_edges(pink));
    let mut next = move || {
        let white = words.next_gaussian();
        let pink = slope.iter_mut().fold(white, |value, pair| pair.next(value));
        edges.iter_mut().fold(pink, |value, edge| edge.next(value))
    };
    for _ in 0..pink.sample_rate_hz {
        next();
    }
    std::iter::repeat_with(next)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_those_of_the_published_generator() {
        // The first outputs of SplitMix64 for seed 0, computed independently with Python integers from the paper.
        let mut words = Uniform { key: 0, count: 0 };
        let got = [words.next_word(), words.next_word(), words.next_word()];
        assert_eq!(got, [0xe220_a839_7b1d_cdaf, 0x6e78_9e6a_a1b9_65f4, 0x06c4_5d18_8009_454f]);
    }

    #[test]
    fn gaussian_numbers_have_the_moments_of_their_sum() {
        // Twelve uniforms: variance 12/12 = 1 and excess kurtosis -1.2/12 = -0.1 (sums of independent numbers).
        let mut words = Uniform::new(3, Stream::Noise);
        let numbers: Vec<f64> = (0..200_000).map(|_| words.next_gaussian()).collect();
        let moment = |power: i32| numbers.iter().map(|x| x.powi(power)).sum::<f64>() / numbers.len() as f64;
        // Standard errors are 0.0022 of the mean, 0.0031 of the variance, 0.020 of the fourth moment; four of each.
        assert!(moment(1).abs() < 0.009, "{}", moment(1));
        assert!((moment(2) - 1.0).abs() < 0.013, "{}", moment(2));
        assert!((moment(4) - 2.9).abs() < 0.08, "{}", moment(4));
        assert!(numbers.iter().all(|x| x.abs() < 6.0));
    }

    #[test]
    fn seeds_and_streams_differ() {
        let first = |seed, stream| Uniform::new(seed, stream).next_word();
        let words = [first(0, Stream::Noise), first(1, Stream::Noise), first(0, Stream::Dither)];
        assert!(words[0] != words[1] && words[0] != words[2] && words[1] != words[2]);
    }

    /// `|H|` of a filter in dB at a part of the sample rate, from the response to an impulse.
    fn response_db(mut filter: impl FnMut(f64) -> f64, ratio: f64, length: usize) -> f64 {
        let (mut real, mut imaginary) = (0.0, 0.0);
        for n in 0..length {
            let value = filter(if n == 0 { 1.0 } else { 0.0 });
            let angle = 2.0 * PI * ratio * n as f64;
            real += value * angle.cos();
            imaginary -= value * angle.sin();
        }
        20.0 * f64::hypot(real, imaginary).log10()
    }

    #[test]
    fn the_slope_is_that_of_pink_noise() {
        // Power in proportion to 1/f by definition.
        let off_db: Vec<f64> = [0.0003, 0.001, 0.004, 0.01, 0.03, 0.1, 0.2, 0.3, 0.4, 0.45]
            .into_iter()
            .map(|ratio: f64| {
                let mut pairs = slope();
                let filter = |input| pairs.iter_mut().fold(input, |value, pair| pair.next(value));
                response_db(filter, ratio, 60_000) + 10.0 * ratio.log10()
            })
            .collect();
        let middle_db = off_db.iter().sum::<f64>() / off_db.len() as f64;
        for value in off_db {
            assert!((value - middle_db).abs() < 0.05, "{value} about {middle_db}");
        }
    }

    #[test]
    fn the_band_ends_where_it_should() {
        let pink = Pink {
            sample_rate_hz: 48_000,
            duration_s: 1.0,
            seed: 0,
            from_hz: 400.0,
            to_hz: 6000.0,
            fade_s: 0.0,
            rms_dbfs: -20.0,
        };
        // Computed independently with scipy 1.17: butter(8) high-pass and low-pass at the warped corners, sosfreqz.
        for (hz, expected_db) in
            [(200.0, -31.8517972), (400.0, -0.1), (1000.0, -4.26e-8), (6000.0, -0.1), (9000.0, -16.9869713)]
        {
            let mut edges = band_edges(&pink);
            let filter = |input| edges.iter_mut().fold(input, |value, edge| edge.next(value));
            let got_db = response_db(filter, hz / 48_000.0, 20_000);
            assert!((got_db - expected_db).abs() < 1e-4, "{hz}: {got_db}");
        }
    }
}
