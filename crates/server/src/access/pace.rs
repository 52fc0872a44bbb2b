//! How fast someone may ask. Time is an argument.

use std::collections::VecDeque;
use std::time::Duration;

use tokio::time::Instant;

/// A bucket of requests that fills evenly: a rest saves up a burst.
#[derive(Debug)]
pub struct Pace {
    a_second: f64,
    burst: f64,
    left: f64,
    at: Option<Instant>,
}

impl Pace {
    /// Full at first.
    pub fn new(a_second: u32, burst: u32) -> Self {
        Self { a_second: a_second.into(), burst: burst.into(), left: burst.into(), at: None }
    }

    /// Takes one request out.
    ///
    /// # Errors
    /// How long until there is one.
    pub fn step(&mut self, now: Instant) -> Result<(), Duration> {
        let rested = self.at.replace(now).map_or(Duration::ZERO, |at| now.duration_since(at));
        self.left = (self.left + rested.as_secs_f64() * self.a_second).min(self.burst);
        if self.left >= 1.0 {
            self.left -= 1.0;
            return Ok(());
        }
        Err(Duration::from_secs_f64((1.0 - self.left) / self.a_second))
    }
}

/// Wrong keys within the last minute.
#[derive(Debug)]
pub struct WrongKeys {
    most: usize,
    at: VecDeque<Instant>,
}

const MINUTE: Duration = Duration::from_secs(60);

impl WrongKeys {
    /// None yet.
    pub fn new(most: u32) -> Self {
        Self { most: most as usize, at: VecDeque::new() }
    }

    /// How long no key is looked at any more; none while one is.
    pub fn wait(&mut self, now: Instant) -> Option<Duration> {
        while self.at.front().is_some_and(|at| now.duration_since(*at) >= MINUTE) {
            self.at.pop_front();
        }
        let oldest = self.at.front().filter(|_| self.at.len() >= self.most)?;
        Some(MINUTE - now.duration_since(*oldest))
    }

    /// One came.
    pub fn note(&mut self, now: Instant) {
        self.at.push_back(now);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 2 a second with a burst of 3.
    #[test]
    fn a_rest_saves_up_a_burst() {
        let start = Instant::now();
        let at = |ms: u64| start + Duration::from_millis(ms);
        let mut pace = Pace::new(2, 3);
        for _ in 0..3 {
            assert_eq!(pace.step(at(0)), Ok(()));
        }
        assert_eq!(pace.step(at(0)), Err(Duration::from_millis(500)));
        assert_eq!(pace.step(at(500)), Ok(()));
        assert!(pace.step(at(600)).is_err());
        for _ in 0..3 {
            assert_eq!(pace.step(at(60_000)), Ok(()));
        }
        assert!(pace.step(at(60_000)).is_err(), "no rest saves up more than the burst");
    }

    #[test]
    fn wrong_keys_are_forgotten_after_a_minute() {
        let start = Instant::now();
        let at = |s: u64| start + Duration::from_secs(s);
        let mut wrong = WrongKeys::new(2);
        assert_eq!(wrong.wait(at(0)), None);
        wrong.note(at(0));
        assert_eq!(wrong.wait(at(10)), None);
        wrong.note(at(10));
        assert_eq!(wrong.wait(at(15)), Some(Duration::from_secs(45)));
        assert_eq!(wrong.wait(at(60)), None);
        wrong.note(at(60));
        assert_eq!(wrong.wait(at(61)), Some(Duration::from_secs(9)));
    }
}
