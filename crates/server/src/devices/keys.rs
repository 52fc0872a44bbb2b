//! The keys of devices that are let in, and taking them away from those that are revoked.

use std::collections::HashMap;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};

use storypole_desk::edge;
use storypole_journal::{DeviceId, RecordId, Role};
use storypole_store::SessionHash;
use tokio::sync::Semaphore;
use tokio::time::Instant;

use super::challenge::Challenges;
use super::standing::{Known, Word, in_good_standing};
use crate::access::pace::Pace;
use crate::access::{Seat, lock, secret};
use crate::{App, Limits};

/// How long a key opens the server: 12 hours (convention of this project).
const KEY_MS: u64 = 12 * 60 * 60 * 1000;

/// Keys of one device at once; a further one takes the place of the oldest.
const KEYS_OF_ONE: usize = 4;

/// Greetings and proofs a second, over all who are not let in, and at once after a rest (conventions of this
/// project). No number of wrong proofs shuts the door: a signature is not guessed, and a stranger must not be able
/// to keep the crew's devices out.
const STRANGERS: (u32, u32) = (20, 60);

/// A device that is let in.
pub struct DeviceSeat {
    /// The device.
    pub device: DeviceId,
    /// What it may do.
    pub role: Role,
    /// The word it came in on, where the log did not know it yet.
    pub word: Option<Word>,
    /// How fast it asks, its event streams, and when its key ends.
    pub seat: Arc<Seat>,
}

/// Devices that are let in, and the way in.
pub struct Devices {
    pub(super) limits: Limits,
    pub(super) challenges: Challenges,
    pub(super) strangers: Mutex<Pace>,
    /// Bodies of strangers that may be read at once.
    pub(super) bodies: Semaphore,
    pub(super) known: Known,
    seats: Mutex<HashMap<SessionHash, Arc<DeviceSeat>>>,
    is_watched: AtomicBool,
}

impl Devices {
    /// Nobody is let in yet.
    pub fn new(limits: Limits) -> Self {
        Self {
            limits,
            challenges: Challenges::new(Instant::now()),
            strangers: Mutex::new(Pace::new(STRANGERS.0, STRANGERS.1)),
            bodies: Semaphore::new(limits.keys_at_once),
            known: Known::default(),
            seats: Mutex::default(),
            is_watched: AtomicBool::new(false),
        }
    }

    /// Makes a key for a device that has proven itself; and when it ends, ms since 1970.
    pub(super) fn give_key(
        &self,
        device: DeviceId,
        role: Role,
        word: Option<Word>,
        person: RecordId,
    ) -> (String, u64) {
        let key = secret::new();
        let (hash, now_ms) = (secret::hash(&key), edge::now_ms());
        let ends_ms = now_ms.saturating_add(KEY_MS);
        let seat = Arc::new(Seat::new(hash, person, role, now_ms, ends_ms, &self.limits));
        let mut seats = lock(&self.seats);
        end_all(&mut seats, |held| held.seat.is_over(now_ms));
        while seats.values().filter(|held| held.device == device).count() >= KEYS_OF_ONE {
            let of_device = seats.iter().filter(|(_, held)| held.device == device);
            let Some(oldest) = of_device.min_by_key(|(_, held)| held.seat.ends_ms()).map(|(hash, _)| *hash)
            else {
                break;
            };
            if let Some(held) = seats.remove(&oldest) {
                held.seat.end();
            }
        }
        seats.insert(hash, Arc::new(DeviceSeat { device, role, word, seat }));
        (key, ends_ms)
    }

    /// The device whose key has this hash.
    pub(super) fn seat(&self, hash: &SessionHash, now_ms: u64) -> Option<Arc<DeviceSeat>> {
        let mut seats = lock(&self.seats);
        let held = seats.get(hash)?;
        if !held.seat.is_over(now_ms) {
            return Some(Arc::clone(held));
        }
        held.seat.end();
        seats.remove(hash);
        None
    }

    /// Takes away every key of a device, and ends what runs with them.
    pub(crate) fn void(&self, device: DeviceId) {
        end_all(&mut lock(&self.seats), |held| held.device == device);
    }

    fn all(&self) -> Vec<Arc<DeviceSeat>> {
        lock(&self.seats).values().map(Arc::clone).collect()
    }
}

/// Takes away those keys, and ends what runs with them.
fn end_all(seats: &mut HashMap<SessionHash, Arc<DeviceSeat>>, which: impl Fn(&DeviceSeat) -> bool) {
    seats.retain(|_, held| {
        let is_over = which(held);
        if is_over {
            held.seat.end();
        }
        !is_over
    });
}

/// Looks after the keys that are out whenever the log moves, so that a device that is revoked is out at once, with its
/// event streams and conversations. One watch is enough, and it keeps nothing alive.
pub(super) fn watch(app: &App) {
    if app.devices().is_watched.swap(true, Ordering::Relaxed) {
        return;
    }
    let (weak, mut moved) = (app.left(), app.hub().moved());
    tokio::spawn(async move {
        while moved.changed().await.is_ok() {
            let Some(app) = weak.app() else { return };
            for seat in app.devices().all() {
                if let Err(refused) = in_good_standing(&app, seat.device, seat.word).await {
                    tracing::info!(device = %seat.device, why = refused.logged(), "the keys of a device are void");
                }
            }
        }
    });
}
