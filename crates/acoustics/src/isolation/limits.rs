//! What the standards say about rooms that are too small, too large or too open for a quantity, as flags for a person.
//!
//! A flag changes no number: it says what the number may be called, or what else was to be measured.

use std::fmt;

use super::FieldRoom;

/// The survey method's least area is the volume over this many metres. ISO 10052.
pub(super) const SURVEY_VOLUME_PER_AREA_M: f64 = 7.5;

/// Below this common area R′ is not stated, m². ISO 16283-1, from memory.
const LEAST_AREA_M2: f64 = 10.0;

/// From this volume on the normalized noise reduction is not stated, m³. ASTM E336, from memory.
const NNR_BELOW_M3: f64 = 150.0;

/// Below this volume the apparent transmission loss is not stated, m³. ASTM E336, from memory.
const ATL_FROM_M3: f64 = 25.0;

/// Below this volume, corner levels at 50, 63 and 80 Hz belong to the test, m³. ISO 16283-1.
const CORNERS_BELOW_M3: f64 = 25.0;

/// The area that an apparent sound reduction index is stated for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AreaRule {
    /// The area both rooms share. ISO 16283-1 clause 3.14.
    Common,
    /// That, but at least V/7.5 with the smaller room's volume. The survey method, ISO 10052:2021 clause 3.6.
    Survey {
        /// The volume of the source room, m³, above zero.
        source_volume_m3: f64,
    },
}

/// Something a person should know about a room before a result is given a name.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum RoomFlag {
    /// R′ and ATL do not exist.
    NoCommonArea,
    /// State Dn or DnT and not R′.
    SmallCommonArea { common_area_m2: f64 },
    /// The survey method takes a larger area than the one that is there, unless the source room is much smaller.
    SurveyArea { survey_area_m2: f64 },
    /// No NNR, no NNIC.
    TooLargeForNnr { volume_m3: f64 },
    /// No ATL, no ASTC.
    TooSmallForAtl { volume_m3: f64 },
    /// Corner levels belong to the test in the lowest bands.
    CornerLevels { volume_m3: f64 },
    /// The decay time is a table's.
    EstimatedDecayTime,
}

/// The flag as a sentence.
impl fmt::Display for RoomFlag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoCommonArea => {
                f.write_str("the rooms share no wall: state Dn or DnT, there is no R' and no ATL")
            }
            Self::SmallCommonArea { common_area_m2 } => {
                write!(f, "the rooms share only {common_area_m2:.1} m²: state Dn or DnT rather than R'")
            }
            Self::SurveyArea { survey_area_m2 } => {
                write!(
                    f,
                    "by the survey method R' is stated for {survey_area_m2:.1} m², the volume over 7.5 m"
                )
            }
            Self::TooLargeForNnr { volume_m3 } => {
                write!(
                    f,
                    "a receiving room of {volume_m3:.0} m³ is too large for NNR and NNIC, which end at 150 m³"
                )
            }
            Self::TooSmallForAtl { volume_m3 } => {
                write!(
                    f,
                    "a receiving room of {volume_m3:.0} m³ is too small for ATL and ASTC, which begin at 25 m³"
                )
            }
            Self::CornerLevels { volume_m3 } => write!(
                f,
                "in a receiving room of {volume_m3:.0} m³ the corners are measured too at 50, 63 and 80 Hz"
            ),
            Self::EstimatedDecayTime => f.write_str(
                "the decay time was not measured but taken for a furnished room: the result is an estimate",
            ),
        }
    }
}

/// Looks a room over for what its results may be called.
///
/// # Source
/// ISO 16283-1, ISO 10052; limits of NNR (150 m³) and ATL (25 m³) of ASTM E336, from memory.
pub fn room_flags(room: &FieldRoom) -> Vec<RoomFlag> {
    let volume_m3 = room.volume_m3();
    let mut flags = Vec::new();
    match room.common_area_m2() {
        None => flags.push(RoomFlag::NoCommonArea),
        Some(common_area_m2) => {
            if common_area_m2 < LEAST_AREA_M2 {
                flags.push(RoomFlag::SmallCommonArea { common_area_m2 });
            }
            let survey_area_m2 = volume_m3 / SURVEY_VOLUME_PER_AREA_M;
            if survey_area_m2 > common_area_m2 {
                flags.push(RoomFlag::SurveyArea { survey_area_m2 });
            }
        }
    }
    if volume_m3 >= NNR_BELOW_M3 {
        flags.push(RoomFlag::TooLargeForNnr { volume_m3 });
    }
    if volume_m3 < ATL_FROM_M3 {
        flags.push(RoomFlag::TooSmallForAtl { volume_m3 });
    }
    if volume_m3 < CORNERS_BELOW_M3 {
        flags.push(RoomFlag::CornerLevels { volume_m3 });
    }
    if room.is_estimated() {
        flags.push(RoomFlag::EstimatedDecayTime);
    }
    flags
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bands::{Fraction, Spectrum};
    use crate::isolation::FurnishedRoom;

    fn flags(volume_m3: f64, common_area_m2: Option<f64>) -> Vec<RoomFlag> {
        let decay_times_s = Spectrum::new(Fraction::Third, &[500.0], &[0.5]).unwrap();
        room_flags(&FieldRoom::measured(decay_times_s, volume_m3, common_area_m2).unwrap())
    }

    #[test]
    fn limits_are_told() {
        // Limits as ISO 16283-1, ISO 10052 and ASTM E336 have them; those of ASTM from memory.
        assert_eq!(flags(40.0, Some(12.0)), []);
        assert_eq!(flags(149.9, Some(25.0)), []);
        assert_eq!(flags(40.0, Some(9.9)), [RoomFlag::SmallCommonArea { common_area_m2: 9.9 }]);
        assert_eq!(flags(25.0, None), [RoomFlag::NoCommonArea]);
        assert_eq!(
            flags(150.0, Some(12.0)),
            [RoomFlag::SurveyArea { survey_area_m2: 20.0 }, RoomFlag::TooLargeForNnr { volume_m3: 150.0 }]
        );
        assert_eq!(
            flags(24.0, Some(12.0)),
            [RoomFlag::TooSmallForAtl { volume_m3: 24.0 }, RoomFlag::CornerLevels { volume_m3: 24.0 }]
        );
        let furnished = FieldRoom::furnished(FurnishedRoom::Kitchen, 30.0, Some(11.0)).unwrap();
        assert_eq!(room_flags(&furnished), [RoomFlag::EstimatedDecayTime]);
        assert!(flags(24.0, Some(5.0))[0].to_string().contains("only 5.0 m²"));
    }
}
