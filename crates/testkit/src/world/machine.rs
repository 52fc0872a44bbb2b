//! One machine of the simulated world: a disk, a clock, a key, and the store of the program that runs on it.

use std::collections::BTreeSet;
use std::sync::{Mutex, OnceLock, PoisonError};

use rusqlite::{Connection, OpenFlags};
use storypole_journal::{Change, ChangeHash, DeviceKey, DraftId, WriteId};
use storypole_store::{Identity, Location, Reader, Store, StoreError};

use crate::clock::DeviceClock;
use crate::disk::{Disk, VFS};

/// A machine.
pub(super) struct Machine {
    pub(super) disk: Disk,
    pub(super) clock: DeviceClock,
    /// What its key file holds.
    pub(super) key: DeviceKey,
    /// What is to take its place, while the copy becomes a new device.
    pub(super) next_key: Option<DeviceKey>,
    /// The newest backup.
    pub(super) backup: Option<Disk>,
    /// The program, while it runs.
    pub(super) program: Option<Program>,
    /// When someone switches it on again.
    pub(super) boots_at_ms: Option<u64>,
    pub(super) promised: Promised,
    /// Whether its folder is a copy, or was copied.
    pub(super) is_copied: bool,
}

/// The program on a machine.
pub(super) struct Program {
    pub(super) store: Store,
    pub(super) reader: Reader,
}

/// What a machine has given its word for.
#[derive(Debug, Clone, Default)]
pub(super) struct Promised {
    /// Drafts it acknowledged.
    pub(super) drafts: BTreeSet<DraftId>,
    /// Drafts that the machine acknowledged whose folder it has a copy of.
    pub(super) copied: BTreeSet<DraftId>,
    /// Changes of others that it said to have on disk.
    pub(super) changes: BTreeSet<ChangeHash>,
}

/// What lies on a disk.
#[derive(Debug, Default)]
pub(super) struct Held {
    pub(super) drafts: BTreeSet<DraftId>,
    pub(super) changes: BTreeSet<ChangeHash>,
    pub(super) seen: BTreeSet<WriteId>,
}

pub(super) const DATABASE: &str = "notebook.db";

pub(super) fn location(disk: &Disk) -> Location {
    Location::on(VFS, &disk.path(DATABASE))
}

/// A new disk with a database that is ready to become a copy of a notebook.
///
/// Making all its tables takes longer than the rest of a small world, so it is made once, by the store, and every
/// trace of the copy that it was made for is taken out again.
pub(super) fn ready_disk(seed: u64, key: &DeviceKey, identity: &Identity) -> Disk {
    static PATTERN: OnceLock<Mutex<Disk>> = OnceLock::new();
    let pattern = PATTERN.get_or_init(|| {
        let disk = Disk::new(0);
        Store::create_at(&location(&disk), key.clone(), identity).expect("a new disk is well");
        let connection = Connection::open_with_flags_and_vfs(disk.path(DATABASE), OpenFlags::default(), VFS);
        let sql = "DELETE FROM copy; DELETE FROM series; DELETE FROM standing;";
        connection.and_then(|connection| connection.execute_batch(sql)).expect("a new disk is well");
        Mutex::new(disk)
    });
    pattern.lock().unwrap_or_else(PoisonError::into_inner).copy(seed)
}

impl Program {
    fn of(store: Store) -> Result<Self, StoreError> {
        Ok(Self { reader: store.reader()?, store })
    }

    pub(super) fn create(disk: &Disk, key: &DeviceKey, identity: &Identity) -> Result<Self, StoreError> {
        Self::of(Store::create_at(&location(disk), key.clone(), identity)?)
    }

    pub(super) fn start(disk: &Disk, key: &DeviceKey) -> Result<Self, StoreError> {
        Self::of(Store::open_at(&location(disk), key.clone())?)
    }

    /// Everything held, set aside or not.
    pub(super) fn held(&self) -> Result<Held, StoreError> {
        let mut held = Held::default();
        for (_, change) in self.reader.changes_after(0, usize::MAX)? {
            held.take(&change);
        }
        for aside in self.reader.set_aside()? {
            held.changes.insert(aside.hash);
        }
        Ok(held)
    }
}

impl Held {
    fn take(&mut self, change: &Change) {
        self.changes.insert(change.hash());
        self.drafts.insert(change.draft.id);
        self.seen.extend(change.draft.writes.iter().flat_map(|write| write.seen.iter().copied()));
    }
}
