//! Sealant for the four edges of a wall, by the volume of its bead.
//!
//! Leaves out boxes and pipes, backer rod, and how long an open tube keeps. A printed table of feet per tube that
//! disagrees with the volume is wrong or means another bead.

use std::f64::consts::PI;

use storypole_units::Length;

use crate::waste::{Waste, count_up_computed};

/// Cubic inches in a US fluid ounce, 231/128 exactly: a gallon of 231 in³ is 128 fl oz (NIST Handbook 44).
pub const IN3_PER_US_FL_OZ: f64 = 231.0 / 128.0;

/// What to seal, and with what.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SealantNeed {
    /// From end to end.
    pub length: Length,
    /// From floor to ceiling.
    pub height: Length,
    /// Beads along every edge, both sides counted.
    pub beads: u32,
    /// The shape of one bead.
    pub bead: Bead,
    /// What a tube holds, in³; see [`IN3_PER_US_FL_OZ`].
    pub tube_in3: f64,
    /// Added for waste.
    pub waste: Waste,
}

/// The cross-section of a bead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Bead {
    /// A cord.
    Round { diameter: Length },
    /// A joint filled square.
    Square { side: Length },
}

/// What to buy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sealant {
    /// All four edges.
    pub perimeter: Length,
    /// All beads, without waste.
    pub bead: Length,
    /// Volume of a foot of bead, in³.
    pub in3_per_ft: f64,
    /// Feet of bead from one tube.
    pub ft_per_tube: f64,
    /// Tubes with waste, before rounding up.
    pub needed: f64,
    /// Whole tubes.
    pub tubes: u32,
}

/// Why sealant cannot be counted.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum SealantError {
    /// A wall has edges.
    #[error("a wall {length} by {height} has no edges to seal: measure both")]
    NoWall { length: Length, height: Length },
    /// A bead has a thickness.
    #[error("the bead has no thickness: measure it across")]
    NoBead,
    /// A tube holds something.
    #[error("a tube of {tube_in3} cubic inches is none: read its volume from the label")]
    NoTube { tube_in3: f64 },
    /// A length or a count is beyond what is counted.
    #[error("the sealant is more than can be counted: check the sizes and their units")]
    TooMuch,
}

impl Bead {
    /// Area of the cross-section, in².
    fn section_in2(self) -> f64 {
        match self {
            Self::Round { diameter } => PI * diameter.to_in_f64().powi(2) / 4.0,
            Self::Square { side } => side.to_in_f64().powi(2),
        }
    }
}

/// Counts tubes, `⌈bead length · (1 + waste) / length per tube⌉`, where a tube's volume over the bead's cross-section
/// is its length.
///
/// # Errors
/// [`SealantError`].
///
/// # Source
/// Geometry; the rounding is common practice, no source.
pub fn sealant(need: &SealantNeed) -> Result<Sealant, SealantError> {
    let &SealantNeed { length, height, tube_in3, .. } = need;
    if length == Length::ZERO || height == Length::ZERO {
        return Err(SealantError::NoWall { length, height });
    }
    if !(tube_in3.is_finite() && tube_in3 > 0.0) {
        return Err(SealantError::NoTube { tube_in3 });
    }
    let in3_per_ft = need.bead.section_in2() * 12.0;
    if in3_per_ft <= 0.0 {
        return Err(SealantError::NoBead);
    }
    let perimeter = times(length.checked_add(height), 2).ok_or(SealantError::TooMuch)?;
    let bead = times(Some(perimeter), need.beads).ok_or(SealantError::TooMuch)?;
    let ft_per_tube = tube_in3 / in3_per_ft;
    let needed = bead.to_ft_f64() * need.waste.factor() / ft_per_tube;
    let tubes = count_up_computed(needed).ok_or(SealantError::TooMuch)?;
    Ok(Sealant { perimeter, bead, in3_per_ft, ft_per_tube, needed, tubes })
}

fn times(length: Option<Length>, count: u32) -> Option<Length> {
    Length::from_nm(length?.nm().checked_mul(i64::from(count))?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{inches, waste};

    /// Two round beads of 1/4 in round a wall of 144 by 97 1/8 in, from tubes of 28 fl oz, a tenth for waste.
    fn need() -> SealantNeed {
        SealantNeed {
            length: inches("144"),
            height: inches("97.125"),
            beads: 2,
            bead: Bead::Round { diameter: inches("0.25") },
            tube_in3: 28.0 * IN3_PER_US_FL_OZ,
            waste: waste("0.10"),
        }
    }

    /// Source: a worked example, 40.19 ft, two beads 80.4 ft, 85.8 ft a tube, 1.03, so 2 tubes.
    #[test]
    fn tubes_match_a_worked_example() {
        let got = sealant(&need()).unwrap();
        assert_eq!(format!("{:.2}", got.perimeter.to_ft_f64()), "40.19");
        assert_eq!(format!("{:.1}", got.bead.to_ft_f64()), "80.4");
        assert_eq!(format!("{:.1}", got.ft_per_tube), "85.8");
        assert_eq!(format!("{:.2}", got.needed), "1.03");
        assert_eq!(got.tubes, 2);
    }

    /// Source: volumes and lengths computed independently; 31, 24 and 14 ft for a tube of 10.1 fl oz.
    #[test]
    fn feet_per_tube_match() {
        let round = |diameter| Bead::Round { diameter: inches(diameter) };
        let cases = [
            (10.1, round("0.25"), 30.943_699_81),
            (10.1, Bead::Square { side: inches("0.25") }, 24.303_125),
            (10.1, round("0.375"), 13.752_755_47),
            (28.0, round("0.25"), 85.784_514_33),
        ];
        for (fl_oz, bead, feet) in cases {
            let got = sealant(&SealantNeed { bead, tube_in3: fl_oz * IN3_PER_US_FL_OZ, ..need() }).unwrap();
            assert!((got.ft_per_tube - feet).abs() < 1e-7, "{bead:?}: {got:?}");
        }
        // An ounce is 1.8047 in³ to four decimals, as handbooks print it.
        assert_eq!(format!("{IN3_PER_US_FL_OZ:.4}"), "1.8047");
    }

    #[test]
    fn no_beads_take_no_tube() {
        assert_eq!(sealant(&SealantNeed { beads: 0, ..need() }).unwrap().tubes, 0);
    }

    #[test]
    fn refuses_with_the_reason() {
        let cases = [
            (
                SealantNeed { height: Length::ZERO, ..need() },
                "a wall 12' by 0\" has no edges to seal: measure both",
            ),
            (
                SealantNeed { bead: Bead::Round { diameter: Length::ZERO }, ..need() },
                "the bead has no thickness: measure it across",
            ),
            (
                SealantNeed { tube_in3: -1.0, ..need() },
                "a tube of -1 cubic inches is none: read its volume from the label",
            ),
            (
                SealantNeed { tube_in3: f64::NAN, ..need() },
                "a tube of NaN cubic inches is none: read its volume from the label",
            ),
            (
                SealantNeed { length: Length::MAX, ..need() },
                "the sealant is more than can be counted: check the sizes and their units",
            ),
            (
                SealantNeed { tube_in3: 1e-12, ..need() },
                "the sealant is more than can be counted: check the sizes and their units",
            ),
        ];
        for (need, reason) in cases {
            assert_eq!(sealant(&need).unwrap_err().to_string(), reason);
        }
    }
}
