//! Whose changes count: membership judged, signatures verified, and the tables brought to what they allow.
//!
//! Of each series a prefix is projected: what a verified signature covers and membership allows. When either
//! moves, the changes between are set aside or projected here.

use std::collections::HashMap;

use rusqlite::{Connection, OptionalExtension, params};
use storypole_journal::membership::{self, Limit, MembershipWrite, Standing};
use storypole_journal::{
    Change, ChangeHash, DeviceId, DraftId, NotebookId, Place, PublicKey, SeriesSignature, WriteId,
};

use crate::StoreError;
use crate::batch::Batch;
use crate::project::{Touched, carrier, records_of, refold_all};
use crate::store::{decode, to_sql};

/// Every membership write that a verified signature covers.
fn membership_writes(connection: &Connection) -> Result<Vec<MembershipWrite>, StoreError> {
    let mut statement = connection.prepare_cached(
        "SELECT c.body FROM membership_changes m JOIN changes c ON c.no = m.no JOIN series d ON d.no = c.series
         WHERE c.seq < d.covered",
    )?;
    let mut writes = Vec::new();
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let change = decode(row.get_ref(0)?.as_blob().unwrap_or_default())?;
        let (at, draft) = ((change.device, change.seq), change.draft.id);
        let place = Place { stamp: change.stamp, device: change.device };
        for (index, write) in (0_u32..).zip(change.draft.writes) {
            if write.kind.as_str() == membership::KIND {
                writes.push(MembershipWrite { at, place, write_id: WriteId { draft, index }, write });
            }
        }
    }
    Ok(writes)
}

/// Who may write what, as judged from the membership held here.
pub(crate) fn standing(connection: &Connection, notebook: NotebookId) -> Result<Standing, StoreError> {
    Ok(membership::judge(notebook, &membership_writes(connection)?))
}

fn allowed(standing: &Standing, device: DeviceId) -> i64 {
    match standing.limit(device) {
        Limit::NotMember | Limit::Viewer => 0,
        Limit::Upto(count, _) => to_sql(count),
        Limit::Whole => i64::MAX,
    }
}

/// Judges membership anew and brings the tables to what it allows.
///
/// `last_before` is the number of the last change that followers of the log may know: when an older one begins
/// to count, or one ceases to, they are told by the generation.
pub(crate) fn settle_standing(
    connection: &Connection,
    notebook: NotebookId,
    series: &HashMap<DeviceId, i64>,
    last_before: i64,
) -> Result<Standing, StoreError> {
    let standing = standing(connection, notebook)?;
    let mut to_add: Vec<(i64, i64, i64)> = Vec::new();
    let mut removed = Removed::default();
    for (device, no) in series {
        let allowed = allowed(&standing, *device);
        let (covered, projected): (i64, i64) = connection
            .prepare_cached(
                "SELECT d.covered, s.projected FROM series d JOIN standing s ON s.series = d.no WHERE d.no = ?1",
            )?
            .query_row([no], |row| Ok((row.get(0)?, row.get(1)?)))?;
        let target = covered.min(allowed);
        if target < projected {
            set_aside(connection, *no, target, projected, &mut removed)?;
        } else if target > projected {
            to_add.push((*no, projected, target));
        }
        connection
            .prepare_cached(
                "UPDATE standing SET allowed = ?2, projected = min(projected, ?3) WHERE series = ?1",
            )?
            .execute(params![no, allowed, target])?;
    }
    let ceased = !removed.drafts.is_empty();
    // A draft set aside here may be carried by another series too, even with other content: that counts now.
    for draft in &removed.drafts {
        if let Some(twin) = carrier(connection, *draft)? {
            for (record, kinds) in records_of(&twin) {
                removed.records.entry(record).or_default().extend(kinds);
            }
        }
    }
    refold_all(connection, removed.records, &removed.drafts)?;
    let older = add_in_order(connection, &to_add, last_before)?;
    if ceased || older {
        connection.execute("UPDATE projection SET generation = generation + 1", [])?;
    }
    Ok(standing)
}

/// What changes set aside had touched.
#[derive(Default)]
struct Removed {
    records: Touched,
    drafts: Vec<DraftId>,
}

fn set_aside(
    connection: &Connection,
    series: i64,
    from: i64,
    to: i64,
    removed: &mut Removed,
) -> Result<(), StoreError> {
    let mut statement =
        connection.prepare_cached("SELECT body FROM changes WHERE series = ?1 AND seq >= ?2 AND seq < ?3")?;
    let mut rows = statement.query([series, from, to])?;
    while let Some(row) = rows.next()? {
        let change = decode(row.get_ref(0)?.as_blob().unwrap_or_default())?;
        removed.drafts.push(change.draft.id);
        for (record, kinds) in records_of(&change) {
            removed.records.entry(record).or_default().extend(kinds);
        }
    }
    Ok(())
}

/// Projects the spans `(series, from, to)`, merged by stamp; true when one of them is not after `last_before`.
fn add_in_order(
    connection: &Connection,
    spans: &[(i64, i64, i64)],
    last_before: i64,
) -> Result<bool, StoreError> {
    // All of them are carriers from now on.
    for (series, _, to) in spans {
        connection
            .prepare_cached("UPDATE standing SET projected = ?2 WHERE series = ?1")?
            .execute([series, to])?;
    }
    let mut pending: Vec<(i64, i64, bool)> = Vec::new();
    for (series, from, to) in spans {
        let sql = format!(
            "SELECT stamp, no, {HAS_TWIN} FROM changes c WHERE series = ?1 AND seq >= ?2 AND seq < ?3"
        );
        let mut statement = connection.prepare_cached(&sql)?;
        let mut rows = statement.query([series, from, to])?;
        while let Some(row) = rows.next()? {
            pending.push((row.get(0)?, row.get(1)?, row.get(2)?));
        }
    }
    pending.sort_unstable();
    let mut batch = Batch::new(connection)?;
    for (_, no, _) in pending.iter().filter(|(.., has_twin)| *has_twin) {
        batch.set_apart(*no, &change_of(connection, *no)?)?;
    }
    for (_, no, _) in pending.iter().filter(|(.., has_twin)| !has_twin) {
        batch.add(&change_of(connection, *no)?)?;
    }
    batch.finish()?;
    Ok(pending.iter().any(|(_, no, _)| *no <= last_before))
}

/// Whether another change that counts as projected carries the same draft as the change `c`.
const HAS_TWIN: &str = "EXISTS (SELECT 1 FROM changes o JOIN standing s ON s.series = o.series
     WHERE o.draft = c.draft AND o.no <> c.no AND o.seq < s.projected)";

fn change_of(connection: &Connection, no: i64) -> Result<Change, StoreError> {
    let mut statement = connection.prepare_cached("SELECT body FROM changes WHERE no = ?1")?;
    let mut rows = statement.query([no])?;
    let row = rows.next()?.ok_or(StoreError::Undecodable { what: "a change" })?;
    decode(row.get_ref(0)?.as_blob().unwrap_or_default())
}

/// Keeps new signatures, verifies what can be verified, projects what they cover, until nothing moves.
pub(crate) fn verify_and_settle(
    connection: &Connection,
    notebook: NotebookId,
    founder_key: PublicKey,
    series: &HashMap<DeviceId, i64>,
    own: (i64, u64),
    signatures: &[SeriesSignature],
    last_before: i64,
) -> Result<(), StoreError> {
    for signature in signatures {
        let Some(no) = series.get(&signature.device) else { continue };
        // This device signs its own series itself; one for more than it wrote would be another folder's.
        if (*no, true) == (own.0, signature.count > own.1) {
            continue;
        }
        connection
            .prepare_cached(
                "INSERT OR IGNORE INTO signatures (series, count, bytes, verified) VALUES (?1, ?2, ?3, 0)",
            )?
            .execute(params![no, to_sql(signature.count), signature.encode()])?;
    }
    loop {
        let standing = settle_standing(connection, notebook, series, last_before)?;
        let key_of = |device: DeviceId| {
            if device == notebook.founder() { Some(founder_key) } else { standing.key(device) }
        };
        if !verify_pending(connection, notebook, &key_of)? {
            break;
        }
    }
    // What still waits for a key or for changes is few: a peer could send any number.
    connection.execute(
        "DELETE FROM signatures WHERE verified = 0 AND (series, count, bytes) NOT IN (
             SELECT series, count, bytes FROM (
                 SELECT series, count, bytes, row_number() OVER (PARTITION BY series ORDER BY count, bytes) AS nth
                 FROM signatures WHERE verified = 0
             ) WHERE nth <= ?1
         )",
        [WAITING],
    )?;
    Ok(())
}

/// Unverified signatures kept per series.
const WAITING: i64 = 16;

/// Verifies the signatures that wait for a key or for changes; true when any series is covered further.
fn verify_pending(
    connection: &Connection,
    notebook: NotebookId,
    key_of: &dyn Fn(DeviceId) -> Option<PublicKey>,
) -> Result<bool, StoreError> {
    let mut moved = false;
    let waiting: Vec<(i64, i64, Vec<u8>)> = connection
        .prepare_cached("SELECT series, count, bytes FROM signatures WHERE verified = 0")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
        .collect::<Result<_, _>>()?;
    for (no, count, bytes) in waiting {
        let hash: Option<[u8; 32]> = connection
            .prepare_cached("SELECT hash FROM changes WHERE series = ?1 AND seq = ?2")?
            .query_row([no, count - 1], |row| row.get(0))
            .optional()?;
        let Some(hash) = hash else { continue };
        let Ok(signature) = SeriesSignature::decode(&bytes) else {
            forget_signature(connection, no, count, &bytes)?;
            continue;
        };
        let Some(key) = key_of(signature.device) else { continue };
        if signature.hash != ChangeHash(hash) || signature.verify(notebook, &key).is_err() {
            forget_signature(connection, no, count, &bytes)?;
            continue;
        }
        connection
            .execute("UPDATE signatures SET verified = 1 WHERE series = ?1 AND count = ?2", [no, count])?;
        moved |= connection
            .execute("UPDATE series SET covered = ?2 WHERE no = ?1 AND covered < ?2", [no, count])?
            > 0;
    }
    Ok(moved)
}

fn forget_signature(
    connection: &Connection,
    series: i64,
    count: i64,
    bytes: &[u8],
) -> Result<(), StoreError> {
    connection
        .prepare_cached("DELETE FROM signatures WHERE series = ?1 AND count = ?2 AND bytes = ?3")?
        .execute(params![series, count, bytes])?;
    Ok(())
}

/// Projects the whole log into empty tables.
pub(crate) fn rebuild(
    connection: &Connection,
    notebook: NotebookId,
    series: &HashMap<DeviceId, i64>,
    progress: &mut dyn FnMut(u64),
) -> Result<(), StoreError> {
    let standing = standing(connection, notebook)?;
    for (device, no) in series {
        connection.execute(
            "INSERT INTO standing (series, projected, allowed)
             SELECT no, min(covered, ?2), ?2 FROM series WHERE no = ?1",
            params![no, allowed(&standing, *device)],
        )?;
    }
    let counts = "EXISTS (SELECT 1 FROM standing t WHERE t.series = c.series AND c.seq < t.projected)";
    let mut batch = Batch::new(connection)?;
    let sql = format!("SELECT c.no FROM changes c WHERE {counts} AND {HAS_TWIN} ORDER BY c.no");
    let mut statement = connection.prepare(&sql)?;
    let twins: Vec<i64> = statement.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    for no in &twins {
        batch.set_apart(*no, &change_of(connection, *no)?)?;
    }
    let sql = format!("SELECT c.no, c.body, {counts} FROM changes c ORDER BY c.no");
    let mut statement = connection.prepare(&sql)?;
    let mut rows = statement.query([])?;
    let mut done = 0;
    while let Some(row) = rows.next()? {
        if row.get(2)? && twins.binary_search(&row.get(0)?).is_err() {
            batch.add(&decode(row.get_ref(1)?.as_blob().unwrap_or_default())?)?;
        }
        done += 1;
        if done % 1000 == 0 {
            progress(done);
        }
    }
    batch.finish()?;
    progress(done);
    Ok(())
}
