//! How much jobs differ beyond their measurement: the variance τ² between jobs, and the share it makes.
//!
//! τ in the unit of the values is for users; I² is a share, not a size, and stays on the expert's page.

use crate::absent::{Absent, Known};
use crate::distributions::chi_squared_quantile;
use crate::jobs::Jobs;
use crate::jobs::search::{Slope, Spread};
use crate::sample;
use crate::scale::{Confidence, Interval, Probability};

/// How τ² is estimated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Method {
    /// DerSimonian and Laird 1986: closed form, low when precisions differ.
    DerSimonianLaird,
    /// Paule and Mandel 1982: the τ² at which Q meets its expectation; always found.
    PauleMandel,
    /// Restricted maximum likelihood: the default.
    Reml,
}

/// Estimates τ², the variance between jobs; never below 0.
///
/// # Units and shape
/// Square of the values' unit. Absent for one job; hardly informed by two.
///
/// # Source
/// DerSimonian and Laird 1986; Paule and Mandel 1982; Viechtbauer 2005 for REML.
pub fn tau_squared(jobs: &Jobs, method: Method) -> Known<f64> {
    needs_two(jobs)?;
    Ok(jobs.estimate(method))
}

/// Finds the τ² that agree with the spread of the jobs, by solving Q(τ²) at the χ² limits.
///
/// With few jobs it spans orders of magnitude, which is the honest answer. Absent for one job, and where jobs agree better
/// than chance should let them.
///
/// # Source
/// Q-profile interval, Viechtbauer 2007.
pub fn tau_squared_interval(jobs: &Jobs, confidence: Confidence) -> Known<Interval> {
    needs_two(jobs)?;
    let tail = confidence.one_tail();
    let rest = Probability::new(1.0 - tail.value()).expect("a tail is below one half");
    let least_q = chi_squared_quantile(tail, dof(jobs));
    if jobs.weighted(0.0).q < least_q {
        return Err(Absent::ZeroSpread);
    }
    let low = jobs.where_q_falls_to(chi_squared_quantile(rest, dof(jobs)));
    Ok(Interval { low, high: jobs.where_q_falls_to(least_q) })
}

/// The share of variation that lies between jobs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heterogeneity {
    /// I², from 0 to 1.
    pub i_squared: f64,
    /// H², 1 where jobs differ as much as their uncertainties let expect.
    pub h_squared: f64,
}

/// Computes `I² = max(0, (Q-(k-1))/Q)` and `H² = Q/(k-1)`; absent for one job.
///
/// # Source
/// Higgins and Thompson 2002.
pub fn heterogeneity_from_q(jobs: &Jobs) -> Known<Heterogeneity> {
    needs_two(jobs)?;
    let (q, dof) = (jobs.weighted(0.0).q, dof(jobs));
    let i_squared = if q > dof { (q - dof) / q } else { 0.0 };
    Ok(Heterogeneity { i_squared, h_squared: q / dof })
}

/// Computes `I² = τ²/(τ²+v)` and `H² = 1 + τ²/v` with the typical variance `v = (k-1)Σw/((Σw)²-Σw²)`; absent
/// for one job.
///
/// # Source
/// Higgins and Thompson 2002.
pub fn heterogeneity_from_tau(jobs: &Jobs, tau2: f64) -> Known<Heterogeneity> {
    needs_two(jobs)?;
    // A variance below 0 is no variance.
    let tau2 = tau2.max(0.0);
    let typical = dof(jobs) / jobs.slope(0.0).trace;
    Ok(Heterogeneity { i_squared: tau2 / (tau2 + typical), h_squared: 1.0 + tau2 / typical })
}

fn needs_two(jobs: &Jobs) -> Known<()> {
    if jobs.count() < 2 { Err(Absent::TooFewJobs { found: jobs.count(), needed: 2 }) } else { Ok(()) }
}

fn dof(jobs: &Jobs) -> f64 {
    (jobs.count() - 1) as f64
}

impl Spread for Jobs {
    fn rest_dof(&self) -> f64 {
        dof(self)
    }

    fn own_variances(&self) -> &[f64] {
        &self.variances
    }

    fn reach(&self) -> f64 {
        let spread = sample::moments_of(&self.values, 0.0).sd.map_or(0.0, |sd| sd * sd);
        10.0 * (spread + sample::largest(&self.variances))
    }

    fn q(&self, tau2: f64) -> f64 {
        self.weighted(tau2).q
    }

    fn slope(&self, tau2: f64) -> Slope {
        let weighted = self.weighted(tau2);
        let weights = &weighted.weights;
        let squares = weights.iter().zip(&self.values).map(|(w, y)| (w * (y - weighted.mean)).powi(2)).sum();
        // P holds wᵢ·(1 - wᵢ/Σw) on its diagonal and -wᵢwⱼ/Σw beside it. What the others weigh is summed and not left over: beside
        // one job that outweighs all, nothing would be.
        let (others, others_squared) = (sums_of_others(weights, 1), sums_of_others(weights, 2));
        let (mut trace, mut information) = (0.0, 0.0);
        for (index, weight) in weights.iter().enumerate() {
            let share = weight / weighted.sum;
            trace += share * others[index];
            information += share * share * (others[index].powi(2) + others_squared[index]);
        }
        Slope { squares, trace, information }
    }

    fn log_likelihood(&self, tau2: f64) -> f64 {
        let weighted = self.weighted(tau2);
        let spread: f64 = self.variances.iter().map(|variance| (variance + tau2).ln()).sum();
        -0.5 * (spread + weighted.sum.ln() + weighted.q)
    }
}

/// For each weight the sum of the powers of all others, without taking anything off a sum.
fn sums_of_others(weights: &[f64], exponent: i32) -> Vec<f64> {
    let powers: Vec<f64> = weights.iter().map(|weight| weight.powi(exponent)).collect();
    let mut others = vec![0.0; powers.len()];
    let (mut before, mut after) = (0.0, 0.0);
    for front in 0..powers.len() {
        let back = powers.len() - 1 - front;
        others[front] += before;
        others[back] += after;
        before += powers[front];
        after += powers[back];
    }
    others
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jobs::examples;
    use Method::{DerSimonianLaird, PauleMandel, Reml};
    use proptest::prelude::*;

    #[test]
    fn published_values_match() {
        // Published in the documentation and tests of the R package metafor, to the digits given (vaccine from memory).
        let rows = [
            (examples::stroke_units(), DerSimonianLaird, 218.72, 6e-3),
            (examples::stroke_units(), Reml, 685.20, 6e-3),
            (examples::vaccine(), DerSimonianLaird, 0.3088, 6e-5),
            (examples::vaccine(), PauleMandel, 0.3181, 6e-5),
            (examples::vaccine(), Reml, 0.3132, 6e-5),
        ];
        for (jobs, method, expected, tolerance) in rows {
            let got = tau_squared(&jobs, method).unwrap();
            assert!((got - expected).abs() < tolerance, "{method:?}: {got} instead of {expected}");
        }
        let interval = tau_squared_interval(&examples::vaccine(), Confidence::P95).unwrap();
        assert!(
            (interval.low - 0.1197).abs() < 6e-5 && (interval.high - 1.1115).abs() < 6e-5,
            "{interval:?}"
        );
        let tau2 = tau_squared(&examples::vaccine(), Reml).unwrap();
        let share = heterogeneity_from_tau(&examples::vaccine(), tau2).unwrap();
        assert!(
            (share.i_squared - 0.9222).abs() < 6e-5 && (share.h_squared - 12.86).abs() < 0.006,
            "{share:?}"
        );
    }

    #[test]
    fn five_jobs_match() {
        // Computed independently with scipy 1.17; REML with mpmath 1.4 through error contrasts.
        let stroke = tau_squared(&examples::stroke_units(), Reml).unwrap();
        assert!((stroke - 685.196494146).abs() < 1e-6, "{stroke}");
        let rows = [(DerSimonianLaird, 1.002423163), (PauleMandel, 1.169728142), (Reml, 1.149464047)];
        for (method, expected) in rows {
            let got = tau_squared(&examples::five(), method).unwrap();
            assert!((got - expected).abs() < 1e-9, "{method:?}: {got} instead of {expected}");
        }
        let interval = tau_squared_interval(&examples::five(), Confidence::P95).unwrap();
        assert!((interval.low - 0.2275560284).abs() < 1e-8, "{interval:?}");
        assert!((interval.high - 11.95539306).abs() < 1e-6, "{interval:?}");
        let share = heterogeneity_from_q(&examples::five()).unwrap();
        assert!((share.i_squared - 0.803372792).abs() < 1e-8 && (share.h_squared - 5.085766158).abs() < 1e-8);
        let share = heterogeneity_from_tau(&examples::five(), 1.149464082).unwrap();
        assert!((share.i_squared - 0.8241012498).abs() < 1e-8, "{share:?}");
    }

    #[test]
    fn the_search_finds_what_the_steps_find() {
        for jobs in [examples::five(), examples::stroke_units(), examples::vaccine(), examples::two()] {
            let (stepped, searched) = (jobs.reml(), jobs.highest_likelihood());
            assert!((stepped / searched - 1.0).abs() < 1e-9, "{stepped} against {searched}");
        }
    }

    #[test]
    fn agreeing_jobs_differ_by_nothing() {
        for method in [DerSimonianLaird, PauleMandel, Reml] {
            assert_eq!(tau_squared(&examples::agreeing(), method), Ok(0.0));
        }
        assert_eq!(tau_squared_interval(&examples::agreeing(), Confidence::P95), Err(Absent::ZeroSpread));
        assert_eq!(heterogeneity_from_q(&examples::agreeing()).unwrap().i_squared, 0.0);
    }

    #[test]
    fn one_job_cannot_differ() {
        let one = Jobs::new(&[5.0], &[0.2]).unwrap();
        let too_few = Absent::TooFewJobs { found: 1, needed: 2 };
        assert_eq!(tau_squared(&one, Reml), Err(too_few));
        assert_eq!(tau_squared_interval(&one, Confidence::P95), Err(too_few));
        assert_eq!(heterogeneity_from_q(&one), Err(too_few));
        assert_eq!(heterogeneity_from_tau(&one, 0.0), Err(too_few));
    }

    proptest! {
        #[test]
        fn scale_and_order_do_not_matter(
            rows in prop::collection::vec((-10.0..10.0f64, 0.05..2.0f64), 2..9), shift in -50.0..50.0f64,
        ) {
            let (values, variances): (Vec<f64>, Vec<f64>) = rows.iter().copied().unzip();
            let jobs = Jobs::new(&values, &variances).unwrap();
            let scaled_values: Vec<f64> = values.iter().rev().map(|value| 3.0 * (value + shift)).collect();
            let scaled_variances: Vec<f64> = variances.iter().rev().map(|variance| 9.0 * variance).collect();
            let scaled = Jobs::new(&scaled_values, &scaled_variances).unwrap();
            for method in [DerSimonianLaird, PauleMandel, Reml] {
                let (one, nine) = (tau_squared(&jobs, method).unwrap(), tau_squared(&scaled, method).unwrap());
                prop_assert!((9.0 * one - nine).abs() < 1e-6 * (1.0 + nine), "{method:?}: {one} {nine}");
            }
        }

        #[test]
        fn no_other_point_is_likelier(rows in prop::collection::vec((-10.0..10.0f64, 0.05..2.0f64), 2..9)) {
            let (values, variances): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
            let jobs = Jobs::new(&values, &variances).unwrap();
            let top = jobs.log_likelihood(tau_squared(&jobs, Reml).unwrap());
            for index in 0..200 {
                let elsewhere = 0.001 * 1.08f64.powi(index) - 0.001;
                prop_assert!(jobs.log_likelihood(elsewhere) <= top + 1e-9, "higher at {elsewhere}");
            }
        }

        #[test]
        fn larger_variances_leave_less_between(rows in prop::collection::vec((-10.0..10.0f64, 0.05..2.0f64), 2..9)) {
            let (values, variances): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
            let larger: Vec<f64> = variances.iter().map(|variance| variance + 0.5).collect();
            let tau2 = tau_squared(&Jobs::new(&values, &variances).unwrap(), PauleMandel).unwrap();
            let less = tau_squared(&Jobs::new(&values, &larger).unwrap(), PauleMandel).unwrap();
            prop_assert!((tau2 - 0.5).max(0.0) - less < 1e-9 * (1.0 + tau2), "{tau2} {less}");
        }
    }
}
