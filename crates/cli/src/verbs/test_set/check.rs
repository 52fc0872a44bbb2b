//! What tells, while the meter still stands there, that a reading should be taken again.

use storypole_acoustics::levels;
use storypole_findings::rules::OUTLIER_DB;

/// Least margin over the background that leaves more than a bound in every rule: ISO 16283-1 clause 9.2 and
/// ASTM E336-19a both stop correcting at 6 dB.
pub const LEAST_MARGIN_DB: f64 = 6.0;

/// What is odd about a reading beside the others of its set on the same side, in words; all levels in one unit, dB.
///
/// It is compared with the energy mean of the others, so one loud reading does not hide behind itself.
pub fn odd_db(level_db: f64, others_db: &[f64], background_db: Option<f64>) -> Vec<String> {
    let mut odd = Vec::new();
    if let Ok(mean_db) = levels::energy_mean(others_db) {
        let off_db = level_db - mean_db;
        if off_db.abs() > OUTLIER_DB {
            let side = if off_db > 0.0 { "above" } else { "below" };
            odd.push(format!(
                "{:.1} dB {side} the other positions, which average {mean_db:.1}",
                off_db.abs()
            ));
        }
    }
    if let Some(background_db) = background_db
        && level_db - background_db < LEAST_MARGIN_DB
    {
        odd.push(format!(
            "only {:.1} dB over the background: louder source, or quieter room",
            level_db - background_db
        ));
    }
    odd
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 77.0, 77.9 and 76.6 average 77.2 by energy, computed by hand: 10 lg((10^7.70 + 10^7.79 + 10^7.66) / 3).
    #[test]
    fn a_reading_far_from_the_others_is_odd() {
        let others = [77.0, 77.9, 76.6];
        assert_eq!(odd_db(87.3, &others, None), ["10.1 dB above the other positions, which average 77.2"]);
        assert_eq!(odd_db(70.0, &others, None), ["7.2 dB below the other positions, which average 77.2"]);
        assert!(odd_db(78.3, &others, None).is_empty());
        assert!(odd_db(87.3, &[], None).is_empty());
    }

    #[test]
    fn a_reading_close_to_the_background_is_odd() {
        assert_eq!(
            odd_db(58.8, &[], Some(55.1)),
            ["only 3.7 dB over the background: louder source, or quieter room"]
        );
        assert!(odd_db(61.1, &[], Some(55.1)).is_empty(), "6 dB are enough");
    }
}
