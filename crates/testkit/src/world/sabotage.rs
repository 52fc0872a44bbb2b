//! Ways to break a promise on purpose, to see that the world notices. None of them is in the code that ships.

use rusqlite::{Connection, OpenFlags};
use storypole_journal::Change;

use super::World;
use super::machine::DATABASE;
use crate::disk::VFS;

/// What is done wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sabotage {
    /// The disks claim to have synced what they have not.
    LyingDisks,
    /// A draft is acknowledged and never written.
    AcknowledgesUnwritten,
    /// A parcel is said to be on disk and is dropped.
    DropsAndSaysTaken,
    /// Of a parcel one series is left out, so that what others have seen is not there.
    SkipsASeries,
    /// What arrived last is shown, whatever was written last.
    ArrivalOrderWins,
    /// What is kept aside of a series that forked is thrown away.
    DropsAside,
    /// A copy never goes on as a new device.
    NeverMends,
}

impl World {
    /// Writes into the tables, past the store, the name of a site that came last in a parcel.
    pub(super) fn show_what_arrived(&mut self, machine: usize, changes: &[Vec<u8>]) {
        let changes = changes.iter().rev().filter_map(|bytes| Change::decode(bytes).ok());
        let mut writes = changes.flat_map(|change| change.draft.writes);
        let Some(write) =
            writes.find(|write| (write.kind.as_str(), write.field.as_str()) == ("site", "name"))
        else {
            return;
        };
        let name = format!("{:?}", write.value);
        self.past_the_store(
            machine,
            "UPDATE \"site\" SET name = ?1 WHERE record = ?2",
            rusqlite::params![name, write.record.as_bytes()],
        );
    }

    /// Throws away what is kept aside of forks.
    pub(super) fn drop_aside(&mut self, machine: usize) {
        self.past_the_store(machine, "DELETE FROM forked_changes", []);
    }

    fn past_the_store(&self, machine: usize, sql: &str, parameters: impl rusqlite::Params) {
        let path = self.machines[machine].disk.path(DATABASE);
        let connection = Connection::open_with_flags_and_vfs(path, OpenFlags::default(), VFS);
        // Where the disk is in trouble nothing is done wrongly this time.
        let _ = connection.and_then(|connection| connection.execute(sql, parameters));
    }
}
