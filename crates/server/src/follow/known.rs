//! How syncing goes with each address, for whoever asks; and the way to have it done now.

use std::collections::BTreeMap;
use std::sync::Mutex;

use storypole_desk::edge;
use storypole_journal::{DeviceId, Vector};
use storypole_store::partners::Partner as Address;
use tokio::sync::watch;

use crate::access::lock;
use crate::partner::Outcome;

/// How it goes with one address.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Followed {
    /// The device that answered there last.
    pub device: Option<DeviceId>,
    /// When it was tried last, ms since 1970.
    pub tried_ms: Option<u64>,
    /// When it went well last, ms since 1970.
    pub synced_ms: Option<u64>,
    /// Why the last try failed; `None` when it went well.
    pub failed: Option<String>,
    /// It is syncing just now.
    pub is_syncing: bool,
    /// How often it was tried since the server started.
    pub tries: u64,
    /// Changes the last sync that went well took and sent.
    pub moved: Option<(u64, u64)>,
    /// What both ends held after the last sync since the server started.
    pub held: Option<Vector>,
}

/// How it goes with every address.
pub struct Following {
    followed: Mutex<BTreeMap<String, Followed>>,
    listed: watch::Sender<()>,
    asked: watch::Sender<()>,
}

impl Default for Following {
    fn default() -> Self {
        Self { followed: Mutex::default(), listed: watch::Sender::new(()), asked: watch::Sender::new(()) }
    }
}

impl Following {
    /// Every address, by name.
    pub fn all(&self) -> BTreeMap<String, Followed> {
        lock(&self.followed).clone()
    }

    /// Has every address synced now.
    pub fn ask(&self) {
        self.asked.send_replace(());
    }

    /// The list of addresses has changed.
    pub fn list_anew(&self) {
        self.listed.send_replace(());
    }

    pub(super) fn asked(&self) -> watch::Receiver<()> {
        self.asked.subscribe()
    }

    pub(super) fn listed(&self) -> watch::Receiver<()> {
        self.listed.subscribe()
    }

    pub(super) fn add(&self, address: &Address) {
        let followed = Followed {
            device: address.device,
            tried_ms: address.tried_ms,
            synced_ms: address.synced_ms,
            failed: address.failed.clone(),
            ..Followed::default()
        };
        lock(&self.followed).insert(address.url.clone(), followed);
    }

    /// An address is not followed any more.
    pub fn drop(&self, url: &str) {
        lock(&self.followed).remove(url);
    }

    pub(super) fn syncing(&self, url: &str) {
        self.with(url, |followed| followed.is_syncing = true);
    }

    pub(super) fn synced(&self, url: &str, outcome: &Outcome) {
        let now_ms = Some(edge::now_ms());
        self.with(url, |followed| {
            *followed = Followed {
                device: Some(outcome.device),
                tried_ms: now_ms,
                synced_ms: now_ms,
                failed: None,
                is_syncing: false,
                tries: followed.tries + 1,
                moved: Some((outcome.tally.taken, outcome.tally.sent)),
                held: Some(outcome.held.clone()),
            };
        });
    }

    pub(super) fn failed(&self, url: &str, why: &str) {
        self.with(url, |followed| {
            followed.tried_ms = Some(edge::now_ms());
            followed.failed = Some(why.to_owned());
            followed.is_syncing = false;
            followed.tries += 1;
        });
    }

    fn with(&self, url: &str, set: impl FnOnce(&mut Followed)) {
        if let Some(followed) = lock(&self.followed).get_mut(url) {
            set(followed);
        }
    }
}
