//! Opening the database, taking drafts into this device's series, receiving the changes of others.
//!
//! One [`Store`] writes; any number of [`crate::Reader`]s read beside it (WAL). Everything one call writes is
//! one transaction: log, signature and tables. When it fails, the store is as it was before.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags, OptionalExtension, Transaction, params};
use storypole_journal::{
    Change, ChangeHash, Clock, DeviceId, DeviceKey, Draft, DraftId, NotebookId, PublicKey, RecordId,
    SeriesHead, SeriesSignature, Stamp, Vector, membership,
};

use crate::error::{ReceiveError, TakeError};
use crate::{StoreError, project, schema, standing};

/// What a device hands to another: changes in stamp order and the signatures that cover them.
#[derive(Debug, Clone, Default)]
pub struct Parcel {
    /// Encoded changes, in stamp order over all devices.
    pub changes: Vec<Vec<u8>>,
    /// Signatures of the series they belong to.
    pub signatures: Vec<SeriesSignature>,
}

/// What became of a draft.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taken {
    /// It is a new change of this device.
    New {
        /// Its number in this device's series.
        seq: u64,
    },
    /// It was held already, at this device or another.
    AlreadyHeld,
}

/// What became of a parcel.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Received {
    /// Changes new here.
    pub new: usize,
    /// Changes held before.
    pub repeated: usize,
    /// Changes of a series that forked, kept aside.
    pub forked: usize,
    /// Where it stopped, if it did; what came before is kept.
    pub stopped: Option<ReceiveError>,
}

/// The one writer of a notebook's database.
pub struct Store {
    connection: Connection,
    path: PathBuf,
    notebook: NotebookId,
    device: DeviceId,
    key: DeviceKey,
    pub(crate) state: State,
}

/// What the writer keeps in memory; restored when a transaction fails.
#[derive(Debug, Clone)]
pub(crate) struct State {
    clock: Clock,
    own: SeriesHead,
    own_no: i64,
    /// Number of each known series.
    pub(crate) series: HashMap<DeviceId, i64>,
    may_write: bool,
    /// Greatest ids held: a greater one is new without asking the database.
    greatest_draft: DraftId,
    greatest_record: RecordId,
}

/// Sets what every connection of the notebook needs.
pub(crate) fn configure(connection: &Connection) -> Result<(), StoreError> {
    connection.busy_timeout(std::time::Duration::from_secs(10))?;
    connection.set_prepared_statement_cache_capacity(256);
    // Plans never depend on the values bound, so that a prepared statement stays prepared.
    connection.set_db_config(rusqlite::config::DbConfig::SQLITE_DBCONFIG_ENABLE_QPSG, true)?;
    connection.execute_batch(
        "PRAGMA foreign_keys = OFF; PRAGMA temp_store = MEMORY; PRAGMA cache_size = -16384; PRAGMA trusted_schema = OFF;",
    )?;
    Ok(())
}

impl Store {
    /// Makes a new database for a copy of a notebook; `founder_key` is this device's own key in a new notebook.
    ///
    /// # Errors
    /// [`StoreError::AlreadyThere`] when the database holds a copy already.
    pub fn create(
        path: &Path,
        notebook: NotebookId,
        device: DeviceId,
        key: DeviceKey,
        founder_key: PublicKey,
        instance: [u8; 16],
    ) -> Result<Self, StoreError> {
        let mut connection = Connection::open(path)?;
        prepare(&mut connection, path)?;
        let there: bool = connection.query_row("SELECT EXISTS (SELECT 1 FROM copy)", [], |row| row.get(0))?;
        if there {
            return Err(StoreError::AlreadyThere { path: path.to_owned() });
        }
        connection.execute(
            "INSERT INTO copy (only, notebook, device, founder_key, instance) VALUES (1, ?1, ?2, ?3, ?4)",
            params![notebook.as_bytes(), device.as_bytes(), founder_key.0, instance],
        )?;
        Self::start(connection, path, key)
    }

    /// Opens the database of a copy. Tables of another version are rebuilt first.
    ///
    /// # Errors
    /// [`StoreError`]: not a notebook, newer, damaged.
    pub fn open(path: &Path, key: DeviceKey) -> Result<Self, StoreError> {
        let mut connection = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_WRITE)
            .map_err(|source| StoreError::Damaged { path: path.to_owned(), source })?;
        check_header(&connection, path)?;
        prepare(&mut connection, path)?;
        Self::start(connection, path, key)
    }

    fn start(connection: Connection, path: &Path, key: DeviceKey) -> Result<Self, StoreError> {
        let (notebook, device): ([u8; 16], [u8; 16]) = connection
            .query_row("SELECT notebook, device FROM copy", [], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?
            .ok_or_else(|| StoreError::NotANotebook { path: path.to_owned() })?;
        let (notebook, device) = (NotebookId::from_bytes(notebook), DeviceId::from_bytes(device));
        let mut store = Self {
            state: State {
                clock: Clock::default(),
                own: SeriesHead::empty(notebook, device),
                own_no: 0,
                series: HashMap::new(),
                may_write: false,
                greatest_draft: DraftId::from_bytes([0xff; 16]),
                greatest_record: RecordId::from_bytes([0xff; 16]),
            },
            connection,
            path: path.to_owned(),
            notebook,
            device,
            key,
        };
        store.load_state()?;
        if !schema::projection_is_current(&store.connection)? {
            store.rebuild(&mut |_| ())?;
        }
        store.load_greatest()?;
        store.state.may_write = may_write(&store.connection, &store.state, notebook.founder() == device)?;
        Ok(store)
    }

    fn load_state(&mut self) -> Result<(), StoreError> {
        let mut newest = 0_u64;
        let mut statement = self.connection.prepare("SELECT no, device, count, hash, stamp FROM series")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let (no, device): (i64, [u8; 16]) = (row.get(0)?, row.get(1)?);
            let device = DeviceId::from_bytes(device);
            self.state.series.insert(device, no);
            let stamp = Stamp(from_sql(row.get(4)?));
            newest = newest.max(stamp.0);
            if device == self.device {
                self.state.own =
                    SeriesHead { count: from_sql(row.get(2)?), hash: ChangeHash(row.get(3)?), stamp };
                self.state.own_no = no;
            }
        }
        drop(rows);
        drop(statement);
        self.state.clock.observe(Stamp(newest));
        if self.state.own_no == 0 {
            self.state.own_no = open_series(&self.connection, &self.state.own, self.device)?;
            self.state.series.insert(self.device, self.state.own_no);
        }
        Ok(())
    }

    /// Reads the greatest ids held; until then every id is looked up.
    fn load_greatest(&mut self) -> Result<(), StoreError> {
        let greatest = |column: &str, table: &str| -> Result<[u8; 16], StoreError> {
            let sql = format!("SELECT max({column}) FROM \"{table}\"");
            let id: Option<[u8; 16]> =
                self.connection.prepare_cached(&sql)?.query_row([], |row| row.get(0))?;
            Ok(id.unwrap_or([0; 16]))
        };
        self.state.greatest_draft = DraftId::from_bytes(greatest("draft", "changes")?);
        let mut record = greatest("record", "other")?;
        for kind in storypole_notebook::kinds::KINDS {
            record = record.max(greatest("record", kind.name)?);
        }
        self.state.greatest_record = RecordId::from_bytes(record);
        Ok(())
    }

    /// The notebook.
    pub fn notebook(&self) -> NotebookId {
        self.notebook
    }

    /// This device.
    pub fn device(&self) -> DeviceId {
        self.device
    }

    /// Where the database lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Takes drafts into this device's series, all in one transaction that is on disk when this returns.
    ///
    /// # Errors
    /// Per draft a [`TakeError`]; the outer error means that nothing was written.
    pub fn take(
        &mut self,
        drafts: Vec<Draft>,
        now_ms: u64,
    ) -> Result<Vec<Result<Taken, TakeError>>, StoreError> {
        let before = self.state.clone();
        let result = self.take_all(drafts, now_ms);
        if result.is_err() {
            self.state = before;
        }
        result
    }

    fn take_all(
        &mut self,
        drafts: Vec<Draft>,
        now_ms: u64,
    ) -> Result<Vec<Result<Taken, TakeError>>, StoreError> {
        let transaction =
            self.connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        // Whatever this call adds is projected as it is inserted; the exact number is set below.
        let upper = self.state.own.count + drafts.len() as u64;
        set_projected(&transaction, self.state.own_no, upper)?;
        let mut outcomes = Vec::with_capacity(drafts.len());
        let mut wrote = false;
        let mut membership = false;
        for draft in drafts {
            membership |= holds_membership(&draft);
            let outcome = take_one(&transaction, &mut self.state, self.device, draft, now_ms)?;
            wrote |= matches!(outcome, Ok(Taken::New { .. }));
            outcomes.push(outcome);
        }
        if wrote {
            let own = &self.state.own;
            let signature = self.key.sign(self.notebook, self.device, own.count, own.hash);
            transaction
                .prepare_cached(
                    "INSERT INTO signatures (series, count, bytes, verified) VALUES (?1, ?2, ?3, 1)",
                )?
                .execute(params![self.state.own_no, to_sql(own.count), signature.encode()])?;
            save_head(&transaction, self.state.own_no, own)?;
            cover(&transaction, self.state.own_no, own.count)?;
            set_projected(&transaction, self.state.own_no, own.count)?;
            if membership {
                let last = last_change(&transaction)?;
                standing::settle_standing(&transaction, self.notebook, &self.state.series, last)?;
                self.state.may_write =
                    may_write(&transaction, &self.state, self.notebook.founder() == self.device)?;
            }
        }
        if !wrote {
            // Nothing was added: the transaction is dropped, and the upper bound with it.
            return Ok(outcomes);
        }
        transaction.commit()?;
        Ok(outcomes)
    }

    /// Receives a parcel of another device in one transaction. Repeats are harmless.
    ///
    /// # Errors
    /// The outer error means that nothing was written.
    pub fn receive(&mut self, parcel: &Parcel) -> Result<Received, StoreError> {
        let before = self.state.clone();
        let result = self.receive_all(parcel);
        if result.is_err() {
            self.state = before;
        }
        result
    }

    fn receive_all(&mut self, parcel: &Parcel) -> Result<Received, StoreError> {
        let transaction =
            self.connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        let last_before = last_change(&transaction)?;
        let mut received = Received::default();
        for bytes in &parcel.changes {
            match receive_one(&transaction, &mut self.state, self.notebook, bytes)? {
                Ok(Arrival::New) => received.new += 1,
                Ok(Arrival::Repeated) => received.repeated += 1,
                Ok(Arrival::Forked) => received.forked += 1,
                Err(stop) => {
                    received.stopped = Some(stop);
                    break;
                }
            }
        }
        let founder_key = founder_key(&transaction)?;
        standing::verify_and_settle(
            &transaction,
            self.notebook,
            founder_key,
            &self.state.series,
            &parcel.signatures,
            last_before,
        )?;
        self.state.may_write = may_write(&transaction, &self.state, self.notebook.founder() == self.device)?;
        transaction.commit()?;
        self.load_greatest()?;
        Ok(received)
    }

    /// Whether this device may write: a member that is no viewer and was not revoked.
    pub fn may_write(&self) -> bool {
        self.state.may_write
    }

    /// Drops every projected table and makes it anew from the log; `progress` hears how many changes are done.
    ///
    /// # Errors
    /// Nothing is changed when it fails.
    pub fn rebuild(&mut self, progress: &mut dyn FnMut(u64)) -> Result<(), StoreError> {
        let transaction =
            self.connection.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate)?;
        schema::recreate_projection(&transaction)?;
        standing::rebuild(&transaction, self.notebook, &self.state.series, progress)?;
        transaction.commit()?;
        Ok(())
    }

    /// A reader of this database, for use beside the writer.
    ///
    /// # Errors
    /// Fails when the file cannot be opened.
    pub fn reader(&self) -> Result<crate::Reader, StoreError> {
        crate::Reader::open(&self.path)
    }

    /// How much of each series is held.
    ///
    /// # Errors
    /// Fails when SQLite does.
    pub fn vector(&self) -> Result<Vector, StoreError> {
        crate::read::vector(&self.connection)
    }

    /// The connection, for checks that must see it as the writer does.
    pub(crate) fn connection(&self) -> &Connection {
        &self.connection
    }
}

fn prepare(connection: &mut Connection, path: &Path) -> Result<(), StoreError> {
    configure(connection)?;
    connection
        .execute_batch(
            "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA wal_autocheckpoint = 4000;",
        )
        .map_err(|source| damaged(path, source))?;
    schema::migrate(connection)
}

fn check_header(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let pragma = |name: &str| -> Result<i64, StoreError> {
        connection.pragma_query_value(None, name, |row| row.get(0)).map_err(|source| damaged(path, source))
    };
    if pragma("application_id")? != schema::APPLICATION_ID {
        return Err(StoreError::NotANotebook { path: path.to_owned() });
    }
    let (found, known) = (pragma("user_version")?, schema::MIGRATIONS.len() as i64);
    if found > known {
        return Err(StoreError::Newer { path: path.to_owned(), found, known });
    }
    // A truncated file fails here rather than at the first read of a missing page.
    let pages = pragma("page_count")?;
    let size = pragma("page_size")? * pages;
    let on_disk =
        std::fs::metadata(path).map_err(|source| StoreError::File { path: path.to_owned(), source })?.len();
    if i64::try_from(on_disk).unwrap_or(i64::MAX) < size && !wal_holds_pages(path) {
        let source = rusqlite::Error::InvalidPath(path.to_owned());
        return Err(StoreError::Damaged { path: path.to_owned(), source });
    }
    Ok(())
}

pub(crate) fn wal_holds_pages(path: &Path) -> bool {
    let mut wal = path.as_os_str().to_owned();
    wal.push("-wal");
    std::fs::metadata(wal).is_ok_and(|file| file.len() > 0)
}

fn damaged(path: &Path, source: rusqlite::Error) -> StoreError {
    use rusqlite::ErrorCode;
    match source.sqlite_error_code() {
        Some(ErrorCode::NotADatabase) => StoreError::NotANotebook { path: path.to_owned() },
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked | ErrorCode::DiskFull) => source.into(),
        _ => StoreError::Damaged { path: path.to_owned(), source },
    }
}

/// A count as SQLite holds it. Counts stay far below 2^63; stamps use all bits below it until the year 10889.
pub(crate) fn to_sql(number: u64) -> i64 {
    i64::try_from(number).expect("counts and stamps stay below 2^63")
}

pub(crate) fn from_sql(number: i64) -> u64 {
    u64::try_from(number).unwrap_or(0)
}

fn open_series(connection: &Connection, head: &SeriesHead, device: DeviceId) -> Result<i64, StoreError> {
    connection
        .prepare_cached(
            "INSERT INTO series (device, count, hash, stamp, covered) VALUES (?1, ?2, ?3, ?4, 0)",
        )?
        .execute(params![device.as_bytes(), to_sql(head.count), head.hash.0, to_sql(head.stamp.0)])?;
    let no = connection.last_insert_rowid();
    if schema::projection_is_current(connection)? {
        connection.execute("INSERT INTO standing (series, projected, allowed) VALUES (?1, 0, 0)", [no])?;
    }
    Ok(no)
}

fn save_head(connection: &Connection, no: i64, head: &SeriesHead) -> Result<(), StoreError> {
    connection
        .prepare_cached("UPDATE series SET count = ?2, hash = ?3, stamp = ?4 WHERE no = ?1")?
        .execute(params![no, to_sql(head.count), head.hash.0, to_sql(head.stamp.0)])?;
    Ok(())
}

/// Number of the last change held.
pub(crate) fn last_change(connection: &Connection) -> Result<i64, StoreError> {
    Ok(connection
        .prepare_cached("SELECT coalesce(max(no), 0) FROM changes")?
        .query_row([], |row| row.get(0))?)
}

fn set_projected(connection: &Connection, no: i64, count: u64) -> Result<(), StoreError> {
    connection
        .prepare_cached("UPDATE standing SET projected = ?2 WHERE series = ?1")?
        .execute(params![no, to_sql(count)])?;
    Ok(())
}

fn cover(connection: &Connection, no: i64, count: u64) -> Result<(), StoreError> {
    connection
        .prepare_cached("UPDATE series SET covered = ?2 WHERE no = ?1 AND covered < ?2")?
        .execute(params![no, to_sql(count)])?;
    Ok(())
}

/// A member that is no viewer and was not revoked. The founder's first change invites itself.
fn may_write(connection: &Connection, state: &State, is_founder: bool) -> Result<bool, StoreError> {
    let allowed: Option<i64> = connection
        .query_row("SELECT allowed FROM standing WHERE series = ?1", [state.own_no], |row| row.get(0))
        .optional()?;
    let first = is_founder && state.own.count == 0;
    Ok(first || allowed.is_some_and(|allowed| allowed > to_sql(state.own.count)))
}

pub(crate) fn founder_key(connection: &Connection) -> Result<PublicKey, StoreError> {
    Ok(PublicKey(connection.query_row("SELECT founder_key FROM copy", [], |row| row.get(0))?))
}

fn take_one(
    transaction: &Transaction<'_>,
    state: &mut State,
    device: DeviceId,
    draft: Draft,
    now_ms: u64,
) -> Result<Result<Taken, TakeError>, StoreError> {
    if let Err(error) = draft.check() {
        return Ok(Err(error.into()));
    }
    // Ids are time-ordered: one beyond the greatest held cannot be held.
    if draft.id <= state.greatest_draft
        && let Some(held) = held_draft(transaction, draft.id)?
    {
        if held.content_hash() != draft.content_hash() {
            return Ok(Err(TakeError::Reused(draft.id)));
        }
        // One that is held only where it does not count (set aside, unsigned) is taken here too.
        if project::carrier(transaction, draft.id)?.is_some() {
            return Ok(Ok(Taken::AlreadyHeld));
        }
    }
    if !state.may_write {
        return Ok(Err(TakeError::MayNotWrite));
    }
    if !all_seen_held(transaction, &draft)? {
        return Ok(Err(TakeError::SeenUnknown(draft.id)));
    }
    let stamp = state.clock.tick(now_ms);
    let change = Change { device, seq: state.own.count, stamp, prev: state.own.hash, draft };
    let body = change.encode();
    let hash = ChangeHash::of(&body);
    insert_change(transaction, state.own_no, &change, &hash, &body)?;
    project::project_new(transaction, &change, &mut state.greatest_record)?;
    state.greatest_draft = state.greatest_draft.max(change.draft.id);
    state.own = SeriesHead { count: state.own.count + 1, hash, stamp };
    Ok(Ok(Taken::New { seq: change.seq }))
}

fn insert_change(
    connection: &Connection,
    series: i64,
    change: &Change,
    hash: &ChangeHash,
    body: &[u8],
) -> Result<(), StoreError> {
    connection
        .prepare_cached(
            "INSERT INTO changes (series, seq, stamp, draft, hash, body) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        )?
        .execute(params![
            series,
            to_sql(change.seq),
            to_sql(change.stamp.0),
            change.draft.id.as_bytes(),
            hash.0,
            body
        ])?;
    if holds_membership(&change.draft) {
        let no = connection.last_insert_rowid();
        connection.execute("INSERT INTO membership_changes (no) VALUES (?1)", [no])?;
    }
    Ok(())
}

fn holds_membership(draft: &Draft) -> bool {
    draft.writes.iter().any(|write| write.kind.as_str() == membership::KIND)
}

fn held_draft(connection: &Connection, id: DraftId) -> Result<Option<Draft>, StoreError> {
    let body: Option<Vec<u8>> = connection
        .prepare_cached("SELECT body FROM changes WHERE draft = ?1 ORDER BY stamp LIMIT 1")?
        .query_row([id.as_bytes()], |row| row.get(0))
        .optional()?;
    body.map(|body| decode(&body).map(|change| change.draft)).transpose()
}

fn all_seen_held(connection: &Connection, draft: &Draft) -> Result<bool, StoreError> {
    let mut all_seen = draft.writes.iter().flat_map(|write| &write.seen).peekable();
    if all_seen.peek().is_none() {
        return Ok(true);
    }
    let mut statement =
        connection.prepare_cached("SELECT EXISTS (SELECT 1 FROM changes WHERE draft = ?1)")?;
    for seen in all_seen {
        if !statement.query_row([seen.draft.as_bytes()], |row| row.get::<_, bool>(0))? {
            return Ok(false);
        }
    }
    Ok(true)
}

pub(crate) fn decode(body: &[u8]) -> Result<Change, StoreError> {
    Change::decode(body).map_err(|_| StoreError::Undecodable { what: "a change" })
}

enum Arrival {
    New,
    Repeated,
    Forked,
}

fn receive_one(
    transaction: &Transaction<'_>,
    state: &mut State,
    notebook: NotebookId,
    bytes: &[u8],
) -> Result<Result<Arrival, ReceiveError>, StoreError> {
    let Ok(change) = Change::decode(bytes) else { return Ok(Err(ReceiveError::Undecodable)) };
    let hash = ChangeHash::of(bytes);
    let device = change.device;
    let (no, head) = match state.series.get(&device) {
        Some(no) => (*no, read_head(transaction, *no)?),
        None => {
            let empty = SeriesHead::empty(notebook, device);
            let no = open_series(transaction, &empty, device)?;
            state.series.insert(device, no);
            (no, empty)
        }
    };
    if change.seq < head.count {
        let held: [u8; 32] = transaction
            .prepare_cached("SELECT hash FROM changes WHERE series = ?1 AND seq = ?2")?
            .query_row(params![no, to_sql(change.seq)], |row| row.get(0))?;
        if held == hash.0 {
            return Ok(Ok(Arrival::Repeated));
        }
        keep_fork(transaction, &change, &hash, bytes)?;
        return Ok(Ok(Arrival::Forked));
    }
    match head.extend(&change, hash) {
        Ok(next) => {
            insert_change(transaction, no, &change, &hash, bytes)?;
            save_head(transaction, no, &next)?;
            state.clock.observe(change.stamp);
            Ok(Ok(Arrival::New))
        }
        Err(source) if is_fork_continuation(transaction, &change)? => {
            keep_fork(transaction, &change, &hash, bytes)?;
            let _ = source;
            Ok(Ok(Arrival::Forked))
        }
        Err(source) => Ok(Err(ReceiveError::Series { device, source })),
    }
}

/// A change that follows one already kept aside belongs to the same fork.
fn is_fork_continuation(connection: &Connection, change: &Change) -> Result<bool, StoreError> {
    let Some(before) = change.seq.checked_sub(1) else { return Ok(false) };
    Ok(connection
        .prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM forked_changes WHERE device = ?1 AND seq = ?2 AND hash = ?3)",
        )?
        .query_row(params![change.device.as_bytes(), to_sql(before), change.prev.0], |row| row.get(0))?)
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
