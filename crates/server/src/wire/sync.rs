//! Syncing with other devices.

use super::word::{Id, Moment};

words! {
    /// How it goes with an address.
    enum SyncState {
        /// It has not been tried yet.
        NotYet = "not-yet",
        /// It is syncing just now.
        Syncing = "syncing",
        /// The last sync went well.
        Synced = "synced",
        /// The last try failed; it is tried again.
        Failing = "failing",
    }
}

answers! {
    /// One address this device syncs with.
    struct SyncPartner {
        /// Where it is.
        url: String,
        /// The device that answered there last.
        device: Option<Id>,
        /// How it goes.
        state: SyncState,
        /// When it went well last.
        synced_at: Option<Moment>,
        /// When it was tried last.
        tried_at: Option<Moment>,
        /// Why the last try failed, with what to do; null when it went well.
        failed: Option<String>,
        /// How often it was tried since the server started.
        tries: u64,
        /// Changes the last sync that went well brought here; null before the first one since the server started.
        taken: Option<u64>,
        /// Changes it brought there.
        sent: Option<u64>,
        /// Changes here that were not there after the last sync; null before the first one since the server started.
        waiting: Option<u64>,
    }
    /// With which addresses this device syncs, and how it goes.
    struct Syncing {
        /// Address by address.
        partners: Vec<SyncPartner>,
    }
}
