//! The receiving room of a test by bands: a decay time for each, measured or stood in for.

use super::{AreaRule, FurnishedRoom, decay_index};
use crate::bands::{Band, Spectrum};
use crate::difference::{REFERENCE_DECAY_TIME_S, ReceivingRoom, RoomError};

/// A receiving room in the state of the test. All measures are above zero.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldRoom {
    volume_m3: f64,
    common_area_m2: Option<f64>,
    decay: Decay,
}

#[derive(Debug, Clone, PartialEq)]
enum Decay {
    Measured(Spectrum),
    Furnished(FurnishedRoom),
}

/// Why there is no such furnished room.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum FurnishedError {
    /// The room itself.
    #[error(transparent)]
    Room(#[from] RoomError),
    /// Measure the decay time: the table does not go that far.
    #[error("the table of decay times has no such room of {volume_m3} m³: measure the decay time")]
    OutsideTable { volume_m3: f64 },
}

impl FieldRoom {
    /// Takes decay times by band in s, the volume in m³ and, where the rooms share a wall, its area in m².
    ///
    /// # Errors
    /// [`RoomError`] for a measure that is not finite and above zero.
    pub fn measured(
        decay_times_s: Spectrum,
        volume_m3: f64,
        common_area_m2: Option<f64>,
    ) -> Result<Self, RoomError> {
        for (_, decay_time_s) in decay_times_s.values() {
            ReceivingRoom::new(*decay_time_s, volume_m3, common_area_m2)?;
        }
        Ok(Self { volume_m3, common_area_m2, decay: Decay::Measured(decay_times_s) })
    }

    /// Stands in for decay times nobody measured by what a furnished room of this kind has; results are estimates.
    ///
    /// # Errors
    /// [`FurnishedError`].
    ///
    /// # Source
    /// ISO 10052:2021 Table 4.
    pub fn furnished(
        kind: FurnishedRoom,
        volume_m3: f64,
        common_area_m2: Option<f64>,
    ) -> Result<Self, FurnishedError> {
        ReceivingRoom::new(REFERENCE_DECAY_TIME_S, volume_m3, common_area_m2)?;
        decay_index(kind, volume_m3).ok_or(FurnishedError::OutsideTable { volume_m3 })?;
        Ok(Self { volume_m3, common_area_m2, decay: Decay::Furnished(kind) })
    }

    /// The volume, m³.
    pub fn volume_m3(&self) -> f64 {
        self.volume_m3
    }

    /// The area both rooms share, m²; absent where they share no wall.
    pub fn common_area_m2(&self) -> Option<f64> {
        self.common_area_m2
    }

    /// Whether the decay times are a table's and not the room's own.
    pub fn is_estimated(&self) -> bool {
        matches!(self.decay, Decay::Furnished(_))
    }

    /// The reverberation time in one band, s; absent where none is known.
    pub fn decay_time_s(&self, band: Band) -> Option<f64> {
        match &self.decay {
            Decay::Measured(decay_times_s) => decay_times_s.get(band),
            Decay::Furnished(kind) => decay_index(*kind, self.volume_m3)?
                .at_db(band)
                .map(|index_db| REFERENCE_DECAY_TIME_S * 10f64.powf(index_db / 10.0)),
        }
    }

    /// The room as one band sees it; absent where no decay time is known there.
    pub fn at(&self, band: Band) -> Option<ReceivingRoom> {
        ReceivingRoom::new(self.decay_time_s(band)?, self.volume_m3, self.common_area_m2).ok()
    }

    /// The area that R′ is stated for, m²; absent where the rooms share no wall.
    pub fn area_m2(&self, rule: AreaRule) -> Option<f64> {
        self.common_area_m2.map(|common_m2| match rule {
            AreaRule::Common => common_m2,
            AreaRule::Survey { source_volume_m3 } => {
                common_m2.max(self.volume_m3.min(source_volume_m3) / super::limits::SURVEY_VOLUME_PER_AREA_M)
            }
        })
    }

    /// Those of `bands` that lie below the Schroeder frequency: single positions scatter there by several dB.
    pub fn below_schroeder(&self, bands: &[Band]) -> Vec<Band> {
        let is_below = |band: &Band| self.at(*band).is_some_and(|room| band.exact_hz() < room.schroeder_hz());
        bands.iter().copied().filter(is_below).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bands::Fraction;

    #[test]
    fn low_bands_lie_below_the_schroeder_frequency() {
        // 305 Hz for 31 m³ and 0.72 s, 281 for 0.61, 266 for 0.55: computed independently with mpmath 1.4.
        let hz = [125.0, 250.0, 500.0];
        let decay_times_s = Spectrum::new(Fraction::Octave, &hz, &[0.72, 0.61, 0.55]).unwrap();
        let room = FieldRoom::measured(decay_times_s, 31.0, None).unwrap();
        let bands: Vec<Band> = Band::range(Fraction::Octave, 63.0, 500.0).unwrap();
        // 63 Hz has no decay time, so nothing is said of it.
        assert_eq!(room.below_schroeder(&bands), bands[1..3]);
        assert_eq!(room.decay_time_s(bands[0]), None);
    }

    #[test]
    fn impossible_rooms_are_refused() {
        let decay_times_s = |value| Spectrum::new(Fraction::Octave, &[125.0], &[value]).unwrap();
        assert!(matches!(
            FieldRoom::measured(decay_times_s(0.0), 31.0, None),
            Err(RoomError::DecayTime { .. })
        ));
        assert!(matches!(FieldRoom::measured(decay_times_s(0.5), 0.0, None), Err(RoomError::Volume { .. })));
        let area = FieldRoom::measured(decay_times_s(0.5), 31.0, Some(-2.0));
        assert!(matches!(area, Err(RoomError::CommonArea { .. })));
        let large = FieldRoom::furnished(FurnishedRoom::Kitchen, 40.0, None);
        assert_eq!(large, Err(FurnishedError::OutsideTable { volume_m3: 40.0 }));
        assert!(FieldRoom::furnished(FurnishedRoom::Kitchen, f64::NAN, None).is_err());
    }

    #[test]
    fn the_survey_area_is_never_below_the_volume_over_seven_and_a_half() {
        // ISO 10052:2021 clause 3.6: S is at least V/7.5 with the smaller volume; 60 m³ is 8 m², 45 m³ is 6 m².
        let decay_times_s = Spectrum::new(Fraction::Octave, &[125.0], &[0.5]).unwrap();
        let room = FieldRoom::measured(decay_times_s, 60.0, Some(5.0)).unwrap();
        assert_eq!(room.area_m2(AreaRule::Common), Some(5.0));
        assert_eq!(room.area_m2(AreaRule::Survey { source_volume_m3: 80.0 }), Some(8.0));
        assert_eq!(room.area_m2(AreaRule::Survey { source_volume_m3: 45.0 }), Some(6.0));
        assert_eq!(room.area_m2(AreaRule::Survey { source_volume_m3: 30.0 }), Some(5.0));
    }
}
