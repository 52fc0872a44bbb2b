//! A long straight slit through a wall: a crack at the edge of a board, a gap at a frame.
//!
//! Leaves out viscosity, so a slit under a millimetre comes out too leaky, and ends: the slit is long against the wave.

use std::f64::consts::PI;

use super::{Measure, PredictionError, SPEED_OF_SOUND_M_S, within};

/// Where a slit lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SlitPlace {
    /// In the middle of a wall.
    MidWall,
    /// Along an edge of the room, such as the floor.
    Edge,
}

/// Returns the sound reduction index of a slit against its own area, dB.
///
/// `τ = 8K·cos²(Ke) / {2n²·[sin²(KX + 2Ke)/cos²(Ke) + (K²/2n²)(1 + cos(KX)·cos(KX + 2Ke))]}` in a diffuse field, with
/// `K = 2πfw/c₀`, `X = d/w`, `e = (ln(8/K) - 0.57722)/π`, n = 1 in mid wall and ½ at an edge. Negative where the slit
/// resonates: it then draws sound from more than its own area, and that is real.
///
/// # Units and shape
/// Width and depth in m, the depth being the way through the wall; frequency in Hz. Returns dB.
///
/// # Errors
/// [`PredictionError::OutOfRange`]: width 0.1 mm to 1 m, depth 0.1 mm to 10 m, frequency 1 to 100,000 Hz.
/// [`PredictionError::TooWide`] for `K > 1`, where the end correction no longer holds.
///
/// # Source
/// Gomperts, as in Hopkins, Sound Insulation, equations 4.99 and 4.100. The limit on K is this project's.
pub fn slit_db(
    width_m: f64,
    depth_m: f64,
    place: SlitPlace,
    frequency_hz: f64,
) -> Result<f64, PredictionError> {
    let width = within(Measure::SlitWidth, width_m, 1e-4, 1.0)?;
    let depth = within(Measure::SlitDepth, depth_m, 1e-4, 10.0)?;
    let frequency = within(Measure::Frequency, frequency_hz, 1.0, 1e5)?;
    let k = 2.0 * PI * frequency * width / SPEED_OF_SOUND_M_S;
    if k > 1.0 {
        return Err(PredictionError::TooWide { width_m, frequency_hz });
    }
    let through = k * depth / width;
    let end = ((8.0 / k).ln() - EULER) / PI;
    let n = match place {
        SlitPlace::MidWall => 1.0_f64,
        SlitPlace::Edge => 0.5,
    };
    let cos_end = (k * end).cos().powi(2);
    let both_ends = through + 2.0 * k * end;
    let standing = both_ends.sin().powi(2) / cos_end;
    let radiating = k * k / (2.0 * n * n) * (1.0 + through.cos() * both_ends.cos());
    let transmission = DIFFUSE * k * cos_end / (2.0 * n * n * (standing + radiating));
    super::computed(-10.0 * transmission.log10())
}

/// Euler's constant as the formula is printed.
const EULER: f64 = 0.57722;

/// m of the formula for a diffuse field.
const DIFFUSE: f64 = 8.0;

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_crack_matches() {
        // 2 mm wide, 100 mm deep, at nominal frequencies; computed independently with mpmath 1.3, to two decimals.
        let rows = [(125.0, 5.21), (250.0, 7.88), (500.0, 9.75), (1000.0, 7.75), (2000.0, 1.78)];
        for (hz, expected_db) in rows {
            let got_db = slit_db(0.002, 0.1, SlitPlace::MidWall, hz).unwrap();
            assert!((got_db - expected_db).abs() <= 0.0051, "{hz} Hz: {got_db}");
        }
        // 3.175 mm by 115 mm at 100 Hz, mid wall and edge; computed independently with mpmath 1.3, to one decimal.
        for (place, expected_db) in [(SlitPlace::MidWall, 3.7), (SlitPlace::Edge, -2.3)] {
            let got_db = slit_db(0.003_175, 0.115, place, 100.0).unwrap();
            assert!((got_db - expected_db).abs() <= 0.0501, "{place:?}: {got_db}");
        }
    }

    #[test]
    fn slits_resonate_below_zero() {
        // Handbooks: a slit resonates where its depth, ends counted, is half a wavelength; 100 mm is 1715 Hz less the ends.
        let hz: Vec<f64> = (0..200).map(|step| 1200.0 + 3.0 * f64::from(step)).collect();
        let lowest =
            hz.iter().map(|hz| slit_db(0.002, 0.1, SlitPlace::MidWall, *hz).unwrap()).reduce(f64::min);
        assert!(lowest.unwrap() < -5.0, "{lowest:?}");
    }

    #[test]
    fn slits_that_are_none_are_refused() {
        assert!(slit_db(0.0, 0.1, SlitPlace::Edge, 500.0).is_err());
        assert!(slit_db(0.002, f64::NAN, SlitPlace::Edge, 500.0).is_err());
        assert!(slit_db(0.002, 0.1, SlitPlace::Edge, 0.0).is_err());
        let wide = PredictionError::TooWide { width_m: 0.05, frequency_hz: 2000.0 };
        assert_eq!(slit_db(0.05, 0.1, SlitPlace::Edge, 2000.0), Err(wide));
    }

    proptest! {
        #[test]
        fn every_slit_gives_a_number(
            width_m in 1e-4..0.01f64, depth_m in 1e-4..0.5f64, frequency_hz in 20.0..5000.0f64, edge: bool,
        ) {
            let place = if edge { SlitPlace::Edge } else { SlitPlace::MidWall };
            prop_assert!(slit_db(width_m, depth_m, place, frequency_hz).unwrap().is_finite());
        }
    }
}
