//! Browsers that were let in to this desk. Leaves out what they hold and how long a session may last.

use storypole_journal::{RecordId, Role};
use storypole_store::{Reader, Session, SessionHash};

use crate::{Desk, DeskError};

impl Desk {
    /// Lets a browser in for a person, to do at most what the role may.
    ///
    /// # Errors
    /// This desk only reads, or the database failed; the same holds for every method here that writes.
    pub fn session_add(
        &self,
        hash: SessionHash,
        person: RecordId,
        role: Role,
        label: Option<String>,
        now_ms: u64,
    ) -> Result<(), DeskError> {
        Ok(self
            .writer()?
            .aside(move |store| store.session_add(hash, person, role, label.as_deref(), now_ms))?)
    }

    /// The session of a hash; `None` when it is unknown or was ended.
    pub fn session_find(&self, hash: SessionHash) -> Result<Option<Session>, DeskError> {
        self.read(|reader| reader.session_find(hash))
    }

    /// Notes that a browser was seen. Each call is a commit: an hour apart is often enough.
    pub fn session_seen(&self, hash: SessionHash, now_ms: u64) -> Result<(), DeskError> {
        Ok(self.writer()?.aside(move |store| store.session_seen(hash, now_ms))?)
    }

    /// Shuts a browser out; false when it was not let in.
    pub fn session_end(&self, hash: SessionHash, now_ms: u64) -> Result<bool, DeskError> {
        Ok(self.writer()?.aside(move |store| store.session_end(hash, now_ms))?)
    }

    /// Shuts every browser out; how many there were.
    pub fn sessions_end_all(&self, now_ms: u64) -> Result<usize, DeskError> {
        Ok(self.writer()?.aside(move |store| store.sessions_end_all(now_ms))?)
    }

    /// Shuts every browser out but one; how many there were.
    pub fn sessions_end_others(&self, but: SessionHash, now_ms: u64) -> Result<usize, DeskError> {
        Ok(self.writer()?.aside(move |store| store.sessions_end_others(but, now_ms))?)
    }

    /// Every session, ended ones too, oldest first.
    pub fn sessions_list(&self) -> Result<Vec<Session>, DeskError> {
        self.read(Reader::sessions)
    }
}
