//! Bootstrap interval of a mean, bias corrected and accelerated: for differences that lean to one side.
//!
//! Up to eight values every possible resample is counted, so the answer is exact; beyond, resamples are drawn from a
//! seed. Leaves out samples below six: there the bootstrap is too narrow and the t interval stands alone.

use crate::absent::{Absent, Known};
use crate::distributions::{normal_cdf, normal_quantile};
use crate::draws::SplitMix64;
use crate::sample::{self, SampleError};
use crate::scale::{Confidence, Interval, Probability};

/// Below this many values there is no bootstrap interval. Convention of this project.
pub const FEWEST_VALUES: usize = 6;

/// Up to this many values every resample is counted.
pub const MOST_EXACT: usize = 8;

/// Fewer drawn resamples leave the tails to chance. Convention of this project.
pub const FEWEST_RESAMPLES: usize = 10_000;

/// Shares this close to a limit have reached it: sums of weights carry binary rounding.
const SHARE_ROUNDING: f64 = 1e-12;

/// How resamples are drawn where there are too many to count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draws {
    /// How many, at least [`FEWEST_RESAMPLES`].
    pub resamples: usize,
    /// The same seed gives the same answer on every device.
    pub seed: u64,
}

/// Why there is no bootstrap.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum BootstrapError {
    /// The values cannot be used.
    #[error(transparent)]
    Sample(#[from] SampleError),
    /// Ask for more.
    #[error("{resamples} resamples are too few, {FEWEST_RESAMPLES} are needed")]
    Resamples { resamples: usize },
}

/// Bootstrap intervals of a mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bca {
    /// Mean of the values.
    pub mean: f64,
    /// z₀: how far the median of the resample means lies from the mean.
    pub bias: f64,
    /// a: how fast the spread changes with the mean.
    pub acceleration: f64,
    /// Share of resample means below the lower limit.
    pub alpha_lower: f64,
    /// Share of resample means below the upper limit.
    pub alpha_upper: f64,
    /// The corrected interval.
    pub interval: Interval,
    /// The plain one between quantiles, for comparison.
    pub percentile: Interval,
    /// Whether every resample was counted.
    pub exact: bool,
}

/// Corrects the quantiles of resample means, `Φ(z₀ + (z₀+z)/(1 - a(z₀+z)))`.
///
/// z₀ is the normal quantile of the share of resample means below the mean, half of the equal ones;
/// `a = Σu³/(6(Σu²)^1.5)` with u the mean of the jackknife means less each of them. A quantile is the smallest resample
/// mean that at least this share does not exceed.
///
/// # Units and shape
/// `values`: six or more differences in one unit; absent below, without spread, and where the correction has no end.
///
/// # Errors
/// [`BootstrapError`]. `draws` counts from nine values on.
///
/// # Source
/// Efron 1987, better bootstrap confidence intervals.
pub fn bca(values: &[f64], confidence: Confidence, draws: Draws) -> Result<Known<Bca>, BootstrapError> {
    let moments = sample::moments(values)?;
    let n = moments.n;
    if n < FEWEST_VALUES {
        return Ok(Err(Absent::TooFewPositions { found: n, needed: FEWEST_VALUES }));
    }
    if moments.spread_se().is_err() {
        return Ok(Err(Absent::ZeroSpread));
    }
    let exact = n <= MOST_EXACT;
    if !exact && draws.resamples < FEWEST_RESAMPLES {
        return Err(BootstrapError::Resamples { resamples: draws.resamples });
    }
    // Around the mean, so that leading digits neither hide ties nor cost accuracy.
    let centred: Vec<f64> = values.iter().map(|value| value - moments.mean).collect();
    let means = if exact { ResampleMeans::all(&centred) } else { ResampleMeans::drawn(&centred, draws) };
    Ok(corrected(&centred, &means, confidence).map(|(bias, acceleration, lower, upper)| {
        let tail = confidence.one_tail().value();
        let between = |low, high| {
            Interval { low: means.quantile(low), high: means.quantile(high) }.shifted(moments.mean)
        };
        Bca {
            mean: moments.mean,
            bias,
            acceleration,
            alpha_lower: lower,
            alpha_upper: upper,
            interval: between(lower, upper),
            percentile: between(tail, 1.0 - tail),
            exact,
        }
    }))
}

/// Bias, acceleration and the shares of both limits.
fn corrected(centred: &[f64], means: &ResampleMeans, confidence: Confidence) -> Known<(f64, f64, f64, f64)> {
    // All on one side of the mean happens to drawn means only, and by no sane chance.
    let below = Probability::new(means.share_below_mean()).map_err(|_| Absent::ZeroSpread)?;
    let bias = normal_quantile(below);
    // Jackknife means of centred values are -value/(n-1), their mean 0: u is value/(n-1), and the divisor cancels.
    let power_sum = |power: i32| centred.iter().map(|value| value.powi(power)).sum::<f64>();
    let acceleration = power_sum(3) / (6.0 * power_sum(2).powf(1.5));
    let z = normal_quantile(confidence.one_tail());
    let share = |z: f64| {
        let left = 1.0 - acceleration * (bias + z);
        // Past its pole the correction folds back and means nothing.
        if left > 0.0 { Ok(normal_cdf(bias + (bias + z) / left)) } else { Err(Absent::NoLimit) }
    };
    Ok((bias, acceleration, share(z)?, share(-z)?))
}

/// Means of resamples of centred values, ascending, with the share of resamples up to each.
struct ResampleMeans {
    means: Vec<f64>,
    shares_up_to: Vec<f64>,
    /// Means closer to 0 than this are 0.
    rounding: f64,
}

impl ResampleMeans {
    /// Counts every multiset of n values with its probability, n!/(k₁!·k₂!·…)/nⁿ.
    fn all(centred: &[f64]) -> Self {
        let n = centred.len();
        let mut weighted = Vec::new();
        add_multisets(centred, 0, n, 0.0, 1.0, &mut weighted);
        let count = n as f64;
        let all = count.powi(n as i32) / factorial(n);
        Self::new(centred, weighted.into_iter().map(|(sum, weight)| (sum / count, weight / all)).collect())
    }

    fn drawn(centred: &[f64], draws: Draws) -> Self {
        let n = centred.len();
        let mut numbers = SplitMix64::new(draws.seed);
        let share = 1.0 / draws.resamples as f64;
        let mean = |_| {
            let sum: f64 = (0..n).map(|_| centred[numbers.index(n)]).sum();
            (sum / n as f64, share)
        };
        Self::new(centred, (0..draws.resamples).map(mean).collect())
    }

    fn new(centred: &[f64], mut weighted: Vec<(f64, f64)>) -> Self {
        weighted.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut so_far = 0.0;
        let shares_up_to = weighted
            .iter()
            .map(|(_, weight)| {
                so_far += weight;
                so_far
            })
            .collect();
        let means = weighted.into_iter().map(|(mean, _)| mean).collect();
        Self { means, shares_up_to, rounding: 1e-9 * sample::largest(centred) }
    }

    /// Share of means below 0, half of those at 0.
    fn share_below_mean(&self) -> f64 {
        let up_to = |end: f64| match self.means.partition_point(|mean| *mean < end) {
            0 => 0.0,
            count => self.shares_up_to[count - 1],
        };
        f64::midpoint(up_to(-self.rounding), up_to(self.rounding))
    }

    fn quantile(&self, share: f64) -> f64 {
        let index = self.shares_up_to.partition_point(|up_to| *up_to < share - SHARE_ROUNDING);
        self.means[index.min(self.means.len() - 1)]
    }
}

/// Adds sum and weight 1/(k₁!·k₂!·…) of each multiset that takes `left` more values from `from` on.
fn add_multisets(
    values: &[f64],
    from: usize,
    left: usize,
    sum: f64,
    weight: f64,
    found: &mut Vec<(f64, f64)>,
) {
    if from + 1 == values.len() {
        found.push((sum + left as f64 * values[from], weight / factorial(left)));
        return;
    }
    for times in 0..=left {
        let sum = sum + times as f64 * values[from];
        add_multisets(values, from + 1, left - times, sum, weight / factorial(times), found);
    }
}

fn factorial(n: usize) -> f64 {
    (1..=n).map(|factor| factor as f64).product()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const DRAWS: Draws = Draws { resamples: 50_000, seed: 1 };

    fn close(got: f64, expected: f64, tolerance: f64) {
        assert!((got - expected).abs() <= tolerance, "{got} instead of {expected}");
    }

    #[test]
    fn counted_resamples_match() {
        // Invented differences; every multiset counted independently with numpy 2.4 and scipy 1.17: z0, a, both shares, both
        // intervals.
        let rows: [(&[f64], f64, [f64; 8]); 3] = [
            (
                &[5.3, 6.1, 4.9, 4.9, 6.3, 1.2],
                0.95,
                [
                    -0.07442507943555607,
                    -0.09394750979416856,
                    0.0048056,
                    0.93666539,
                    158.0 / 60.0,
                    344.0 / 60.0,
                    3.25,
                    350.0 / 60.0,
                ],
            ),
            (
                &[5.3, 6.1, 4.9, 4.9, 6.3, 1.2, 3.3],
                0.9,
                [
                    -0.06415827427560468,
                    -0.06248449070035082,
                    0.02399322,
                    0.9153486,
                    3.242857142857143,
                    5.414285714285714,
                    3.4857142857142853,
                    5.528571428571428,
                ],
            ),
            (
                &[2.1, 0.4, 3.9, 7.7, 1.1, 0.9, 5.2, 2.6],
                0.95,
                [0.04848667060962582, 0.047852424808625525, 0.04430254, 0.98841114, 1.6625, 4.9875, 1.5, 4.7],
            ),
        ];
        for (values, level, expected) in rows {
            let got = bca(values, Confidence::new(level).unwrap(), DRAWS).unwrap().unwrap();
            assert!(got.exact);
            let all = [
                got.bias,
                got.acceleration,
                got.alpha_lower,
                got.alpha_upper,
                got.interval.low,
                got.interval.high,
                got.percentile.low,
                got.percentile.high,
            ];
            for (got, expected) in all.into_iter().zip(expected) {
                close(got, expected, 1e-8);
            }
        }
    }

    #[test]
    fn drawn_resamples_match() {
        // Ten invented values; scipy 1.17 (stats.bootstrap, BCa, 400 000 resamples) gives 2.15 to 6.88, numpy 2.4 the quantiles
        // 1.88 to 6.23 and z0 0.0720 of a million means, the acceleration by formula.
        let values = [2.1, 0.4, 3.9, 7.7, 1.1, 0.9, 5.2, 2.6, 1.9, 12.4];
        let got = bca(&values, Confidence::P95, Draws { resamples: 100_000, seed: 3 }).unwrap().unwrap();
        assert!(!got.exact);
        close(got.mean, 3.82, 1e-12);
        close(got.acceleration, 0.06967846978388158, 1e-12);
        close(got.bias, 0.0720, 0.01);
        close(got.interval.low, 2.15, 0.04);
        close(got.interval.high, 6.88, 0.1);
        close(got.percentile.low, 1.88, 0.03);
        close(got.percentile.high, 6.23, 0.05);
        // Same seed, same answer; another seed, another one.
        let again = bca(&values, Confidence::P95, Draws { resamples: 100_000, seed: 3 }).unwrap().unwrap();
        assert_eq!(got, again);
        let other = bca(&values, Confidence::P95, Draws { resamples: 100_000, seed: 4 }).unwrap().unwrap();
        assert_ne!(got.bias, other.bias);
    }

    #[test]
    fn what_cannot_be_known_is_absent() {
        let few = bca(&[1.0, 2.0, 3.0, 4.0, 6.0], Confidence::P95, DRAWS).unwrap();
        assert_eq!(few, Err(Absent::TooFewPositions { found: 5, needed: 6 }));
        assert_eq!(bca(&[5.0; 7], Confidence::P95, DRAWS).unwrap(), Err(Absent::ZeroSpread));
        let empty = bca(&[], Confidence::P95, DRAWS).unwrap_err();
        assert_eq!(empty, BootstrapError::Sample(SampleError::Empty));
        let ten: Vec<f64> = (0..10).map(f64::from).collect();
        let meagre = bca(&ten, Confidence::P95, Draws { resamples: 100, seed: 1 }).unwrap_err();
        assert_eq!(meagre, BootstrapError::Resamples { resamples: 100 });
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]

        #[test]
        fn mirrored_values_mirror_the_correction(values in prop::collection::vec(-20.0..20.0f64, 6..8)) {
            let mirrored: Vec<f64> = values.iter().map(|value| -value).collect();
            let forth = bca(&values, Confidence::P95, DRAWS).unwrap().unwrap();
            let back = bca(&mirrored, Confidence::P95, DRAWS).unwrap().unwrap();
            prop_assert!((forth.bias + back.bias).abs() < 1e-9);
            prop_assert!((forth.alpha_lower + back.alpha_upper - 1.0).abs() < 1e-9);
            let (least, most) = values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
            prop_assert!(forth.interval.low >= least - 1e-9 && forth.interval.high <= most + 1e-9);
            prop_assert!(forth.interval.low <= forth.interval.high);
        }
    }
}
