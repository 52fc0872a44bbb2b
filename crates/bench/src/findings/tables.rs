//! The same rows in the tables of a notebook, and the plain SQL that findings stand beside.

use std::path::Path;

use rusqlite::functions::FunctionFlags;
use rusqlite::types::Value as Sql;
use rusqlite::{Connection, params_from_iter};
use storypole_notebook::{Row, Value};
use storypole_store::schema;

/// Energy mean of the readings of every set and role, with what the set is of.
const ENERGY_MEANS: &str = "
    SELECT s.label, a.label, r.role, count(*), 10 * log10(avg(pow(10, CAST(r.value AS REAL) / 10)))
    FROM reading r JOIN \"set\" s ON s.record = r.\"set\" LEFT JOIN assembly a ON a.record = s.assembly
    WHERE r.struck IS NULL AND s.struck IS NULL
    GROUP BY r.\"set\", r.role";

/// Rows of a transaction.
const GROUP: usize = 10_000;

/// Fills the projected tables of a notebook that is there; the log stays as it is.
pub fn fill(database: &Path, rows: &[Row]) {
    let connection = open(database);
    connection.set_prepared_statement_cache_capacity(64);
    for group in rows.chunks(GROUP) {
        let transaction = connection.unchecked_transaction().expect("a transaction");
        for row in group {
            insert(&transaction, row);
        }
        transaction.commit().expect("a commit");
    }
}

fn insert(connection: &Connection, row: &Row) {
    let mut names = vec!["record".to_owned(), "heads".to_owned()];
    let mut values = vec![Sql::Blob(row.id.as_bytes().to_vec()), Sql::Blob(Vec::new())];
    for (field, value) in row.kind.fields.iter().zip(&row.values) {
        let Some(value) = value else { continue };
        names.extend(schema::columns_of(field.name, &field.takes).into_iter().map(|(name, _)| name));
        columns(value, &mut values);
    }
    let (marks, names) = (vec!["?"; names.len()].join(", "), names.join("\", \""));
    connection
        .prepare_cached(&format!("INSERT INTO \"{}\" (\"{names}\") VALUES ({marks})", row.kind.name))
        .and_then(|mut statement| statement.execute(params_from_iter(values)))
        .expect("a row of its kind");
}

fn columns(value: &Value, into: &mut Vec<Sql>) {
    match value {
        Value::Integer(number) => into.push(Sql::Integer(*number)),
        Value::Record(id) => into.push(Sql::Blob(id.as_bytes().to_vec())),
        Value::Quantity(quantity) => {
            into.push(Sql::Text(quantity.number().to_string()));
            into.push(Sql::Text(quantity.unit().to_string()));
        }
        other => into.push(Sql::Text(other.to_string())),
    }
}

/// Runs the plain SQL and tells how many groups it gave.
pub fn energy_means(database: &Path) -> usize {
    let connection = open(database);
    let mut statement = connection.prepare(ENERGY_MEANS).expect("legal SQL");
    let mut rows = statement.query([]).expect("a result");
    let (mut groups, mut total_db) = (0, 0.0);
    while let Some(row) = rows.next().expect("a row") {
        total_db += row.get::<_, f64>(4).expect("a level");
        groups += 1;
    }
    assert!(f64::is_finite(total_db), "every group has a level");
    groups
}

/// A connection that knows the two functions the bundled SQLite is built without.
fn open(database: &Path) -> Connection {
    let connection = Connection::open(database).expect("a database");
    connection.execute_batch("PRAGMA cache_size = -262144; PRAGMA synchronous = OFF;").expect("settings");
    let flags = FunctionFlags::SQLITE_UTF8 | FunctionFlags::SQLITE_DETERMINISTIC;
    connection
        .create_scalar_function("pow", 2, flags, |of| Ok(of.get::<f64>(0)?.powf(of.get::<f64>(1)?)))
        .and_then(|()| {
            connection.create_scalar_function("log10", 1, flags, |of| Ok(of.get::<f64>(0)?.log10()))
        })
        .expect("two functions");
    connection
}
