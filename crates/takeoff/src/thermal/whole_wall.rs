//! The wall around the batt: how much of it is wood, and what the two resist together.
//!
//! Leaves out steel studs, which carry heat sideways into the boards and need another method, and windows and doors,
//! which are counted apart.

use storypole_units::{Area, Length};

use super::{RValue, RValueError};
use crate::wall::{Frame, Opening};

/// What an inch of softwood resists, h·ft²·°F/Btu.
///
/// # Source
/// Handbooks of building physics, from memory, edition not checked: 4.38 for a stud 3 1/2 in deep.
pub const SOFTWOOD_R_PER_INCH: f64 = 1.25;

/// A wall by its two ways for heat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallPaths {
    /// Share of the wall that is wood, from 0 to 1.
    pub framing_fraction: f64,
    /// Through the wood, from face to face of the frame.
    pub r_frame: RValue,
    /// Through the cavity, from face to face of the frame.
    pub r_cavity: RValue,
    /// Boards and air films that lie before both; `None` counts nothing.
    pub series: Option<RValue>,
}

/// What a wall resists.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WholeWall {
    /// No heat crosses between the ways: the upper limit.
    pub upper: RValue,
    /// The frame's two faces are at one temperature each: the lower limit.
    pub lower: RValue,
    /// The mean of both.
    pub mean: RValue,
}

/// Why a wall cannot be taken together.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum WholeWallError {
    /// A share lies between nothing and all.
    #[error("a framing share of {fraction} is no share: write a fraction from 0 to 1, such as 0.25")]
    Fraction { fraction: f64 },
    /// A result beyond what a number holds.
    #[error(transparent)]
    R(#[from] RValueError),
}

/// Why a frame has no share of wood.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FramingError {
    /// Nothing but openings.
    #[error("the openings take the whole wall: check them one by one")]
    NoWall,
    /// More cavity than wall.
    #[error("the cavities are larger than the wall without its openings: frame the wall with these openings")]
    OtherWall,
}

impl WholeWall {
    /// Returns the transmittance of [`mean`](Self::mean), W/(m²·K).
    pub fn u_si(&self) -> f64 {
        1.0 / self.mean.si()
    }
}

/// Combines wood and cavity: `1/R = f/(Rf + Rs) + (1-f)/(Rc + Rs)` at most, `R = Rs + 1/(f/Rf + (1-f)/Rc)` at least.
///
/// # Units and shape
/// `f` is a share of the wall's face, `Rf`, `Rc`, `Rs` and the results resistances.
///
/// # Errors
/// [`WholeWallError::Fraction`] for a share outside 0 to 1.
///
/// # Source
/// ISO 6946, the combined method for bridged layers, from memory; the upper limit alone is the parallel-path method of
/// the ASHRAE Handbook of Fundamentals, from memory.
pub fn whole_wall(paths: &WallPaths) -> Result<WholeWall, WholeWallError> {
    let fraction = paths.framing_fraction;
    if !(0.0..=1.0).contains(&fraction) {
        return Err(WholeWallError::Fraction { fraction });
    }
    let series = paths.series.map_or(0.0, RValue::us);
    let parallel = |frame: f64, cavity: f64| 1.0 / (fraction / frame + (1.0 - fraction) / cavity);
    let (frame, cavity) = (paths.r_frame.us(), paths.r_cavity.us());
    let upper = RValue::from_us(parallel(frame + series, cavity + series))?;
    let lower = RValue::from_us(parallel(frame, cavity) + series)?;
    Ok(WholeWall { upper, lower, mean: RValue::from_us((upper.us() + lower.us()) / 2.0)? })
}

/// Returns what softwood of this depth resists, 1.25 an inch.
///
/// # Errors
/// [`RValueError`] for no depth.
///
/// # Source
/// [`SOFTWOOD_R_PER_INCH`].
pub fn softwood_r(depth: Length) -> Result<RValue, RValueError> {
    RValue::from_us(depth.to_in_f64() * SOFTWOOD_R_PER_INCH)
}

/// Returns the share of a framed wall that is wood, `1 - net / (gross - openings)`.
///
/// # Units and shape
/// From 0 to 1; `openings` are those the wall was framed with, and none of their area counts as wall.
///
/// # Errors
/// [`FramingError`] where the openings leave no wall, or are not this frame's.
///
/// # Source
/// Geometry.
pub fn framing_fraction(frame: &Frame, openings: &[Opening]) -> Result<f64, FramingError> {
    let opaque = openings.iter().try_fold(frame.gross_area, |left, opening| left.checked_sub(opening.area()));
    let opaque = opaque.filter(|&left| left > Area::ZERO).ok_or(FramingError::NoWall)?;
    if frame.net_area > opaque {
        return Err(FramingError::OtherWall);
    }
    Ok(1.0 - frame.net_area.nm2() as f64 / opaque.nm2() as f64)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{door, inches, wall, wall_with_door};
    use crate::wall::{Wall, frame};

    fn si(value: f64) -> RValue {
        RValue::from_si(value).unwrap()
    }

    /// Source: Scottish Executive, guidance to the building regulations, Annex 6.B, timber framed wall: mineral wool 3.333
    /// and studs 1.077 m2K/W on 9.5 % of the wall; all other layers 0.638, so that the two ways are 3.971 and 1.715 as
    /// printed. From these by hand: 0.905/3.971 + 0.095/1.715 = 0.28330, upper limit 3.530; 0.905/3.333 + 0.095/1.077 =
    /// 0.35974, so 2.780 and with 0.638 the lower limit 3.418; mean 3.474, U 0.29.
    #[test]
    fn a_timber_wall_matches_a_published_example() {
        let paths = WallPaths {
            framing_fraction: 0.095,
            r_frame: si(1.077),
            r_cavity: si(3.333),
            series: Some(si(0.638)),
        };
        let got = whole_wall(&paths).unwrap();
        let printed = [got.upper, got.lower, got.mean].map(|r| format!("{:.3}", r.si()));
        assert_eq!(printed, ["3.530", "3.418", "3.474"]);
        assert_eq!(format!("{:.2}", got.u_si()), "0.29");
    }

    /// Source: by hand, a quarter of studs 3 1/2 in deep (4.375) and R-13: 0.25/4.375 + 0.75/13 = 0.114835, R 8.71.
    #[test]
    fn without_boards_both_limits_are_one() {
        let r_frame = softwood_r(inches("3.5")).unwrap();
        // Source: 4.38 in handbook tables, from memory.
        assert_eq!(r_frame.us(), 4.375);
        let r_cavity = RValue::from_us(13.0).unwrap();
        let got = whole_wall(&WallPaths { framing_fraction: 0.25, r_frame, r_cavity, series: None }).unwrap();
        assert_eq!([got.upper, got.lower].map(|r| format!("{:.2}", r.us())), ["8.71", "8.71"]);
    }

    #[test]
    fn a_share_outside_is_refused() {
        let r = RValue::from_us(4.0).unwrap();
        for (fraction, text) in [(-0.1, "-0.1"), (25.0, "25"), (f64::NAN, "NaN")] {
            let paths = WallPaths { framing_fraction: fraction, r_frame: r, r_cavity: r, series: None };
            let reason =
                format!("a framing share of {text} is no share: write a fraction from 0 to 1, such as 0.25");
            assert_eq!(whole_wall(&paths).unwrap_err().to_string(), reason);
        }
    }

    /// Source: worked examples of common practice. Without openings 82.977 of 97.125 ft2 are cavity, wood 14.6 %; with a
    /// door of 22.057 ft2 it is 58.694 of 75.068, wood 21.8 % (by hand).
    #[test]
    fn the_share_of_wood_is_what_cavities_leave() {
        let plain = wall("144");
        let got = framing_fraction(&frame(&plain).unwrap(), &plain.openings).unwrap();
        assert_eq!(format!("{:.3}", got), "0.146");
        let door = wall_with_door();
        let got = framing_fraction(&frame(&door).unwrap(), &door.openings).unwrap();
        assert_eq!(format!("{:.3}", got), "0.218");
    }

    #[test]
    fn openings_of_another_wall_are_refused() {
        let plain = frame(&wall("144")).unwrap();
        let refusal = |openings: &[Opening]| framing_fraction(&plain, openings).unwrap_err().to_string();
        let all = door("0", "144", "97.125", "1");
        assert_eq!(refusal(&[all]), "the openings take the whole wall: check them one by one");
        assert_eq!(refusal(&[all, all]), "the openings take the whole wall: check them one by one");
        assert_eq!(
            refusal(&[door("0", "72", "97.125", "1")]),
            "the cavities are larger than the wall without its openings: frame the wall with these openings"
        );
    }

    proptest! {
        /// Goal: the limits keep their order, lie between the two ways, and more wood never resists more.
        #[test]
        fn limits_keep_their_order(f in 0.0f64..=1.0, more in 0.0f64..=1.0, frame in 1.0f64..10.0, better in 0.0f64..30.0, series in 0.01f64..10.0) {
            let (least, most) = (f.min(more), f.max(more));
            let of = |framing_fraction| {
                let [r_frame, r_cavity, series] =
                    [frame, frame + better, series].map(|us| RValue::from_us(us).unwrap());
                whole_wall(&WallPaths { framing_fraction, r_frame, r_cavity, series: Some(series) }).unwrap()
            };
            let (light, heavy) = (of(least), of(most));
            let noise = 1e-9;
            prop_assert!(light.lower.us() <= light.mean.us() + noise && light.mean.us() <= light.upper.us() + noise);
            prop_assert!(frame + series <= light.lower.us() + noise && light.upper.us() <= frame + better + series + noise);
            prop_assert!(heavy.mean.us() <= light.mean.us() + noise);
        }

        /// Goal: a share of any wall lies between none and all, and wood is there.
        #[test]
        fn a_framed_wall_has_wood(length in 40u32..400) {
            let built = Wall { length: Length::from_nm(i64::from(length) * 25_400_000).unwrap(), ..wall("144") };
            let got = framing_fraction(&frame(&built).unwrap(), &built.openings).unwrap();
            prop_assert!(0.0 < got && got < 1.0, "{got}");
        }
    }
}
