//! The average over jobs of this kind and the range to expect on the next one.
//!
//! Random effects: jobs are taken as drawn from many. The prediction interval is the answer to "will it work for me"; the
//! interval of the average is not.

use crate::absent::{Absent, Known};
use crate::distributions::coverage_factor;
use crate::jobs::Jobs;
use crate::jobs::between::{self, Method};
use crate::scale::{Confidence, Dof, Interval};

/// Mean over jobs and what follows for the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JobAverage {
    /// τ², variance between jobs.
    pub tau2: f64,
    /// μ, the average job.
    pub mean: f64,
    /// (Σw*)^-½ with w* = 1/(v+τ²).
    pub se: f64,
    /// Hartung and Knapp's factor on the squared standard error, Σw*(y-μ)²/(k-1).
    pub hartung_knapp_factor: f64,
    /// μ ± z·SE; too narrow with few jobs.
    pub normal: Interval,
    /// Hartung-Knapp interval as published; collapses when jobs agree by chance.
    pub hartung_knapp: Interval,
    /// The same with a factor of at least 1: the one to show.
    pub modified: Interval,
    /// Range for the true value of the next job, k - 1 degrees of freedom and the modified standard error.
    pub next_job: Interval,
    /// The same with SE as it is; too narrow when jobs happen to agree.
    pub next_job_plain: Interval,
    /// Range for the next job in the older form: k - 2 degrees of freedom, SE as it is. Absent below three jobs.
    pub next_job_older_form: Known<Interval>,
}

impl JobAverage {
    /// The modified Hartung-Knapp standard error, `SE·√max(1, q)`.
    pub fn modified_se(&self) -> f64 {
        self.se * self.hartung_knapp_factor.max(1.0).sqrt()
    }

    /// Range for what will be *measured* on the next job with a test of variance `test_variance`.
    ///
    /// # Source
    /// As [`next_job`](Self::next_job), with the new test's own variance under the root.
    pub fn next_measurement(&self, jobs: &Jobs, test_variance: f64, confidence: Confidence) -> Interval {
        let spread = (self.tau2 + self.modified_se().powi(2) + test_variance.max(0.0)).sqrt();
        Interval::around(self.mean, coverage_factor(confidence, dof(jobs.count() - 1)) * spread)
    }
}

/// Averages jobs with τ² of a method. Absent for one job: it shows what can happen, not what usually happens.
///
/// # Source
/// Hartung and Knapp 2001; factor of at least 1 after Knapp and Hartung 2003, recommended for few studies by Röver, Knapp
/// and Friede 2015; older prediction form of Higgins, Thompson and Spiegelhalter 2009. k - 1 with the modified error, so that
/// the prediction never lies inside the interval of the average, is a convention of this project.
pub fn job_average(jobs: &Jobs, method: Method, confidence: Confidence) -> Known<JobAverage> {
    let tau2 = between::tau_squared(jobs, method)?;
    let count = jobs.count();
    let weighted = jobs.weighted(tau2);
    let (mean, variance) = (weighted.mean, weighted.variance());
    let factor = weighted.q / (count - 1) as f64;
    let around = |degrees: Dof, variance: f64| {
        Interval::around(mean, coverage_factor(confidence, degrees) * variance.sqrt())
    };
    let modified_variance = variance * factor.max(1.0);
    Ok(JobAverage {
        tau2,
        mean,
        se: variance.sqrt(),
        hartung_knapp_factor: factor,
        normal: around(Dof::INFINITE, variance),
        hartung_knapp: around(dof(count - 1), variance * factor),
        modified: around(dof(count - 1), modified_variance),
        next_job: around(dof(count - 1), tau2 + modified_variance),
        next_job_plain: around(dof(count - 1), tau2 + variance),
        next_job_older_form: match count {
            0..3 => Err(Absent::TooFewJobs { found: count, needed: 3 }),
            _ => Ok(around(dof(count - 2), tau2 + variance)),
        },
    })
}

fn dof(count: usize) -> Dof {
    Dof::new(count as f64).expect("enough jobs were asked for")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::examples;
    use Method::{DerSimonianLaird, PauleMandel, Reml};
    use proptest::prelude::*;

    fn check(got: Interval, expected: (f64, f64), tolerance: f64, what: &str) {
        let off = (got.low - expected.0).abs().max((got.high - expected.1).abs());
        assert!(off <= tolerance, "{what}: {got:?} instead of {expected:?}");
    }

    #[test]
    fn published_averages_match() {
        // Published in the documentation and tests of the R package metafor, to the digits given (vaccine from memory).
        let got = job_average(&examples::stroke_units(), DerSimonianLaird, Confidence::P95).unwrap();
        assert!((got.mean + 14.10).abs() < 6e-3, "{got:?}");
        check(got.normal, (-24.45, -3.75), 6e-3, "stroke units, DL");
        let got = job_average(&examples::stroke_units(), Reml, Confidence::P95).unwrap();
        assert!((got.mean + 15.12).abs() < 6e-3, "{got:?}");
        check(got.normal, (-32.67, 2.43), 6e-3, "stroke units, REML");
        // Computed independently with scipy 1.17 and mpmath 1.4.
        check(got.modified, (-36.343370388, 6.100000334), 1e-8, "stroke units, modified");
        let got = job_average(&examples::vaccine(), Reml, Confidence::P95).unwrap();
        assert!((got.mean + 0.7145).abs() < 6e-5 && (got.se - 0.1798).abs() < 6e-5, "{got:?}");
        check(got.normal, (-1.0669, -0.3622), 6e-5, "vaccine, normal");
    }

    #[test]
    fn published_hartung_knapp_intervals_match() {
        // Vaccine by REML with Hartung and Knapp's errors: 0.1808, -1.1084 to -0.3206, as the documentation of the R package metafor
        // prints them (from memory; recomputed independently with numpy 2.4 and scipy 1.17 through error contrasts).
        let got = job_average(&examples::vaccine(), Reml, Confidence::P95).unwrap();
        assert!((got.modified_se() - 0.1808).abs() < 6e-5, "{got:?}");
        assert!((got.hartung_knapp_factor - 1.011269983874445).abs() < 1e-6, "{got:?}");
        check(got.hartung_knapp, (-1.1084437129940266, -0.3206209704006213), 1e-6, "vaccine");
        check(
            got.next_job_older_form.unwrap(),
            (-2.0083758962490075, 0.5793112128543594),
            1e-6,
            "vaccine, next",
        );
        // The same with a normal factor is printed there as -1.8667 to 0.4376: a width of 2·1.959964·√(τ² + SE²).
        let spread = (got.tau2 + got.se * got.se).sqrt();
        assert!((1.959963985 * spread - (0.4376 + 1.8667) / 2.0).abs() < 1e-4, "{spread}");
        // Expectations: 0.0837 with an error of 0.0516 (Raudenbush and Bryk 1985 as computed with metafor, from memory).
        let got = job_average(&examples::expectancy().0, Reml, Confidence::P95).unwrap();
        assert!((got.tau2 - 0.0188).abs() < 6e-5, "{got:?}");
        assert!((got.mean - 0.0837).abs() < 6e-5 && (got.se - 0.0516).abs() < 1e-4, "{got:?}");
    }

    #[test]
    fn five_jobs_match() {
        // Computed independently with scipy 1.17; REML with mpmath 1.4 through error contrasts.
        let got = job_average(&examples::five(), DerSimonianLaird, Confidence::P95).unwrap();
        check(got.normal, (4.743292047, 6.732179882), 1e-8, "DL normal");
        check(got.modified, (4.241926506, 7.233545424), 1e-8, "DL modified");
        check(got.next_job, (2.581033149, 8.89443878), 1e-8, "DL next job");
        let got = job_average(&examples::five(), PauleMandel, Confidence::P95).unwrap();
        assert!((got.hartung_knapp_factor - 1.0).abs() < 1e-9, "by construction of the method");
        check(got.modified, (4.247831248, 7.244860799), 1e-8, "PM modified");
        let got = job_average(&examples::five(), Reml, Confidence::P95).unwrap();
        assert!((got.mean - 5.745400385587).abs() < 1e-8 && (got.se - 0.5359148548605).abs() < 1e-8);
        check(got.normal, (4.69502657128, 6.79577419989), 1e-9, "REML normal");
        check(got.modified, (4.24717271187, 7.24362805930), 1e-9, "REML modified");
        check(got.next_job, (2.41290894107, 9.07789183011), 1e-9, "REML next job");
        check(got.next_job_older_form.unwrap(), (1.93088464018, 9.55991613100), 1e-9, "REML older form");
    }

    #[test]
    fn agreeing_jobs_keep_an_honest_width() {
        // Computed independently with scipy 1.17. The plain interval collapses to a quarter decibel; the modified one does not.
        let got = job_average(&examples::agreeing(), Reml, Confidence::P95).unwrap();
        check(got.hartung_knapp, (4.926341357, 5.189043259), 1e-8, "plain");
        check(got.modified, (3.750452567, 6.364932048), 1e-8, "modified");
        assert_eq!(got.next_job, got.modified, "no variance between jobs was seen");
    }

    #[test]
    fn two_jobs_say_little_and_one_says_nothing() {
        // Computed independently with scipy 1.17.
        let got = job_average(&examples::two(), Reml, Confidence::P95).unwrap();
        check(got.modified, (-1.820651219, 14.54372814), 1e-6, "two jobs");
        check(got.next_job, (-6.50047101, 19.22354793), 1e-6, "two jobs, next");
        assert_eq!(got.next_job_older_form, Err(Absent::TooFewJobs { found: 2, needed: 3 }));
        let one = Jobs::new(&[5.0], &[0.2]).unwrap();
        let too_few = Absent::TooFewJobs { found: 1, needed: 2 };
        assert_eq!(job_average(&one, Reml, Confidence::P95), Err(too_few));
    }

    proptest! {
        #[test]
        fn intervals_contain_each_other(
            rows in prop::collection::vec((-10.0..10.0f64, 0.05..2.0f64), 2..9), shift in -50.0..50.0f64,
        ) {
            let (values, variances): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
            let jobs = Jobs::new(&values, &variances).unwrap();
            let moved: Vec<f64> = values.iter().map(|value| value + shift).collect();
            let moved = job_average(&Jobs::new(&moved, &variances).unwrap(), Reml, Confidence::P95).unwrap();
            for method in [DerSimonianLaird, PauleMandel, Reml] {
                let got = job_average(&jobs, method, Confidence::P95).unwrap();
                let lowest = values.iter().copied().fold(f64::INFINITY, f64::min);
                let highest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                prop_assert!(lowest - 1e-9 <= got.mean && got.mean <= highest + 1e-9);
                prop_assert!(got.modified.width() >= got.hartung_knapp.width() - 1e-12);
                prop_assert!(got.modified.width() >= got.normal.width());
                prop_assert!(got.next_job.width() >= got.modified.width());
                let measured = got.next_measurement(&jobs, 0.3, Confidence::P95);
                prop_assert!(measured.width() > got.next_job.width());
                if method == Reml {
                    prop_assert!((moved.mean - got.mean - shift).abs() < 1e-6);
                    prop_assert!((moved.tau2 - got.tau2).abs() < 1e-6 * (1.0 + got.tau2));
                }
            }
        }
    }
}
