//! What looks like a better wall and is not: absorption, direction, flanking.
//!
//! Each function takes plain numbers, one band or one weighted number at a time; findings decide when to ask. A change of
//! level that a room's decay times tell by themselves is [`absorption_change`](crate::absorption::absorption_change).

use crate::absorption;
use crate::absorption::SABINE_S_PER_M;
use crate::bands::Spectrum;
use crate::levels;

/// Why a question about a room or a wall has no answer.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum ConfounderError {
    /// A level or difference is infinite or not a number.
    #[error(transparent)]
    NotFinite(#[from] crate::NotFinite),
    /// A measure of a room is above zero.
    #[error("{what} of {value} is not above zero")]
    NotAboveZero { what: RoomMeasure, value: f64 },
    /// A coefficient, or a change of one, lies between -1 and 1.2 (edges let a patch measure over 1).
    #[error("an absorption coefficient of {coefficient} is outside -1 to 1.2")]
    Coefficient { coefficient: f64 },
    /// An uncertainty is a finite number of dB, zero or more.
    #[error("an uncertainty of {u_db} dB is not zero or more")]
    Uncertainty { u_db: f64 },
    /// More was taken away than the room has.
    #[error("the absorption left is {absorption_m2} m², not above zero")]
    NoAbsorptionLeft { absorption_m2: f64 },
    /// The wall already does better than the flanking paths alone would let it: one of the two numbers is off.
    #[error("the wall gives {now_db} dB, not below the {flanking_db} dB of the flanking paths")]
    AboveFlanking { now_db: f64, flanking_db: f64 },
    /// Source and losses share no band.
    #[error("no band is known of source and losses")]
    NoCommonBand,
}

/// A measure of a room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RoomMeasure {
    /// Volume, m³.
    Volume,
    /// Decay time, s.
    DecayTime,
    /// Area, m².
    Area,
    /// Equivalent absorption area, m².
    Absorption,
}

impl std::fmt::Display for RoomMeasure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Volume => "a volume in m³",
            Self::DecayTime => "a decay time in s",
            Self::Area => "an area in m²",
            Self::Absorption => "an absorption area in m²",
        })
    }
}

fn above_zero(what: RoomMeasure, value: f64) -> Result<f64, ConfounderError> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(ConfounderError::NotAboveZero { what, value })
    }
}

/// A surface that came into a room, or went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// Its area, m².
    pub area_m2: f64,
    /// What each m² absorbs more than what was there before; negative where it absorbs less.
    pub coefficient_change: f64,
}

/// A room before and after something soft came into it or went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoomChange {
    /// Absorption area before, m².
    pub absorption_before_m2: f64,
    /// Absorption area after, m².
    pub absorption_after_m2: f64,
    /// Decay time after, s.
    pub decay_time_after_s: f64,
    /// What a level difference into this room gains from the room alone, `10·lg(A_after/A_before)`, dB: take it off before
    /// crediting the wall. A level in the room falls by as much.
    pub apparent_gain_db: f64,
}

/// Returns what surfaces do to a room, from its volume and decay time before, by Sabine's formula.
///
/// Fill in open studs absorbs in the room it faces: the level there falls with no change of the wall, and boarding it over
/// later makes the next step look worse than it is.
///
/// # Units and shape
/// Volume m³, decay time s, both above zero; any number of surfaces. One band at a time.
///
/// # Errors
/// [`ConfounderError`].
///
/// # Source
/// Sabine, with the constant of ISO 16283-1 clause 3.15.
pub fn room_change(
    volume_m3: f64,
    decay_time_s: f64,
    surfaces: &[Surface],
) -> Result<RoomChange, ConfounderError> {
    let volume = above_zero(RoomMeasure::Volume, volume_m3)?;
    let decay_time = above_zero(RoomMeasure::DecayTime, decay_time_s)?;
    let before = above_zero(RoomMeasure::Absorption, SABINE_S_PER_M * volume / decay_time)?;
    let mut after = before;
    for surface in surfaces {
        let coefficient = surface.coefficient_change;
        if !(-1.0..=1.2).contains(&coefficient) {
            return Err(ConfounderError::Coefficient { coefficient });
        }
        after += above_zero(RoomMeasure::Area, surface.area_m2)? * coefficient;
    }
    if !(after.is_finite() && after > 0.0) {
        return Err(ConfounderError::NoAbsorptionLeft { absorption_m2: after });
    }
    Ok(RoomChange {
        absorption_before_m2: before,
        absorption_after_m2: after,
        decay_time_after_s: SABINE_S_PER_M * volume / after,
        apparent_gain_db: 10.0 * (after / before).log10(),
    })
}

/// Level differences of one wall measured both ways.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BothWays {
    /// Source in room 1, meter in room 2, the room that changed, dB.
    pub d12_db: f64,
    /// Source in room 2, meter in room 1, dB.
    pub d21_db: f64,
}

/// What a swap of source and meter shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swap {
    /// Change of the wall, dB: that of D₂₁, whose receiving room stayed as it was.
    pub wall_db: f64,
    /// What the change of D₁₂ has besides, dB: room 2 became softer (above zero) or harder.
    pub artefact_db: f64,
    /// 95 % uncertainty of the change of the wall, dB.
    pub wall_u95_db: f64,
    /// 95 % uncertainty of the artefact, dB.
    pub artefact_u95_db: f64,
    /// What that comes to.
    pub verdict: SwapVerdict,
}

/// What a swap comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SwapVerdict {
    /// Both ways changed alike within the uncertainty: the room had no part that can be seen.
    None,
    /// The receiving room became softer and makes the wall look better.
    Softer,
    /// The receiving room became harder and makes the wall look worse.
    Harder,
}

/// The verdict in words.
impl std::fmt::Display for SwapVerdict {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::None => "none within U",
            Self::Softer => "the room became softer: the wall looks better than it is",
            Self::Harder => "the room became harder: the wall looks worse than it is",
        })
    }
}

/// Two-sided coverage of 95 %. ISO 12999-1.
const COVERAGE: f64 = 1.96;

/// Returns what of a change belongs to the wall and what to the room that changed, from measuring both ways.
///
/// `D₁₂ = R′ - 10·lg(S/A₂)` and `D₂₁ = R′ - 10·lg(S/A₁)`: where only room 2 changed, `ΔD₂₁ = ΔR′` and
/// `ΔD₁₂ - ΔD₂₁ = 10·lg(A₂,after/A₂,before)`. R′ is the same both ways only if positions cover both rooms; in rooms
/// under 25 m³ below 200 Hz the swap is noisy.
///
/// # Units and shape
/// dB. `u_db`: standard uncertainty of each single level difference, taken as independent; ISO 12999-1 has 0.6 dB for
/// one operator with one kit at mid frequencies.
///
/// # Errors
/// [`ConfounderError::NotFinite`], [`ConfounderError::Uncertainty`].
///
/// # Source
/// ISO 16283-1 clause 3.14, solved for both directions; coverage after ISO 12999-1.
pub fn swap(before: BothWays, after: BothWays, u_db: f64) -> Result<Swap, ConfounderError> {
    for value_db in [before.d12_db, before.d21_db, after.d12_db, after.d21_db] {
        crate::finite(value_db)?;
    }
    if !(u_db.is_finite() && u_db >= 0.0) {
        return Err(ConfounderError::Uncertainty { u_db });
    }
    let wall_db = crate::finite(after.d21_db - before.d21_db)?;
    let artefact_db = crate::finite((after.d12_db - before.d12_db) - wall_db)?;
    let artefact_u95_db = COVERAGE * 2.0 * u_db;
    let verdict = if artefact_db.abs() <= artefact_u95_db {
        SwapVerdict::None
    } else if artefact_db > 0.0 {
        SwapVerdict::Softer
    } else {
        SwapVerdict::Harder
    };
    Ok(Swap {
        wall_db,
        artefact_db,
        wall_u95_db: COVERAGE * std::f64::consts::SQRT_2 * u_db,
        artefact_u95_db,
        verdict,
    })
}

/// Returns the apparent reduction from a meter close to the wall, `L₁ - L₂ + 10·lg(1/4 + S/A)`, dB.
///
/// Near the wall what it radiates outweighs what the room adds, so a change of the room's absorption matters less.
///
/// # Units and shape
/// Levels dB; area of the wall and absorption area of the receiving room, m².
///
/// # Errors
/// [`ConfounderError::NotFinite`], [`ConfounderError::NotAboveZero`].
///
/// # Source
/// From memory of handbooks: direct field of a radiating face plus diffuse field.
pub fn near_wall_reduction_db(
    source_db: f64,
    near_wall_db: f64,
    area_m2: f64,
    absorption_m2: f64,
) -> Result<f64, ConfounderError> {
    let difference_db = crate::finite(crate::finite(source_db)? - crate::finite(near_wall_db)?)?;
    let area = above_zero(RoomMeasure::Area, area_m2)?;
    let absorption = above_zero(RoomMeasure::Absorption, absorption_m2)?;
    Ok(crate::finite(difference_db + 10.0 * (0.25 + area / absorption).log10())?)
}

/// Returns what arrives of a wall beside flanking paths, `-10·lg(10^(-Rd/10) + 10^(-Rf/10))`, dB.
///
/// # Errors
/// [`ConfounderError::NotFinite`].
///
/// # Source
/// Powers of incoherent paths add; ISO 12354-1 sums its paths so.
pub fn with_flanking_db(direct_db: f64, flanking_db: f64) -> Result<f64, ConfounderError> {
    let paths = [-crate::finite(direct_db)?, -crate::finite(flanking_db)?];
    Ok(-levels::energy_sum(&paths).expect("two finite levels have a sum"))
}

/// Returns the most that a better wall can still gain beside flanking paths, `Rf - R′now`, dB.
///
/// # Errors
/// [`ConfounderError::NotFinite`]; [`ConfounderError::AboveFlanking`], for the whole cannot do better than a part of its paths.
///
/// # Source
/// The limit of [`with_flanking_db`] for a direct path that lets nothing through.
pub fn flanking_ceiling_db(now_db: f64, flanking_db: f64) -> Result<f64, ConfounderError> {
    let (now_db, flanking_db) = (crate::finite(now_db)?, crate::finite(flanking_db)?);
    if now_db >= flanking_db {
        return Err(ConfounderError::AboveFlanking { now_db, flanking_db });
    }
    Ok(flanking_db - now_db)
}

/// Returns the frequency under which single positions in a room scatter, `2000·√(T/V)`, Hz.
///
/// # Units and shape
/// Decay time s, volume m³, above zero.
///
/// # Errors
/// [`ConfounderError::NotAboveZero`].
///
/// # Source
/// Schroeder's frequency, in every handbook of room acoustics.
pub fn schroeder_hz(decay_time_s: f64, volume_m3: f64) -> Result<f64, ConfounderError> {
    let decay_time = above_zero(RoomMeasure::DecayTime, decay_time_s)?;
    Ok(absorption::schroeder(decay_time, above_zero(RoomMeasure::Volume, volume_m3)?))
}

/// Returns what a wall takes off a whole sound, `L - 10·lg Σ 10^((Lᵢ - Dᵢ)/10)`, dB.
///
/// The bands that are least held back and loudest at the ear decide; a mean over bands promises more.
///
/// # Units and shape
/// `source`: levels of the sound by band, A-weighted where a change of dBA is asked. `loss`: level difference or transmission
/// loss by band. Only bands that both have count.
///
/// # Errors
/// [`ConfounderError::NoCommonBand`], [`ConfounderError::NotFinite`].
///
/// # Source
/// Powers of incoherent bands add: common practice, no source.
pub fn whole_difference_db(source: &Spectrum, loss: &Spectrum) -> Result<f64, ConfounderError> {
    let sent = source.zip(loss, |level, _| level)?.ok_or(ConfounderError::NoCommonBand)?;
    let received = source.zip(loss, |level, loss| level - loss)?.ok_or(ConfounderError::NoCommonBand)?;
    let sum_db = |spectrum: &Spectrum| {
        let levels: Vec<f64> = spectrum.values().iter().map(|(_, level)| *level).collect();
        levels::energy_sum(&levels).expect("a spectrum is finite and never empty")
    };
    Ok(crate::finite(sum_db(&sent) - sum_db(&received))?)
}

/// Returns how much lower a whole sound gets when the losses of a wall change, dB.
///
/// # Units and shape
/// As [`whole_difference_db`], the losses before and after; only bands that all three have count.
///
/// # Errors
/// As [`whole_difference_db`].
///
/// # Source
/// As [`whole_difference_db`].
pub fn whole_change_db(
    source: &Spectrum,
    before: &Spectrum,
    after: &Spectrum,
) -> Result<f64, ConfounderError> {
    // Bands that only one of the two tests has would count in one sum and not in the other.
    let common = |one: &Spectrum, other: &Spectrum| one.zip(other, |value, _| value);
    let before_common = common(before, after)?.ok_or(ConfounderError::NoCommonBand)?;
    let after_common = common(after, before)?.ok_or(ConfounderError::NoCommonBand)?;
    Ok(whole_difference_db(source, &after_common)? - whole_difference_db(source, &before_common)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bands::Fraction;
    use proptest::prelude::*;

    fn near(got: f64, expected: f64, tolerance: f64, what: &str) {
        assert!((got - expected).abs() <= tolerance, "{what}: {got} against {expected}");
    }

    #[test]
    fn fill_in_open_studs_looks_like_a_better_wall() {
        // 30 m³ at 0.5 s and 8 m² of fill that absorbs 0.85 more at 1 kHz, 0.25 more at 125 Hz: A 9.6 to 16.4 m², T 0.293 s,
        // 2.33 dB; 0.82 dB. Computed independently with mpmath 1.3.
        let change = |coefficient_change| {
            room_change(30.0, 0.5, &[Surface { area_m2: 8.0, coefficient_change }]).unwrap()
        };
        let high = change(0.85);
        near(high.absorption_before_m2, 9.6, 1e-9, "before");
        near(high.absorption_after_m2, 16.4, 1e-9, "after");
        near(high.decay_time_after_s, 0.293, 0.0005, "decay time");
        near(high.apparent_gain_db, 2.325_726_150, 1e-9, "gain at 1 kHz");
        near(change(0.25).apparent_gain_db, 0.82, 0.005, "gain at 125 Hz");
        let from_times = crate::absorption::absorption_change(0.5, high.decay_time_after_s).unwrap();
        near(from_times, -high.apparent_gain_db, 1e-9, "the level falls by what the difference gains");
        // Boarding it over takes it back.
        let boarded = room_change(
            30.0,
            high.decay_time_after_s,
            &[Surface { area_m2: 8.0, coefficient_change: -0.85 }],
        );
        near(boarded.unwrap().apparent_gain_db, -high.apparent_gain_db, 1e-9, "covered again");
    }

    #[test]
    fn a_swap_parts_wall_and_room() {
        // Invented readings: ΔR' 0.6, artefact 2.9 - 0.6 = 2.3; uncertainties √2·u and 2·u by 1.96.
        let before = BothWays { d12_db: 33.0, d21_db: 33.4 };
        let after = BothWays { d12_db: 35.9, d21_db: 34.0 };
        let got = swap(before, after, 0.6).unwrap();
        near(got.wall_db, 0.6, 1e-9, "wall");
        near(got.artefact_db, 2.3, 1e-9, "artefact");
        // ISO 12999-1: the least change that single tests of one operator show at 500 Hz is 1.96·√2·0.6 = 1.66 dB.
        near(got.wall_u95_db, 1.66, 0.005, "U of the wall");
        near(got.artefact_u95_db, 2.352, 1e-9, "U of the artefact");
        assert_eq!(got.verdict, SwapVerdict::None, "2.3 dB lies within 2.352");
        assert_eq!(got.verdict.to_string(), "none within U");
        assert_eq!(swap(before, after, 0.5).unwrap().verdict, SwapVerdict::Softer);
        assert_eq!(swap(after, before, 0.5).unwrap().verdict, SwapVerdict::Harder);
        assert!(swap(before, after, -0.1).is_err());
        assert!(swap(BothWays { d12_db: f64::NAN, ..before }, after, 0.5).is_err());
    }

    #[test]
    fn swaps_undo_a_change_of_one_room() {
        // A made-up wall of R' 40 dB that becomes 43 dB while room 2 goes from 9.6 to 16.4 m²; S 10 m², A1 8 m².
        let both = |r: f64, a2: f64| BothWays {
            d12_db: r - 10.0 * (10.0 / a2).log10(),
            d21_db: r - 10.0 * (10.0_f64 / 8.0).log10(),
        };
        let got = swap(both(40.0, 9.6), both(43.0, 16.4), 0.3).unwrap();
        near(got.wall_db, 3.0, 1e-9, "wall");
        near(got.artefact_db, 2.325_726_150, 1e-9, "room");
    }

    #[test]
    fn flanking_takes_most_of_a_gain() {
        // Direct 45 to 55 dB beside flanking of 48 dB: 43.24 to 47.21; computed independently with mpmath 1.3.
        let (before, after) = (with_flanking_db(45.0, 48.0).unwrap(), with_flanking_db(55.0, 48.0).unwrap());
        near(before, 43.235_651_376, 1e-9, "before");
        near(after, 47.209_902_503, 1e-9, "after");
        near(flanking_ceiling_db(before, 48.0).unwrap(), 4.764_348_624, 1e-9, "ceiling");
        assert!(matches!(flanking_ceiling_db(48.0, 48.0), Err(ConfounderError::AboveFlanking { .. })));
        assert!(with_flanking_db(45.0, f64::INFINITY).is_err());
    }

    #[test]
    fn near_walls_and_small_rooms_match() {
        // S 10 m², A 8 m²: 10 lg 1.5 = 1.7609 dB; Schroeder: 0.5 s in 30 m³ is 2000·√(1/60) = 258.199 Hz. Computed independently
        // with mpmath 1.3.
        near(near_wall_reduction_db(92.0, 51.5, 10.0, 8.0).unwrap(), 42.260_912_591, 1e-9, "near wall");
        near(schroeder_hz(0.5, 30.0).unwrap(), 258.198_889_747, 1e-6, "Schroeder");
        assert!(near_wall_reduction_db(92.0, 51.5, 0.0, 8.0).is_err());
        assert!(near_wall_reduction_db(92.0, f64::NAN, 10.0, 8.0).is_err());
        assert!(schroeder_hz(0.0, 30.0).is_err());
        assert!(schroeder_hz(0.5, f64::NAN).is_err());
    }

    fn octaves(values: [f64; 6]) -> Spectrum {
        Spectrum::new(Fraction::Octave, &[125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0], &values).unwrap()
    }

    #[test]
    fn a_change_of_the_whole_is_less_than_the_mean_of_bands() {
        // A flat source with the A-weights of IEC 61672-1 table 3: bands gain 1 to 8 dB, 6.3 in the mean, the whole 4.28 dB.
        // Computed independently with mpmath 1.3.
        let source = octaves([-16.1, -8.6, -3.2, 0.0, 1.2, 1.0]);
        let before = octaves([15.0, 24.0, 30.0, 36.0, 36.0, 36.0]);
        let after = octaves([16.0, 29.0, 38.0, 44.0, 44.0, 44.0]);
        near(whole_change_db(&source, &before, &after).unwrap(), 4.281_030_295, 1e-9, "dBA");
        let thirds = Spectrum::new(Fraction::Third, &[125.0], &[20.0]).unwrap();
        assert_eq!(whole_difference_db(&source, &thirds), Err(ConfounderError::NoCommonBand));
        // A band that only one of the tests has does not count.
        let short = Spectrum::new(Fraction::Octave, &[125.0], &[16.0]).unwrap();
        near(whole_change_db(&source, &before, &short).unwrap(), 1.0, 1e-9, "125 Hz alone");
    }

    #[test]
    fn impossible_rooms_are_refused() {
        let surface = |area_m2, coefficient_change| Surface { area_m2, coefficient_change };
        for (volume, time, surfaces) in [
            (0.0, 0.5, vec![]),
            (30.0, -0.5, vec![]),
            (30.0, 0.5, vec![surface(0.0, 0.5)]),
            (30.0, 0.5, vec![surface(8.0, 2.0)]),
            (30.0, 0.5, vec![surface(8.0, f64::NAN)]),
            (30.0, 0.5, vec![surface(20.0, -0.9)]),
        ] {
            assert!(room_change(volume, time, &surfaces).is_err(), "{volume} {time} {surfaces:?}");
        }
    }

    proptest! {
        #[test]
        fn flanking_never_helps_and_the_ceiling_holds(
            direct_db in 10.0..80.0f64, flanking_db in 10.0..80.0f64, better_db in 0.0..40.0f64,
        ) {
            let now_db = with_flanking_db(direct_db, flanking_db).unwrap();
            prop_assert!(now_db < direct_db && now_db < flanking_db);
            let then_db = with_flanking_db(direct_db + better_db, flanking_db).unwrap();
            prop_assert!(then_db - now_db <= flanking_ceiling_db(now_db, flanking_db).unwrap() + 1e-9);
            prop_assert!(then_db - now_db <= better_db + 1e-9);
        }
    }
}
