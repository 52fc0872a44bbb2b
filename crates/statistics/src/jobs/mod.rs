//! Several jobs together: what such a wall does on average, and on the next job.
//!
//! In reading order: the rows come in here, [`fixed`] averages these jobs only, [`between`] estimates how much jobs differ,
//! [`average`] draws mean and prediction from that, [`few`] does both with a cautious prior when jobs are few. Then
//! [`moderators`] asks what goes with the differences, such as depth, and [`shrink`] pulls each job towards the others.
//! Leaves out which rows may meet in one pool.

pub mod average;
pub mod between;
pub mod few;
pub mod fixed;
pub mod moderators;
pub mod shrink;

mod cholesky;
mod search;

/// Results of jobs, one row per job and assembly: a value and the variance of its own measurement.
#[derive(Debug, Clone, PartialEq)]
pub struct Jobs {
    values: Vec<f64>,
    variances: Vec<f64>,
}

/// Why rows make no set of jobs.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum JobsError {
    /// Without a job there is no result.
    #[error("no jobs were given")]
    Empty,
    /// Every job has one value and one variance.
    #[error("{values} values came with {variances} variances")]
    UnequalLengths { values: usize, variances: usize },
    /// Leave the job out and say why.
    #[error("the value of job {index} is {value}, not a finite number")]
    Value { index: usize, value: f64 },
    /// A job of variance 0 would outweigh all others; leave it out and say why.
    #[error("the variance of job {index} is {variance}, not above zero")]
    Variance { index: usize, variance: f64 },
    /// Tests of one wall share errors in part: a correlation from 0 to 1.
    #[error("a correlation of {correlation} is outside 0 to 1")]
    Correlation { correlation: f64 },
}

impl Jobs {
    /// Takes in one value and one variance per job.
    ///
    /// # Errors
    /// [`JobsError`].
    pub fn new(values: &[f64], variances: &[f64]) -> Result<Self, JobsError> {
        if values.len() != variances.len() {
            return Err(JobsError::UnequalLengths { values: values.len(), variances: variances.len() });
        }
        if values.is_empty() {
            return Err(JobsError::Empty);
        }
        for (index, (&value, &variance)) in values.iter().zip(variances).enumerate() {
            if !value.is_finite() {
                return Err(JobsError::Value { index, value });
            }
            if !(variance.is_finite() && variance > 0.0) {
                return Err(JobsError::Variance { index, variance });
            }
        }
        Ok(Self { values: values.to_vec(), variances: variances.to_vec() })
    }

    /// How many jobs.
    pub fn count(&self) -> usize {
        self.values.len()
    }

    /// Weighted sums with `tau2` added to every variance.
    fn weighted(&self, tau2: f64) -> Weighted {
        let weights: Vec<f64> = self.variances.iter().map(|variance| 1.0 / (variance + tau2)).collect();
        let sum: f64 = weights.iter().sum();
        // Centred on the first value: the mean keeps its digits when values are large and close.
        let first = self.values[0];
        let off: f64 = weights.iter().zip(&self.values).map(|(weight, value)| weight * (value - first)).sum();
        let mean = first + off / sum;
        let q = weights.iter().zip(&self.values).map(|(weight, value)| weight * (value - mean).powi(2)).sum();
        Weighted { weights, sum, mean, q }
    }
}

/// Weights 1/(v + τ²) and what they give.
struct Weighted {
    weights: Vec<f64>,
    sum: f64,
    mean: f64,
    /// Σ w·(y - mean)².
    q: f64,
}

impl Weighted {
    /// Variance of the mean, 1/Σw.
    fn variance(&self) -> f64 {
        1.0 / self.sum
    }
}

/// Averages several tests of one wall into one row: plain mean, `v = ΣΣ ρᵢⱼ·√(vᵢvⱼ)/m²`.
///
/// Two tests of one wall are not two jobs. What they share (room, crew, wall) is the correlation ρ between their errors.
///
/// # Units and shape
/// `tests`: the tests of one wall, at least one. `correlation`: ρ of every pair, 0 to 1; 0.5 unless known, and 0 and 0.8
/// to see how much it matters. Returns value and variance.
///
/// # Errors
/// [`JobsError::Correlation`].
///
/// # Source
/// Variance of a mean of equally correlated values; ρ = 0.5 is a convention of this project.
pub fn merge_tests(tests: &Jobs, correlation: f64) -> Result<(f64, f64), JobsError> {
    if !(0.0..=1.0).contains(&correlation) {
        return Err(JobsError::Correlation { correlation });
    }
    let count = tests.count() as f64;
    let own: f64 = tests.variances.iter().sum();
    let spread: f64 = tests.variances.iter().map(|variance| variance.sqrt()).sum();
    // (Σu)² is every pair twice and every test once.
    let shared = correlation * (spread * spread - own);
    Ok((crate::sample::mean_of(&tests.values), (own + shared) / (count * count)))
}

#[cfg(test)]
pub(crate) mod examples {
    //! Data sets the tests of this folder share.

    use super::Jobs;

    /// Five invented jobs.
    pub(crate) fn five() -> Jobs {
        Jobs::new(&[5.8, 7.1, 4.2, 6.9, 5.1], &[0.12, 0.35, 0.20, 0.60, 0.25]).unwrap()
    }

    /// The first two of them.
    pub(crate) fn two() -> Jobs {
        Jobs::new(&[5.8, 7.1], &[0.12, 0.35]).unwrap()
    }

    /// Three invented jobs that agree better than their variances let expect.
    pub(crate) fn agreeing() -> Jobs {
        Jobs::new(&[5.0, 5.1, 5.05], &[0.3, 0.2, 0.4]).unwrap()
    }

    /// Nine trials of stroke units, differences of stay in days: Normand 1999, with pooled standard deviations.
    pub(crate) fn stroke_units() -> Jobs {
        Jobs::new(
            &[-20.0, -2.0, -55.0, -71.0, -4.0, 1.0, 11.0, -10.0, 7.0],
            &[40.5863, 2.0468, 15.2809, 150.2222, 20.1923, 1.2235, 95.3756, 8.0321, 20.6936],
        )
        .unwrap()
    }

    /// Nineteen experiments on what teachers expect, Raudenbush and Bryk 1985: standardised differences of pupils' scores, and weeks
    /// that teacher and class knew each other before, three and more as three (from memory).
    pub(crate) fn expectancy() -> (Jobs, [f64; 19]) {
        let values = [
            0.03, 0.12, -0.14, 1.18, 0.26, -0.06, -0.02, -0.32, 0.27, 0.80, 0.54, 0.18, -0.02, 0.23, -0.18,
            -0.06, 0.30, 0.07, -0.07,
        ];
        let errors: [f64; 19] = [
            0.125, 0.147, 0.167, 0.373, 0.369, 0.103, 0.103, 0.220, 0.164, 0.251, 0.302, 0.223, 0.289, 0.290,
            0.159, 0.167, 0.139, 0.094, 0.174,
        ];
        let weeks =
            [2.0, 3.0, 3.0, 0.0, 0.0, 3.0, 3.0, 3.0, 0.0, 1.0, 0.0, 0.0, 1.0, 2.0, 3.0, 3.0, 1.0, 2.0, 3.0];
        (Jobs::new(&values, &errors.map(|error| error * error)).unwrap(), weeks)
    }

    /// Thirteen trials of BCG vaccine, log relative risks from the counts of Colditz and others 1994.
    pub(crate) fn vaccine() -> Jobs {
        // Cases and others among the vaccinated, then among the controls.
        let counts = [
            [4.0, 119.0, 11.0, 128.0],
            [6.0, 300.0, 29.0, 274.0],
            [3.0, 228.0, 11.0, 209.0],
            [62.0, 13536.0, 248.0, 12619.0],
            [33.0, 5036.0, 47.0, 5761.0],
            [180.0, 1361.0, 372.0, 1079.0],
            [8.0, 2537.0, 10.0, 619.0],
            [505.0, 87886.0, 499.0, 87892.0],
            [29.0, 7470.0, 45.0, 7232.0],
            [17.0, 1699.0, 65.0, 1600.0],
            [186.0, 50448.0, 141.0, 27197.0],
            [5.0, 2493.0, 3.0, 2338.0],
            [27.0, 16886.0, 29.0, 17825.0],
        ];
        let risk = |cases: f64, others: f64| cases / (cases + others);
        let values = counts.map(|[a, b, c, d]| (risk(a, b) / risk(c, d)).ln());
        let variances = counts.map(|[a, b, c, d]| 1.0 / a - 1.0 / (a + b) + 1.0 / c - 1.0 / (c + d));
        Jobs::new(&values, &variances).unwrap()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn impossible_rows_are_refused() {
        assert_eq!(Jobs::new(&[], &[]), Err(JobsError::Empty));
        let unequal = JobsError::UnequalLengths { values: 1, variances: 2 };
        assert_eq!(Jobs::new(&[1.0], &[1.0, 2.0]), Err(unequal));
        assert!(matches!(Jobs::new(&[1.0, f64::NAN], &[1.0, 1.0]), Err(JobsError::Value { index: 1, .. })));
        let zero = JobsError::Variance { index: 0, variance: 0.0 };
        assert_eq!(Jobs::new(&[1.0], &[0.0]), Err(zero));
        assert!(Jobs::new(&[1.0], &[f64::INFINITY]).is_err());
    }

    #[test]
    fn tests_of_one_wall_merge() {
        // By hand: (v₁ + v₂ + 2ρ√(v₁v₂))/4 with 0.16, 0.36 and √ of their product 0.24.
        let tests = Jobs::new(&[5.0, 6.0], &[0.16, 0.36]).unwrap();
        for (correlation, expected) in [(0.0, 0.13), (0.5, 0.19), (0.8, 0.226), (1.0, 0.25)] {
            let (value, variance) = merge_tests(&tests, correlation).unwrap();
            assert_eq!(value, 5.5);
            assert!((variance - expected).abs() < 1e-12, "{correlation}: {variance}");
        }
        let one = Jobs::new(&[5.0], &[0.16]).unwrap();
        let (value, variance) = merge_tests(&one, 0.5).unwrap();
        assert!(value == 5.0 && (variance - 0.16).abs() < 1e-12);
        assert_eq!(merge_tests(&one, 1.5), Err(JobsError::Correlation { correlation: 1.5 }));
    }
}
