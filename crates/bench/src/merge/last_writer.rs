//! The peer of `merge`: one table in SQLite, the last writer of a field wins.

use std::path::Path;

use rusqlite::{Connection, params};
use storypole_journal::{Change, RecordId};
use storypole_notebook::Value;
use storypole_store::Parcel;

use super::mixes::KIND;

/// One write, ready made.
pub struct Row {
    record: RecordId,
    field: String,
    value: Option<String>,
    stamp: i64,
    device: [u8; 16],
}

/// The writes of a parcel.
pub fn rows(parcel: &Parcel) -> Vec<Row> {
    let changes = parcel.changes.iter().map(|bytes| Change::decode(bytes).expect("a change"));
    changes.flat_map(rows_of).collect()
}

fn rows_of(change: Change) -> Vec<Row> {
    let stamp = i64::try_from(change.stamp.0).expect("a stamp of our age");
    let device = *change.device.as_bytes();
    let writes = change.draft.writes.into_iter().filter(|write| write.kind == KIND);
    writes
        .map(|write| {
            let value = Value::from_payload(&write.value).expect("a legal value");
            let value = value.map(|value| value.to_string());
            Row { record: write.record, field: write.field.as_str().to_owned(), value, stamp, device }
        })
        .collect()
}

/// The database.
pub struct Peer(Connection);

impl Peer {
    /// With what both devices started from.
    pub fn new(path: &Path, base: &[Parcel]) -> Self {
        let connection = Connection::open(path).expect("a database");
        connection
            .execute_batch(
                "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA wal_autocheckpoint = 4000;
                 PRAGMA cache_size = -16384;
                 CREATE TABLE register (
                     record BLOB, field TEXT, value TEXT, stamp INTEGER, device BLOB, PRIMARY KEY (record, field)
                 ) WITHOUT ROWID;",
            )
            .expect("a table");
        let peer = Self(connection);
        base.iter().for_each(|parcel| peer.merge(&rows(parcel)));
        peer
    }

    /// Merges these writes in one transaction.
    pub fn merge(&self, rows: &[Row]) {
        let transaction = self.0.unchecked_transaction().expect("a transaction");
        {
            let mut statement = transaction
                .prepare_cached(
                    "INSERT INTO register VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT DO UPDATE
                     SET value = excluded.value, stamp = excluded.stamp, device = excluded.device
                     WHERE (excluded.stamp, excluded.device) > (stamp, device)",
                )
                .expect("a statement");
            for row in rows {
                let columns = params![row.record.as_bytes(), row.field, row.value, row.stamp, row.device];
                statement.execute(columns).expect("an upsert");
            }
        }
        transaction.commit().expect("a commit");
    }

    /// Every register: record, field, value.
    pub fn values(&self) -> Vec<(RecordId, String, String)> {
        let mut statement = self.0.prepare("SELECT record, field, value FROM register").expect("a statement");
        let rows = statement.query_map([], |row| {
            let record: [u8; 16] = row.get(0)?;
            Ok((RecordId::from_bytes(record), row.get::<_, String>(1)?, row.get::<_, String>(2)?))
        });
        rows.expect("rows").collect::<Result<_, _>>().expect("columns of these types")
    }
}
