//! One test: what changed at each position between two sets.
//!
//! The unit is the position, never the single reading: repeats at one spot are averaged first, by the caller. The interval
//! says how well *this* test is known and nothing about the next house.

use crate::absent::{Absent, Known};
use crate::distributions::{coverage_factor, t_two_sided_p};
use crate::repeatability::PooledSd;
use crate::sample::{self, SampleError};
use crate::scale::{Confidence, Dof, Interval};

/// Mean of differences by position, with what can be said about its spread.
#[derive(Debug, Clone, PartialEq)]
pub struct PairedDifferences {
    /// Before minus after, in the order of the positions.
    pub differences: Vec<f64>,
    /// Their mean, the typical change at a spot.
    pub mean: f64,
    /// Their standard deviation.
    pub sd: Known<f64>,
    /// Standard error of the mean.
    pub se: Known<f64>,
    /// Degrees of freedom, n - 1.
    pub dof: Known<Dof>,
    /// t interval of the mean; absent where there is no spread to build it on.
    pub interval: Known<Interval>,
    /// Mean over standard error.
    pub t: Known<f64>,
    /// Probability of a mean as far from zero by chance alone.
    pub p_two_sided: Known<f64>,
}

/// Averages before minus after over positions, `d̄ ± t(ν)·s/√n`.
///
/// # Units and shape
/// `before`, `after`: one value per position, n ≥ 1, same order and unit. [`matched`] makes them from lists with gaps.
///
/// # Errors
/// [`SampleError`].
///
/// # Source
/// Paired t interval, Student 1908.
pub fn paired(
    before: &[f64],
    after: &[f64],
    confidence: Confidence,
) -> Result<PairedDifferences, SampleError> {
    sample::check_pairs(before, after)?;
    let differences = before.iter().zip(after).map(|(before, after)| before - after).collect();
    let size = sample::largest(before).max(sample::largest(after));
    Ok(from_differences(differences, size, confidence))
}

/// Averages differences that were measured as such, like the runs of a bench rig.
///
/// # Errors
/// [`SampleError::Empty`], [`SampleError::NotFinite`].
///
/// # Source
/// One-sample t interval, Student 1908.
pub fn direct(differences: &[f64], confidence: Confidence) -> Result<PairedDifferences, SampleError> {
    sample::check(differences)?;
    Ok(from_differences(differences.to_vec(), sample::largest(differences), confidence))
}

fn from_differences(differences: Vec<f64>, size: f64, confidence: Confidence) -> PairedDifferences {
    let moments = sample::moments_of(&differences, size);
    let n = moments.n;
    let dof = Dof::of_mean(n).ok_or(Absent::TooFewPositions { found: n, needed: 2 });
    let spread = moments.spread_se().and_then(|se| dof.map(|dof| (se, dof)));
    let t = spread.map(|(se, _)| moments.mean / se);
    PairedDifferences {
        mean: moments.mean,
        sd: moments.sd,
        se: moments.se(),
        dof,
        interval: spread
            .map(|(se, dof)| Interval::around(moments.mean, coverage_factor(confidence, dof) * se)),
        t,
        p_two_sided: t.and_then(|t| dof.map(|dof| t_two_sided_p(t, dof))),
        differences,
    }
}

/// Gives a single difference the spread of earlier tests of its kind, `d ± t(ν_p)·s_p`.
///
/// To be labelled as such: the test itself says nothing about its spread.
///
/// # Errors
/// [`SampleError::NotFinite`].
///
/// # Source
/// Convention of this project; prediction of one value with a known pooled spread.
pub fn single_with_pooled(
    difference: f64,
    pooled: &PooledSd,
    confidence: Confidence,
) -> Result<Known<Interval>, SampleError> {
    sample::check(&[difference])?;
    if !(pooled.sd.is_finite() && pooled.sd > 0.0) {
        return Ok(Err(Absent::ZeroSpread));
    }
    Ok(Ok(Interval::around(difference, coverage_factor(confidence, pooled.dof) * pooled.sd)))
}

/// The positions that both sets have.
#[derive(Debug, Clone, PartialEq)]
pub struct Matched {
    /// Values before, one per kept position.
    pub before: Vec<f64>,
    /// Values after, one per kept position.
    pub after: Vec<f64>,
    /// Indexes of the positions kept.
    pub kept: Vec<usize>,
    /// Indexes of the positions one set or both lack; to be counted and said.
    pub dropped: Vec<usize>,
}

/// Drops positions that lack a value before or after.
///
/// # Units and shape
/// One entry per position in both lists, `None` where nothing was read. All may be dropped.
///
/// # Errors
/// [`SampleError::UnequalLengths`], [`SampleError::NotFinite`] with the index of the position.
pub fn matched(before: &[Option<f64>], after: &[Option<f64>]) -> Result<Matched, SampleError> {
    if before.len() != after.len() {
        return Err(SampleError::UnequalLengths { first: before.len(), second: after.len() });
    }
    let mut matched = Matched { before: vec![], after: vec![], kept: vec![], dropped: vec![] };
    for (index, pair) in before.iter().zip(after).enumerate() {
        let mut read = [pair.0, pair.1].into_iter().flatten();
        if let Some(&value) = read.find(|value| !value.is_finite()) {
            return Err(SampleError::NotFinite { index, value });
        }
        match pair {
            (Some(before), Some(after)) => {
                matched.before.push(*before);
                matched.after.push(*after);
                matched.kept.push(index);
            }
            _ => matched.dropped.push(index),
        }
    }
    Ok(matched)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn close(got: f64, expected: f64, relative: f64) {
        assert!((got - expected).abs() <= relative * expected.abs(), "{got} instead of {expected}");
    }

    #[test]
    fn student_1908_matches() {
        // Extra hours of sleep of ten patients under two drugs, Student 1908 table I; mean 1.58 and t 4.06 there, further digits
        // computed independently with scipy 1.17 (published ones from memory).
        let first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
        let second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
        let got = paired(&second, &first, Confidence::P95).unwrap();
        close(got.mean, 1.58, 1e-12);
        close(got.t.unwrap(), 4.06212768338, 1e-10);
        close(got.p_two_sided.unwrap(), 0.00283289019738, 1e-10);
        close(got.interval.unwrap().low, 0.700114236723, 1e-9);
        close(got.interval.unwrap().high, 2.45988576328, 1e-9);
        assert_eq!(got.dof.unwrap().finite(), Some(9.0));
    }

    #[test]
    fn darwin_1876_matches() {
        // Heights of fifteen pairs of maize, crossed less self-fertilised, eighths of an inch: Darwin 1876 as in Fisher, The Design of
        // Experiments (1935), chapter III: sum 314, t = 2.148, interval 0.03 to 41.83 (from memory; computed
        // independently with scipy 1.17 to the digits below).
        let differences =
            [49.0, -67.0, 8.0, 16.0, 6.0, 23.0, 28.0, 41.0, 14.0, 29.0, 56.0, 24.0, 75.0, 60.0, -48.0];
        let got = direct(&differences, Confidence::P95).unwrap();
        close(got.mean, 314.0 / 15.0, 1e-12);
        close(got.sd.unwrap(), 37.7443783262898, 1e-12);
        close(got.t.unwrap(), 2.1479874613311205, 1e-12);
        close(got.p_two_sided.unwrap(), 0.049702944021800866, 1e-10);
        close(got.interval.unwrap().low, 0.031193318392979563, 1e-8);
        close(got.interval.unwrap().high, 41.83547334827369, 1e-11);
    }

    #[test]
    fn five_positions_match() {
        // Invented readings; computed independently with scipy 1.17.
        let before = [64.2, 63.1, 65.0, 62.8, 64.5];
        let after = [58.9, 57.0, 60.1, 57.9, 58.2];
        let got = paired(&before, &after, Confidence::P95).unwrap();
        close(got.mean, 5.5, 1e-12);
        close(got.sd.unwrap(), 0.663324958071, 1e-10);
        close(got.se.unwrap(), 0.296647939484, 1e-10);
        close(got.interval.unwrap().low, 4.67637328045, 1e-10);
        close(got.interval.unwrap().high, 6.32362671955, 1e-10);
        close(got.p_two_sided.unwrap(), 4.98069289411e-05, 1e-9);
    }

    #[test]
    fn two_positions_give_a_huge_interval() {
        // Computed independently with scipy 1.17.
        let got = direct(&[5.3, 6.1], Confidence::P95).unwrap();
        close(got.mean, 5.7, 1e-12);
        close(got.interval.unwrap().low, 0.61751810553, 1e-9);
        close(got.interval.unwrap().high, 10.7824818945, 1e-9);
    }

    #[test]
    fn half_widths_match_the_table() {
        // t(0.975; n-1)/√n to two decimals, from the printed t table.
        for (n, expected) in [(2, 8.98), (3, 2.48), (4, 1.59), (5, 1.24), (6, 1.05), (8, 0.84), (10, 0.72)] {
            let values: Vec<f64> = (0..n).map(f64::from).collect();
            let got = direct(&values, Confidence::P95).unwrap();
            let ratio = got.interval.unwrap().width() / 2.0 / got.sd.unwrap();
            assert!((ratio - expected).abs() < 0.0051, "{n}: {ratio}");
        }
    }

    #[test]
    fn one_position_has_a_mean_and_reasons() {
        let got = paired(&[64.0], &[58.0], Confidence::P95).unwrap();
        assert_eq!(got.mean, 6.0);
        let too_few = Absent::TooFewPositions { found: 1, needed: 2 };
        assert_eq!((got.sd, got.se), (Err(too_few), Err(too_few)));
        assert_eq!((got.interval, got.t, got.p_two_sided), (Err(too_few), Err(too_few), Err(too_few)));
    }

    #[test]
    fn equal_differences_have_no_interval() {
        // All 5.3, though not in binary.
        let got = paired(&[64.2, 63.1, 65.0], &[58.9, 57.8, 59.7], Confidence::P95).unwrap();
        assert_eq!(got.sd, Ok(0.0));
        assert_eq!((got.interval, got.t), (Err(Absent::ZeroSpread), Err(Absent::ZeroSpread)));
        // Also where the differences themselves vanish but for rounding.
        let none = paired(&[0.3, 0.1 + 0.2], &[0.1 + 0.2, 0.3], Confidence::P95).unwrap();
        assert_eq!(none.interval, Err(Absent::ZeroSpread));
    }

    #[test]
    fn a_single_difference_borrows_a_pooled_spread() {
        // 6 ± t(0.975; 3)·0.3189, computed independently with scipy 1.17.
        let pooled = PooledSd { sd: 0.3189, dof: Dof::new(3.0).unwrap() };
        let got = single_with_pooled(6.0, &pooled, Confidence::P95).unwrap().unwrap();
        close(got.low, 4.98511787325, 1e-9);
        close(got.high, 7.01488212675, 1e-9);
        let none = PooledSd { sd: 0.0, ..pooled };
        assert_eq!(single_with_pooled(6.0, &none, Confidence::P95), Ok(Err(Absent::ZeroSpread)));
    }

    #[test]
    fn positions_without_a_partner_are_dropped_and_counted() {
        let before = [Some(57.5), Some(56.8), None, Some(57.4)];
        let after = [Some(50.9), None, Some(51.5), Some(51.0)];
        let got = matched(&before, &after).unwrap();
        assert_eq!((got.kept, got.dropped), (vec![0, 3], vec![1, 2]));
        assert_eq!((got.before, got.after), (vec![57.5, 57.4], vec![50.9, 51.0]));
        assert!(matches!(matched(&[Some(f64::NAN)], &[None]), Err(SampleError::NotFinite { index: 0, .. })));
        assert!(matches!(matched(&[None], &[]), Err(SampleError::UnequalLengths { first: 1, second: 0 })));
    }

    #[test]
    fn no_positions_are_no_result() {
        assert_eq!(paired(&[], &[], Confidence::P95), Err(SampleError::Empty));
    }

    proptest! {
        #[test]
        fn swapping_before_and_after_mirrors_the_result(
            pairs in prop::collection::vec((20.0..100.0f64, 20.0..100.0f64), 2..12)
        ) {
            let (before, after): (Vec<f64>, Vec<f64>) = pairs.into_iter().unzip();
            let forth = paired(&before, &after, Confidence::P95).unwrap();
            let back = paired(&after, &before, Confidence::P95).unwrap();
            prop_assert!((forth.mean + back.mean).abs() < 1e-9);
            if let (Ok(forth), Ok(back)) = (forth.interval, back.interval) {
                prop_assert!((forth.low + back.high).abs() < 1e-6 && (forth.high + back.low).abs() < 1e-6);
            }
        }
    }
}
