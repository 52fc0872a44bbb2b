//! The outdoor-indoor class of ASTM E1332: how much quieter a mean of aircraft, road and diesel noise gets, A-weighted.

use super::{RatingError, bands, core_values, half_up};
use crate::bands::{Fraction, Spectrum};
use crate::levels::power_ratio;

/// Mean transport spectrum, 80 to 4000 Hz, dB. ASTM E1332, from memory; its A-weighted sum is the standard's 100.13 dB.
const SOURCE_DB: [f64; 18] = [
    103.0, 102.0, 101.0, 98.0, 97.0, 95.0, 94.0, 93.0, 93.0, 91.0, 90.0, 89.0, 89.0, 88.0, 88.0, 87.0, 85.0,
    84.0,
];

/// A-weighting, 80 to 4000 Hz, dB. IEC 61672-1 Table 3.
const A_WEIGHTING_DB: [f64; 18] = [
    -22.5, -19.1, -16.1, -13.4, -10.9, -8.6, -6.6, -4.8, -3.2, -1.9, -0.8, 0.0, 0.6, 1.0, 1.2, 1.3, 1.2, 1.0,
];

/// An outdoor-indoor class.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Oitc {
    /// The class, dB.
    pub rating_db: i32,
    /// Before rounding, dB: for comparing two tests.
    pub unrounded_db: f64,
}

/// Classes sound insulation against traffic outdoors, `10·lg Σ 10^((L+A)/10) - 10·lg Σ 10^((L+A-TL)/10)`, halves up.
///
/// # Units and shape
/// `spectrum`: TL by third octave, dB, taken as given; every band from 80 to 4000 Hz, others are ignored.
///
/// # Errors
/// [`RatingError`].
///
/// # Source
/// ASTM E1332. The first sum is computed here; the standard prints it as 100.13, which is 0.002 dB more.
pub fn oitc(spectrum: &Spectrum) -> Result<Oitc, RatingError> {
    let losses_db = core_values(spectrum, &bands(Fraction::Third, 80.0, 4000.0))?;
    let inside =
        outside_db().zip(&losses_db).map(|(level_db, loss_db)| power_ratio(level_db - loss_db)).sum::<f64>();
    let unrounded_db = source_total_db() - 10.0 * inside.log10();
    let rating_db =
        i32::try_from(half_up(unrounded_db, 1.0)).expect("losses within 1000 dB give a class of that size");
    Ok(Oitc { rating_db, unrounded_db })
}

/// The A-weighted level of the source spectrum, dB.
fn source_total_db() -> f64 {
    10.0 * outside_db().map(power_ratio).sum::<f64>().log10()
}

/// The A-weighted source by band, dB.
fn outside_db() -> impl Iterator<Item = f64> {
    SOURCE_DB.iter().zip(A_WEIGHTING_DB).map(|(level_db, weighting_db)| level_db + weighting_db)
}

#[cfg(test)]
mod tests {
    use super::*;

    const THIRDS_HZ: [f64; 18] = [
        80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0,
        2000.0, 2500.0, 3150.0, 4000.0,
    ];

    #[test]
    fn the_source_has_the_level_of_the_standard() {
        // ASTM E1332 prints the constant 100.13 dB.
        assert!((source_total_db() - 100.13).abs() < 0.005, "{}", source_total_db());
    }

    #[test]
    fn classes_match() {
        // Computed independently with mpmath 1.4 (24 and 31 after rounding).
        let low: Vec<f64> = THIRDS_HZ.iter().map(|hz| if *hz <= 200.0 { 15.0 } else { 40.0 }).collect();
        let rising =
            vec![20., 22., 24., 25., 27., 29., 31., 33., 35., 36., 38., 39., 40., 41., 42., 40., 38., 40.];
        // By definition: the same loss everywhere is the class.
        for (values_db, unrounded_db, rating_db) in
            [(low, 23.856, 24), (rising, 31.244, 31), (vec![33.5; 18], 33.5, 34)]
        {
            let got = oitc(&Spectrum::new(Fraction::Third, &THIRDS_HZ, &values_db).unwrap()).unwrap();
            assert!((got.unrounded_db - unrounded_db).abs() < 0.0006, "{}", got.unrounded_db);
            assert_eq!(got.rating_db, rating_db);
        }
    }
}
