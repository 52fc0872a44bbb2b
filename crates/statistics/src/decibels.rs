//! Uncertainty of levels averaged by energy, and of differences between such averages.
//!
//! Two averages answer two questions: the mean of differences by position is the typical change at a spot, the
//! difference of energy means the change of the total sound in the room. Both are given; which one leads is the caller's.

use std::f64::consts::LN_10;

use crate::absent::{Absent, Known};
use crate::compare::{self, Difference, Estimate};
use crate::distributions::coverage_factor;
use crate::sample::{self, SampleError};
use crate::scale::{Confidence, Dof, Interval};

/// Decibels per unit of relative power, 10/ln 10.
const DB_PER_RELATIVE_POWER: f64 = 10.0 / LN_10;

/// With this share of all energy in one reading the spread of the mean is that of one position, and is to be called so.
/// Convention of this project.
pub const DOMINANT_SHARE: f64 = 0.8;

/// An energy mean with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EnergyMean {
    /// How many levels.
    pub n: usize,
    /// `10·lg((1/n)·Σ 10^(Lᵢ/10))`, dB.
    pub mean_db: f64,
    /// Mean of the levels as numbers, dB.
    pub arithmetic_mean_db: f64,
    /// Standard deviation of the levels, dB.
    pub sd_db: Known<f64>,
    /// Standard uncertainty of the energy mean, dB, from the scatter of the positions; 0 where all are equal.
    pub u_db: Known<f64>,
    /// What the energy mean would be if levels were normal, `L̄ + (ln 10/20)·s²`, dB.
    pub if_normal_db: Known<f64>,
    /// Share of all energy in the loudest reading.
    pub largest_share: f64,
}

impl EnergyMean {
    /// Whether one of several readings holds nearly all energy, so that [`u_db`](Self::u_db) says little.
    pub fn dominated(&self) -> bool {
        self.n > 1 && self.largest_share >= DOMINANT_SHARE
    }

    /// The mean as a value with uncertainty, for budgets and comparisons.
    pub fn estimate(&self) -> Known<Estimate> {
        let dof = Dof::of_mean(self.n).ok_or(Absent::TooFewPositions { found: self.n, needed: 2 })?;
        Ok(Estimate { value: self.mean_db, u: self.u_db?, dof })
    }
}

/// Averages levels by energy and says how well, `u = (10/ln 10)·s_p/(√n·p̄)` with `pᵢ = 10^(Lᵢ/10)`.
///
/// # Units and shape
/// `levels_db`: one per position, n ≥ 1, dB.
///
/// # Errors
/// [`SampleError`].
///
/// # Source
/// ISO 16283-1:2014 for the mean; first-order propagation (GUM clause 5.1.2) for its uncertainty.
pub fn energy_mean(levels_db: &[f64]) -> Result<EnergyMean, SampleError> {
    let levels = sample::moments(levels_db)?;
    let powers = RelativePowers::of(levels_db);
    let u_db = levels.sd.map(|sd_db| match sd_db {
        // The levels are equal but for binary rounding, so their powers are.
        0.0 => 0.0,
        _ => {
            let spread = sample::moments_of(&powers.over_mean, 1.0);
            DB_PER_RELATIVE_POWER * spread.se().expect("several levels have a spread")
        }
    });
    Ok(EnergyMean {
        n: levels.n,
        mean_db: powers.mean_db,
        arithmetic_mean_db: levels.mean,
        sd_db: levels.sd,
        u_db,
        if_normal_db: levels.sd.map(|sd_db| levels.mean + LN_10 / 20.0 * sd_db * sd_db),
        largest_share: sample::largest(&powers.over_mean) / levels.n as f64,
    })
}

/// Powers relative to their mean, so that loud levels cannot overflow.
struct RelativePowers {
    mean_db: f64,
    over_mean: Vec<f64>,
}

impl RelativePowers {
    fn of(levels_db: &[f64]) -> Self {
        let loudest_db = levels_db.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let powers: Vec<f64> =
            levels_db.iter().map(|level_db| 10f64.powf((level_db - loudest_db) / 10.0)).collect();
        let mean = powers.iter().sum::<f64>() / powers.len() as f64;
        Self {
            mean_db: loudest_db + 10.0 * mean.log10(),
            over_mean: powers.iter().map(|power| power / mean).collect(),
        }
    }
}

/// The difference of two energy means over the same positions.
#[derive(Debug, Clone, PartialEq)]
pub struct PairedEnergyDifference {
    /// How many positions.
    pub n: usize,
    /// Energy mean before minus energy mean after, dB.
    pub difference_db: f64,
    /// Mean of the differences by position, dB.
    pub arithmetic_difference_db: f64,
    /// hᵢ, what each position adds to the difference, dB; their mean is 0.
    pub influences_db: Vec<f64>,
    /// Standard uncertainty `SD(h)/√n`, dB; 0 where all influences are equal.
    pub u_db: Known<f64>,
    /// Degrees of freedom, n - 1.
    pub dof: Known<Dof>,
    /// Interval of [`difference_db`](Self::difference_db); absent without spread.
    pub interval_db: Known<Interval>,
}

impl PairedEnergyDifference {
    /// The same with a known amount added, which positions do not scatter.
    ///
    /// The change of a level difference is that of the receiving levels less the fall of the source's own level, so
    /// `by_db` is the source level after minus the one before.
    pub fn shifted(self, by_db: f64) -> Self {
        Self {
            difference_db: self.difference_db + by_db,
            arithmetic_difference_db: self.arithmetic_difference_db + by_db,
            interval_db: self.interval_db.map(|interval| interval.shifted(by_db)),
            ..self
        }
    }

    /// The difference as a value with uncertainty, for budgets and comparisons.
    pub fn estimate(&self) -> Known<Estimate> {
        Ok(Estimate { value: self.difference_db, u: self.u_db?, dof: self.dof? })
    }
}

/// Subtracts the energy means of two sets over the same positions, `D = L̄_b - L̄_a`.
///
/// `hᵢ = (10/ln 10)·(p_bᵢ/p̄_b - p_aᵢ/p̄_a)`; what before and after share at a position cancels inside h.
///
/// # Units and shape
/// `before_db`, `after_db`: one level per position, n ≥ 1, same order, dB. Positive result: quieter.
///
/// # Errors
/// [`SampleError`].
///
/// # Source
/// First-order propagation (GUM clause 5.1.2) through both means at once.
pub fn paired_energy_difference(
    before_db: &[f64],
    after_db: &[f64],
    confidence: Confidence,
) -> Result<PairedEnergyDifference, SampleError> {
    sample::check_pairs(before_db, after_db)?;
    let n = before_db.len();
    let (before, after) = (RelativePowers::of(before_db), RelativePowers::of(after_db));
    let difference_db = before.mean_db - after.mean_db;
    let influences_db: Vec<f64> = before
        .over_mean
        .iter()
        .zip(&after.over_mean)
        .map(|(before, after)| DB_PER_RELATIVE_POWER * (before - after))
        .collect();
    // Binary rounding of levels, of powers near one and of 10/ln 10 times those ends up in the influences.
    let size = sample::largest(before_db).max(sample::largest(after_db)).max(10.0);
    let spread = sample::moments_of(&influences_db, size);
    let dof = Dof::of_mean(n).ok_or(Absent::TooFewPositions { found: n, needed: 2 });
    let interval_db = spread
        .spread_se()
        .and_then(|u_db| Ok(Interval::around(difference_db, coverage_factor(confidence, dof?) * u_db)));
    let differences: Vec<f64> =
        before_db.iter().zip(after_db).map(|(before, after)| before - after).collect();
    Ok(PairedEnergyDifference {
        n,
        difference_db,
        arithmetic_difference_db: sample::mean_of(&differences),
        influences_db,
        u_db: spread.se(),
        dof,
        interval_db,
    })
}

/// Subtracts two energy means over positions that have nothing to do with each other, such as source and receiving room.
///
/// `u² = u₁² + u₂²` with the effective degrees of freedom of Welch and Satterthwaite.
///
/// # Units and shape
/// One level per position in each list, at least one each, dB.
///
/// # Errors
/// [`SampleError`].
///
/// # Source
/// GUM clauses 5.1.2 and G.4.1.
pub fn unpaired_energy_difference(
    first_db: &[f64],
    second_db: &[f64],
    confidence: Confidence,
) -> Result<Difference, SampleError> {
    let (first, second) = (energy_mean(first_db)?, energy_mean(second_db)?);
    let value = first.mean_db - second.mean_db;
    let estimates = first.estimate().and_then(|first| Ok((first, second.estimate()?)));
    Ok(match estimates {
        Ok((first, second)) => compare::difference(&first, &second, confidence),
        Err(reason) => Difference::without_spread(value, reason),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const BEFORE_DB: [f64; 5] = [64.2, 63.1, 65.0, 62.8, 64.5];
    const AFTER_DB: [f64; 5] = [58.9, 57.0, 60.1, 57.9, 58.2];

    fn close(got: f64, expected: f64) {
        assert!((got - expected).abs() <= 2e-10 * expected.abs(), "{got} instead of {expected}");
    }

    #[test]
    fn energy_means_match() {
        // Invented readings; computed independently with scipy 1.17.
        let before = energy_mean(&BEFORE_DB).unwrap();
        close(before.mean_db, 63.9995487492);
        close(before.u_db.unwrap(), 0.409143671258);
        close(before.if_normal_db.unwrap(), 64.0209683563);
        close(before.arithmetic_mean_db, 63.92);
        let after = energy_mean(&AFTER_DB).unwrap();
        close(after.mean_db, 58.5467224876);
        close(after.u_db.unwrap(), 0.537952632448);
        assert!(!after.dominated());
    }

    #[test]
    fn paired_difference_matches() {
        // Invented readings; computed independently with scipy 1.17.
        let got = paired_energy_difference(&BEFORE_DB, &AFTER_DB, Confidence::P95).unwrap();
        close(got.difference_db, 5.45282626164);
        close(got.u_db.unwrap(), 0.296849264689);
        close(got.interval_db.unwrap().low, 4.62864057371);
        close(got.interval_db.unwrap().high, 6.27701194956);
        close(got.arithmetic_difference_db, 5.5);
        assert_eq!(got.dof.unwrap().finite(), Some(4.0));
        let shifted = got.clone().shifted(-0.1);
        close(shifted.difference_db, 5.35282626164);
        close(shifted.interval_db.unwrap().width(), got.interval_db.unwrap().width());
    }

    #[test]
    fn uncertainty_agrees_with_the_jackknife() {
        // An outside route to the same spread: leaving each position out in turn (Quenouille, Tukey). The two agree to
        // first order in the scatter, so within some per cent here.
        let n = BEFORE_DB.len();
        let without = |left_out: usize| {
            let rest = |levels: &[f64]| -> Vec<f64> {
                (0..n).filter(|index| *index != left_out).map(|index| levels[index]).collect()
            };
            energy_mean(&rest(&BEFORE_DB)).unwrap().mean_db - energy_mean(&rest(&AFTER_DB)).unwrap().mean_db
        };
        let replicates: Vec<f64> = (0..n).map(without).collect();
        let spread = sample::moments(&replicates).unwrap();
        let jackknife_db = spread.sd.unwrap() * (n as f64 - 1.0) / (n as f64).sqrt();
        let got = paired_energy_difference(&BEFORE_DB, &AFTER_DB, Confidence::P95).unwrap();
        assert!((got.u_db.unwrap() / jackknife_db - 1.0).abs() < 0.05, "{jackknife_db} against {got:?}");
    }

    #[test]
    fn unpaired_difference_matches() {
        // Invented source and receiving levels; computed independently with scipy 1.17.
        let source_db = [94.2, 93.6, 94.9];
        let receive_db = [69.1, 68.4, 70.2, 69.6];
        let got = unpaired_energy_difference(&source_db, &receive_db, Confidence::P95).unwrap();
        close(got.value, 24.8909591986);
        close(got.u.unwrap(), 0.533512036669);
        close(got.dof.unwrap().finite().unwrap(), 4.80529618056);
        close(got.interval.unwrap().low, 23.5026393157);
        close(got.interval.unwrap().high, 26.2792790815);
        let one = unpaired_energy_difference(&[94.0], &receive_db, Confidence::P95).unwrap();
        assert!(one.value > 24.0);
        assert_eq!(one.interval, Err(Absent::TooFewPositions { found: 1, needed: 2 }));
    }

    #[test]
    fn one_loud_position_is_noticed() {
        let got = energy_mean(&[40.0, 41.0, 62.0]).unwrap();
        assert!(got.dominated());
        assert!(got.largest_share > 0.98);
        let alone = energy_mean(&[62.0]).unwrap();
        assert!(!alone.dominated(), "one reading has nothing to dominate");
        assert_eq!(alone.u_db, Err(Absent::TooFewPositions { found: 1, needed: 2 }));
        assert!(alone.estimate().is_err());
    }

    #[test]
    fn equal_changes_have_no_interval() {
        // Each position fell by 5.3 dB, though not in binary.
        let got =
            paired_energy_difference(&[64.2, 63.1, 65.0], &[58.9, 57.8, 59.7], Confidence::P95).unwrap();
        close(got.difference_db, 5.3);
        assert_eq!(got.u_db, Ok(0.0));
        assert_eq!(got.interval_db, Err(Absent::ZeroSpread));
        let one = paired_energy_difference(&[64.2], &[58.9], Confidence::P95).unwrap();
        assert_eq!(one.interval_db, Err(Absent::TooFewPositions { found: 1, needed: 2 }));
        assert_eq!(energy_mean(&[50.0, 50.0]).unwrap().u_db, Ok(0.0));
    }

    #[test]
    fn bad_levels_are_refused() {
        assert_eq!(energy_mean(&[]), Err(SampleError::Empty));
        let unequal = SampleError::UnequalLengths { first: 1, second: 2 };
        assert_eq!(paired_energy_difference(&[1.0], &[1.0, 2.0], Confidence::P95), Err(unequal));
    }

    proptest! {
        #[test]
        fn influences_add_to_nothing_and_levels_shift(
            pairs in prop::collection::vec((40.0..100.0f64, 20.0..90.0f64), 2..10), shift_db in -20.0..20.0f64,
        ) {
            let (before, after): (Vec<f64>, Vec<f64>) = pairs.into_iter().unzip();
            let got = paired_energy_difference(&before, &after, Confidence::P95).unwrap();
            prop_assert!(got.influences_db.iter().sum::<f64>().abs() < 1e-9);
            let louder: Vec<f64> = before.iter().map(|level_db| level_db + shift_db).collect();
            let moved = paired_energy_difference(&louder, &after, Confidence::P95).unwrap();
            prop_assert!((moved.difference_db - got.difference_db - shift_db).abs() < 1e-9);
            prop_assert!((moved.u_db.unwrap() - got.u_db.unwrap()).abs() < 1e-9);
            let mean = energy_mean(&before).unwrap();
            let lowest_db = before.iter().copied().fold(f64::INFINITY, f64::min);
            let loudest_db = before.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            prop_assert!(lowest_db - 1e-9 <= mean.mean_db && mean.mean_db <= loudest_db + 1e-9);
        }
    }
}
