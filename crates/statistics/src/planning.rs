//! Where the next readings go: positions or repeats, which assembly, and whether another test is worth it.
//!
//! Leaves out how many positions a test needs, which is [`power`](crate::power), and money.

use std::f64::consts::PI;

use crate::absent::{Absent, Known};
use crate::distributions::normal_cdf;

/// What cannot be planned with.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum PlanError {
    /// Spreads and variances are finite and not negative.
    #[error("a {name} of {value} is not finite, or below zero")]
    Negative { name: &'static str, value: f64 },
    /// Costs, and the variance of a test, are finite and above zero.
    #[error("a {name} of {value} is not a number above zero")]
    NotPositive { name: &'static str, value: f64 },
    /// A test has at least one position and one repeat at each.
    #[error("{positions} positions with {replicates} repeats are no test")]
    NoReadings { positions: u32, replicates: u32 },
    /// A test never makes less known.
    #[error("a variance of {after} after the test is above {now} before it")]
    GrowingVariance { now: f64, after: f64 },
    /// Any finite number, 0 included.
    #[error("a difference of {difference} is not a finite number")]
    Difference { difference: f64 },
    /// The variance of one test; correct it or leave the test out.
    #[error("the variance of test {test} of assembly {assembly} is {variance}, not above zero")]
    TestVariance { assembly: usize, test: usize, variance: f64 },
    /// There is nothing to choose from.
    #[error("no assemblies were given")]
    NoAssemblies,
}

fn not_negative(name: &'static str, value: f64) -> Result<(), PlanError> {
    if value.is_finite() && value >= 0.0 { Ok(()) } else { Err(PlanError::Negative { name, value }) }
}

fn positive(name: &'static str, value: f64) -> Result<(), PlanError> {
    if value.is_finite() && value > 0.0 { Ok(()) } else { Err(PlanError::NotPositive { name, value }) }
}

/// Foretells the variance of a mean difference, `σ_pos²/n_pos + 2σ_rep²/(n_pos·n_rep)`.
///
/// The repeats are taken before and after, hence twice.
///
/// # Units and shape
/// Standard deviations of the effect between positions and of single readings, one unit; the variance in its square.
///
/// # Errors
/// [`PlanError::Negative`], [`PlanError::NoReadings`].
///
/// # Source
/// Propagation of independent terms, GUM clause 5.1.2.
pub fn mean_difference_variance(
    sd_position: f64,
    sd_repeat: f64,
    positions: u32,
    replicates: u32,
) -> Result<f64, PlanError> {
    not_negative("standard deviation between positions", sd_position)?;
    not_negative("standard deviation of repeats", sd_repeat)?;
    if positions == 0 || replicates == 0 {
        return Err(PlanError::NoReadings { positions, replicates });
    }
    let repeats = 2.0 * sd_repeat * sd_repeat / f64::from(replicates);
    Ok((sd_position * sd_position + repeats) / f64::from(positions))
}

/// How often to repeat at each position.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Replicates {
    /// The best number, were parts of a repeat possible; may be below one.
    pub best: f64,
    /// The whole number, at least 1, with the least variance for the money.
    pub whole: u64,
}

/// Finds the repeats that leave the least variance for a budget, `√((c_pos/c_rep)·(2σ_rep²/σ_pos²))`.
///
/// The whole number minimises `(c_pos + c_rep·r)·(σ_pos² + 2σ_rep²/r)`, which is not always the nearest one.
///
/// # Units and shape
/// Costs of one more position and of one more pair of repeats (before and after), above zero. Absent where positions
/// do not differ: then all money goes into repeats.
///
/// # Errors
/// [`PlanError`].
///
/// # Source
/// Optimal allocation in two-stage sampling, Cochran, Sampling Techniques, 1977 (from memory).
pub fn optimal_replicates(
    cost_position: f64,
    cost_repeat: f64,
    sd_position: f64,
    sd_repeat: f64,
) -> Result<Known<Replicates>, PlanError> {
    positive("cost of a position", cost_position)?;
    positive("cost of a pair of repeats", cost_repeat)?;
    not_negative("standard deviation between positions", sd_position)?;
    not_negative("standard deviation of repeats", sd_repeat)?;
    if sd_position == 0.0 {
        return Ok(Err(Absent::NoLimit));
    }
    let best = (2.0 * cost_position / cost_repeat).sqrt() * (sd_repeat / sd_position);
    // r·(r+1) is where both neighbours do equally well.
    let below = best.floor().max(1.0);
    let whole = if best * best > below * (below + 1.0) { below + 1.0 } else { below };
    Ok(Ok(Replicates { best, whole: whole as u64 }))
}

/// What one more test would do for the average of an assembly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NextTest {
    /// Variance of its average now; `None` where it was never tested.
    pub variance_now: Option<f64>,
    /// The same after the test.
    pub variance_after: f64,
}

impl NextTest {
    /// How much the variance falls.
    pub fn reduction(&self) -> Option<f64> {
        self.variance_now.map(|now| now - self.variance_after)
    }

    /// Information gained, `½·ln(now/after)` nats.
    pub fn information_nats(&self) -> Option<f64> {
        self.variance_now.map(|now| 0.5 * (now / self.variance_after).ln())
    }
}

/// Compares assemblies by what one more test, in another house, would tell: from 1/W to `1/(W + 1/(τ²+v))`.
///
/// # Units and shape
/// `tests`: for each assembly the variances of its tests, none where untested; `tau2` the variance between jobs, `v_new` that of
/// the new test. Gives one for each assembly, and the index of the best: the first untested one, else the most informative.
///
/// # Errors
/// [`PlanError`].
///
/// # Source
/// Variance of a random-effects mean, 1/W with `W = Σ1/(τ²+v)`; information of a normal mean, Lindley 1956.
pub fn next_test<T: AsRef<[f64]>>(
    tests: &[T],
    tau2: f64,
    v_new: f64,
) -> Result<(Vec<NextTest>, usize), PlanError> {
    not_negative("variance between jobs", tau2)?;
    positive("variance of the new test", v_new)?;
    let new_weight = 1.0 / (tau2 + v_new);
    let mut found = Vec::with_capacity(tests.len());
    for (assembly, variances) in tests.iter().enumerate() {
        let mut weight = 0.0;
        for (test, &variance) in variances.as_ref().iter().enumerate() {
            if !(variance.is_finite() && variance > 0.0) {
                return Err(PlanError::TestVariance { assembly, test, variance });
            }
            weight += 1.0 / (tau2 + variance);
        }
        let variance_now = (weight > 0.0).then(|| 1.0 / weight);
        found.push(NextTest { variance_now, variance_after: 1.0 / (weight + new_weight) });
    }
    let worth = |next: &NextTest| next.information_nats().unwrap_or(f64::INFINITY);
    let best = (0..found.len())
        .reduce(|best, next| if worth(&found[next]) > worth(&found[best]) { next } else { best });
    best.map(|best| (found, best)).ok_or(PlanError::NoAssemblies)
}

/// What more knowledge is worth for a choice between two, in the unit of their difference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worth {
    /// Of the test that was asked about. Near 0: stop testing.
    pub of_sample: f64,
    /// Of knowing the difference exactly: no test can be worth more.
    pub of_perfection: f64,
}

/// Computes what a test is worth, `s̃·(φ(u) - u·(1-Φ(u)))` with `s̃ = √(V₀-V₁)` and `u = |m|/s̃`.
///
/// # Units and shape
/// Mean difference m of two choices; variances of it now (V₀) and after the test (V₁), V₁ ≤ V₀. Times money per unit it
/// is money.
///
/// # Errors
/// [`PlanError::Difference`], [`PlanError::Negative`], [`PlanError::GrowingVariance`].
///
/// # Source
/// Expected value of sample information, Raiffa and Schlaifer 1961 (unit normal loss).
pub fn worth_of_test(difference: f64, variance_now: f64, variance_after: f64) -> Result<Worth, PlanError> {
    if !difference.is_finite() {
        return Err(PlanError::Difference { difference });
    }
    not_negative("variance now", variance_now)?;
    not_negative("variance after the test", variance_after)?;
    if variance_after > variance_now {
        return Err(PlanError::GrowingVariance { now: variance_now, after: variance_after });
    }
    let worth = |variance: f64| {
        let sd = variance.sqrt();
        let u = difference.abs() / sd;
        // Far out both terms vanish alike, and without spread nothing is learnt.
        if u < 30.0 { (sd * normal_loss(u)).max(0.0) } else { 0.0 }
    };
    Ok(Worth { of_sample: worth(variance_now - variance_after), of_perfection: worth(variance_now) })
}

/// φ(u) - u·(1-Φ(u)), what a standard normal value exceeds u by on average.
fn normal_loss(u: f64) -> f64 {
    (-0.5 * u * u).exp() / (2.0 * PI).sqrt() - u * normal_cdf(-u)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, expected: f64) {
        assert!((got - expected).abs() <= 1e-10 * expected.abs(), "{got} instead of {expected}");
    }

    #[test]
    fn variances_match() {
        // By hand: 1.44/5 + 0.5/10 and 1.44/3 + 0.5/15.
        close(mean_difference_variance(1.2, 0.5, 5, 2).unwrap(), 0.338);
        close(mean_difference_variance(1.2, 0.5, 3, 5).unwrap(), 1.54 / 3.0);
        let none = mean_difference_variance(1.2, 0.5, 0, 2).unwrap_err();
        assert_eq!(none, PlanError::NoReadings { positions: 0, replicates: 2 });
        assert!(mean_difference_variance(-1.2, 0.5, 1, 2).is_err());
    }

    #[test]
    fn best_repeats_match() {
        // By hand √(8·0.5/1.44) = 1.667; for two repeats 84.5 of cost times variance, for one 87.3, for three 88.4.
        let got = optimal_replicates(40.0, 5.0, 1.2, 0.5).unwrap().unwrap();
        close(got.best, 5.0 / 3.0);
        assert_eq!(got.whole, 2);
        // 1.45 is nearer to one, yet by hand (1 + 2.1025/r)(1 + r) is 6.205 for one and 6.15375 for two.
        let got = optimal_replicates(1.45 * 1.45, 2.0, 1.0, 1.0).unwrap().unwrap();
        close(got.best, 1.45);
        assert_eq!(got.whole, 2);
        let few = optimal_replicates(1.0, 50.0, 2.0, 0.5).unwrap().unwrap();
        assert_eq!((few.whole, few.best < 0.1), (1, true));
        assert_eq!(optimal_replicates(1.0, 1.0, 0.0, 0.5), Ok(Err(Absent::NoLimit)));
        assert!(optimal_replicates(0.0, 1.0, 1.0, 0.5).is_err());
    }

    #[test]
    fn next_tests_match() {
        // Computed independently with numpy 2.4; the second by hand, 1.4 to 0.7 and ½·ln 2.
        let tests: [&[f64]; 2] = [&[0.12, 0.35, 0.20], &[0.25]];
        let (found, best) = next_test(&tests, 1.15, 0.25).unwrap();
        close(found[0].variance_now.unwrap(), 0.45562051554610683);
        close(found[0].variance_after, 0.3437495524653787);
        close(found[0].information_nats().unwrap(), 0.14087345661531978);
        close(found[1].reduction().unwrap(), 0.7);
        close(found[1].information_nats().unwrap(), 0.5 * std::f64::consts::LN_2);
        assert_eq!(best, 1);
        let untested: [&[f64]; 3] = [&[0.12], &[], &[]];
        let (found, best) = next_test(&untested, 1.15, 0.25).unwrap();
        assert_eq!((best, found[1].variance_now, found[1].reduction()), (1, None, None));
        close(found[1].variance_after, 1.4);
        let none: [&[f64]; 0] = [];
        assert_eq!(next_test(&none, 1.0, 1.0), Err(PlanError::NoAssemblies));
        let bad = PlanError::TestVariance { assembly: 0, test: 0, variance: 0.0 };
        assert_eq!(next_test(&[[0.0]], 1.0, 1.0), Err(bad));
    }

    #[test]
    fn worths_match() {
        // Computed independently with scipy 1.17, the first also by quadrature of max(0, -d) over the normal density.
        let got = worth_of_test(0.6, 1.85, 1.0).unwrap();
        close(got.of_sample, 0.1430582295851878);
        close(got.of_perfection, 0.29457587387467177);
        assert_eq!(worth_of_test(-0.6, 1.85, 1.0), Ok(got));
        let nothing = worth_of_test(0.0, 1.0, 1.0).unwrap();
        assert_eq!(nothing.of_sample, 0.0);
        close(nothing.of_perfection, 1.0 / (2.0 * PI).sqrt());
        assert_eq!(worth_of_test(1e9, 1.0, 0.0).unwrap().of_perfection, 0.0);
        let growing = PlanError::GrowingVariance { now: 1.0, after: 2.0 };
        assert_eq!(worth_of_test(1.0, 1.0, 2.0), Err(growing));
    }
}
