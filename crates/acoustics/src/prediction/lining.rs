//! An independent lining in front of a wall: what it adds to the rating, and where it makes the wall worse.
//!
//! Works on the weighted sound reduction index alone; leaves out bands, and linings of more than one cavity.

use std::f64::consts::PI;

use super::{Measure, PredictionError, computed, within};
use crate::bands::{Band, Fraction};

/// What sits between wall and lining.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Layer {
    /// A cavity of this depth, m, full of porous absorber; studs or battens do not touch the wall.
    FilledCavity {
        /// Depth, m.
        depth_m: f64,
    },
    /// A layer that the lining is glued to, by its dynamic stiffness over area, N/m³.
    Elastic {
        /// Dynamic stiffness, N/m³.
        stiffness_n_m3: f64,
    },
}

impl Layer {
    /// Dynamic stiffness s′, N/m³; of a filled cavity `0.111·10⁶/d`.
    fn stiffness_n_m3(self) -> Result<f64, PredictionError> {
        match self {
            Self::FilledCavity { depth_m } => {
                Ok(0.111e6 / within(Measure::CavityDepth, depth_m, 0.001, 10.0)?)
            }
            Self::Elastic { stiffness_n_m3 } => within(Measure::DynamicStiffness, stiffness_n_m3, 1e3, 1e12),
        }
    }
}

/// Returns the resonance of wall and lining, `(1/2π)·√[s′·(1/m₁ + 1/m₂)]`, Hz.
///
/// # Units and shape
/// Masses over area of the wall and of the lining, kg/m².
///
/// # Errors
/// [`PredictionError::OutOfRange`]: masses 0.01 to 10,000 kg/m², depth 1 mm to 10 m, stiffness 10³ to 10¹² N/m³.
///
/// # Source
/// ISO 12354-1:2017 Annex D, equations D.1 and D.2.
pub fn resonance_hz(base_kg_m2: f64, lining_kg_m2: f64, layer: Layer) -> Result<f64, PredictionError> {
    let mass = |value| within(Measure::SurfaceMass, value, 0.01, 10_000.0);
    let masses = mass(base_kg_m2)?.recip() + mass(lining_kg_m2)?.recip();
    computed((layer.stiffness_n_m3()? * masses).sqrt() / (2.0 * PI))
}

/// Returns what a lining adds to the weighted sound reduction index of a wall, dB.
///
/// The resonance goes to its third octave: up to 160 Hz `max(0, 74.4 - 20·lg f₀ - Rw/2)`, then -1 dB at 200 Hz, -3, -5, -7, -9,
/// -10 from 630 to 1600 Hz, and -5 up to 5000 Hz. A shallow cavity makes a stiff wall worse.
///
/// # Units and shape
/// Resonance, Hz, and rating of the bare wall, dB. Returns dB.
///
/// # Errors
/// [`PredictionError::OutOfRange`] where the table does not reach: a rating outside 20 to 60 dB, a resonance below the third
/// octave at 31.5 Hz or above that at 5000 Hz.
///
/// # Source
/// ISO 12354-1:2017 Annex D, table D.1.
pub fn improvement_db(resonance_hz: f64, base_rating_db: f64) -> Result<f64, PredictionError> {
    let base_db = within(Measure::BaseRating, base_rating_db, 20.0, 60.0)?;
    let bands = Band::range(Fraction::Third, 31.5, 5000.0).expect("both are labels of third octaves");
    let (lowest, highest) = (bands[0], bands[bands.len() - 1]);
    let resonance_hz = within(Measure::LiningResonance, resonance_hz, lowest.lower_hz(), highest.upper_hz())?;
    let band =
        bands.into_iter().find(|band| resonance_hz <= band.upper_hz()).expect("the range ends at its edge");
    let nominal_hz = band.nominal_hz();
    Ok(if nominal_hz <= 160.0 {
        (74.4 - 20.0 * nominal_hz.log10() - base_db / 2.0).max(0.0)
    } else if nominal_hz > 1600.0 {
        -5.0
    } else if nominal_hz >= 630.0 {
        -10.0
    } else {
        // 200, 250, 315, 400 and 500 Hz lie two decibels apart.
        -1.0 - 2.0 * (10.0 * (nominal_hz / 200.0).log10()).round()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn linings_match_the_table() {
        // ISO 12354-1:2017 table D.1. The first row: 74.4 - 20 lg 50 - 22.5 = 17.92.
        let rows = [
            (50.0, 45.0, 17.92),
            (31.5, 40.0, 24.43),
            (160.0, 40.0, 10.32),
            (160.0, 60.0, 0.32),
            (125.0, 60.0, 2.46),
            (200.0, 45.0, -1.0),
            (250.0, 45.0, -3.0),
            (315.0, 45.0, -5.0),
            (400.0, 45.0, -7.0),
            (500.0, 45.0, -9.0),
            (630.0, 45.0, -10.0),
            (1000.0, 45.0, -10.0),
            (1600.0, 45.0, -10.0),
            (2000.0, 45.0, -5.0),
            (5000.0, 45.0, -5.0),
        ];
        for (hz, base_db, expected_db) in rows {
            let got_db = improvement_db(hz, base_db).unwrap();
            assert!((got_db - expected_db).abs() < 0.006, "{hz} Hz on {base_db} dB: {got_db}");
        }
        // Between two labels the nearer third octave counts: 178 Hz is 200, 177 Hz is 160.
        assert_eq!(improvement_db(178.0, 45.0).unwrap(), -1.0);
        assert!(improvement_db(177.0, 45.0).unwrap() > 0.0);
    }

    #[test]
    fn resonances_match() {
        // 400 kg/m² with 10 kg/m² at 50 mm filled: √(0.111e6/0.05·(1/400 + 1/10))/2π, computed independently with mpmath 1.3.
        let cavity = Layer::FilledCavity { depth_m: 0.05 };
        let got_hz = resonance_hz(400.0, 10.0, cavity).unwrap();
        assert!((got_hz - 75.920_411).abs() < 1e-5, "{got_hz}");
        let glued = Layer::Elastic { stiffness_n_m3: 0.111e6 / 0.05 };
        assert!((resonance_hz(400.0, 10.0, glued).unwrap() - got_hz).abs() < 1e-9);
    }

    #[test]
    fn shallow_battens_make_a_stiff_wall_worse() {
        // 12.7 mm board on 10 mm of glued foam of 50 MN/m³ before 200 kg/m²: far above 200 Hz.
        let foam = Layer::Elastic { stiffness_n_m3: 50e6 };
        let hz = resonance_hz(200.0, 8.5, foam).unwrap();
        assert!(improvement_db(hz, 50.0).unwrap() < 0.0, "{hz}");
    }

    #[test]
    fn what_the_table_does_not_hold_is_refused() {
        for (hz, base_db) in
            [(20.0, 45.0), (6000.0, 45.0), (50.0, 19.9), (50.0, 60.1), (f64::NAN, 45.0), (50.0, f64::NAN)]
        {
            assert!(improvement_db(hz, base_db).is_err(), "{hz} {base_db}");
        }
        assert!(resonance_hz(0.0, 10.0, Layer::FilledCavity { depth_m: 0.05 }).is_err());
        assert!(resonance_hz(10.0, 10.0, Layer::FilledCavity { depth_m: 0.0 }).is_err());
        assert!(resonance_hz(10.0, 10.0, Layer::Elastic { stiffness_n_m3: f64::NAN }).is_err());
    }
}
