//! Which of several is best, and how sure that is.
//!
//! The chance to be best rewards what is badly known: sort by the estimate, never by that chance alone. Leaves out the words
//! for it.

use crate::distributions::normal_cdf;

/// Why estimates cannot be ranked.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum RankingError {
    /// One alone has no rank.
    #[error("{found} estimates cannot be ranked, give at least 2")]
    TooFew { found: usize },
    /// The work grows with their square.
    #[error("{found} estimates are too many, give at most {MOST}")]
    TooMany { found: usize },
    /// Every estimate has one mean and one standard error.
    #[error("{means} means came with {errors} standard errors")]
    UnequalLengths { means: usize, errors: usize },
    /// Leave the estimate out and say why.
    #[error("the mean of estimate {index} is {mean}, not a finite number")]
    Mean { index: usize, mean: f64 },
    /// A standard error is above zero.
    #[error("the standard error of estimate {index} is {se}, not above zero")]
    StandardError { index: usize, se: f64 },
    /// Beside the others this estimate is a plain number.
    #[error(
        "the standard error of estimate {index} is {se}, below 10^-9 of the range of them all: give a larger one"
    )]
    TooNarrow { index: usize, se: f64 },
}

/// How many estimates are ranked at most.
const MOST: usize = 200;

/// Which end of the scale is good.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Better {
    /// As with reductions.
    Larger,
    /// As with levels and costs.
    Smaller,
}

/// Where one of the estimates stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Chance that it is the best of all.
    pub p_best: f64,
    /// Chance to beat another, averaged over the others; 1 is surely best.
    pub p_score: f64,
    /// Rank to expect, 1 is best.
    pub expected_rank: f64,
}

/// Ranks independent, normally distributed estimates.
///
/// `P(i beats j) = Φ((θᵢ-θⱼ)/√(SEᵢ²+SEⱼ²))`; expected rank `1 + Σⱼ P(j beats i)`; `P(best) = ∫φᵢ·Π Φⱼ`.
///
/// # Units and shape
/// `means` and `errors` in one unit, 2 to 200 of each. Returns one for each, in order.
///
/// # Errors
/// [`RankingError`].
///
/// # Source
/// P-score of Rücker and Schwarzer 2015.
pub fn rank(means: &[f64], errors: &[f64], better: Better) -> Result<Vec<Standing>, RankingError> {
    check(means, errors)?;
    let sign = match better {
        Better::Larger => 1.0,
        Better::Smaller => -1.0,
    };
    // Taken from the first, large means that lie close keep the digits that matter.
    let items: Vec<(f64, f64)> =
        means.iter().zip(errors).map(|(mean, se)| (sign * (mean - means[0]), *se)).collect();
    let others = (items.len() - 1) as f64;
    let standing = |(index, p_best): (usize, f64)| {
        let beaten: f64 = (0..items.len())
            .filter(|&other| other != index)
            .map(|other| beats(items[index], items[other]))
            .sum();
        Standing { p_best, p_score: beaten / others, expected_rank: 1.0 + others - beaten }
    };
    Ok(chances_of_best(&items).into_iter().enumerate().map(standing).collect())
}

fn check(means: &[f64], errors: &[f64]) -> Result<(), RankingError> {
    if means.len() != errors.len() {
        return Err(RankingError::UnequalLengths { means: means.len(), errors: errors.len() });
    }
    match means.len() {
        found @ (0 | 1) => return Err(RankingError::TooFew { found }),
        found if found > MOST => return Err(RankingError::TooMany { found }),
        _ => (),
    }
    for (index, (&mean, &se)) in means.iter().zip(errors).enumerate() {
        if !mean.is_finite() {
            return Err(RankingError::Mean { index, mean });
        }
        if !(se.is_finite() && se > 0.0) {
            return Err(RankingError::StandardError { index, se });
        }
    }
    let highest = means.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let lowest = means.iter().copied().fold(f64::INFINITY, f64::min);
    let range = highest - lowest + errors.iter().copied().fold(0.0, f64::max);
    match errors.iter().position(|&se| se < 1e-9 * range) {
        Some(index) => Err(RankingError::TooNarrow { index, se: errors[index] }),
        None => Ok(()),
    }
}

fn beats(first: (f64, f64), second: (f64, f64)) -> f64 {
    normal_cdf((first.0 - second.0) / first.1.hypot(second.1))
}

/// Gauss and Legendre's points on [-1, 1], one half, with their weights: Abramowitz and Stegun, Table 25.4, n = 8.
const GAUSS_8: [(f64, f64); 4] = [
    (0.183434642495650, 0.362683783378362),
    (0.525532409916329, 0.313706645877887),
    (0.796666477413627, 0.222381034453374),
    (0.960289856497536, 0.101228536290376),
];

/// How far from a mean, in standard errors, anything still happens.
const REACH: i32 = 8;

/// Integrates `φᵢ·Π Φⱼ` for every i at once, between points one standard error apart for each of the estimates, so that the
/// narrowest is seen.
fn chances_of_best(items: &[(f64, f64)]) -> Vec<f64> {
    let mut ends: Vec<f64> = items
        .iter()
        .flat_map(|&(mean, se)| (-REACH..=REACH).map(move |step| mean + se * f64::from(step)))
        .collect();
    ends.sort_by(f64::total_cmp);
    let mut chances = vec![0.0; items.len()];
    for panel in ends.windows(2) {
        let (middle, half) = (f64::midpoint(panel[0], panel[1]), (panel[1] - panel[0]) / 2.0);
        if half <= 0.0 {
            continue;
        }
        for (node, weight) in GAUSS_8 {
            for at in [middle - half * node, middle + half * node] {
                add_densities(&mut chances, items, at, weight * half);
            }
        }
    }
    chances
}

/// Adds each item's chance to lie at a point with all others below.
fn add_densities(chances: &mut [f64], items: &[(f64, f64)], at: f64, weight: f64) {
    let below: Vec<f64> = items.iter().map(|(mean, se)| normal_cdf((at - mean) / se)).collect();
    // Products of all before and all after leave out one without dividing by it.
    let mut after = vec![1.0; items.len() + 1];
    for index in (0..items.len()).rev() {
        after[index] = after[index + 1] * below[index];
    }
    let mut before = 1.0;
    for (index, (mean, se)) in items.iter().enumerate() {
        let z = (at - mean) / se;
        let density = (-0.5 * z * z).exp() / (se * std::f64::consts::TAU.sqrt());
        chances[index] += weight * density * before * after[index + 1];
        before *= below[index];
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check(means: &[f64], errors: &[f64], expected: &[(f64, f64)]) {
        let got = rank(means, errors, Better::Larger).unwrap();
        for (standing, (p_best, p_score)) in got.iter().zip(expected) {
            assert!((standing.p_best - p_best).abs() < 1e-9, "{standing:?}");
            assert!((standing.p_score - p_score).abs() < 1e-9, "{standing:?}");
        }
    }

    #[test]
    fn chances_match() {
        // Computed independently with scipy 1.17 by adaptive quadrature; in the second row one is known a thousand times better.
        check(
            &[5.8, 5.2, 3.9],
            &[0.5, 0.9, 0.6],
            &[
                (0.717080489443, 0.856241549025),
                (0.279257085967, 0.582656409193),
                (0.00366242459047, 0.0611020417822),
            ],
        );
        check(
            &[1.0, 1.2, 0.9, 1.1],
            &[0.001, 3.0, 0.05, 0.4],
            &[
                (0.185656471867, 0.617315261027),
                (0.49811077938, 0.526525938005),
                (0.00454646217354, 0.264282533183),
                (0.311686286579, 0.591876267786),
            ],
        );
    }

    #[test]
    fn the_smaller_is_better_turned_round() {
        let larger = rank(&[5.8, 5.2, 3.9], &[0.5, 0.9, 0.6], Better::Larger).unwrap();
        assert_eq!(rank(&[-5.8, -5.2, -3.9], &[0.5, 0.9, 0.6], Better::Smaller).unwrap(), larger);
    }

    #[test]
    fn a_common_offset_does_not_matter() {
        let near = rank(&[5.75, 5.25, 4.0], &[0.5, 0.9, 0.6], Better::Larger).unwrap();
        let far = rank(&[1e9 + 5.75, 1e9 + 5.25, 1e9 + 4.0], &[0.5, 0.9, 0.6], Better::Larger).unwrap();
        assert_eq!(near, far, "all of these are whole binary fractions");
    }

    #[test]
    fn what_cannot_be_ranked_is_refused() {
        let rank = |means: &[f64], errors: &[f64]| rank(means, errors, Better::Larger).unwrap_err();
        assert_eq!(rank(&[1.0], &[1.0]), RankingError::TooFew { found: 1 });
        assert_eq!(rank(&[1.0, 2.0], &[1.0]), RankingError::UnequalLengths { means: 2, errors: 1 });
        assert_eq!(rank(&[1.0, 2.0], &[1.0, 0.0]), RankingError::StandardError { index: 1, se: 0.0 });
        assert!(matches!(rank(&[f64::NAN, 2.0], &[1.0, 1.0]), RankingError::Mean { index: 0, .. }));
        assert_eq!(rank(&[0.0, 1e9], &[1e-9, 1.0]), RankingError::TooNarrow { index: 0, se: 1e-9 });
        assert!(matches!(rank(&[1e308, -1e308], &[1.0, 1.0]), RankingError::TooNarrow { .. }));
        assert_eq!(rank(&[0.0; 201], &[1.0; 201]), RankingError::TooMany { found: 201 });
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        #[test]
        fn somebody_is_best(rows in prop::collection::vec((-10.0..10.0f64, 0.001..5.0f64), 2..12)) {
            let (means, errors): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
            let got = rank(&means, &errors, Better::Larger).unwrap();
            let count = means.len() as f64;
            let chances: f64 = got.iter().map(|standing| standing.p_best).sum();
            prop_assert!((chances - 1.0).abs() < 1e-9, "{chances}");
            let ranks: f64 = got.iter().map(|standing| standing.expected_rank).sum();
            prop_assert!((ranks - count * (count + 1.0) / 2.0).abs() < 1e-9);
            for standing in got {
                let score = 1.0 - (standing.expected_rank - 1.0) / (count - 1.0);
                prop_assert!((standing.p_score - score).abs() < 1e-12);
            }
        }
    }
}
