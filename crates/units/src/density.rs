//! Mass per volume (a fill) and mass per area (a leaf), as printed on a label: number and unit stay as written.
//!
//! Left out: the difference between mass and weight, and densities of named materials.

use std::fmt;

use crate::decimal::{Decimal, DecimalParseError, split_number};
use crate::quoted::Quoted;

/// One avoirdupois pound: exactly 0.45359237 kg (agreement of 1959).
const KG_PER_LB: f64 = 0.45359237;
/// One foot: exactly 0.3048 m (agreement of 1959).
const M_PER_FT: f64 = 0.3048;

/// The unit a density was written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DensityUnit {
    /// Kilograms per cubic metre.
    KgPerM3,
    /// Pounds per cubic foot.
    LbPerFt3,
}

/// The unit a mass per area was written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum MassPerAreaUnit {
    /// Kilograms per square metre.
    KgPerM2,
    /// Pounds per square foot.
    LbPerFt2,
}

/// A density of zero or more, exact in the unit it was written in. Equality is of what was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Density {
    value: Decimal,
    unit: DensityUnit,
}

/// A mass per area of zero or more, exact in the unit it was written in. Equality is of what was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct MassPerArea {
    value: Decimal,
    unit: MassPerAreaUnit,
}

/// Why a text or a number is no density, or no mass per area.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DensityError {
    /// Nothing was written.
    #[error("the number is missing: write a number and a unit, such as 10 {si} or 1.6 {customary}")]
    Empty {
        /// The metric unit that fits.
        si: &'static str,
        /// The customary unit that fits.
        customary: &'static str,
    },
    /// No number in front.
    #[error("\"{text}\" does not start with a number: write a number and {si} or {customary}")]
    NoNumber {
        /// What was written.
        text: Quoted,
        /// The metric unit that fits.
        si: &'static str,
        /// The customary unit that fits.
        customary: &'static str,
    },
    /// The number itself cannot be read.
    #[error(transparent)]
    Number(#[from] DecimalParseError),
    /// A number without a unit.
    #[error("\"{text}\" has no unit: write {text} {si} or {text} {customary}")]
    NoUnit {
        /// What was written.
        text: Quoted,
        /// The metric unit that fits.
        si: &'static str,
        /// The customary unit that fits.
        customary: &'static str,
    },
    /// Another unit.
    #[error("\"{unit}\" does not fit here: write {si} or {customary}")]
    UnknownUnit {
        /// The unit.
        unit: Quoted,
        /// The metric unit that fits.
        si: &'static str,
        /// The customary unit that fits.
        customary: &'static str,
    },
    /// Below zero.
    #[error("{value} is negative: write a mass of zero or more")]
    Negative {
        /// The number.
        value: Decimal,
    },
}

impl Density {
    /// Takes a number in a unit.
    ///
    /// # Errors
    /// [`DensityError::Negative`].
    pub fn new(value: Decimal, unit: DensityUnit) -> Result<Self, DensityError> {
        Ok(Self { value: not_negative(value)?, unit })
    }

    /// Reads `10 kg/m3`, `10 kg/m³`, `3.5 lb/ft3` or `3.5 lb/ft³`.
    ///
    /// # Errors
    /// [`DensityError`] says what cannot be read; a missing unit is never guessed.
    pub fn parse(text: &str) -> Result<Self, DensityError> {
        let (value, unit) = read(text, &VOLUME_UNITS)?;
        Self::new(value, unit)
    }

    /// Returns the number as written, in [`unit`](Self::unit).
    pub fn value(self) -> Decimal {
        self.value
    }

    /// Returns the unit as written.
    pub fn unit(self) -> DensityUnit {
        self.unit
    }

    /// Returns kg/m3.
    ///
    /// # Source
    /// 1 lb/ft3 = 0.45359237 kg / 0.3048^3 m3, from the exact pound and foot of 1959.
    pub fn kg_m3(self) -> f64 {
        match self.unit {
            DensityUnit::KgPerM3 => self.value.to_f64(),
            DensityUnit::LbPerFt3 => self.value.to_f64() * KG_PER_LB / M_PER_FT.powi(3),
        }
    }
}

impl MassPerArea {
    /// Takes a number in a unit.
    ///
    /// # Errors
    /// [`DensityError::Negative`].
    pub fn new(value: Decimal, unit: MassPerAreaUnit) -> Result<Self, DensityError> {
        Ok(Self { value: not_negative(value)?, unit })
    }

    /// Reads `8.1 kg/m2`, `8.1 kg/m²`, `1.6 lb/ft2` or `1.6 lb/ft²`.
    ///
    /// # Errors
    /// [`DensityError`] says what cannot be read; a missing unit is never guessed.
    pub fn parse(text: &str) -> Result<Self, DensityError> {
        let (value, unit) = read(text, &AREA_UNITS)?;
        Self::new(value, unit)
    }

    /// Returns the number as written, in [`unit`](Self::unit).
    pub fn value(self) -> Decimal {
        self.value
    }

    /// Returns the unit as written.
    pub fn unit(self) -> MassPerAreaUnit {
        self.unit
    }

    /// Returns kg/m2.
    ///
    /// # Source
    /// 1 lb/ft2 = 0.45359237 kg / 0.3048^2 m2, from the exact pound and foot of 1959.
    pub fn kg_m2(self) -> f64 {
        match self.unit {
            MassPerAreaUnit::KgPerM2 => self.value.to_f64(),
            MassPerAreaUnit::LbPerFt2 => self.value.to_f64() * KG_PER_LB / M_PER_FT.powi(2),
        }
    }
}

/// A metric and a customary unit with their spellings, the one we print first.
struct Units<U> {
    si: (U, [&'static str; 2]),
    customary: (U, [&'static str; 2]),
}

const VOLUME_UNITS: Units<DensityUnit> = Units {
    si: (DensityUnit::KgPerM3, ["kg/m3", "kg/m³"]),
    customary: (DensityUnit::LbPerFt3, ["lb/ft3", "lb/ft³"]),
};

const AREA_UNITS: Units<MassPerAreaUnit> = Units {
    si: (MassPerAreaUnit::KgPerM2, ["kg/m2", "kg/m²"]),
    customary: (MassPerAreaUnit::LbPerFt2, ["lb/ft2", "lb/ft²"]),
};

/// Reads a number and one of the two `units`.
fn read<U: Copy>(text: &str, units: &Units<U>) -> Result<(Decimal, U), DensityError> {
    let text = text.trim();
    let (si, customary) = (units.si.1[0], units.customary.1[0]);
    if text.is_empty() {
        return Err(DensityError::Empty { si, customary });
    }
    let (number, unit) = split_number(text);
    if number.is_empty() {
        return Err(DensityError::NoNumber { text: Quoted::new(text), si, customary });
    }
    let value = Decimal::parse(number)?;
    if unit.is_empty() {
        return Err(DensityError::NoUnit { text: Quoted::new(text), si, customary });
    }
    [units.si, units.customary]
        .into_iter()
        .find(|(_, spellings)| spellings.contains(&unit))
        .map(|(found, _)| (value, found))
        .ok_or_else(|| DensityError::UnknownUnit { unit: Quoted::new(unit), si, customary })
}

fn not_negative(value: Decimal) -> Result<Decimal, DensityError> {
    if value.is_negative() { Err(DensityError::Negative { value }) } else { Ok(value) }
}

impl fmt::Display for Density {
    /// Prints the number with its places as written: `3.50 lb/ft3`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = match self.unit {
            DensityUnit::KgPerM3 => VOLUME_UNITS.si.1[0],
            DensityUnit::LbPerFt3 => VOLUME_UNITS.customary.1[0],
        };
        write!(f, "{} {unit}", self.value)
    }
}

impl fmt::Display for MassPerArea {
    /// Prints the number with its places as written: `8.10 kg/m2`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = match self.unit {
            MassPerAreaUnit::KgPerM2 => AREA_UNITS.si.1[0],
            MassPerAreaUnit::LbPerFt2 => AREA_UNITS.customary.1[0],
        };
        write!(f, "{} {unit}", self.value)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Source: 1 lb/ft3 = 16.01846 kg/m3, 1 lb/ft2 = 4.882428 kg/m2 (NIST SP 811 Appendix B, from memory;
    /// seven digits). Tolerance: half a unit of the last published digit.
    #[test]
    fn converts_by_published_factors() {
        assert!((Density::parse("1 lb/ft3").unwrap().kg_m3() - 16.01846).abs() <= 5e-6);
        assert!((MassPerArea::parse("1 lb/ft2").unwrap().kg_m2() - 4.882428).abs() <= 5e-7);
        // 3.5 and 1.6 times the factors above.
        assert!((Density::parse("3.5 lb/ft³").unwrap().kg_m3() - 56.06461).abs() <= 2e-5);
        assert!((MassPerArea::parse("1.6 lb/ft²").unwrap().kg_m2() - 7.811885).abs() <= 1e-6);
        assert_eq!(Density::parse("10 kg/m³").unwrap().kg_m3(), 10.0);
        assert_eq!(MassPerArea::parse("8.1kg/m²").unwrap().kg_m2(), 8.1);
    }

    #[test]
    fn prints_as_written() {
        for text in ["10 kg/m3", "3.50 lb/ft3"] {
            assert_eq!(Density::parse(text).unwrap().to_string(), text);
        }
        for text in ["8.10 kg/m2", "1.6 lb/ft2"] {
            assert_eq!(MassPerArea::parse(text).unwrap().to_string(), text);
        }
    }

    #[test]
    fn refuses_with_the_reason() {
        let cases = [
            ("", "the number is missing: write a number and a unit, such as 10 kg/m3 or 1.6 lb/ft3"),
            ("10", "\"10\" has no unit: write 10 kg/m3 or 10 lb/ft3"),
            ("10 kg/m2", "\"kg/m2\" does not fit here: write kg/m3 or lb/ft3"),
            ("10 pcf", "\"pcf\" does not fit here: write kg/m3 or lb/ft3"),
            ("-1 kg/m3", "-1 is negative: write a mass of zero or more"),
            ("light", "\"light\" does not start with a number: write a number and kg/m3 or lb/ft3"),
            (
                "10,5 kg/m3",
                "\"10,5\" has a comma: write a point before decimals and nothing between thousands, such as 1250.50",
            ),
        ];
        for (text, reason) in cases {
            assert_eq!(Density::parse(text).unwrap_err().to_string(), reason, "{text}");
        }
        assert_eq!(
            MassPerArea::parse("8.1 kg/m3").unwrap_err().to_string(),
            "\"kg/m3\" does not fit here: write kg/m2 or lb/ft2"
        );
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in ".*", near in "[-0-9. ]{0,12}(kg/m3|lb/ft³|kg/m²|lb/ft2)") {
            for text in [text, near] {
                if let Ok(density) = Density::parse(&text) {
                    prop_assert_eq!(Density::parse(&density.to_string()), Ok(density), "{}", text);
                }
                if let Ok(mass) = MassPerArea::parse(&text) {
                    prop_assert_eq!(MassPerArea::parse(&mass.to_string()), Ok(mass), "{}", text);
                }
            }
        }
    }
}
