//! Loose fill blown into cavities, by weight.
//!
//! Leaves out settling, the blower's setting, and whether these cavities may be filled: wiring, moisture and flues
//! are looked at first, by local code and licensed practice.

use storypole_units::{Area, Density, Length};

use crate::waste::{Waste, count_up_computed};

/// Kilograms in a pound, exact (international agreement of 1959).
pub const KG_PER_LB: f64 = 0.453_592_37;
/// Cubic metres in a cubic foot, exact: the foot is 0.3048 m.
const M3_PER_FT3: f64 = 0.028_316_846_592;

/// What to fill, and with what.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FillNeed {
    /// Cavities without wood.
    pub net_area: Area,
    /// Depth of the cavities.
    pub depth: Length,
    /// The fill as it lies in the cavity.
    pub density: Density,
    /// What a bag holds, kg; see [`KG_PER_LB`].
    pub bag_kg: f64,
    /// Added for waste.
    pub waste: Waste,
}

/// What to buy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fill {
    /// Volume of the cavities, m³.
    pub volume_m3: f64,
    /// Weight of the fill in them, kg, without waste.
    pub weight_kg: f64,
    /// Bags with waste, before rounding up.
    pub needed: f64,
    /// Whole bags.
    pub bags: u32,
}

/// Why bags cannot be counted.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum FillError {
    /// A cavity has a depth.
    #[error("the cavity has no depth: measure the stud from face to face")]
    NoDepth,
    /// A bag holds something.
    #[error("a bag of {bag_kg} kg is none: read its weight from the label")]
    NoBag { bag_kg: f64 },
    /// A count is beyond what is counted.
    #[error("the bags are more than can be counted: check the sizes and their units")]
    TooMany,
}

impl Fill {
    /// Returns the volume in ft³.
    pub fn volume_ft3(&self) -> f64 {
        self.volume_m3 / M3_PER_FT3
    }

    /// Returns the weight in pounds.
    pub fn weight_lb(&self) -> f64 {
        self.weight_kg / KG_PER_LB
    }
}

/// Counts bags, `⌈area · depth · density · (1 + waste) / bag⌉`.
///
/// # Errors
/// [`FillError`].
///
/// # Source
/// Geometry; the rounding is common practice, no source.
pub fn loose_fill(need: &FillNeed) -> Result<Fill, FillError> {
    if need.depth == Length::ZERO {
        return Err(FillError::NoDepth);
    }
    if !(need.bag_kg.is_finite() && need.bag_kg > 0.0) {
        return Err(FillError::NoBag { bag_kg: need.bag_kg });
    }
    let volume_m3 = need.net_area.m2() * need.depth.to_m_f64();
    let weight_kg = volume_m3 * need.density.kg_m3();
    let needed = weight_kg * need.waste.factor() / need.bag_kg;
    let bags = count_up_computed(needed).ok_or(FillError::TooMany)?;
    Ok(Fill { volume_m3, weight_kg, needed, bags })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{inches, wall, waste};
    use crate::wall::frame;

    fn need() -> FillNeed {
        FillNeed {
            net_area: frame(&wall("144")).unwrap().net_area,
            depth: inches("3.5"),
            density: Density::parse("3.5 lb/ft3").unwrap(),
            bag_kg: 25.0 * KG_PER_LB,
            waste: waste("0.05"),
        }
    }

    /// Source: a worked example, 82.977 ft2 x 3.5 in at 3.5 lb/ft3 = 84.7 lb, four bags of 25 lb with 5 percent; a
    /// second, 75.258 ft2 = 76.8 lb.
    #[test]
    fn bags_match_worked_examples() {
        let got = loose_fill(&need()).unwrap();
        // 82.9765625 x 3.5 / 12, by hand.
        assert!((got.volume_ft3() - 24.201_497_395_833_33).abs() < 1e-10, "{got:?}");
        assert_eq!(format!("{:.1}", got.weight_lb()), "84.7");
        assert_eq!(got.bags, 4);
        let nursery = FillNeed { net_area: frame(&wall("132")).unwrap().net_area, ..need() };
        assert_eq!(format!("{:.1}", loose_fill(&nursery).unwrap().weight_lb()), "76.8");
    }

    /// Source: by hand, 120 ft2 x 12 in at 2.5 lb/ft3 = 300 lb, exactly twelve bags of 25 lb.
    #[test]
    fn a_whole_count_is_not_rounded_up() {
        let exact = FillNeed {
            net_area: Area::parse("120 ft2").unwrap(),
            depth: inches("12"),
            density: Density::parse("2.5 lb/ft3").unwrap(),
            waste: Waste::NONE,
            ..need()
        };
        assert_eq!(loose_fill(&exact).unwrap().bags, 12);
        assert_eq!(loose_fill(&FillNeed { net_area: Area::ZERO, ..exact }).unwrap().bags, 0);
    }

    #[test]
    fn refuses_with_the_reason() {
        let cases = [
            (
                FillNeed { depth: Length::ZERO, ..need() },
                "the cavity has no depth: measure the stud from face to face",
            ),
            (FillNeed { bag_kg: 0.0, ..need() }, "a bag of 0 kg is none: read its weight from the label"),
            (
                FillNeed { net_area: Area::MAX, ..need() },
                "the bags are more than can be counted: check the sizes and their units",
            ),
        ];
        for (need, reason) in cases {
            assert_eq!(loose_fill(&need).unwrap_err().to_string(), reason);
        }
    }
}
