//! What one job really did, given the others: pulled towards the average as far as its own test is imprecise.
//!
//! The best of many is partly luck; shrinking takes the luck off. A job with an imprecise test is pulled most.

use crate::absent::Known;
use crate::distributions::coverage_factor;
use crate::jobs::Jobs;
use crate::jobs::between::{self, Method};
use crate::scale::{Confidence, Dof, Interval};

/// One job's estimate in the light of the others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shrunken {
    /// B, the weight of the job's own value, 0 to 1.
    pub own_weight: f64,
    /// `B·y + (1-B)·μ`.
    pub value: f64,
    /// `√(B·v + (1-B)²·var μ)`.
    pub se: f64,
    /// Normal interval.
    pub interval: Interval,
}

/// All jobs pulled towards their average.
#[derive(Debug, Clone, PartialEq)]
pub struct ShrunkenJobs {
    /// τ², variance between jobs.
    pub tau2: f64,
    /// μ, the average job.
    pub mean: f64,
    /// One for each job, in order.
    pub jobs: Vec<Shrunken>,
}

/// Pulls each job towards the average, `B = τ²/(τ²+v)`. Absent for one job. With τ² = 0 all jobs equal the average.
///
/// # Source
/// Best linear unbiased prediction, Raudenbush and Bryk 1985; the error counts that of the average, not that of τ².
pub fn shrunken(jobs: &Jobs, method: Method, confidence: Confidence) -> Known<ShrunkenJobs> {
    let tau2 = between::tau_squared(jobs, method)?;
    let weighted = jobs.weighted(tau2);
    let (mean, variance) = (weighted.mean, weighted.variance());
    let factor = coverage_factor(confidence, Dof::INFINITE);
    let one = |(own, own_variance): (&f64, &f64)| {
        let own_weight = tau2 / (tau2 + own_variance);
        let value = mean + own_weight * (own - mean);
        let se = (own_weight * own_variance + (1.0 - own_weight).powi(2) * variance).sqrt();
        Shrunken { own_weight, value, se, interval: Interval::around(value, factor * se) }
    };
    Ok(ShrunkenJobs { tau2, mean, jobs: jobs.values.iter().zip(&jobs.variances).map(one).collect() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::absent::Absent;
    use crate::jobs::examples;
    use proptest::prelude::*;

    #[test]
    fn five_jobs_match() {
        // Computed independently with numpy 2.4 by Henderson's mixed model equations, τ² through error contrasts with scipy 1.17.
        let got = shrunken(&examples::five(), Method::Reml, Confidence::P95).unwrap();
        let expected = [
            (0.905471919232, 5.79483880324, 0.333501071754, 5.1411887138),
            (0.766583266456, 6.78381378274, 0.532871490465, 5.73940485304),
            (0.851793013387, 4.42903913426, 0.42031790813, 3.60523117227),
            (0.657037822007, 6.50401600153, 0.65422059835, 5.22176719082),
            (0.821360183941, 5.21529420617, 0.463147251092, 4.30754227449),
        ];
        for (job, (own_weight, value, se, low)) in got.jobs.iter().zip(expected) {
            let off = [job.own_weight - own_weight, job.value - value, job.se - se, job.interval.low - low];
            assert!(off.iter().all(|off| off.abs() < 1e-7), "{job:?}");
        }
    }

    #[test]
    fn striking_expectations_shrink_most() {
        // Raudenbush and Bryk 1985: the most striking of nineteen experiments, 1.18, is shrunken to 0.21 (from memory). All computed
        // independently with numpy 2.4, τ² through error contrasts with scipy 1.17.
        let got = shrunken(&examples::expectancy().0, Method::Reml, Confidence::P95).unwrap();
        let expected = [
            0.0544, 0.1006, -0.0065, 0.2144, 0.1051, -0.0082, 0.0174, -0.0294, 0.1604, 0.2485, 0.1618,
            0.1101, 0.0646, 0.1105, -0.0289, 0.0258, 0.1905, 0.0744, 0.0248,
        ];
        for (job, expected) in got.jobs.iter().zip(expected) {
            assert!((job.value - expected).abs() < 6e-5, "{job:?} instead of {expected}");
        }
        assert!((got.jobs[3].se - 0.13658084401343304).abs() < 1e-6, "{:?}", got.jobs[3]);
    }

    #[test]
    fn jobs_that_agree_become_one() {
        let got = shrunken(&examples::agreeing(), Method::Reml, Confidence::P95).unwrap();
        assert!(got.jobs.iter().all(|job| job.value == got.mean && job.own_weight == 0.0));
        let one = Jobs::new(&[5.0], &[0.2]).unwrap();
        let too_few = Absent::TooFewJobs { found: 1, needed: 2 };
        assert_eq!(shrunken(&one, Method::Reml, Confidence::P95), Err(too_few));
    }

    proptest! {
        #[test]
        fn each_lies_between_its_own_value_and_the_average(
            rows in prop::collection::vec((-10.0..10.0f64, 0.05..2.0f64), 2..9),
        ) {
            let (values, variances): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
            let jobs = Jobs::new(&values, &variances).unwrap();
            let got = shrunken(&jobs, Method::PauleMandel, Confidence::P95).unwrap();
            for (job, own) in got.jobs.iter().zip(values) {
                let (low, high) = (own.min(got.mean) - 1e-9, own.max(got.mean) + 1e-9);
                prop_assert!(low <= job.value && job.value <= high);
            }
        }
    }
}
