//! The locks of a file among connections of one computer, as SQLite defines them, and the slots of shared memory.
//!
//! Waiting is left out: whoever finds a lock held is told so, and asks again.

/// How much of a file a connection holds, from nothing to all. The numbers are SQLite's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) enum Level {
    /// Nothing.
    #[default]
    None,
    /// Reads.
    Shared,
    /// Means to write; others still read.
    Reserved,
    /// Waits for readers to leave; none may come.
    Pending,
    /// Writes.
    Exclusive,
}

impl Level {
    pub(super) fn of_number(number: i32) -> Self {
        match number {
            0 => Self::None,
            1 => Self::Shared,
            2 => Self::Reserved,
            3 => Self::Pending,
            _ => Self::Exclusive,
        }
    }
}

/// Someone else holds it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Held;

/// Who holds a file.
#[derive(Debug, Clone, Default)]
pub(super) struct FileLock {
    /// Connections at [`Level::Shared`] or above.
    shared: u32,
    /// The greatest level above it; one connection at most has it.
    above: Level,
}

impl FileLock {
    /// Raises a connection from `own` to `to`; on refusal `own` is what it holds then.
    pub(super) fn raise(&mut self, own: &mut Level, to: Level) -> Result<(), Held> {
        if to <= *own {
            return Ok(());
        }
        let by_other = if *own > Level::Shared { Level::None } else { self.above };
        match to {
            Level::None => return Ok(()),
            Level::Shared => {
                if by_other >= Level::Pending {
                    return Err(Held);
                }
                self.shared += 1;
            }
            Level::Reserved | Level::Pending => {
                if by_other > Level::None {
                    return Err(Held);
                }
                self.above = to;
            }
            Level::Exclusive => {
                if by_other > Level::None {
                    return Err(Held);
                }
                // From here on no reader comes; those that are there may still hold it up.
                self.above = Level::Pending;
                *own = Level::Pending;
                if self.shared > 1 {
                    return Err(Held);
                }
                self.above = Level::Exclusive;
            }
        }
        *own = to;
        Ok(())
    }

    /// Lowers a connection to `to`: to read, or to nothing.
    pub(super) fn lower(&mut self, own: &mut Level, to: Level) {
        if to >= *own {
            return;
        }
        if *own > Level::Shared {
            self.above = Level::None;
        }
        if to == Level::None {
            self.shared -= 1;
        }
        *own = to;
    }

    pub(super) fn is_reserved(&self) -> bool {
        self.above >= Level::Reserved
    }
}

/// SQLite uses this many slots.
pub(super) const SLOTS: usize = 8;

/// Who holds the slots of shared memory.
#[derive(Debug, Clone, Default)]
pub(super) struct Slots {
    shared: [u32; SLOTS],
    exclusive: [bool; SLOTS],
}

/// What one connection holds of them, as bits.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct OwnSlots {
    shared: u8,
    exclusive: u8,
}

impl Slots {
    pub(super) fn share(&mut self, own: &mut OwnSlots, slot: usize) -> Result<(), Held> {
        if own.shared & (1 << slot) != 0 {
            return Ok(());
        }
        if self.exclusive[slot] {
            return Err(Held);
        }
        self.shared[slot] += 1;
        own.shared |= 1 << slot;
        Ok(())
    }

    /// Takes slots `from..to` alone, all or none.
    pub(super) fn take(&mut self, own: &mut OwnSlots, from: usize, to: usize) -> Result<(), Held> {
        let is_held = |slot: usize| {
            let is_own = own.exclusive & (1 << slot) != 0;
            self.shared[slot] > 0 || self.exclusive[slot] && !is_own
        };
        if (from..to).any(is_held) {
            return Err(Held);
        }
        for slot in from..to {
            self.exclusive[slot] = true;
            own.exclusive |= 1 << slot;
        }
        Ok(())
    }

    /// Gives slots `from..to` back, whichever way they are held.
    pub(super) fn give_back(&mut self, own: &mut OwnSlots, from: usize, to: usize) {
        for slot in from..to {
            let bit = 1 << slot;
            if own.shared & bit != 0 {
                self.shared[slot] -= 1;
            }
            if own.exclusive & bit != 0 {
                self.exclusive[slot] = false;
            }
            own.shared &= !bit;
            own.exclusive &= !bit;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_writer_among_readers() {
        let mut lock = FileLock::default();
        let (mut one, mut two, mut three) = (Level::None, Level::None, Level::None);
        assert_eq!(lock.raise(&mut one, Level::Shared), Ok(()));
        assert_eq!(lock.raise(&mut two, Level::Shared), Ok(()));
        assert_eq!(lock.raise(&mut one, Level::Reserved), Ok(()));
        assert!(lock.is_reserved());
        assert_eq!(lock.raise(&mut two, Level::Reserved), Err(Held));
        // A reader holds it up, and no other comes meanwhile.
        assert_eq!((lock.raise(&mut one, Level::Exclusive), one), (Err(Held), Level::Pending));
        assert_eq!(lock.raise(&mut three, Level::Shared), Err(Held));
        lock.lower(&mut two, Level::None);
        assert_eq!((lock.raise(&mut one, Level::Exclusive), one), (Ok(()), Level::Exclusive));
        lock.lower(&mut one, Level::Shared);
        assert_eq!(lock.raise(&mut three, Level::Shared), Ok(()));
    }

    #[test]
    fn slots_are_shared_or_taken_alone() {
        let mut slots = Slots::default();
        let (mut one, mut two) = (OwnSlots::default(), OwnSlots::default());
        assert_eq!(slots.share(&mut one, 3), Ok(()));
        assert_eq!(slots.share(&mut two, 3), Ok(()));
        assert_eq!(slots.take(&mut one, 2, 4), Err(Held));
        slots.give_back(&mut one, 3, 4);
        slots.give_back(&mut two, 3, 4);
        assert_eq!(slots.take(&mut one, 2, 4), Ok(()));
        assert_eq!(slots.share(&mut two, 2), Err(Held));
        slots.give_back(&mut one, 2, 4);
        assert_eq!(slots.share(&mut two, 2), Ok(()));
    }
}
