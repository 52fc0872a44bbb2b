//! One wall made of parts: field of wall, door, window, crack, each with its own transmission loss.
//!
//! Area and loss of each part are the caller's; a crack or an open gap is a part of loss 0. Flanking paths are not parts.
//! One number at a time, or band by band; and the hole that explains why a wall falls short.

use crate::NotFinite;
use crate::bands::{Band, Spectrum};
use crate::levels::power_ratio;

/// A part of a wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Its area, m², above zero. Of a crack: its length times its width.
    pub area_m2: f64,
    /// Its transmission loss, dB; 0 for an open gap, below 0 where a slit resonates.
    pub loss_db: f64,
}

/// A wall as a whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Composite {
    /// Transmission loss of the whole, dB, between those of its worst and best part.
    pub loss_db: f64,
    /// The share of the transmitted power that goes through each part, in order; they add up to 1.
    pub shares: Vec<f64>,
}

impl Composite {
    /// The part that lets most of the power through, and its share.
    pub fn weakest(&self) -> (usize, f64) {
        let shares = self.shares.iter().copied().enumerate();
        shares
            .reduce(|most, next| if next.1 > most.1 { next } else { most })
            .expect("a composite has at least one part")
    }
}

/// Why parts make no wall.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum CompositeError {
    /// A wall has at least one part.
    #[error("no parts were given")]
    Empty,
    /// Leave a part without area out.
    #[error("the area of part {index} is {area_m2} m², not above zero")]
    Area { index: usize, area_m2: f64 },
    /// A loss is a finite number of dB.
    #[error("the transmission loss of part {index} is {loss_db}, not a finite number")]
    Loss { index: usize, loss_db: f64 },
    /// Give every part the same kind of bands, and at least one that all have.
    #[error("no band is known of every part")]
    NoCommonBand,
}

/// Joins parts into the transmission loss of the whole, `-10·lg(Σ Sᵢ·10^(-Rᵢ/10) / Σ Sᵢ)`.
///
/// The power through each part adds; a hundredth of open area holds the whole at 20 dB whatever the rest is made of.
///
/// # Units and shape
/// `parts`: at least one, m² and dB. Returns dB and one share per part, in order.
///
/// # Errors
/// [`CompositeError`].
///
/// # Source
/// Common practice (mean transmission coefficient weighted by area), in every handbook of building acoustics.
pub fn composite(parts: &[Part]) -> Result<Composite, CompositeError> {
    for (index, part) in parts.iter().enumerate() {
        if !(part.area_m2.is_finite() && part.area_m2 > 0.0) {
            return Err(CompositeError::Area { index, area_m2: part.area_m2 });
        }
        if !part.loss_db.is_finite() {
            return Err(CompositeError::Loss { index, loss_db: part.loss_db });
        }
    }
    // Relative to the leakiest part and the largest area, no term overflows and the sum is above zero.
    let worst_db = parts.iter().map(|part| part.loss_db).reduce(f64::min).ok_or(CompositeError::Empty)?;
    let largest_m2 = parts.iter().map(|part| part.area_m2).fold(0.0, f64::max);
    let through: Vec<f64> =
        parts.iter().map(|part| part.area_m2 / largest_m2 * power_ratio(worst_db - part.loss_db)).collect();
    let total: f64 = through.iter().sum();
    let area: f64 = parts.iter().map(|part| part.area_m2 / largest_m2).sum();
    Ok(Composite {
        loss_db: worst_db - 10.0 * (total / area).log10(),
        shares: through.iter().map(|power| power / total).collect(),
    })
}

/// A part of a wall with its loss by band.
#[derive(Debug, Clone, PartialEq)]
pub struct BandedPart {
    /// Its area, m², above zero.
    pub area_m2: f64,
    /// Its transmission loss by band, dB.
    pub loss: Spectrum,
}

/// A wall as a whole, by band.
#[derive(Debug, Clone, PartialEq)]
pub struct BandedComposite {
    /// Transmission loss of the whole in the bands that all parts have, dB.
    pub loss: Spectrum,
    /// For each part, in order, its share of the transmitted power in those bands; in each band they add up to 1.
    pub shares: Vec<Spectrum>,
}

/// Joins parts band by band; see [`composite`].
///
/// # Units and shape
/// `parts`: at least one, m² and dB. Bands that a part lacks are left out of the whole.
///
/// # Errors
/// [`CompositeError`].
///
/// # Source
/// As [`composite`].
pub fn composite_by_band(parts: &[BandedPart]) -> Result<BandedComposite, CompositeError> {
    let first = parts.first().ok_or(CompositeError::Empty)?;
    let (mut losses, mut shares) = (Vec::new(), vec![Vec::new(); parts.len()]);
    for band in first.loss.values().iter().map(|(band, _)| *band) {
        let Some(here) = in_band(parts, band) else { continue };
        let whole = composite(&here)?;
        losses.push((band, whole.loss_db));
        for (its, share) in shares.iter_mut().zip(whole.shares) {
            its.push((band, share));
        }
    }
    let spectrum = |values| Spectrum::of(values).map_err(|_| CompositeError::NoCommonBand);
    Ok(BandedComposite {
        loss: spectrum(losses)?,
        shares: shares.into_iter().map(spectrum).collect::<Result<_, _>>()?,
    })
}

fn in_band(parts: &[BandedPart], band: Band) -> Option<Vec<Part>> {
    parts.iter().map(|part| Some(Part { area_m2: part.area_m2, loss_db: part.loss.get(band)? })).collect()
}

impl BandedComposite {
    /// Returns each part's share of the power of a whole sound, in order; they add up to 1.
    ///
    /// # Units and shape
    /// `source`: levels of the sound in the source room, A-weighted where the share of dBA is asked, dB. Bands that only one
    /// of the two has do not count.
    ///
    /// # Errors
    /// [`CompositeError::NoCommonBand`].
    ///
    /// # Source
    /// Powers of incoherent bands add: common practice, no source.
    pub fn shares_of(&self, source: &Spectrum) -> Result<Vec<f64>, CompositeError> {
        let received =
            source.zip(&self.loss, |level, loss| level - loss).map_err(|_| CompositeError::NoCommonBand)?;
        let received = received.ok_or(CompositeError::NoCommonBand)?;
        let loudest_db = received.values().iter().map(|(_, level)| *level).fold(f64::NEG_INFINITY, f64::max);
        let through = |shares: &Spectrum| -> f64 {
            let each = received.values().iter();
            each.filter_map(|(band, level)| Some(power_ratio(level - loudest_db) * shares.get(*band)?)).sum()
        };
        let powers: Vec<f64> = self.shares.iter().map(through).collect();
        let total: f64 = powers.iter().sum();
        Ok(powers.into_iter().map(|power| power / total).collect())
    }
}

/// Why no hole explains a wall.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum HoleError {
    /// A loss is infinite or not a number.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// The area is that of the whole wall.
    #[error("an area of {area_m2} m² is not above zero")]
    Area { area_m2: f64 },
    /// The wall does as well as it should: there is no shortfall to explain.
    #[error("the measured {measured_db} dB is not below the {wall_db} dB of the sound wall")]
    NoShortfall { wall_db: f64, measured_db: f64 },
    /// A hole as large as the wall gives 0 dB, and no hole gives less.
    #[error("no hole explains a measured {measured_db} dB")]
    Unexplained { measured_db: f64 },
}

/// Returns the area of an open hole that explains why a wall falls short, m².
///
/// `Sₕ = S·(10^(-R_meas/10) - 10^(-R_wall/10)) / (1 - 10^(-R_wall/10))`: with that much of it open the wall measures what it
/// measures. It finds leaks worth looking for; flanking gives the same shortfall without any hole.
///
/// # Units and shape
/// `area_m2` of the whole wall; `wall_db` what it should give, `measured_db` what it gives, at least 0.
///
/// # Errors
/// [`HoleError`].
///
/// # Source
/// The mean transmission of [`composite`], solved for the area of a part of loss 0.
pub fn hole_m2(area_m2: f64, wall_db: f64, measured_db: f64) -> Result<f64, HoleError> {
    let (wall_db, measured_db) = (crate::finite(wall_db)?, crate::finite(measured_db)?);
    if !(area_m2.is_finite() && area_m2 > 0.0) {
        return Err(HoleError::Area { area_m2 });
    }
    if measured_db >= wall_db {
        return Err(HoleError::NoShortfall { wall_db, measured_db });
    }
    if measured_db < 0.0 {
        return Err(HoleError::Unexplained { measured_db });
    }
    let wall = power_ratio(-wall_db);
    Ok(area_m2 * (power_ratio(-measured_db) - wall) / (1.0 - wall))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bands::Fraction;
    use proptest::prelude::*;

    fn wall(parts: &[(f64, f64)]) -> Vec<Part> {
        parts.iter().map(|&(area_m2, loss_db)| Part { area_m2, loss_db }).collect()
    }

    #[test]
    fn published_walls_match() {
        type Row<'a> = (&'a [(f64, f64)], f64, f64, &'a str);
        let rows: &[Row] = &[
            (
                &[(9.5, 59.0), (1.08, 35.0)],
                44.8,
                0.05,
                "Crocker and Arenas, Engineering Acoustics, example 12.13: brick with a window",
            ),
            (
                &[(7.54, 53.0), (0.96, 25.0), (1.5, 20.0)],
                27.43,
                0.005,
                "a published school exercise, answer 27.43 dB: brick, window, door",
            ),
            (
                &[(0.99, 80.0), (0.01, 0.0)],
                20.0,
                0.001,
                "textbook: one hundredth open holds any wall at 20 dB",
            ),
            (
                &[(0.999, 90.0), (0.001, 0.0)],
                30.0,
                0.001,
                "textbook: one thousandth open holds any wall at 30 dB",
            ),
        ];
        for (parts, expected_db, tolerance_db, source) in rows {
            let got_db = composite(&wall(parts)).unwrap().loss_db;
            assert!((got_db - expected_db).abs() <= *tolerance_db, "{got_db}: {source}");
        }
    }

    #[test]
    fn cracks_and_doors_match() {
        // Computed independently with mpmath 1.4.
        type Row<'a> = (&'a [(f64, f64)], f64, &'a [f64]);
        let rows: &[Row] = &[
            (&[(10.0, 45.0), (1.6, 25.0)], 33.340090678486, &[0.0588235294118, 0.941176470588]),
            (
                &[(10.0, 45.0), (1.59, 25.0), (0.01, 0.0)],
                28.785123448418,
                &[0.0206088783461, 0.327681165703, 0.651709955951],
            ),
            (
                &[(8.0, 45.0), (1.6, 28.0), (0.01, 0.0)],
                28.758932076019,
                &[0.0197815267165, 0.198284973039, 0.781933500244],
            ),
            (&[(10.0, 45.0), (10.0, 48.0)], 46.245951332275, &[0.666139424583, 0.333860575417]),
            (&[(3.0, 41.5)], 41.5, &[1.0]),
        ];
        for (parts, expected_db, shares) in rows {
            let got = composite(&wall(parts)).unwrap();
            assert!((got.loss_db - expected_db).abs() < 1e-9, "{parts:?}: {}", got.loss_db);
            assert_eq!(got.shares.len(), shares.len());
            for (got, expected) in got.shares.iter().zip(*shares) {
                assert!((got - expected).abs() < 1e-11, "{parts:?}: {got}");
            }
        }
    }

    #[test]
    fn the_weakest_part_is_named() {
        let door_and_gap = composite(&wall(&[(10.0, 45.0), (1.59, 25.0), (0.01, 0.0)])).unwrap();
        let (index, share) = door_and_gap.weakest();
        assert_eq!(index, 2);
        assert!((share - 0.651709955951).abs() < 1e-11);
    }

    #[test]
    fn impossible_parts_are_refused() {
        assert_eq!(composite(&[]), Err(CompositeError::Empty));
        assert_eq!(composite(&wall(&[(0.0, 40.0)])), Err(CompositeError::Area { index: 0, area_m2: 0.0 }));
        assert!(matches!(
            composite(&wall(&[(1.0, 40.0), (1.0, f64::NAN)])),
            Err(CompositeError::Loss { index: 1, .. })
        ));
    }

    fn banded(area_m2: f64, loss_db: &[f64]) -> BandedPart {
        let hz = &[250.0, 1000.0, 2000.0][..loss_db.len()];
        BandedPart { area_m2, loss: Spectrum::new(Fraction::Third, hz, loss_db).unwrap() }
    }

    #[test]
    fn bands_are_joined_one_by_one() {
        // A wall of 10 m² with a door of 1.6 m²; computed independently with mpmath 1.3.
        let whole = composite_by_band(&[banded(10.0, &[30.0, 45.0, 50.0]), banded(1.6, &[15.0, 25.0, 30.0])])
            .unwrap();
        let expected = [
            (22.820108604524, 0.834_973_810_720_76),
            (33.340090678486, 0.941_176_470_588_24),
            (38.340090678486, 0.941_176_470_588_24),
        ];
        for (index, (loss_db, door)) in expected.into_iter().enumerate() {
            assert!((whole.loss.values()[index].1 - loss_db).abs() < 1e-9);
            assert!((whole.shares[1].values()[index].1 - door).abs() < 1e-12);
            assert!((whole.shares[0].values()[index].1 + door - 1.0).abs() < 1e-12);
        }
        // Equal levels with the A-weights of IEC 61672-1 table 3 at 250, 1000, 2000 Hz; computed independently with mpmath 1.3.
        let source = Spectrum::new(Fraction::Third, &[250.0, 1000.0, 2000.0], &[-8.6, 0.0, 1.2]).unwrap();
        let shares = whole.shares_of(&source).unwrap();
        assert!((shares[0] - 0.114_409_312_954_32).abs() < 1e-12, "{shares:?}");
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn bands_that_a_part_lacks_are_left_out() {
        let short = composite_by_band(&[banded(10.0, &[30.0, 45.0, 50.0]), banded(1.6, &[15.0])]).unwrap();
        assert_eq!(short.loss.values().len(), 1);
        let octaves = Spectrum::new(Fraction::Octave, &[250.0], &[20.0]).unwrap();
        let mixed = [banded(10.0, &[30.0]), BandedPart { area_m2: 1.0, loss: octaves.clone() }];
        assert_eq!(composite_by_band(&mixed), Err(CompositeError::NoCommonBand));
        assert_eq!(short.shares_of(&octaves), Err(CompositeError::NoCommonBand));
        assert_eq!(composite_by_band(&[]), Err(CompositeError::Empty));
        let no_area = [banded(10.0, &[30.0]), banded(0.0, &[15.0])];
        assert_eq!(composite_by_band(&no_area), Err(CompositeError::Area { index: 1, area_m2: 0.0 }));
    }

    #[test]
    fn holes_explain_shortfalls() {
        // 10 m² of 45 dB that reads 33 dB: 47 cm²; computed independently with mpmath 1.3.
        assert!((hole_m2(10.0, 45.0, 33.0).unwrap() - 0.004_695_793_064_271).abs() < 1e-12);
        // Textbook: a thousandth open holds any wall at 30 dB.
        assert!((hole_m2(10.0, 90.0, 30.0).unwrap() - 0.01).abs() < 1e-6);
        let none = HoleError::NoShortfall { wall_db: 33.0, measured_db: 33.0 };
        assert_eq!(hole_m2(10.0, 33.0, 33.0), Err(none));
        assert_eq!(hole_m2(10.0, 33.0, -1.0), Err(HoleError::Unexplained { measured_db: -1.0 }));
        assert_eq!(hole_m2(0.0, 45.0, 33.0), Err(HoleError::Area { area_m2: 0.0 }));
        assert!(hole_m2(10.0, f64::NAN, 33.0).is_err());
        assert!(hole_m2(10.0, 45.0, f64::NEG_INFINITY).is_err());
    }

    proptest! {
        #[test]
        fn the_hole_brings_the_wall_to_what_was_measured(
            area_m2 in 1.0..50.0f64, measured_db in 1.0..60.0f64, short_db in 0.1..30.0f64,
        ) {
            let wall_db = measured_db + short_db;
            let open_m2 = hole_m2(area_m2, wall_db, measured_db).unwrap();
            prop_assert!(0.0 < open_m2 && open_m2 < area_m2);
            let parts = wall(&[(area_m2 - open_m2, wall_db), (open_m2, 0.0)]);
            prop_assert!((composite(&parts).unwrap().loss_db - measured_db).abs() < 1e-6);
        }

        #[test]
        fn the_whole_lies_between_its_parts(
            parts in prop::collection::vec((0.001..50.0f64, -5.0..80.0f64), 1..8)
        ) {
            let parts = wall(&parts);
            let got = composite(&parts).unwrap();
            let best_db = parts.iter().map(|part| part.loss_db).fold(f64::NEG_INFINITY, f64::max);
            let worst_db = parts.iter().map(|part| part.loss_db).fold(f64::INFINITY, f64::min);
            prop_assert!(worst_db - 1e-9 <= got.loss_db && got.loss_db <= best_db + 1e-9);
            prop_assert!((got.shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
            prop_assert!(got.shares.iter().all(|share| (0.0..=1.0).contains(share)));
        }

        #[test]
        fn opening_a_crack_never_helps(
            parts in prop::collection::vec((0.5..20.0f64, 10.0..60.0f64), 1..5), crack_m2 in 0.0001..0.1f64,
        ) {
            let sealed = wall(&parts);
            let mut cracked = sealed.clone();
            cracked.push(Part { area_m2: crack_m2, loss_db: 0.0 });
            prop_assert!(composite(&cracked).unwrap().loss_db < composite(&sealed).unwrap().loss_db);
        }
    }
}
