//! What the receiving room's own noise leaves of a reading, by the rule of a named standard.
//!
//! Average over positions first and correct the mean. Every rule jumps at its limits; the jumps are the standards' own
//! and are not smoothed. How uncertain a corrected level is belongs to `statistics`.

use crate::bounds::Sense;
use crate::levels::energy_remainder;
use crate::{NotFinite, finite};

/// A margin this close to a limit counts as that limit, so that 45.1 - 35.1 is 10 dB.
pub const LIMIT_TOLERANCE_DB: f64 = 1e-6;

/// The published rule a level is corrected by. The edition decides the result, so it is printed with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BackgroundRule {
    /// ISO 16283-1 clause 9.2: from 10 dB nothing, above 6 dB subtract, else 1.3 dB as a limit.
    Iso16283,
    /// ASTM E336 in its editions before 2019a: from 10 dB nothing, from 5 dB subtract, else 2 dB as a limit.
    AstmE336,
    /// ASTM E336-19a and later: from 6 dB always subtract, else 1.26 dB as a limit.
    AstmE336_19a,
}

impl BackgroundRule {
    /// The correction at too small a margin, dB.
    fn limit_correction_db(self) -> f64 {
        match self {
            Self::Iso16283 => 1.3,
            Self::AstmE336 => 2.0,
            Self::AstmE336_19a => 1.26,
        }
    }

    fn regime(self, margin_db: f64) -> Regime {
        let at_least = |limit_db: f64| margin_db >= limit_db - LIMIT_TOLERANCE_DB;
        let above = |limit_db: f64| margin_db > limit_db + LIMIT_TOLERANCE_DB;
        let (clear, correctable) = match self {
            Self::Iso16283 => (at_least(10.0), above(6.0)),
            Self::AstmE336 => (at_least(10.0), at_least(5.0)),
            Self::AstmE336_19a => (false, at_least(6.0)),
        };
        match (clear, correctable) {
            (true, _) => Regime::Clear,
            (false, true) => Regime::Corrected,
            (false, false) => Regime::Limit,
        }
    }
}

/// What a rule did with a level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Regime {
    /// The background does not matter: the reading stands.
    Clear,
    /// The background's energy was subtracted.
    Corrected,
    /// The background hid the sound: the level is only an upper bound.
    Limit,
}

/// A receiving level and what the background did to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Background {
    /// Which part of the rule applied.
    pub regime: Regime,
    /// The level to go on with, dB; in [`Regime::Limit`] the true level is at most this.
    pub corrected_db: f64,
    /// What was taken off, dB, never negative.
    pub correction_db: f64,
    /// Reading minus background, dB; negative when the background alone was louder.
    pub margin_db: f64,
}

impl Background {
    /// How the true level stands to [`corrected_db`](Self::corrected_db).
    pub fn sense(&self) -> Sense {
        match self.regime {
            Regime::Clear | Regime::Corrected => Sense::Exact,
            Regime::Limit => Sense::AtMost,
        }
    }

    /// Whether the source was heard at all; without it the bound is all there is, and no correction means anything.
    pub fn has_signal(&self) -> bool {
        self.margin_db > 0.0
    }
}

/// Corrects a level for background noise by a published rule.
///
/// With the margin d = signal - background: *clear* keeps the signal, *corrected* is
/// `10·lg(10^(Ls/10) - 10^(Lb/10))`, *limit* takes off the rule's fixed correction, also when the background is at or
/// above the signal. A margin within [`LIMIT_TOLERANCE_DB`] of a limit counts as that limit.
///
/// # Units and shape
/// `signal_db`: source and background together; `background_db`: source off, same position and band. Both dB.
///
/// # Errors
/// [`NotFinite`] for either level, or for a margin beyond the range of a float.
///
/// # Source
/// ISO 16283-1 clause 9.2; ASTM E336 before 19a; ASTM E336-19a. A margin of exactly 10 dB counts as clear in both rules
/// that know it, a convention of this project.
pub fn correct(signal_db: f64, background_db: f64, rule: BackgroundRule) -> Result<Background, NotFinite> {
    let margin_db = finite(finite(signal_db)? - finite(background_db)?)?;
    let regime = rule.regime(margin_db);
    let corrected_db = match regime {
        Regime::Clear => signal_db,
        Regime::Corrected => energy_remainder(signal_db, background_db)
            .expect("a corrected level lies dB above its finite background"),
        Regime::Limit => signal_db - rule.limit_correction_db(),
    };
    let correction_db = match regime {
        Regime::Clear => 0.0,
        Regime::Corrected => signal_db - corrected_db,
        Regime::Limit => rule.limit_correction_db(),
    };
    Ok(Background { regime, corrected_db, correction_db, margin_db })
}

#[cfg(test)]
mod tests {
    use super::BackgroundRule::{AstmE336, AstmE336_19a, Iso16283};
    use super::Regime::{Clear, Corrected, Limit};
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn rules_match() {
        // Energy corrections computed independently with mpmath 1.4; limits and fixed corrections as the standards give them.
        let rows = [
            (45.0, 33.5, Iso16283, Clear, 45.0),
            (45.0, 35.0, Iso16283, Clear, 45.0),
            (45.0, 37.0, Iso16283, Corrected, 44.250596325674),
            (45.0, 39.0, Iso16283, Limit, 43.7),
            (45.0, 42.0, Iso16283, Limit, 43.7),
            (45.0, 45.0, Iso16283, Limit, 43.7),
            (45.0, 50.0, Iso16283, Limit, 43.7),
            (45.0, 35.0, AstmE336, Clear, 45.0),
            (45.0, 36.0, AstmE336, Corrected, 44.415648261173),
            (45.0, 40.0, AstmE336, Corrected, 43.349114613732),
            (45.0, 41.0, AstmE336, Limit, 43.0),
            (45.0, 47.0, AstmE336, Limit, 43.0),
            (45.0, 33.5, AstmE336_19a, Corrected, 44.681117350794),
            (45.0, 39.0, AstmE336_19a, Corrected, 43.743724225082),
            (45.0, 41.0, AstmE336_19a, Limit, 43.74),
        ];
        for (signal_db, background_db, rule, regime, corrected_db) in rows {
            let got = correct(signal_db, background_db, rule).unwrap();
            assert_eq!(got.regime, regime, "{rule:?} at {background_db}");
            assert!((got.corrected_db - corrected_db).abs() < 1e-9, "{rule:?} at {background_db}: {got:?}");
            assert!((got.correction_db - (signal_db - corrected_db)).abs() < 1e-9);
            assert_eq!(got.margin_db, signal_db - background_db);
            assert_eq!(got.has_signal(), signal_db > background_db);
            assert_eq!(got.sense() == Sense::AtMost, regime == Limit);
        }
    }

    #[test]
    fn fixed_corrections_are_the_energy_correction_at_six() {
        // ISO 16283-1 prints 1.3 dB and ASTM E336-19a 1.26 dB for a margin of 6 dB: the subtraction itself, rounded.
        let correction_db = correct(50.0, 44.0, AstmE336_19a).unwrap().correction_db;
        assert!((correction_db - 1.3).abs() < 0.05, "{correction_db}");
        assert!((correction_db - 1.26).abs() < 0.005, "{correction_db}");
    }

    #[test]
    fn margins_within_rounding_of_a_limit_count_as_the_limit() {
        let around =
            |limit_db: f64, off_db: f64, rule| correct(50.0, 50.0 - limit_db - off_db, rule).unwrap().regime;
        for (rule, limit_db, below, at, above) in [
            (Iso16283, 10.0, Corrected, Clear, Clear),
            (Iso16283, 6.0, Limit, Limit, Corrected),
            (AstmE336, 10.0, Corrected, Clear, Clear),
            (AstmE336, 5.0, Limit, Corrected, Corrected),
            (AstmE336_19a, 6.0, Limit, Corrected, Corrected),
        ] {
            assert_eq!(around(limit_db, -1e-3, rule), below, "{rule:?} below {limit_db}");
            for off_db in [-5e-7, 0.0, 5e-7] {
                assert_eq!(around(limit_db, off_db, rule), at, "{rule:?} at {limit_db}");
            }
            assert_eq!(around(limit_db, 1e-3, rule), above, "{rule:?} above {limit_db}");
        }
        // 45.1 - 35.1 is a hair off 10 in binary.
        assert_eq!(correct(45.1, 35.1, AstmE336).unwrap().regime, Clear);
    }

    #[test]
    fn infinite_levels_are_refused() {
        assert!(correct(f64::INFINITY, 30.0, Iso16283).is_err());
        assert!(correct(40.0, f64::NAN, AstmE336).is_err());
        assert!(correct(1.7e308, -1.7e308, AstmE336).is_err());
    }

    proptest! {
        #[test]
        fn correction_never_raises_a_level(
            signal_db in 10.0..110.0f64,
            background_db in 0.0..110.0f64,
            rule in prop::sample::select(vec![Iso16283, AstmE336, AstmE336_19a]),
        ) {
            let got = correct(signal_db, background_db, rule).unwrap();
            prop_assert!(got.correction_db >= 0.0);
            prop_assert!(got.corrected_db <= signal_db);
            prop_assert!(got.correction_db <= 2.0, "no rule takes off more than its limit: {got:?}");
            prop_assert!((signal_db - got.correction_db - got.corrected_db).abs() < 1e-9);
        }
    }
}
