//! A disk in memory for SQLite to work on, that fails the way disks fail.
//!
//! A [`Disk`] holds the files of one device. [`VFS`] is the name under which SQLite knows all simulated disks; the
//! path of a file on a disk comes from [`Disk::path`]. What is written is volatile until it is synced; when the
//! power goes, the unsynced part is lost, kept, torn at sectors of 512 bytes, or kept in parts, later ones without
//! earlier ones; names are durable once their folder is synced. A failed sync may have the system forget what it
//! could not write. Trouble is planned by step, so that a run can be repeated with the trouble one step later.
//!
//! Left out: disks that change what was synced, which `storypole verify` is for.

mod file;
mod lock;
mod shared;
mod state;
mod vfs;

use std::collections::HashMap;
use std::ops::Range;
use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError, Weak};

use self::state::State;
pub use self::state::{DiskTally, Trouble};
pub use self::vfs::VFS;

type Held = Mutex<State>;

/// The disks that exist, by number, for SQLite names files by text.
static DISKS: OnceLock<Mutex<HashMap<u64, Weak<Held>>>> = OnceLock::new();
static NEXT: AtomicU64 = AtomicU64::new(1);

fn disks() -> MutexGuard<'static, HashMap<u64, Weak<Held>>> {
    DISKS.get_or_init(Mutex::default).lock().unwrap_or_else(PoisonError::into_inner)
}

/// A simulated disk. It is gone when the last one who holds it lets go.
#[derive(Debug)]
pub struct Disk {
    number: u64,
    state: Arc<Held>,
}

impl Drop for Disk {
    fn drop(&mut self) {
        disks().remove(&self.number);
    }
}

impl Disk {
    /// An empty disk; the seed decides what a power cut leaves.
    pub fn new(seed: u64) -> Self {
        Self::of(State::new(seed))
    }

    /// The same files on another disk, as programs see them here: a copied folder, or a backup put back.
    pub fn copy(&self, seed: u64) -> Self {
        Self::of(self.state().copied(seed))
    }

    fn of(state: State) -> Self {
        vfs::register();
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let state = Arc::new(Mutex::new(state));
        disks().insert(number, Arc::downgrade(&state));
        Self { number, state }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Where a file of this disk lies, for SQLite's [`VFS`].
    pub fn path(&self, name: &str) -> PathBuf {
        PathBuf::from(format!("/{}/{name}", self.number))
    }

    /// How many steps were done.
    pub fn steps(&self) -> u64 {
        self.state().steps
    }

    /// Plans trouble for some steps; steps are counted from 1. It takes the place of any planned before.
    pub fn plan(&self, steps: Range<u64>, trouble: Trouble) {
        self.state().plan = Some((steps, trouble));
    }

    /// Takes back what was planned.
    pub fn be_well(&self) {
        let mut state = self.state();
        state.plan = None;
        state.room_bytes = None;
    }

    /// Gives the disk room for so many bytes over what its files take now.
    pub fn leave_room(&self, bytes: usize) {
        let mut state = self.state();
        let taken = state.taken_bytes();
        state.room_bytes = Some(taken + bytes);
    }

    /// From now on the disk claims to have synced what it has not.
    pub fn lie(&self) {
        self.state().lies = true;
    }

    /// The power goes, at once.
    pub fn cut_power(&self) {
        let mut state = self.state();
        if !state.is_off {
            state.cut_power();
        }
    }

    /// Whether the power is off.
    pub fn is_off(&self) -> bool {
        self.state().is_off
    }

    /// The power is back. What was planned is taken back.
    pub fn boot(&self) {
        self.be_well();
        self.state().is_off = false;
    }

    /// What went wrong so far.
    pub fn tally(&self) -> DiskTally {
        self.state().tally
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]
mod tests;
