//! This copy becomes a new device: after its folder was copied, or restored from a backup.
//!
//! A series never forks knowingly. Where this device's own series was continued elsewhere and that branch counts, or
//! where a backup was restored, the copy goes on under another id with another key. What it wrote itself and what
//! counts nowhere it writes again there, draft ids unchanged, so that all that has seen them still finds them.

use rusqlite::{Connection, TransactionBehavior, params};
use storypole_journal::{
    Change, ChangeHash, DeviceId, DeviceKey, Draft, DraftId, RecordId, Role, SeriesHead, WrittenAt,
    membership,
};

use crate::forks::{self, OwnFork};
use crate::standing::Arrived;
use crate::store::{State, decode, insert_change, last_change, open_series, save_own, settle, to_sql};
use crate::{Store, StoreError, project};

/// What the copy becomes.
#[derive(Debug, Clone)]
pub struct Anew {
    /// The new device, never used before.
    pub device: DeviceId,
    /// Its key.
    pub key: DeviceKey,
    /// Random, new for this copy.
    pub instance: [u8; 16],
    /// A member that vouches for it, its signature ([`DeviceKey::vouch`]) and the role it gives. Without one the
    /// device is no member until a keeper invites it; what it writes waits till then.
    pub voucher: Option<(DeviceId, [u8; 64], Role)>,
    /// What the new series opens with, mostly a record of kind `device`.
    pub note: Option<Draft>,
}

/// How a copy went on as a new device.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Begun {
    /// The device it was.
    pub was: DeviceId,
    /// The device it is.
    pub is: DeviceId,
    /// Drafts of its own losing branch that it wrote again.
    pub written_again: usize,
    /// Drafts of that branch that count from another series already.
    pub held_elsewhere: usize,
}

impl Store {
    /// Whether another branch of this device's own series counts.
    ///
    /// # Errors
    /// Fails when SQLite does.
    pub fn own_fork(&self) -> Result<Option<OwnFork>, StoreError> {
        forks::own_fork(&self.connection, self.notebook, self.device)
    }

    /// Goes on as a new device, in one transaction. Where the own series lost against a branch kept aside, that one
    /// takes its place, and the drafts of the own one are taken again in their order.
    ///
    /// # Errors
    /// Nothing was changed: the id was used before, the note is unfit, no later stamp is left, or SQLite failed.
    pub fn begin_anew(&mut self, anew: Anew, now_ms: u64) -> Result<Begun, StoreError> {
        let before = self.state.clone();
        let result = self.begin(&anew, now_ms);
        if result.is_ok() {
            (self.device, self.key) = (anew.device, anew.key);
        } else {
            self.state = before;
        }
        result
    }

    fn begin(&mut self, anew: &Anew, now_ms: u64) -> Result<Begun, StoreError> {
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let (notebook, was, state) = (self.notebook, self.device, &mut self.state);
        if state.series.contains_key(&anew.device) {
            return Err(StoreError::DeviceUsed { device: anew.device });
        }
        let last = last_change(&transaction)?;
        let nothing = Arrived { signatures: &[], forks_may_move: false };
        let mut lost = Vec::new();
        if let Some(branch) = forks::own_branch(&transaction, notebook, was)? {
            lost = drafts_from(&transaction, state.own_no, branch.from)?;
            state.own = forks::swap(&transaction, state.own_no, was, &branch)?;
            settle(&transaction, notebook, state, &nothing, last)?;
            state.follow(&transaction)?;
        }
        transaction.execute(
            "UPDATE copy SET device = ?1, instance = ?2",
            params![anew.device.as_bytes(), anew.instance],
        )?;
        state.own = SeriesHead::empty(notebook, anew.device);
        state.own_no = open_series(&transaction, &state.own, anew.device)?;
        state.series.insert(anew.device, state.own_no);
        let begun = write_again(&transaction, state, anew, was, lost, now_ms)?;
        if state.own.count > 0 {
            let signature = anew.key.sign(notebook, anew.device, state.own.count, state.own.hash);
            save_own(&transaction, state, &signature)?;
        }
        let arrived = Arrived { forks_may_move: true, ..nothing };
        settle(&transaction, notebook, state, &arrived, last)?;
        state.follow(&transaction)?;
        transaction.commit()?;
        Ok(begun)
    }
}

/// Opens the new series, and takes the lost drafts into it.
fn write_again(
    connection: &Connection,
    state: &mut State,
    anew: &Anew,
    was: DeviceId,
    lost: Vec<Draft>,
    now_ms: u64,
) -> Result<Begun, StoreError> {
    if let Some(opening) = opening(connection, anew, now_ms)? {
        append(connection, state, anew.device, opening, now_ms)?;
    }
    let mut begun = Begun { was, is: anew.device, written_again: 0, held_elsewhere: 0 };
    for draft in lost {
        if counts(connection, &draft)? {
            begun.held_elsewhere += 1;
        } else {
            append(connection, state, anew.device, draft, now_ms)?;
            begun.written_again += 1;
        }
    }
    Ok(begun)
}

/// The drafts of a series from one change on.
fn drafts_from(connection: &Connection, no: i64, from: u64) -> Result<Vec<Draft>, StoreError> {
    let mut statement =
        connection.prepare_cached("SELECT body FROM changes WHERE series = ?1 AND seq >= ?2 ORDER BY seq")?;
    let mut rows = statement.query(params![no, to_sql(from)])?;
    let mut drafts = Vec::new();
    while let Some(row) = rows.next()? {
        drafts.push(decode(row.get_ref(0)?.as_blob().unwrap_or_default())?.draft);
    }
    Ok(drafts)
}

/// What the new series opens with: the vouch, then the note.
fn opening(connection: &Connection, anew: &Anew, now_ms: u64) -> Result<Option<Draft>, StoreError> {
    let Some((voucher, signature, role)) = anew.voucher else { return Ok(anew.note.clone()) };
    let mut draft = match anew.note.clone() {
        Some(note) => note,
        None => bare_draft(connection, anew, now_ms)?,
    };
    let vouch = membership::vouch(anew.device, anew.key.public(), role, voucher, signature);
    draft.writes.splice(0..0, vouch);
    Ok(Some(draft))
}

/// A draft without writes by the person at this device; its id is as random as the instance.
fn bare_draft(connection: &Connection, anew: &Anew, now_ms: u64) -> Result<Draft, StoreError> {
    let author: [u8; 16] = connection.query_row("SELECT author FROM copy", [], |row| row.get(0))?;
    let random = *anew.instance.first_chunk().expect("an instance is longer");
    let unix_ms = i64::try_from(now_ms).unwrap_or(i64::MAX);
    Ok(Draft {
        id: DraftId::from_parts(now_ms, random),
        author: RecordId::from_bytes(author),
        written_at: WrittenAt { unix_ms, offset_min: 0 },
        writes: Vec::new(),
    })
}

/// Whether a draft counts from another series with the very same content.
fn counts(connection: &Connection, draft: &Draft) -> Result<bool, StoreError> {
    Ok(project::carrier(connection, draft.id)?.is_some_and(|carrier| carrier.draft == *draft))
}

/// Adds a draft to the new series; whether it counts is settled afterwards.
fn append(
    connection: &Connection,
    state: &mut State,
    device: DeviceId,
    draft: Draft,
    now_ms: u64,
) -> Result<(), StoreError> {
    draft.check()?;
    let stamp = state.clock.tick(now_ms);
    let change = Change { device, seq: state.own.count, stamp, prev: state.own.hash, draft };
    let body = change.encode();
    let hash = ChangeHash::of(&body);
    state.own = state.own.extend(&change, hash).map_err(|source| StoreError::NoLaterStamp { source })?;
    insert_change(connection, None, state.own_no, &change, &hash, &body)
}
