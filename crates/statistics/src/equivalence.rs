//! "Close enough" as a claim of its own: two one-sided tests against a margin.
//!
//! Failing to find a difference is not the same; that is told by [`paired`](crate::paired).

use crate::absent::Known;
use crate::distributions::{coverage_factor, t_two_sided_p};
use crate::sample::{self, SampleError};
use crate::scale::{Confidence, Dof, Interval};

/// Both tests at this level hold exactly when the interval of twice the level lies within the margin.
const ALPHA: f64 = 0.05;

/// Whether values are near enough to a target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Equivalence {
    /// Mean less target.
    pub mean_gap: f64,
    /// Standard error of the mean.
    pub se: Known<f64>,
    /// The larger of the two one-sided probabilities.
    pub p: Known<f64>,
    /// 90 % interval of the gap.
    pub interval_90: Known<Interval>,
}

impl Equivalence {
    /// Whether the values are shown to be near enough, at 5 %.
    pub fn equivalent(&self) -> Known<bool> {
        self.p.map(|p| p <= ALPHA)
    }
}

/// A margin or a target that cannot be, or values that cannot.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum EquivalenceError {
    /// A margin is what still counts as near, to both sides.
    #[error("a margin of {margin} is not above zero")]
    Margin { margin: f64 },
    /// A list is empty or not finite.
    #[error(transparent)]
    Sample(#[from] SampleError),
}

/// Tests whether the mean of values lies within ± `margin` of a target.
///
/// `p = max(P(T > (gap + margin)/SE), P(T < (gap - margin)/SE))`, T with n - 1 degrees of freedom.
///
/// # Units and shape
/// `values`: n ≥ 1 in one unit with `target` and `margin`. Absent with one value or no spread.
///
/// # Errors
/// [`EquivalenceError`].
///
/// # Source
/// Schuirmann 1987, two one-sided tests.
pub fn to_target(values: &[f64], target: f64, margin: f64) -> Result<Equivalence, EquivalenceError> {
    if !(margin.is_finite() && margin > 0.0) {
        return Err(EquivalenceError::Margin { margin });
    }
    sample::check(&[target])?;
    let moments = sample::moments(values)?;
    let mean_gap = moments.mean - target;
    let spread = moments.spread_se();
    let dof = Dof::of_mean(moments.n).unwrap_or(Dof::INFINITE);
    let ninety = Confidence::new(1.0 - 2.0 * ALPHA).expect("0.9 is a level");
    Ok(Equivalence {
        mean_gap,
        se: moments.se(),
        p: spread.map(|se| {
            upper_tail((margin + mean_gap) / se, dof).max(upper_tail((margin - mean_gap) / se, dof))
        }),
        interval_90: spread.map(|se| Interval::around(mean_gap, coverage_factor(ninety, dof) * se)),
    })
}

/// P(T > t).
fn upper_tail(t: f64, dof: Dof) -> f64 {
    let half = t_two_sided_p(t, dof) / 2.0;
    if t >= 0.0 { half } else { 1.0 - half }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::absent::Absent;

    #[test]
    fn two_one_sided_tests_match() {
        // Computed independently with scipy 1.17.
        let values = [8.9, 9.2, 8.6, 9.0];
        let got = to_target(&values, 8.4, 2.0).unwrap();
        assert!((got.mean_gap - 0.525).abs() < 1e-12 && (got.se.unwrap() - 0.125).abs() < 1e-12);
        assert!((got.p.unwrap() - 0.0006541520162617137).abs() < 1e-12, "{got:?}");
        let interval = got.interval_90.unwrap();
        assert!((interval.low - 0.23082957064977172).abs() < 1e-10, "{interval:?}");
        assert!((interval.high - 0.8191704293502272).abs() < 1e-10, "{interval:?}");
        assert_eq!(got.equivalent(), Ok(true));
        let narrow = to_target(&values, 8.4, 0.5).unwrap();
        assert!((narrow.p.unwrap() - 0.5728648353768591).abs() < 1e-10, "{narrow:?}");
        assert_eq!(narrow.equivalent(), Ok(false));
    }

    #[test]
    fn without_spread_nothing_is_shown() {
        assert_eq!(to_target(&[8.4, 8.4], 8.4, 2.0).unwrap().equivalent(), Err(Absent::ZeroSpread));
        let one = to_target(&[8.4], 8.4, 2.0).unwrap();
        assert_eq!(one.equivalent(), Err(Absent::TooFewPositions { found: 1, needed: 2 }));
        assert_eq!(to_target(&[8.4], 8.4, 0.0), Err(EquivalenceError::Margin { margin: 0.0 }));
        assert!(to_target(&[], 8.4, 1.0).is_err() && to_target(&[8.0], f64::NAN, 1.0).is_err());
    }
}
