//! Decibel arithmetic: means, sums and what is left when a part is taken away.
//!
//! [`choice`] says which mean a set of readings deserves, [`time`] what was exceeded and one event's whole energy,
//! [`octaves`] goes between thirds and octaves. Leaves out weightings: a level here is already the one that is wanted.

pub mod choice;
pub mod octaves;
pub mod time;

pub use choice::{Mean, ReadingsMean, readings_mean};
pub use octaves::{AssumedFlat, WidthError, assumed_thirds, octave_levels, octave_reductions};
pub use time::{ExceededError, ExposureLevelError, exposure_level_db, level_exceeded_db};

/// Why a set of levels has no mean or sum.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum LevelsError {
    /// Nothing to average: take at least one reading.
    #[error("no levels were given")]
    Empty,
    /// A level is infinite or not a number: correct or leave out the one at `index`.
    #[error("level {index} is {value_db}, not a finite number")]
    NotFinite { index: usize, value_db: f64 },
    /// Every level needs exactly one weight.
    #[error("{levels} levels came with {weights} weights")]
    UnequalLengths { levels: usize, weights: usize },
    /// A weight is a duration or an area, so it is finite and above zero.
    #[error("weight {index} is {weight}, not above zero")]
    BadWeight { index: usize, weight: f64 },
}

/// Averages levels by energy, `10·lg((1/n)·Σ 10^(Lᵢ/10))`.
///
/// For levels of one sound field at several positions or instants; the loudest dominate, as they do in the room.
/// Repeats of one level difference are averaged by [`arithmetic_mean`] instead.
///
/// # Units and shape
/// `levels_db`: n ≥ 1 readings in any order, dB. Returns one level, dB, within their range.
///
/// # Errors
/// [`LevelsError::Empty`], [`LevelsError::NotFinite`].
///
/// # Source
/// ISO 16283-1:2014, energy-average sound pressure level.
pub fn energy_mean(levels_db: &[f64]) -> Result<f64, LevelsError> {
    let loudest_db = loudest(levels_db)?;
    Ok(loudest_db + 10.0 * (relative_energy(levels_db, loudest_db) / levels_db.len() as f64).log10())
}

/// Averages levels by energy with weights, `10·lg(Σ wᵢ·10^(Lᵢ/10) / Σ wᵢ)`.
///
/// Durations as weights give the equivalent level of a whole from those of its pieces; areas give the mean over a face.
///
/// # Units and shape
/// `levels_db`: n ≥ 1, dB. `weights`: n numbers above zero in one unit of any kind. Returns dB, within their range.
///
/// # Errors
/// Any [`LevelsError`].
///
/// # Source
/// Definition of the equivalent continuous level (ISO 1996-1), common practice for areas.
pub fn energy_mean_weighted(levels_db: &[f64], weights: &[f64]) -> Result<f64, LevelsError> {
    let loudest_db = loudest(levels_db)?;
    if weights.len() != levels_db.len() {
        return Err(LevelsError::UnequalLengths { levels: levels_db.len(), weights: weights.len() });
    }
    if let Some(index) = weights.iter().position(|weight| !(weight.is_finite() && *weight > 0.0)) {
        return Err(LevelsError::BadWeight { index, weight: weights[index] });
    }
    // Relative to the heaviest, no sum of weights can overflow.
    let heaviest = weights.iter().copied().fold(0.0, f64::max);
    let (mut energy, mut total) = (0.0, 0.0);
    for (level_db, weight) in levels_db.iter().zip(weights) {
        energy += weight / heaviest * power_ratio(level_db - loudest_db);
        total += weight / heaviest;
    }
    Ok(loudest_db + 10.0 * (energy / total).log10())
}

/// Averages decibel values as numbers, `(1/n)·Σ Lᵢ`.
///
/// For repeats of one quantity that is itself in decibels, such as a level difference; of levels in a room it reads low.
///
/// # Units and shape
/// `values_db`: n ≥ 1, dB. Returns dB, within their range.
///
/// # Errors
/// [`LevelsError::Empty`], [`LevelsError::NotFinite`].
///
/// # Source
/// Common practice, no source.
pub fn arithmetic_mean(values_db: &[f64]) -> Result<f64, LevelsError> {
    let largest_db = loudest(values_db)?;
    // Centred on the largest: rounding then grows with the spread and not with the size of the values.
    let offset_db: f64 = values_db.iter().map(|value_db| value_db - largest_db).sum();
    let smallest_db = values_db.iter().copied().fold(largest_db, f64::min);
    // Offsets beyond the range of a float would give an infinite mean.
    Ok((largest_db + offset_db / values_db.len() as f64).max(smallest_db))
}

/// Adds incoherent sources, `10·lg Σ 10^(Lᵢ/10)`.
///
/// # Units and shape
/// `levels_db`: n ≥ 1, dB. Returns dB, never below the loudest.
///
/// # Errors
/// [`LevelsError::Empty`], [`LevelsError::NotFinite`].
///
/// # Source
/// Common practice, no source: powers of incoherent sources add.
pub fn energy_sum(levels_db: &[f64]) -> Result<f64, LevelsError> {
    let loudest_db = loudest(levels_db)?;
    Ok(loudest_db + 10.0 * relative_energy(levels_db, loudest_db).log10())
}

/// Why a part cannot be taken from a whole.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum RemainderError {
    /// A level is infinite or not a number.
    #[error(transparent)]
    NotFinite(#[from] crate::NotFinite),
    /// The part is as loud as the whole: nothing measurable is left, only a bound.
    #[error("{part_db} dB is not below the {whole_db} dB it should be part of")]
    PartNotBelowWhole { whole_db: f64, part_db: f64 },
}

/// Takes one source out of a whole, `10·lg(10^(L/10) - 10^(Lₚ/10))`.
///
/// The bare subtraction, without the limits that measurement standards put on it: see
/// [`background::correct`](crate::background::correct) for those.
///
/// # Units and shape
/// Both dB, `part_db` below `whole_db`. Returns dB, below `whole_db`.
///
/// # Errors
/// [`RemainderError`].
///
/// # Source
/// Common practice, no source: powers of incoherent sources add.
pub fn energy_remainder(whole_db: f64, part_db: f64) -> Result<f64, RemainderError> {
    let (whole_db, part_db) = (crate::finite(whole_db)?, crate::finite(part_db)?);
    // `exp_m1` keeps the digits when the two levels nearly meet.
    let left = -((part_db - whole_db) * std::f64::consts::LN_10 / 10.0).exp_m1();
    if left > 0.0 {
        Ok(whole_db + 10.0 * left.log10())
    } else {
        Err(RemainderError::PartNotBelowWhole { whole_db, part_db })
    }
}

/// The power ratio of a level difference, `10^(ΔL/10)`.
pub(crate) fn power_ratio(difference_db: f64) -> f64 {
    10f64.powf(difference_db / 10.0)
}

fn loudest(levels_db: &[f64]) -> Result<f64, LevelsError> {
    if let Some(index) = levels_db.iter().position(|level_db| !level_db.is_finite()) {
        return Err(LevelsError::NotFinite { index, value_db: levels_db[index] });
    }
    levels_db.iter().copied().reduce(f64::max).ok_or(LevelsError::Empty)
}

/// Energy relative to the loudest: every term lies in [0, 1], so large levels cannot overflow.
fn relative_energy(levels_db: &[f64], loudest_db: f64) -> f64 {
    levels_db.iter().map(|level_db| power_ratio(level_db - loudest_db)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TOLERANCE_DB: f64 = 1e-9;

    #[test]
    fn energy_means_match() {
        let rows: &[(&[f64], f64, &str)] = &[
            (
                &[60.0, 66.0],
                63.962927980447,
                "textbook: 63.96; digits computed independently with mpmath 1.4",
            ),
            (&[58.3, 60.1, 57.2, 61.4], 59.547931945073, "computed independently with mpmath 1.4"),
            (&[71.5], 71.5, "one reading is its own mean"),
            (&[4.0, 4.0, 4.0], 4.0, "equal readings"),
            (&[5000.0, 5000.0], 5000.0, "powers far beyond the range of a float"),
            (&[-40.0, -50.0], -42.596373105058, "mean of 1 and 1/10 is 0.55: -40 + 10 lg 0.55"),
        ];
        for (levels_db, expected_db, source) in rows {
            let got_db = energy_mean(levels_db).unwrap();
            assert!((got_db - expected_db).abs() < TOLERANCE_DB, "{levels_db:?}: {got_db}, {source}");
        }
    }

    #[test]
    fn energy_exceeds_arithmetic_as_handbooks_say() {
        // Energy minus arithmetic mean of two levels so far apart, in dB to two decimals; computed independently with numpy 2.4.
        let rows =
            [(1.0, 0.03), (2.0, 0.11), (3.0, 0.25), (4.0, 0.45), (5.0, 0.68), (6.0, 0.96), (10.0, 2.40)];
        for (apart_db, expected_db) in rows {
            let levels_db = [50.0, 50.0 + apart_db];
            let excess_db = energy_mean(&levels_db).unwrap() - arithmetic_mean(&levels_db).unwrap();
            assert!((excess_db - expected_db).abs() < 0.0051, "{apart_db} dB apart: {excess_db}");
        }
    }

    #[test]
    fn sums_match() {
        let rows: &[(&[f64], f64, &str)] = &[
            (&[80.0, 80.0], 83.010299956640, "textbook: two equal sources add 3 dB, 10 lg 2"),
            (&[70.0; 10], 80.0, "textbook: ten equal sources add 10 dB"),
            (&[60.0, 66.0], 66.973227937087, "computed independently with mpmath 1.4"),
            (&[48.0], 48.0, "one source"),
        ];
        for (levels_db, expected_db, source) in rows {
            let got_db = energy_sum(levels_db).unwrap();
            assert!((got_db - expected_db).abs() < TOLERANCE_DB, "{levels_db:?}: {got_db}, {source}");
        }
    }

    #[test]
    fn weights_count_as_repeats() {
        let got_db = energy_mean_weighted(&[58.3, 60.1, 57.2, 61.4], &[1.0, 2.0, 0.5, 4.0]).unwrap();
        assert!(
            (got_db - 60.546952460601).abs() < TOLERANCE_DB,
            "{got_db}, computed independently with mpmath 1.4"
        );
        // Textbook: one hour at 90 dB in an otherwise silent working day of eight is 9 dB less over the day (10 lg 8).
        let day_db = energy_mean_weighted(&[90.0, -200.0], &[1.0, 7.0]).unwrap();
        assert!((day_db - 80.969100130081).abs() < TOLERANCE_DB, "{day_db}");
    }

    #[test]
    fn remainders_match() {
        let rows = [
            (48.0, 41.0, 47.033471046738, "computed independently with mpmath 1.4"),
            (83.010299956640, 80.0, 80.0, "textbook: half of the power is 3 dB less"),
            (45.0, 35.0, 44.542425094393, "computed independently with mpmath 1.4"),
        ];
        for (whole_db, part_db, expected_db, source) in rows {
            let got_db = energy_remainder(whole_db, part_db).unwrap();
            assert!(
                (got_db - expected_db).abs() < TOLERANCE_DB,
                "{whole_db} - {part_db}: {got_db}, {source}"
            );
        }
        let nothing_left = RemainderError::PartNotBelowWhole { whole_db: 40.0, part_db: 40.0 };
        assert_eq!(energy_remainder(40.0, 40.0), Err(nothing_left));
        assert!(energy_remainder(40.0, f64::INFINITY).is_err());
    }

    #[test]
    fn bad_input_is_refused() {
        assert_eq!(energy_mean(&[]), Err(LevelsError::Empty));
        assert_eq!(arithmetic_mean(&[]), Err(LevelsError::Empty));
        assert_eq!(energy_sum(&[]), Err(LevelsError::Empty));
        assert!(matches!(energy_mean(&[60.0, f64::NAN]), Err(LevelsError::NotFinite { index: 1, .. })));
        assert!(matches!(energy_sum(&[f64::NEG_INFINITY]), Err(LevelsError::NotFinite { index: 0, .. })));
        let unequal = LevelsError::UnequalLengths { levels: 2, weights: 1 };
        assert_eq!(energy_mean_weighted(&[60.0, 61.0], &[1.0]), Err(unequal));
        let zero = LevelsError::BadWeight { index: 1, weight: 0.0 };
        assert_eq!(energy_mean_weighted(&[60.0, 61.0], &[1.0, 0.0]), Err(zero));
    }

    proptest! {
        #[test]
        fn means_lie_within_the_readings(levels_db in prop::collection::vec(-20.0..140.0f64, 1..20)) {
            let lowest_db = levels_db.iter().copied().fold(f64::INFINITY, f64::min);
            let loudest_db = levels_db.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let energy_db = energy_mean(&levels_db).unwrap();
            let arithmetic_db = arithmetic_mean(&levels_db).unwrap();
            prop_assert!(lowest_db - TOLERANCE_DB <= arithmetic_db);
            prop_assert!(arithmetic_db <= energy_db + TOLERANCE_DB);
            prop_assert!(energy_db <= loudest_db + TOLERANCE_DB);
            prop_assert!(energy_sum(&levels_db).unwrap() >= loudest_db - TOLERANCE_DB);
        }

        #[test]
        fn whole_weights_equal_repeated_readings(
            pairs in prop::collection::vec((20.0..120.0f64, 1usize..5), 1..8)
        ) {
            let (levels_db, counts): (Vec<f64>, Vec<usize>) = pairs.iter().copied().unzip();
            let weights: Vec<f64> = counts.iter().map(|count| *count as f64).collect();
            let repeated_db: Vec<f64> =
                pairs.iter().flat_map(|(level_db, count)| std::iter::repeat_n(*level_db, *count)).collect();
            let gap_db = energy_mean_weighted(&levels_db, &weights).unwrap() - energy_mean(&repeated_db).unwrap();
            prop_assert!(gap_db.abs() < TOLERANCE_DB);
        }

        #[test]
        fn remainder_undoes_the_sum(part_db in 0.0..100.0f64, other_db in 0.0..100.0f64) {
            let whole_db = energy_sum(&[part_db, other_db]).unwrap();
            // A part 40 dB below the whole leaves too few digits to come back from.
            if other_db > part_db - 40.0 {
                prop_assert!((energy_remainder(whole_db, part_db).unwrap() - other_db).abs() < 1e-6);
            }
        }
    }
}
