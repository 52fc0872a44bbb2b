//! A, C and Z weighting: the analytic curves, the table of the standard, and weighted sums over bands.
//!
//! Leaves out samples: the digital filters of the same curves are [`WeightingFilter`](crate::filters::WeightingFilter).

use std::fmt;

use crate::{Band, Spectrum, levels::power_ratio};

/// A frequency weighting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Curve {
    /// The ear at moderate levels: takes off the bass.
    A,
    /// Nearly flat: takes off only the ends.
    C,
    /// Flat.
    Z,
}

impl fmt::Display for Curve {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::A => "A",
            Self::C => "C",
            Self::Z => "Z",
        })
    }
}

/// A frequency that no weighting has a value for: give one above zero.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{frequency_hz} is not a frequency above 0 Hz")]
pub struct NotAFrequency {
    /// What came in, Hz.
    pub frequency_hz: f64,
}

/// Corner frequencies f1 to f4 of the curves, Hz. IEC 61672-1:2013 Annex E.
pub(crate) const CORNERS_HZ: [f64; 4] = [20.598_997, 107.652_649, 737.862_231, 12_194.217_148];

/// Returns what a weighting adds at a frequency, dB.
///
/// C has a double pole at f1 and at f4, A two more single ones at f2 and f3:
/// `C = 20·lg(f4²f² / ((f²+f1²)(f²+f4²)))`, `A = C + 20·lg(f² / √((f²+f2²)(f²+f3²)))`, each less its own value at 1 kHz.
///
/// # Units and shape
/// `frequency_hz` above 0, Hz. Returns dB: exactly 0 at 1000 Hz, and at every frequency for Z.
///
/// # Errors
/// [`NotAFrequency`].
///
/// # Source
/// IEC 61672-1:2013 Annex E. The value at 1 kHz is computed, where the standard prints 1.9997 and 0.0619 dB.
pub fn weighting_db(curve: Curve, frequency_hz: f64) -> Result<f64, NotAFrequency> {
    if !(frequency_hz.is_finite() && frequency_hz > 0.0) {
        return Err(NotAFrequency { frequency_hz });
    }
    Ok(raw_db(curve, frequency_hz) - raw_db(curve, 1000.0))
}

/// The curve before 1 kHz is made zero. Written in `f/fᵢ`, so that no square overflows.
fn raw_db(curve: Curve, frequency_hz: f64) -> f64 {
    let [f1, f2, f3, f4] = CORNERS_HZ.map(|corner_hz| frequency_hz / corner_hz);
    // 20·lg of a first order high pass at a corner, and of a low pass.
    let high_pass_db = |ratio: f64| 20.0 * (ratio.log10() - ratio.hypot(1.0).log10());
    let low_pass_db = |ratio: f64| -20.0 * ratio.hypot(1.0).log10();
    match curve {
        Curve::Z => 0.0,
        Curve::C => 2.0 * high_pass_db(f1) + 2.0 * low_pass_db(f4),
        Curve::A => raw_db(Curve::C, frequency_hz) + high_pass_db(f2) + high_pass_db(f3),
    }
}

/// How far a meter may lie from the curve at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// How far below, dB, above zero; `None` where nothing is demanded.
    pub below_db: Option<f64>,
    /// How far above, dB, above zero.
    pub above_db: f64,
}

impl Limits {
    /// Whether an error, measured less nominal, lies within.
    pub fn allow(self, error_db: f64) -> bool {
        error_db <= self.above_db && self.below_db.is_none_or(|below_db| error_db >= -below_db)
    }
}

/// How strict a meter's limits are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Class {
    /// For precise work.
    One,
    /// For general work.
    Two,
}

/// One row of the table of the standard.
struct Row {
    hz: f64,
    a_db: f64,
    c_db: f64,
    /// Below and above.
    one_db: (f64, f64),
    two_db: (f64, f64),
}

const fn row(hz: f64, a_db: f64, c_db: f64, one_db: (f64, f64), two_db: (f64, f64)) -> Row {
    Row { hz, a_db, c_db, one_db, two_db }
}

/// No lower limit.
const NONE: f64 = f64::INFINITY;

/// IEC 61672-1:2013 Table 3: nominal A and C, class 1; class 2 from memory of the same table.
#[rustfmt::skip]
const TABLE: [Row; 34] = [
    row(10.0,     -70.4, -14.3, (NONE, 3.0), (NONE, 5.0)),
    row(12.5,     -63.4, -11.2, (NONE, 2.5), (NONE, 5.0)),
    row(16.0,     -56.7,  -8.5, (4.0, 2.0),  (NONE, 5.0)),
    row(20.0,     -50.5,  -6.2, (2.0, 2.0),  (3.0, 3.0)),
    row(25.0,     -44.7,  -4.4, (1.5, 2.0),  (3.0, 3.0)),
    row(31.5,     -39.4,  -3.0, (1.5, 1.5),  (3.0, 3.0)),
    row(40.0,     -34.6,  -2.0, (1.0, 1.0),  (2.0, 2.0)),
    row(50.0,     -30.2,  -1.3, (1.0, 1.0),  (2.0, 2.0)),
    row(63.0,     -26.2,  -0.8, (1.0, 1.0),  (2.0, 2.0)),
    row(80.0,     -22.5,  -0.5, (1.0, 1.0),  (2.0, 2.0)),
    row(100.0,    -19.1,  -0.3, (1.0, 1.0),  (1.5, 1.5)),
    row(125.0,    -16.1,  -0.2, (1.0, 1.0),  (1.5, 1.5)),
    row(160.0,    -13.4,  -0.1, (1.0, 1.0),  (1.5, 1.5)),
    row(200.0,    -10.9,   0.0, (1.0, 1.0),  (1.5, 1.5)),
    row(250.0,     -8.6,   0.0, (1.0, 1.0),  (1.5, 1.5)),
    row(315.0,     -6.6,   0.0, (1.0, 1.0),  (1.5, 1.5)),
    row(400.0,     -4.8,   0.0, (1.0, 1.0),  (1.5, 1.5)),
    row(500.0,     -3.2,   0.0, (1.0, 1.0),  (1.5, 1.5)),
    row(630.0,     -1.9,   0.0, (1.0, 1.0),  (1.5, 1.5)),
    row(800.0,     -0.8,   0.0, (1.0, 1.0),  (1.5, 1.5)),
    row(1000.0,     0.0,   0.0, (0.7, 0.7),  (1.0, 1.0)),
    row(1250.0,     0.6,   0.0, (1.0, 1.0),  (1.5, 1.5)),
    row(1600.0,     1.0,  -0.1, (1.0, 1.0),  (2.0, 2.0)),
    row(2000.0,     1.2,  -0.2, (1.0, 1.0),  (2.0, 2.0)),
    row(2500.0,     1.3,  -0.3, (1.0, 1.0),  (2.5, 2.5)),
    row(3150.0,     1.2,  -0.5, (1.0, 1.0),  (2.5, 2.5)),
    row(4000.0,     1.0,  -0.8, (1.0, 1.0),  (3.0, 3.0)),
    row(5000.0,     0.5,  -1.3, (1.5, 1.5),  (3.5, 3.5)),
    row(6300.0,    -0.1,  -2.0, (2.0, 1.5),  (4.5, 4.5)),
    row(8000.0,    -1.1,  -3.0, (2.5, 1.5),  (5.0, 5.0)),
    row(10_000.0,  -2.5,  -4.4, (3.0, 2.0),  (NONE, 5.0)),
    row(12_500.0,  -4.3,  -6.2, (5.0, 2.0),  (NONE, 5.0)),
    row(16_000.0,  -6.6,  -8.5, (16.0, 2.5), (NONE, 5.0)),
    row(20_000.0,  -9.3, -11.2, (NONE, 3.0), (NONE, 5.0)),
];

fn row_of(band: Band) -> &'static Row {
    let same_label = |row: &&Row| (row.hz - band.nominal_hz()).abs() < 1e-9;
    TABLE
        .iter()
        .find(same_label)
        .expect("every octave and third has its label in the table, a test walks them all")
}

/// Returns what a weighting adds to a band, dB, as the standard prints it to a tenth.
///
/// # Source
/// IEC 61672-1:2013 Table 3, at the nominal mid-band.
pub fn table_db(curve: Curve, band: Band) -> f64 {
    match curve {
        Curve::A => row_of(band).a_db,
        Curve::C => row_of(band).c_db,
        Curve::Z => 0.0,
    }
}

/// Returns how far a meter of a class may lie from the curve at a band's nominal frequency.
///
/// # Source
/// IEC 61672-1:2013 Table 3; class 2 from memory.
pub fn limits(class: Class, band: Band) -> Limits {
    let row = row_of(band);
    let (below_db, above_db) = match class {
        Class::One => row.one_db,
        Class::Two => row.two_db,
    };
    Limits { below_db: below_db.is_finite().then_some(below_db), above_db }
}

/// Adds the bands of a spectrum with a weighting, `10·lg Σ 10^((Lᵢ+Wᵢ)/10)`.
///
/// A sum over bands knows nothing of what lies outside them: it reads low where the spectrum leaves loud bands out.
/// It weights levels; a difference of levels has no weighting, so weight both and subtract.
///
/// # Units and shape
/// `levels_db`: unweighted band levels, dB. Returns dB.
///
/// # Source
/// Common practice with the values of IEC 61672-1:2013 Table 3.
pub fn weighted_level_db(curve: Curve, levels_db: &Spectrum) -> f64 {
    let weighted = levels_db.values().iter().map(|(band, level_db)| level_db + table_db(curve, *band));
    let loudest_db = weighted.clone().fold(f64::NEG_INFINITY, f64::max);
    // Relative to the loudest, every term lies in [0, 1]; a spectrum is never empty, so the sum is at least 1.
    loudest_db + 10.0 * weighted.map(|level_db| power_ratio(level_db - loudest_db)).sum::<f64>().log10()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Fraction;

    #[test]
    fn the_formula_agrees_with_the_printed_table() {
        // IEC 61672-1:2013: Table 3 is the curve at the exact frequency 10^(n/10) Hz, rounded to a tenth.
        let thirds: Vec<Band> = Band::all(Fraction::Third).collect();
        assert_eq!(thirds.len(), TABLE.len());
        for band in thirds {
            for curve in [Curve::A, Curve::C, Curve::Z] {
                let gap_db = weighting_db(curve, band.exact_hz()).unwrap() - table_db(curve, band);
                assert!(gap_db.abs() <= 0.0501, "{curve} at {band}: {gap_db}");
            }
        }
    }

    #[test]
    fn published_values_match() {
        // Computed independently with mpmath 1.4 from the corner frequencies of IEC 61672-1:2013 Annex E.
        let rows = [
            (Curve::A, 100.0, -19.142_776_910_5),
            (Curve::C, 100.0, -0.299_635_840_3),
            (Curve::A, 31.5, -39.524_994_261_6),
            (Curve::C, 31.5, -3.030_486_643_9),
            (Curve::A, 12_500.0, -4.254_181_850_1),
            (Curve::C, 20_000.0, -11.278_632_675_0),
            (Curve::A, 1.0, -148.575_016_352),
        ];
        for (curve, hz, expected_db) in rows {
            let got_db = weighting_db(curve, hz).unwrap();
            assert!((got_db - expected_db).abs() < 1e-6, "{curve} at {hz} Hz: {got_db}");
        }
        for curve in [Curve::A, Curve::C, Curve::Z] {
            assert_eq!(weighting_db(curve, 1000.0), Ok(0.0));
        }
    }

    #[test]
    fn the_offsets_are_those_the_standard_prints() {
        // IEC 61672-1:2013 Annex E, from memory: A1000 = -2.000 dB and C1000 = -0.062 dB to three decimals.
        assert!((raw_db(Curve::A, 1000.0) + 2.0).abs() < 0.0005);
        assert!((raw_db(Curve::C, 1000.0) + 0.062).abs() < 0.0005);
    }

    #[test]
    fn octaves_share_the_values_of_their_middle_third() {
        for octave in Band::all(Fraction::Octave) {
            let third = Band::nominal(Fraction::Third, octave.nominal_hz()).unwrap();
            assert_eq!(table_db(Curve::A, octave), table_db(Curve::A, third));
            assert_eq!(limits(Class::One, octave), limits(Class::One, third));
        }
    }

    #[test]
    fn class_two_never_asks_more_than_class_one() {
        for band in Band::all(Fraction::Third) {
            let (one, two) = (limits(Class::One, band), limits(Class::Two, band));
            assert!(two.above_db >= one.above_db, "{band}");
            assert!(two.allow(-one.below_db.unwrap_or(200.0)), "{band}");
        }
        let at_10k = limits(Class::One, Band::nominal(Fraction::Third, 10_000.0).unwrap());
        assert!(at_10k.allow(-3.0) && !at_10k.allow(-3.1) && at_10k.allow(2.0) && !at_10k.allow(2.1));
    }

    #[test]
    fn bands_add_up_weighted() {
        // Computed independently with numpy 2.4 from the table's values.
        let octaves = [125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0];
        let spectrum =
            Spectrum::new(Fraction::Octave, &octaves, &[70.0, 68.0, 65.0, 62.0, 58.0, 50.0]).unwrap();
        let rows = [(Curve::A, 67.137_042_973), (Curve::C, 73.282_247_411), (Curve::Z, 73.382_114_195)];
        for (curve, expected_db) in rows {
            let got_db = weighted_level_db(curve, &spectrum);
            assert!((got_db - expected_db).abs() < 1e-6, "{curve}: {got_db}");
        }
        let loud = Spectrum::new(Fraction::Third, &[1000.0], &[9000.0]).unwrap();
        assert_eq!(weighted_level_db(Curve::A, &loud), 9000.0);
    }

    #[test]
    fn frequencies_that_are_none_are_refused() {
        for hz in [0.0, -100.0, f64::NAN, f64::INFINITY] {
            assert!(weighting_db(Curve::A, hz).is_err(), "{hz}");
        }
        assert!(weighting_db(Curve::A, f64::MIN_POSITIVE).unwrap().is_finite());
        assert!(weighting_db(Curve::C, f64::MAX).unwrap().is_finite());
    }
}
