//! One change of another device: new, held before, of another branch, or of this very device.

use rusqlite::{Connection, OptionalExtension, Transaction, params};
use storypole_journal::{Change, ChangeHash, DeviceId, NotebookId, SeriesError, SeriesHead, Stamp};

use crate::StoreError;
use crate::error::ReceiveError;
use crate::store::{State, from_sql, holds_membership, insert_change, open_series, to_sql};

/// What a change of another device turned out to be.
pub(crate) enum Arrival {
    New { holds_membership: bool },
    Repeated,
    Forked,
    OfThisDevice,
}

/// Takes one change in; of which device, it says too.
pub(crate) fn receive_one(
    transaction: &Transaction<'_>,
    state: &mut State,
    notebook: NotebookId,
    own: DeviceId,
    bytes: &[u8],
) -> Result<Result<(DeviceId, Arrival), ReceiveError>, StoreError> {
    let Ok(change) = Change::decode(bytes) else { return Ok(Err(ReceiveError::Undecodable)) };
    let hash = ChangeHash::of(bytes);
    let device = change.device;
    let (no, head) = match state.series.get(&device) {
        Some(no) => match state.heads.get(no) {
            Some(head) => (*no, *head),
            None => (*no, read_head(transaction, *no)?),
        },
        None => {
            let empty = SeriesHead::empty(notebook, device);
            let no = open_series(transaction, &empty, device)?;
            state.series.insert(device, no);
            (no, empty)
        }
    };
    if change.seq < head.count && hash_at(transaction, no, change.seq)? == Some(hash) {
        return Ok(Ok((device, Arrival::Repeated)));
    }
    if device == own {
        // Only this device writes its series, so another folder with its key went on: this one is a copy of it.
        keep_fork(transaction, &change, &hash, bytes)?;
        return Ok(Ok((device, Arrival::OfThisDevice)));
    }
    match head.extend(&change, hash) {
        Ok(next) => {
            insert_change(transaction, None, no, &change, &hash, bytes)?;
            state.heads.insert(no, next);
            forget_fork(transaction, device, change.seq, &hash)?;
            let holds_membership = holds_membership(&change.draft);
            Ok(Ok((device, Arrival::New { holds_membership })))
        }
        // Another branch of the series, or what follows one kept aside: it must not hold up what comes behind it.
        Err(source) => {
            let is_branch = matches!(source, SeriesError::AlreadyHeld { .. } | SeriesError::WrongPrev { .. });
            if is_branch || is_fork_continuation(transaction, &change)? {
                keep_fork(transaction, &change, &hash, bytes)?;
                return Ok(Ok((device, Arrival::Forked)));
            }
            Ok(Err(ReceiveError::Series { device, source }))
        }
    }
}

/// The hash of the change `seq` of a series, if it is held.
pub(crate) fn hash_at(connection: &Connection, no: i64, seq: u64) -> Result<Option<ChangeHash>, StoreError> {
    Ok(connection
        .prepare_cached("SELECT hash FROM changes WHERE series = ?1 AND seq = ?2")?
        .query_row(params![no, to_sql(seq)], |row| row.get(0))
        .optional()?
        .map(ChangeHash))
}

/// A change that follows one already kept aside belongs to the same fork.
fn is_fork_continuation(connection: &Connection, change: &Change) -> Result<bool, StoreError> {
    let Some(before) = change.seq.checked_sub(1) else { return Ok(false) };
    is_kept_aside(connection, change.device, before, &change.prev)
}

/// Whether a change is kept aside as one of another branch.
pub(crate) fn is_kept_aside(
    connection: &Connection,
    device: DeviceId,
    seq: u64,
    hash: &ChangeHash,
) -> Result<bool, StoreError> {
    Ok(connection
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM forked_changes WHERE device = ?1 AND seq = ?2 AND hash = ?3)",
        )?
        .query_row(params![device.as_bytes(), to_sql(seq), hash.0], |row| row.get(0))?)
}

/// Drops a change from those kept aside, because it stands in the series now.
pub(crate) fn forget_fork(
    connection: &Connection,
    device: DeviceId,
    seq: u64,
    hash: &ChangeHash,
) -> Result<(), StoreError> {
    connection
        .prepare_cached("DELETE FROM forked_changes WHERE device = ?1 AND seq = ?2 AND hash = ?3")?
        .execute(params![device.as_bytes(), to_sql(seq), hash.0])?;
    Ok(())
}

fn keep_fork(
    connection: &Connection,
    change: &Change,
    hash: &ChangeHash,
    bytes: &[u8],
) -> Result<(), StoreError> {
    connection
        .prepare_cached(
            "INSERT OR IGNORE INTO forked_changes (device, seq, hash, body) VALUES (?1, ?2, ?3, ?4)",
        )?
        .execute(params![change.device.as_bytes(), to_sql(change.seq), hash.0, bytes])?;
    Ok(())
}

pub(crate) fn read_head(connection: &Connection, no: i64) -> Result<SeriesHead, StoreError> {
    Ok(connection.prepare_cached("SELECT count, hash, stamp FROM series WHERE no = ?1")?.query_row(
        [no],
        |row| {
            Ok(SeriesHead {
                count: from_sql(row.get(0)?),
                hash: ChangeHash(row.get(1)?),
                stamp: Stamp(from_sql(row.get(2)?)),
            })
        },
    )?)
}
