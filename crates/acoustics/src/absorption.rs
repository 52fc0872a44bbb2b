//! What the receiving room itself does to a level: its absorption, and a change of it between two tests.
//!
//! Fill in open studs soaks up sound in the room it faces; the level falls although the wall did not change. Telling the two
//! apart needs the decay times, or a swap of source and meter.

/// Sabine's constant as the field standard rounds it, s/m. ISO 16283-1 clause 3.15; `24·ln 10/c` is 0.161 at 20 °C.
pub const SABINE_S_PER_M: f64 = 0.16;

/// The equivalent absorption area `A = 0.16·V/T`, m². Both above zero; the caller checks.
pub(crate) fn area_m2(decay_time_s: f64, volume_m3: f64) -> f64 {
    SABINE_S_PER_M * volume_m3 / decay_time_s
}

/// The Schroeder frequency `2000·√(T/V)`, Hz, of a room whose decay time and volume are above zero; the caller checks.
pub(crate) fn schroeder(decay_time_s: f64, volume_m3: f64) -> f64 {
    2000.0 * (decay_time_s / volume_m3).sqrt()
}

/// A decay time that cannot be.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("a decay time of {decay_time_s} s is not above zero")]
pub struct BadDecayTime {
    /// What came in.
    pub decay_time_s: f64,
}

/// Returns the change of a diffuse-field level that a room's absorption alone causes, `10·lg(T_after/T_before)`, dB.
///
/// Negative when the room got more absorbing. Take it off a measured change of level, or add it to a change of level
/// difference, before crediting the wall.
///
/// # Units and shape
/// Reverberation times of the *receiving* room in the states of the two tests, s, above zero.
///
/// # Errors
/// [`BadDecayTime`] for either time.
///
/// # Source
/// Diffuse-field theory (Sabine); the same term as in the standardised level difference, ISO 16283-1 clause 3.13.
pub fn absorption_change(before_s: f64, after_s: f64) -> Result<f64, BadDecayTime> {
    for decay_time_s in [before_s, after_s] {
        if !(decay_time_s.is_finite() && decay_time_s > 0.0) {
            return Err(BadDecayTime { decay_time_s });
        }
    }
    Ok(10.0 * (after_s / before_s).log10())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_match() {
        let rows = [
            (0.6, 0.3, -3.010299956640, "textbook: twice the absorption is 3 dB less"),
            (0.5, 0.5, 0.0, "nothing changed"),
            (0.5, 0.293, -2.321023839819, "computed independently with mpmath 1.4"),
            // 30 m³ with A 9.6 m², then 8 m² of fill with 0.85 more absorption each: A 16.4 m².
            (9.6 / 9.6, 9.6 / 16.4, -2.325726150081, "computed independently with mpmath 1.4"),
        ];
        for (before_s, after_s, expected_db, source) in rows {
            let got_db = absorption_change(before_s, after_s).unwrap();
            assert!((got_db - expected_db).abs() < 1e-9, "{before_s} to {after_s}: {got_db}, {source}");
        }
    }

    #[test]
    fn sabine_area_is_near_the_exact_constant() {
        // 24·ln 10/c with c = 343 m/s (20 °C, handbook value): the standard's 0.16 is that, rounded to two digits.
        let exact = 24.0 * std::f64::consts::LN_10 / 343.0;
        assert!((exact - SABINE_S_PER_M).abs() < 0.005);
        assert_eq!(area_m2(0.5, 30.0), 9.6);
    }

    #[test]
    fn impossible_times_are_refused() {
        assert_eq!(absorption_change(0.0, 0.5), Err(BadDecayTime { decay_time_s: 0.0 }));
        assert_eq!(absorption_change(0.5, -0.1), Err(BadDecayTime { decay_time_s: -0.1 }));
        assert!(absorption_change(f64::NAN, 0.5).is_err());
    }
}
