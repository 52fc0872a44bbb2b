//! Areas in whole square nanometres, exact for the product of any two lengths.
//!
//! Left out: negative areas, and units other than square feet and square metres.

use std::fmt;

use crate::decimal::{CountError, Decimal, DecimalParseError, count_smallest, split_number};
use crate::length::{Length, NM_PER_FOOT};
use crate::quoted::Quoted;

/// One square metre.
const NM2_PER_M2: i128 = 1_000_000_000_000_000_000;
/// One square foot: 0.09290304 m2 exactly, because the foot is 0.3048 m exactly (agreement of 1959).
const NM2_PER_FT2: i128 = NM_PER_FOOT as i128 * NM_PER_FOOT as i128;

/// Why one square metre is always counted and expanded exactly.
const WITHIN_18_DECIMALS: &str = "18 decimals of a square metre are square nanometres";

/// An area from 0 to the square of 1000 km, in whole square nanometres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Area {
    nm2: i128,
}

/// Why a number is no area.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum AreaRangeError {
    /// Infinite or not a number.
    #[error("an area of {m2} m2 is not finite: give a number such as 9.4")]
    NotFinite {
        /// What was given, m2.
        m2: f64,
    },
    /// Below zero.
    #[error("an area of {m2} m2 is below zero: give zero or more")]
    Negative {
        /// What was given, m2.
        m2: f64,
    },
    /// Beyond [`Area::MAX`].
    #[error("an area of {m2} m2 is beyond a million square kilometres: check the unit")]
    TooLarge {
        /// What was given, m2.
        m2: f64,
    },
}

/// Why a text is no area.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AreaParseError {
    /// Nothing was written.
    #[error("the area is missing: write a number and a unit, such as 101.17 ft2 or 9.399 m2")]
    Empty,
    /// No number in front.
    #[error(
        "\"{text}\" does not start with a number: write a number and a unit, such as 101.17 ft2 or 9.399 m2"
    )]
    NoNumber {
        /// What was written.
        text: Quoted,
    },
    /// The number itself cannot be read.
    #[error(transparent)]
    Number(#[from] DecimalParseError),
    /// A number without a unit.
    #[error("\"{text}\" has no unit: write {text} ft2 or {text} m2")]
    NoUnit {
        /// What was written.
        text: Quoted,
    },
    /// A unit that areas do not have.
    #[error("\"{unit}\" is no unit of area that is known here: write ft2 or m2")]
    UnknownUnit {
        /// The unit.
        unit: Quoted,
    },
    /// Below zero.
    #[error("\"{text}\" is negative: write an area of zero or more")]
    Negative {
        /// What was written.
        text: Quoted,
    },
    /// More digits than whole square nanometres hold.
    #[error("\"{text}\" is finer than a whole square nanometre: write fewer decimals")]
    NotWholeNanometres {
        /// What was written.
        text: Quoted,
    },
    /// Beyond [`Area::MAX`].
    #[error("\"{text}\" is beyond a million square kilometres: check the number and the unit")]
    TooLarge {
        /// What was written.
        text: Quoted,
    },
}

impl Area {
    /// No area.
    pub const ZERO: Self = Self { nm2: 0 };
    /// The largest area: the square of the longest [`Length`].
    pub const MAX: Self = Self { nm2: 1_000_000_000_000_000_000_000_000_000_000 };

    /// Multiplies two sides, exactly.
    pub fn of(width: Length, height: Length) -> Self {
        Self { nm2: i128::from(width.nm()) * i128::from(height.nm()) }
    }

    /// Takes a computed number of square metres, rounded to square nanometres.
    ///
    /// What is rounded is the shortest decimal expansion of the float, so 9.399 gives the area of `9.399 m2`.
    ///
    /// # Errors
    /// [`AreaRangeError`] when not finite, below zero, or beyond [`Area::MAX`].
    pub fn from_m2_f64(m2: f64) -> Result<Self, AreaRangeError> {
        if !m2.is_finite() {
            return Err(AreaRangeError::NotFinite { m2 });
        }
        if m2 < 0.0 {
            return Err(AreaRangeError::Negative { m2 });
        }
        if m2 > Self::MAX.m2() {
            return Err(AreaRangeError::TooLarge { m2 });
        }
        // From 10^10 on a float has no more than six decimals, and 18 would not fit.
        let places = if m2 < 1e10 { 18 } else { 12 };
        let m2 = Decimal::from_f64_rounded(m2, places).expect("at most 28 digits by the choice of places");
        let nm2 = count_smallest(m2, NM2_PER_M2).expect(WITHIN_18_DECIMALS);
        Ok(Self { nm2 })
    }

    /// Takes whole square nanometres. `None` below zero or beyond [`Area::MAX`].
    pub fn from_nm2(nm2: i128) -> Option<Self> {
        (0..=Self::MAX.nm2).contains(&nm2).then_some(Self { nm2 })
    }

    /// Reads `101.17 ft2`, `101.17 ft²`, `9.399 m2` or `9.399 m²`.
    ///
    /// # Errors
    /// [`AreaParseError`] says what cannot be read; nothing is rounded.
    pub fn parse(text: &str) -> Result<Self, AreaParseError> {
        let text = text.trim();
        let quoted = || Quoted::new(text);
        let (number, unit) = split_number(text);
        if text.is_empty() {
            return Err(AreaParseError::Empty);
        }
        if number.is_empty() {
            return Err(AreaParseError::NoNumber { text: quoted() });
        }
        let nm2_per_unit = match unit {
            "ft2" | "ft²" => NM2_PER_FT2,
            "m2" | "m²" => NM2_PER_M2,
            // A number that cannot be read is the more telling reason.
            "" => {
                return Err(Decimal::parse(number)
                    .map_or_else(Into::into, |_| AreaParseError::NoUnit { text: quoted() }));
            }
            _ => return Err(AreaParseError::UnknownUnit { unit: Quoted::new(unit) }),
        };
        if number.starts_with('-') {
            return Err(AreaParseError::Negative { text: quoted() });
        }
        let nm2 = count_nm2(number, nm2_per_unit)?.map_err(|reason| match reason {
            CountError::NotWhole => AreaParseError::NotWholeNanometres { text: quoted() },
            CountError::TooLarge => AreaParseError::TooLarge { text: quoted() },
        })?;
        Self::from_nm2(nm2).ok_or_else(|| AreaParseError::TooLarge { text: quoted() })
    }

    /// Returns whole square nanometres.
    pub fn nm2(self) -> i128 {
        self.nm2
    }

    /// Returns square metres.
    pub fn m2(self) -> f64 {
        let m2 = self.expanded(NM2_PER_M2).expect(WITHIN_18_DECIMALS);
        m2.parse().expect("an expansion is a number")
    }

    /// Returns square feet.
    pub fn ft2(self) -> f64 {
        // Apart, because square nanometres pass the 53 bits of a float already at 0.01 m2.
        let (whole, below) = (self.nm2 / NM2_PER_FT2, self.nm2 % NM2_PER_FT2);
        whole as f64 + below as f64 / NM2_PER_FT2 as f64
    }

    /// Adds. `None` beyond [`Area::MAX`].
    pub fn checked_add(self, other: Self) -> Option<Self> {
        Self::from_nm2(self.nm2 + other.nm2)
    }

    /// Subtracts, as an opening from a wall. `None` below zero.
    pub fn checked_sub(self, other: Self) -> Option<Self> {
        Self::from_nm2(self.nm2 - other.nm2)
    }

    /// Prints a text that [`parse`](Self::parse) reads back as the same area: square feet where they need
    /// fewer decimals than square metres, else square metres. Prints the exact value, so a product of
    /// lengths may show many decimals; for a reader, round [`m2`](Self::m2) or [`ft2`](Self::ft2).
    pub fn canonical(self) -> String {
        let m2 = self.expanded(NM2_PER_M2).expect(WITHIN_18_DECIMALS);
        match self.expanded(NM2_PER_FT2) {
            Some(ft2) if places(&ft2) < places(&m2) => format!("{ft2} ft2"),
            _ => format!("{m2} m2"),
        }
    }

    /// Expands the area in a unit by long division. `None` where it does not end within 18 decimals.
    fn expanded(self, nm2_per_unit: i128) -> Option<String> {
        let (whole, mut below) = (self.nm2 / nm2_per_unit, self.nm2 % nm2_per_unit);
        let mut decimals = String::new();
        while below != 0 && decimals.len() < 18 {
            below *= 10;
            decimals.push_str(&(below / nm2_per_unit).to_string());
            below %= nm2_per_unit;
        }
        match below {
            0 if decimals.is_empty() => Some(whole.to_string()),
            0 => Some(format!("{whole}.{decimals}")),
            _ => None,
        }
    }
}

/// Counts the digits after the point.
fn places(number: &str) -> usize {
    number.split_once('.').map_or(0, |(_, decimals)| decimals.len())
}

/// Counts square nanometres in the written `number` of units.
fn count_nm2(number: &str, nm2_per_unit: i128) -> Result<Result<i128, CountError>, DecimalParseError> {
    match (Decimal::parse(number), number.split_once('.')) {
        // The largest areas have up to 31 digits, so the two sides of the point are counted apart. The
        // whole side is always a whole count, so the other side must be one by itself.
        (Err(DecimalParseError::TooManyDigits { .. }), Some((whole, decimals))) => {
            let (whole, below) = (Decimal::parse(whole)?, Decimal::parse(&format!("0.{decimals}"))?);
            Ok(count_smallest(whole, nm2_per_unit).and_then(|nm2| {
                nm2.checked_add(count_smallest(below, nm2_per_unit)?).ok_or(CountError::TooLarge)
            }))
        }
        (number, _) => Ok(count_smallest(number?, nm2_per_unit)),
    }
}

impl fmt::Display for Area {
    /// Prints [`Area::canonical`].
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.canonical())
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Source: 1 ft2 = 0.09290304 m2 exactly, 1 acre = 43,560 ft2 = 4046.8564224 m2 on the international
    /// foot (NIST SP 811 Appendix B, from memory); the rest by hand.
    #[test]
    fn reads_and_converts() {
        let cases = [
            ("1 ft2", 0.09290304, 1.0),
            ("43560 ft2", 4046.8564224, 43_560.0),
            ("101.17 ft2", 9.3990005568, 101.17),
            ("101.17 ft²", 9.3990005568, 101.17),
            ("9.399 m2", 9.399, 9.399 / 0.09290304),
            ("9.399m²", 9.399, 9.399 / 0.09290304),
            ("0 m2", 0.0, 0.0),
        ];
        for (text, m2, ft2) in cases {
            let area = Area::parse(text).unwrap();
            assert!((area.m2() - m2).abs() <= m2 * 1e-15, "{text}");
            assert!((area.ft2() - ft2).abs() <= ft2 * 1e-15, "{text}");
        }
    }

    /// Expected: a wall of 12 ft by 8 ft has 96 ft2; 150 in by 97.125 in has 14,568.75 in2 / 144, by hand.
    #[test]
    fn multiplies_sides() {
        let side = |text| Length::parse(text).unwrap();
        assert_eq!(Area::of(side("12'"), side("8'")), Area::parse("96 ft2").unwrap());
        assert_eq!(Area::of(side("150 in"), side("97.125 in")).ft2(), 101.171875);
        assert_eq!(Area::of(Length::MAX, Length::MAX), Area::MAX);
        assert_eq!(Area::of(side("2 m"), side("1.5 m")).to_string(), "3 m2");
        let (wall, door) = (Area::parse("96 ft2").unwrap(), Area::parse("17.8 ft2").unwrap());
        assert_eq!(wall.checked_sub(door).unwrap().to_string(), "78.2 ft2");
        assert_eq!(door.checked_sub(wall), None);
        assert_eq!(Area::MAX.checked_add(door), None);
    }

    #[test]
    fn refuses_with_the_reason() {
        let cases = [
            ("", "the area is missing: write a number and a unit, such as 101.17 ft2 or 9.399 m2"),
            ("101.17", "\"101.17\" has no unit: write 101.17 ft2 or 101.17 m2"),
            ("101.17 ft", "\"ft\" is no unit of area that is known here: write ft2 or m2"),
            ("9 m2 x", "\"m2 x\" is no unit of area that is known here: write ft2 or m2"),
            ("-1 m2", "\"-1 m2\" is negative: write an area of zero or more"),
            (
                "m2",
                "\"m2\" does not start with a number: write a number and a unit, such as 101.17 ft2 or 9.399 m2",
            ),
            ("1 000 m2", "\"1 000\" has a space inside the number: write the digits together, such as 48.20"),
            (
                "0.0000000000000000001 m2",
                "\"0.0000000000000000001 m2\" is finer than a whole square nanometre: write fewer decimals",
            ),
            (
                "1000000000001 m2",
                "\"1000000000001 m2\" is beyond a million square kilometres: check the number and the unit",
            ),
        ];
        for (text, reason) in cases {
            assert_eq!(Area::parse(text).unwrap_err().to_string(), reason, "{text}");
        }
    }

    #[test]
    fn floats_are_checked() {
        assert_eq!(Area::from_m2_f64(9.399), Ok(Area::parse("9.399 m2").unwrap()));
        assert_eq!(Area::from_m2_f64(9.399).unwrap().m2(), 9.399);
        assert_eq!(Area::from_m2_f64(-0.0), Ok(Area::ZERO));
        assert_eq!(Area::from_m2_f64(1e12), Ok(Area::MAX));
        assert!(matches!(Area::from_m2_f64(1_000_000_000_000.001), Err(AreaRangeError::TooLarge { .. })));
        assert!(matches!(Area::from_m2_f64(f64::NAN), Err(AreaRangeError::NotFinite { .. })));
        assert!(matches!(Area::from_m2_f64(-0.1), Err(AreaRangeError::Negative { .. })));
        assert!(matches!(Area::from_m2_f64(f64::MAX), Err(AreaRangeError::TooLarge { .. })));
    }

    #[test]
    fn prints_what_was_typed() {
        for text in ["101.17 ft2", "9.399 m2", "0 m2", "0.000000000000000001 m2", "96 ft2"] {
            assert_eq!(Area::parse(text).unwrap().to_string(), text);
        }
        assert_eq!(Area::MAX.to_string(), "1000000000000 m2");
        assert_eq!(
            Area::from_nm2(Area::MAX.nm2 - 1).unwrap().to_string(),
            "999999999999.999999999999999999 m2"
        );
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in ".*", near in "[-0-9. ]{0,20}(ft2|m²|m2|ft)") {
            for text in [text, near] {
                if let Ok(area) = Area::parse(&text) {
                    prop_assert_eq!(Area::parse(&area.to_string()), Ok(area), "{}", text);
                }
            }
        }

        #[test]
        fn floats_keep_their_value(m2 in 0.0..1e12f64, small in 0.001..1e4f64) {
            for m2 in [m2, small] {
                let area = Area::from_m2_f64(m2).unwrap();
                // Below 0.01 m2 a float is finer than square nanometres.
                prop_assert!((area.m2() - m2).abs() <= 5e-19);
            }
        }

        #[test]
        fn areas_of_jobs_read_back(width in 0i64..1_000_000_000_000, height in 0i64..=Length::MAX.nm()) {
            let area = Area::of(Length::from_nm(width).unwrap(), Length::from_nm(height).unwrap());
            prop_assert_eq!(Area::parse(&area.to_string()), Ok(area));
        }
    }
}
