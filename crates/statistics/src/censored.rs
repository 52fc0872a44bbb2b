//! Reductions of which some are only bounds: "at least so much", because the background hid the rest.
//!
//! The plain answer puts the bounds into the mean and says "at least". The other one takes the reductions for normal and
//! asks which mean and spread make the readings likeliest. Dropping bounds is no option: they are the best walls.

use crate::absent::{Absent, Known};
use crate::distributions::normal_cdf;
use crate::sample::{self, SampleError};

const LN_SQRT_TAU: f64 = 0.918_938_533_204_672_7;

/// Below this the normal tail is taken from its expansion: the function itself runs out of digits.
const FAR_TAIL: f64 = -25.0;

/// A reduction, or the least it can have been.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reading {
    /// Measured.
    Known(f64),
    /// At least this.
    AtLeast(f64),
}

impl Reading {
    fn value(self) -> f64 {
        match self {
            Self::Known(value) | Self::AtLeast(value) => value,
        }
    }
}

/// A normal distribution fitted to values and bounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Normal {
    /// Likeliest mean.
    pub mean: f64,
    /// Likeliest standard deviation; without bounds its divisor is n.
    pub sd: f64,
    /// Logarithm of the likelihood there.
    pub log_likelihood: f64,
}

/// What values and bounds say together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Censored {
    /// Mean with every bound taken as a value: the true mean is at least that.
    pub mean_of_bounds: f64,
    /// Fitted normal distribution; absent where all are bounds, or where values that agree lie above every bound.
    pub fit: Known<Normal>,
}

/// Fits a normal distribution to values and lower bounds by maximum likelihood.
///
/// Maximises `Σ_known ln[φ((y-μ)/σ)/σ] + Σ_bound ln[1 - Φ((b-μ)/σ)]`.
///
/// # Units and shape
/// `readings`: n ≥ 1, one unit.
///
/// # Errors
/// [`SampleError`].
///
/// # Source
/// Tobin 1958; solved by Newton's method in 1/σ and μ/σ, where the likelihood is concave (Olsen 1978, from memory).
pub fn right_censored_normal(readings: &[Reading]) -> Result<Censored, SampleError> {
    let all: Vec<f64> = readings.iter().map(|reading| reading.value()).collect();
    sample::check(&all)?;
    let mean_of_bounds = sample::mean_of(&all);
    let known: Vec<f64> = values(readings, |reading| matches!(reading, Reading::Known(_)));
    let bounds: Vec<f64> = values(readings, |reading| matches!(reading, Reading::AtLeast(_)));
    Ok(Censored { mean_of_bounds, fit: fit(&known, &bounds, &all, mean_of_bounds) })
}

fn values(readings: &[Reading], kind: fn(&Reading) -> bool) -> Vec<f64> {
    readings.iter().filter(|reading| kind(reading)).map(|reading| reading.value()).collect()
}

fn fit(known: &[f64], bounds: &[f64], all: &[f64], center: f64) -> Known<Normal> {
    if known.is_empty() {
        return Err(Absent::OnlyBounds);
    }
    let (low, high) = range(known);
    let highest_bound = bounds.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if sample::is_rounding(high - low, sample::largest(all)) && highest_bound <= high {
        return Err(Absent::ZeroSpread);
    }
    // In units of the range, so that no step is large or small.
    let (lowest, highest) = range(all);
    let scale = highest - lowest;
    let within = |values: &[f64]| values.iter().map(|value| (value - center) / scale).collect::<Vec<_>>();
    let likelihood = Likelihood { known: within(known), bounds: within(bounds) };
    let (location, inverse) = likelihood.maximum().ok_or(Absent::NotConverged)?;
    Ok(Normal {
        mean: center + scale * location / inverse,
        sd: scale / inverse,
        log_likelihood: likelihood.log(location, inverse) - known.len() as f64 * scale.ln(),
    })
}

fn range(values: &[f64]) -> (f64, f64) {
    values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(*value), high.max(*value)))
}

/// The likelihood in μ/σ (`location`) and 1/σ (`inverse`).
struct Likelihood {
    known: Vec<f64>,
    bounds: Vec<f64>,
}

impl Likelihood {
    fn log(&self, location: f64, inverse: f64) -> f64 {
        let known: f64 = self.known.iter().map(|y| -0.5 * (inverse * y - location).powi(2)).sum();
        let bounds: f64 = self.bounds.iter().map(|b| Tail::at(location - inverse * b).log).sum();
        self.known.len() as f64 * (inverse.ln() - LN_SQRT_TAU) + known + bounds
    }

    /// Newton's method, each step halved until the likelihood does not fall.
    fn maximum(&self) -> Option<(f64, f64)> {
        let (mut location, mut inverse) = (0.0, 2.0);
        let mut best = self.log(location, inverse);
        for _ in 0..200 {
            let (by_location, by_inverse) = self.step(location, inverse);
            let mut share = 1.0;
            let (next, next_log) = loop {
                let next = (location + share * by_location, inverse + share * by_inverse);
                let log = if next.1 > 0.0 { self.log(next.0, next.1) } else { f64::NEG_INFINITY };
                if log >= best - 1e-12 * best.abs() {
                    break (next, log);
                }
                share /= 2.0;
                if share < 1e-12 {
                    break ((location, inverse), best);
                }
            };
            let moved = (next.0 - location).abs().max((next.1 - inverse).abs());
            (location, inverse) = next;
            best = best.max(next_log);
            if moved <= 1e-12 * (1.0 + location.abs() + inverse) {
                return Some((location, inverse));
            }
        }
        None
    }

    fn step(&self, location: f64, inverse: f64) -> (f64, f64) {
        let count = self.known.len() as f64;
        let mut gradient = (0.0, count / inverse);
        // Minus the second derivatives, which are positive definite.
        let mut curvature = (count, 0.0, count / (inverse * inverse));
        for y in &self.known {
            let off = inverse * y - location;
            gradient.0 += off;
            gradient.1 -= y * off;
            curvature.1 -= y;
            curvature.2 += y * y;
        }
        for b in &self.bounds {
            let tail = Tail::at(location - inverse * b);
            gradient.0 += tail.hazard;
            gradient.1 -= b * tail.hazard;
            curvature.0 += tail.bend;
            curvature.1 -= b * tail.bend;
            curvature.2 += b * b * tail.bend;
        }
        let determinant = curvature.0 * curvature.2 - curvature.1 * curvature.1;
        (
            (curvature.2 * gradient.0 - curvature.1 * gradient.1) / determinant,
            (curvature.0 * gradient.1 - curvature.1 * gradient.0) / determinant,
        )
    }
}

/// Normal tail at u: `ln Φ(u)`, `h = φ(u)/Φ(u)` and `-h'(u) = h·(u + h)`.
struct Tail {
    log: f64,
    hazard: f64,
    bend: f64,
}

impl Tail {
    fn at(u: f64) -> Self {
        if u < FAR_TAIL {
            let square = 1.0 / (u * u);
            let series = 1.0 - square * (1.0 - square * (3.0 - 15.0 * square));
            let hazard = -u / series;
            let bend = 1.0 - square * (1.0 - 6.0 * square);
            return Self { log: -0.5 * u * u - LN_SQRT_TAU - (-u).ln() + series.ln(), hazard, bend };
        }
        let below = normal_cdf(u);
        let hazard = (-0.5 * u * u - LN_SQRT_TAU).exp() / below;
        Self { log: below.ln(), hazard, bend: (hazard * (u + hazard)).max(0.0) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Reading::{AtLeast, Known};

    #[test]
    fn fits_match() {
        // Computed independently with scipy 1.17: Nelder-Mead on norm.logpdf and norm.logsf.
        let rows = [
            (
                vec![Known(5.1), Known(6.0), Known(4.7), AtLeast(5.5)],
                [5.43467275, 0.5785818615, -3.353455998],
            ),
            (
                [vec![Known(2.0), Known(2.1)], vec![AtLeast(10.0); 8]].concat(),
                [19.34867928, 11.72719065, -10.85050655],
            ),
            (vec![Known(3.0), AtLeast(4.0), AtLeast(6.5)], [6.557561953, 3.109454045, -3.616274352]),
        ];
        for (readings, [mean, sd, log_likelihood]) in rows {
            let got = right_censored_normal(&readings).unwrap().fit.unwrap();
            assert!((got.mean - mean).abs() < 1e-6 * mean, "{got:?}");
            assert!((got.sd - sd).abs() < 1e-6 * sd, "{got:?}");
            assert!((got.log_likelihood - log_likelihood).abs() < 1e-8, "{got:?}");
        }
    }

    #[test]
    fn gupta_1952_matches() {
        // Days ten mice lived after an infection, the last three beyond the seventh death: Gupta 1952, Biometrika 39. Maximum likelihood
        // in lg days 1.742 and 0.079 (Cohen, Truncated and Censored Samples, 1991; from memory, recomputed with scipy 1.17 by
        // Nelder-Mead to the digits below).
        let mut readings: Vec<Reading> =
            [41.0f64, 44.0, 46.0, 54.0, 55.0, 58.0, 60.0].iter().map(|days| Known(days.log10())).collect();
        readings.extend([AtLeast(60f64.log10()); 3]);
        let fit = right_censored_normal(&readings).unwrap().fit.unwrap();
        assert!((fit.mean - 1.7423773519).abs() < 1e-8, "{fit:?}");
        assert!((fit.sd - 0.0794320383).abs() < 1e-8, "{fit:?}");
        assert!((fit.log_likelihood - 5.18334163221502).abs() < 1e-10, "{fit:?}");
    }

    #[test]
    fn without_bounds_it_is_the_sample_with_divisor_n() {
        let got = right_censored_normal(&[Known(1.0), Known(2.0), Known(4.0), Known(5.0)]).unwrap();
        let fit = got.fit.unwrap();
        assert!((fit.mean - 3.0).abs() < 1e-10 && (got.mean_of_bounds - 3.0).abs() < 1e-12);
        assert!((fit.sd - 2.5f64.sqrt()).abs() < 1e-10, "{fit:?}");
    }

    #[test]
    fn the_far_tail_joins_the_near_one() {
        // ln Φ, φ/Φ and its slope at -25 computed independently with scipy 1.17.
        for u in [FAR_TAIL - 1e-9, FAR_TAIL + 1e-9] {
            let tail = Tail::at(u);
            assert!((tail.log - (-316.63940800802027)).abs() < 1e-6, "{}", tail.log);
            assert!((tail.hazard - 25.039872).abs() < 1e-5, "{}", tail.hazard);
            assert!((tail.bend - 0.998415).abs() < 1e-5, "{}", tail.bend);
        }
    }

    #[test]
    fn no_fit_where_none_is_likeliest() {
        let only = right_censored_normal(&[AtLeast(5.0), AtLeast(7.0)]).unwrap();
        assert_eq!((only.mean_of_bounds, only.fit), (6.0, Err(Absent::OnlyBounds)));
        let one = right_censored_normal(&[Known(5.0), AtLeast(4.0)]).unwrap();
        assert_eq!(one.fit, Err(Absent::ZeroSpread));
        assert_eq!(right_censored_normal(&[]), Err(SampleError::Empty));
        assert!(right_censored_normal(&[Known(f64::INFINITY)]).is_err());
    }
}
