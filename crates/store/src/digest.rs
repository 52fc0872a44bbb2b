//! Two short sums that tell whether two copies are equal: one over the log, one over the tables.

use rusqlite::types::ValueRef;
use storypole_notebook::kinds::KINDS;

use crate::{Reader, StoreError, schema};

/// The digest of a copy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Digest {
    /// Changes held.
    pub changes: u64,
    /// BLAKE3 over the sorted hashes of all changes held.
    pub log: String,
    /// Version of the projection.
    pub projection: String,
    /// BLAKE3 over every projected row in the order of kind and id.
    pub tables: String,
}

impl Reader {
    /// Computes the digest. Two copies that hold the same changes, at the same version, print the same.
    ///
    /// # Errors
    /// Fails when SQLite does.
    pub fn digest(&self) -> Result<Digest, StoreError> {
        let _one_state = self.one_state()?;
        Ok(Digest {
            changes: self.change_count()?,
            log: self.log_digest()?,
            projection: schema::projection_version(),
            tables: tables_digest(self.connection())?,
        })
    }

    /// The log's part of the digest, which can be had of tables of any version.
    ///
    /// # Errors
    /// Fails when SQLite does.
    pub fn log_digest(&self) -> Result<String, StoreError> {
        let mut log = blake3::Hasher::new();
        let mut statement = self.connection().prepare("SELECT hash FROM changes ORDER BY hash")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            log.update(row.get_ref(0)?.as_blob().unwrap_or_default());
        }
        Ok(log.finalize().to_hex().to_string())
    }
}

/// BLAKE3 over every projected row.
pub(crate) fn tables_digest(connection: &rusqlite::Connection) -> Result<String, StoreError> {
    let mut hasher = blake3::Hasher::new();
    for kind in KINDS {
        hasher.update(kind.name.as_bytes()).update(b"\n");
        let names: Vec<String> =
            schema::column_names(kind).iter().map(|name| format!("\"{name}\"")).collect();
        let sql = format!("SELECT {} FROM \"{}\" ORDER BY record", names.join(", "), kind.name);
        let mut statement = connection.prepare(&sql)?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            for index in 0..names.len() {
                feed(&mut hasher, row.get_ref(index)?);
            }
        }
    }
    hasher.update(b"other\n");
    let mut statement = connection.prepare("SELECT record, kind, heads FROM other ORDER BY record, kind")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        for index in 0..3 {
            feed(&mut hasher, row.get_ref(index)?);
        }
    }
    Ok(hasher.finalize().to_hex().to_string())
}

/// Feeds one value with its type and length, so that no two rows feed the same bytes.
fn feed(hasher: &mut blake3::Hasher, value: ValueRef<'_>) {
    match value {
        ValueRef::Null => hasher.update(b"n"),
        ValueRef::Integer(number) => hasher.update(b"i").update(&number.to_le_bytes()),
        ValueRef::Real(number) => hasher.update(b"r").update(&number.to_bits().to_le_bytes()),
        ValueRef::Text(text) => hasher.update(b"t").update(&(text.len() as u64).to_le_bytes()).update(text),
        ValueRef::Blob(bytes) => {
            hasher.update(b"b").update(&(bytes.len() as u64).to_le_bytes()).update(bytes)
        }
    };
}
