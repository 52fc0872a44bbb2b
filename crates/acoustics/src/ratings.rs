//! Single numbers from bands: the weighted index of ISO 717-1, the class of ASTM E413, the outdoor class of ASTM E1332.
//!
//! Reading order: [`iso717`], [`stc`], [`oitc`], then [`rating_sense`] for bands that are only bounds, [`Quantity`] and
//! [`AstmQuantity`] for what a result may be called, and [`band_uncertainty_db`] for how far it is to be trusted. Bands are
//! matched by label, never by position. Leaves out impact sound, and the levels the bands come from.

mod bounded;
mod contour;
mod names;
mod outdoor;
mod sound_class;
mod uncertainty;
mod weighted;

use crate::bands::{Band, Fraction, Spectrum};

pub use bounded::rating_sense;
pub use names::{AstmQuantity, Quantity};
pub use outdoor::{Oitc, oitc};
pub use sound_class::{LimitedBy, Rounding, Stc, stc};
pub use uncertainty::{RatedAs, Situation, band_uncertainty_db, rating_uncertainty_db, smallest_change_db};
pub use weighted::{Extended, Iso717, iso717};

/// The largest value, up or down, that a band may have, dB. No partition comes near it.
pub const LARGEST_DB: f64 = 1000.0;

/// Why bands have no rating.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum RatingError {
    /// Measure the missing bands, or read them in; a rating is never made from fewer.
    #[error(
        "{given} {} given; {} missing: the rating needs every {fraction} band from {first} to {last}",
        if *given == 1 { "band was" } else { "bands were" },
        listed(missing)
    )]
    Missing { given: usize, fraction: Fraction, first: Band, last: Band, missing: Vec<Band> },
    /// Rate the thirds, or measure them: octaves do not say what their thirds were.
    #[error("{got} bands were given, but the rating is made from {needed} bands")]
    WrongFraction { needed: Fraction, got: Fraction },
    /// No wall does that: look for a slip of the pen.
    #[error("the value of {value_db} dB at {band} lies beyond what any partition does")]
    TooLarge { band: Band, value_db: f64 },
}

/// Bands as a person reads them out: `250 Hz is`, `250 Hz and 315 Hz are`.
fn listed(bands: &[Band]) -> String {
    let names: Vec<String> = bands.iter().map(Band::to_string).collect();
    match names.as_slice() {
        [] => "none is".to_owned(),
        [one] => format!("{one} is"),
        [most @ .., last] => format!("{} and {last} are", most.join(", ")),
    }
}

/// The values of `needed`, which ascend, or what keeps them from being rated.
fn core_values(spectrum: &Spectrum, needed: &[Band]) -> Result<Vec<f64>, RatingError> {
    let (first, last) = (needed[0], needed[needed.len() - 1]);
    let (fraction, got) = (first.fraction(), spectrum.fraction());
    if got != fraction {
        return Err(RatingError::WrongFraction { needed: fraction, got });
    }
    let given = spectrum.values().len();
    let values = spectrum.pick(needed).map_err(|missing| RatingError::Missing {
        given,
        fraction,
        first,
        last,
        missing,
    })?;
    let too_large = needed.iter().zip(&values).find(|(_, value_db)| value_db.abs() > LARGEST_DB);
    match too_large {
        Some((band, value_db)) => Err(RatingError::TooLarge { band: *band, value_db: *value_db }),
        None => Ok(values),
    }
}

/// Bands between two labels that are known to be in the series.
fn bands(fraction: Fraction, from_hz: f64, to_hz: f64) -> Vec<Band> {
    Band::range(fraction, from_hz, to_hz).expect("the ratings name nominal bands only")
}

/// Rounds to whole `1/per_db` steps, halves up. Half steps that binary puts a hair low count as halves.
fn half_up(value_db: f64, per_db: f64) -> i64 {
    (value_db * per_db + 0.5 + 1e-9).floor() as i64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bounds::Sense;
    use proptest::prelude::*;

    const THIRDS_HZ: [f64; 21] = [
        50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0, 1000.0,
        1250.0, 1600.0, 2000.0, 2500.0, 3150.0, 4000.0, 5000.0,
    ];
    const OCTAVES_HZ: [f64; 5] = [125.0, 250.0, 500.0, 1000.0, 2000.0];

    fn thirds(values_db: &[f64]) -> Spectrum {
        Spectrum::new(Fraction::Third, &THIRDS_HZ, values_db).unwrap()
    }

    /// Every rating in the file by its column.
    fn rated(row: &[&str]) -> Vec<(&'static str, String)> {
        let values_db: Vec<f64> = row.iter().map(|text| text.parse().unwrap()).collect();
        let spectrum = thirds(&values_db[..21]);
        let octaves = Spectrum::new(Fraction::Octave, &OCTAVES_HZ, &values_db[21..26]).unwrap();
        let (iso, octave_iso) = (iso717(&spectrum).unwrap(), iso717(&octaves).unwrap());
        let extended = iso.extended.unwrap();
        let (class, given) =
            (stc(&spectrum, Rounding::WholeDb).unwrap(), stc(&spectrum, Rounding::AsGiven).unwrap());
        let outdoor = oitc(&spectrum).unwrap();
        let whole = |name, value: i32| (name, value.to_string());
        vec![
            whole("rw", iso.rating_db),
            whole("c", iso.c_db),
            whole("ctr", iso.ctr_db),
            whole("c50_3150", extended.c_50_3150_db),
            whole("c50_5000", extended.c_50_5000_db),
            whole("c100_5000", extended.c_100_5000_db),
            whole("ctr50_3150", extended.ctr_50_3150_db),
            whole("ctr50_5000", extended.ctr_50_5000_db),
            whole("ctr100_5000", extended.ctr_100_5000_db),
            ("sum", format!("{:.1}", iso.sum_db())),
            ("rw_tenths", format!("{:.1}", iso.tenths_rating_db)),
            whole("stc", class.rating_db),
            whole("stc_without_8", class.rating_without_single_limit_db),
            whole("stc_as_given", given.rating_db),
            whole("oitc", outdoor.rating_db),
            ("oitc_unrounded", format!("{:.6}", outdoor.unrounded_db)),
            whole("rw_octaves", octave_iso.rating_db),
            whole("c_octaves", octave_iso.c_db),
            whole("ctr_octaves", octave_iso.ctr_db),
        ]
    }

    #[test]
    fn random_spectra_match_a_second_method() {
        // testdata/ratings.csv: computed independently with exact fractions and mpmath 1.4, see testdata/README.md.
        let mut lines = include_str!("../testdata/ratings.csv").lines();
        let names: Vec<&str> = lines.next().unwrap().split(',').collect();
        let mut count = 0;
        for line in lines {
            let row: Vec<&str> = line.split(',').collect();
            for (name, got) in rated(&row[..26]) {
                let expected = row[names.iter().position(|column| *column == name).unwrap()];
                let same = got == expected
                    || (name == "oitc_unrounded"
                        && (got.parse::<f64>().unwrap() - expected.parse::<f64>().unwrap()).abs() < 2e-6);
                assert!(same, "{name} is {got}, not {expected}, of {line}");
            }
            count += 1;
        }
        assert_eq!(count, 200);
    }

    #[test]
    fn missing_bands_are_named() {
        let fifteen: Vec<f64> = THIRDS_HZ[3..19].iter().copied().filter(|hz| *hz != 315.0).collect();
        let spectrum = Spectrum::new(Fraction::Third, &fifteen, &[30.0; 15]).unwrap();
        assert_eq!(
            iso717(&spectrum).unwrap_err().to_string(),
            "15 bands were given; 315 Hz is missing: the rating needs every third octave band from 100 Hz to 3.15 kHz"
        );
        let RatingError::Missing { given, missing, .. } = stc(&spectrum, Rounding::WholeDb).unwrap_err()
        else {
            panic!("not refused for missing bands");
        };
        assert_eq!((given, listed(&missing).as_str()), (15, "315 Hz and 4 kHz are"));
        assert!(oitc(&spectrum).unwrap_err().to_string().contains("80 Hz, 315 Hz and 4 kHz are missing"));
    }

    #[test]
    fn octaves_and_impossible_values_are_refused() {
        let octaves = Spectrum::new(Fraction::Octave, &OCTAVES_HZ, &[30.0; 5]).unwrap();
        let wrong = RatingError::WrongFraction { needed: Fraction::Third, got: Fraction::Octave };
        assert_eq!(stc(&octaves, Rounding::WholeDb), Err(wrong.clone()));
        assert_eq!(oitc(&octaves), Err(wrong));
        let mut values_db = [30.0; 21];
        values_db[8] = 1e300;
        assert!(matches!(iso717(&thirds(&values_db)), Err(RatingError::TooLarge { .. })));
        assert!(matches!(stc(&thirds(&values_db), Rounding::AsGiven), Err(RatingError::TooLarge { .. })));
        // What no rating reads may be anything: the value at 5 kHz is outside STC and OITC.
        let mut outside_db = [30.0; 21];
        outside_db[20] = 1e300;
        assert!(stc(&thirds(&outside_db), Rounding::WholeDb).is_ok());
        assert!(oitc(&thirds(&outside_db)).is_ok());
    }

    #[test]
    fn halves_go_up() {
        // Definition; 20.25 and 0.05 steps are not exact in binary, and a half below zero goes up to zero.
        for (value_db, tenths) in
            [(20.25, 203), (20.05, 201), (0.35, 4), (-0.05, 0), (-0.15, -1), (33.0, 330)]
        {
            assert_eq!(half_up(value_db, 10.0), tenths, "{value_db}");
        }
        assert_eq!((half_up(2.5, 1.0), half_up(-2.5, 1.0), half_up(2.499, 1.0)), (3, -2, 2));
    }

    /// Rw, Rw + C, Rw + Ctr, tenths, STC both ways, without the 8 dB rule, OITC.
    fn all_ratings(values_db: &[f64]) -> [f64; 8] {
        let spectrum = thirds(values_db);
        let iso = iso717(&spectrum).unwrap();
        let class = stc(&spectrum, Rounding::WholeDb).unwrap();
        [
            f64::from(iso.rating_db),
            f64::from(iso.rating_db + iso.c_db),
            f64::from(iso.rating_db + iso.ctr_db),
            iso.tenths_rating_db,
            f64::from(class.rating_db),
            f64::from(class.rating_without_single_limit_db),
            f64::from(stc(&spectrum, Rounding::AsGiven).unwrap().rating_db),
            f64::from(oitc(&spectrum).unwrap().rating_db),
        ]
    }

    fn any_values() -> impl Strategy<Value = Vec<f64>> {
        prop::collection::vec((-50i32..800).prop_map(|tenths| f64::from(tenths) / 10.0), 21)
    }

    proptest! {
        #[test]
        fn ratings_move_with_all_bands(values_db in any_values(), by_db in -30i32..30) {
            let moved_db: Vec<f64> = values_db.iter().map(|value_db| value_db + f64::from(by_db)).collect();
            for (before, after) in all_ratings(&values_db).iter().zip(all_ratings(&moved_db)) {
                prop_assert!((after - before - f64::from(by_db)).abs() < 1e-9);
            }
        }

        #[test]
        fn a_better_band_never_lowers_a_rating(values_db in any_values(), band in 0usize..21, by_db in 0.0..40.0f64) {
            let mut better_db = values_db.clone();
            better_db[band] += by_db;
            for (before, after) in all_ratings(&values_db).iter().zip(all_ratings(&better_db)) {
                prop_assert!(*before <= after);
            }
        }

        #[test]
        fn a_bounded_band_bounds_or_leaves_the_rating(values_db in any_values(), band in 3usize..19, by_db in 0.0..60.0f64) {
            // Whatever the true value above the bound is, the sense that was told holds.
            let spectrum = thirds(&values_db);
            let senses: Vec<Sense> =
                (0..21).map(|index| if index == band { Sense::AtLeast } else { Sense::Exact }).collect();
            let rate = |spectrum: &Spectrum| iso717(spectrum).map(|iso| iso.rating_db);
            let mut true_db = values_db.clone();
            true_db[band] += by_db;
            let (stated, truth) = (rate(&spectrum).unwrap(), rate(&thirds(&true_db)).unwrap());
            match rating_sense(&spectrum, &senses, rate).unwrap() {
                Sense::Exact => prop_assert_eq!(stated, truth),
                Sense::AtLeast => prop_assert!(stated <= truth),
                other => prop_assert!(false, "{:?}", other),
            }
        }
    }
}
