//! Shared memory beside a file, through which connections in WAL mode find the newest pages.
//!
//! It lives as long as any connection has it, and does not survive a power cut. This is memory that SQLite itself
//! reads and writes through pointers, under its own rules for who may when.
#![allow(unsafe_code, reason = "SQLite is handed pointers to this memory")]

use std::cell::UnsafeCell;
use std::sync::{Mutex, PoisonError};

use super::lock::Slots;

/// One region: memory that stays where it is.
struct Region(Box<[UnsafeCell<u64>]>);

// SAFETY: nothing in this crate reads or writes a region once it is made; SQLite does, through pointers, and orders
// its accesses by the locks and barriers it asks for, as it does for memory shared between processes.
unsafe impl Send for Region {}
// SAFETY: as above.
unsafe impl Sync for Region {}

/// The shared memory of one file.
#[derive(Default)]
pub(super) struct Shared {
    regions: Mutex<Vec<Region>>,
    slots: Mutex<Slots>,
}

impl std::fmt::Debug for Shared {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Shared")
    }
}

impl Shared {
    /// Returns where region `index` lies, for as long as this lives; makes it and those before it if asked to.
    pub(super) fn region(&self, index: usize, bytes: usize, make: bool) -> Option<*mut u8> {
        let mut regions = self.regions.lock().unwrap_or_else(PoisonError::into_inner);
        while make && regions.len() <= index {
            let words = (0..bytes.div_ceil(8)).map(|_| UnsafeCell::new(0)).collect();
            regions.push(Region(words));
        }
        regions.get(index).and_then(|Region(words)| words.first()).map(|word| word.get().cast())
    }

    /// Works on the slots.
    pub(super) fn slots<T>(&self, work: impl FnOnce(&mut Slots) -> T) -> T {
        work(&mut self.slots.lock().unwrap_or_else(PoisonError::into_inner))
    }
}
