//! The single-number class of ASTM E413: STC, ASTC, NIC, NNIC, from one contour.
//!
//! Leaves out which of the names a result may bear: see [`AstmQuantity`](super::AstmQuantity).

use super::contour::Fit;
use super::{RatingError, bands, core_values, half_up};
use crate::bands::{Band, Fraction, Spectrum};

/// The contour relative to its value at 500 Hz, 125 to 4000 Hz, dB. ASTM E413.
const CONTOUR_DB: &[i64] = &[-16, -13, -10, -7, -4, -1, 0, 1, 2, 3, 4, 4, 4, 4, 4, 4];

/// The most that all deficiencies together may be, dB. ASTM E413.
const SUM_LIMIT_DB: i64 = 32;

/// The most that one deficiency may be, dB. ASTM E413.
const SINGLE_LIMIT_DB: i64 = 8;

/// What is done to the values before the contour is laid over them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Rounding {
    /// Whole dB, halves up: the practice under ASTM E90 and E413-87, and the default here.
    WholeDb,
    /// As given, to a millionth of a dB.
    AsGiven,
}

impl Rounding {
    /// Steps to a dB: an integer keeps 32 and 8 dB exact.
    fn per_db(self) -> i64 {
        match self {
            Self::WholeDb => 1,
            Self::AsGiven => 1_000_000,
        }
    }
}

/// Which rule kept the contour from going higher.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LimitedBy {
    /// The sum of 32 dB, alone or together with the other rule.
    Sum,
    /// The rule of 8 dB in one band, alone: one band is out of line, like a leak or a coincidence dip.
    Single,
}

/// A class with all that led to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Stc {
    /// The class, dB: the contour's value at 500 Hz.
    pub rating_db: i32,
    /// How far each band from 125 to 4000 Hz falls short of the contour, dB, lowest band first.
    pub deficiencies_db: Vec<(Band, f64)>,
    /// The rule that stopped the contour.
    pub limited_by: LimitedBy,
    /// What the class would be by the sum alone, dB.
    pub rating_without_single_limit_db: i32,
    /// The bands to improve first: with [`LimitedBy::Single`] those beyond 8 dB one step up, else all that would fall short
    /// there.
    pub deciding: Vec<Band>,
}

impl Stc {
    /// The contour where it came to rest, dB, for a chart: lowest band first.
    pub fn contour_db(&self) -> Vec<(Band, f64)> {
        let bands = self.deficiencies_db.iter().map(|(band, _)| *band);
        bands.zip(CONTOUR_DB).map(|(band, off)| (band, f64::from(self.rating_db) + *off as f64)).collect()
    }

    /// The sum of the deficiencies, dB, at most 32.
    pub fn sum_db(&self) -> f64 {
        self.deficiencies_db.iter().map(|(_, deficiency_db)| deficiency_db).sum()
    }
}

/// Classes airborne sound insulation by the contour of ASTM E413.
///
/// The class is the highest whole number at which the deficiencies `max(0, contour - value)` sum to at most 32 dB and none is
/// over 8 dB; both limits themselves are allowed.
///
/// # Units and shape
/// `spectrum`: TL, ATL, NR or NNR by third octave, dB; every band from 125 to 4000 Hz, others are ignored.
///
/// # Errors
/// [`RatingError`].
///
/// # Source
/// ASTM E413; rounding to whole dB first is the practice under ASTM E90 and E413-87.
pub fn stc(spectrum: &Spectrum, rounding: Rounding) -> Result<Stc, RatingError> {
    let core = bands(Fraction::Third, 125.0, 4000.0);
    let one_db = rounding.per_db();
    let values: Vec<i64> =
        core_values(spectrum, &core)?.iter().map(|value_db| half_up(*value_db, one_db as f64)).collect();
    let contour: Vec<i64> = CONTOUR_DB.iter().map(|contour_db| contour_db * one_db).collect();
    let fit = Fit { contour: &contour, values: &values };
    let sum_allows = |short: &[i64]| short.iter().sum::<i64>() <= SUM_LIMIT_DB * one_db;
    let beyond = |deficiency: i64| deficiency > SINGLE_LIMIT_DB * one_db;
    let by_sum = fit.highest(one_db, sum_allows);
    let shift = fit.highest(one_db, |short| sum_allows(short) && !short.iter().any(|its| beyond(*its)));
    let limited_by = if by_sum > shift { LimitedBy::Single } else { LimitedBy::Sum };
    let holds_down = |deficiency: i64| match limited_by {
        LimitedBy::Single => beyond(deficiency),
        LimitedBy::Sum => deficiency > 0,
    };
    let one_up = core.iter().zip(fit.deficiencies(shift + one_db));
    let deciding = one_up.filter(|(_, short)| holds_down(*short)).map(|(band, _)| *band).collect();
    let short_db = fit.deficiencies(shift).into_iter().map(|short| short as f64 / one_db as f64);
    Ok(Stc {
        rating_db: whole(shift / one_db),
        deficiencies_db: core.iter().copied().zip(short_db).collect(),
        limited_by,
        rating_without_single_limit_db: whole(by_sum / one_db),
        deciding,
    })
}

fn whole(value: i64) -> i32 {
    i32::try_from(value).expect("values within 1000 dB give a class of that size")
}

#[cfg(test)]
mod tests {
    use super::*;

    const THIRDS_HZ: [f64; 16] = [
        125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0,
        2500.0, 3150.0, 4000.0,
    ];

    fn class(values_db: &[f64], rounding: Rounding) -> Stc {
        stc(&Spectrum::new(Fraction::Third, &THIRDS_HZ, values_db).unwrap(), rounding).unwrap()
    }

    fn deficiencies(class: &Stc) -> Vec<f64> {
        class.deficiencies_db.iter().map(|(_, deficiency_db)| *deficiency_db).collect()
    }

    #[test]
    fn a_wall_held_by_the_sum_matches() {
        // Computed independently with exact fractions.
        let values_db = [15., 19., 24., 28., 32., 35., 38., 40., 42., 43., 44., 45., 42., 36., 38., 41.];
        let got = class(&values_db, Rounding::WholeDb);
        assert_eq!((got.rating_db, got.limited_by, got.sum_db()), (37, LimitedBy::Sum, 26.0));
        assert_eq!(deficiencies(&got), [6., 5., 3., 2., 1., 1., 0., 0., 0., 0., 0., 0., 0., 5., 3., 0.]);
        assert_eq!(got.rating_without_single_limit_db, 37);
    }

    #[test]
    fn a_leak_at_4_khz_is_named() {
        // Computed independently with exact fractions: 34 with the 8 dB rule, 41 without.
        let values_db = [24., 27., 30., 33., 36., 39., 40., 41., 42., 43., 44., 44., 44., 44., 44., 30.];
        let got = class(&values_db, Rounding::WholeDb);
        assert_eq!((got.rating_db, got.rating_without_single_limit_db), (34, 41));
        assert_eq!(got.limited_by, LimitedBy::Single);
        assert_eq!(got.deficiencies_db[15].1, 8.0);
        assert_eq!(got.deciding, [Band::nominal(Fraction::Third, 4000.0).unwrap()]);
    }

    #[test]
    fn rounding_is_an_option() {
        // Rating 29 and sum 25.579 as given: the worked example of the Python package pyacoustics-stc 0.4.0; 24 when rounded
        // first computed independently with exact fractions.
        let values_db = [
            11.66, 13.303, 14.825, 20.861, 22.868, 24.943, 26.881, 28.889, 30.964, 32.902, 34.84, 36.984,
            38.923, 40.861, 27.557, 30.67,
        ];
        let given = class(&values_db, Rounding::AsGiven);
        assert_eq!(given.rating_db, 29);
        assert!((given.sum_db() - 25.579).abs() < 1e-9, "{}", given.sum_db());
        let rounded = class(&values_db, Rounding::WholeDb);
        assert_eq!((rounded.rating_db, rounded.sum_db()), (29, 24.0));
    }

    #[test]
    fn both_limits_themselves_are_allowed() {
        // By hand from the contour at 40: 2 dB short everywhere is 32; 8 dB in one band alone passes, 8.1 does not.
        let at_40: Vec<f64> = CONTOUR_DB.iter().map(|contour_db| (40 + contour_db) as f64).collect();
        let short: Vec<f64> = at_40.iter().map(|value_db| value_db - 2.0).collect();
        let got = class(&short, Rounding::WholeDb);
        assert_eq!((got.rating_db, got.sum_db(), got.limited_by), (40, 32.0, LimitedBy::Sum));
        let mut one_short = at_40.clone();
        one_short[7] -= 8.0;
        let got = class(&one_short, Rounding::AsGiven);
        assert_eq!((got.rating_db, got.limited_by), (40, LimitedBy::Single));
        one_short[7] = at_40[7] - 8.1;
        assert_eq!(class(&one_short, Rounding::AsGiven).rating_db, 39);
        assert_eq!(class(&one_short, Rounding::WholeDb).rating_db, 40);
    }

    #[test]
    fn both_rules_stopping_the_same_step_is_the_sum() {
        // By hand: 8 dB short in one band and 24 more spread over the rest is 32; the next step breaks both.
        let mut values_db: Vec<f64> = CONTOUR_DB.iter().map(|contour_db| (40 + contour_db) as f64).collect();
        values_db[0] -= 8.0;
        for value_db in &mut values_db[1..13] {
            *value_db -= 2.0;
        }
        let got = class(&values_db, Rounding::WholeDb);
        assert_eq!((got.rating_db, got.sum_db(), got.limited_by), (40, 32.0, LimitedBy::Sum));
        assert_eq!(got.deciding.len(), 16);
    }
}
