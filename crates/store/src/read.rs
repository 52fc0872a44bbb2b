//! What readers ask: rows and heads. What was written on a record is in [`crate::history`], what another device lacks in
//! [`crate::since`].
//!
//! A reader has its own connection and never waits for the writer (WAL). Each call sees one state, and so do
//! all calls within [`Reader::snapshot`].

use std::collections::HashSet;
use std::path::Path;

use rusqlite::{Connection, OpenFlags, OptionalExtension, Transaction, params};
use storypole_journal::register::FieldState;
use storypole_journal::{
    Change, ChangeHash, DeviceId, DraftId, Entry, NotebookId, PublicKey, RecordId, RecordState,
    SeriesSignature, Vector, WriteId, WrittenAt, membership,
};
use storypole_notebook::kinds::KINDS;
use storypole_notebook::{Book, KindSpec, Meta, Row, Value};

use crate::forks::{self, OwnFork};
pub use crate::history::{Conflict, HistoryItem};
use crate::store::{decode, from_sql};
use crate::{StoreError, columns, project, schema, standing};

/// A connection that only reads.
pub struct Reader {
    connection: Connection,
}

/// Where the log stands; a derived file that names another position or generation is behind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Position {
    /// Which database this is.
    pub instance: [u8; 16],
    /// Number of the last change held.
    pub last: i64,
    /// How often rows changed for another reason than a new change.
    pub generation: i64,
}

impl Position {
    /// Whether what was read here shows all that stood at `other`: the same database, as far or further.
    pub fn reaches(&self, other: &Self) -> bool {
        self.instance == other.instance && self.generation >= other.generation && self.last >= other.last
    }

    /// Whether only new changes, if any, lie between `earlier` and this.
    pub fn continues(&self, earlier: &Self) -> bool {
        self.generation == earlier.generation && self.reaches(earlier)
    }
}

/// What changes wrote to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Touched {
    /// Where the log stood.
    pub position: Position,
    /// Kind and id of each record, once, in the order in which the changes arrived.
    pub records: Vec<(String, RecordId)>,
    /// Whether there are more than were asked for.
    pub more: bool,
}

/// What changed in the rows since a position.
#[derive(Debug, Clone)]
pub struct ChangedRows {
    /// Where the log stood.
    pub position: Position,
    /// Each record that was touched, as it stands now; `None` where it has no row any more.
    pub rows: Vec<(&'static KindSpec, RecordId, Option<Row>)>,
}

/// A change that is kept but does not count.
#[derive(Debug, Clone)]
pub struct SetAside {
    /// Whose.
    pub device: DeviceId,
    /// Its number in the series.
    pub seq: u64,
    /// Its hash.
    pub hash: ChangeHash,
    /// Why.
    pub why: WhyAside,
}

/// Why a change does not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyAside {
    /// No signature covers it yet.
    Unsigned,
    /// Its device is no member, a viewer, or was revoked before it.
    Membership,
    /// Its series forked, and another branch counts.
    Forked,
}

impl Reader {
    /// Opens a reader on a database that a writer has prepared.
    ///
    /// # Errors
    /// Fails when the file cannot be opened.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        Self::open_at(&crate::Location::file(path))
    }

    /// The same, wherever it lies.
    ///
    /// # Errors
    /// As [`Self::open`].
    pub fn open_at(location: &crate::Location) -> Result<Self, StoreError> {
        let path = location.path();
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let reader = Self { connection: location.connect(flags)? };
        // Some of what is set reads the database, which is where a disk that cannot be written to shows.
        let configured = crate::store::configure(&reader.connection);
        let is_read = configured.is_ok() && reader.identity().is_ok();
        if !location.is_of_the_system() || is_read || crate::store::wal_holds_pages(path) {
            return configured.map(|()| reader);
        }
        // Readers of a database in WAL mode share a file beside it. Where none can be made, on a read-only disk,
        // and no pages wait in the WAL, the database file alone is the whole truth and cannot change.
        let name = path.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23");
        let name = format!("file:{name}?immutable=1");
        let connection = Connection::open_with_flags(name, flags | OpenFlags::SQLITE_OPEN_URI)?;
        crate::store::configure(&connection)?;
        Ok(Self { connection })
    }

    /// Whether the tables are of this version.
    ///
    /// # Errors
    /// Fails when SQLite does.
    pub fn is_current(&self) -> Result<bool, StoreError> {
        schema::projection_is_current(&self.connection)
    }

    /// The notebook and this device.
    ///
    /// # Errors
    /// Fails when SQLite does, as every method here.
    pub fn identity(&self) -> Result<(NotebookId, DeviceId), StoreError> {
        Ok(self.connection.query_row("SELECT notebook, device FROM copy", [], |row| {
            Ok((NotebookId::from_bytes(row.get(0)?), DeviceId::from_bytes(row.get(1)?)))
        })?)
    }

    /// The person who works at this device.
    pub fn author(&self) -> Result<RecordId, StoreError> {
        Ok(self
            .connection
            .query_row("SELECT author FROM copy", [], |row| row.get(0))
            .map(RecordId::from_bytes)?)
    }

    /// The founding device's public key.
    pub fn founder_key(&self) -> Result<PublicKey, StoreError> {
        crate::store::founder_key(&self.connection)
    }

    /// Asks several things of one state of the log: what is committed meanwhile is not seen.
    pub fn snapshot<T>(&self, ask: impl FnOnce(&Self) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let _one_state = self.one_state()?;
        ask(self)
    }

    /// As [`Self::snapshot`], for one whose failures are of another kind.
    ///
    /// # Errors
    /// What `ask` says.
    pub fn snapshot_with<T, E: From<StoreError>>(
        &self,
        ask: impl FnOnce(&Self) -> Result<T, E>,
    ) -> Result<T, E> {
        let _one_state = self.one_state()?;
        ask(self)
    }

    /// Keeps to one state as long as it is held; none where a caller keeps to one already.
    pub(crate) fn one_state(&self) -> Result<Option<Transaction<'_>>, StoreError> {
        let is_free = self.connection.is_autocommit();
        Ok(is_free.then(|| self.connection.unchecked_transaction()).transpose()?)
    }

    /// Where the log stands.
    pub fn position(&self) -> Result<Position, StoreError> {
        let _one_state = self.one_state()?;
        let snapshot = &self.connection;
        position(snapshot)
    }

    /// Every record of every kind, in one state of the log.
    pub fn book(&self) -> Result<Book, StoreError> {
        Ok(self.book_and_position()?.1)
    }

    /// Every record of every kind, and where the log stood.
    pub fn book_and_position(&self) -> Result<(Position, Book), StoreError> {
        let _one_state = self.one_state()?;
        let snapshot = &self.connection;
        let position = position(snapshot)?;
        let mut book = Book::default();
        for kind in KINDS {
            each_row(snapshot, kind, "ORDER BY record", [], |row| book.insert(row))?;
        }
        Ok((position, book))
    }

    /// The rows that changed since a position; `None` when more than `limit` did, or any may have.
    pub fn rows_after(&self, since: &Position, limit: usize) -> Result<Option<ChangedRows>, StoreError> {
        let _one_state = self.one_state()?;
        let snapshot = &self.connection;
        let now = position(snapshot)?;
        if !now.continues(since) {
            return Ok(None);
        }
        let (touched, more) = touched(snapshot, since.last, limit)?;
        if more {
            return Ok(None);
        }
        let mut rows = Vec::with_capacity(touched.len());
        for (kind, id) in touched {
            // Kinds unknown here have no rows.
            let Some(kind) = KindSpec::find(&kind) else { continue };
            rows.push((kind, id, row(snapshot, kind, id)?));
        }
        Ok(Some(ChangedRows { position: now, rows }))
    }

    /// What the changes that count wrote to, after a number of arrival: at most `limit` records.
    pub fn touched_after(&self, last: i64, limit: usize) -> Result<Touched, StoreError> {
        let _one_state = self.one_state()?;
        let snapshot = &self.connection;
        let (records, more) = touched(snapshot, last, limit)?;
        Ok(Touched { position: position(snapshot)?, records, more })
    }

    /// Every record of one kind, oldest first, struck ones too.
    pub fn rows(&self, kind: &'static KindSpec) -> Result<Vec<Row>, StoreError> {
        let mut rows = Vec::new();
        each_row(&self.connection, kind, "ORDER BY record", [], |row| rows.push(row))?;
        Ok(rows)
    }

    /// At most `limit` records of a kind, oldest first, those after the one named; struck ones only if asked for.
    pub fn page(
        &self,
        kind: &'static KindSpec,
        after: Option<RecordId>,
        limit: usize,
        struck: bool,
    ) -> Result<Vec<Row>, StoreError> {
        let after = after.map(|id| id.as_bytes().to_vec()).unwrap_or_default();
        let live = if struck { "" } else { "AND struck IS NULL" };
        let tail = format!("WHERE record > ?1 {live} ORDER BY record LIMIT ?2");
        let mut rows = Vec::new();
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        each_row(&self.connection, kind, &tail, params![after, limit], |row| rows.push(row))?;
        Ok(rows)
    }

    /// How many records of a kind there are; struck ones only if asked for.
    pub fn count(&self, kind: &'static KindSpec, struck: bool) -> Result<u64, StoreError> {
        let live = if struck { "" } else { " WHERE struck IS NULL" };
        let sql = format!("SELECT count(*) FROM \"{}\"{live}", kind.name);
        Ok(from_sql(self.connection.prepare_cached(&sql)?.query_row([], |row| row.get(0))?))
    }

    /// One record of a kind.
    pub fn row(&self, kind: &'static KindSpec, id: RecordId) -> Result<Option<Row>, StoreError> {
        row(&self.connection, kind, id)
    }

    /// The kind of a record, when it is known here.
    pub fn kind_of(&self, id: RecordId) -> Result<Option<&'static KindSpec>, StoreError> {
        Ok(project::kinds_of(&self.connection, id)?.iter().find_map(|kind| KindSpec::find(kind)))
    }

    /// Records of a kind whose field holds this text; struck ones left out.
    pub fn with_text(
        &self,
        kind: &'static KindSpec,
        field: &str,
        text: &str,
    ) -> Result<Vec<RecordId>, StoreError> {
        if kind.field(field).is_none() {
            return Ok(Vec::new());
        }
        let sql = format!(
            "SELECT record FROM \"{}\" WHERE struck IS NULL AND \"{field}\" = ?1 COLLATE NOCASE ORDER BY record",
            kind.name
        );
        let mut statement = self.connection.prepare_cached(&sql)?;
        let ids = statement.query_map([text], |row| Ok(RecordId::from_bytes(row.get(0)?)))?;
        Ok(ids.collect::<Result<_, _>>()?)
    }

    /// Records of a kind whose fields hold these values; struck ones left out.
    pub fn matching(
        &self,
        kind: &'static KindSpec,
        fields: &[(&str, Value)],
    ) -> Result<Vec<RecordId>, StoreError> {
        let mut conditions = vec!["struck IS NULL".to_owned()];
        let mut values = Vec::new();
        for (name, value) in fields {
            let Some((_, field)) = kind.field(name) else { return Ok(Vec::new()) };
            for (column, _) in schema::columns_of(field.name, &field.takes) {
                conditions.push(format!("\"{column}\" IS ?{}", conditions.len()));
            }
            columns::push(&field.takes, Some(value.clone()), &mut values);
        }
        let sql = format!(
            "SELECT record FROM \"{}\" WHERE {} ORDER BY record",
            kind.name,
            conditions.join(" AND ")
        );
        let mut statement = self.connection.prepare_cached(&sql)?;
        let ids = statement
            .query_map(rusqlite::params_from_iter(values), |row| Ok(RecordId::from_bytes(row.get(0)?)))?;
        Ok(ids.collect::<Result<_, _>>()?)
    }

    /// The heads of a register, for the `seen` of a form.
    pub fn heads(&self, record: RecordId, kind: &KindSpec, field: &str) -> Result<Vec<WriteId>, StoreError> {
        let state = self.state(record, kind)?;
        Ok(state.field(field).map(writes).unwrap_or_default())
    }

    /// The heads of every register of a record that was ever written, `struck` and fields unknown here included,
    /// by name.
    pub fn heads_of(
        &self,
        record: RecordId,
        kind: &KindSpec,
    ) -> Result<Vec<(String, Vec<WriteId>)>, StoreError> {
        let state = self.state(record, kind)?;
        Ok(state.fields.iter().map(|(name, field)| (name.as_str().to_owned(), writes(field))).collect())
    }

    /// The registers of a record; none of one that is not there.
    fn state(&self, record: RecordId, kind: &KindSpec) -> Result<RecordState, StoreError> {
        let sql = format!("SELECT heads FROM \"{}\" WHERE record = ?1", kind.name);
        let bytes: Option<Vec<u8>> = self
            .connection
            .prepare_cached(&sql)?
            .query_row([record.as_bytes()], |row| row.get(0))
            .optional()?;
        let Some(bytes) = bytes else { return Ok(RecordState::default()) };
        RecordState::decode(&bytes).map_err(|_| StoreError::Undecodable { what: "the heads of a record" })
    }

    /// Whether a draft is held, whether or not it counts.
    pub fn holds(&self, draft: DraftId) -> Result<bool, StoreError> {
        Ok(self
            .connection
            .prepare_cached("SELECT EXISTS (SELECT 1 FROM changes WHERE draft = ?1)")?
            .query_row([draft.as_bytes()], |row| row.get(0))?)
    }

    /// How much of each series is held.
    pub fn vector(&self) -> Result<Vector, StoreError> {
        vector(&self.connection)
    }

    /// Changes that are kept but do not count.
    pub fn set_aside(&self) -> Result<Vec<SetAside>, StoreError> {
        let mut statement = self.connection.prepare_cached(
            // In this order, so that each series is read from where it stops counting: the other way the whole log is gone through.
            "SELECT d.device, c.seq, c.hash, c.seq >= d.covered FROM standing s
             CROSS JOIN changes c ON c.series = s.series AND c.seq >= s.projected
             JOIN series d ON d.no = c.series ORDER BY c.stamp, d.device",
        )?;
        let listed = statement.query_map([], |row| {
            let unsigned: bool = row.get(3)?;
            let why = if unsigned { WhyAside::Unsigned } else { WhyAside::Membership };
            aside(row, why)
        })?;
        let mut all: Vec<SetAside> = listed.collect::<Result<_, _>>()?;
        let mut statement = self
            .connection
            .prepare_cached("SELECT device, seq, hash FROM forked_changes ORDER BY device, seq")?;
        let forked = statement.query_map([], |row| aside(row, WhyAside::Forked))?;
        all.extend(forked.collect::<Result<Vec<_>, _>>()?);
        Ok(all)
    }

    /// Whether a key is that of the device this copy is, going by its last signature, else by what membership says;
    /// `None` where neither says anything.
    pub fn is_own_key(&self, key: &PublicKey) -> Result<Option<bool>, StoreError> {
        let _one_state = self.one_state()?;
        let (notebook, device) = self.identity()?;
        let last: Option<Vec<u8>> = self
            .connection
            .prepare_cached(
                "SELECT g.bytes FROM signatures g JOIN series d ON d.no = g.series
                 WHERE d.device = ?1 AND g.verified = 1 ORDER BY g.count DESC LIMIT 1",
            )?
            .query_row([device.as_bytes()], |row| row.get(0))
            .optional()?;
        if let Some(signature) = last.and_then(|bytes| SeriesSignature::decode(&bytes).ok()) {
            return Ok(Some(signature.verify(notebook, key).is_ok()));
        }
        if device == notebook.founder() {
            return Ok(Some(self.founder_key()? == *key));
        }
        Ok(self.standing()?.key(device).map(|own| own == *key))
    }

    /// When the last change held of a device was written, by its own clock.
    pub fn last_written(&self, device: DeviceId) -> Result<Option<WrittenAt>, StoreError> {
        let body: Option<Vec<u8>> = self
            .connection
            .prepare_cached(
                "SELECT c.body FROM series d JOIN changes c ON c.series = d.no AND c.seq = d.count - 1
                 WHERE d.device = ?1",
            )?
            .query_row([device.as_bytes()], |row| row.get(0))
            .optional()?;
        body.map(|body| Ok(decode(&body)?.draft.written_at)).transpose()
    }

    /// Whether another branch of this device's own series counts: see [`crate::Store::begin_anew`].
    pub fn own_fork(&self) -> Result<Option<OwnFork>, StoreError> {
        let (notebook, device) = self.identity()?;
        forks::own_fork(&self.connection, notebook, device)
    }

    /// Membership as judged from what is held here.
    pub fn standing(&self) -> Result<membership::Standing, StoreError> {
        let (notebook, _) = self.identity()?;
        standing::standing(&self.connection, notebook)
    }

    /// The changes after a number of arrival, oldest first, at most `limit`: for what follows the log.
    pub fn changes_after(&self, no: i64, limit: usize) -> Result<Vec<(i64, Change)>, StoreError> {
        let mut statement = self
            .connection
            .prepare_cached("SELECT no, body FROM changes WHERE no > ?1 ORDER BY no LIMIT ?2")?;
        let mut rows = statement.query(params![no, i64::try_from(limit).unwrap_or(i64::MAX)])?;
        let mut changes = Vec::new();
        while let Some(row) = rows.next()? {
            changes.push((row.get(0)?, decode(row.get_ref(1)?.as_blob().unwrap_or_default())?));
        }
        Ok(changes)
    }

    /// Every hash that any change held here ever wrote, whether or not it counts: the files that something may
    /// still need. Kinds and fields unknown here are looked at too.
    pub fn hashes_written(&self) -> Result<HashSet<[u8; 32]>, StoreError> {
        let mut statement = self
            .connection
            .prepare_cached("SELECT body FROM changes UNION ALL SELECT body FROM forked_changes")?;
        let mut rows = statement.query([])?;
        let mut hashes = HashSet::new();
        while let Some(row) = rows.next()? {
            let change = decode(row.get_ref(0)?.as_blob().unwrap_or_default())?;
            for write in change.draft.writes {
                if let Ok(Some(Value::Hash(hash))) = Value::from_payload(&write.value) {
                    hashes.insert(hash);
                }
            }
        }
        Ok(hashes)
    }

    /// How many changes are held.
    pub fn change_count(&self) -> Result<u64, StoreError> {
        Ok(from_sql(self.connection.query_row("SELECT count(*) FROM changes", [], |row| row.get(0))?))
    }

    pub(crate) fn connection(&self) -> &Connection {
        &self.connection
    }
}

fn writes(field: &FieldState) -> Vec<WriteId> {
    field.heads.iter().map(|head| head.write).collect()
}

/// Where the log stands, as this connection sees it.
pub(crate) fn position(connection: &Connection) -> Result<Position, StoreError> {
    let instance = connection.prepare_cached("SELECT instance FROM copy")?.query_row([], |row| row.get(0))?;
    let last = crate::store::last_change(connection)?;
    Ok(Position { instance, last, generation: schema::generation(connection)? })
}

/// The records whose rows the changes after `last` may have moved, at most `limit`, and whether there are more.
fn touched(
    connection: &Connection,
    last: i64,
    limit: usize,
) -> Result<(Vec<(String, RecordId)>, bool), StoreError> {
    let mut statement = connection.prepare_cached(
        "SELECT c.no, c.draft, c.body FROM changes c JOIN standing s ON s.series = c.series
         WHERE c.no > ?1 AND c.seq < s.projected ORDER BY c.no",
    )?;
    // A draft that another series carries with other content may have moved what that one wrote to.
    let mut twins = connection.prepare_cached("SELECT body FROM changes WHERE draft = ?1 AND no <> ?2")?;
    let (mut seen, mut records) = (HashSet::new(), Vec::new());
    let mut rows = statement.query([last])?;
    while let Some(row) = rows.next()? {
        let (no, draft): (i64, [u8; 16]) = (row.get(0)?, row.get(1)?);
        let mut changes = vec![decode(row.get_ref(2)?.as_blob().unwrap_or_default())?];
        for body in twins.query_map(params![draft, no], |row| row.get::<_, Vec<u8>>(0))? {
            changes.push(decode(&body?)?);
        }
        for write in changes.into_iter().flat_map(|change| change.draft.writes) {
            let touched = (write.kind.as_str().to_owned(), write.record);
            if seen.contains(&touched) {
                continue;
            }
            if records.len() == limit {
                return Ok((records, true));
            }
            seen.insert(touched.clone());
            records.push(touched);
        }
    }
    Ok((records, false))
}

fn aside(row: &rusqlite::Row<'_>, why: WhyAside) -> rusqlite::Result<SetAside> {
    Ok(SetAside {
        device: DeviceId::from_bytes(row.get(0)?),
        seq: from_sql(row.get(1)?),
        hash: ChangeHash(row.get(2)?),
        why,
    })
}

pub(crate) fn vector(connection: &Connection) -> Result<Vector, StoreError> {
    let mut vector = Vector::new();
    let mut statement =
        connection.prepare_cached("SELECT device, count, hash FROM series WHERE count > 0")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let entry = Entry { count: from_sql(row.get(1)?), hash: ChangeHash(row.get(2)?) };
        vector.set(DeviceId::from_bytes(row.get(0)?), entry);
    }
    Ok(vector)
}

fn row(connection: &Connection, kind: &'static KindSpec, id: RecordId) -> Result<Option<Row>, StoreError> {
    let mut found = None;
    each_row(connection, kind, "WHERE record = ?1", [id.as_bytes()], |row| found = Some(row))?;
    Ok(found)
}

/// Calls `each` with the rows of a kind; `tail` says which, in what order.
fn each_row(
    connection: &Connection,
    kind: &'static KindSpec,
    tail: &str,
    parameters: impl rusqlite::Params,
    mut each: impl FnMut(Row),
) -> Result<(), StoreError> {
    let fields: Vec<String> = kind
        .fields
        .iter()
        .flat_map(|field| schema::columns_of(field.name, &field.takes))
        .map(|(name, _)| format!("\"{name}\""))
        .collect();
    let sql = format!(
        "SELECT record, struck, corrected, conflict, written_ms, written_offset_min, author, unreadable, {} FROM \"{}\" {tail}",
        fields.join(", "),
        kind.name
    );
    let mut statement = connection.prepare_cached(&sql)?;
    let mut rows = statement.query(parameters)?;
    while let Some(row) = rows.next()? {
        each(read_row(kind, row)?);
    }
    Ok(())
}

fn read_row(kind: &'static KindSpec, row: &rusqlite::Row<'_>) -> Result<Row, StoreError> {
    let names = |text: Option<String>| -> Vec<&'static str> {
        let text = text.unwrap_or_default();
        text.split_whitespace().filter_map(|name| kind.field(name)).map(|(_, field)| field.name).collect()
    };
    let unix_ms: Option<i64> = row.get(4)?;
    let offset_min: Option<i16> = row.get(5)?;
    let author: Option<[u8; 16]> = row.get(6)?;
    let meta = Meta {
        struck: row.get(1)?,
        corrected: names(row.get(2)?),
        conflict: names(row.get(3)?),
        unreadable: names(row.get(7)?),
        written_at: unix_ms.zip(offset_min).map(|(unix_ms, offset_min)| WrittenAt { unix_ms, offset_min }),
        author: author.map(RecordId::from_bytes),
    };
    let mut at = 8;
    let mut values = Vec::with_capacity(kind.fields.len());
    for field in kind.fields {
        values.push(columns::pull(&field.takes, row, at)?);
        at += columns::width(&field.takes);
    }
    Ok(Row { id: RecordId::from_bytes(row.get(0)?), kind, values, meta })
}
