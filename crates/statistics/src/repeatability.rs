//! How well a method repeats: pooled spread, and what days, setups or operators add to it.

use crate::absent::{Absent, Known};
use crate::distributions::f_upper;
use crate::sample;
use crate::scale::Dof;

/// A limit is this many standard deviations: √2·1.96, rounded as ISO 5725-6 does.
pub const LIMIT_FACTOR: f64 = 2.8;

/// Why groups cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum GroupsError {
    /// A group is a set of repeats under equal conditions; leave empty ones out.
    #[error("group {group} is empty")]
    EmptyGroup { group: usize },
    /// Correct the value or leave it out.
    #[error("value {index} of group {group} is {value}, not a finite number")]
    NotFinite { group: usize, index: usize, value: f64 },
    /// A standard deviation is finite and not negative, a count above zero.
    #[error("group {group} has a standard deviation of {sd} from {count} values")]
    BadSummary { group: usize, count: usize, sd: f64 },
    /// A standard deviation is finite and not negative.
    #[error("a standard deviation of {sd} is not finite, or below zero")]
    BadDeviation { sd: f64 },
}

/// A standard deviation gathered from several groups.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PooledSd {
    /// The standard deviation within groups.
    pub sd: f64,
    /// Its degrees of freedom, Σ(nᵢ - 1).
    pub dof: Dof,
}

/// Pools the spread of groups, `s² = Σ(nᵢ-1)·sᵢ² / Σ(nᵢ-1)`.
///
/// # Units and shape
/// `groups`: repeats in one unit, each at least one; groups of one add nothing.
///
/// # Errors
/// [`GroupsError`]. Absent without a group of two.
///
/// # Source
/// ISO 5725-2, repeatability standard deviation.
pub fn pooled<G: AsRef<[f64]>>(groups: &[G]) -> Result<Known<PooledSd>, GroupsError> {
    check(groups)?;
    let (mut squares, mut dof) = (0.0, 0);
    for group in groups {
        squares += squares_within(group.as_ref());
        dof += group.as_ref().len() - 1;
    }
    Ok(pool(squares, dof))
}

/// Pools spreads known as counts and standard deviations only; the deviation of a single value is ignored.
///
/// # Errors
/// [`GroupsError::BadSummary`]. Absent without a group of two.
///
/// # Source
/// As [`pooled`].
pub fn pooled_from_summaries(groups: &[(usize, f64)]) -> Result<Known<PooledSd>, GroupsError> {
    let (mut squares, mut dof) = (0.0, 0);
    for (group, &(count, sd)) in groups.iter().enumerate() {
        if count == 0 || !sd.is_finite() || sd < 0.0 {
            return Err(GroupsError::BadSummary { group, count, sd });
        }
        squares += (count - 1) as f64 * sd * sd;
        dof += count - 1;
    }
    Ok(pool(squares, dof))
}

fn pool(squares: f64, dof: usize) -> Known<PooledSd> {
    match Dof::new(dof as f64) {
        Ok(dof) => Ok(PooledSd { sd: (squares / dof.raw()).sqrt(), dof }),
        Err(_) => Err(Absent::TooFewPositions { found: 1, needed: 2 }),
    }
}

/// Spread within and between groups, one-way layout with random groups.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VarianceComponents {
    /// p, how many groups.
    pub groups: usize,
    /// N, how many values.
    pub values: usize,
    /// Mean of all values.
    pub grand_mean: f64,
    /// Sum of squares between groups.
    pub ss_between: f64,
    /// Sum of squares within groups.
    pub ss_within: f64,
    /// Degrees of freedom between, p - 1.
    pub dof_between: usize,
    /// Degrees of freedom within, N - p.
    pub dof_within: usize,
    /// The group size that counts, n₀; that of every group when all are equal.
    pub effective_size: f64,
}

impl VarianceComponents {
    /// Mean square between groups.
    pub fn ms_between(&self) -> f64 {
        self.ss_between / self.dof_between as f64
    }

    /// Mean square within groups, the square of s_r.
    pub fn ms_within(&self) -> f64 {
        self.ss_within / self.dof_within as f64
    }

    /// Ratio of the mean squares, and the probability of a greater one by chance. Absent where repeats agree exactly.
    pub fn f_test(&self) -> Known<(f64, f64)> {
        if self.ss_within == 0.0 {
            return Err(Absent::ZeroSpread);
        }
        let f = self.ms_between() / self.ms_within();
        Ok((f, f_upper(f, self.dof_between as f64, self.dof_within as f64)))
    }

    /// s_r, spread of repeats under equal conditions.
    pub fn repeatability_sd(&self) -> f64 {
        self.ms_within().sqrt()
    }

    /// s_L² as it comes out; negative by chance where groups hardly differ.
    pub fn between_variance_raw(&self) -> f64 {
        (self.ms_between() - self.ms_within()) / self.effective_size
    }

    /// s_L, spread that a new group adds; never below 0.
    pub fn between_sd(&self) -> f64 {
        self.between_variance_raw().max(0.0).sqrt()
    }

    /// s_R, spread of single values from different groups.
    pub fn reproducibility_sd(&self) -> f64 {
        (self.ms_within() + self.between_variance_raw().max(0.0)).sqrt()
    }

    /// r: two repeats differ by more than this one time in twenty.
    pub fn repeatability_limit(&self) -> f64 {
        LIMIT_FACTOR * self.repeatability_sd()
    }

    /// R: two single values of different groups differ by more than this one time in twenty.
    pub fn reproducibility_limit(&self) -> f64 {
        LIMIT_FACTOR * self.reproducibility_sd()
    }

    /// Standard error of the grand mean, exact for groups of equal size.
    pub fn grand_mean_se(&self) -> f64 {
        (self.ms_between() / self.values as f64).sqrt()
    }
}

/// Splits the spread of repeats into within and between groups (days, setups, operators).
///
/// # Units and shape
/// `groups`: values in one unit, each group at least one.
///
/// # Errors
/// [`GroupsError`]. Absent with fewer than two groups, or without a group of two.
///
/// # Source
/// ISO 5725-2, one-way layout with unequal group sizes.
pub fn variance_components<G: AsRef<[f64]>>(groups: &[G]) -> Result<Known<VarianceComponents>, GroupsError> {
    check(groups)?;
    let count = groups.len();
    let all: Vec<f64> = groups.iter().flat_map(|group| group.as_ref().iter().copied()).collect();
    if count < 2 {
        return Ok(Err(Absent::TooFewGroups { found: count, needed: 2 }));
    }
    if all.len() == count {
        return Ok(Err(Absent::TooFewPositions { found: 1, needed: 2 }));
    }
    let grand_mean = sample::mean_of(&all);
    let (mut ss_between, mut ss_within, mut squared_sizes) = (0.0, 0.0, 0.0);
    for group in groups {
        let group = group.as_ref();
        let size = group.len() as f64;
        ss_between += size * (sample::mean_of(group) - grand_mean).powi(2);
        ss_within += squares_within(group);
        squared_sizes += size * size;
    }
    let values = all.len() as f64;
    Ok(Ok(VarianceComponents {
        groups: count,
        values: all.len(),
        grand_mean,
        ss_between,
        ss_within,
        dof_between: count - 1,
        dof_within: all.len() - count,
        effective_size: (values - squared_sizes / values) / (count - 1) as f64,
    }))
}

/// What is left of a balanced study when its single values are gone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BalancedSummary {
    /// p, how many groups.
    pub groups: usize,
    /// Values in each group.
    pub per_group: usize,
    /// Standard deviation of the means of the groups.
    pub sd_of_group_means: f64,
    /// Standard deviation within groups, pooled.
    pub within_sd: f64,
}

/// Splits a spread that is known by its summary only, `MS_b = n·s²(ȳ)`, `MS_w = s_w²`.
///
/// A summary tells no level: `grand_mean` of the result is 0 and means nothing.
///
/// # Units and shape
/// Deviations in one unit, finite and not negative. Absent with fewer than two groups, or fewer than two values in each.
///
/// # Errors
/// [`GroupsError::BadDeviation`].
///
/// # Source
/// As [`variance_components`], groups of one size.
pub fn components_of_summary(summary: &BalancedSummary) -> Result<Known<VarianceComponents>, GroupsError> {
    let BalancedSummary { groups, per_group, sd_of_group_means, within_sd } = *summary;
    for sd in [sd_of_group_means, within_sd] {
        if !(sd.is_finite() && sd >= 0.0) {
            return Err(GroupsError::BadDeviation { sd });
        }
    }
    if groups < 2 {
        return Ok(Err(Absent::TooFewGroups { found: groups, needed: 2 }));
    }
    if per_group < 2 {
        return Ok(Err(Absent::TooFewPositions { found: per_group, needed: 2 }));
    }
    let size = per_group as f64;
    let (dof_between, dof_within) = (groups - 1, groups * (per_group - 1));
    Ok(Ok(VarianceComponents {
        groups,
        values: groups * per_group,
        grand_mean: 0.0,
        ss_between: size * sd_of_group_means * sd_of_group_means * dof_between as f64,
        ss_within: within_sd * within_sd * dof_within as f64,
        dof_between,
        dof_within,
        effective_size: size,
    }))
}

/// Sum of squares around the group's own mean; exactly 0 where only binary rounding is left.
fn squares_within(group: &[f64]) -> f64 {
    let sd = sample::moments_of(group, sample::largest(group)).sd;
    sd.map_or(0.0, |sd| sd * sd * (group.len() - 1) as f64)
}

fn check<G: AsRef<[f64]>>(groups: &[G]) -> Result<(), GroupsError> {
    for (group, values) in groups.iter().enumerate() {
        let values = values.as_ref();
        if values.is_empty() {
            return Err(GroupsError::EmptyGroup { group });
        }
        if let Some(index) = values.iter().position(|value| !value.is_finite()) {
            return Err(GroupsError::NotFinite { group, index, value: values[index] });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn close(got: f64, expected: f64, relative: f64) {
        assert!((got - expected).abs() <= relative * expected.abs(), "{got} instead of {expected}");
    }

    #[test]
    fn nist_resistance_matches() {
        // NIST StRD analysis of variance, data set SiRstv, certified values.
        let groups = [
            [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
            [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
            [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
            [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
            [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
        ];
        let got = variance_components(&groups).unwrap().unwrap();
        close(got.ss_between, 5.114_626_16e-2, 1e-10);
        close(got.ss_within, 2.166_365_6e-1, 1e-10);
        close(got.ms_between(), 1.278_656_54e-2, 1e-10);
        close(got.ms_within(), 1.083_182_8e-2, 1e-10);
        close(got.f_test().unwrap().0, 1.180_462_374_402_55, 1e-10);
        close(got.repeatability_sd(), 1.040_760_683_346_56e-1, 1e-10);
    }

    #[test]
    fn nist_leading_digits_match() {
        // NIST StRD sets SmLs01 to SmLs09: nine treatments of 21, 201 and 2001 values on one pattern, with 1, 7 and 13 constant
        // leading digits. Certified: between 1.68, 16.08 and 160.08, within 1.8, 18 and 180, F 21, 201 and 2001 (the larger sets
        // from memory, and by the pattern). Doubles hold the last three to 1e-4 only.
        for (constant, tolerance) in [(1.0, 1e-11), (1e6, 1e-8), (1e12, 2e-3)] {
            for (pairs, ss_between, ss_within, f) in
                [(10, 1.68, 1.8, 21.0), (100, 16.08, 18.0, 201.0), (1000, 160.08, 180.0, 2001.0)]
            {
                let groups: Vec<Vec<f64>> = [0.4, 0.3, 0.5, 0.3, 0.5, 0.3, 0.5, 0.3, 0.5]
                    .iter()
                    .map(|middle| {
                        let pair = [constant + middle - 0.1, constant + middle + 0.1];
                        std::iter::once(constant + middle).chain((0..pairs).flat_map(|_| pair)).collect()
                    })
                    .collect();
                let got = variance_components(&groups).unwrap().unwrap();
                close(got.ss_between, ss_between, tolerance);
                close(got.ss_within, ss_within, tolerance);
                close(got.f_test().unwrap().0, f, tolerance);
            }
        }
    }

    #[test]
    fn dyestuff_components_match() {
        // Yields of six batches, Davies, Statistical Methods in Research and Production (1947); published
        // components 1764.05 between
        // and 2451.25 within, grand mean 1527.5 with standard error 19.383 (documentation of the R package lme4; from memory).
        let batches = [
            [1545.0, 1440.0, 1440.0, 1520.0, 1580.0],
            [1540.0, 1555.0, 1490.0, 1560.0, 1495.0],
            [1595.0, 1550.0, 1605.0, 1510.0, 1560.0],
            [1445.0, 1440.0, 1595.0, 1465.0, 1545.0],
            [1595.0, 1630.0, 1515.0, 1635.0, 1625.0],
            [1520.0, 1455.0, 1450.0, 1480.0, 1445.0],
        ];
        let got = variance_components(&batches).unwrap().unwrap();
        close(got.between_variance_raw(), 1764.05, 1e-10);
        close(got.ms_within(), 2451.25, 1e-10);
        close(got.grand_mean, 1527.5, 1e-12);
        assert!((got.grand_mean_se() - 19.383).abs() < 0.0005);
    }

    #[test]
    fn setups_match() {
        // Invented readings; computed independently with scipy 1.17.
        let setups = [[58.9, 58.4, 59.1], [57.6, 57.9, 57.5], [59.8, 59.2, 59.6], [58.2, 58.8, 58.4]];
        let got = variance_components(&setups).unwrap().unwrap();
        close(got.ms_between(), 1.79888888889, 1e-9);
        close(got.ms_within(), 0.09, 1e-9);
        let (f, p) = got.f_test().unwrap();
        close(f, 19.987654321, 1e-9);
        close(p, 0.000449645998237, 1e-8);
        close(got.between_sd(), 0.7547381199, 1e-9);
        close(got.reproducibility_sd(), 0.81217586127, 1e-9);
        close(got.repeatability_limit(), 0.84, 1e-9);
        assert_eq!(got.effective_size, 3.0);
    }

    #[test]
    fn unequal_groups_match() {
        // Invented readings; computed independently with scipy 1.17.
        let groups: [&[f64]; 3] = [&[58.9, 58.4, 59.1], &[57.6, 57.9], &[59.8]];
        let got = variance_components(&groups).unwrap().unwrap();
        close(got.ms_between(), 1.50166666667, 1e-9);
        close(got.ms_within(), 0.101666666667, 1e-9);
        close(got.effective_size, 1.83333333333, 1e-9);
        close(got.between_variance_raw(), 0.763636363636, 1e-9);
        close(got.f_test().unwrap().1, 0.0279921249425, 1e-8);
        let spread = pooled(&groups).unwrap().unwrap();
        close(spread.sd, 0.318852107828, 1e-9);
        assert_eq!(spread.dof.finite(), Some(3.0));
    }

    #[test]
    fn summaries_pool_like_values() {
        // By hand: (2·0.5² + 1·0.2²)/3 = 0.18.
        let got = pooled_from_summaries(&[(3, 0.5), (2, 0.2), (1, 9.0)]).unwrap().unwrap();
        close(got.sd, 0.18f64.sqrt(), 1e-12);
        let bad = GroupsError::BadSummary { group: 0, count: 2, sd: -0.1 };
        assert_eq!(pooled_from_summaries(&[(2, -0.1)]), Err(bad));
    }

    #[test]
    fn a_summary_splits_like_its_values() {
        // The batches of Davies again, by their published components: 2451.25 within and 1764.05 + 2451.25/5 among means of five.
        let summary = BalancedSummary {
            groups: 6,
            per_group: 5,
            sd_of_group_means: (1764.05f64 + 2451.25 / 5.0).sqrt(),
            within_sd: 2451.25f64.sqrt(),
        };
        let got = components_of_summary(&summary).unwrap().unwrap();
        close(got.between_variance_raw(), 1764.05, 1e-10);
        close(got.reproducibility_sd(), (1764.05f64 + 2451.25).sqrt(), 1e-12);
        assert!((got.grand_mean_se() - 19.383).abs() < 0.0005);
        // Computed independently with scipy 1.17 (F.sf with 5 and 24 degrees of freedom).
        close(got.f_test().unwrap().1, 0.0043975312683, 1e-9);
        let few = BalancedSummary { groups: 1, ..summary };
        let too_few = Absent::TooFewGroups { found: 1, needed: 2 };
        assert_eq!(components_of_summary(&few), Ok(Err(too_few)));
        assert!(components_of_summary(&BalancedSummary { per_group: 1, ..summary }).unwrap().is_err());
        let bad = BalancedSummary { within_sd: -1.0, ..summary };
        assert_eq!(components_of_summary(&bad), Err(GroupsError::BadDeviation { sd: -1.0 }));
    }

    #[test]
    fn what_cannot_be_known_is_absent() {
        let single: [&[f64]; 2] = [&[1.0], &[2.0]];
        assert_eq!(pooled(&single), Ok(Err(Absent::TooFewPositions { found: 1, needed: 2 })));
        assert!(variance_components(&single).unwrap().is_err());
        let one_group: [&[f64]; 1] = [&[1.0, 2.0]];
        let too_few = Absent::TooFewGroups { found: 1, needed: 2 };
        assert_eq!(variance_components(&one_group), Ok(Err(too_few)));
        let equal: [&[f64]; 2] = [&[1.0, 1.0], &[2.0, 2.0]];
        assert_eq!(variance_components(&equal).unwrap().unwrap().f_test(), Err(Absent::ZeroSpread));
        let empty: [&[f64]; 1] = [&[]];
        assert_eq!(pooled(&empty), Err(GroupsError::EmptyGroup { group: 0 }));
        let infinite: [&[f64]; 1] = [&[1.0, f64::INFINITY]];
        assert!(matches!(pooled(&infinite), Err(GroupsError::NotFinite { group: 0, index: 1, .. })));
    }

    proptest! {
        #[test]
        fn squares_add_up(groups in prop::collection::vec(prop::collection::vec(-50.0..50.0f64, 2..6), 2..6)) {
            let got = variance_components(&groups).unwrap().unwrap();
            let all: Vec<f64> = groups.concat();
            let total = sample::sum_of_squares(&all, got.grand_mean);
            prop_assert!((got.ss_between + got.ss_within - total).abs() < 1e-8 * total.max(1.0));
            prop_assert!(got.reproducibility_sd() >= got.repeatability_sd());
        }
    }
}
