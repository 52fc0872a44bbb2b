//! Checks that nothing stored has changed by itself: chain, signatures, tables against the log, attachments.

use rusqlite::Connection;
use storypole_journal::{ChangeHash, DeviceId, SeriesHead, SeriesSignature};

use crate::store::{decode, from_sql};
use crate::{Store, StoreError, digest, schema, standing};

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
        let mut found = Verification::default();
        let connection = self.connection();
        let check: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
        if check != "ok" {
            found.faults.push(Fault::Database(check));
        }
        check_chains(connection, self.notebook(), &mut found)?;
        // What rests on changes that cannot be read would only fail for the same reason.
        if !found.faults.iter().any(|fault| matches!(fault, Fault::Chain { .. })) {
            self.check_signatures(&mut found)?;
            self.check_tables(&mut found)?;
        }
        Ok(found)
    }

    fn check_signatures(&self, found: &mut Verification) -> Result<(), StoreError> {
        let connection = self.connection();
        let standing = standing::standing(connection, self.notebook())?;
        let founder_key = crate::store::founder_key(connection)?;
        let mut statement = connection.prepare(
            "SELECT g.bytes, c.hash FROM signatures g JOIN changes c ON c.series = g.series AND c.seq = g.count - 1
             WHERE g.verified = 1",
        )?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let bytes = row.get_ref(0)?.as_blob().unwrap_or_default();
            let signature = SeriesSignature::decode(bytes)
                .map_err(|_| StoreError::Undecodable { what: "a signature" })?;
            let is_founder = signature.device == self.notebook().founder();
            let mut key = if is_founder { Some(founder_key) } else { standing.key(signature.device) };
            if signature.device == self.device() {
                // Its own key this copy knows, member or not.
                key = key.or(Some(self.key.public()));
            }
            // A key that was only known through a branch that no longer counts says nothing now.
            let holds = signature.hash == ChangeHash(row.get(1)?)
                && key.is_none_or(|key| signature.verify(self.notebook(), &key).is_ok());
            found.signatures += 1;
            if !holds {
                found.faults.push(Fault::Signature { device: signature.device, count: signature.count });
            }
        }
        Ok(())
    }

    fn check_tables(&mut self, found: &mut Verification) -> Result<(), StoreError> {
        let as_stored = digest::tables_digest(self.connection())?;
        let notebook = self.notebook();
        let series = self.state.series.clone();
        let transaction = self.connection().unchecked_transaction()?;
        schema::recreate_projection(&transaction)?;
        standing::rebuild(&transaction, notebook, &series, &mut |_| ())?;
        let as_rebuilt = digest::tables_digest(&transaction)?;
        transaction.rollback()?;
        if as_stored != as_rebuilt {
            found.faults.push(Fault::Tables);
        }
        Ok(())
    }
}

fn check_chains(
    connection: &Connection,
    notebook: storypole_journal::NotebookId,
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
