//! What another device lacks of what is held here.

use std::collections::BTreeMap;

use rusqlite::{Connection, OptionalExtension};
use storypole_journal::{DeviceId, Entry, SeriesSignature, Vector};

use crate::store::{Parcel, to_sql};
use crate::{Reader, StoreError, arrive};

impl Reader {
    /// What another device lacks, in stamp order, at most about `max_bytes` of it, with the signatures that cover it.
    ///
    /// Only what a signature covers here is passed on. A series of which the other one holds another branch comes
    /// from its beginning.
    pub fn since(&self, theirs: &Vector, max_bytes: usize) -> Result<Parcel, StoreError> {
        let _one_state = self.one_state()?;
        let snapshot = self.connection();
        let mut waiting: BTreeMap<(i64, [u8; 16]), (i64, i64, i64)> = BTreeMap::new();
        let series: Vec<(i64, [u8; 16], i64)> = snapshot
            .prepare_cached("SELECT no, device, covered FROM series")?
            .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?
            .collect::<Result<_, _>>()?;
        let mut held = Vec::with_capacity(series.len());
        for (no, device, covered) in series {
            let from = to_sql(start_of(snapshot, no, DeviceId::from_bytes(device), theirs)?);
            held.push((no, from, covered));
            if let Some(stamp) = stamp_at(snapshot, no, from, covered)? {
                waiting.insert((stamp, device), (no, from, covered));
            }
        }
        let mut parcel = Parcel::default();
        let mut sent: BTreeMap<i64, i64> = BTreeMap::new();
        let mut bytes = 0;
        while let Some(((_, device), (no, seq, covered))) = waiting.pop_first() {
            if bytes >= max_bytes {
                break;
            }
            let body: Vec<u8> = snapshot
                .prepare_cached("SELECT body FROM changes WHERE series = ?1 AND seq = ?2")?
                .query_row([no, seq], |row| row.get(0))?;
            bytes += body.len();
            parcel.changes.push(body);
            sent.insert(no, seq + 1);
            if let Some(stamp) = stamp_at(snapshot, no, seq + 1, covered)? {
                waiting.insert((stamp, device), (no, seq + 1, covered));
            }
        }
        // The last signature of every series goes along, since one may have been lost on the way before.
        for (no, theirs, covered) in held {
            let count = sent.get(&no).copied().unwrap_or(theirs.min(covered));
            parcel.signatures.extend(signature_for(snapshot, no, count)?);
        }
        Ok(parcel)
    }
}

/// From where on a series is new to one who holds `theirs`: all of it, where that is another branch.
fn start_of(connection: &Connection, no: i64, device: DeviceId, theirs: &Vector) -> Result<u64, StoreError> {
    let Some(Entry { count, hash }) = theirs.get(device) else { return Ok(0) };
    let seq = count.saturating_sub(1);
    let is_other = match arrive::hash_at(connection, no, seq)? {
        Some(held) => held != hash,
        None => arrive::is_kept_aside(connection, device, seq, &hash)?,
    };
    Ok(if is_other { 0 } else { count })
}

fn stamp_at(connection: &Connection, series: i64, seq: i64, covered: i64) -> Result<Option<i64>, StoreError> {
    if seq >= covered {
        return Ok(None);
    }
    Ok(connection
        .prepare_cached("SELECT stamp FROM changes WHERE series = ?1 AND seq = ?2")?
        .query_row([series, seq], |row| row.get(0))
        .optional()?)
}

/// The least signature that covers `count` changes of a series: its hash may lie beyond what was sent, and is
/// then verified once the rest has come.
fn signature_for(
    connection: &Connection,
    series: i64,
    count: i64,
) -> Result<Option<SeriesSignature>, StoreError> {
    let within: Option<Vec<u8>> = connection
        .prepare_cached(
            "SELECT bytes FROM signatures WHERE series = ?1 AND count <= ?2 AND verified = 1 ORDER BY count DESC LIMIT 1",
        )?
        .query_row([series, count], |row| row.get(0))
        .optional()?;
    within
        .map(|bytes| {
            SeriesSignature::decode(&bytes).map_err(|_| StoreError::Undecodable { what: "a signature" })
        })
        .transpose()
}
