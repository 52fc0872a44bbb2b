//! Browsers that were let in to this copy: kept beside the log, never part of it.
//!
//! Leaves out what a browser holds (only its hash is here), cookies, and how long a session may last.

use rusqlite::{Connection, OptionalExtension, Row, params};
use storypole_journal::{RecordId, Role};

use crate::store::{from_sql, to_sql};
use crate::{Reader, Store, StoreError};

/// BLAKE3 of what a browser shows to be let in.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SessionHash(pub [u8; 32]);

/// A few digits are enough to tell sessions apart in a log.
impl std::fmt::Debug for SessionHash {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let hex = blake3::Hash::from_bytes(self.0).to_hex();
        write!(formatter, "SessionHash({}..)", &hex[..8])
    }
}

impl SessionHash {
    /// The hash of what a browser shows.
    pub fn of(secret: &[u8]) -> Self {
        Self(*blake3::hash(secret).as_bytes())
    }
}

/// A browser that was let in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// Hash of what it holds.
    pub hash: SessionHash,
    /// The person who works there.
    pub person: RecordId,
    /// The most it may do; never more than the device itself may.
    pub role: Role,
    /// What people call it.
    pub label: Option<String>,
    /// When it was let in, ms since 1970.
    pub made_ms: u64,
    /// When it was last noted as seen, ms since 1970.
    pub seen_ms: u64,
    /// When it was shut out, ms since 1970.
    pub ended_ms: Option<u64>,
}

impl Store {
    /// Lets a browser in: on disk when this returns. One that was let in before stays as it is.
    ///
    /// # Errors
    /// Fails when SQLite does, as every method here.
    pub fn session_add(
        &mut self,
        hash: SessionHash,
        person: RecordId,
        role: Role,
        label: Option<&str>,
        now_ms: u64,
    ) -> Result<(), StoreError> {
        self.connection()
            .prepare_cached(
                "INSERT INTO sessions (hash, person, label, made_ms, seen_ms, role) VALUES (?1, ?2, ?3, ?4, ?4, ?5)
                 ON CONFLICT (hash) DO NOTHING",
            )?
            .execute(params![hash.0, person.as_bytes(), label, to_sql(now_ms), role.as_str()])?;
        Ok(())
    }

    /// Notes that a browser was seen; one that was shut out stays as it is. Each call is a commit: an hour apart
    /// is often enough.
    pub fn session_seen(&mut self, hash: SessionHash, now_ms: u64) -> Result<(), StoreError> {
        self.connection()
            .prepare_cached("UPDATE sessions SET seen_ms = ?2 WHERE hash = ?1 AND ended_ms IS NULL")?
            .execute(params![hash.0, to_sql(now_ms)])?;
        Ok(())
    }

    /// Shuts a browser out; false when it was not let in.
    pub fn session_end(&mut self, hash: SessionHash, now_ms: u64) -> Result<bool, StoreError> {
        let ended = self
            .connection()
            .prepare_cached("UPDATE sessions SET ended_ms = ?2 WHERE hash = ?1 AND ended_ms IS NULL")?
            .execute(params![hash.0, to_sql(now_ms)])?;
        Ok(ended > 0)
    }

    /// Shuts every browser out; how many there were.
    pub fn sessions_end_all(&mut self, now_ms: u64) -> Result<usize, StoreError> {
        let sql = "UPDATE sessions SET ended_ms = ?1 WHERE ended_ms IS NULL";
        Ok(self.connection().prepare_cached(sql)?.execute([to_sql(now_ms)])?)
    }

    /// Shuts every browser out but one; how many there were.
    pub fn sessions_end_others(&mut self, but: SessionHash, now_ms: u64) -> Result<usize, StoreError> {
        let sql = "UPDATE sessions SET ended_ms = ?1 WHERE ended_ms IS NULL AND hash <> ?2";
        Ok(self.connection().prepare_cached(sql)?.execute(params![to_sql(now_ms), but.0])?)
    }
}

impl Reader {
    /// The session of a hash; `None` when it is unknown or was ended.
    pub fn session_find(&self, hash: SessionHash) -> Result<Option<Session>, StoreError> {
        let Some(role) = role_column(self.connection())? else { return Ok(None) };
        let sql = format!(
            "SELECT hash, person, label, made_ms, seen_ms, ended_ms, {role} FROM sessions
             WHERE hash = ?1 AND ended_ms IS NULL"
        );
        Ok(self.connection().prepare_cached(&sql)?.query_row([hash.0], session).optional()?)
    }

    /// Every session, ended ones too, oldest first.
    pub fn sessions(&self) -> Result<Vec<Session>, StoreError> {
        let Some(role) = role_column(self.connection())? else { return Ok(Vec::new()) };
        let sql = format!(
            "SELECT hash, person, label, made_ms, seen_ms, ended_ms, {role} FROM sessions ORDER BY made_ms, hash"
        );
        let mut statement = self.connection().prepare_cached(&sql)?;
        Ok(statement.query_map([], session)?.collect::<Result<_, _>>()?)
    }
}

/// How the role of a session is asked for. A database that an older version wrote last, and that is only looked at,
/// has no such column yet, when all sessions could do everything, or no such table at all: then none.
fn role_column(connection: &Connection) -> Result<Option<&'static str>, StoreError> {
    let mut statement = connection.prepare_cached("SELECT name FROM pragma_table_info('sessions')")?;
    let columns: Vec<String> = statement.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    let has_role = columns.iter().any(|column| column == "role");
    Ok((!columns.is_empty()).then_some(if has_role { "role" } else { "'keeper'" }))
}

fn session(row: &Row<'_>) -> rusqlite::Result<Session> {
    let ended_ms: Option<i64> = row.get(5)?;
    let role: String = row.get(6)?;
    Ok(Session {
        hash: SessionHash(row.get(0)?),
        person: RecordId::from_bytes(row.get(1)?),
        // The table takes no other word; a damaged one may do the least.
        role: Role::parse(&role).unwrap_or(Role::Viewer),
        label: row.get(2)?,
        made_ms: from_sql(row.get(3)?),
        seen_ms: from_sql(row.get(4)?),
        ended_ms: ended_ms.map(from_sql),
    })
}
