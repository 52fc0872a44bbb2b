//! Packs of batts, or of anything counted in pieces.
//!
//! Leaves out prices, and whether a label's coverage already assumes studs: what is counted here is the pieces' face.

use storypole_units::Area;

use crate::batts::Batt;
use crate::waste::Waste;

/// What is wanted, and how it is sold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct PackNeed {
    /// Pieces that the wall takes.
    pub pieces: u32,
    /// Added for waste.
    pub waste: Waste,
    /// Loose pieces that lie there already.
    pub in_stock: u32,
    /// Pieces in a pack.
    pub per_pack: u32,
    /// The face of one piece.
    pub batt: Batt,
}

/// What to buy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Packs {
    /// Pieces with waste, before rounding up.
    pub needed: f64,
    /// Pieces with waste, rounded up.
    pub pieces_with_waste: u32,
    /// Of these, beyond the stock.
    pub pieces_to_buy: u32,
    /// Whole packs.
    pub packs: u32,
    /// Pieces left, those of the stock included, if the wall takes just what was counted.
    pub left_over: u32,
    /// The face of a pack's pieces.
    pub coverage_per_pack: Area,
}

/// Why packs cannot be counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PacksError {
    /// A pack holds something.
    #[error("a pack without pieces: read the count of pieces from the label")]
    EmptyPack,
    /// A count or an area is beyond what is counted.
    #[error("the pieces are more than can be counted: check the numbers")]
    TooMany,
}

/// Counts packs, `⌈(⌈pieces·(1 + waste)⌉ - stock) / pieces in a pack⌉`.
///
/// # Errors
/// [`PacksError`].
///
/// # Source
/// Common practice, no source.
pub fn packs(need: &PackNeed) -> Result<Packs, PacksError> {
    if need.per_pack == 0 {
        return Err(PacksError::EmptyPack);
    }
    let with_waste = need.waste.count_up(i128::from(need.pieces), 1).ok_or(PacksError::TooMany)?;
    let pieces_to_buy = with_waste.whole.saturating_sub(need.in_stock);
    let packs = pieces_to_buy.div_ceil(need.per_pack);
    let there = u64::from(packs) * u64::from(need.per_pack) + u64::from(need.in_stock);
    let left_over = there - u64::from(need.pieces);
    Ok(Packs {
        needed: with_waste.needed,
        pieces_with_waste: with_waste.whole,
        pieces_to_buy,
        packs,
        left_over: u32::try_from(left_over).map_err(|_| PacksError::TooMany)?,
        coverage_per_pack: need.batt.coverage(need.per_pack).ok_or(PacksError::TooMany)?,
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{inches, waste};

    fn need(pieces: u32, fraction: &str, in_stock: u32, per_pack: u32) -> PackNeed {
        let batt = Batt { width: inches("15"), length: inches("93") };
        PackNeed { pieces, waste: waste(fraction), in_stock, per_pack, batt }
    }

    /// Source of the first row: a worked example, 9.45 up to 10, one pack, 2 over. The others: long arithmetic by hand.
    #[test]
    fn packs_match() {
        let cases = [
            (need(9, "0.05", 0, 11), (9.45, 10, 10, 1, 2)),
            (need(20, "0.05", 0, 7), (21.0, 21, 21, 3, 1)),
            (need(12, "0.10", 3, 11), (13.2, 14, 11, 1, 2)),
            (need(6, "0.05", 12, 11), (6.3, 7, 0, 0, 6)),
            (need(0, "0.05", 0, 11), (0.0, 0, 0, 0, 0)),
        ];
        for (need, (needed, with_waste, to_buy, count, left_over)) in cases {
            let got = packs(&need).unwrap();
            assert!((got.needed - needed).abs() < 1e-12, "{got:?}");
            let counts = (got.pieces_with_waste, got.pieces_to_buy, got.packs, got.left_over);
            assert_eq!(counts, (with_waste, to_buy, count, left_over), "{need:?}");
        }
    }

    /// Source: a label's arithmetic, 11 x 15 x 93 / 144 = 106.56 ft2, by hand.
    #[test]
    fn coverage_is_the_face_of_the_pieces() {
        let got = packs(&need(9, "0", 0, 11)).unwrap().coverage_per_pack;
        assert_eq!(format!("{:.2}", got.ft2()), "106.56");
    }

    #[test]
    fn refuses_with_the_reason() {
        let empty = packs(&need(9, "0.05", 0, 0)).unwrap_err();
        assert_eq!(empty.to_string(), "a pack without pieces: read the count of pieces from the label");
        assert_eq!(packs(&need(u32::MAX, "0.05", 0, 11)), Err(PacksError::TooMany));
        assert_eq!(packs(&need(1, "0", u32::MAX, 1)).unwrap().packs, 0);
    }

    proptest! {
        #[test]
        fn more_stock_never_more_packs(pieces in 0u32..10_000, stock in 0u32..10_000, more in 0u32..100, per_pack in 1u32..50) {
            let (less, more) = (need(pieces, "0.05", stock, per_pack), need(pieces, "0.05", stock + more, per_pack));
            prop_assert!(packs(&more).unwrap().packs <= packs(&less).unwrap().packs);
        }

        /// Goal: what is bought and in stock covers pieces and waste, with less than a pack to spare beyond the stock.
        #[test]
        fn packs_suffice(pieces in 0u32..10_000, stock in 0u32..10_000, per_pack in 1u32..50) {
            let got = packs(&need(pieces, "0.10", stock, per_pack)).unwrap();
            prop_assert!(got.packs * per_pack + stock >= got.pieces_with_waste);
            prop_assert!(got.packs * per_pack < got.pieces_to_buy + per_pack);
        }
    }
}
