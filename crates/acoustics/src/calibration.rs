//! What digital full scale means in dB: from a stated level or from a recording of a calibrator.
//!
//! The recording of a calibrator is checked before it is believed, by [`Calibrator`]. Leaves out files and channels: a
//! caller picks one channel and hands its samples on, ±1 at full scale.

mod calibrator;

pub use calibrator::{Calibration, CalibrationError, Calibrator, Tone};

use crate::NotFinite;

/// The sound pressure level of a signal whose rms is 1.0 at a digital full scale of 1.0, dB re 20 µPa.
///
/// `L = K + 20·lg(rms)`. A full-scale sine has an rms of 0.707, so its level is 3.01 dB below K. Programs differ in which
/// of the two they call 0 dBFS: ask, and take the constructor that says it.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct FullScale(f64);

/// Level of a sine of peak 1 below a signal of rms 1, dB: 10 lg 2.
const SINE_BELOW_RMS_DB: f64 = 3.010_299_956_639_812;

impl FullScale {
    /// Takes the level of a sine whose peak is full scale, dB re 20 µPa.
    ///
    /// # Errors
    /// [`NotFinite`].
    pub fn of_sine(level_of_full_scale_sine_db: f64) -> Result<Self, NotFinite> {
        Self::of_rms(level_of_full_scale_sine_db + SINE_BELOW_RMS_DB)
    }

    /// Takes the level of a signal whose rms is full scale, dB re 20 µPa. 0 gives levels re full scale.
    ///
    /// # Errors
    /// [`NotFinite`].
    pub fn of_rms(level_of_full_scale_rms_db: f64) -> Result<Self, NotFinite> {
        crate::finite(level_of_full_scale_rms_db).map(Self)
    }

    /// The level of a signal of rms 1.0, dB re 20 µPa.
    pub fn of_rms_db(self) -> f64 {
        self.0
    }

    /// The level of a sine of peak 1.0, dB re 20 µPa.
    pub fn of_sine_db(self) -> f64 {
        self.0 - SINE_BELOW_RMS_DB
    }

    /// Returns the level of a mean square, `K + 10·lg`, dB; `None` for 0, which has no level.
    pub fn level_db(self, mean_square: f64) -> Option<f64> {
        (mean_square > 0.0 && mean_square.is_finite()).then(|| self.0 + 10.0 * mean_square.log10())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn full_scale_matches() {
        // Computed independently with numpy 2.4: 94 dB at an rms of 0.05 gives 94 - 20 lg 0.05.
        let full_scale = FullScale::of_rms(120.020_599_913_279_6).unwrap();
        assert!((full_scale.of_sine_db() - 117.010_299_956_6).abs() < 1e-9);
        assert!((full_scale.level_db(0.05 * 0.05).unwrap() - 94.0).abs() < 1e-9);
        // Quantising noise of 16 bits, rms 2^-15/√12: 101.1 dB below an rms of 1 (any textbook).
        let floor_db = full_scale.level_db((1.0 / 32_768.0f64).powi(2) / 12.0).unwrap();
        assert!((floor_db - 18.9).abs() < 0.05, "{floor_db}");
        assert_eq!(full_scale.level_db(0.0), None);
        assert!(FullScale::of_sine(f64::NAN).is_err());
        let sine = FullScale::of_sine(117.0).unwrap();
        assert!(
            (sine.level_db(0.5).unwrap() - 117.0).abs() < 1e-12,
            "a sine of peak 1 has the mean square 1/2"
        );
    }
}
