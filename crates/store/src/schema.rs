//! Migrations of the log's tables, and the projected tables made from the kinds of `notebook`.
//!
//! The log's tables are written by hand in `migrations/` and never edited once merged. The projected tables
//! are disposable, so they are made from [`KINDS`] and carry a version: when it differs, they are dropped and
//! rebuilt from the log, which is also how fields unknown to an older version appear after an upgrade.

use rusqlite::Connection;
use storypole_notebook::kinds::KINDS;
use storypole_notebook::{FieldType, KindSpec};

use crate::StoreError;

/// Marks the file as a notebook of this program (`PRAGMA application_id`).
pub const APPLICATION_ID: i64 = 0x5374_506C;

/// The migrations, oldest first.
pub const MIGRATIONS: &[&str] = &[
    include_str!("../../../migrations/0001_log.sql"),
    include_str!("../../../migrations/0002_sessions.sql"),
    include_str!("../../../migrations/0003_devices.sql"),
];

/// Raised when the way rows are computed changes without a change of the kinds.
const PROJECTION_RULES: u32 = 1;

/// Brings the log's tables up to this version.
///
/// # Errors
/// Fails when SQLite does; each migration is one transaction.
pub fn migrate(connection: &mut Connection) -> Result<(), StoreError> {
    let done: i64 = connection.pragma_query_value(None, "user_version", |row| row.get(0))?;
    for (index, migration) in MIGRATIONS.iter().enumerate().skip(usize::try_from(done).unwrap_or(0)) {
        let transaction = connection.transaction()?;
        transaction.execute_batch(migration)?;
        transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
        transaction.pragma_update(None, "user_version", index as i64 + 1)?;
        transaction.commit()?;
    }
    Ok(())
}

/// The version of the projected tables: a hash of every kind, field and type, and of the rules.
pub fn projection_version() -> String {
    let mut hasher = blake3::Hasher::new();
    hasher.update(&PROJECTION_RULES.to_le_bytes());
    hasher.update(format!("{INDEXES:?}").as_bytes());
    for kind in KINDS {
        hasher.update(kind.name.as_bytes()).update(b"\0");
        for field in kind.fields {
            hasher.update(format!("{} {:?}\0", field.name, field.takes).as_bytes());
        }
    }
    hasher.finalize().to_hex()[..16].to_owned()
}

/// Fields by which records of a kind are looked up: kind and field.
pub const INDEXES: &[(&str, &str)] = &[("reading", "set"), ("found", "set"), ("line", "receipt")];

/// Columns every projected table has before those of its fields.
pub const COMMON: &[(&str, &str)] = &[
    ("record", "BLOB PRIMARY KEY NOT NULL"),
    // Why it was struck.
    ("struck", "TEXT"),
    // Names of the fields corrected with a reason, in conflict, or holding a value that cannot be read.
    ("corrected", "TEXT"),
    ("conflict", "TEXT"),
    ("unreadable", "TEXT"),
    // When its first write was written, and by whom.
    ("written_ms", "INTEGER"),
    ("written_offset_min", "INTEGER"),
    ("author", "BLOB"),
    // The heads of every register, as `journal::RecordState` encodes them.
    ("heads", "BLOB NOT NULL"),
];

/// The columns of one field: name and type.
pub fn columns_of(name: &str, takes: &FieldType) -> Vec<(String, &'static str)> {
    let one = |kind| vec![(name.to_owned(), kind)];
    match takes {
        FieldType::Text(_)
        | FieldType::Choice(_)
        | FieldType::Part(_)
        | FieldType::Bands
        | FieldType::Date
        | FieldType::Decimal(..) => one("TEXT"),
        FieldType::Integer(..) | FieldType::Length | FieldType::Flag => one("INTEGER"),
        FieldType::Reference(_) | FieldType::Hash => one("BLOB"),
        FieldType::Money => vec![(name.to_owned(), "TEXT"), (format!("{name}_currency"), "TEXT")],
        FieldType::Quantity | FieldType::Temperature => {
            vec![(name.to_owned(), "TEXT"), (format!("{name}_unit"), "TEXT")]
        }
        FieldType::Moment => vec![(name.to_owned(), "INTEGER"), (format!("{name}_offset_min"), "INTEGER")],
    }
}

/// Names of all columns of a kind's table, in order.
pub fn column_names(kind: &KindSpec) -> Vec<String> {
    let common = COMMON.iter().map(|(name, _)| (*name).to_owned());
    let fields = kind.fields.iter().flat_map(|field| columns_of(field.name, &field.takes));
    common.chain(fields.map(|(name, _)| name)).collect()
}

/// Tables that hold the log and what only this copy knows; every other table is a projection.
const KEPT: &[&str] = &[
    "copy",
    "series",
    "changes",
    "membership_changes",
    "signatures",
    "forked_changes",
    "sessions",
    "partners",
    "settings",
];

/// Makes the projected tables anew, empty; tables of kinds that are gone are dropped.
///
/// # Errors
/// Fails when SQLite does.
pub fn recreate_projection(connection: &Connection) -> Result<(), StoreError> {
    let generation = generation(connection)? + 1;
    let tables: Vec<String> = connection
        .prepare("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")?
        .query_map([], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    let mut sql = String::new();
    for table in tables.iter().filter(|table| !KEPT.contains(&table.as_str())) {
        sql.push_str(&format!("DROP TABLE \"{table}\";"));
    }
    sql.push_str(
        "CREATE TABLE projection (
             only INTEGER PRIMARY KEY CHECK (only = 1),
             version TEXT NOT NULL,
             -- Raised whenever rows change for another reason than a new change in the log.
             generation INTEGER NOT NULL
         ) STRICT;
         -- Register states of records of kinds that have no table: unknown ones, and membership.
         CREATE TABLE other (
             record BLOB NOT NULL, kind TEXT NOT NULL, heads BLOB NOT NULL, PRIMARY KEY (record, kind)
         ) STRICT, WITHOUT ROWID;
         -- How much of each series is projected, and how much membership allows.
         CREATE TABLE standing (
             series INTEGER PRIMARY KEY, projected INTEGER NOT NULL, allowed INTEGER NOT NULL
         ) STRICT;",
    );
    for kind in KINDS {
        let fields = kind.fields.iter().flat_map(|field| columns_of(field.name, &field.takes));
        let columns: Vec<String> = COMMON
            .iter()
            .map(|(name, ty)| format!("\"{name}\" {ty}"))
            .chain(fields.map(|(name, ty)| format!("\"{name}\" {ty}")))
            .collect();
        sql.push_str(&format!(
            "DROP TABLE IF EXISTS \"{0}\"; CREATE TABLE \"{0}\" ({1}) STRICT, WITHOUT ROWID;",
            kind.name,
            columns.join(", ")
        ));
    }
    for (kind, field) in INDEXES {
        sql.push_str(&format!("CREATE INDEX \"{kind}_by_{field}\" ON \"{kind}\" (\"{field}\");"));
    }
    connection.execute_batch(&sql)?;
    connection.execute(
        "INSERT INTO projection (only, version, generation) VALUES (1, ?1, ?2)",
        rusqlite::params![projection_version(), generation],
    )?;
    Ok(())
}

/// Whether the projected tables are there and of this version.
///
/// # Errors
/// Fails when SQLite does.
pub fn projection_is_current(connection: &Connection) -> Result<bool, StoreError> {
    if !projection_exists(connection)? {
        return Ok(false);
    }
    let version: String = connection.query_row("SELECT version FROM projection", [], |row| row.get(0))?;
    Ok(version == projection_version())
}

fn projection_exists(connection: &Connection) -> Result<bool, StoreError> {
    let sql = "SELECT EXISTS (SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'projection')";
    Ok(connection.prepare_cached(sql)?.query_row([], |row| row.get(0))?)
}

/// How often rows changed for another reason than a new change in the log; 0 before there are tables.
///
/// # Errors
/// Fails when SQLite does.
pub fn generation(connection: &Connection) -> Result<i64, StoreError> {
    if !projection_exists(connection)? {
        return Ok(0);
    }
    Ok(connection.prepare_cached("SELECT generation FROM projection")?.query_row([], |row| row.get(0))?)
}
