//! Opening the database, taking drafts into this device's series, receiving the changes of others.
//!
//! One [`Store`] writes; any number of [`crate::Reader`]s read beside it (WAL). Everything one call writes is
//! one transaction: log, signature and tables. When it fails, the store is as it was before.

use std::collections::HashMap;
use std::path::Path;

use rusqlite::{Connection, OpenFlags, OptionalExtension, Transaction, params};
use storypole_journal::{
    Change, ChangeHash, Clock, DeviceId, DeviceKey, Draft, DraftId, NotebookId, PublicKey, RecordId,
    SeriesHead, SeriesSignature, Stamp, Vector, membership,
};

use crate::arrive::{Arrival, receive_one};
use crate::error::{ReceiveError, TakeError};
use crate::standing::{Arrived, Here};
use crate::{Location, StoreError, project, schema, standing};

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
    /// Changes of this very device that are not held here, kept aside: this folder is a copy, or an old state,
    /// of one that went on elsewhere.
    pub of_this_device: usize,
    /// Series of which another branch came, whether or not it was kept aside before: the sender may lack ours.
    pub forked_series: Vec<DeviceId>,
    /// Series whose held branch gave way to one that came.
    pub swapped: Vec<DeviceId>,
    /// Where it stopped, if it did; what came before is kept.
    pub stopped: Option<ReceiveError>,
}

impl Received {
    /// Counts what a change turned out to be; says whether another branch of a series may count because of it.
    fn count(&mut self, device: DeviceId, arrival: &Arrival) -> bool {
        match arrival {
            Arrival::New { holds_membership } => {
                self.new += 1;
                return *holds_membership;
            }
            Arrival::Repeated => {
                self.repeated += 1;
                return false;
            }
            Arrival::Forked => self.forked += 1,
            Arrival::OfThisDevice => self.of_this_device += 1,
        }
        if !self.forked_series.contains(&device) {
            self.forked_series.push(device);
        }
        true
    }
}

/// What makes a database a copy of a notebook.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Identity {
    /// The notebook.
    pub notebook: NotebookId,
    /// The device this copy is.
    pub device: DeviceId,
    /// Public key of the founding device; this device's own in a new notebook.
    pub founder_key: PublicKey,
    /// Random, new for every copy.
    pub instance: [u8; 16],
    /// The person who works at this device.
    pub author: RecordId,
}

/// The one writer of a notebook's database.
pub struct Store {
    pub(crate) connection: Connection,
    location: Location,
    pub(crate) notebook: NotebookId,
    pub(crate) device: DeviceId,
    pub(crate) key: DeviceKey,
    pub(crate) state: State,
}

/// What the writer keeps in memory; restored when a transaction fails.
#[derive(Debug, Clone)]
pub(crate) struct State {
    pub(crate) clock: Clock,
    pub(crate) own: SeriesHead,
    pub(crate) own_no: i64,
    /// Number of each known series.
    pub(crate) series: HashMap<DeviceId, i64>,
    /// Where series end by now that a parcel makes longer; written when it is in.
    pub(crate) heads: HashMap<i64, SeriesHead>,
    /// How many changes membership allows this device.
    allowed: u64,
    /// Greatest ids held: a greater one is new without asking the database.
    greatest_draft: DraftId,
    greatest_record: RecordId,
}

impl State {
    /// Reads what depends on which changes count: what this device may write, the newest stamp, the greatest ids.
    pub(crate) fn follow(&mut self, connection: &Connection) -> Result<(), StoreError> {
        let allowed: Option<i64> = connection
            .prepare_cached("SELECT allowed FROM standing WHERE series = ?1")?
            .query_row([self.own_no], |row| row.get(0))
            .optional()?;
        self.allowed = from_sql(allowed.unwrap_or(0));
        // Only changes that count move the clock: a stranger's stamp must not. The join is a CROSS JOIN, which SQLite
        // does not turn round, since by itself it reads the whole log here.
        let newest: Option<i64> = connection
            .prepare_cached(
                "SELECT max(c.stamp) FROM standing s CROSS JOIN changes c ON c.series = s.series AND c.seq = s.projected - 1",
            )?
            .query_row([], |row| row.get(0))?;
        self.clock.observe(Stamp(from_sql(newest.unwrap_or(0))));
        let greatest = |column: &str, table: &str| -> Result<[u8; 16], StoreError> {
            let sql = format!("SELECT max({column}) FROM \"{table}\"");
            let id: Option<[u8; 16]> = connection.prepare_cached(&sql)?.query_row([], |row| row.get(0))?;
            Ok(id.unwrap_or([0; 16]))
        };
        self.greatest_draft = DraftId::from_bytes(greatest("draft", "changes")?);
        let mut record = greatest("record", "other")?;
        for kind in storypole_notebook::kinds::KINDS {
            record = record.max(greatest("record", kind.name)?);
        }
        self.greatest_record = RecordId::from_bytes(record);
        Ok(())
    }
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
    /// Makes a new database for a copy of a notebook.
    ///
    /// # Errors
    /// [`StoreError::AlreadyThere`] when the database holds a copy already.
    pub fn create(path: &Path, key: DeviceKey, identity: &Identity) -> Result<Self, StoreError> {
        Self::create_at(&Location::file(path), key, identity)
    }

    /// The same, wherever it lies.
    ///
    /// # Errors
    /// As [`Self::create`].
    pub fn create_at(location: &Location, key: DeviceKey, identity: &Identity) -> Result<Self, StoreError> {
        let path = location.path();
        let mut connection = location.connect(OpenFlags::default())?;
        prepare(&mut connection, path)?;
        let there: bool = connection.query_row("SELECT EXISTS (SELECT 1 FROM copy)", [], |row| row.get(0))?;
        if there {
            return Err(StoreError::AlreadyThere { path: path.to_owned() });
        }
        connection.execute(
            "INSERT INTO copy (only, notebook, device, founder_key, instance, author)
             VALUES (1, ?1, ?2, ?3, ?4, ?5)",
            params![
                identity.notebook.as_bytes(),
                identity.device.as_bytes(),
                identity.founder_key.0,
                identity.instance,
                identity.author.as_bytes()
            ],
        )?;
        Self::start(connection, location, key)
    }

    /// Opens the database of a copy. Tables of another version are rebuilt first.
    ///
    /// # Errors
    /// [`StoreError`]: not a notebook, newer, damaged.
    pub fn open(path: &Path, key: DeviceKey) -> Result<Self, StoreError> {
        Self::open_at(&Location::file(path), key)
    }

    /// The same, wherever it lies.
    ///
    /// # Errors
    /// As [`Self::open`].
    pub fn open_at(location: &Location, key: DeviceKey) -> Result<Self, StoreError> {
        let path = location.path();
        let mut connection = location
            .connect(OpenFlags::SQLITE_OPEN_READ_WRITE)
            .map_err(|source| StoreError::Damaged { path: path.to_owned(), source })?;
        check_header(&connection, location)?;
        prepare(&mut connection, path)?;
        Self::start(connection, location, key)
    }

    fn start(connection: Connection, location: &Location, key: DeviceKey) -> Result<Self, StoreError> {
        let (notebook, device): ([u8; 16], [u8; 16]) = connection
            .query_row("SELECT notebook, device FROM copy", [], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?
            .ok_or_else(|| StoreError::NotANotebook { path: location.path().to_owned() })?;
        let (notebook, device) = (NotebookId::from_bytes(notebook), DeviceId::from_bytes(device));
        let mut store = Self {
            state: State {
                clock: Clock::default(),
                own: SeriesHead::empty(notebook, device),
                own_no: 0,
                series: HashMap::new(),
                heads: HashMap::new(),
                allowed: 0,
                greatest_draft: DraftId::from_bytes([0xff; 16]),
                greatest_record: RecordId::from_bytes([0xff; 16]),
            },
            connection,
            location: location.clone(),
            notebook,
            device,
            key,
        };
        store.load_state()?;
        if !schema::projection_is_current(&store.connection)? {
            store.rebuild(&mut |_| ())?;
        }
        store.state.follow(&store.connection)?;
        Ok(store)
    }

    fn load_state(&mut self) -> Result<(), StoreError> {
        let mut statement = self.connection.prepare("SELECT no, device, count, hash, stamp FROM series")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let (no, device): (i64, [u8; 16]) = (row.get(0)?, row.get(1)?);
            let device = DeviceId::from_bytes(device);
            self.state.series.insert(device, no);
            let stamp = Stamp(from_sql(row.get(4)?));
            if device == self.device {
                self.state.own =
                    SeriesHead { count: from_sql(row.get(2)?), hash: ChangeHash(row.get(3)?), stamp };
                self.state.own_no = no;
            }
        }
        drop(rows);
        drop(statement);
        self.state.clock.observe(self.state.own.stamp);
        if self.state.own_no == 0 {
            self.state.own_no = open_series(&self.connection, &self.state.own, self.device)?;
            self.state.series.insert(self.device, self.state.own_no);
        }
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
        self.location.path()
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
            let outcome = take_one(&transaction, &mut self.state, self.notebook, self.device, draft, now_ms)?;
            wrote |= matches!(outcome, Ok(Taken::New { .. }));
            outcomes.push(outcome);
        }
        if wrote {
            let own = &self.state.own;
            let signature = self.key.sign(self.notebook, self.device, own.count, own.hash);
            save_own(&transaction, &self.state, &signature)?;
            set_projected(&transaction, self.state.own_no, own.count)?;
            if membership {
                let last = last_change(&transaction)?;
                let arrived = Arrived { signatures: &[], forks_may_move: true };
                settle(&transaction, self.notebook, &self.state, &arrived, last)?;
                self.state.follow(&transaction)?;
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
        let mut forks_may_move = false;
        for bytes in &parcel.changes {
            match receive_one(&transaction, &mut self.state, self.notebook, self.device, bytes)? {
                Ok((device, arrival)) => forks_may_move |= received.count(device, &arrival),
                Err(stop) => {
                    received.stopped = Some(stop);
                    break;
                }
            }
        }
        for (no, head) in self.state.heads.drain() {
            save_head(&transaction, no, &head)?;
        }
        let arrived = Arrived { signatures: &parcel.signatures, forks_may_move };
        received.swapped = settle(&transaction, self.notebook, &self.state, &arrived, last_before)?;
        self.state.follow(&transaction)?;
        transaction.commit()?;
        Ok(received)
    }

    /// Whether this device may write: a member that is no viewer and was not revoked.
    pub fn may_write(&self) -> bool {
        self.state.own.count < self.state.allowed
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
        crate::Reader::open_at(&self.location)
    }

    /// How much of each series is held.
    ///
    /// # Errors
    /// Fails when SQLite does.
    pub fn vector(&self) -> Result<Vector, StoreError> {
        crate::read::vector(&self.connection)
    }

    /// Where the log stands.
    ///
    /// # Errors
    /// Fails when SQLite does.
    pub fn position(&self) -> Result<crate::read::Position, StoreError> {
        crate::read::position(&self.connection)
    }

    /// The connection, for checks that must see it as the writer does.
    pub(crate) fn connection(&self) -> &Connection {
        &self.connection
    }
}

fn prepare(connection: &mut Connection, path: &Path) -> Result<(), StoreError> {
    configure(connection)?;
    // Where the disk fails a read just now, SQLite stays with a journal and says nothing. `EXTRA` is `FULL` in WAL mode,
    // and with a journal it syncs the folder too, without which a power cut could undo what was acknowledged.
    connection
        .execute_batch(
            "PRAGMA journal_mode = WAL; PRAGMA synchronous = EXTRA; PRAGMA wal_autocheckpoint = 4000;",
        )
        .map_err(|source| damaged(path, source))?;
    schema::migrate(connection)
}

fn check_header(connection: &Connection, location: &Location) -> Result<(), StoreError> {
    let path = location.path();
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
    if !location.is_of_the_system() {
        return Ok(());
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

/// A count or stamp as SQLite holds it. Honest ones stay below 2^63; what a peer makes up ends there.
pub(crate) fn to_sql(number: u64) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

pub(crate) fn from_sql(number: i64) -> u64 {
    u64::try_from(number).unwrap_or(0)
}

pub(crate) fn open_series(
    connection: &Connection,
    head: &SeriesHead,
    device: DeviceId,
) -> Result<i64, StoreError> {
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

pub(crate) fn save_head(connection: &Connection, no: i64, head: &SeriesHead) -> Result<(), StoreError> {
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

/// Writes where this device's series ends, and the signature over it.
pub(crate) fn save_own(
    connection: &Connection,
    state: &State,
    signature: &SeriesSignature,
) -> Result<(), StoreError> {
    let (no, own) = (state.own_no, &state.own);
    connection
        .prepare_cached(
            "INSERT OR REPLACE INTO signatures (series, count, bytes, verified) VALUES (?1, ?2, ?3, 1)",
        )?
        .execute(params![no, to_sql(own.count), signature.encode()])?;
    save_head(connection, no, own)?;
    connection
        .prepare_cached("UPDATE series SET covered = ?2 WHERE no = ?1 AND covered < ?2")?
        .execute(params![no, to_sql(own.count)])?;
    Ok(())
}

/// Brings the tables to what counts now; returns the series whose held branch gave way to another.
pub(crate) fn settle(
    connection: &Connection,
    notebook: NotebookId,
    state: &State,
    arrived: &Arrived<'_>,
    last_before: i64,
) -> Result<Vec<DeviceId>, StoreError> {
    let here = Here { connection, notebook, founder_key: founder_key(connection)?, state };
    standing::verify_and_settle(&here, arrived, last_before)
}

pub(crate) fn founder_key(connection: &Connection) -> Result<PublicKey, StoreError> {
    Ok(PublicKey(connection.query_row("SELECT founder_key FROM copy", [], |row| row.get(0))?))
}

fn take_one(
    transaction: &Transaction<'_>,
    state: &mut State,
    notebook: NotebookId,
    device: DeviceId,
    draft: Draft,
    now_ms: u64,
) -> Result<Result<Taken, TakeError>, StoreError> {
    if let Err(error) = draft.check() {
        return Ok(Err(error.into()));
    }
    // Ids are time-ordered: one beyond the greatest held cannot be held.
    if draft.id <= state.greatest_draft {
        let held = held_contents(transaction, draft.id)?;
        if !held.is_empty() && !held.contains(&draft.content_hash()) {
            return Ok(Err(TakeError::Reused(draft.id)));
        }
        // One that is held only where it does not count (set aside, unsigned) is taken here too.
        if !held.is_empty() && project::carrier(transaction, draft.id)?.is_some() {
            return Ok(Ok(Taken::AlreadyHeld));
        }
    }
    // The founder's first change invites itself; nothing else can come before it.
    let founds = state.own.count == 0 && notebook.founder() == device && holds_membership(&draft);
    if state.own.count >= state.allowed && !founds {
        return Ok(Err(TakeError::MayNotWrite));
    }
    if !all_seen_held(transaction, &draft)? {
        return Ok(Err(TakeError::SeenUnknown(draft.id)));
    }
    let stamp = state.clock.tick(now_ms);
    let change = Change { device, seq: state.own.count, stamp, prev: state.own.hash, draft };
    let body = change.encode();
    let hash = ChangeHash::of(&body);
    let next = match state.own.extend(&change, hash) {
        Ok(next) => next,
        Err(source) => return Ok(Err(TakeError::NoLaterStamp(source))),
    };
    insert_change(transaction, None, state.own_no, &change, &hash, &body)?;
    project::project_new(transaction, &change, &mut state.greatest_record)?;
    state.greatest_draft = state.greatest_draft.max(change.draft.id);
    state.own = next;
    if founds {
        state.allowed = u64::MAX;
    }
    Ok(Ok(Taken::New { seq: change.seq }))
}

/// Writes a change into its series; under the next number of arrival, unless one is given.
pub(crate) fn insert_change(
    connection: &Connection,
    no: Option<i64>,
    series: i64,
    change: &Change,
    hash: &ChangeHash,
    body: &[u8],
) -> Result<(), StoreError> {
    connection
        .prepare_cached(
            "INSERT INTO changes (no, series, seq, stamp, draft, hash, body) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        )?
        .execute(params![
            no,
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

pub(crate) fn holds_membership(draft: &Draft) -> bool {
    draft.writes.iter().any(|write| write.kind.as_str() == membership::KIND)
}

/// The contents under which a draft id is held: one, unless someone used the id twice.
pub(crate) fn held_contents(connection: &Connection, id: DraftId) -> Result<Vec<ChangeHash>, StoreError> {
    let mut statement = connection.prepare_cached("SELECT body FROM changes WHERE draft = ?1")?;
    let mut contents = Vec::new();
    let mut rows = statement.query([id.as_bytes()])?;
    while let Some(row) = rows.next()? {
        contents.push(decode(row.get_ref(0)?.as_blob().unwrap_or_default())?.draft.content_hash());
    }
    Ok(contents)
}

/// Whether every write that the draft has seen is held: the draft, and a write of that index in it.
fn all_seen_held(connection: &Connection, draft: &Draft) -> Result<bool, StoreError> {
    let mut all_seen = draft.writes.iter().flat_map(|write| &write.seen).peekable();
    if all_seen.peek().is_none() {
        return Ok(true);
    }
    let mut statement = connection.prepare_cached("SELECT body FROM changes WHERE draft = ?1")?;
    let mut counts: HashMap<DraftId, usize> = HashMap::new();
    for seen in all_seen {
        let count = match counts.get(&seen.draft) {
            Some(count) => *count,
            None => {
                let bodies = statement.query_map([seen.draft.as_bytes()], |row| row.get(0))?;
                let bodies = bodies.collect::<Result<Vec<Vec<u8>>, _>>()?;
                let mut most = 0;
                for body in bodies {
                    most = most.max(decode(&body)?.draft.writes.len());
                }
                *counts.entry(seen.draft).or_insert(most)
            }
        };
        if seen.index as usize >= count {
            return Ok(false);
        }
    }
    Ok(true)
}

pub(crate) fn decode(body: &[u8]) -> Result<Change, StoreError> {
    Change::decode(body).map_err(|_| StoreError::Undecodable { what: "a change" })
}
