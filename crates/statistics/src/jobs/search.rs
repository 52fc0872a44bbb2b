//! Finding τ² in any model of jobs, with moderators or without.
//!
//! Leaves out the models: each says how its Q, its restricted likelihood and the slope of that depend on τ².

use crate::jobs::between::Method;
use crate::sample;

/// Slope of twice the restricted log-likelihood over τ², in parts, and its expected bend.
pub(super) struct Slope {
    /// y'PPy.
    pub(super) squares: f64,
    /// tr P.
    pub(super) trace: f64,
    /// tr PP.
    pub(super) information: f64,
}

impl Slope {
    fn score(&self) -> f64 {
        self.squares - self.trace
    }
}

/// A model whose one unknown beside the means is τ².
pub(super) trait Spread {
    /// Jobs less estimated means, k - p.
    fn rest_dof(&self) -> f64;

    /// What each job's variance is before τ² is added; at least one.
    fn own_variances(&self) -> &[f64];

    /// Beyond it nobody looks for τ², 10·(var y + max v).
    fn reach(&self) -> f64;

    /// Weighted squares around the fit, which fall as τ² grows.
    fn q(&self, tau2: f64) -> f64;

    /// How the restricted likelihood leans.
    fn slope(&self, tau2: f64) -> Slope;

    /// Restricted log-likelihood without its constant.
    fn log_likelihood(&self, tau2: f64) -> f64;

    /// τ² by a method; needs more jobs than means.
    fn estimate(&self, method: Method) -> f64 {
        match method {
            Method::DerSimonianLaird => self.dersimonian_laird(),
            Method::PauleMandel => self.where_q_falls_to(self.rest_dof()),
            Method::Reml => self.reml(),
        }
    }

    /// `max(0, (Q - (k-p))/tr P)`, both at τ² = 0.
    fn dersimonian_laird(&self) -> f64 {
        let beyond = self.q(0.0) - self.rest_dof();
        let tau2 = beyond / self.slope(0.0).trace;
        if beyond <= 0.0 {
            0.0
        } else if tau2.is_finite() && tau2 > 0.0 {
            tau2
        } else {
            // Beside jobs that outweigh all others no digit of the trace is left; the defining equation still has a root.
            self.where_q_falls_to(self.rest_dof())
        }
    }

    /// The τ² at which Q, which falls all the way to 0, reaches `target`; 0 where it starts below.
    fn where_q_falls_to(&self, target: f64) -> f64 {
        let above = |tau2: f64| self.q(tau2) > target;
        if !above(0.0) {
            return 0.0;
        }
        let mut high = sample::largest(self.own_variances());
        while above(high) {
            high *= 2.0;
        }
        bisect(0.0, high, above)
    }

    /// Climbs the restricted likelihood by Fisher's steps. Steps can cycle where it is flat and stop at 0 although it is
    /// higher elsewhere; then the whole range is searched.
    fn reml(&self) -> f64 {
        const STEPS: usize = 100;
        let mut tau2 = self.dersimonian_laird();
        for _ in 0..STEPS {
            let slope = self.slope(tau2);
            let step = slope.score() / slope.information;
            if !step.is_finite() {
                break;
            }
            let next = (tau2 + step).max(0.0);
            let settled = (next - tau2).abs() <= 1e-13 * (next + self.own_variances()[0]);
            tau2 = next;
            if settled && tau2 > 0.0 {
                return tau2;
            }
            if settled {
                break;
            }
        }
        self.highest_likelihood()
    }

    /// Searches the reach: the best point of a grid that is dense near 0, then the root of the slope beside it.
    fn highest_likelihood(&self) -> f64 {
        const POINTS: usize = 400;
        let limit = self.reach();
        let at = |index: usize| limit * (index as f64 / POINTS as f64).powi(4);
        let mut best = (0, self.log_likelihood(0.0));
        for index in 1..=POINTS {
            let likelihood = self.log_likelihood(at(index));
            if likelihood > best.1 {
                best = (index, likelihood);
            }
        }
        let rises = |tau2: f64| self.slope(tau2).score() > 0.0;
        let (low, high) = (at(best.0.saturating_sub(1)), at((best.0 + 1).min(POINTS)));
        match (rises(low), rises(high)) {
            (true, false) => bisect(low, high, rises),
            // No top inside: the likelihood falls from 0 on.
            _ => at(best.0),
        }
    }
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
