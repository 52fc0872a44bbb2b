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

/// The largest room of the survey method, m³. ISO 10052:2021.
const LARGEST_M3: f64 = 150.0;

/// Returns the reverberation index of a furnished room by what it is for and its volume; absent outside the table.
///
/// # Units and shape
/// `volume_m3`: above zero. A volume on the border of two rows belongs to the larger rooms; 150 m³ is the last there is.
///
/// # Source
/// ISO 10052:2021 Table 4. Its header ends below 150 m³ where the text says up to 150; the text is followed.
pub fn decay_index(kind: FurnishedRoom, volume_m3: f64) -> Option<DecayIndex> {
    let is_room = volume_m3 > 0.0;
    let fits = |below_m3: f64| volume_m3 < below_m3 || below_m3 == LARGEST_M3 && volume_m3 == LARGEST_M3;
    let row = rows(kind).iter().find(|(below_m3, ..)| is_room && fits(*below_m3))?;
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
            (60.0, [0.5, 0.5, 0.5, 0.0, 0.0], 0.0),
            (LARGEST_M3, [0.5, 0.5, 0.5, 0.5, 0.0], 0.5),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::FurnishedRoom::{Bathroom, Kitchen, LivingOrBedroom};
    use super::*;

    #[test]
    fn rooms_find_their_row() {
        // ISO 10052:2021 Table 4, read column by column: each column holds the rooms in this order.
        let rooms = [
            (Kitchen, 14.9),
            (Bathroom, 6.0),
            (LivingOrBedroom, 14.9),
            (Kitchen, 15.0),
            (Bathroom, 34.9),
            (LivingOrBedroom, 31.0),
            (LivingOrBedroom, 35.0),
            (LivingOrBedroom, 60.0),
            (LivingOrBedroom, 150.0),
        ];
        let columns = [
            (125.0, [0.0, 1.0, 0.0, 0.0, 1.5, 0.0, 0.5, 0.5, 0.5]),
            (250.0, [0.0, 1.0, 0.0, 0.5, 1.5, 0.0, 0.5, 0.5, 0.5]),
            (500.0, [0.0, 0.0, -0.5, 0.0, 0.5, 0.0, 0.5, 0.5, 0.5]),
            (1000.0, [0.0, 0.0, -0.5, 0.0, 0.5, 0.0, 0.0, 0.5, 0.5]),
            (2000.0, [0.0, -0.5, -1.0, 0.0, 0.0, -0.5, 0.0, 0.0, 0.0]),
        ];
        let indexes = rooms.map(|(kind, volume_m3)| decay_index(kind, volume_m3).unwrap());
        for (hz, expected_db) in columns {
            let band = Band::nominal(Fraction::Octave, hz).unwrap();
            assert_eq!(indexes.map(|index| index.at_db(band).unwrap()), expected_db, "{hz}");
        }
        assert_eq!(indexes.map(|index| index.weighted_db), [0.0, 0.0, -0.5, 0.0, 0.5, 0.0, 0.0, 0.5, 0.5]);
    }

    #[test]
    fn other_bands_have_no_index() {
        let kitchen = decay_index(Kitchen, 20.0).unwrap();
        for (fraction, hz) in [(Fraction::Octave, 63.0), (Fraction::Octave, 4000.0), (Fraction::Third, 500.0)]
        {
            assert_eq!(kitchen.at_db(Band::nominal(fraction, hz).unwrap()), None, "{hz}");
        }
    }

    #[test]
    fn the_table_ends() {
        for (kind, volume_m3) in [(Kitchen, 35.0), (Bathroom, 80.0), (LivingOrBedroom, 150.1)] {
            assert_eq!(decay_index(kind, volume_m3), None);
        }
        for volume_m3 in [0.0, -3.0, f64::NAN, f64::INFINITY] {
            assert_eq!(decay_index(LivingOrBedroom, volume_m3), None, "{volume_m3}");
        }
    }
}
