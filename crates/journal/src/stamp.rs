//! Stamps of a hybrid logical clock: what happened after has the greater stamp.
//!
//! A stamp orders changes and is never shown to a person; *written at* stands beside it.

/// When a change entered a series: Unix milliseconds in the upper 48 bits, a counter in the lower 16.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Stamp(pub u64);

impl Stamp {
    /// The greatest stamp a change may bear, so that a stamp fits a signed 64-bit column.
    pub const MAX: Self = Self(i64::MAX as u64);

    /// Joins Unix milliseconds and counter; milliseconds past [`Stamp::MAX`] are taken as its own.
    pub const fn from_parts(unix_ms: u64, counter: u16) -> Self {
        let most_ms = Self::MAX.unix_ms();
        let unix_ms = if unix_ms < most_ms { unix_ms } else { most_ms };
        Self((unix_ms << 16) | counter as u64)
    }

    /// Returns the Unix milliseconds.
    pub const fn unix_ms(self) -> u64 {
        self.0 >> 16
    }

    /// Returns the counter within the millisecond.
    pub const fn counter(self) -> u16 {
        (self.0 & 0xFFFF) as u16
    }
}

/// A hybrid logical clock: runs with the wall clock, never backwards, never behind what it observed.
///
/// After Kulkarni et al., "Logical Physical Clocks" (2014), with time and counter in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Clock {
    /// The greatest stamp given out or observed.
    pub last: Stamp,
}

impl Clock {
    /// Gives out a stamp greater than all before it, of `now_ms` where the wall clock allows.
    ///
    /// A full counter carries into the milliseconds. At [`Stamp::MAX`] (the year 6429, or a device that
    /// claimed it) the clock stands still, and appending to the series fails.
    pub fn tick(&mut self, now_ms: u64) -> Stamp {
        let next = Stamp(self.last.0.saturating_add(1).min(Stamp::MAX.0));
        self.last = next.max(Stamp::from_parts(now_ms, 0));
        self.last
    }

    /// Takes note of a stamp that arrived, so that the next one given out is greater.
    pub fn observe(&mut self, stamp: Stamp) {
        self.last = self.last.max(stamp);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_follow_the_wall_clock_and_never_turn_back() {
        let mut clock = Clock::default();
        // (wall clock in ms, expected ms, expected counter); arithmetic of the definition.
        for (now_ms, unix_ms, counter) in
            [(100, 100, 0), (100, 100, 1), (99, 100, 2), (101, 101, 0), (0, 101, 1)]
        {
            let stamp = clock.tick(now_ms);
            assert_eq!((stamp.unix_ms(), stamp.counter()), (unix_ms, counter));
        }
    }

    #[test]
    fn a_full_counter_carries_into_the_milliseconds() {
        let mut clock = Clock { last: Stamp::from_parts(5, u16::MAX) };
        assert_eq!(clock.tick(5), Stamp::from_parts(6, 0));
    }

    #[test]
    fn what_was_observed_lies_before_the_next_tick() {
        let mut clock = Clock::default();
        clock.observe(Stamp::from_parts(900, 3));
        assert_eq!(clock.tick(20), Stamp::from_parts(900, 4));
        clock.observe(Stamp::from_parts(1, 0));
        assert_eq!(clock.tick(20), Stamp::from_parts(900, 5));
    }

    #[test]
    fn the_last_stamp_fits_a_signed_column() {
        assert_eq!(Stamp::from_parts(u64::MAX, u16::MAX), Stamp::MAX);
        assert_eq!(Clock { last: Stamp::MAX }.tick(0), Stamp::MAX);
    }
}
