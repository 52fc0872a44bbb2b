//! Checks that nothing stored has changed by itself: chain, signatures, tables against the log.

use std::collections::HashMap;

use rusqlite::Connection;
use storypole_journal::{ChangeHash, DeviceId, NotebookId, PublicKey, SeriesHead, SeriesSignature};

use crate::store::{decode, from_sql};
use crate::{Reader, Store, StoreError, digest, schema, standing};

/// One thing that is not as it should be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// SQLite's own check found this.
    Database(String),
    /// A change does not hash to what is stored, or does not continue its series.
    Chain { device: DeviceId, seq: u64 },
    /// The series has another length or last hash than stored.
    SeriesHead { device: DeviceId },
    /// A signature that was verified does not hold any more.
    Signature { device: DeviceId, count: u64 },
    /// A change kept aside for a fork is not what was received.
    Aside { device: DeviceId, seq: u64 },
    /// The tables are not what the log gives.
    Tables,
}

/// What was checked.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Verification {
    /// Changes whose hash and chain were checked.
    pub changes: u64,
    /// Signatures checked.
    pub signatures: u64,
    /// What is wrong, if anything.
    pub faults: Vec<Fault>,
}

impl Store {
    /// Checks the whole database. The tables are rebuilt in a transaction that is undone.
    ///
    /// # Errors
    /// Fails when SQLite does; what is wrong with the content is a [`Fault`].
    pub fn verify(&mut self) -> Result<Verification, StoreError> {
        verify_all(self.connection(), Some((self.device(), self.key.public())))
    }
}

impl Reader {
    /// Checks the whole database on a copy of its own, so that another process may go on writing, or nothing can
    /// be written at all.
    ///
    /// # Errors
    /// As [`Store::verify`].
    pub fn verify(&self) -> Result<Verification, StoreError> {
        verify_all(&self.private_copy()?, None)
    }
}

/// `own`: the key of this device, which a writer knows, member or not.
fn verify_all(
    connection: &Connection,
    own: Option<(DeviceId, PublicKey)>,
) -> Result<Verification, StoreError> {
    let mut found = Verification::default();
    let notebook: [u8; 16] = connection.query_row("SELECT notebook FROM copy", [], |row| row.get(0))?;
    let notebook = NotebookId::from_bytes(notebook);
    let check: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
    if check != "ok" {
        found.faults.push(Fault::Database(check));
    }
    check_chains(connection, notebook, &mut found)?;
    check_forked(connection, &mut found)?;
    // What rests on changes that cannot be read would only fail for the same reason.
    if !found.faults.iter().any(|fault| matches!(fault, Fault::Chain { .. })) {
        check_signatures(connection, notebook, own, &mut found)?;
        // Tables of another version are made anew before anyone reads them.
        if schema::projection_is_current(connection)? {
            check_tables(connection, notebook, &mut found)?;
        }
    }
    Ok(found)
}

fn check_signatures(
    connection: &Connection,
    notebook: NotebookId,
    own: Option<(DeviceId, PublicKey)>,
    found: &mut Verification,
) -> Result<(), StoreError> {
    let standing = standing::standing(connection, notebook)?;
    let founder_key = crate::store::founder_key(connection)?;
    let mut statement = connection.prepare(
        "SELECT g.bytes, c.hash FROM signatures g JOIN changes c ON c.series = g.series AND c.seq = g.count - 1
         WHERE g.verified = 1",
    )?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let bytes = row.get_ref(0)?.as_blob().unwrap_or_default();
        let signature =
            SeriesSignature::decode(bytes).map_err(|_| StoreError::Undecodable { what: "a signature" })?;
        let is_founder = signature.device == notebook.founder();
        let known = if is_founder { Some(founder_key) } else { standing.key(signature.device) };
        let own = own.filter(|(device, _)| *device == signature.device).map(|(_, key)| key);
        let key = known.or(own);
        // A key that was only known through a branch that no longer counts says nothing now.
        let holds = signature.hash == ChangeHash(row.get(1)?)
            && key.is_none_or(|key| signature.verify(notebook, &key).is_ok());
        found.signatures += 1;
        if !holds {
            found.faults.push(Fault::Signature { device: signature.device, count: signature.count });
        }
    }
    Ok(())
}

fn check_tables(
    connection: &Connection,
    notebook: NotebookId,
    found: &mut Verification,
) -> Result<(), StoreError> {
    let as_stored = digest::tables_digest(connection)?;
    let series: HashMap<DeviceId, i64> = connection
        .prepare("SELECT device, no FROM series")?
        .query_map([], |row| Ok((DeviceId::from_bytes(row.get(0)?), row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let transaction = connection.unchecked_transaction()?;
    schema::recreate_projection(&transaction)?;
    standing::rebuild(&transaction, notebook, &series, &mut |_| ())?;
    let as_rebuilt = digest::tables_digest(&transaction)?;
    transaction.rollback()?;
    if as_stored != as_rebuilt {
        found.faults.push(Fault::Tables);
    }
    Ok(())
}

/// Branches that do not count are kept by their hash, so each must be what it was.
fn check_forked(connection: &Connection, found: &mut Verification) -> Result<(), StoreError> {
    let mut statement = connection.prepare("SELECT device, seq, hash, body FROM forked_changes")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let body = row.get_ref(3)?.as_blob().unwrap_or_default();
        if ChangeHash::of(body) != ChangeHash(row.get(2)?) {
            let (device, seq) = (DeviceId::from_bytes(row.get(0)?), from_sql(row.get(1)?));
            found.faults.push(Fault::Aside { device, seq });
        }
    }
    Ok(())
}

fn check_chains(
    connection: &Connection,
    notebook: NotebookId,
    found: &mut Verification,
) -> Result<(), StoreError> {
    let series: Vec<(i64, [u8; 16], i64, [u8; 32])> = connection
        .prepare("SELECT no, device, count, hash FROM series")?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?
        .collect::<Result<_, _>>()?;
    for (no, device, count, hash) in series {
        let device = DeviceId::from_bytes(device);
        let mut head = SeriesHead::empty(notebook, device);
        let mut statement = connection.prepare_cached(
            "SELECT body, hash, seq, stamp, draft FROM changes WHERE series = ?1 ORDER BY seq",
        )?;
        let mut rows = statement.query([no])?;
        while let Some(row) = rows.next()? {
            let body = row.get_ref(0)?.as_blob().unwrap_or_default();
            let actual = ChangeHash::of(body);
            let (seq, stamp): (i64, i64) = (row.get(2)?, row.get(3)?);
            let draft: [u8; 16] = row.get(4)?;
            let next = decode(body).ok().filter(|change| {
                let columns = (from_sql(seq), from_sql(stamp), draft);
                change.device == device
                    && (change.seq, change.stamp.0, *change.draft.id.as_bytes()) == columns
            });
            let next = next.and_then(|change| head.extend(&change, actual).ok());
            found.changes += 1;
            match next {
                Some(next) if actual.0 == row.get::<_, [u8; 32]>(1)? => head = next,
                _ => {
                    found.faults.push(Fault::Chain { device, seq: head.count });
                    break;
                }
            }
        }
        if head.count != from_sql(count) || (count > 0 && head.hash.0 != hash) {
            found.faults.push(Fault::SeriesHead { device });
        }
    }
    Ok(())
}
