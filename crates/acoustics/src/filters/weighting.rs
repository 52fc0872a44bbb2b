//! A and C weighting as digital filters, for any rate.

use std::f64::consts::PI;

use super::FilterError;
use super::biquad::{self, Biquad};
use crate::weighting::{CORNERS_HZ, Curve, weighting_db};

/// The lowest rate that still holds the 1 kHz at which the curves are zero.
const LOWEST_RATE_HZ: f64 = 4000.0;
/// The highest rate that recorders use, with room.
const HIGHEST_RATE_HZ: f64 = 400_000.0;
/// What a fit is made over.
const FIT_TOP_HZ: f64 = 20_500.0;
/// The part of the rate up to which a fit is made: just below half, there is no room for the shape.
const FIT_TOP_SHARE: f64 = 0.46;
/// Points of a fit.
const FIT_POINTS: u32 = 80;
/// Where a fit begins to give way: above this the ear and a room's sound matter less, and the shape is hard to follow.
const FIT_CARE_HZ: f64 = 5000.0;
/// Poles are looked for inside of this radius.
const FIT_RADIUS: f64 = 0.96;

/// A weighting filter for one rate.
///
/// The low corners are poles at `e^(-2πf/fs)`, each with a zero at 0 Hz. The two poles of the upper corner lie above what
/// many rates hold, where the bilinear transform bends the curve by several dB; in their place stand two real poles and
/// two zeros, fitted by least squares to what the analytic curve leaves when the filter is made. Each rate has its own
/// fit, so unusual rates need no conversion. From 4 to 400 kHz the error stays below 0.03 dB up to 10 kHz and below
/// 0.1 dB up to 20 kHz or 0.45 of the rate. What lies above half the rate is not in the recording.
#[derive(Debug, Clone, PartialEq)]
pub struct WeightingFilter {
    sample_rate_hz: f64,
    /// A: double corner f1, corners f2 and f3, upper corner. C: without the second. Z: none.
    sections: Vec<Biquad>,
}

impl WeightingFilter {
    /// Makes the filter of a curve, at rest.
    ///
    /// # Units and shape
    /// `sample_rate_hz`: 4000 to 400,000 Hz.
    ///
    /// # Errors
    /// [`FilterError::SampleRate`].
    pub fn new(curve: Curve, sample_rate_hz: f64) -> Result<Self, FilterError> {
        if !(LOWEST_RATE_HZ..=HIGHEST_RATE_HZ).contains(&sample_rate_hz) {
            return Err(FilterError::SampleRate { sample_rate_hz });
        }
        let mut sections = low_corners(curve, sample_rate_hz);
        if curve != Curve::Z {
            sections.push(upper_corner(curve, &sections, sample_rate_hz));
            // The fit is exact nowhere: make it so at 1 kHz, where the curve is zero by definition.
            let gain = 10f64.powf(biquad::attenuation_db(&sections, 1000.0, sample_rate_hz) / 20.0);
            if let Some(first) = sections.first_mut() {
                first.b = first.b.map(|coefficient| coefficient * gain);
            }
        }
        Ok(Self { sample_rate_hz, sections })
    }

    /// Filters samples in place, taking up where the last call left off.
    pub fn process(&mut self, samples: &mut [f64]) {
        biquad::run(&mut self.sections, samples);
    }

    /// Forgets what went through: at rest again.
    pub fn reset(&mut self) {
        biquad::reset(&mut self.sections);
    }

    /// Returns the attenuation at a frequency, dB, from the coefficients: the curve with its sign turned. At most 1000.
    pub fn response(&self, hz: f64) -> f64 {
        biquad::attenuation_db(&self.sections, hz, self.sample_rate_hz)
    }

    pub(crate) fn sections(&self) -> &[Biquad] {
        &self.sections
    }
}

fn low_corners(curve: Curve, sample_rate_hz: f64) -> Vec<Biquad> {
    let pole = |hz: f64| (-2.0 * PI * hz / sample_rate_hz).exp();
    let [f1, f2, f3, _] = CORNERS_HZ;
    match curve {
        Curve::Z => Vec::new(),
        Curve::C => vec![Biquad::high_pass([pole(f1), pole(f1)])],
        Curve::A => vec![Biquad::high_pass([pole(f1), pole(f1)]), Biquad::high_pass([pole(f2), pole(f3)])],
    }
}

/// What the upper section should do at one frequency.
struct Aim {
    /// `sin²(ω/2)`: squared magnitudes of filters are polynomials in it.
    u: f64,
    /// `|H|²` wanted.
    power: f64,
    /// How much it matters.
    weight: f64,
}

/// A squared magnitude `(d0 + d1·u + d2·u²) / |1 - p/z|²|1 - q/z|²`.
struct Fit {
    poles: [f64; 2],
    numerator: [f64; 3],
    error: f64,
}

/// Fits two real poles and two zeros to what the low corners leave of the curve.
fn upper_corner(curve: Curve, low: &[Biquad], sample_rate_hz: f64) -> Biquad {
    let aims = aims(curve, low, sample_rate_hz);
    // The error over the poles is one flat valley: a coarse walk finds it, finer ones its floor.
    let coarse = best_near(&aims, [0.0, 0.0], 0.08, 12);
    let fine = [0.02, 0.005, 0.001].into_iter().fold(coarse, |best, step| {
        let near = best.as_ref().map_or([0.0, 0.0], |fit| fit.poles);
        best_near(&aims, near, step, 4)
    });
    let Fit { poles: [p, q], numerator, .. } =
        fine.expect("some poles fit at every rate the constructor lets through, a test walks them");
    Biquad::new(minimum_phase(numerator), [-(p + q), p * q])
}

/// The best of a square grid of poles.
fn best_near(aims: &[Aim], near: [f64; 2], step: f64, reach: i32) -> Option<Fit> {
    let line = |place: f64| (-reach..=reach).map(move |steps| place + f64::from(steps) * step);
    let pairs = line(near[0]).flat_map(|p| line(near[1]).map(move |q| [p, q]));
    // The order of two poles does not matter, so one is enough.
    let sensible = pairs.filter(|[p, q]| p >= q && p.abs().max(q.abs()) < FIT_RADIUS);
    sensible.filter_map(|poles| fit(aims, poles)).min_by(|one, other| one.error.total_cmp(&other.error))
}

fn aims(curve: Curve, low: &[Biquad], sample_rate_hz: f64) -> Vec<Aim> {
    let top_hz = FIT_TOP_HZ.min(FIT_TOP_SHARE * sample_rate_hz);
    (0..FIT_POINTS)
        .map(|step| {
            let hz = 20.0 + (top_hz - 20.0) * f64::from(step) / f64::from(FIT_POINTS - 1);
            let wanted_db = weighting_db(curve, hz).expect("every point of a fit is a frequency above zero");
            let left_db = wanted_db + biquad::attenuation_db(low, hz, sample_rate_hz);
            Aim {
                u: (PI * hz / sample_rate_hz).sin().powi(2),
                power: 10f64.powf(left_db / 10.0),
                weight: 1.0 / (1.0 + (hz / FIT_CARE_HZ).powi(2)),
            }
        })
        .collect()
}

/// The best numerator for two poles: linear least squares on the relative error of the power.
///
/// `None` where the numerator falls to zero somewhere, for then no filter has it.
fn fit(aims: &[Aim], poles: [f64; 2]) -> Option<Fit> {
    let highest = aims.iter().map(|aim| aim.u).fold(0.0, f64::max);
    // |1 - p/z|² = (1 - p)² + 4·p·u. Powers of u over its highest keep the equations well conditioned.
    let row = |aim: &Aim| {
        let denominator: f64 = poles.iter().map(|pole| (1.0 - pole).powi(2) + 4.0 * pole * aim.u).product();
        let scale = aim.weight / (denominator * aim.power);
        let u = aim.u / highest;
        [scale, scale * u, scale * u * u, aim.weight]
    };
    let mut normal = [[0.0; 4]; 3];
    for terms in aims.iter().map(row) {
        for (line, term) in normal.iter_mut().zip(terms) {
            for (entry, other) in line.iter_mut().zip(terms) {
                *entry += term * other;
            }
        }
    }
    let [d0, d1, d2] = solve(normal)?;
    let numerator = [d0, d1 / highest, d2 / (highest * highest)];
    let error = aims.iter().map(|aim| {
        let [one, two, three, weight] = row(aim);
        (one * d0 + two * d1 + three * d2 - weight).powi(2)
    });
    let error = error.sum();
    is_positive(numerator).then_some(Fit { poles, numerator, error })
}

/// Solves three equations by elimination, largest pivot first; `None` where they are not independent.
fn solve(mut rows: [[f64; 4]; 3]) -> Option<[f64; 3]> {
    for column in 0..3 {
        let pivot = (column..3)
            .max_by(|&one, &other| rows[one][column].abs().total_cmp(&rows[other][column].abs()))?;
        rows.swap(column, pivot);
        let lead = rows[column];
        if lead[column].abs() < 1e-300 {
            return None;
        }
        for row in &mut rows[column + 1..] {
            let share = row[column] / lead[column];
            for (entry, other) in row.iter_mut().zip(lead) {
                *entry -= share * other;
            }
        }
    }
    let mut found = [0.0; 3];
    for line in (0..3).rev() {
        let known: f64 = (line + 1..3).map(|column| rows[line][column] * found[column]).sum();
        found[line] = (rows[line][3] - known) / rows[line][line];
    }
    Some(found)
}

/// Whether `d0 + d1·u + d2·u²` is above zero on [0, 1].
fn is_positive([d0, d1, d2]: [f64; 3]) -> bool {
    let at = |u: f64| d0 + u * (d1 + u * d2);
    let turn = -d1 / (2.0 * d2);
    at(0.0) > 0.0 && at(1.0) > 0.0 && !((0.0..=1.0).contains(&turn) && at(turn) <= 0.0)
}

/// The coefficients, zeros inside the unit circle, whose squared magnitude is `d0 + d1·u + d2·u²`.
///
/// With `u = (1 - (z + 1/z)/2)/2`, a root u gives `z + 1/z = 2c`, `c = 1 - 2u`, and of the two z the inner one is taken.
fn minimum_phase([d0, d1, d2]: [f64; 3]) -> [f64; 3] {
    let discriminant = d1 * d1 - 4.0 * d0 * d2;
    let (sum, product) = if discriminant >= 0.0 {
        // Both roots without cancellation; d2 near zero sends one to infinity and its zero to 0.
        let far = -(d1 + discriminant.sqrt().copysign(d1)) / 2.0;
        let zero = |u: f64| {
            let c = 1.0 - 2.0 * u;
            if c.is_finite() { 1.0 / (c + (c * c - 1.0).max(0.0).sqrt().copysign(c)) } else { 0.0 }
        };
        let (one, other) = (zero(far / d2), zero(d0 / far));
        (one + other, one * other)
    } else {
        // A pair of mirrored zeros: z = c - √(c² - 1), or the root of the other sign.
        let (real, imaginary) = (1.0 + d1 / d2, (-discriminant).sqrt() / d2);
        let square = (real * real - imaginary * imaginary - 1.0, 2.0 * real * imaginary);
        let size = square.0.hypot(square.1);
        let root = (
            ((size + square.0) / 2.0).max(0.0).sqrt(),
            ((size - square.0) / 2.0).max(0.0).sqrt().copysign(square.1),
        );
        let near = (real - root.0, imaginary - root.1);
        let other = (real + root.0, imaginary + root.1);
        let inner = if near.0.hypot(near.1) < 1.0 { near } else { other };
        (2.0 * inner.0, inner.0 * inner.0 + inner.1 * inner.1)
    };
    // At u = 0 the power is d0.
    let gain = d0.sqrt() / (1.0 - sum + product);
    [gain, -gain * sum, gain * product]
}
