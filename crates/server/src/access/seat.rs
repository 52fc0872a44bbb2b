//! A session as this process knows it: how fast it asks, how many event streams it has, when it ends.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use storypole_journal::{RecordId, Role};
use storypole_store::SessionHash;
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};
use tokio::time::Instant;

use super::lock;
use super::pace::Pace;
use crate::Limits;

/// One browser that is let in.
pub struct Seat {
    /// Hash of what it holds.
    pub hash: SessionHash,
    /// The person who works there.
    pub person: RecordId,
    /// The most it may do.
    pub role: Role,
    /// When it has lasted as long as a session may, ms since 1970.
    ends_ms: u64,
    pace: Mutex<Pace>,
    streams: Arc<Semaphore>,
    ended: watch::Sender<bool>,
    seen_ms: AtomicU64,
}

/// The right to one event stream, given back when dropped.
pub struct StreamSlot {
    _permit: OwnedSemaphorePermit,
    ended: watch::Receiver<bool>,
}

impl Seat {
    pub(crate) fn new(
        hash: SessionHash,
        person: RecordId,
        role: Role,
        seen_ms: u64,
        ends_ms: u64,
        limits: &Limits,
    ) -> Self {
        Self {
            hash,
            person,
            role,
            ends_ms,
            pace: Mutex::new(Pace::new(limits.requests_a_second, limits.burst)),
            streams: Arc::new(Semaphore::new(limits.streams)),
            ended: watch::Sender::new(false),
            seen_ms: AtomicU64::new(seen_ms),
        }
    }

    pub(crate) fn step(&self, now: Instant) -> Result<(), Duration> {
        lock(&self.pace).step(now)
    }

    /// When it has lasted as long as a session may, ms since 1970.
    pub(crate) fn ends_ms(&self) -> u64 {
        self.ends_ms
    }

    /// Whether it has lasted as long as a session may.
    pub(crate) fn is_over(&self, now_ms: u64) -> bool {
        now_ms >= self.ends_ms
    }

    /// Whether it is time to note that it was seen; says so once.
    pub(crate) fn is_due(&self, now_ms: u64, every_ms: u64) -> bool {
        let seen = self.seen_ms.load(Ordering::Relaxed);
        now_ms.saturating_sub(seen) >= every_ms
            && self.seen_ms.compare_exchange(seen, now_ms, Ordering::Relaxed, Ordering::Relaxed).is_ok()
    }

    /// One more event stream, unless it has as many as it may.
    pub fn stream(&self) -> Option<StreamSlot> {
        let permit = Arc::clone(&self.streams).try_acquire_owned().ok()?;
        Some(StreamSlot { _permit: permit, ended: self.ended.subscribe() })
    }

    /// Waits until the session ends.
    pub(crate) async fn ended(&self) {
        // The seat holds the sender, so there is nothing else to hear.
        let _ = self.ended.subscribe().wait_for(|ended| *ended).await;
    }

    pub(crate) fn end(&self) {
        self.ended.send_replace(true);
    }
}

impl StreamSlot {
    /// Waits until the session ends.
    pub async fn ended(&mut self) {
        if self.ended.wait_for(|ended| *ended).await.is_err() {
            // The seat is gone without having ended; then the stream is bound by nothing here.
            std::future::pending::<()>().await;
        }
    }
}
