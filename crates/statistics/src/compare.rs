//! Two results against each other: is the difference more than chance?
//!
//! Two intervals that overlap may still differ, so the difference is always computed. Whether it is worth claiming is
//! decided elsewhere.

use crate::absent::Known;
use crate::budget::{self, Term};
use crate::distributions::t_two_sided_p;
use crate::paired::PairedDifferences;
use crate::sample::{self, Moments, SampleError};
use crate::scale::{Confidence, Dof, Interval};

/// A value with its standard uncertainty. Both finite, the uncertainty not negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    pub(crate) value: f64,
    pub(crate) u: f64,
    pub(crate) dof: Dof,
}

/// A value or an uncertainty that cannot be.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{value} with an uncertainty of {u} is no estimate")]
pub struct BadEstimate {
    /// The value that came in.
    pub value: f64,
    /// The uncertainty that came in.
    pub u: f64,
}

impl Estimate {
    /// Takes in a value, its standard uncertainty and how well that is known.
    ///
    /// # Errors
    /// [`BadEstimate`] where one is not finite, or the uncertainty negative.
    pub fn new(value: f64, u: f64, dof: Dof) -> Result<Self, BadEstimate> {
        if value.is_finite() && u.is_finite() && u >= 0.0 {
            Ok(Self { value, u, dof })
        } else {
            Err(BadEstimate { value, u })
        }
    }

    /// The value.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// Its standard uncertainty.
    pub fn u(&self) -> f64 {
        self.u
    }

    /// Degrees of freedom of that uncertainty.
    pub fn dof(&self) -> Dof {
        self.dof
    }
}

/// The difference of two results.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// First minus second.
    pub value: f64,
    /// Standard uncertainty.
    pub u: Known<f64>,
    /// Effective degrees of freedom.
    pub dof: Known<Dof>,
    /// Interval of the difference.
    pub interval: Known<Interval>,
    /// Probability of a difference as far from zero by chance alone.
    pub p_two_sided: Known<f64>,
}

impl Difference {
    pub(crate) fn without_spread(value: f64, reason: crate::Absent) -> Self {
        let (u, dof) = (Err(reason), Err(reason));
        Self { value, u, dof, interval: Err(reason), p_two_sided: Err(reason) }
    }
}

/// Subtracts two independent estimates, `u² = u₁² + u₂²`, degrees of freedom after Welch and Satterthwaite.
///
/// # Units and shape
/// Both in one unit. Interval and p absent where neither has any spread.
///
/// # Source
/// Welch 1947; JCGM 100:2008 (GUM) clause G.4.1.
pub fn difference(first: &Estimate, second: &Estimate, confidence: Confidence) -> Difference {
    let value = first.value - second.value;
    let terms = [Term::new(first.u, first.dof), Term::new(second.u, second.dof)];
    let combined =
        budget::combine(&terms).expect("estimates carry uncertainties that are finite and not negative");
    Difference {
        value,
        u: Ok(combined.u),
        dof: combined.dof,
        interval: combined.interval(value, confidence),
        p_two_sided: combined.dof.map(|dof| t_two_sided_p(value / combined.u, dof)),
    }
}

/// Compares the means of two unrelated samples of unequal spread.
///
/// # Units and shape
/// At least one value each, one unit. With a single value on either side only the difference is known.
///
/// # Errors
/// [`SampleError`].
///
/// # Source
/// Welch 1947.
pub fn welch(first: &[f64], second: &[f64], confidence: Confidence) -> Result<Difference, SampleError> {
    Ok(of_means(&sample::moments(first)?, &sample::moments(second)?, confidence))
}

/// Takes off what an untouched wall changed over the same time, `effect = d̄_test - d̄_control`.
///
/// Meter, source and day drift leave with it. A control that moved by more than 1 dB wants an explanation first.
///
/// # Units and shape
/// Paired differences of the wall under test and of the control.
///
/// # Source
/// Difference in differences, common practice; interval as in [`welch`].
pub fn difference_in_differences(
    test: &PairedDifferences,
    control: &PairedDifferences,
    confidence: Confidence,
) -> Difference {
    let moments = |paired: &PairedDifferences| Moments {
        n: paired.differences.len(),
        mean: paired.mean,
        sd: paired.sd,
    };
    of_means(&moments(test), &moments(control), confidence)
}

fn of_means(first: &Moments, second: &Moments, confidence: Confidence) -> Difference {
    let estimate = |moments: &Moments| -> Known<Estimate> {
        let u = moments.se()?;
        let dof = Dof::of_mean(moments.n).expect("a spread comes from two values or more");
        Ok(Estimate { value: moments.mean, u, dof })
    };
    match estimate(first).and_then(|first| Ok((first, estimate(second)?))) {
        Ok((first, second)) => difference(&first, &second, confidence),
        Err(reason) => Difference::without_spread(first.mean - second.mean, reason),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::absent::Absent;
    use crate::paired;
    use proptest::prelude::*;

    fn close(got: f64, expected: f64) {
        assert!((got - expected).abs() <= 2e-9 * expected.abs(), "{got} instead of {expected}");
    }

    #[test]
    fn student_1908_unpaired_matches() {
        // Extra sleep under two drugs, Student 1908, taken as two groups: t = -1.8608, 17.776 degrees of freedom, p = 0.07939,
        // interval -3.3654832 to 0.2054832, as the documentation of R's t test prints them (from memory,
        // recomputed with scipy 1.17).
        let first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
        let second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
        let got = welch(&first, &second, Confidence::P95).unwrap();
        close(got.value / got.u.unwrap(), -1.86081346749);
        close(got.dof.unwrap().finite().unwrap(), 17.7764735162);
        close(got.p_two_sided.unwrap(), 0.0793941401874);
        let interval = got.interval.unwrap();
        assert!((interval.low + 3.3654832).abs() < 1e-7 && (interval.high - 0.2054832).abs() < 1e-7);
    }

    #[test]
    fn a_control_wall_is_taken_off() {
        // Invented differences; computed independently with scipy 1.17.
        let test = paired::direct(&[5.3, 6.1, 4.9, 4.9, 6.3], Confidence::P95).unwrap();
        let control = paired::direct(&[0.6, 0.2, 0.4], Confidence::P95).unwrap();
        let got = difference_in_differences(&test, &control, Confidence::P95);
        close(got.value, 5.1);
        close(got.u.unwrap(), 0.318328970302);
        close(got.dof.unwrap().finite().unwrap(), 5.07111501317);
        close(got.interval.unwrap().width() / 2.0, 0.81485116495);
    }

    #[test]
    fn what_cannot_be_known_is_absent() {
        let one = welch(&[5.0], &[4.0, 4.5], Confidence::P95).unwrap();
        assert_eq!(one.value, 0.75);
        assert_eq!(one.interval, Err(Absent::TooFewPositions { found: 1, needed: 2 }));
        let equal = welch(&[5.0, 5.0], &[4.0, 4.0], Confidence::P95).unwrap();
        assert_eq!((equal.u, equal.interval), (Ok(0.0), Err(Absent::ZeroSpread)));
        assert_eq!(equal.p_two_sided, Err(Absent::ZeroSpread));
        // One side without spread leaves the other's degrees of freedom.
        let half = welch(&[5.0, 5.0], &[4.0, 4.5, 5.0], Confidence::P95).unwrap();
        close(half.dof.unwrap().finite().unwrap(), 2.0);
        assert_eq!(welch(&[], &[1.0], Confidence::P95), Err(SampleError::Empty));
    }

    #[test]
    fn known_uncertainties_use_the_normal_factor() {
        let estimate = |value| Estimate::new(value, 0.5, Dof::INFINITE).unwrap();
        let got = difference(&estimate(3.0), &estimate(1.0), Confidence::P95);
        // 1.959964·0.5·√2, normal quantile from any printed table.
        close(got.interval.unwrap().width() / 2.0, 1.38590382434967);
    }

    #[test]
    fn impossible_estimates_are_refused() {
        assert_eq!(Estimate::new(1.0, -0.1, Dof::INFINITE), Err(BadEstimate { value: 1.0, u: -0.1 }));
        assert!(Estimate::new(f64::NAN, 0.1, Dof::INFINITE).is_err());
    }

    proptest! {
        #[test]
        fn welch_dof_lie_between_the_smaller_and_the_sum(
            first in prop::collection::vec(0.0..10.0f64, 2..8), second in prop::collection::vec(0.0..10.0f64, 2..8),
        ) {
            let got = welch(&first, &second, Confidence::P95).unwrap();
            let back = welch(&second, &first, Confidence::P95).unwrap();
            prop_assert!((got.value + back.value).abs() < 1e-12);
            if let Ok(dof) = got.dof {
                let (a, b) = (first.len() as f64 - 1.0, second.len() as f64 - 1.0);
                let dof = dof.finite().unwrap();
                prop_assert!(dof >= a.min(b) * (1.0 - 1e-9) && dof <= (a + b) * (1.0 + 1e-9));
            }
        }
    }
}
