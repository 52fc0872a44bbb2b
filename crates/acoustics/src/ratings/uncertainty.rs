//! How far bands and ratings of airborne sound insulation are to be trusted, where nobody measured it: ISO 12999-1.
//!
//! Leaves out what repeats say themselves: that belongs to `statistics`, and is better when there is any.

use crate::bands::{Band, Fraction};

/// Who would measure the second time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Situation {
    /// Another laboratory, with its own specimen: situation A, reproducibility.
    OtherLaboratory,
    /// Another crew with its own kit in the same rooms: situation B.
    OtherCrew,
    /// The same crew and kit in the same rooms, soon after: situation C, repeatability.
    SameCrew,
}

/// Which single number it is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum RatedAs {
    /// Rw, R′w, Dn,w, DnT,w.
    Weighted,
    /// With C.
    WithC,
    /// With C100-5000.
    WithC100To5000,
    /// With C50-3150.
    WithC50To3150,
    /// With C50-5000.
    WithC50To5000,
    /// With Ctr, or Ctr,100-5000.
    WithCtr,
    /// With Ctr,50-3150.
    WithCtr50To3150,
    /// With Ctr,50-5000.
    WithCtr50To5000,
}

/// Standard uncertainties by third octave from 50 to 5000 Hz, dB: situations A, B, C. ISO 12999-1:2020, sound reduction
/// indices and level differences, Table 2.
const BANDS_DB: [[f64; 3]; 21] = [
    [6.8, 4.0, 2.0],
    [4.6, 3.6, 1.8],
    [3.8, 3.2, 1.6],
    [3.0, 2.8, 1.4],
    [2.7, 2.4, 1.2],
    [2.4, 2.0, 1.0],
    [2.1, 1.8, 0.9],
    [1.8, 1.6, 0.8],
    [1.8, 1.4, 0.7],
    [1.8, 1.2, 0.6],
    [1.8, 1.1, 0.6],
    [1.8, 1.0, 0.6],
    [1.8, 1.0, 0.6],
    [1.8, 1.0, 0.6],
    [1.8, 1.0, 0.6],
    [1.8, 1.0, 0.6],
    [1.8, 1.0, 0.6],
    [1.9, 1.3, 0.6],
    [2.0, 1.6, 0.6],
    [2.4, 1.9, 0.6],
    [2.8, 2.2, 0.6],
];

impl Situation {
    fn column(self) -> usize {
        match self {
            Self::OtherLaboratory => 0,
            Self::OtherCrew => 1,
            Self::SameCrew => 2,
        }
    }
}

impl RatedAs {
    /// Standard uncertainties, dB: situations A, B, C. ISO 12999-1:2020 Table 3.
    fn row_db(self) -> [f64; 3] {
        match self {
            Self::Weighted => [1.2, 0.9, 0.4],
            Self::WithC => [1.3, 0.9, 0.5],
            Self::WithC100To5000 => [1.3, 1.1, 0.5],
            Self::WithC50To3150 => [1.3, 1.0, 0.7],
            Self::WithC50To5000 => [1.3, 1.1, 0.7],
            Self::WithCtr => [1.5, 1.1, 0.7],
            Self::WithCtr50To3150 => [1.5, 1.3, 1.0],
            // Smaller than the narrower range in situation B: so printed.
            Self::WithCtr50To5000 => [1.5, 1.0, 1.0],
        }
    }
}

/// Returns the standard uncertainty of one band, dB; absent for octaves and outside 50 to 5000 Hz.
///
/// A default for a single test. m independent tests divide it by √m.
///
/// # Source
/// ISO 12999-1:2020 Table 2.
pub fn band_uncertainty_db(band: Band, situation: Situation) -> Option<f64> {
    if band.fraction() != Fraction::Third {
        return None;
    }
    // 50 Hz is thirteen thirds below 1 kHz.
    let row = usize::try_from(i32::from(band.index()) + 13).ok()?;
    BANDS_DB.get(row).map(|row_db| row_db[situation.column()])
}

/// Returns the standard uncertainty of a single number, dB.
///
/// # Source
/// ISO 12999-1:2020 Table 3.
pub fn rating_uncertainty_db(rated_as: RatedAs, situation: Situation) -> f64 {
    rated_as.row_db()[situation.column()]
}

/// Returns the smallest change that two single tests can show, `1.96·√2·u`, dB: less may be chance, 95 % two-sided.
///
/// # Units and shape
/// `uncertainty_db`: the standard uncertainty of each of the two, dB.
///
/// # Source
/// Difference of two independent results; coverage factor 1.96 of ISO 12999-1:2020.
pub fn smallest_change_db(uncertainty_db: f64) -> f64 {
    1.96 * std::f64::consts::SQRT_2 * uncertainty_db
}

#[cfg(test)]
mod tests {
    use super::*;

    const SITUATIONS: [Situation; 3] =
        [Situation::OtherLaboratory, Situation::OtherCrew, Situation::SameCrew];

    #[test]
    fn bands_match_the_table() {
        // ISO 12999-1:2020 Table 2, read column by column from 50 to 5000 Hz.
        let columns = [
            [
                6.8, 4.6, 3.8, 3.0, 2.7, 2.4, 2.1, 1.8, 1.8, 1.8, 1.8, 1.8, 1.8, 1.8, 1.8, 1.8, 1.8, 1.9,
                2.0, 2.4, 2.8,
            ],
            [
                4.0, 3.6, 3.2, 2.8, 2.4, 2.0, 1.8, 1.6, 1.4, 1.2, 1.1, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.3,
                1.6, 1.9, 2.2,
            ],
            [
                2.0, 1.8, 1.6, 1.4, 1.2, 1.0, 0.9, 0.8, 0.7, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6,
                0.6, 0.6, 0.6,
            ],
        ];
        let thirds = Band::range(Fraction::Third, 50.0, 5000.0).unwrap();
        for (situation, column_db) in SITUATIONS.into_iter().zip(columns) {
            let got_db: Vec<f64> =
                thirds.iter().map(|band| band_uncertainty_db(*band, situation).unwrap()).collect();
            assert_eq!(got_db, column_db, "{situation:?}");
        }
    }

    #[test]
    fn ratings_match_the_table() {
        // ISO 12999-1:2020 Table 3, read column by column in this order of numbers.
        let numbers = [
            RatedAs::Weighted,
            RatedAs::WithC,
            RatedAs::WithC100To5000,
            RatedAs::WithC50To3150,
            RatedAs::WithC50To5000,
            RatedAs::WithCtr,
            RatedAs::WithCtr50To3150,
            RatedAs::WithCtr50To5000,
        ];
        let columns = [
            [1.2, 1.3, 1.3, 1.3, 1.3, 1.5, 1.5, 1.5],
            [0.9, 0.9, 1.1, 1.0, 1.1, 1.1, 1.3, 1.0],
            [0.4, 0.5, 0.5, 0.7, 0.7, 0.7, 1.0, 1.0],
        ];
        for (situation, column_db) in SITUATIONS.into_iter().zip(columns) {
            assert_eq!(
                numbers.map(|number| rating_uncertainty_db(number, situation)),
                column_db,
                "{situation:?}"
            );
        }
    }

    #[test]
    fn other_bands_have_no_uncertainty() {
        for (fraction, hz) in [(Fraction::Third, 40.0), (Fraction::Third, 6300.0), (Fraction::Octave, 500.0)]
        {
            let band = Band::nominal(fraction, hz).unwrap();
            assert_eq!(band_uncertainty_db(band, Situation::SameCrew), None, "{hz}");
        }
    }

    #[test]
    fn the_smallest_change_of_two_tests() {
        // Computed independently with numpy 2.4: 1.96·√2 times 0.6 dB (500 Hz) and 0.4 dB (DnT,w), one crew.
        assert!((smallest_change_db(0.6) - 1.663115).abs() < 1e-6);
        assert!((smallest_change_db(0.4) - 1.108743).abs() < 1e-6);
    }
}
