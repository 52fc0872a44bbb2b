//! What fills resist by the inch, as ranges with their sources.
//!
//! Leaves out settling and ageing. A range is what was published for the kind; the label of what was bought decides.

use storypole_units::Length;

use super::{RValue, RValueError};

/// A chart of ranges by kind.
const CHART: &str = "No-Regrets Remodeling, insulation chart after a fact sheet of the US Department of Energy and ASHRAE 1993, as reproduced by Lawrence Berkeley National Laboratory";
/// Second-hand lists.
const LISTS: &str = "two lists of R-values that quote the US Department of Energy, second-hand";
/// Labels of stone wool.
const STONE: &str = "a home magazine and a builder's guide: about 4 an inch, R-15 in 3 1/2 in and R-23 in 5 1/2 in, which are 4.3 and 4.2";
/// A handbook on insulation.
const HANDBOOK: &str =
    "extracts of a handbook on thermal insulation: 2.2 an inch at 0.7 lb/ft3, 4.0 an inch at 2.0 lb/ft3";

/// A fill by kind and how it is placed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub enum FillKind {
    GlassFibreBatt,
    GlassFibreBattHighDensity,
    GlassFibreLoose,
    GlassFibreDensePack,
    StoneWoolBatt,
    CelluloseLoose,
    CelluloseDensePack,
    CottonBatt,
    ExpandedPolystyrene,
    ExtrudedPolystyrene,
    /// New; it loses some with age.
    Polyiso,
    ClosedCellFoam,
    OpenCellFoam,
}

/// What an inch resists.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RPerInch {
    /// Lower end, h·ft²·°F/Btu per inch.
    pub low: f64,
    /// Upper end, h·ft²·°F/Btu per inch.
    pub high: f64,
    /// Who published it.
    pub source: &'static str,
}

/// What a depth of fill resists.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FillR {
    /// Lower end.
    pub low: RValue,
    /// Upper end.
    pub high: RValue,
    /// Who published the range.
    pub source: &'static str,
}

impl FillKind {
    /// Every kind.
    pub const ALL: [Self; 13] = [
        Self::GlassFibreBatt,
        Self::GlassFibreBattHighDensity,
        Self::GlassFibreLoose,
        Self::GlassFibreDensePack,
        Self::StoneWoolBatt,
        Self::CelluloseLoose,
        Self::CelluloseDensePack,
        Self::CottonBatt,
        Self::ExpandedPolystyrene,
        Self::ExtrudedPolystyrene,
        Self::Polyiso,
        Self::ClosedCellFoam,
        Self::OpenCellFoam,
    ];

    /// Returns the published range by the inch, with its source.
    pub fn r_per_inch(self) -> RPerInch {
        let (low, high, source) = match self {
            Self::GlassFibreBatt => (2.9, 3.8, CHART),
            Self::GlassFibreBattHighDensity => (3.7, 4.3, LISTS),
            Self::GlassFibreLoose => (2.2, 4.0, HANDBOOK),
            Self::GlassFibreDensePack => (3.4, 4.2, CHART),
            Self::StoneWoolBatt => (4.0, 4.3, STONE),
            Self::CelluloseLoose => (3.1, 3.7, CHART),
            Self::CelluloseDensePack => (3.4, 3.6, CHART),
            Self::CottonBatt => (3.0, 3.7, CHART),
            Self::ExpandedPolystyrene => (3.9, 4.2, CHART),
            Self::ExtrudedPolystyrene => (5.0, 5.0, CHART),
            Self::Polyiso => (5.6, 7.0, CHART),
            Self::ClosedCellFoam => (5.6, 6.2, CHART),
            Self::OpenCellFoam => (3.6, 4.3, CHART),
        };
        RPerInch { low, high, source }
    }
}

/// Returns the range for a depth, `R = depth in inches · R per inch`.
///
/// # Units and shape
/// Both ends h·ft²·°F/Btu, the lower one first.
///
/// # Errors
/// [`RValueError`] for no depth.
///
/// # Source
/// The fill's own: see [`FillR::source`].
pub fn fill_r(kind: FillKind, depth: Length) -> Result<FillR, RValueError> {
    let RPerInch { low, high, source } = kind.r_per_inch();
    let depth_in = depth.to_in_f64();
    Ok(FillR { low: RValue::from_us(depth_in * low)?, high: RValue::from_us(depth_in * high)?, source })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::inches;

    /// Source: by hand, 3.5 in of dense cellulose at 3.4 to 3.6 an inch are 11.9 to 12.6.
    #[test]
    fn a_depth_multiplies_the_range() {
        let got = fill_r(FillKind::CelluloseDensePack, inches("3.5")).unwrap();
        assert_eq!(format!("{:.2} {:.2}", got.low.us(), got.high.us()), "11.90 12.60");
        // By hand: 11.9 x 0.17611 = 2.096.
        assert_eq!(format!("{:.3}", got.low.si()), "2.096");
    }

    /// Source: labels of batts sold, R-13 and R-15 of glass fibre in 3 1/2 in, R-23 of stone wool in 5 1/2 in (common
    /// practice, no source): each lies in its range to the rounding of a label.
    #[test]
    fn labels_lie_in_their_ranges() {
        let cases = [
            (FillKind::GlassFibreBatt, "3.5", 13.0),
            (FillKind::GlassFibreBattHighDensity, "3.5", 15.0),
            (FillKind::StoneWoolBatt, "3.5", 15.0),
            (FillKind::StoneWoolBatt, "5.5", 23.0),
        ];
        for (kind, depth, label) in cases {
            let got = fill_r(kind, inches(depth)).unwrap();
            assert!(got.low.us() <= label + 0.5 && label - 0.5 <= got.high.us(), "{kind:?}: {got:?}");
        }
    }

    #[test]
    fn every_range_has_two_ends_and_a_source() {
        for kind in FillKind::ALL {
            let got = kind.r_per_inch();
            assert!(0.0 < got.low && got.low <= got.high && !got.source.is_empty(), "{kind:?}");
        }
        let refusal = fill_r(FillKind::Polyiso, Length::ZERO).unwrap_err().to_string();
        assert_eq!(refusal, "a thermal resistance of 0 is none: read the R-value from the label");
    }
}
