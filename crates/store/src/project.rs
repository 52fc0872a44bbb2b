//! How changes become rows: a pure fold of the set of changes that count, kept up change by change.
//!
//! Beside each row stands the state of its registers ([`RecordState`]), so that the next change needs one row
//! and not the whole history. Where that is not enough (a draft that turns up in a second series, changes that
//! membership sets aside or lets in again), the record is folded anew from the log; both give the same row.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::LazyLock;

use rusqlite::types::Value as Sql;
use rusqlite::{Connection, OptionalExtension, params, params_from_iter};

use storypole_journal::register::FieldState;
use storypole_journal::{
    Change, DraftId, Name, Payload, Place, RecordId, RecordState, Write, WriteId, WrittenAt,
};
use storypole_notebook::compose::STRUCK;
use storypole_notebook::{FieldSpec, FieldType, KindSpec, Value};

use crate::store::decode;
use crate::{StoreError, columns, schema};

/// One write with where it stands and who wrote it when.
pub(crate) struct Placed {
    pub(crate) id: WriteId,
    pub(crate) place: Place,
    pub(crate) written_at: WrittenAt,
    pub(crate) author: RecordId,
    pub(crate) write: Write,
}

/// Projects a change whose draft no other series carries. A record beyond `greatest` is not held yet, since
/// ids are time-ordered; `greatest` follows.
pub(crate) fn project_new(
    connection: &Connection,
    change: &Change,
    greatest: &mut RecordId,
) -> Result<(), StoreError> {
    for group in groups(change) {
        let may_be_held = group.record() <= *greatest;
        match KindSpec::find(group.kind().as_str()) {
            Some(spec) => apply(connection, spec, group, may_be_held)?,
            None => apply_other(connection, group)?,
        }
        // A record of two kinds is looked up for the second, as it stands at the greatest id now.
        *greatest = group.record().max(*greatest);
    }
    Ok(())
}

/// Other changes that count as projected and carry the same draft.
pub(crate) fn twins(connection: &Connection, no: i64, change: &Change) -> Result<Vec<Change>, StoreError> {
    let mut statement = connection.prepare_cached(
        "SELECT c.body FROM changes c JOIN standing s ON s.series = c.series
         WHERE c.draft = ?1 AND c.no <> ?2 AND c.seq < s.projected",
    )?;
    let mut rows = statement.query(params![change.draft.id.as_bytes(), no])?;
    let mut twins = Vec::new();
    while let Some(row) = rows.next()? {
        twins.push(decode(row.get_ref(0)?.as_blob().unwrap_or_default())?);
    }
    Ok(twins)
}

/// The greatest record that any table of a kind holds.
pub(crate) fn greatest_record(connection: &Connection) -> Result<RecordId, StoreError> {
    let mut greatest = [0; 16];
    for kind in storypole_notebook::kinds::KINDS {
        let sql = format!("SELECT max(record) FROM \"{}\"", kind.name);
        let of_kind: Option<[u8; 16]> = connection.prepare_cached(&sql)?.query_row([], |row| row.get(0))?;
        greatest = greatest.max(of_kind.unwrap_or_default());
    }
    Ok(RecordId::from_bytes(greatest))
}

pub(crate) type Touched = BTreeMap<RecordId, BTreeSet<Name>>;

pub(crate) fn records_of(change: &Change) -> Touched {
    let mut touched = Touched::new();
    for write in &change.draft.writes {
        touched.entry(write.record).or_default().insert(write.kind.clone());
    }
    touched
}

/// Writes of one record and kind that stand together in a draft; there is always at least one.
#[derive(Clone, Copy)]
pub(crate) struct Group<'a> {
    change: &'a Change,
    first_index: u32,
    writes: &'a [Write],
}

pub(crate) fn groups(change: &Change) -> impl Iterator<Item = Group<'_>> {
    let mut first_index = 0;
    let runs = change.draft.writes.chunk_by(|a, b| a.record == b.record && a.kind == b.kind);
    runs.map(move |writes| {
        let group = Group { change, first_index, writes };
        first_index += u32::try_from(writes.len()).expect("a draft holds fewer writes");
        group
    })
}

impl<'a> Group<'a> {
    pub(crate) fn record(&self) -> RecordId {
        self.writes[0].record
    }

    pub(crate) fn kind(&self) -> &'a Name {
        &self.writes[0].kind
    }

    fn place(&self) -> Place {
        Place { stamp: self.change.stamp, device: self.change.device }
    }

    /// The writes with their names.
    pub(crate) fn numbered(&self) -> impl Iterator<Item = (WriteId, &'a Write)> {
        let draft = self.change.draft.id;
        (self.first_index..).zip(self.writes).map(move |(index, write)| (WriteId { draft, index }, write))
    }

    pub(crate) fn apply_to(&self, state: &mut RecordState) {
        let draft = &self.change.draft;
        for (id, write) in self.numbered() {
            state.apply(id, self.place(), draft.written_at, draft.author, write);
        }
    }

    /// The value of a write, one of these or from the log.
    fn lookup(&self, connection: &Connection, id: WriteId) -> Result<Payload, StoreError> {
        match self.value_of(id) {
            Some(payload) => Ok(payload.clone()),
            None => payload_of(connection, id),
        }
    }

    /// The value of a write, if it is one of these.
    fn value_of(&self, id: WriteId) -> Option<&'a Payload> {
        let offset = id.index.checked_sub(self.first_index).filter(|_| id.draft == self.change.draft.id)?;
        self.writes.get(offset as usize).map(|write| &write.value)
    }
}

/// Applies the writes of one change to one row.
fn apply(
    connection: &Connection,
    spec: &'static KindSpec,
    group: Group<'_>,
    may_be_held: bool,
) -> Result<(), StoreError> {
    let record = group.record();
    let held = if may_be_held { read_state(connection, spec, record)? } else { None };
    let Some(mut row) = held else { return begin(connection, spec, group) };
    group.apply_to(&mut row.state);
    let changed = group.writes.iter().map(|write| write.field.as_str());
    update_row(connection, spec, record, row, changed, &|id| group.lookup(connection, id))
}

/// Writes the row of a record that no change wrote to before.
pub(crate) fn begin(
    connection: &Connection,
    spec: &'static KindSpec,
    group: Group<'_>,
) -> Result<(), StoreError> {
    let draft = &group.change.draft;
    match RecordState::encode_begun(draft, group.place(), group.first_index, group.writes) {
        Some(heads) => begin_row(connection, spec, group, heads),
        None => {
            let mut state = RecordState::default();
            group.apply_to(&mut state);
            let lookup = |id| group.lookup(connection, id);
            insert_row(connection, Insert::New, spec, group.record(), &state, &lookup)
        }
    }
}

/// Writes the row of a record that this change begins: every write is the one head of its field.
fn begin_row(
    connection: &Connection,
    spec: &'static KindSpec,
    group: Group<'_>,
    heads: Vec<u8>,
) -> Result<(), StoreError> {
    let draft = &group.change.draft;
    let mut row = NewRow::of(spec);
    for write in group.writes {
        let name = write.field.as_str();
        let place = row.place(name);
        let (value, unreadable) = read(&write.value, place.map(|(_, field)| &field.takes));
        row.show(name, place.map(|(index, _)| index), Shown { value, in_conflict: false, unreadable });
    }
    let first = (group.place(), draft.written_at, draft.author);
    row.write(connection, Insert::New, group.record(), Some(first), Sql::Null, heads)
}

/// Applies writes to a record of a kind that has no table: only its states are kept.
pub(crate) fn apply_other(connection: &Connection, group: Group<'_>) -> Result<(), StoreError> {
    let (kind, record) = (group.kind().as_str(), group.record());
    let mut state = read_other(connection, kind, record)?.unwrap_or_default();
    group.apply_to(&mut state);
    write_other(connection, kind, record, &state)
}

fn read_other(
    connection: &Connection,
    kind: &str,
    record: RecordId,
) -> Result<Option<RecordState>, StoreError> {
    let bytes: Option<Vec<u8>> = connection
        .prepare_cached("SELECT heads FROM other WHERE record = ?1 AND kind = ?2")?
        .query_row(params![record.as_bytes(), kind], |row| row.get(0))
        .optional()?;
    bytes.map(|bytes| decode_state(&bytes)).transpose()
}

fn write_other(
    connection: &Connection,
    kind: &str,
    record: RecordId,
    state: &RecordState,
) -> Result<(), StoreError> {
    connection
        .prepare_cached("INSERT OR REPLACE INTO other (record, kind, heads) VALUES (?1, ?2, ?3)")?
        .execute(params![record.as_bytes(), kind, state.encode()])?;
    Ok(())
}

fn decode_state(bytes: &[u8]) -> Result<RecordState, StoreError> {
    RecordState::decode(bytes).map_err(|_| StoreError::Undecodable { what: "the heads of a record" })
}

/// The value of a write, from the log.
pub(crate) fn payload_of(connection: &Connection, id: WriteId) -> Result<Payload, StoreError> {
    let draft = carrier(connection, id.draft)?;
    let write = draft.and_then(|change| change.draft.writes.into_iter().nth(id.index as usize));
    write.map(|write| write.value).ok_or(StoreError::Undecodable { what: "a write named by a head" })
}

/// The projected change with the least place that carries a draft.
pub(crate) fn carrier(connection: &Connection, draft: DraftId) -> Result<Option<Change>, StoreError> {
    let body: Option<Vec<u8>> = connection
        .prepare_cached(
            "SELECT c.body FROM changes c JOIN standing s ON s.series = c.series JOIN series d ON d.no = c.series
             WHERE c.draft = ?1 AND c.seq < s.projected ORDER BY c.stamp, d.device LIMIT 1",
        )?
        .query_row([draft.as_bytes()], |row| row.get(0))
        .optional()?;
    body.map(|body| decode(&body)).transpose()
}

/// A row's register states, and the lists kept beside them.
#[derive(Default)]
pub(crate) struct Held {
    pub(crate) state: RecordState,
    conflict: BTreeSet<String>,
    unreadable: BTreeSet<String>,
}

pub(crate) fn read_state(
    connection: &Connection,
    spec: &KindSpec,
    record: RecordId,
) -> Result<Option<Held>, StoreError> {
    let sql = format!("SELECT heads, conflict, unreadable FROM \"{}\" WHERE record = ?1", spec.name);
    let mut statement = connection.prepare_cached(&sql)?;
    let mut rows = statement.query([record.as_bytes()])?;
    let Some(row) = rows.next()? else { return Ok(None) };
    let state = decode_state(row.get_ref(0)?.as_blob().unwrap_or_default())?;
    let list =
        |text: Option<String>| text.unwrap_or_default().split_whitespace().map(str::to_owned).collect();
    Ok(Some(Held { state, conflict: list(row.get(1)?), unreadable: list(row.get(2)?) }))
}

/// What a register shows.
struct Shown {
    value: Option<Value>,
    in_conflict: bool,
    unreadable: bool,
}

fn show(
    field: &FieldState,
    takes: Option<&FieldType>,
    lookup: &dyn Fn(WriteId) -> Result<Payload, StoreError>,
) -> Result<Shown, StoreError> {
    if let [head] = field.heads.as_slice() {
        let (value, unreadable) = read(&lookup(head.write)?, takes);
        return Ok(Shown { value, in_conflict: false, unreadable });
    }
    let mut payloads: Vec<Payload> = Vec::with_capacity(2);
    for head in &field.heads {
        let payload = lookup(head.write)?;
        if !payloads.contains(&payload) {
            payloads.push(payload);
        }
    }
    // Heads stand with the greatest place first: that one is shown.
    let (value, unreadable) = payloads.first().map_or((None, false), |payload| read(payload, takes));
    Ok(Shown { value, in_conflict: payloads.len() > 1, unreadable })
}

/// The value of a payload, and whether it cannot be read as what the field takes.
fn read(payload: &Payload, takes: Option<&FieldType>) -> (Option<Value>, bool) {
    let legal = |value: &Value| takes.is_none_or(|takes| takes.check(value).is_ok());
    match Value::from_payload(payload) {
        Ok(None) => (None, false),
        Ok(Some(value)) if legal(&value) => (Some(value), false),
        _ => (None, true),
    }
}

fn list(names: &BTreeSet<String>) -> Sql {
    if names.is_empty() {
        return Sql::Null;
    }
    Sql::Text(names.iter().map(String::as_str).collect::<Vec<_>>().join(" "))
}

fn corrected(state: &RecordState) -> Sql {
    list(
        &state
            .fields
            .iter()
            .filter(|(_, field)| field.corrected)
            .map(|(name, _)| name.as_str().to_owned())
            .collect(),
    )
}

/// Whether a row is new or stands in place of one.
#[derive(Clone, Copy)]
enum Insert {
    New,
    Replace,
}

fn insert_row(
    connection: &Connection,
    how: Insert,
    spec: &'static KindSpec,
    record: RecordId,
    state: &RecordState,
    lookup: &dyn Fn(WriteId) -> Result<Payload, StoreError>,
) -> Result<(), StoreError> {
    let mut row = NewRow::of(spec);
    for (name, field) in &state.fields {
        let name = name.as_str();
        let place = row.place(name);
        let shown = show(field, place.map(|(_, field)| &field.takes), lookup)?;
        row.show(name, place.map(|(index, _)| index), shown);
    }
    row.write(connection, how, record, state.first, corrected(state), state.encode())
}

/// A whole row in the making.
struct NewRow {
    spec: &'static KindSpec,
    values: Vec<Option<Value>>,
    struck: Sql,
    conflict: BTreeSet<String>,
    unreadable: BTreeSet<String>,
    /// Where to look for the next field: writes mostly stand in the order of the fields.
    next: usize,
}

impl NewRow {
    fn of(spec: &'static KindSpec) -> Self {
        Self {
            spec,
            values: vec![None; spec.fields.len()],
            struck: Sql::Null,
            conflict: BTreeSet::new(),
            unreadable: BTreeSet::new(),
            next: 0,
        }
    }

    fn place(&mut self, name: &str) -> Option<(usize, &'static FieldSpec)> {
        let fields = self.spec.fields;
        let after = fields[self.next..].iter().position(|field| field.name == name).map(|at| at + self.next);
        let index = after.or_else(|| fields[..self.next].iter().position(|field| field.name == name))?;
        self.next = index + 1;
        Some((index, &fields[index]))
    }

    fn show(&mut self, name: &str, index: Option<usize>, shown: Shown) {
        mark(&mut self.conflict, name, shown.in_conflict);
        mark(&mut self.unreadable, name, shown.unreadable);
        match index {
            Some(index) => self.values[index] = shown.value,
            None if name == STRUCK => {
                self.struck = shown.value.map_or(Sql::Null, |value| Sql::Text(value.to_string()));
            }
            // Of a field unknown to this version only the heads are kept, for when it is known.
            None => (),
        }
    }

    fn write(
        self,
        connection: &Connection,
        how: Insert,
        record: RecordId,
        first: Option<(Place, WrittenAt, RecordId)>,
        corrected: Sql,
        heads: Vec<u8>,
    ) -> Result<(), StoreError> {
        let (written_ms, offset_min, author) = first_written(first);
        let mut columns: Vec<Sql> = Vec::with_capacity(2 * self.spec.fields.len() + 9);
        columns.extend([
            Sql::Blob(record.as_bytes().to_vec()),
            self.struck,
            corrected,
            list(&self.conflict),
            list(&self.unreadable),
            written_ms,
            offset_min,
            author,
            Sql::Blob(heads),
        ]);
        for (field, value) in self.spec.fields.iter().zip(self.values) {
            columns::push(&field.takes, value, &mut columns);
        }
        let mut statement = connection.prepare_cached(insert_sql(how, self.spec))?;
        // Most columns of most rows are empty, and what is not bound is NULL.
        for (index, column) in (1..).zip(&columns) {
            if *column != Sql::Null {
                statement.raw_bind_parameter(index, column)?;
            }
        }
        statement.raw_execute()?;
        Ok(())
    }
}

/// The statement that writes a whole row, made once per kind. Columns stand in the order they were made in.
fn insert_sql(how: Insert, spec: &'static KindSpec) -> &'static str {
    static SQL: LazyLock<HashMap<&'static str, [String; 2]>> = LazyLock::new(|| {
        let statements = |kind: &KindSpec| {
            let marks = vec!["?"; schema::column_names(kind).len()].join(",");
            ["INSERT", "REPLACE"].map(|verb| format!("{verb} INTO \"{}\" VALUES ({marks})", kind.name))
        };
        storypole_notebook::kinds::KINDS.iter().map(|kind| (kind.name, statements(kind))).collect()
    });
    let [insert, replace] = &SQL[spec.name];
    match how {
        Insert::New => insert,
        Insert::Replace => replace,
    }
}

fn first_written(first: Option<(Place, WrittenAt, RecordId)>) -> (Sql, Sql, Sql) {
    match first {
        None => (Sql::Null, Sql::Null, Sql::Null),
        Some((_, written_at, author)) => (
            Sql::Integer(written_at.unix_ms),
            Sql::Integer(i64::from(written_at.offset_min)),
            Sql::Blob(author.as_bytes().to_vec()),
        ),
    }
}

pub(crate) fn update_row<'a>(
    connection: &Connection,
    spec: &'static KindSpec,
    record: RecordId,
    row: Held,
    changed: impl Iterator<Item = &'a str>,
    lookup: &dyn Fn(WriteId) -> Result<Payload, StoreError>,
) -> Result<(), StoreError> {
    let Held { state, mut conflict, mut unreadable } = row;
    let mut sets = String::new();
    let mut values: Vec<Sql> = Vec::new();
    for name in changed {
        let Some(field) = state.field(name) else { continue };
        let spec_field = spec.field(name).map(|(_, field)| field);
        let shown = show(field, spec_field.map(|field| &field.takes), lookup)?;
        mark(&mut conflict, name, shown.in_conflict);
        mark(&mut unreadable, name, shown.unreadable);
        if name == STRUCK {
            sets.push_str("struck = ?, ");
            values.push(shown.value.map_or(Sql::Null, |value| Sql::Text(value.to_string())));
        } else if let Some(field) = spec_field {
            for (column, _) in schema::columns_of(field.name, &field.takes) {
                sets.push_str(&format!("\"{column}\" = ?, "));
            }
            columns::push(&field.takes, shown.value, &mut values);
        }
    }
    let (written_ms, offset_min, author) = first_written(state.first);
    let sql = format!(
        "UPDATE \"{}\" SET {sets}corrected = ?, conflict = ?, unreadable = ?, written_ms = ?, written_offset_min = ?,
         author = ?, heads = ? WHERE record = ?",
        spec.name
    );
    values.extend([
        corrected(&state),
        list(&conflict),
        list(&unreadable),
        written_ms,
        offset_min,
        author,
        Sql::Blob(state.encode()),
        Sql::Blob(record.as_bytes().to_vec()),
    ]);
    connection.prepare_cached(&sql)?.execute(params_from_iter(values))?;
    Ok(())
}

fn mark(names: &mut BTreeSet<String>, name: &str, on: bool) {
    if on {
        names.insert(name.to_owned());
    } else if !names.is_empty() {
        names.remove(name);
    }
}

/// Folds records anew from every projected draft that wrote to them, and those in `more`.
pub(crate) fn refold_all(
    connection: &Connection,
    touched: Touched,
    more: &[DraftId],
) -> Result<(), StoreError> {
    for (record, kinds) in touched {
        for kind in kinds {
            refold(connection, record, &kind, more)?;
        }
    }
    Ok(())
}

pub(crate) fn refold(
    connection: &Connection,
    record: RecordId,
    kind: &Name,
    more: &[DraftId],
) -> Result<(), StoreError> {
    let placed = placed_writes(connection, record, kind.as_str(), more)?;
    let state = RecordState::fold(
        placed
            .iter()
            .map(|placed| (placed.id, placed.place, placed.written_at, placed.author, &placed.write)),
    );
    match (KindSpec::find(kind.as_str()), placed.is_empty()) {
        (Some(spec), true) => {
            let sql = format!("DELETE FROM \"{}\" WHERE record = ?1", spec.name);
            connection.prepare_cached(&sql)?.execute([record.as_bytes()])?;
        }
        (None, true) => {
            connection
                .prepare_cached("DELETE FROM other WHERE record = ?1 AND kind = ?2")?
                .execute(params![record.as_bytes(), kind.as_str()])?;
        }
        (Some(spec), false) => {
            let payloads: HashMap<WriteId, &Payload> =
                placed.iter().map(|placed| (placed.id, &placed.write.value)).collect();
            let lookup = |id: WriteId| {
                let payload = payloads.get(&id).map(|payload| (*payload).clone());
                payload.ok_or(StoreError::Undecodable { what: "a write named by a head" })
            };
            insert_row(connection, Insert::Replace, spec, record, &state, &lookup)?;
        }
        (None, false) => write_other(connection, kind.as_str(), record, &state)?,
    }
    Ok(())
}

/// Every projected write on a record of a kind, each draft once at its least place: those of the drafts that
/// its state names, and of `more`.
pub(crate) fn placed_writes(
    connection: &Connection,
    record: RecordId,
    kind: &str,
    more: &[DraftId],
) -> Result<Vec<Placed>, StoreError> {
    let state = match KindSpec::find(kind) {
        Some(spec) => read_state(connection, spec, record)?.map(|held| held.state),
        None => read_other(connection, kind, record)?,
    };
    let mut drafts = state.map(|state| state.drafts()).unwrap_or_default();
    drafts.extend(more);
    let mut placed = Vec::new();
    for draft in drafts {
        let Some(change) = carrier(connection, draft)? else { continue };
        let place = Place { stamp: change.stamp, device: change.device };
        let (written_at, author) = (change.draft.written_at, change.draft.author);
        for (index, write) in (0_u32..).zip(change.draft.writes) {
            if write.record == record && write.kind.as_str() == kind {
                placed.push(Placed { id: WriteId { draft, index }, place, written_at, author, write });
            }
        }
    }
    Ok(placed)
}

/// The kinds under which a record is known, with or without a table.
pub(crate) fn kinds_of(connection: &Connection, record: RecordId) -> Result<Vec<String>, StoreError> {
    let mut kinds: Vec<String> = Vec::new();
    for kind in storypole_notebook::kinds::KINDS {
        let sql = format!("SELECT EXISTS (SELECT 1 FROM \"{}\" WHERE record = ?1)", kind.name);
        if connection.prepare_cached(&sql)?.query_row([record.as_bytes()], |row| row.get(0))? {
            kinds.push(kind.name.to_owned());
        }
    }
    let mut statement =
        connection.prepare_cached("SELECT kind FROM other WHERE record = ?1 ORDER BY kind")?;
    let others = statement.query_map([record.as_bytes()], |row| row.get(0))?;
    kinds.extend(others.collect::<Result<Vec<String>, _>>()?);
    Ok(kinds)
}
