//! Field quantities of airborne sound insulation from two mean levels and the receiving room.
//!
//! One band, or one weighted number, at a time. A difference of A-weighted levels is not a rating: ratings need bands and
//! live elsewhere. What a limited level does to these numbers is said by [`Sense`](crate::Sense).

use crate::absorption::{self, SABINE_S_PER_M};
use crate::{NotFinite, finite};

/// Reference decay time, s. ISO 16283-1 clause 3.13.
pub const REFERENCE_DECAY_TIME_S: f64 = 0.5;

/// Reference absorption area, m². ISO 10052 clause 3.5.
pub const REFERENCE_ABSORPTION_M2: f64 = 10.0;

/// Metres in an international foot, exactly.
const M_PER_FT: f64 = 0.3048;

/// Which constant k turns a decay time into absorption, `A = k·V/T`. It decides hundredths of a dB, so it is named.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sabine {
    /// 0.16 s/m. ISO 16283-1 clause 3.15.
    Iso16283,
    /// 0.161 s/m, `24·ln 10/c` at 20 °C to three digits. Every handbook of room acoustics.
    Handbook,
    /// 0.049 s/ft, the same for cubic feet and sabins of a square foot. American handbooks.
    Feet,
    /// `0.921·60/c` s/m, with the decay rate d = 60/T of `A = 0.921·V·d/c`. ASTM E336, from memory.
    Astm(SpeedOfSound),
}

impl Sabine {
    /// The constant, s/m.
    pub fn s_per_m(self) -> f64 {
        match self {
            Self::Iso16283 => SABINE_S_PER_M,
            Self::Handbook => 0.161,
            Self::Feet => 0.049 / M_PER_FT,
            Self::Astm(speed) => 0.921 * 60.0 / speed.m_per_s(),
        }
    }
}

/// How fast sound travels in the air of a room, m/s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedOfSound(f64);

/// A temperature that no room has.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("an air temperature of {temperature_c} °C is not between -60 and 60")]
pub struct NoRoomTemperature {
    /// What came in, °C.
    pub temperature_c: f64,
}

impl SpeedOfSound {
    /// The speed at an air temperature, `20.047·√(273.15 + t)`: 343.2 m/s at 20 °C.
    ///
    /// # Errors
    /// [`NoRoomTemperature`] outside -60 to 60 °C.
    ///
    /// # Source
    /// ASTM E336, from memory; 343.2 m/s is in every handbook.
    pub fn at_c(temperature_c: f64) -> Result<Self, NoRoomTemperature> {
        if (-60.0..=60.0).contains(&temperature_c) {
            Ok(Self(20.047 * (273.15 + temperature_c).sqrt()))
        } else {
            Err(NoRoomTemperature { temperature_c })
        }
    }

    /// The speed, m/s.
    pub fn m_per_s(self) -> f64 {
        self.0
    }
}

/// The receiving room in the state of the test. All values above zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReceivingRoom {
    decay_time_s: f64,
    volume_m3: f64,
    common_area_m2: Option<f64>,
}

/// Which measure of a room cannot be.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum RoomError {
    /// The decay time is measured in the receiving room, furnished as it was in the test.
    #[error("a decay time of {decay_time_s} s is not above zero")]
    DecayTime { decay_time_s: f64 },
    /// The volume is the receiving room's own.
    #[error("a volume of {volume_m3} m³ is not above zero")]
    Volume { volume_m3: f64 },
    /// Leave the area out where the rooms share no wall.
    #[error("a common area of {common_area_m2} m² is not above zero")]
    CommonArea { common_area_m2: f64 },
    /// No room is like that: look for a slip of the pen.
    #[error("a room of {volume_m3} m³ with a decay time of {decay_time_s} s absorbs what no room does")]
    Absorption { decay_time_s: f64, volume_m3: f64 },
}

impl ReceivingRoom {
    /// Takes in a room's reverberation time in s, volume in m³ and, where the rooms share a wall, its area in m².
    ///
    /// # Errors
    /// [`RoomError`] for a measure that is not finite and above zero.
    pub fn new(decay_time_s: f64, volume_m3: f64, common_area_m2: Option<f64>) -> Result<Self, RoomError> {
        if !above_zero(decay_time_s) {
            return Err(RoomError::DecayTime { decay_time_s });
        }
        if !above_zero(volume_m3) {
            return Err(RoomError::Volume { volume_m3 });
        }
        // Within this any constant of Sabine gives an area, and any area a logarithm, that is finite.
        if !(1e-300..=1e300).contains(&(volume_m3 / decay_time_s)) {
            return Err(RoomError::Absorption { decay_time_s, volume_m3 });
        }
        match common_area_m2 {
            Some(common_area_m2) if !above_zero(common_area_m2) => {
                Err(RoomError::CommonArea { common_area_m2 })
            }
            _ => Ok(Self { decay_time_s, volume_m3, common_area_m2 }),
        }
    }

    /// Takes in a room measured in feet: decay time in s, volume in ft³, common area in ft².
    ///
    /// # Errors
    /// [`RoomError`] as in [`new`](Self::new), with the measures in metres.
    pub fn from_feet(
        decay_time_s: f64,
        volume_ft3: f64,
        common_area_ft2: Option<f64>,
    ) -> Result<Self, RoomError> {
        let common_area_m2 = common_area_ft2.map(|area_ft2| area_ft2 * M_PER_FT.powi(2));
        Self::new(decay_time_s, volume_ft3 * M_PER_FT.powi(3), common_area_m2)
    }

    /// The reverberation time, s.
    pub fn decay_time_s(&self) -> f64 {
        self.decay_time_s
    }

    /// The volume, m³.
    pub fn volume_m3(&self) -> f64 {
        self.volume_m3
    }

    /// The area both rooms share, m²; absent where they share no wall.
    pub fn common_area_m2(&self) -> Option<f64> {
        self.common_area_m2
    }

    /// The equivalent absorption area A = 0.16·V/T of ISO 16283-1, m².
    pub fn absorption_m2(&self) -> f64 {
        absorption::area_m2(self.decay_time_s, self.volume_m3)
    }

    /// The equivalent absorption area `A = k·V/T` with a named constant, m².
    pub fn absorption_by(&self, sabine: Sabine) -> f64 {
        sabine.s_per_m() * self.volume_m3 / self.decay_time_s
    }

    /// The same in sabins, absorption units of a square foot.
    pub fn absorption_sabins(&self, sabine: Sabine) -> f64 {
        self.absorption_by(sabine) / M_PER_FT.powi(2)
    }

    /// The Schroeder frequency `2000·√(T/V)`, Hz: below it, single positions scatter by several dB.
    ///
    /// # Source
    /// Schroeder and Kuttruff 1962, in every handbook of room acoustics.
    pub fn schroeder_hz(&self) -> f64 {
        absorption::schroeder(self.decay_time_s, self.volume_m3)
    }
}

/// What two levels and a receiving room give, in dB and m².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldQuantities {
    /// D, the level difference.
    pub d_db: f64,
    /// DnT, D brought to a decay time of 0.5 s.
    pub dnt_db: f64,
    /// A, the equivalent absorption area of the receiving room.
    pub absorption_m2: f64,
    /// Dn, D brought to an absorption area of 10 m².
    pub dn_db: f64,
    /// R′, the apparent sound reduction index; absent where the rooms share no wall.
    pub apparent_reduction_db: Option<f64>,
}

/// Returns the level difference D = L₁ - L₂ of source and receiving room, dB.
///
/// Both levels are energy means over positions, the receiving one corrected for background. Negative where the
/// "receiving" room was the louder one.
///
/// # Errors
/// [`NotFinite`] for either level, or for a difference beyond the range of a float.
///
/// # Source
/// ISO 16283-1 clause 3.12.
pub fn level_difference(source_db: f64, receive_db: f64) -> Result<f64, NotFinite> {
    finite(finite(source_db)? - finite(receive_db)?)
}

/// Brings a level difference to reference conditions of the receiving room.
///
/// `DnT = D + 10·lg(T/0.5)`, `Dn = D + 10·lg(10/A)`, `R′ = D + 10·lg(S/A)`, `A = 0.16·V/T`.
///
/// # Units and shape
/// Levels dB; the room as [`ReceivingRoom`] says. Returns dB, and A in m².
///
/// # Errors
/// [`NotFinite`] for either level.
///
/// # Source
/// ISO 16283-1 clauses 3.12 to 3.15; Dn after ISO 10052 clause 3.5.
pub fn field_quantities(
    source_db: f64,
    receive_db: f64,
    room: &ReceivingRoom,
) -> Result<FieldQuantities, NotFinite> {
    quantities_of(level_difference(source_db, receive_db)?, room, Sabine::Iso16283)
}

/// Brings a level difference that is already known to reference conditions, with a named constant of Sabine.
///
/// As [`field_quantities`]. With [`Sabine::Astm`] the DnT is the normalized noise reduction NNR (its limits are those of
/// [`isolation`](crate::isolation)) and R′ is the apparent transmission loss ATL.
///
/// # Units and shape
/// `d_db`: D, or the noise reduction NR, dB. Returns dB, and A in m².
///
/// # Errors
/// [`NotFinite`].
///
/// # Source
/// ISO 16283-1 clauses 3.12 to 3.15; Dn after ISO 10052 clause 3.5; NNR and ATL of ASTM E336, from memory.
pub fn quantities_of(d_db: f64, room: &ReceivingRoom, sabine: Sabine) -> Result<FieldQuantities, NotFinite> {
    let d_db = finite(d_db)?;
    let absorption_m2 = room.absorption_by(sabine);
    Ok(FieldQuantities {
        d_db,
        dnt_db: d_db + 10.0 * (room.decay_time_s / REFERENCE_DECAY_TIME_S).log10(),
        absorption_m2,
        dn_db: d_db + 10.0 * (REFERENCE_ABSORPTION_M2.log10() - absorption_m2.log10()),
        apparent_reduction_db: room
            .common_area_m2
            .map(|area_m2| d_db + 10.0 * (area_m2.log10() - absorption_m2.log10())),
    })
}

fn above_zero(value: f64) -> bool {
    value.is_finite() && value > 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::levels::energy_mean;
    use proptest::prelude::*;

    #[test]
    fn quantities_match() {
        // L1 92.0, L2 51.5, T 0.8 s, V 40 m³, S 10 m²; computed independently with mpmath 1.4.
        let room = ReceivingRoom::new(0.8, 40.0, Some(10.0)).unwrap();
        let got = field_quantities(92.0, 51.5, &room).unwrap();
        assert_eq!(got.d_db, 40.5);
        for (name, got, expected) in [
            ("A", got.absorption_m2, 8.0),
            ("DnT", got.dnt_db, 42.541199826559),
            ("Dn", got.dn_db, 41.469100130081),
            ("R'", got.apparent_reduction_db.unwrap(), 41.469100130081),
        ] {
            assert!((got - expected).abs() < 1e-9, "{name}: {got}");
        }
    }

    #[test]
    fn constants_of_sabine_match() {
        // The same test with each constant; computed independently with mpmath 1.4 from the constants as published.
        let room = ReceivingRoom::new(0.8, 40.0, Some(10.0)).unwrap();
        let rows = [
            (Sabine::Iso16283, 8.0, 41.469100130081),
            (Sabine::Handbook, 8.05, 41.442041196366),
            (Sabine::Feet, 8.038057742782, 41.448488783030),
            (Sabine::Astm(SpeedOfSound::at_c(20.0).unwrap()), 8.049826968442, 41.442134547201),
        ];
        for (sabine, absorption_m2, apparent_db) in rows {
            let got = quantities_of(40.5, &room, sabine).unwrap();
            assert!((got.absorption_m2 - absorption_m2).abs() < 1e-9, "{sabine:?}: {}", got.absorption_m2);
            let got_db = got.apparent_reduction_db.unwrap();
            assert!((got_db - apparent_db).abs() < 1e-9, "{sabine:?}: {got_db}");
        }
        // Handbook value: 343.2 m/s at 20 °C.
        assert!((SpeedOfSound::at_c(20.0).unwrap().m_per_s() - 343.2).abs() < 0.05);
        assert_eq!(SpeedOfSound::at_c(-300.0), Err(NoRoomTemperature { temperature_c: -300.0 }));
        assert!(SpeedOfSound::at_c(f64::NAN).is_err());
    }

    #[test]
    fn rooms_in_feet_are_the_same_rooms() {
        // 40 m³ is 1412.587 ft³ and 10 m² is 107.639 ft²; 0.049·V/T is 86.52 sabins. Computed independently with mpmath 1.4.
        let room = ReceivingRoom::from_feet(0.8, 1412.58666885954, Some(107.6391041671)).unwrap();
        assert!((room.volume_m3() - 40.0).abs() < 1e-8);
        assert!((room.absorption_sabins(Sabine::Feet) - 86.520933467647).abs() < 1e-6);
        let got_db = quantities_of(40.5, &room, Sabine::Feet).unwrap().apparent_reduction_db.unwrap();
        assert!((got_db - 41.448488783030).abs() < 1e-8, "{got_db}");
        assert!(ReceivingRoom::from_feet(0.8, -1.0, None).is_err());
    }

    #[test]
    fn schroeder_frequencies_match() {
        // 30 m³ with 0.5 s: computed independently with mpmath 1.4.
        let room = ReceivingRoom::new(0.5, 30.0, None).unwrap();
        assert!((room.schroeder_hz() - 258.198889747161).abs() < 1e-9);
    }

    #[test]
    fn reference_rooms_change_nothing() {
        // By definition: T = 0.5 s leaves D as DnT; V = 31.25 m³ at 0.5 s is A = 10 m², which leaves D as Dn and, at S = A, R'.
        let room = ReceivingRoom::new(0.5, 31.25, Some(10.0)).unwrap();
        let got = field_quantities(90.0, 50.0, &room).unwrap();
        assert_eq!((got.dnt_db, got.dn_db, got.apparent_reduction_db), (40.0, 40.0, Some(40.0)));
        let apart = ReceivingRoom::new(0.5, 31.25, None).unwrap();
        assert_eq!(field_quantities(90.0, 50.0, &apart).unwrap().apparent_reduction_db, None);
    }

    #[test]
    fn differences_of_energy_means_match() {
        // Invented readings; energy means and differences computed independently with mpmath 1.4.
        type Row<'a> = (&'a [f64], &'a [f64], f64);
        let rows: [Row; 2] = [
            (&[94.2, 93.6, 94.9], &[69.1, 68.4, 70.2, 69.6], 24.89095919861),
            (&[94.3, 93.5, 94.7], &[58.2, 57.5, 58.9, 57.7], 36.085603578816),
        ];
        for (source_db, receive_db, expected_db) in rows {
            let got_db =
                level_difference(energy_mean(source_db).unwrap(), energy_mean(receive_db).unwrap()).unwrap();
            assert!((got_db - expected_db).abs() < 1e-9, "{got_db}");
        }
    }

    #[test]
    fn impossible_rooms_and_levels_are_refused() {
        assert_eq!(ReceivingRoom::new(0.0, 40.0, None), Err(RoomError::DecayTime { decay_time_s: 0.0 }));
        assert_eq!(ReceivingRoom::new(0.5, -1.0, None), Err(RoomError::Volume { volume_m3: -1.0 }));
        assert_eq!(
            ReceivingRoom::new(0.5, 40.0, Some(0.0)),
            Err(RoomError::CommonArea { common_area_m2: 0.0 })
        );
        assert!(ReceivingRoom::new(f64::NAN, 40.0, None).is_err());
        let endless = RoomError::Absorption { decay_time_s: 1e-10, volume_m3: 1e305 };
        assert_eq!(ReceivingRoom::new(1e-10, 1e305, None), Err(endless));
        let extreme = ReceivingRoom::new(1e300, 1e5, Some(1e308)).unwrap();
        assert!(
            quantities_of(40.0, &extreme, Sabine::Iso16283)
                .unwrap()
                .apparent_reduction_db
                .unwrap()
                .is_finite()
        );
        assert!(level_difference(1.7e308, -1.7e308).is_err());
        assert!(level_difference(90.0, f64::NAN).is_err());
    }

    proptest! {
        #[test]
        fn a_livelier_room_raises_the_normalised_difference(
            d_db in 5.0..70.0f64, decay_time_s in 0.2..3.0f64, volume_m3 in 10.0..150.0f64, area_m2 in 2.0..30.0f64,
        ) {
            let room = ReceivingRoom::new(decay_time_s, volume_m3, Some(area_m2)).unwrap();
            let livelier = ReceivingRoom::new(2.0 * decay_time_s, volume_m3, Some(area_m2)).unwrap();
            let (first, second) =
                (field_quantities(d_db, 0.0, &room).unwrap(), field_quantities(d_db, 0.0, &livelier).unwrap());
            // Twice the decay time is half the absorption: every normalised quantity gains 10 lg 2.
            for (low_db, high_db) in [
                (first.dnt_db, second.dnt_db),
                (first.dn_db, second.dn_db),
                (first.apparent_reduction_db.unwrap(), second.apparent_reduction_db.unwrap()),
            ] {
                prop_assert!((high_db - low_db - 3.010299956640).abs() < 1e-9);
            }
        }
    }
}
