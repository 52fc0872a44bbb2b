//! What full scale is in a recording, and how that is known.

use storypole_acoustics::calibration::{Calibration, FullScale};

/// What the level of a full-scale sine can be, dB: a slipped digit is caught, a strange recorder is not.
const LEAST_DB: f64 = 20.0;
const MOST_DB: f64 = 200.0;

/// What full scale is.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// What it means in dB.
    pub full_scale: FullScale,
    /// How that is known, kept with the reading; `None` where levels are only re full scale.
    pub words: Option<String>,
}

/// Nothing records so.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("a full-scale sine of {level_db} dB is not what any recorder has")]
pub struct NoScale {
    /// As it was told.
    pub level_db: f64,
}

impl NoScale {
    /// What to do about it.
    pub const NEXT: &str = "check it: mostly it is between 90 and 140 dB";
}

impl Scale {
    /// Of a recorder of which nothing is known: 0 dB is a full-scale sine.
    pub fn unknown() -> Self {
        Self { full_scale: FullScale::of_sine(0.0).expect("zero is finite"), words: None }
    }

    /// As a person tells it: the level of a full-scale sine, dB re 20 µPa.
    ///
    /// # Errors
    /// [`NoScale`].
    pub fn told(level_db: f64) -> Result<Self, NoScale> {
        Self::known(level_db, format!("full-scale sine = {level_db} dB, as told"))
    }

    /// As it is noted for a meter of that name.
    ///
    /// # Errors
    /// [`NoScale`].
    pub fn noted(level_db: f64, meter: &str) -> Result<Self, NoScale> {
        Self::known(level_db, format!("full-scale sine = {level_db} dB, as noted for {meter}"))
    }

    /// From a calibrator of a level, recorded in a file of that name.
    pub fn of_calibrator(calibration: &Calibration, level_db: f64, file: &str) -> Self {
        let full_scale = calibration.full_scale;
        let words = format!(
            "full-scale sine = {:.1} dB, from a calibrator of {level_db} dB in {file}",
            full_scale.of_sine_db(),
        );
        Self { full_scale, words: Some(words) }
    }

    fn known(level_db: f64, words: String) -> Result<Self, NoScale> {
        let is_real = (LEAST_DB..=MOST_DB).contains(&level_db);
        let full_scale = FullScale::of_sine(level_db).ok().filter(|_| is_real).ok_or(NoScale { level_db })?;
        Ok(Self { full_scale, words: Some(words) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slipped_digit_is_no_full_scale() {
        for level_db in [f64::NAN, f64::INFINITY, -117.0, 11.7, 1170.0] {
            assert!(Scale::told(level_db).is_err(), "{level_db}");
        }
        let told = Scale::told(117.0).unwrap();
        assert_eq!(told.words.unwrap(), "full-scale sine = 117 dB, as told");
        // By definition: a sine of peak 1 has an rms of 1/√2, 3.0103 dB below an rms of 1.
        assert!((told.full_scale.of_rms_db() - 120.0103).abs() < 1e-4);
        assert_eq!(
            Scale::noted(116.5, "M1").unwrap().words.unwrap(),
            "full-scale sine = 116.5 dB, as noted for M1"
        );
        assert_eq!(Scale::unknown().words, None);
    }
}
