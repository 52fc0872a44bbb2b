//! Between thirds and octaves: levels add, reductions average what they let through, and octaves tell little of thirds.
//!
//! Leaves out filters and ratings. An octave rating in the field comes from octaves that were measured; thirds are rated
//! as thirds.

use super::{energy_mean, energy_sum};
use crate::bands::{Band, Fraction, Spectrum};

/// Why bands do not become wider or narrower ones.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum WidthError {
    /// Give the bands this conversion starts from.
    #[error("{got} bands came where {needed} bands are needed")]
    WrongFraction { needed: Fraction, got: Fraction },
    /// An octave is made of three thirds: measure the ones beside those that are there.
    #[error("no octave has all three of its third octave bands")]
    NoWholeOctave,
}

/// Thirds that were not measured: an octave's energy shared out evenly.
///
/// Good enough to draw or to weight; a rating of them would claim detail that nobody measured.
#[derive(Debug, Clone, PartialEq)]
pub struct AssumedFlat {
    /// The thirds, each as loud as the other two of its octave.
    pub thirds: Spectrum,
}

/// Adds the levels of thirds to octaves, `10·lg Σ 10^(Lᵢ/10)` over the three of each.
///
/// # Units and shape
/// `thirds`: levels by third octave, dB. Returns dB for every octave whose three thirds are all there; others are left
/// out.
///
/// # Errors
/// [`WidthError`].
///
/// # Source
/// Common practice, no source: powers of neighbouring bands add.
pub fn octave_levels(thirds: &Spectrum) -> Result<Spectrum, WidthError> {
    by_octave(thirds, |three_db| energy_sum(&three_db).expect("three finite levels have a sum"))
}

/// Averages the reductions of thirds to octaves, `-10·lg((1/3)·Σ 10^(-Rᵢ/10))`: the mean of what gets through.
///
/// For R, R′, D and their kin, never for levels. The worst third dominates, as it does in what is heard.
///
/// # Units and shape
/// `thirds`: reductions by third octave, dB. Returns dB for every octave whose three thirds are all there; others are
/// left out.
///
/// # Errors
/// [`WidthError`].
///
/// # Source
/// ISO 16283-1, conversion of third-octave to octave values; from memory.
pub fn octave_reductions(thirds: &Spectrum) -> Result<Spectrum, WidthError> {
    by_octave(thirds, |three_db| {
        -energy_mean(&three_db.map(|reduction_db| -reduction_db))
            .expect("three finite reductions have a mean")
    })
}

/// Shares the level of each octave evenly among its thirds, `L - 10·lg 3`.
///
/// # Units and shape
/// `octaves`: levels by octave, dB. Returns three thirds for each octave, 4.77 dB below it, dB.
///
/// # Errors
/// [`WidthError::WrongFraction`].
///
/// # Source
/// Common practice, no source: nothing else is known, so the octave is taken to be flat.
pub fn assumed_thirds(octaves: &Spectrum) -> Result<AssumedFlat, WidthError> {
    check_fraction(octaves, Fraction::Octave)?;
    let share_db = 10.0 * 3f64.log10();
    let values = octaves
        .values()
        .iter()
        .flat_map(|(octave, level_db)| thirds_of(*octave).map(|third| (third, level_db - share_db)))
        .collect();
    let thirds = Spectrum::of(values).expect("thirds of ascending octaves ascend, and finite levels stay so");
    Ok(AssumedFlat { thirds })
}

fn by_octave(thirds: &Spectrum, join: impl Fn([f64; 3]) -> f64) -> Result<Spectrum, WidthError> {
    check_fraction(thirds, Fraction::Third)?;
    let octave = |octave: Band| {
        let three_db = thirds.pick(&thirds_of(octave)).ok()?;
        Some((octave, join(three_db.try_into().expect("three thirds were picked"))))
    };
    let octaves: Vec<(Band, f64)> = Band::all(Fraction::Octave).filter_map(octave).collect();
    Spectrum::of(octaves).map_err(|_| WidthError::NoWholeOctave)
}

fn check_fraction(spectrum: &Spectrum, needed: Fraction) -> Result<(), WidthError> {
    let got = spectrum.fraction();
    if got == needed { Ok(()) } else { Err(WidthError::WrongFraction { needed, got }) }
}

/// The three thirds of an octave, lowest first.
fn thirds_of(octave: Band) -> [Band; 3] {
    let middle = 3 * octave.index();
    [middle - 1, middle, middle + 1].map(|index| {
        Band::all(Fraction::Third)
            .find(|third| third.index() == index)
            .expect("every octave from 16 Hz to 16 kHz has its thirds from 12.5 Hz to 20 kHz")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const TOLERANCE_DB: f64 = 1e-9;

    fn thirds(hz: &[f64], values_db: &[f64]) -> Spectrum {
        Spectrum::new(Fraction::Third, hz, values_db).unwrap()
    }

    #[test]
    fn octaves_have_their_three_thirds() {
        // IEC 61260-1: the octave at 125 Hz spans the thirds at 100, 125 and 160 Hz; edges coincide.
        for octave in Band::all(Fraction::Octave) {
            let three = thirds_of(octave);
            assert!((three[0].lower_hz() / octave.lower_hz() - 1.0).abs() < 1e-12, "{octave}");
            assert!((three[2].upper_hz() / octave.upper_hz() - 1.0).abs() < 1e-12, "{octave}");
            assert_eq!(three[1].nominal_hz(), octave.nominal_hz());
        }
    }

    #[test]
    fn levels_add_and_reductions_average() {
        // Computed independently with mpmath 1.4; three equal levels add 10 lg 3 (textbook), three equal reductions stay.
        let rows = [
            ([61.2, 58.7, 63.0], Some(66.079725754706), None),
            ([70.0, 70.0, 70.0], Some(74.771212547197), None),
            ([20.4, 16.3, 17.7], None, Some(17.821228852141)),
            ([41.0, 52.5, 38.2], None, Some(41.034510734563)),
            ([30.0, 30.0, 30.0], None, Some(30.0)),
        ];
        for (three_db, level_db, reduction_db) in rows {
            let three = thirds(&[100.0, 125.0, 160.0], &three_db);
            let octave = Band::nominal(Fraction::Octave, 125.0).unwrap();
            let got = [
                (level_db, octave_levels(&three).unwrap()),
                (reduction_db, octave_reductions(&three).unwrap()),
            ];
            for (expected_db, got) in got {
                assert_eq!(got.values().len(), 1);
                if let Some(expected_db) = expected_db {
                    let got_db = got.get(octave).unwrap();
                    assert!((got_db - expected_db).abs() < TOLERANCE_DB, "{three_db:?}: {got_db}");
                }
            }
        }
    }

    #[test]
    fn incomplete_octaves_are_left_out() {
        let some = thirds(&[80.0, 100.0, 125.0, 160.0, 200.0, 250.0], &[60.0; 6]);
        let octaves = octave_levels(&some).unwrap();
        assert_eq!(octaves.values().len(), 1);
        assert_eq!(octaves.values()[0].0.nominal_hz(), 125.0);
        let none = thirds(&[100.0, 160.0, 200.0], &[60.0; 3]);
        assert_eq!(octave_levels(&none), Err(WidthError::NoWholeOctave));
        assert_eq!(octave_reductions(&none), Err(WidthError::NoWholeOctave));
    }

    #[test]
    fn flat_octaves_come_back_whole() {
        let octaves = Spectrum::new(Fraction::Octave, &[63.0, 125.0, 16_000.0], &[70.0, 64.5, 31.0]).unwrap();
        let assumed = assumed_thirds(&octaves).unwrap();
        assert_eq!(assumed.thirds.values().len(), 9);
        // Handbook figure: a third holds 4.77 dB less than its flat octave.
        assert!((assumed.thirds.values()[0].1 - 65.228787452803).abs() < TOLERANCE_DB);
        for ((_, got_db), (_, expected_db)) in
            octave_levels(&assumed.thirds).unwrap().values().iter().zip(octaves.values())
        {
            assert!((got_db - expected_db).abs() < TOLERANCE_DB);
        }
        let wrong = WidthError::WrongFraction { needed: Fraction::Third, got: Fraction::Octave };
        assert_eq!(octave_levels(&octaves), Err(wrong));
        assert!(assumed_thirds(&assumed.thirds).is_err());
    }
}
