//! One wall made of parts: field of wall, door, window, crack, each with its own transmission loss.
//!
//! Area and loss of each part are the caller's; a crack or an open gap is a part of loss 0. Flanking paths are not parts.

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

#[cfg(test)]
mod tests {
    use super::*;
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

    proptest! {
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
