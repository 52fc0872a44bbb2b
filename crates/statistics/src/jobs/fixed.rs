//! The average over exactly these jobs, and whether they agree.
//!
//! Answers nothing about the next job and is no headline.

use crate::absent::{Absent, Known};
use crate::distributions::{chi_squared_upper, coverage_factor};
use crate::jobs::Jobs;
use crate::scale::{Confidence, Dof, Interval};

/// Weighted mean of jobs and the test of their agreement.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FixedEffect {
    /// μ = Σwy/Σw with w = 1/v.
    pub mean: f64,
    /// (Σw)^-½.
    pub se: f64,
    /// Normal interval of the mean.
    pub interval: Interval,
    /// Q = Σw(y-μ)², what jobs differ by in units of their own uncertainty.
    pub q: f64,
    /// Degrees of freedom of Q, k - 1.
    pub q_dof: usize,
    /// Probability of a Q as large when jobs do not differ; absent for one job.
    pub q_p: Known<f64>,
}

/// Averages jobs by their own precision.
///
/// # Errors
/// None: [`Jobs`] are checked.
///
/// # Source
/// Cochran 1954; common practice.
pub fn fixed_effect(jobs: &Jobs, confidence: Confidence) -> FixedEffect {
    let weighted = jobs.weighted(0.0);
    let se = weighted.variance().sqrt();
    let q_dof = jobs.count() - 1;
    FixedEffect {
        mean: weighted.mean,
        se,
        interval: Interval::around(weighted.mean, coverage_factor(confidence, Dof::INFINITE) * se),
        q: weighted.q,
        q_dof,
        q_p: match q_dof {
            0 => Err(Absent::TooFewJobs { found: 1, needed: 2 }),
            _ => Ok(chi_squared_upper(weighted.q, q_dof as f64)),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::examples;

    #[test]
    fn published_fixed_effects_match() {
        // Published in the documentation and tests of the R package metafor, to the digits given (vaccine from memory).
        let stroke = fixed_effect(&examples::stroke_units(), Confidence::P95);
        for (got, expected) in
            [(stroke.mean, -3.494), (stroke.interval.low, -5.027), (stroke.interval.high, -1.961)]
        {
            assert!((got - expected).abs() < 6.1e-4, "{got} instead of {expected}");
        }
        let vaccine = fixed_effect(&examples::vaccine(), Confidence::P95);
        for (got, expected) in [(vaccine.mean, -0.4303), (vaccine.se, 0.0405), (vaccine.q, 152.2330)] {
            assert!((got - expected).abs() < 6e-5, "{got} instead of {expected}");
        }
    }

    #[test]
    fn expectations_differ() {
        // Raudenbush and Bryk 1985: Q = 35.83 with 18 degrees of freedom, probability 0.0074 (from memory; Q recomputed
        // independently with numpy 2.4).
        let got = fixed_effect(&examples::expectancy().0, Confidence::P95);
        assert!((got.q - 35.82536520064249).abs() < 1e-9 && got.q_dof == 18, "{got:?}");
        assert!((got.q_p.unwrap() - 0.0074).abs() < 6e-5, "{got:?}");
        assert!((got.mean - 0.06034334995097475).abs() < 1e-11, "{got:?}");
    }

    #[test]
    fn five_jobs_match() {
        // Computed independently with scipy 1.17.
        let got = fixed_effect(&examples::five(), Confidence::P95);
        for (got, expected) in [
            (got.mean, 5.559694989),
            (got.se, 0.213896316),
            (got.q, 20.34306463),
            (got.q_p.unwrap(), 0.0004272404743),
        ] {
            assert!((got / expected - 1.0).abs() < 1e-8, "{got} instead of {expected}");
        }
        assert_eq!(got.q_dof, 4);
    }

    #[test]
    fn one_job_is_its_own_mean() {
        let one = fixed_effect(&Jobs::new(&[5.0], &[0.25]).unwrap(), Confidence::P95);
        assert_eq!((one.mean, one.se, one.q), (5.0, 0.5, 0.0));
        assert_eq!(one.q_p, Err(Absent::TooFewJobs { found: 1, needed: 2 }));
    }
}
