//! How sure a change is: position scatter, setting up again, another day, and the meter's own steps.
//!
//! The numbers for setup and day are a convention of this project until the crew's own repeats replace them.

use storypole_statistics::budget::{Combined, Term, combine};
use storypole_statistics::repeatability::PooledSd;
use storypole_statistics::{Confidence, Dof, resolution};

use crate::rules;

/// Where the true number very likely lies, at 95 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    /// Half of its width.
    pub fn half_width(&self) -> f64 {
        (self.high - self.low) / 2.0
    }

    /// Whether zero lies outside.
    pub fn excludes_zero(&self) -> bool {
        self.low > 0.0 || self.high < 0.0
    }

    /// Turned round, for the negative of the number.
    pub fn negated(&self) -> Self {
        Self { low: -self.high, high: -self.low }
    }
}

impl From<storypole_statistics::Interval> for Interval {
    fn from(interval: storypole_statistics::Interval) -> Self {
        Self { low: interval.low, high: interval.high }
    }
}

/// One term of the budget.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// What it stands for.
    pub name: &'static str,
    /// Its standard uncertainty, dB.
    pub u_db: f64,
    /// Its share of the squared uncertainty.
    pub share: f64,
}

/// The budget of a change.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// Terms with their shares.
    pub shares: Vec<Share>,
    /// Combined standard uncertainty, dB; absent where the scatter is not known.
    pub u_db: Option<f64>,
    /// Effective degrees of freedom; `None` is without limit.
    pub dof: Option<f64>,
    /// Whether the scatter is pooled over tests of the kind.
    pub pooled: bool,
    /// Whether the crew's own repeats stand for setup and day.
    pub own_repeats: bool,
    combined: Option<Combined>,
}

/// A pooled standard deviation and what it comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pooled {
    /// Standard deviation, dB.
    pub sd_db: f64,
    /// Degrees of freedom.
    pub dof: f64,
}

impl From<PooledSd> for Pooled {
    fn from(pooled: PooledSd) -> Self {
        Self { sd_db: pooled.sd, dof: pooled.dof.finite().unwrap_or(f64::INFINITY) }
    }
}

/// What is known about the scatter of one change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// Standard uncertainty of the mean from its own scatter, dB.
    pub u_db: f64,
    /// Its degrees of freedom.
    pub dof: f64,
    /// Smallest step of the readings where it is not in the scatter already, dB.
    pub step_db: Option<f64>,
    /// Whether it was pooled.
    pub pooled: bool,
    /// What scatters: `positions` or `runs`.
    pub of: &'static str,
}

impl Scatter {
    /// The scatter of `n` positions from a pooled spread.
    pub fn from_pooled(pooled: Pooled, n: usize) -> Self {
        Self {
            u_db: pooled.sd_db / (n as f64).sqrt(),
            dof: pooled.dof,
            step_db: None,
            pooled: true,
            of: "positions",
        }
    }

    /// The scatter of `n` positions from their own spread; a spread below the step of the meter is held up by that step.
    pub fn own(sd_db: f64, n: usize, step_db: f64) -> Option<Self> {
        let dof = n.checked_sub(1).filter(|dof| *dof > 0)?;
        let step_db = (sd_db < step_db).then_some(step_db);
        Some(Self {
            u_db: sd_db / (n as f64).sqrt(),
            dof: dof as f64,
            step_db,
            pooled: false,
            of: "positions",
        })
    }
}

/// Which terms beside the scatter enter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Around {
    /// Setting up again and another day.
    SetupAndDay,
    /// Setting up again on the same day.
    Setup,
    /// The crew's own repeats of whole sets.
    OwnRepeats(Pooled),
}

impl Budget {
    /// Joins the terms.
    pub fn of(scatter: Option<Scatter>, around: Around) -> Self {
        let mut terms: Vec<(&'static str, f64, Dof)> = Vec::new();
        if let Some(scatter) = scatter {
            let name = if scatter.of == "runs" { "scatter of the runs" } else { "scatter of the positions" };
            terms.push((name, scatter.u_db, dof(scatter.dof)));
            if let Some(step_db) = scatter.step_db {
                terms.push(("steps of the meter", resolution::difference_u(step_db), Dof::INFINITE));
            }
        }
        match around {
            Around::SetupAndDay => {
                terms.push(("setting up again", rules::SETUP_U_DB, Dof::INFINITE));
                terms.push(("another day", rules::DAY_U_DB, Dof::INFINITE));
            }
            Around::Setup => terms.push(("setting up again", rules::SETUP_U_DB, Dof::INFINITE)),
            // A change is the difference of two setups, each with the spread of repeated sets.
            Around::OwnRepeats(pooled) => {
                terms.push(("the crew's own repeats", pooled.sd_db * 2f64.sqrt(), dof(pooled.dof)));
            }
        }
        let joined: Vec<Term> = terms.iter().map(|(_, u, dof)| Term::new(*u, *dof)).collect();
        let combined = combine(&joined).expect("every uncertainty is finite and not negative");
        let shares = terms
            .iter()
            .zip(&combined.shares)
            .map(|((name, u_db, _), share)| Share { name, u_db: *u_db, share: *share })
            .collect();
        let known = scatter.is_some();
        Self {
            shares,
            u_db: known.then_some(combined.u),
            dof: combined.dof.ok().and_then(Dof::finite),
            pooled: scatter.is_some_and(|scatter| scatter.pooled),
            own_repeats: matches!(around, Around::OwnRepeats(_)),
            combined: known.then_some(combined),
        }
    }

    /// The interval round a number, at 95 %; `None` where the scatter is not known.
    pub fn interval(&self, value: f64) -> Option<Interval> {
        let combined = self.combined.as_ref()?;
        combined.interval(value, Confidence::P95).ok().map(Interval::from)
    }

    /// The term to improve first.
    pub fn largest(&self) -> Option<&Share> {
        self.shares.iter().max_by(|one, other| one.share.total_cmp(&other.share))
    }
}

fn dof(value: f64) -> Dof {
    Dof::new(value).unwrap_or(Dof::INFINITE)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_budget_joins_by_squares() {
        // Scatter 0.2966 with 4 degrees, 0.4 and 0.3 without limit: u and effective degrees computed independently by hand
        // with the Welch-Satterthwaite formula of the GUM, G.4: 0.5813²=0.33797; 0.33797²/(0.2966⁴/4) = 59.04.
        let scatter = Scatter { u_db: 0.2966, dof: 4.0, step_db: None, pooled: false, of: "positions" };
        let budget = Budget::of(Some(scatter), Around::SetupAndDay);
        assert!((budget.u_db.unwrap() - 0.581_35).abs() < 1e-4);
        assert!((budget.dof.unwrap() - 59.04).abs() < 0.1, "{:?}", budget.dof);
        let total: f64 = budget.shares.iter().map(|share| share.share).sum();
        assert!((total - 1.0).abs() < 1e-12);
        assert_eq!(budget.largest().unwrap().name, "setting up again");
        assert!((budget.shares[0].share - 0.2966f64.powi(2) / 0.337_97).abs() < 1e-4);
    }

    #[test]
    fn equal_readings_are_held_up_by_the_step_of_the_meter() {
        // GUM H.6 style: a difference of two readings rounded to steps of 1 has u = 1/√6 = 0.408.
        let scatter = Scatter::own(0.0, 4, 1.0).unwrap();
        let budget = Budget::of(Some(scatter), Around::Setup);
        assert!((budget.u_db.unwrap() - (1.0f64 / 6.0 + 0.16).sqrt()).abs() < 1e-12);
        assert_eq!(Scatter::own(0.3, 1, 0.1), None, "one position has no spread");
        let spread = Scatter::own(0.3, 4, 0.1).unwrap();
        assert_eq!(spread.step_db, None, "a wider scatter holds the step already");
    }

    #[test]
    fn without_scatter_there_is_no_interval() {
        let budget = Budget::of(None, Around::SetupAndDay);
        assert_eq!((budget.u_db, budget.interval(3.0)), (None, None));
    }
}
