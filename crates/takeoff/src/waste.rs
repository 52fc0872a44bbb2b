//! What is added for waste, and rounding up to what is sold whole.
//!
//! Leaves out how much to add: customary allowances are 3 to 10 percent by material (common practice, no source).

use storypole_units::{Decimal, Length};

/// Billionths of one, the finest waste that is kept apart.
const WHOLE: i128 = 1_000_000_000;
/// Decimals of a billionth.
const PLACES: u32 = 9;

/// How far a computed number may lie from a whole one, as a share of it, and still count as whole.
///
/// Convention of this project: a hundred pounds computed as 100.00000000000001 do not take a fifth bag of 25.
const ROUNDING_NOISE: f64 = 1e-9;

/// An allowance for waste, from nothing to as much again, exact to a billionth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Waste {
    billionths: u32,
}

/// Why a number is no allowance for waste.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum WasteError {
    /// Below zero.
    #[error("a waste of {fraction} is below zero: write 0 for none")]
    Negative { fraction: Decimal },
    /// More than as much again; most likely percent.
    #[error(
        "a waste of {fraction} is more than the work itself: write a fraction, such as 0.10 for ten percent"
    )]
    TooLarge { fraction: Decimal },
    /// More than nine decimals.
    #[error("a waste of {fraction} has more than nine decimals: write fewer")]
    TooFine { fraction: Decimal },
}

impl Waste {
    /// Nothing added.
    pub const NONE: Self = Self { billionths: 0 };

    /// Takes a fraction: `0.10` adds a tenth.
    ///
    /// # Errors
    /// [`WasteError`] below 0, above 1, or finer than nine decimals.
    pub fn from_fraction(fraction: Decimal) -> Result<Self, WasteError> {
        if fraction.is_negative() {
            return Err(WasteError::Negative { fraction });
        }
        if fraction > Decimal::from_int(1) {
            return Err(WasteError::TooLarge { fraction });
        }
        let plain = fraction.normalized();
        if plain.scale() > PLACES {
            return Err(WasteError::TooFine { fraction });
        }
        let billionths = plain.mantissa() * 10i128.pow(PLACES - plain.scale());
        Ok(Self { billionths: u32::try_from(billionths).expect("at most one is at most 10^9 billionths") })
    }

    /// Returns one plus the fraction.
    pub fn factor(self) -> f64 {
        1.0 + f64::from(self.billionths) / WHOLE as f64
    }

    /// Counts whole pieces, waste added. `None` where the count passes [`u32::MAX`].
    pub fn pieces(self, pieces: u32) -> Option<u32> {
        self.count_up(i128::from(pieces), 1).map(|counted| counted.whole)
    }

    /// Counts pieces of one length that a total takes, waste added. `None` for no length, or past [`u32::MAX`].
    pub fn lengths(self, total: Length, piece: Length) -> Option<u32> {
        if piece == Length::ZERO {
            return None;
        }
        self.count_up(i128::from(total.nm()), i128::from(piece.nm())).map(|counted| counted.whole)
    }

    /// Divides `amount` with its waste by what one piece holds. `None` where the count passes [`u32::MAX`].
    ///
    /// Exact: 20 pieces and 5 percent are 21, never 22. `amount` is zero or more, `per_piece` above zero.
    pub(crate) fn count_up(self, amount: i128, per_piece: i128) -> Option<Counted> {
        let with_waste = amount.checked_mul(WHOLE + i128::from(self.billionths))?;
        let piece = per_piece.checked_mul(WHOLE)?;
        Some(Counted {
            needed: with_waste as f64 / piece as f64,
            whole: u32::try_from(divided_up(with_waste, piece)).ok()?,
        })
    }
}

/// A count before and after rounding up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Counted {
    pub(crate) needed: f64,
    pub(crate) whole: u32,
}

/// Divides and rounds up; `amount` is zero or more, `size` above zero.
pub(crate) fn divided_up(amount: i128, size: i128) -> i128 {
    amount / size + i128::from(amount % size != 0)
}

/// Rounds a computed count up, except for rounding noise. `None` where it is not finite or passes [`u32::MAX`].
pub(crate) fn count_up_computed(needed: f64) -> Option<u32> {
    let nearest = needed.round();
    let is_whole = (needed - nearest).abs() <= ROUNDING_NOISE * nearest;
    let whole = if is_whole { nearest } else { needed.ceil() };
    (0.0..=f64::from(u32::MAX)).contains(&whole).then_some(whole as u32)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{decimal, waste};

    /// Expected: long arithmetic by hand.
    #[test]
    fn counts_are_exact() {
        let cases = [
            (9, "0.05", 1, 9.45, 10),
            (20, "0.05", 1, 21.0, 21),
            (100, "0.1", 1, 110.0, 110),
            (0, "0.1", 1, 0.0, 0),
            (60, "0.10", 12, 5.5, 6),
            (1, "1", 2, 1.0, 1),
            (1, "0.000000001", 1, 1.000000001, 2),
        ];
        for (amount, fraction, per_piece, needed, whole) in cases {
            let counted = waste(fraction).count_up(amount, per_piece).unwrap();
            assert!((counted.needed - needed).abs() < 1e-12, "{amount} {fraction}: {counted:?}");
            assert_eq!(counted.whole, whole, "{amount} {fraction}");
        }
        assert_eq!(waste("0.1").count_up(i128::MAX / 2, 1), None);
        assert_eq!(Waste::NONE.count_up(i128::from(u32::MAX) + 1, 1), None);
    }

    #[test]
    fn noise_buys_nothing() {
        for (needed, whole) in [(3.56, 4), (4.000_000_000_000_1, 4), (4.000_01, 5), (3.999_999, 4), (0.0, 0)]
        {
            assert_eq!(count_up_computed(needed), Some(whole), "{needed}");
        }
        assert_eq!(count_up_computed(1e-12), Some(1));
        for needed in [f64::NAN, f64::INFINITY, 4_294_967_295.5, -2.0] {
            assert_eq!(count_up_computed(needed), None, "{needed}");
        }
    }

    #[test]
    fn refuses_with_the_reason() {
        let cases = [
            ("-0.05", "a waste of -0.05 is below zero: write 0 for none"),
            (
                "10",
                "a waste of 10 is more than the work itself: write a fraction, such as 0.10 for ten percent",
            ),
            ("0.0123456789", "a waste of 0.0123456789 has more than nine decimals: write fewer"),
        ];
        for (fraction, reason) in cases {
            assert_eq!(Waste::from_fraction(decimal(fraction)).unwrap_err().to_string(), reason);
        }
        assert_eq!(Waste::from_fraction(decimal("0.00")), Ok(Waste::NONE));
        assert_eq!(waste("0.050000000000").factor(), 1.05);
    }

    proptest! {
        /// Goal: rounding up adds less than one piece, and more waste never means fewer.
        #[test]
        fn rounding_up_is_tight(amount in 0i128..1_000_000, size in 1i128..10_000, a in 0u32..=1_000_000_000, b in 0u32..=1_000_000_000) {
            let (low, high) = (Waste { billionths: a.min(b) }, Waste { billionths: a.max(b) });
            let counted = low.count_up(amount, size).unwrap();
            let held = i128::from(counted.whole) * size * WHOLE;
            let wanted = amount * (WHOLE + i128::from(low.billionths));
            prop_assert!(held >= wanted && held - wanted < size * WHOLE);
            prop_assert!(high.count_up(amount, size).unwrap().whole >= counted.whole);
        }
    }
}
