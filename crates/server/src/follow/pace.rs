//! How long to wait after failures, and noticing that the computer slept.

use std::time::{Duration, SystemTime};

use tokio::time::{Instant, sleep};

/// The longest pause between two tries.
const LONGEST: Duration = Duration::from_secs(300);

/// How often the clocks are compared, and by how much they must differ to mean sleep.
const LOOK: Duration = Duration::from_secs(5);
const SLEPT: Duration = Duration::from_secs(30);

/// The pause after so many failures in a row: 1, 2, 4 … 300 s, a quarter more or less by `jitter`, so that devices
/// that lost one server together do not all come back together.
pub fn pause(failures: u32, jitter: u32) -> Duration {
    let doubled = 1u64 << failures.saturating_sub(1).min(9);
    let pause = Duration::from_secs(doubled).min(LONGEST);
    pause.mul_f64(0.75 + 0.5 * f64::from(jitter) / f64::from(u32::MAX))
}

/// The clock on the wall, which goes on while the computer sleeps, and the one that does not.
pub struct Clocks {
    steady: Instant,
    wall: SystemTime,
}

impl Clocks {
    pub fn now() -> Self {
        Self { steady: Instant::now(), wall: SystemTime::now() }
    }

    /// Waits until the wall clock has gone much further than the steady one.
    pub async fn jump(&mut self) {
        loop {
            sleep(LOOK).await;
            let now = Self::now();
            let slept = is_jump(
                now.steady.duration_since(self.steady),
                now.wall.duration_since(self.wall).unwrap_or_default(),
            );
            *self = now;
            if slept {
                return;
            }
        }
    }
}

fn is_jump(steady: Duration, wall: Duration) -> bool {
    wall.saturating_sub(steady) > SLEPT
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand.
    #[test]
    fn pauses_double_up_to_five_minutes_a_quarter_more_or_less() {
        let middle = u32::MAX / 2;
        for (failures, expected_s) in [(0, 1), (1, 1), (2, 2), (3, 4), (9, 256), (10, 300), (u32::MAX, 300)] {
            let expected = Duration::from_secs(expected_s);
            let found = pause(failures, middle);
            assert!(found.abs_diff(expected) < Duration::from_millis(1), "{failures}: {found:?}");
        }
        assert_eq!(pause(3, 0), Duration::from_secs(3));
        assert_eq!(pause(3, u32::MAX), Duration::from_secs(5));
    }

    #[test]
    fn a_clock_that_is_set_back_or_a_little_forward_is_no_sleep() {
        let s = Duration::from_secs;
        assert!(!is_jump(s(5), s(5)) && !is_jump(s(5), s(0)) && !is_jump(s(5), s(30)));
        assert!(is_jump(s(5), s(36)));
    }
}
