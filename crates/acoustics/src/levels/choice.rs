//! Which mean a set of meter readings deserves, and why.
//!
//! Leaves out repeats of a level difference: those are averaged as numbers, because the difference is what is repeated.

use std::fmt;

use super::{LevelsError, arithmetic_mean, energy_mean};

/// Up to this spread, largest less smallest, an arithmetic mean of meter readings passes without a word, dB.
///
/// The two means then differ by less than 0.12 dB. A convention of this project, no source.
pub const ARITHMETIC_SPREAD_DB: f64 = 2.0;

/// Which mean stands for the readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mean {
    /// The readings are so close that the arithmetic mean may be used too.
    Either,
    /// Only the energy mean: the loud readings dominate.
    Energy,
}

/// Both means of one set of readings, and which of them applies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadingsMean {
    /// The mean by energy, dB.
    pub energy_db: f64,
    /// The mean as numbers, dB; never above the energy mean.
    pub arithmetic_db: f64,
    /// Largest less smallest reading, dB.
    pub spread_db: f64,
    /// Which applies.
    pub applies: Mean,
}

/// The reason for the choice, as a sentence.
impl fmt::Display for ReadingsMean {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let low_by_db = self.energy_db - self.arithmetic_db;
        match self.applies {
            Mean::Either => write!(
                f,
                "the readings lie within {:.1} dB, so the arithmetic mean is only {low_by_db:.2} dB low and may be used",
                self.spread_db
            ),
            Mean::Energy => write!(
                f,
                "the readings lie {:.1} dB apart, so the arithmetic mean would read {low_by_db:.2} dB low: use the energy mean",
                self.spread_db
            ),
        }
    }
}

/// Averages meter readings both ways and says which mean applies.
///
/// # Units and shape
/// `levels_db`: n ≥ 1 readings of one sound field, dB.
///
/// # Errors
/// [`LevelsError::Empty`], [`LevelsError::NotFinite`].
///
/// # Source
/// ISO 16283-1 asks for the energy mean; [`ARITHMETIC_SPREAD_DB`] is a convention of this project.
pub fn readings_mean(levels_db: &[f64]) -> Result<ReadingsMean, LevelsError> {
    let (energy_db, arithmetic_db) = (energy_mean(levels_db)?, arithmetic_mean(levels_db)?);
    let largest_db = levels_db.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let smallest_db = levels_db.iter().copied().fold(f64::INFINITY, f64::min);
    // Levels that no meter shows could lie further apart than a float goes.
    let spread_db = (largest_db - smallest_db).min(f64::MAX);
    // 62.3 - 60.3 is a hair above 2 in binary.
    let applies = if spread_db <= ARITHMETIC_SPREAD_DB + 1e-9 { Mean::Either } else { Mean::Energy };
    Ok(ReadingsMean { energy_db, arithmetic_db, spread_db, applies })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn wide_spreads_ask_for_energy() {
        // Energy mean 59.548, arithmetic 59.250: computed independently with mpmath 1.4.
        let wide = readings_mean(&[58.3, 60.1, 57.2, 61.4]).unwrap();
        assert_eq!(wide.applies, Mean::Energy);
        assert!((wide.energy_db - 59.547931945073).abs() < 1e-9);
        assert!((wide.arithmetic_db - 59.25).abs() < 1e-9);
        assert!(wide.to_string().contains("4.2 dB apart"), "{wide}");
        assert!(wide.to_string().contains("0.30 dB low"), "{wide}");
        let close = readings_mean(&[62.3, 60.3]).unwrap();
        assert_eq!(close.applies, Mean::Either);
        assert!(close.to_string().contains("may be used"), "{close}");
        assert_eq!(readings_mean(&[60.0, 62.01]).unwrap().applies, Mean::Energy);
        assert_eq!(readings_mean(&[]), Err(LevelsError::Empty));
        let extreme = readings_mean(&[1.7e308, -1.7e308, -1.7e308]).unwrap();
        assert!(extreme.spread_db.is_finite() && extreme.arithmetic_db.is_finite());
    }

    proptest! {
        #[test]
        fn close_readings_differ_little(levels_db in prop::collection::vec(50.0..52.0f64, 1..20)) {
            // The bound is the most that readings within 2 dB can give, ten of each extreme or so.
            let got = readings_mean(&levels_db).unwrap();
            prop_assert_eq!(got.applies, Mean::Either);
            prop_assert!(got.energy_db - got.arithmetic_db < 0.12);
        }
    }
}
