//! The clocks of simulated devices: none shows the right time, and they are set now and then.
//!
//! The world's own time stands beside them and never goes back; it is what a connection waits by.

use crate::Chance;

const HOUR_MS: i64 = 3_600_000;
const YEAR_MS: i64 = 365 * 24 * HOUR_MS;

/// The wall clock of one device.
#[derive(Debug, Clone)]
pub struct DeviceClock {
    /// World time at which it was set last.
    set_at_ms: u64,
    /// How far it was off then.
    offset_ms: i64,
    /// How much it gains, in millionths.
    gain_ppm: i64,
}

impl DeviceClock {
    /// A clock as one finds them: most are off by seconds, some by hours, few by up to a year.
    pub fn found(chance: &mut Chance, now_ms: u64) -> Self {
        let gain_ppm = between(chance, 200);
        Self { set_at_ms: now_ms, offset_ms: error_ms(chance), gain_ppm }
    }

    /// A clock that shows the right time.
    pub fn right() -> Self {
        Self { set_at_ms: 0, offset_ms: 0, gain_ppm: 0 }
    }

    /// What it shows, Unix milliseconds.
    pub fn shows_ms(&self, now_ms: u64) -> u64 {
        let passed_ms = i64::try_from(now_ms.saturating_sub(self.set_at_ms)).unwrap_or(0);
        let off_ms = self.offset_ms + passed_ms / 1_000_000 * self.gain_ppm;
        now_ms.saturating_add_signed(off_ms)
    }

    /// Someone sets it, not always rightly.
    pub fn set(&mut self, chance: &mut Chance, now_ms: u64) {
        *self = Self { set_at_ms: now_ms, offset_ms: error_ms(chance), ..*self };
    }
}

fn error_ms(chance: &mut Chance) -> i64 {
    let most_ms = match chance.below(10) {
        0..6 => 5_000,
        6..9 => 12 * HOUR_MS,
        _ => YEAR_MS,
    };
    between(chance, most_ms)
}

/// A number from `-most` to `most`.
fn between(chance: &mut Chance, most: i64) -> i64 {
    let width = most.unsigned_abs() * 2 + 1;
    i64::try_from(chance.below(width)).unwrap_or(0) - most
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOW_MS: u64 = 1_741_100_000_000;

    #[test]
    fn a_clock_drifts_by_its_gain() {
        let clock = DeviceClock { set_at_ms: NOW_MS, offset_ms: -500, gain_ppm: 100 };
        assert_eq!(clock.shows_ms(NOW_MS), NOW_MS - 500);
        // By hand: 100 millionths of 1,000 s are 100 ms.
        assert_eq!(clock.shows_ms(NOW_MS + 1_000_000), NOW_MS + 1_000_000 - 400);
        assert_eq!(DeviceClock::right().shows_ms(NOW_MS), NOW_MS);
    }

    #[test]
    fn clocks_are_off_by_up_to_a_year_both_ways() {
        let mut chance = Chance::new(1);
        let errors: Vec<i64> = (0..2_000).map(|_| error_ms(&mut chance)).collect();
        assert!(errors.iter().all(|error| error.abs() <= YEAR_MS));
        let is_met = |from: i64, to: i64| errors.iter().any(|error| (from..to).contains(error));
        assert!(is_met(100 * 24 * HOUR_MS, YEAR_MS) && is_met(-YEAR_MS, -100 * 24 * HOUR_MS));
        assert!(is_met(-5_000, 5_000) && is_met(HOUR_MS, 12 * HOUR_MS));
    }
}
