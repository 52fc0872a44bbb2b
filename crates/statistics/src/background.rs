//! How uncertain a level becomes when the room's own noise is subtracted, and what can still be said when it cannot be.
//!
//! Which correction a standard allows is decided in the acoustics crate; this is the propagation that goes with it.

use std::f64::consts::LN_10;

use crate::absent::{Absent, Known};
use crate::distributions::normal_quantile;
use crate::sample::SampleError;
use crate::scale::Probability;

/// Relative power per decibel, ln 10/10.
const RELATIVE_POWER_PER_DB: f64 = LN_10 / 10.0;

/// A level with its standard uncertainty, both dB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UncertainLevel {
    level_db: f64,
    u_db: f64,
}

/// Why a level or a correlation cannot be.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum LevelError {
    /// The level is not a finite number.
    #[error(transparent)]
    NotFinite(#[from] SampleError),
    /// An uncertainty is finite and not negative.
    #[error("an uncertainty of {u_db} dB is negative or not finite")]
    Uncertainty { u_db: f64 },
    /// A correlation lies in [-1, 1].
    #[error("a correlation of {correlation} is outside -1 to 1")]
    Correlation { correlation: f64 },
}

impl UncertainLevel {
    /// Takes in a level and its standard uncertainty.
    ///
    /// # Errors
    /// [`LevelError`].
    pub fn new(level_db: f64, u_db: f64) -> Result<Self, LevelError> {
        crate::sample::check(&[level_db])?;
        if !(u_db.is_finite() && u_db >= 0.0) {
            return Err(LevelError::Uncertainty { u_db });
        }
        Ok(Self { level_db, u_db })
    }

    /// The level, dB.
    pub fn level_db(&self) -> f64 {
        self.level_db
    }

    /// Its standard uncertainty, dB.
    pub fn u_db(&self) -> f64 {
        self.u_db
    }
}

/// A level with the background's energy taken out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Subtracted {
    /// `10·lg(10^(L₁/10) - 10^(L_b/10))`, dB.
    pub level_db: f64,
    /// c₁ = ∂L/∂L₁, at least 1: how much an error of the reading is magnified.
    pub signal_sensitivity: f64,
    /// c_b = ∂L/∂L_b, at most 0; c₁ + c_b = 1.
    pub background_sensitivity: f64,
    /// Standard uncertainty, dB.
    pub u_db: f64,
}

/// Subtracts a background's energy and carries both uncertainties through.
///
/// With x = 10^(-δ/10), δ = L₁ - L_b: `c₁ = 1/(1-x)`, `c_b = -x/(1-x)`,
/// `u² = c₁²u₁² + c_b²u_b² + 2r·c₁c_b·u₁u_b`. An error both readings share (r = 1, equal u) passes unchanged.
///
/// # Units and shape
/// `signal`: source and background together; `correlation` r of the two errors in [-1, 1]. Absent with the
/// background at or above the signal.
///
/// # Errors
/// [`LevelError::Correlation`].
///
/// # Source
/// GUM clause 5.2.2 on the subtraction of ISO 16283-1 clause 9.2.
pub fn subtract_background(
    signal: &UncertainLevel,
    background: &UncertainLevel,
    correlation: f64,
) -> Result<Known<Subtracted>, LevelError> {
    if !(-1.0..=1.0).contains(&correlation) {
        return Err(LevelError::Correlation { correlation });
    }
    let margin_db = signal.level_db - background.level_db;
    // 1 - x without losing digits when the two levels nearly meet.
    let left = -(-margin_db * RELATIVE_POWER_PER_DB).exp_m1();
    if left <= 0.0 {
        return Ok(Err(Absent::NoSignal));
    }
    let signal_sensitivity = 1.0 / left;
    let background_sensitivity = 1.0 - signal_sensitivity;
    let (from_signal, from_background) =
        (signal_sensitivity * signal.u_db, background_sensitivity * background.u_db);
    let variance = from_signal * from_signal
        + from_background * from_background
        + 2.0 * correlation * from_signal * from_background;
    Ok(Ok(Subtracted {
        level_db: signal.level_db + 10.0 * left.log10(),
        signal_sensitivity,
        background_sensitivity,
        u_db: variance.max(0.0).sqrt(),
    }))
}

/// What may be reported after a look at the margin over the background.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Margin {
    /// 10 dB or more: the reading stands.
    Clear,
    /// From 6 dB on: the background's energy is taken out.
    Correct,
    /// Less: a limit is reported, 1.3 dB below the reading.
    Limit,
}

/// What the background takes off a reading whose margin is too small to correct it, dB.
const LIMIT_CORRECTION_DB: f64 = 1.3;

impl Margin {
    /// Judges a margin; one within rounding of a limit counts as reaching it.
    ///
    /// # Source
    /// ISO 16283-1:2014 clause 9.2 (from memory), which has exactly 6 dB on the other side: there the two differ by 0.04 dB.
    pub fn of(signal: &UncertainLevel, background: &UncertainLevel) -> Self {
        let margin_db = signal.level_db - background.level_db;
        let at_least = |limit_db: f64| margin_db >= limit_db - 1e-6;
        if at_least(10.0) {
            Self::Clear
        } else if at_least(6.0) {
            Self::Correct
        } else {
            Self::Limit
        }
    }

    /// Returns the level to report, dB: the reading, the corrected one, or the limit.
    pub fn reported_db(self, signal: &UncertainLevel, subtracted: &Known<Subtracted>) -> f64 {
        match (self, subtracted) {
            (Self::Clear, _) => signal.level_db,
            (Self::Correct, Ok(subtracted)) => subtracted.level_db,
            (Self::Correct, Err(_)) | (Self::Limit, _) => signal.level_db - LIMIT_CORRECTION_DB,
        }
    }
}

/// The most a hidden sound can have been.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignalBound {
    /// Bound from both readings, dB; absent where they contradict each other.
    pub from_powers_db: Known<f64>,
    /// Bound from the reading alone, dB: the source cannot be louder than all sound together.
    pub cap_db: f64,
    /// The lower of the two, dB.
    pub upper_db: f64,
}

impl SignalBound {
    /// Whether the background was read louder than the whole by more than their uncertainties allow.
    pub fn contradiction(&self) -> bool {
        self.from_powers_db.is_err()
    }
}

/// Bounds a signal from above when the background hides it.
///
/// In power relative to L₁: `P = 1 - 10^(-δ/10)`, `u_P² = (0.2303·u₁)² + (0.2303·10^(-δ/10)·u_b)²`,
/// `L_u = L₁ + 10·lg(P + z_p·u_P)`, capped at `L₁ + z_p·u₁`.
///
/// # Units and shape
/// `probability` p that the true level lies below, one-sided; 0.5 or more. dB.
///
/// # Source
/// Convention of this project: first-order propagation in power, where it stays sound when it fails in decibels.
pub fn signal_upper_bound(
    signal: &UncertainLevel,
    background: &UncertainLevel,
    probability: Probability,
) -> SignalBound {
    let z = normal_quantile(probability);
    let hidden = (-(signal.level_db - background.level_db) * RELATIVE_POWER_PER_DB).exp();
    let u_power = RELATIVE_POWER_PER_DB * signal.u_db.hypot(hidden * background.u_db);
    let power = 1.0 - hidden + z * u_power;
    let cap_db = signal.level_db + z * signal.u_db;
    let from_powers_db =
        if power > 0.0 { Ok(signal.level_db + 10.0 * power.log10()) } else { Err(Absent::Contradiction) };
    SignalBound {
        from_powers_db,
        cap_db,
        upper_db: from_powers_db.map_or(cap_db, |bound_db| bound_db.min(cap_db)),
    }
}

/// Returns the least a reduction can have been, `L_before - z_p·u_before - L_u`, dB.
///
/// With both sides at p = 0.975 the claim "at least" holds at 95 %.
///
/// # Units and shape
/// `before`: clear level before; `after`: bound of the hidden level after, at the same `probability`.
///
/// # Source
/// Convention of this project (two one-sided bounds that hold together, Bonferroni).
pub fn reduction_at_least(before: &UncertainLevel, after: &SignalBound, probability: Probability) -> f64 {
    before.level_db - normal_quantile(probability) * before.u_db - after.upper_db
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn level(level_db: f64, u_db: f64) -> UncertainLevel {
        UncertainLevel::new(level_db, u_db).unwrap()
    }

    fn subtracted(signal: UncertainLevel, background: UncertainLevel, correlation: f64) -> Subtracted {
        subtract_background(&signal, &background, correlation).unwrap().unwrap()
    }

    #[test]
    fn propagation_matches() {
        // Computed independently with scipy 1.17: signal, background, r, then level, c₁, c_b, u.
        let rows = [
            ((48.3, 0.5), (41.2, 0.7), 0.0, [47.3580426407, 1.24221204471, -0.242212044714, 0.643831780486]),
            ((48.3, 0.5), (41.2, 0.5), 1.0, [47.3580426407, 1.24221204471, -0.242212044714, 0.5]),
            ((43.1, 0.5), (42.0, 0.6), 0.0, [36.5976864052, 4.46921615012, -3.46921615012, 3.05388917608]),
        ];
        for (signal, background, r, expected) in rows {
            let got = subtracted(level(signal.0, signal.1), level(background.0, background.1), r);
            let values = [got.level_db, got.signal_sensitivity, got.background_sensitivity, got.u_db];
            for (got, expected) in values.iter().zip(expected) {
                assert!((got - expected).abs() <= 1e-9 * expected.abs(), "{got} instead of {expected}");
            }
        }
    }

    #[test]
    fn corrections_match_the_table() {
        // Margin, correction and c₁, two decimals; corrections as acoustics handbooks print them, c₁ computed
        // independently with numpy 2.4.
        let rows = [
            (1.0, -6.87, 4.86),
            (2.0, -4.33, 2.71),
            (3.0, -3.02, 2.00),
            (4.0, -2.20, 1.66),
            (5.0, -1.65, 1.46),
            (6.0, -1.26, 1.34),
            (8.0, -0.75, 1.19),
            (10.0, -0.46, 1.11),
            (15.0, -0.14, 1.03),
        ];
        for (margin_db, correction_db, sensitivity) in rows {
            let got = subtracted(level(50.0, 0.5), level(50.0 - margin_db, 0.5), 0.0);
            assert!((got.level_db - 50.0 - correction_db).abs() < 0.0051, "{margin_db}: {got:?}");
            assert!((got.signal_sensitivity - sensitivity).abs() < 0.0051, "{margin_db}: {got:?}");
        }
    }

    #[test]
    fn margins_decide_what_is_reported() {
        // ISO 16283-1 clause 9.2 (from memory); the corrected level at 6 dB computed independently with numpy 2.4.
        for (background_db, margin, reported_db) in [
            (40.0, Margin::Clear, 50.0),
            (44.0, Margin::Correct, 50.0 - 1.2563),
            (44.1, Margin::Limit, 48.7),
            (52.0, Margin::Limit, 48.7),
        ] {
            let (signal, background) = (level(50.0, 0.5), level(background_db, 0.5));
            let got = Margin::of(&signal, &background);
            assert_eq!(got, margin, "{background_db}");
            let subtracted = subtract_background(&signal, &background, 0.0).unwrap();
            assert!((got.reported_db(&signal, &subtracted) - reported_db).abs() < 1e-4, "{background_db}");
        }
    }

    #[test]
    fn bounds_match() {
        // Computed independently with scipy 1.17.
        let p = Probability::new(0.975).unwrap();
        let hidden = signal_upper_bound(&level(43.1, 0.5), &level(42.0, 0.6), p);
        assert!((hidden.upper_db - 40.3601980094).abs() < 1e-9, "{hidden:?}");
        assert!((hidden.cap_db - 44.0799819923).abs() < 1e-9, "{hidden:?}");
        assert!(!hidden.contradiction());
        let clear = signal_upper_bound(&level(50.0, 0.5), &level(30.0, 0.6), p);
        assert!((clear.upper_db - 50.8481406995).abs() < 1e-9, "{clear:?}");
        let absurd = signal_upper_bound(&level(40.0, 0.5), &level(46.0, 0.6), p);
        assert!(absurd.contradiction());
        assert_eq!(absurd.from_powers_db, Err(Absent::Contradiction));
        assert!((absurd.upper_db - 40.9799819923).abs() < 1e-9, "the cap holds: {absurd:?}");
        // 64 ± 0.5 before: 64 - 1.96·0.5 - 40.36.
        let least_db = reduction_at_least(&level(64.0, 0.5), &hidden, p);
        assert!((least_db - (64.0 - 0.97998199227 - 40.3601980094)).abs() < 1e-9, "{least_db}");
    }

    #[test]
    fn no_signal_leaves_nothing_to_subtract() {
        let same = level(42.0, 0.5);
        assert_eq!(subtract_background(&same, &same, 0.0), Ok(Err(Absent::NoSignal)));
        assert_eq!(subtract_background(&same, &level(45.0, 0.5), 0.0), Ok(Err(Absent::NoSignal)));
    }

    #[test]
    fn impossible_input_is_refused() {
        assert_eq!(UncertainLevel::new(42.0, -0.1), Err(LevelError::Uncertainty { u_db: -0.1 }));
        assert!(UncertainLevel::new(f64::NAN, 0.1).is_err());
        let bad = LevelError::Correlation { correlation: 1.5 };
        assert_eq!(subtract_background(&level(45.0, 0.5), &level(40.0, 0.5), 1.5), Err(bad));
    }

    proptest! {
        #[test]
        fn subtraction_never_raises_a_level(
            level_db in 20.0..100.0f64, margin_db in 0.1..40.0f64, u_db in 0.0..2.0f64, r in -1.0..1.0f64,
        ) {
            let got = subtracted(level(level_db, u_db), level(level_db - margin_db, u_db), r);
            prop_assert!(got.level_db <= level_db);
            prop_assert!((got.signal_sensitivity + got.background_sensitivity - 1.0).abs() < 1e-12);
            prop_assert!(got.u_db >= u_db * (1.0 - 1e-9), "a shared error passes, all others grow");
        }

        #[test]
        fn a_bound_lies_below_its_cap(
            level_db in 20.0..100.0f64, margin_db in -10.0..40.0f64, u_db in 0.01..2.0f64,
        ) {
            let p = Probability::new(0.975).unwrap();
            let got = signal_upper_bound(&level(level_db, u_db), &level(level_db - margin_db, u_db), p);
            prop_assert!(got.upper_db <= got.cap_db);
        }
    }
}
