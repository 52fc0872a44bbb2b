//! The weighted index and spectrum adaptation terms of ISO 717-1: Rw, R′w, Dw, Dn,w, DnT,w with C and Ctr.
//!
//! Integer tenths throughout, so that a sum of exactly 32.0 dB is that. Leaves out what the number is called: see
//! [`Quantity`](super::Quantity).

use std::fmt;

use super::contour::Fit;
use super::{Quantity, RatingError, bands, core_values, half_up};
use crate::bands::{Band, Fraction, Spectrum};
use crate::levels::power_ratio;

/// The reference curve at 500 Hz, dB; the rating is its shifted value.
const REFERENCE_500_DB: i64 = 52;

/// Reference values 100 to 3150 Hz, dB. ISO 717-1:2020 Table 3.
const REFERENCE_THIRDS_DB: &[i64] = &[33, 36, 39, 42, 45, 48, 51, 52, 53, 54, 55, 56, 56, 56, 56, 56];

/// Reference values 125 to 2000 Hz, dB. ISO 717-1:2020 Table 3.
const REFERENCE_OCTAVES_DB: &[i64] = &[36, 45, 52, 55, 56];

/// Spectrum no. 1 (living, A-weighted pink noise) 50 to 3150 Hz, dB. ISO 717-1:2020 Table 4 and Annex B.
const LIVING_THIRDS_DB: &[i64] =
    &[-40, -36, -33, -29, -26, -23, -21, -19, -17, -15, -13, -12, -11, -10, -9, -9, -9, -9, -9];

/// Spectrum no. 1 for ranges up to 5000 Hz, from 50 Hz, dB. ISO 717-1:2020 Annex B.
const LIVING_WIDE_DB: &[i64] = &[
    -41, -37, -34, -30, -27, -24, -22, -20, -18, -16, -14, -13, -12, -11, -10, -10, -10, -10, -10, -10, -10,
];

/// Spectrum no. 2 (town traffic) 50 to 5000 Hz, dB. ISO 717-1:2020 Table 4 and Annex B.
const TRAFFIC_THIRDS_DB: &[i64] =
    &[-25, -23, -21, -20, -20, -18, -16, -15, -14, -13, -12, -11, -9, -8, -9, -10, -11, -13, -15, -16, -18];

/// Spectra no. 1 and 2, 125 to 2000 Hz, dB. ISO 717-1:2020 Table 4.
const LIVING_OCTAVES_DB: &[i64] = &[-21, -14, -8, -5, -4];
const TRAFFIC_OCTAVES_DB: &[i64] = &[-14, -10, -7, -4, -6];

/// Where 100 and 3150 Hz lie among the thirds from 50 to 5000 Hz.
const FIRST_CORE: usize = 3;
const AFTER_CORE: usize = 19;

/// A rating by ISO 717-1 with all that led to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Iso717 {
    /// Whether it was made from octaves or thirds; the two are not interchangeable.
    pub fraction: Fraction,
    /// The weighted index, dB.
    pub rating_db: i32,
    /// How far the reference curve was moved, dB.
    pub shift_db: i32,
    /// The unfavourable deviation in each core band, tenths of a dB, lowest band first.
    pub deviations_tenth_db: Vec<(Band, i32)>,
    /// C, for living noise, dB.
    pub c_db: i32,
    /// Ctr, for town traffic and music with bass, dB.
    pub ctr_db: i32,
    /// Terms of the wider ranges, where every third from 50 to 5000 Hz was given.
    pub extended: Option<Extended>,
    /// The index with the curve moved in steps of 0.1 dB, dB: for comparing two tests, never as the rating itself.
    pub tenths_rating_db: f64,
}

/// Adaptation terms of the wider frequency ranges, dB.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each field is a term with its range in Hz")]
pub struct Extended {
    pub c_50_3150_db: i32,
    pub c_50_5000_db: i32,
    pub c_100_5000_db: i32,
    pub ctr_50_3150_db: i32,
    pub ctr_50_5000_db: i32,
    pub ctr_100_5000_db: i32,
}

impl Iso717 {
    /// The sum of unfavourable deviations, tenths of a dB.
    pub fn sum_tenth_db(&self) -> i32 {
        self.deviations_tenth_db.iter().map(|(_, tenths)| tenths).sum()
    }

    /// The sum of unfavourable deviations, dB.
    pub fn sum_db(&self) -> f64 {
        f64::from(self.sum_tenth_db()) / 10.0
    }

    /// The bands that hold the rating down: those that fall short of the curve.
    pub fn deciding(&self) -> Vec<Band> {
        self.deviations_tenth_db.iter().filter(|(_, tenths)| *tenths > 0).map(|(band, _)| *band).collect()
    }

    /// The reference curve where it came to rest, dB, for a chart: lowest core band first.
    pub fn curve_db(&self) -> Vec<(Band, f64)> {
        let reference = match self.fraction {
            Fraction::Third => REFERENCE_THIRDS_DB,
            Fraction::Octave => REFERENCE_OCTAVES_DB,
        };
        let bands = self.deviations_tenth_db.iter().map(|(band, _)| *band);
        bands.zip(reference).map(|(band, curve)| (band, *curve as f64 + f64::from(self.shift_db))).collect()
    }

    /// The rating as it is reported, `R'w (C; Ctr) = 30 (-2; -3) dB`.
    pub fn stated(&self, quantity: Quantity) -> String {
        format!("{} (C; Ctr) = {self}", quantity.weighted_name())
    }
}

/// The numbers alone, `30 (-2; -3) dB`.
impl fmt::Display for Iso717 {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({}; {}) dB", self.rating_db, self.c_db, self.ctr_db)
    }
}

/// Rates airborne sound insulation by bands: the weighted index with its adaptation terms.
///
/// Each value is first rounded to 0.1 dB. The reference curve is moved in whole dB as high as the sum of unfavourable
/// deviations `max(0, reference - value)` allows: 32.0 dB over sixteen thirds, 10.0 dB over five octaves, the limit itself
/// included. The rating is the moved curve at 500 Hz. A term is `X_Aj - Xw`, `X_Aj = -10·lg Σ 10^((L_ij - X_i)/10)` rounded to
/// whole dB. Halves go up.
///
/// # Units and shape
/// `spectrum`: R, R′, D, Dn or DnT, dB; every third from 100 to 3150 Hz or every octave from 125 to 2000 Hz. Bands outside
/// touch nothing but the extended terms, which need all 21 thirds from 50 to 5000 Hz.
///
/// # Errors
/// [`RatingError`].
///
/// # Source
/// ISO 717-1:2020 clauses 4.4 and 4.5, Annex B.
pub fn iso717(spectrum: &Spectrum) -> Result<Iso717, RatingError> {
    let core = Core::of(spectrum.fraction());
    let tenths = in_tenths(&core_values(spectrum, &core.bands)?);
    let contour: Vec<i64> = core.reference_db.iter().map(|reference_db| 10 * reference_db).collect();
    let fit = Fit { contour: &contour, values: &tenths };
    let allowed = |short: &[i64]| short.iter().sum::<i64>() <= core.sum_limit_tenth_db;
    let shift = fit.highest(10, allowed);
    let fine_shift = fit.highest(1, allowed);
    let rating_db = whole(REFERENCE_500_DB + shift / 10);
    let deviations = fit.deficiencies(shift).into_iter().map(whole);
    Ok(Iso717 {
        fraction: spectrum.fraction(),
        rating_db,
        shift_db: whole(shift / 10),
        deviations_tenth_db: core.bands.iter().copied().zip(deviations).collect(),
        c_db: adapted_db(&tenths, core.living_db) - rating_db,
        ctr_db: adapted_db(&tenths, core.traffic_db) - rating_db,
        extended: extended(spectrum, rating_db)?,
        tenths_rating_db: (10 * REFERENCE_500_DB + fine_shift) as f64 / 10.0,
    })
}

/// What a rating is made of, by the width of its bands.
struct Core {
    bands: Vec<Band>,
    reference_db: &'static [i64],
    sum_limit_tenth_db: i64,
    living_db: &'static [i64],
    traffic_db: &'static [i64],
}

impl Core {
    fn of(fraction: Fraction) -> Self {
        match fraction {
            Fraction::Third => Self {
                bands: bands(fraction, 100.0, 3150.0),
                reference_db: REFERENCE_THIRDS_DB,
                sum_limit_tenth_db: 320,
                living_db: &LIVING_THIRDS_DB[FIRST_CORE..],
                traffic_db: &TRAFFIC_THIRDS_DB[FIRST_CORE..AFTER_CORE],
            },
            Fraction::Octave => Self {
                bands: bands(fraction, 125.0, 2000.0),
                reference_db: REFERENCE_OCTAVES_DB,
                sum_limit_tenth_db: 100,
                living_db: LIVING_OCTAVES_DB,
                traffic_db: TRAFFIC_OCTAVES_DB,
            },
        }
    }
}

/// The terms of the wider ranges against the rating of the core range; absent unless all 21 thirds are there.
fn extended(spectrum: &Spectrum, rating_db: i32) -> Result<Option<Extended>, RatingError> {
    let wide = bands(Fraction::Third, 50.0, 5000.0);
    if wide.iter().any(|band| spectrum.get(*band).is_none()) {
        return Ok(None);
    }
    let tenths = in_tenths(&core_values(spectrum, &wide)?);
    let term = |from: usize, to: usize, spectrum_db: &[i64]| {
        adapted_db(&tenths[from..to], &spectrum_db[from..to]) - rating_db
    };
    let all = tenths.len();
    Ok(Some(Extended {
        c_50_3150_db: term(0, AFTER_CORE, LIVING_THIRDS_DB),
        c_50_5000_db: term(0, all, LIVING_WIDE_DB),
        c_100_5000_db: term(FIRST_CORE, all, LIVING_WIDE_DB),
        ctr_50_3150_db: term(0, AFTER_CORE, TRAFFIC_THIRDS_DB),
        ctr_50_5000_db: term(0, all, TRAFFIC_THIRDS_DB),
        ctr_100_5000_db: term(FIRST_CORE, all, TRAFFIC_THIRDS_DB),
    }))
}

/// `-10·lg Σ 10^((L - X)/10)` in whole dB, halves up.
fn adapted_db(tenths: &[i64], spectrum_db: &[i64]) -> i32 {
    whole(half_up(unrounded_adapted_db(tenths, spectrum_db), 1.0))
}

fn unrounded_adapted_db(tenths: &[i64], spectrum_db: &[i64]) -> f64 {
    let through = tenths.iter().zip(spectrum_db).map(|(value, level)| (10 * level - value) as f64 / 10.0);
    -10.0 * through.map(power_ratio).sum::<f64>().log10()
}

fn in_tenths(values_db: &[f64]) -> Vec<i64> {
    values_db.iter().map(|value_db| half_up(*value_db, 10.0)).collect()
}

fn whole(value: i64) -> i32 {
    i32::try_from(value).expect("values within 1000 dB give ratings and sums of that size")
}

#[cfg(test)]
mod tests {
    use super::*;

    const THIRDS_HZ: [f64; 16] = [
        100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0,
        2500.0, 3150.0,
    ];
    /// ISO 717-1:2020 Annex C, Table C.1.
    const TABLE_C1_DB: [f64; 16] =
        [20.4, 16.3, 17.7, 22.6, 22.4, 22.7, 24.8, 26.6, 28.0, 30.5, 31.8, 32.5, 33.4, 33.0, 31.0, 25.5];

    fn thirds(values_db: &[f64]) -> Spectrum {
        Spectrum::new(Fraction::Third, &THIRDS_HZ, values_db).unwrap()
    }

    #[test]
    fn annex_c_is_reproduced() {
        // ISO 717-1:2020 Annex C, Table C.1: deviations, sum, rating and terms as printed there.
        let got = iso717(&thirds(&TABLE_C1_DB)).unwrap();
        let deviations: Vec<i32> = got.deviations_tenth_db.iter().map(|(_, tenths)| *tenths).collect();
        assert_eq!(deviations, [0, 0, 0, 0, 6, 33, 42, 34, 30, 15, 12, 15, 6, 10, 30, 85]);
        assert_eq!((got.rating_db, got.shift_db, got.sum_tenth_db()), (30, -22, 318));
        assert_eq!((got.c_db, got.ctr_db, got.extended), (-2, -3, None));
        assert_eq!(got.stated(Quantity::R), "Rw (C; Ctr) = 30 (-2; -3) dB");
        assert_eq!(got.deciding().len(), 12);
        let tenths = in_tenths(&TABLE_C1_DB);
        let core = Core::of(Fraction::Third);
        // The sums printed below the table, 28.31 and 26.86 dB.
        assert!((unrounded_adapted_db(&tenths, core.living_db) - 28.31).abs() < 0.005);
        assert!((unrounded_adapted_db(&tenths, core.traffic_db) - 26.86).abs() < 0.005);
    }

    #[test]
    fn annex_c_with_wider_ranges_is_reproduced() {
        // ISO 717-1:2020 Annex C, Table C.2: C50-5000 -2 and Ctr,50-5000 -4. The other terms: computed independently with
        // exact fractions and mpmath 1.4.
        let hz: Vec<f64> =
            [&[50.0, 63.0, 80.0][..], &THIRDS_HZ, &[4000.0, 5000.0]].into_iter().flatten().copied().collect();
        let values_db: Vec<f64> =
            [&[18.7, 19.2, 20.0][..], &TABLE_C1_DB, &[26.8, 29.2]].into_iter().flatten().copied().collect();
        let spectrum = Spectrum::new(Fraction::Third, &hz, &values_db).unwrap();
        let got = iso717(&spectrum).unwrap();
        let extended = got.extended.unwrap();
        assert_eq!((extended.c_50_5000_db, extended.ctr_50_5000_db), (-2, -4));
        assert_eq!((got.rating_db, got.c_db, got.ctr_db), (30, -2, -3));
        assert_eq!((extended.c_50_3150_db, extended.c_100_5000_db), (-2, -2));
        assert_eq!((extended.ctr_50_3150_db, extended.ctr_100_5000_db), (-4, -3));
    }

    #[test]
    fn octaves_match() {
        // Computed independently with exact fractions and mpmath 1.4.
        let octaves = Spectrum::new(
            Fraction::Octave,
            &[125.0, 250.0, 500.0, 1000.0, 2000.0],
            &[26.0, 34.0, 42.0, 47.0, 44.0],
        )
        .unwrap();
        let got = iso717(&octaves).unwrap();
        assert_eq!((got.shift_db, got.sum_tenth_db()), (-9, 70));
        assert_eq!(got.to_string(), "43 (-1; -5) dB");
    }

    #[test]
    fn a_sum_of_exactly_the_limit_is_allowed() {
        // By hand: the reference itself, every band 2.0 dB short, sums to 32.0; one tenth more in one band does not pass.
        let reference: Vec<f64> =
            REFERENCE_THIRDS_DB.iter().map(|reference_db| *reference_db as f64).collect();
        let at_limit: Vec<f64> = reference.iter().map(|value_db| value_db - 2.0).collect();
        let got = iso717(&thirds(&at_limit)).unwrap();
        assert_eq!((got.rating_db, got.sum_tenth_db()), (52, 320));
        let mut beyond = at_limit.clone();
        beyond[4] -= 0.1;
        let got = iso717(&thirds(&beyond)).unwrap();
        assert_eq!((got.rating_db, got.sum_tenth_db()), (51, 161));
        assert_eq!(got.tenths_rating_db, 51.9);
        let octaves_db: Vec<f64> =
            REFERENCE_OCTAVES_DB.iter().map(|value_db| *value_db as f64 - 2.0).collect();
        let hz = [125.0, 250.0, 500.0, 1000.0, 2000.0];
        let got = iso717(&Spectrum::new(Fraction::Octave, &hz, &octaves_db).unwrap()).unwrap();
        assert_eq!((got.rating_db, got.sum_tenth_db()), (52, 100));
    }

    #[test]
    fn values_are_rounded_to_tenths_first() {
        // By hand: 2.04 dB short counts as 2.0, sixteen times 32.0 and not 32.64.
        let values_db: Vec<f64> =
            REFERENCE_THIRDS_DB.iter().map(|reference_db| *reference_db as f64 - 2.04).collect();
        assert_eq!(iso717(&thirds(&values_db)).unwrap().rating_db, 52);
    }
}
