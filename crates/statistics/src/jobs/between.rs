//! How much jobs differ beyond their measurement: the variance τ² between jobs, and the share it makes.
//!
//! τ in the unit of the values is for users; I² is a share, not a size, and stays on the expert's page.

use crate::absent::{Absent, Known};
use crate::distributions::chi_squared_quantile;
use crate::jobs::Jobs;
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
    Ok(match method {
        Method::DerSimonianLaird => dersimonian_laird(jobs),
        Method::PauleMandel => where_q_falls_to(jobs, dof(jobs)),
        Method::Reml => reml(jobs),
    })
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
    let low = where_q_falls_to(jobs, chi_squared_quantile(rest, dof(jobs)));
    Ok(Interval { low, high: where_q_falls_to(jobs, least_q) })
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
    let weighted = jobs.weighted(0.0);
    let typical = dof(jobs) * weighted.sum / (weighted.sum.powi(2) - weighted.power_sum(2));
    Ok(Heterogeneity { i_squared: tau2 / (tau2 + typical), h_squared: 1.0 + tau2 / typical })
}

fn needs_two(jobs: &Jobs) -> Known<()> {
    if jobs.count() < 2 { Err(Absent::TooFewJobs { found: jobs.count(), needed: 2 }) } else { Ok(()) }
}

fn dof(jobs: &Jobs) -> f64 {
    (jobs.count() - 1) as f64
}

fn dersimonian_laird(jobs: &Jobs) -> f64 {
    let weighted = jobs.weighted(0.0);
    let excess = weighted.q - dof(jobs);
    (excess / (weighted.sum - weighted.power_sum(2) / weighted.sum)).max(0.0)
}

/// The τ² at which Q, which falls all the way to 0, reaches `target`; 0 where it starts below.
fn where_q_falls_to(jobs: &Jobs, target: f64) -> f64 {
    let above = |tau2: f64| jobs.weighted(tau2).q > target;
    if !above(0.0) {
        return 0.0;
    }
    let mut high = sample::largest(&jobs.variances);
    while above(high) {
        high *= 2.0;
    }
    bisect(0.0, high, above)
}

/// The point where a condition that holds at `low` and not at `high` stops holding.
fn bisect(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    loop {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            return middle;
        }
        if holds(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
}

/// Climbs the restricted likelihood by Fisher's steps. Steps can cycle where it is flat and stop at 0 although it is higher
/// elsewhere; then the whole range is searched.
fn reml(jobs: &Jobs) -> f64 {
    const STEPS: usize = 100;
    let mut tau2 = dersimonian_laird(jobs);
    for _ in 0..STEPS {
        let slope = Slope::at(jobs, tau2);
        let next = (tau2 + slope.score / slope.information).max(0.0);
        let settled = (next - tau2).abs() <= 1e-13 * (next + jobs.variances[0]);
        tau2 = next;
        if settled && tau2 > 0.0 {
            return tau2;
        }
        if settled {
            break;
        }
    }
    highest_likelihood(jobs)
}

/// Slope of twice the restricted log-likelihood over τ², and its expected bend.
struct Slope {
    /// y'PPy - tr P.
    score: f64,
    /// tr PP.
    information: f64,
}

impl Slope {
    fn at(jobs: &Jobs, tau2: f64) -> Self {
        let weighted = jobs.weighted(tau2);
        let (first, second, third) = (weighted.sum, weighted.power_sum(2), weighted.power_sum(3));
        let fit: f64 = weighted
            .weights
            .iter()
            .zip(&jobs.values)
            .map(|(weight, value)| (weight * (value - weighted.mean)).powi(2))
            .sum();
        Self {
            score: fit - (first - second / first),
            information: second - 2.0 * third / first + (second / first).powi(2),
        }
    }
}

/// Restricted log-likelihood without its constant.
fn log_likelihood(jobs: &Jobs, tau2: f64) -> f64 {
    let weighted = jobs.weighted(tau2);
    let spread: f64 = jobs.variances.iter().map(|variance| (variance + tau2).ln()).sum();
    -0.5 * (spread + weighted.sum.ln() + weighted.q)
}

/// Searches [0, 10·(var y + max v)]: the best point of a grid that is dense near 0, then the root of the slope beside it.
fn highest_likelihood(jobs: &Jobs) -> f64 {
    const POINTS: usize = 400;
    let spread = sample::moments_of(&jobs.values, 0.0).sd.map_or(0.0, |sd| sd * sd);
    let limit = 10.0 * (spread + sample::largest(&jobs.variances));
    let at = |index: usize| limit * (index as f64 / POINTS as f64).powi(4);
    let likelihood = |index: usize| log_likelihood(jobs, at(index));
    let best =
        (1..=POINTS).fold(0, |best, next| if likelihood(next) > likelihood(best) { next } else { best });
    let rises = |tau2: f64| Slope::at(jobs, tau2).score > 0.0;
    let (low, high) = (at(best.saturating_sub(1)), at((best + 1).min(POINTS)));
    match (rises(low), rises(high)) {
        (true, false) => bisect(low, high, rises),
        // No top inside: the likelihood falls from 0 on.
        _ => at(best),
    }
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
            let (stepped, searched) = (reml(&jobs), highest_likelihood(&jobs));
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
            let top = log_likelihood(&jobs, tau_squared(&jobs, Reml).unwrap());
            for index in 0..200 {
                let elsewhere = 0.001 * 1.08f64.powi(index) - 0.001;
                prop_assert!(log_likelihood(&jobs, elsewhere) <= top + 1e-9, "higher at {elsewhere}");
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
