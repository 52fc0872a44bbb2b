//! How sure a change is: position scatter, setting up again, another day, and the meter's own steps.
//!
//! The numbers for setup and day are a convention of this project until the crew's own repeats replace them.

use storypole_statistics::budget::{Combined, Term, combine};
use storypole_statistics::repeatability::PooledSd;
use storypole_statistics::{Confidence, Dof, resolution};

use crate::{print, rules};

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

    /// The narrowest interval that holds both.
    pub fn around_both(&self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high) }
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
    /// Its degrees of freedom; `None` is without limit.
    pub dof: Option<f64>,
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
    /// The scatter of `n` positions from a pooled spread; one below the step of the meter is held up by that step.
    pub fn from_pooled(pooled: Pooled, n: usize, step_db: f64) -> Self {
        Self {
            u_db: pooled.sd_db / (n as f64).sqrt(),
            dof: pooled.dof,
            step_db: (pooled.sd_db < step_db).then_some(step_db),
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

    /// The interval that it alone makes; `None` without spread.
    pub(crate) fn interval(&self, value: f64) -> Option<Interval> {
        let combined = combine(&[Term::new(self.u_db, dof(self.dof))]).ok()?;
        combined.interval(value, Confidence::P95).ok().map(Interval::from)
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

/// What a wall and the control wall beside it have in common, so that it drops out of their difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shared {
    /// Both were measured on the same days, before and after.
    pub days: bool,
    /// The source stood in the same room for both, on the same days.
    pub setup: bool,
}

/// The term that says a budget is of a bench rig.
const RUNS: &str = "scatter of the runs";

/// A term by name: standard uncertainty, dB, and its degrees of freedom.
type Named = (&'static str, f64, Dof);

impl Budget {
    /// Joins the terms of a change.
    pub fn of(scatter: Option<Scatter>, around: Around) -> Self {
        let mut terms: Vec<Named> = Vec::new();
        if let Some(scatter) = scatter {
            let name = if scatter.of == "runs" { RUNS } else { "scatter of the positions" };
            terms.push((name, scatter.u_db, dof(scatter.dof)));
            terms.extend(scatter.step_db.map(step));
        }
        terms.extend(around.terms());
        Self::joined(&terms, scatter.is_some(), scatter.is_some_and(|scatter| scatter.pooled), around)
    }

    /// Joins the terms of a change less what a control wall changed.
    ///
    /// The scatter of both walls stays. What both share drops out; what they do not share enters for each of them, so with the
    /// root of two. Without the scatter of one of them there is no joint uncertainty.
    ///
    /// # Source
    /// Convention of this project; terms that are common to both cancel as in JCGM 100:2008 (GUM) clause 5.2.
    pub fn less_control(
        scatter: Option<Scatter>,
        control: Option<Scatter>,
        around: Around,
        shared: Shared,
    ) -> Self {
        let mut terms: Vec<Named> = Vec::new();
        match (scatter, control) {
            // One pooled spread for both walls is one estimate, with its degrees of freedom counted once.
            (Some(own), Some(other)) if own.pooled && other.pooled => {
                terms.push(("scatter of the positions", own.u_db.hypot(other.u_db), dof(own.dof)));
                terms.extend([own, other].into_iter().filter_map(|scatter| scatter.step_db).map(step));
            }
            _ => {
                let named = [(scatter, "scatter of the positions"), (control, "scatter of the control wall")];
                for (scatter, name) in named.into_iter().filter_map(|(scatter, name)| Some((scatter?, name)))
                {
                    terms.push((name, scatter.u_db, dof(scatter.dof)));
                    terms.extend(scatter.step_db.map(step));
                }
            }
        }
        let drops_out = |name: &str| match name {
            "another day" => shared.days,
            _ => shared.setup,
        };
        let left = around.terms().into_iter().filter(|(name, ..)| !drops_out(name));
        terms.extend(left.map(|(name, u_db, dof)| (name, u_db * 2f64.sqrt(), dof)));
        let both = scatter.zip(control);
        Self::joined(
            &terms,
            both.is_some(),
            both.is_some_and(|(own, other)| own.pooled && other.pooled),
            around,
        )
    }

    fn joined(terms: &[Named], known: bool, pooled: bool, around: Around) -> Self {
        let joined: Vec<Term> = terms.iter().map(|(_, u, dof)| Term::new(*u, *dof)).collect();
        let combined = combine(&joined).ok();
        let shares = combined.iter().flat_map(|combined| terms.iter().zip(&combined.shares));
        Self {
            shares: shares
                .map(|((name, u_db, dof), share)| Share {
                    name,
                    u_db: *u_db,
                    dof: dof.finite(),
                    share: *share,
                })
                .collect(),
            u_db: combined.as_ref().filter(|_| known).map(|combined| combined.u),
            dof: combined.as_ref().and_then(|combined| combined.dof.ok()).and_then(Dof::finite),
            pooled,
            own_repeats: matches!(around, Around::OwnRepeats(_)),
            combined: combined.filter(|_| known),
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

    /// What would narrow the interval most, in a sentence; `None` where no term is known.
    pub fn advice(&self) -> Option<String> {
        let largest = self.largest().filter(|largest| largest.share > 0.0)?;
        let is_bench = self.shares.iter().any(|share| share.name == RUNS);
        let others = if is_bench { "runs" } else { "positions" };
        let what = match largest.name {
            "setting up again" => format!("setting up once more will help more than more {others}"),
            "another day" => format!("measuring again on another day will help more than more {others}"),
            "the crew's own repeats" => format!("repeating the whole set will help more than more {others}"),
            "steps of the meter" => "a meter with finer steps will help most".to_owned(),
            _ => format!("more {others} will help most"),
        };
        Some(format!(
            "The largest share of the uncertainty, {}, is {}: {what}.",
            print::percent(largest.share),
            largest.name
        ))
    }
}

impl Around {
    fn terms(self) -> Vec<Named> {
        let setup = ("setting up again", rules::SETUP_U_DB, Dof::INFINITE);
        match self {
            Self::SetupAndDay => vec![setup, ("another day", rules::DAY_U_DB, Dof::INFINITE)],
            Self::Setup => vec![setup],
            // A change is the difference of two setups, each with the spread of repeated sets.
            Self::OwnRepeats(pooled) => {
                vec![("the crew's own repeats", pooled.sd_db * 2f64.sqrt(), dof(pooled.dof))]
            }
        }
    }
}

fn step(step_db: f64) -> Named {
    ("steps of the meter", resolution::difference_u(step_db), Dof::INFINITE)
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
        // The same of a spread pooled over tests whose readings were all alike.
        let pooled = Scatter::from_pooled(Pooled { sd_db: 0.0, dof: 9.0 }, 4, 1.0);
        let budget = Budget::of(Some(pooled), Around::Setup);
        assert!((budget.u_db.unwrap() - (1.0f64 / 6.0 + 0.16).sqrt()).abs() < 1e-12);
    }

    #[test]
    fn what_a_control_wall_shares_drops_out() {
        // Welch's difference of two means, computed independently with scipy 1.17 (ttest_ind from 5.3 6.1 4.9 4.9 6.3 and
        // 0.6 0.2 0.4): u 0.318329, 5.07112 degrees of freedom, half-width 0.814851.
        let scatter = |u_db, dof| Some(Scatter { u_db, dof, step_db: None, pooled: false, of: "positions" });
        let (own, other) = (scatter(0.296_647_939_484, 4.0), scatter(0.115_470_053_838, 2.0));
        let of = |days, setup| Budget::less_control(own, other, Around::SetupAndDay, Shared { days, setup });
        let all = of(true, true);
        assert!((all.u_db.unwrap() - 0.318_329).abs() < 1e-6 && (all.dof.unwrap() - 5.071_12).abs() < 1e-5);
        assert!((all.interval(5.1).unwrap().half_width() - 0.814_851).abs() < 1e-6);
        // By hand: 0.318329² + 2·0.4² = 0.421333 on the same days, + 2·0.3² = 0.601333 on others.
        assert!((of(true, false).u_db.unwrap() - 0.421_333f64.sqrt()).abs() < 1e-6);
        assert!((of(false, false).u_db.unwrap() - 0.601_333f64.sqrt()).abs() < 1e-6);
        let unknown =
            Budget::less_control(own, None, Around::SetupAndDay, Shared { days: true, setup: true });
        assert_eq!((unknown.u_db, unknown.interval(5.1)), (None, None));
        let none = Budget::less_control(None, None, Around::Setup, Shared { days: true, setup: true });
        assert_eq!((none.u_db, none.advice()), (None, None), "nothing to join is no failure");
        let pooled = Scatter::from_pooled(Pooled { sd_db: 0.6, dof: 14.0 }, 4, 0.1);
        let both = Budget::less_control(
            Some(pooled),
            Some(pooled),
            Around::Setup,
            Shared { days: true, setup: true },
        );
        assert_eq!((both.dof, both.shares.len()), (Some(14.0), 1), "one spread is not two");
        assert!((both.u_db.unwrap() - 0.3 * 2f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn the_largest_share_names_what_to_improve() {
        let scatter = |u_db| Some(Scatter { u_db, dof: 4.0, step_db: None, pooled: false, of: "positions" });
        let advice = |u_db| Budget::of(scatter(u_db), Around::SetupAndDay).advice().unwrap();
        // Shares by hand: 0.2² / (0.2² + 0.4² + 0.3²) = 14 %, 0.4² of the same 55 %; 0.9² / 1.06 = 76 %.
        assert_eq!(
            advice(0.2),
            "The largest share of the uncertainty, 55 %, is setting up again: setting up once more will help more than more \
             positions."
        );
        assert_eq!(
            advice(0.9),
            "The largest share of the uncertainty, 76 %, is scatter of the positions: more positions will help most."
        );
    }

    #[test]
    fn without_scatter_there_is_no_interval() {
        let budget = Budget::of(None, Around::SetupAndDay);
        assert_eq!((budget.u_db, budget.interval(3.0)), (None, None));
    }
}
