//! Isolation between two rooms from readings at positions: by band, or for one weighted level.
//!
//! Readings are averaged by energy first and the mean is corrected for background, never each position by itself. [`room`]
//! is the receiving room with a decay time for each band, [`furnished`] what stands for a decay time nobody measured,
//! [`limits`] what the standards say a room is too small, too large or too open for. Leaves out ratings, and background in
//! the source room: a source that its room's own noise comes near is turned up.

pub mod furnished;
pub mod limits;
pub mod room;

use std::fmt;

use crate::background::{self, Background, BackgroundRule};
use crate::bands::{Band, Spectrum, SpectrumError};
use crate::bounds::Sense;
use crate::difference::{self, FieldQuantities, Sabine};
use crate::levels::{LevelsError, energy_mean};
use crate::ratings::{Quantity, RatingError, rating_sense};

pub use furnished::{DecayIndex, FurnishedRoom, decay_index};
pub use limits::{AreaRule, RoomFlag, room_flags};
pub use room::FieldRoom;

/// Readings of one band, or of one weighted level, by position, dB.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Readings {
    /// In the source room, at least one.
    pub source_db: Vec<f64>,
    /// In the receiving room with the source on, at least one.
    pub receive_db: Vec<f64>,
    /// In the receiving room with the source off; empty where it was not measured.
    pub background_db: Vec<f64>,
}

/// Which of the readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// The source room.
    Source,
    /// The receiving room, source on.
    Receive,
    /// The receiving room, source off.
    Background,
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Source => "source room",
            Self::Receive => "receiving room",
            Self::Background => "background",
        })
    }
}

/// A level difference with all that led to it, dB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// Energy mean in the source room.
    pub source_db: f64,
    /// Energy mean in the receiving room, corrected for background where that was measured.
    pub receive_db: f64,
    /// What the background did; absent where it was not measured.
    pub background: Option<Background>,
    /// D, or the noise reduction NR.
    pub d_db: f64,
    /// "At least" where the background hid the sound.
    pub sense: Sense,
}

/// One band's level difference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandIsolation {
    /// The band.
    pub band: Band,
    /// What was found in it.
    pub difference: Difference,
}

/// Isolation by bands, with the receiving room where that is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Isolation {
    bands: Vec<BandIsolation>,
    room: Option<FieldRoom>,
}

/// One quantity by bands, with how each value stands to the truth.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldSpectrum {
    /// What the values are.
    pub quantity: Quantity,
    /// The values, dB.
    pub values: Spectrum,
    /// One for each band, in order.
    pub senses: Vec<Sense>,
    /// Whether a decay time that nobody measured is in it: such a result is printed as estimated.
    pub is_estimated: bool,
}

/// Why readings give no isolation.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum IsolationError {
    /// Correct the readings, or take some.
    #[error("the {side} readings{} cannot be averaged", at(band))]
    Readings { side: Side, band: Option<Band>, source: LevelsError },
    /// The levels are so far apart that their difference is no number.
    #[error("the levels{} have no finite difference", at(band))]
    TooFarApart { band: Option<Band> },
    /// The bands themselves.
    #[error("the bands make no spectrum")]
    Bands(#[from] SpectrumError),
    /// Give the receiving room's volume and decay times.
    #[error("no receiving room was given: only the level difference itself needs none")]
    NoRoom,
    /// Measure the decay in these bands, or state the level difference alone.
    #[error("no decay time is known at {}", listed(missing))]
    NoDecayTime { missing: Vec<Band> },
    /// State Dn or DnT: R′ needs a wall that both rooms share.
    #[error("the rooms share no area, so there is no apparent sound reduction index")]
    NoCommonArea,
}

fn at(band: &Option<Band>) -> String {
    band.map(|band| format!(" at {band}")).unwrap_or_default()
}

fn listed(bands: &[Band]) -> String {
    bands.iter().map(Band::to_string).collect::<Vec<_>>().join(", ")
}

/// Takes the level difference D (NR) of one weighted level, or of a band by itself, from readings at positions.
///
/// The mean of each room is by energy; the receiving mean is corrected for background by the rule. Without background
/// readings it stands as it is and nobody knows whether it is a bound.
///
/// A difference of A-weighted levels is no rating, and it holds for the source that was played only.
///
/// # Units and shape
/// Readings dB, any number of positions at least one. Returns dB.
///
/// # Errors
/// [`IsolationError::Readings`], [`IsolationError::TooFarApart`].
///
/// # Source
/// ISO 16283-1 clauses 3.12, 7.8.1 and 9.2; ASTM E336 for its own rules.
pub fn difference_of(readings: &Readings, rule: BackgroundRule) -> Result<Difference, IsolationError> {
    difference_at(readings, rule, None)
}

fn difference_at(
    readings: &Readings,
    rule: BackgroundRule,
    band: Option<Band>,
) -> Result<Difference, IsolationError> {
    let mean = |levels_db: &[f64], side: Side| {
        energy_mean(levels_db).map_err(|source| IsolationError::Readings { side, band, source })
    };
    let source_db = mean(&readings.source_db, Side::Source)?;
    let signal_db = mean(&readings.receive_db, Side::Receive)?;
    let too_far = |_| IsolationError::TooFarApart { band };
    let background = if readings.background_db.is_empty() {
        None
    } else {
        let background_db = mean(&readings.background_db, Side::Background)?;
        Some(background::correct(signal_db, background_db, rule).map_err(too_far)?)
    };
    let receive_db = background.map_or(signal_db, |background| background.corrected_db);
    let d_db = difference::level_difference(source_db, receive_db).map_err(too_far)?;
    let receive_sense = background.map_or(Sense::Exact, |background| background.sense());
    Ok(Difference { source_db, receive_db, background, d_db, sense: receive_sense.negated() })
}

impl Isolation {
    /// Takes readings by band, lowest band first, and the receiving room where it is known.
    ///
    /// # Errors
    /// [`IsolationError::Readings`], [`IsolationError::TooFarApart`], [`IsolationError::Bands`].
    pub fn new(
        readings: &[(Band, Readings)],
        rule: BackgroundRule,
        room: Option<FieldRoom>,
    ) -> Result<Self, IsolationError> {
        let bands: Result<Vec<BandIsolation>, IsolationError> = readings
            .iter()
            .map(|(band, readings)| {
                Ok(BandIsolation { band: *band, difference: difference_at(readings, rule, Some(*band))? })
            })
            .collect();
        let bands = bands?;
        Spectrum::of(bands.iter().map(|its| (its.band, its.difference.d_db)).collect())?;
        Ok(Self { bands, room })
    }

    /// What was found in each band, lowest first; never empty.
    pub fn bands(&self) -> &[BandIsolation] {
        &self.bands
    }

    /// The receiving room.
    pub fn room(&self) -> Option<&FieldRoom> {
        self.room.as_ref()
    }

    /// Bands that say nothing but a bound, because the background hid the sound.
    pub fn limited(&self) -> Vec<Band> {
        let limited = self.bands.iter().filter(|its| its.difference.sense != Sense::Exact);
        limited.map(|its| its.band).collect()
    }

    /// D, or NR: the level difference as it was measured, in the room's state of that day.
    pub fn difference_spectrum(&self) -> FieldSpectrum {
        self.spectrum(Quantity::D, false, self.bands.iter().map(|its| its.difference.d_db))
    }

    /// DnT, or NNR: the level difference brought to a decay time of 0.5 s.
    ///
    /// # Errors
    /// [`IsolationError::NoRoom`], [`IsolationError::NoDecayTime`].
    ///
    /// # Source
    /// ISO 16283-1 clause 3.13; NNR of ASTM E336, from memory.
    pub fn standardised(&self) -> Result<FieldSpectrum, IsolationError> {
        // The constant plays no part in it.
        self.normalised_by(Quantity::DnT, Sabine::Iso16283, |quantities| quantities.dnt_db)
    }

    /// Dn: the level difference brought to an absorption area of 10 m².
    ///
    /// # Errors
    /// [`IsolationError::NoRoom`], [`IsolationError::NoDecayTime`].
    ///
    /// # Source
    /// ISO 10052 clause 3.5.
    pub fn normalised(&self, sabine: Sabine) -> Result<FieldSpectrum, IsolationError> {
        self.normalised_by(Quantity::Dn, sabine, |quantities| quantities.dn_db)
    }

    /// R′, or ATL: what the wall and all that goes round it let through, `D + 10·lg(S/A)`.
    ///
    /// # Errors
    /// [`IsolationError::NoRoom`], [`IsolationError::NoDecayTime`], [`IsolationError::NoCommonArea`].
    ///
    /// # Source
    /// ISO 16283-1 clause 3.14; the area of the survey method ISO 10052; ATL of ASTM E336, from memory.
    pub fn apparent_reduction(
        &self,
        sabine: Sabine,
        area: AreaRule,
    ) -> Result<FieldSpectrum, IsolationError> {
        let room = self.room.as_ref().ok_or(IsolationError::NoRoom)?;
        let area_m2 = room.area_m2(area).ok_or(IsolationError::NoCommonArea)?;
        self.normalised_by(Quantity::RPrime, sabine, |quantities| {
            quantities.d_db + 10.0 * (area_m2.log10() - quantities.absorption_m2.log10())
        })
    }

    fn normalised_by(
        &self,
        quantity: Quantity,
        sabine: Sabine,
        pick: impl Fn(&FieldQuantities) -> f64,
    ) -> Result<FieldSpectrum, IsolationError> {
        let room = self.room.as_ref().ok_or(IsolationError::NoRoom)?;
        let mut values_db = Vec::with_capacity(self.bands.len());
        let mut missing = Vec::new();
        for BandIsolation { band, difference } in &self.bands {
            let Some(receiving) = room.at(*band) else {
                missing.push(*band);
                continue;
            };
            let quantities = difference::quantities_of(difference.d_db, &receiving, sabine)
                .expect("a level difference was finite when it was taken");
            values_db.push(pick(&quantities));
        }
        if missing.is_empty() {
            Ok(self.spectrum(quantity, room.is_estimated(), values_db.into_iter()))
        } else {
            Err(IsolationError::NoDecayTime { missing })
        }
    }

    fn spectrum(
        &self,
        quantity: Quantity,
        is_estimated: bool,
        values_db: impl Iterator<Item = f64>,
    ) -> FieldSpectrum {
        let values = Spectrum::of(self.bands.iter().map(|its| its.band).zip(values_db).collect())
            .expect("the bands made a spectrum before, and finite terms were added to finite values");
        let senses = self.bands.iter().map(|its| its.difference.sense).collect();
        FieldSpectrum { quantity, values, senses, is_estimated }
    }
}

impl FieldSpectrum {
    /// How the true rating stands to the one made from these values: see [`rating_sense`].
    ///
    /// # Errors
    /// Whatever `rate` refuses.
    pub fn rating_sense<N: PartialOrd>(
        &self,
        rate: impl Fn(&Spectrum) -> Result<N, RatingError>,
    ) -> Result<Sense, RatingError> {
        rating_sense(&self.values, &self.senses, rate)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::background::BackgroundRule::Iso16283;
    use crate::background::Regime;
    use crate::bands::Fraction;
    use crate::difference::ReceivingRoom;

    const TOLERANCE_DB: f64 = 1e-9;

    fn octave(hz: f64) -> Band {
        Band::nominal(Fraction::Octave, hz).unwrap()
    }

    /// Three bands with the background out of the way, to be subtracted, and in the way.
    fn readings() -> Vec<(Band, Readings)> {
        let of = |source_db: &[f64], receive_db: &[f64], background_db: &[f64]| Readings {
            source_db: source_db.to_vec(),
            receive_db: receive_db.to_vec(),
            background_db: background_db.to_vec(),
        };
        vec![
            (octave(125.0), of(&[88.2, 90.1, 87.5], &[61.5, 58.9, 63.0, 60.2], &[40.0])),
            (octave(250.0), of(&[91.0, 92.4, 90.2], &[54.1, 55.8, 53.0, 56.2], &[45.1, 47.0])),
            (octave(500.0), of(&[93.3, 92.8, 94.1], &[47.3, 46.8, 48.5, 47.9], &[44.0, 43.2])),
        ]
    }

    fn room() -> FieldRoom {
        let decay_times_s =
            Spectrum::new(Fraction::Octave, &[125.0, 250.0, 500.0], &[0.72, 0.61, 0.55]).unwrap();
        FieldRoom::measured(decay_times_s, 31.0, Some(9.0)).unwrap()
    }

    fn check(got: &FieldSpectrum, expected_db: [f64; 3]) {
        for ((band, got_db), expected_db) in got.values.values().iter().zip(expected_db) {
            assert!((got_db - expected_db).abs() < TOLERANCE_DB, "{:?} {band}: {got_db}", got.quantity);
        }
        assert_eq!(got.senses, [Sense::Exact, Sense::Exact, Sense::AtLeast]);
    }

    #[test]
    fn quantities_match() {
        // Invented readings; every value computed independently with mpmath 1.4.
        let isolation = Isolation::new(&readings(), Iso16283, Some(room())).unwrap();
        let regimes: Vec<Regime> =
            isolation.bands().iter().map(|its| its.difference.background.unwrap().regime).collect();
        assert_eq!(regimes, [Regime::Clear, Regime::Corrected, Regime::Limit]);
        assert_eq!(isolation.limited(), [octave(500.0)]);
        check(&isolation.difference_spectrum(), [27.57812569425, 36.948386669433, 47.061375437042]);
        check(&isolation.standardised().unwrap(), [29.161750615203, 37.81198497618, 47.475302288624]);
        check(
            &isolation.normalised(Sabine::Iso16283).unwrap(),
            [29.196633893661, 37.846868254638, 47.510185567083],
        );
        let apparent = |sabine, area| isolation.apparent_reduction(sabine, area).unwrap();
        let iso = [28.739058988054, 37.389293349032, 47.052610661476];
        check(&apparent(Sabine::Iso16283, AreaRule::Common), iso);
        // 31/7.5 is below the 9 m² they share: the survey method takes the shared area too.
        check(&apparent(Sabine::Iso16283, AreaRule::Survey { source_volume_m3: 40.0 }), iso);
        check(
            &apparent(Sabine::Handbook, AreaRule::Common),
            [28.712000054295, 37.362234415272, 47.025551727717],
        );
    }

    #[test]
    fn one_weighted_level_is_a_band_by_itself() {
        // The 250 Hz numbers again, as if they were dBA: computed independently with mpmath 1.4.
        let (_, weighted) = readings().swap_remove(1);
        let got = difference_of(&weighted, Iso16283).unwrap();
        assert!((got.source_db - 91.296742973317).abs() < TOLERANCE_DB);
        assert!((got.receive_db - 54.348356303885).abs() < TOLERANCE_DB);
        let receiving = ReceivingRoom::new(0.61, 31.0, None).unwrap();
        let dnt_db = difference::quantities_of(got.d_db, &receiving, Sabine::Iso16283).unwrap().dnt_db;
        assert!((dnt_db - 37.81198497618).abs() < TOLERANCE_DB);
        let unknown = difference_of(&Readings { background_db: vec![], ..weighted }, Iso16283).unwrap();
        assert_eq!((unknown.background, unknown.sense), (None, Sense::Exact));
        assert!(unknown.receive_db > got.receive_db);
    }

    #[test]
    fn furnished_rooms_give_estimates() {
        // ISO 10052:2021 Table 4, living room of 15 to 35 m³: 0 dB at 125 Hz, -0.5 dB at 2 kHz; Dn from the same decay time
        // computed independently with mpmath 1.4.
        let of = |hz| {
            (octave(hz), Readings { source_db: vec![90.0], receive_db: vec![60.0], ..Readings::default() })
        };
        let room = FieldRoom::furnished(FurnishedRoom::LivingOrBedroom, 31.0, Some(9.0)).unwrap();
        let isolation = Isolation::new(&[of(125.0), of(2000.0)], Iso16283, Some(room.clone())).unwrap();
        let dnt = isolation.standardised().unwrap();
        assert!(dnt.is_estimated);
        assert!(!isolation.difference_spectrum().is_estimated);
        let dn = isolation.normalised(Sabine::Iso16283).unwrap();
        for (got, expected_db) in [(dnt, [30.0, 29.5]), (dn, [30.034883278458, 29.534883278458])] {
            for ((_, got_db), expected_db) in got.values.values().iter().zip(expected_db) {
                assert!((got_db - expected_db).abs() < TOLERANCE_DB, "{got_db}");
            }
        }
        // The table has no 4 kHz.
        let isolation = Isolation::new(&[of(2000.0), of(4000.0)], Iso16283, Some(room)).unwrap();
        assert_eq!(
            isolation.standardised(),
            Err(IsolationError::NoDecayTime { missing: vec![octave(4000.0)] })
        );
    }

    #[test]
    fn a_hidden_band_bounds_the_rating_it_decides() {
        // By hand: a wall held down by 500 Hz alone; hidden there, the rating is a lower bound, hidden at 2 kHz it stands.
        let rate = |spectrum: &Spectrum| crate::ratings::iso717(spectrum).map(|iso| iso.rating_db);
        for (hidden_hz, sense) in [(500.0, Sense::AtLeast), (2000.0, Sense::Exact)] {
            let of = |(hz, receive_db): (f64, f64)| {
                let background_db = if hz == hidden_hz { vec![receive_db] } else { vec![] };
                (octave(hz), Readings { source_db: vec![90.0], receive_db: vec![receive_db], background_db })
            };
            let bands = [(125.0, 50.0), (250.0, 40.0), (500.0, 50.0), (1000.0, 25.0), (2000.0, 20.0)];
            let isolation = Isolation::new(&bands.map(of), Iso16283, None).unwrap();
            assert_eq!(isolation.difference_spectrum().rating_sense(rate).unwrap(), sense, "{hidden_hz}");
        }
    }

    #[test]
    fn bad_input_is_refused() {
        let mut missing = readings();
        missing[1].1.receive_db.clear();
        let error = Isolation::new(&missing, Iso16283, None).unwrap_err();
        assert_eq!(error.to_string(), "the receiving room readings at 250 Hz cannot be averaged");
        let mut swapped = readings();
        swapped.swap(0, 1);
        assert!(matches!(Isolation::new(&swapped, Iso16283, None), Err(IsolationError::Bands(_))));
        assert!(matches!(Isolation::new(&[], Iso16283, None), Err(IsolationError::Bands(_))));
        let without = Isolation::new(&readings(), Iso16283, None).unwrap();
        assert_eq!(without.standardised(), Err(IsolationError::NoRoom));
        let decay_times_s = Spectrum::new(Fraction::Octave, &[125.0], &[0.72]).unwrap();
        let apart = FieldRoom::measured(decay_times_s, 31.0, None).unwrap();
        let isolation = Isolation::new(&readings(), Iso16283, Some(apart)).unwrap();
        assert_eq!(
            isolation.apparent_reduction(Sabine::Iso16283, AreaRule::Common),
            Err(IsolationError::NoCommonArea)
        );
        let error = isolation.standardised().unwrap_err();
        assert_eq!(error.to_string(), "no decay time is known at 250 Hz, 500 Hz");
        let far = Readings { source_db: vec![1e308], receive_db: vec![-1e308], background_db: vec![] };
        assert_eq!(difference_of(&far, Iso16283), Err(IsolationError::TooFarApart { band: None }));
    }
}
