//! Sound pressure level. Averaging and subtracting levels belongs to acoustics, not here.

use std::fmt;

/// A sound pressure level in decibels re 20 µPa. Always finite.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Level(f64);

/// Why a number is no level.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LevelError {
    /// The number is infinite or not a number; nothing a meter shows.
    #[error("a level of {value_db} dB is not finite: write the number the meter showed, such as 62.4")]
    NotFinite {
        /// What was given, dB.
        value_db: f64,
    },
}

impl Level {
    /// Takes a level in dB re 20 µPa.
    ///
    /// # Errors
    /// [`LevelError::NotFinite`] for NaN and the infinities.
    pub fn from_db(value_db: f64) -> Result<Self, LevelError> {
        if value_db.is_finite() { Ok(Self(value_db)) } else { Err(LevelError::NotFinite { value_db }) }
    }

    /// Returns the level in dB re 20 µPa.
    pub fn db(self) -> f64 {
        self.0
    }
}

impl fmt::Display for Level {
    /// Prints every digit that tells this level from its neighbours, such as `62.4 dB`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} dB", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_is_finite() {
        for value_db in [0.0, -3.2, 62.4, 194.0, f64::MAX] {
            assert_eq!(Level::from_db(value_db).unwrap().db(), value_db);
        }
        for value_db in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(matches!(Level::from_db(value_db), Err(LevelError::NotFinite { .. })));
        }
        assert_eq!(Level::from_db(62.4).unwrap().to_string(), "62.4 dB");
        assert!(Level::from_db(62.4).unwrap() < Level::from_db(62.5).unwrap());
    }
}
