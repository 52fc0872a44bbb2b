//! What stands for a decay time that nobody measured in a furnished room: the reverberation index of the survey method.
//!
//! A stripped room is no furnished one and runs 1 to 6 dB higher, so it has no place here.

use crate::bands::{Band, Fraction};

/// What a furnished room is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FurnishedRoom {
    /// A kitchen, up to 35 m³.
    Kitchen,
    /// A bathroom, up to 35 m³.
    Bathroom,
    /// A living room or bedroom, up to 150 m³.
    LivingOrBedroom,
}

/// The reverberation index `k = 10·lg(T/0.5)`, dB: DnT is D plus it. An estimate, printed as one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DecayIndex {
    /// By octave from 125 to 2000 Hz, dB.
    pub octaves_db: [f64; 5],
    /// For a difference of A- or C-weighted levels, dB.
    pub weighted_db: f64,
}

impl DecayIndex {
    /// The index of one band, dB; absent for thirds and outside 125 to 2000 Hz.
    pub fn at_db(&self, band: Band) -> Option<f64> {
        // The octave at 125 Hz is three below the one at 1 kHz.
        let place = usize::try_from(i32::from(band.index()) + 3).ok()?;
        (band.fraction() == Fraction::Octave).then(|| self.octaves_db.get(place).copied()).flatten()
    }
}

/// Returns the reverberation index of a furnished room by what it is for and its volume; absent outside the table.
///
/// # Units and shape
/// `volume_m3`: above zero. A volume on the border of two rows belongs to the larger rooms.
///
/// # Source
/// ISO 10052:2021 Table 4; which row a border belongs to is a convention of this project.
pub fn decay_index(kind: FurnishedRoom, volume_m3: f64) -> Option<DecayIndex> {
    let is_room = volume_m3 > 0.0;
    let row = rows(kind).iter().find(|(below_m3, ..)| is_room && volume_m3 < *below_m3)?;
    Some(DecayIndex { octaves_db: row.1, weighted_db: row.2 })
}

/// Rows by rising volume: what it lies below, m³, the octaves 125 to 2000 Hz and the weighted level, dB.
fn rows(kind: FurnishedRoom) -> &'static [(f64, [f64; 5], f64)] {
    match kind {
        FurnishedRoom::Kitchen => &[(15.0, [0.0; 5], 0.0), (35.0, [0.0, 0.5, 0.0, 0.0, 0.0], 0.0)],
        FurnishedRoom::Bathroom => {
            &[(15.0, [1.0, 1.0, 0.0, 0.0, -0.5], 0.0), (35.0, [1.5, 1.5, 0.5, 0.5, 0.0], 0.5)]
        }
        FurnishedRoom::LivingOrBedroom => &[
            (15.0, [0.0, 0.0, -0.5, -0.5, -1.0], -0.5),
            (35.0, [0.0, 0.0, 0.0, 0.0, -0.5], 0.0),
            (60.0, [0.5, 0.5, 0.5, 0.0, 0.0], 0.5),
            (150.0, [0.5, 0.5, 0.5, 0.5, 0.0], 0.5),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::FurnishedRoom::{Bathroom, Kitchen, LivingOrBedroom};
    use super::*;

    #[test]
    fn rooms_find_their_row() {
        // ISO 10052:2021 Table 4: 125 Hz, 2 kHz and the weighted level of rows by volume.
        let rows = [
            (Kitchen, 10.0, 0.0, 0.0, 0.0),
            (Kitchen, 20.0, 0.0, 0.0, 0.0),
            (Bathroom, 6.0, 1.0, -0.5, 0.0),
            (Bathroom, 15.0, 1.5, 0.0, 0.5),
            (LivingOrBedroom, 14.9, 0.0, -1.0, -0.5),
            (LivingOrBedroom, 31.0, 0.0, -0.5, 0.0),
            (LivingOrBedroom, 40.0, 0.5, 0.0, 0.5),
            (LivingOrBedroom, 149.0, 0.5, 0.0, 0.5),
        ];
        let octave = |hz| Band::nominal(Fraction::Octave, hz).unwrap();
        for (kind, volume_m3, low_db, high_db, weighted_db) in rows {
            let got = decay_index(kind, volume_m3).unwrap();
            assert_eq!(got.at_db(octave(125.0)), Some(low_db), "{kind:?} {volume_m3}");
            assert_eq!(got.at_db(octave(2000.0)), Some(high_db), "{kind:?} {volume_m3}");
            assert_eq!(got.weighted_db, weighted_db, "{kind:?} {volume_m3}");
        }
        let kitchen = decay_index(Kitchen, 20.0).unwrap();
        assert_eq!(kitchen.at_db(octave(250.0)), Some(0.5));
        assert_eq!(kitchen.at_db(octave(63.0)), None);
        assert_eq!(kitchen.at_db(octave(4000.0)), None);
        assert_eq!(kitchen.at_db(Band::nominal(Fraction::Third, 500.0).unwrap()), None);
    }

    #[test]
    fn the_table_ends() {
        for (kind, volume_m3) in [(Kitchen, 35.0), (Bathroom, 80.0), (LivingOrBedroom, 150.0)] {
            assert_eq!(decay_index(kind, volume_m3), None);
        }
        for volume_m3 in [0.0, -3.0, f64::NAN, f64::INFINITY] {
            assert_eq!(decay_index(LivingOrBedroom, volume_m3), None, "{volume_m3}");
        }
    }
}
