//! Thermal resistance as built: a batt in the cavity it really got, fills by the inch, and the wall with its wood.
//!
//! Reading order: [`RValue`] with its units, [`cavity_r`] for one batt, [`fills`] for what is sold without a label's
//! thickness, [`whole_wall`] for the wall around it. Leaves out moisture, ageing of foams, air leakage, steel studs and
//! what a code asks for. Squeezed batts are looked up and never interpolated.

use storypole_units::{Density, Length};

pub mod compression;
pub mod fills;
pub mod whole_wall;

pub use compression::{CavityR, Fibre, LabelledBatt, NotInTable, cavity_r};

/// Square metre kelvins per watt in one hour square foot degree Fahrenheit per Btu, 0.17611018.
///
/// From definitions: 3600 s, 0.3048 m squared, 5/9 K, and the Btu (International Table) of 1055.05585262 J, all exact.
///
/// # Source
/// NIST SP 811 Appendix B, from memory: 0.1761102.
pub const SI_PER_US: f64 = 3600.0 * 0.3048 * 0.3048 * (5.0 / 9.0) / 1_055.055_852_62;

/// Two lengths that differ by no more than this are one size: metric lists round to whole millimetres.
///
/// Convention of this project: 89 mm is 3 1/2 in, though that is 88.9 mm.
const ROUNDED_NM: i64 = 500_000;

/// A thermal resistance per area, above zero and finite.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct RValue {
    us: f64,
}

/// A resistance that is none.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("a thermal resistance of {value} is none: read the R-value from the label")]
pub struct RValueError {
    /// What was given.
    pub value: f64,
}

/// How a squeezed batt's density grows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Squeezed {
    /// Thickness by depth, 1 where the batt is not squeezed.
    pub ratio: f64,
    /// Density in the cavity, kg/m³.
    pub kg_m3: f64,
}

/// Why a batt cannot be squeezed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SqueezeError {
    /// A batt has a thickness.
    #[error("the batt has no thickness: read it from the label")]
    NoThickness,
    /// A cavity has a depth.
    #[error("the cavity has no depth: measure the stud from face to face")]
    NoDepth,
}

impl RValue {
    /// Takes h·ft²·°F/Btu, the R of North American labels.
    ///
    /// # Errors
    /// [`RValueError`] at or below zero, or not finite.
    pub fn from_us(us: f64) -> Result<Self, RValueError> {
        if us.is_finite() && us > 0.0 { Ok(Self { us }) } else { Err(RValueError { value: us }) }
    }

    /// Takes m²·K/W, written RSI in North America.
    ///
    /// # Errors
    /// [`RValueError`] at or below zero, or not finite.
    pub fn from_si(si: f64) -> Result<Self, RValueError> {
        Self::from_us(si / SI_PER_US).map_err(|_| RValueError { value: si })
    }

    /// Returns h·ft²·°F/Btu.
    pub fn us(self) -> f64 {
        self.us
    }

    /// Returns m²·K/W, `R · 0.17611018`.
    pub fn si(self) -> f64 {
        self.us * SI_PER_US
    }
}

/// Returns how dense a batt lies in a cavity, `density · thickness / depth`, as it came where the cavity is as deep.
///
/// # Units and shape
/// `density` is that of the free batt; returns kg/m³ and the ratio.
///
/// # Errors
/// [`SqueezeError`] without a thickness or a depth.
///
/// # Source
/// Mass over volume: the face stays, the depth shrinks.
pub fn squeezed(density: Density, thickness: Length, depth: Length) -> Result<Squeezed, SqueezeError> {
    if thickness == Length::ZERO {
        return Err(SqueezeError::NoThickness);
    }
    if depth == Length::ZERO {
        return Err(SqueezeError::NoDepth);
    }
    let ratio =
        if is_uncompressed(thickness, depth) { 1.0 } else { thickness.nm() as f64 / depth.nm() as f64 };
    Ok(Squeezed { ratio, kg_m3: density.kg_m3() * ratio })
}

fn is_uncompressed(thickness: Length, depth: Length) -> bool {
    thickness.nm() - depth.nm() <= ROUNDED_NM
}

fn same_size(one: Length, other: Length) -> bool {
    (one.nm() - other.nm()).abs() <= ROUNDED_NM
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{inches, mm};

    /// Source: NIST SP 811 Appendix B, from memory, 1.761 102 E-01; a label of R-13 is RSI 2.29 (13 x 0.17611, by hand).
    #[test]
    fn units_convert_by_definition() {
        assert!((SI_PER_US - 0.176_110_2).abs() < 5e-8, "{SI_PER_US}");
        let thirteen = RValue::from_us(13.0).unwrap();
        assert_eq!(format!("{:.2}", thirteen.si()), "2.29");
        // By hand: 1 / 0.17611018 = 5.678263.
        assert_eq!(format!("{:.6}", RValue::from_si(1.0).unwrap().us()), "5.678263");
    }

    #[test]
    fn no_resistance_is_refused() {
        let reason = "a thermal resistance of -1 is none: read the R-value from the label";
        assert_eq!(RValue::from_us(-1.0).unwrap_err().to_string(), reason);
        assert_eq!(RValue::from_si(-1.0).unwrap_err().to_string(), reason);
        for value in [0.0, f64::NAN, f64::INFINITY] {
            assert!(RValue::from_us(value).is_err(), "{value}");
        }
    }

    /// Source: by hand, 6.25 / 5.5 = 1.136; 10 kg/m3 become 11.36. As it came where it is not squeezed.
    #[test]
    fn squeezing_raises_the_density() {
        let ten = Density::parse("10 kg/m3").unwrap();
        let got = squeezed(ten, inches("6.25"), inches("5.5")).unwrap();
        assert_eq!(
            (format!("{:.2}", got.ratio), format!("{:.2}", got.kg_m3)),
            ("1.14".into(), "11.36".into())
        );
        for (thickness, depth) in [(inches("3.5"), inches("5.5")), (mm("89"), inches("3.5"))] {
            assert_eq!(squeezed(ten, thickness, depth), Ok(Squeezed { ratio: 1.0, kg_m3: 10.0 }));
        }
    }

    #[test]
    fn squeezing_refuses_with_the_reason() {
        let ten = Density::parse("10 kg/m3").unwrap();
        let refusal = |thickness, depth| squeezed(ten, thickness, depth).unwrap_err().to_string();
        assert_eq!(refusal(Length::ZERO, inches("3.5")), "the batt has no thickness: read it from the label");
        assert_eq!(
            refusal(inches("3.5"), Length::ZERO),
            "the cavity has no depth: measure the stud from face to face"
        );
    }
}
