//! Levels over time: what was exceeded for a part of it, and one event's whole energy.
//!
//! Leaves out the meter: the history of Fast levels comes from there. A percentile of blocks of equivalent level is not an
//! LN and must not be called one.

use super::LevelsError;
use crate::{NotFinite, finite};

/// Why a level history has no percentile.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum ExceededError {
    /// The history itself.
    #[error(transparent)]
    Levels(#[from] LevelsError),
    /// Give a share of the time: 10 for L10.
    #[error("{percent} percent of the time is not between 0 and 100")]
    Percent { percent: f64 },
}

/// Why an event has no exposure level.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum ExposureLevelError {
    /// A level is a finite number.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// Give how long the level was measured.
    #[error("a duration of {duration_s} s is not above zero")]
    Duration { duration_s: f64 },
}

/// Returns the level exceeded `percent` of the time: L10 is the *high* one, L90 the quiet between the events.
///
/// The (100 - N)th percentile of the sorted history, with a straight line between neighbours.
///
/// # Units and shape
/// `levels_db`: n ≥ 1 levels at equal steps in time (A-weighted Fast, every 0.125 s or finer, for an LAN), any order, dB.
/// `percent`: 0 to 100. Returns dB, within their range.
///
/// # Errors
/// [`ExceededError`].
///
/// # Source
/// ISO 1996-1, percentage exceedance level; the line between neighbours is common practice, no source.
pub fn level_exceeded_db(levels_db: &[f64], percent: f64) -> Result<f64, ExceededError> {
    super::loudest(levels_db)?;
    if !(0.0..=100.0).contains(&percent) {
        return Err(ExceededError::Percent { percent });
    }
    let mut sorted_db = levels_db.to_vec();
    sorted_db.sort_by(f64::total_cmp);
    let place = (1.0 - percent / 100.0) * (sorted_db.len() - 1) as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(sorted_db.len() - 1);
    let share = place - place.floor();
    // Weighted apart: the difference of two levels may lie beyond the range of a float.
    Ok((1.0 - share) * sorted_db[below] + share * sorted_db[above])
}

/// Returns the exposure level of one event, `LE = Leq + 10·lg(t/1 s)`: its whole energy as if it took one second.
///
/// # Units and shape
/// `leq_db`: equivalent level over the event, dB. `duration_s`: how long that was, s, above zero. Returns dB.
///
/// # Errors
/// [`ExposureLevelError`].
///
/// # Source
/// ISO 1996-1, sound exposure level.
pub fn exposure_level_db(leq_db: f64, duration_s: f64) -> Result<f64, ExposureLevelError> {
    let leq_db = finite(leq_db)?;
    if duration_s.is_finite() && duration_s > 0.0 {
        Ok(leq_db + 10.0 * duration_s.log10())
    } else {
        Err(ExposureLevelError::Duration { duration_s })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SEVEN_DB: &[f64] = &[52.1, 48.3, 61.7, 55.0, 49.9, 58.2, 50.4];
    const TWELVE_DB: &[f64] = &[55.0, 56.8, 53.4, 49.7, 52.3, 49.1, 55.4, 63.0, 52.0, 51.3, 57.9, 57.1];

    #[test]
    fn exceeded_levels_match() {
        // Computed independently with numpy 2.4 as percentile(levels, 100 - N); the last two rows by hand.
        let rows = [
            (SEVEN_DB, 10.0, 59.6),
            (SEVEN_DB, 50.0, 52.1),
            (SEVEN_DB, 90.0, 49.26),
            (SEVEN_DB, 1.0, 61.49),
            (SEVEN_DB, 99.0, 48.396),
            (SEVEN_DB, 0.0, 61.7),
            (SEVEN_DB, 100.0, 48.3),
            (TWELVE_DB, 10.0, 57.82),
            (TWELVE_DB, 5.0, 60.195),
            (TWELVE_DB, 95.0, 49.43),
            (TWELVE_DB, 33.3, 55.8718),
            (&[44.0], 10.0, 44.0),
            (&[1.7e308, -1.7e308], 50.0, 0.0),
        ];
        for (levels_db, percent, expected_db) in rows {
            let got_db = level_exceeded_db(levels_db, percent).unwrap();
            assert!((got_db - expected_db).abs() < 1e-9, "L{percent}: {got_db}, not {expected_db}");
        }
    }

    #[test]
    fn exposure_levels_match() {
        // Computed independently with mpmath 1.4; one second is its own exposure by definition.
        for (leq_db, duration_s, expected_db) in
            [(72.4, 1800.0, 104.952725051033), (85.0, 0.125, 75.969100130081), (94.0, 1.0, 94.0)]
        {
            let got_db = exposure_level_db(leq_db, duration_s).unwrap();
            assert!((got_db - expected_db).abs() < 1e-9, "{got_db}");
        }
    }

    #[test]
    fn bad_input_is_refused() {
        assert_eq!(level_exceeded_db(&[], 10.0), Err(ExceededError::Levels(LevelsError::Empty)));
        assert!(level_exceeded_db(&[f64::NAN], 10.0).is_err());
        assert_eq!(level_exceeded_db(&[50.0], 101.0), Err(ExceededError::Percent { percent: 101.0 }));
        assert!(level_exceeded_db(&[50.0], f64::NAN).is_err());
        let none = ExposureLevelError::Duration { duration_s: 0.0 };
        assert_eq!(exposure_level_db(80.0, 0.0), Err(none));
        assert!(exposure_level_db(f64::INFINITY, 1.0).is_err());
    }

    proptest! {
        #[test]
        fn longer_exceeded_is_never_louder(
            levels_db in prop::collection::vec(20.0..110.0f64, 1..40), percent in 0.0..99.0f64,
        ) {
            let often_db = level_exceeded_db(&levels_db, percent + 1.0).unwrap();
            prop_assert!(often_db <= level_exceeded_db(&levels_db, percent).unwrap() + 1e-9);
        }
    }
}
