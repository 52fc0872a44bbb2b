//! How fast changes become durable and queryable, beside raw SQLite that writes the same bytes and rows.
//!
//! The peer gets everything ready made: encoded bodies, hashes, column values. It inserts each body into a log
//! table with the same two indexes and each record into a typed table with the same indexes, 1000 changes a transaction, WAL,
//! `synchronous=FULL`. The product does all of its work inside the time: checks, clock, encoding, hashing,
//! signing, registers, rows. The drafts are written now, as a crew's are: their ids are newer than what is held.

use std::path::Path;
use std::time::{Duration, Instant};

use rusqlite::types::Value as Sql;
use rusqlite::{Connection, params, params_from_iter};
use storypole_desk::{Desk, Founding, edge};
use storypole_journal::{Draft, WrittenAt, change};
use storypole_notebook::{KindSpec, Value};
use storypole_testkit::Drafts;
use storypole_units::Currency;

const GROUP: usize = 1_000;
const SINGLE: usize = 400;

fn drafts(seed: u64) -> Drafts {
    Drafts::starting(seed, i64::try_from(edge::now_ms()).expect("a clock before the year 292277026"))
}

/// Runs both sides and prints their ratio.
pub fn run(count: usize) {
    println!("ingest: {count} changes, {GROUP} a transaction, WAL, synchronous=FULL");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let peer = bulk_peer(&folder.path().join("peer.db"), count);
    report("raw rusqlite", count, peer);
    let desk = desk(&folder.path().join("desk"));
    let (before, product) = (resident_mb(), bulk_product(&desk, count));
    report("storypole", count, product);
    println!(
        "ratio (storypole / raw rusqlite): {:.2}  (aim: at least 0.60)",
        peer.as_secs_f64() / product.as_secs_f64()
    );
    println!(
        "memory growth of the product: {:.0} MB  (aim: under 100 MB at 1,000,000)",
        resident_mb() - before
    );
    let digest = desk.digest().expect("a digest");
    println!("changes held: {}, all readable: {}", digest.changes, digest.changes == count as u64 + 1);

    println!("\none durable change at a time: {SINGLE} each, alternating");
    single(&folder.path().join("single.db"), &desk);
}

fn report(name: &str, count: usize, time: Duration) {
    println!(
        "{name:>14}: {:>7.2} s  {:>9.0} changes/s",
        time.as_secs_f64(),
        count as f64 / time.as_secs_f64()
    );
}

/// A new notebook for a benchmark.
pub fn desk(path: &Path) -> Desk {
    let founding = Founding {
        name: "bench".to_owned(),
        currency: Currency::parse("USD").expect("a code of ISO 4217"),
        role: "site lead".to_owned(),
        label: "lead".to_owned(),
        device_label: "bench".to_owned(),
        written_at: WrittenAt { unix_ms: 1_741_089_600_000, offset_min: 0 },
    };
    Desk::found(path, &founding).expect("a new notebook")
}

fn bulk_product(desk: &Desk, count: usize) -> Duration {
    let mut drafts = drafts(1);
    let mut spent = Duration::ZERO;
    for start in (0..count).step_by(GROUP) {
        let group: Vec<Draft> = drafts.by_ref().take(GROUP.min(count - start)).collect();
        let begun = Instant::now();
        let outcomes = desk.take_all(group).expect("the database takes them");
        spent += begun.elapsed();
        assert!(outcomes.iter().all(Result::is_ok), "every generated draft is legal");
    }
    spent
}

/// A change as the peer writes it.
struct Ready {
    stamp: i64,
    draft: Vec<u8>,
    hash: [u8; 32],
    body: Vec<u8>,
    rows: Vec<(&'static KindSpec, Vec<Sql>)>,
    updates: Vec<(Vec<u8>, Sql)>,
}

fn ready(draft: &Draft, stamp: i64) -> Ready {
    let body = change::encode_draft(draft);
    let mut rows: Vec<(&'static KindSpec, Vec<Sql>)> = Vec::new();
    let mut updates = Vec::new();
    let mut last = None;
    for write in &draft.writes {
        let kind = KindSpec::find(write.kind.as_str()).expect("a kind of this version");
        let value = Value::from_payload(&write.value).expect("a legal value");
        let sql = value.map_or(Sql::Null, |value| match value {
            Value::Integer(number) => Sql::Integer(number),
            Value::Record(id) => Sql::Blob(id.as_bytes().to_vec()),
            other => Sql::Text(other.to_string()),
        });
        if !write.seen.is_empty() {
            updates.push((write.record.as_bytes().to_vec(), sql));
            continue;
        }
        if last != Some(write.record) {
            let mut columns = vec![Sql::Null; kind.fields.len() + 1];
            columns[0] = Sql::Blob(write.record.as_bytes().to_vec());
            rows.push((kind, columns));
            last = Some(write.record);
        }
        let (index, _) = kind.field(write.field.as_str()).expect("a field of this version");
        rows.last_mut().expect("a row was begun").1[index + 1] = sql;
    }
    let hash = *blake3_of(&body);
    Ready { stamp, draft: draft.id.as_bytes().to_vec(), hash, body, rows, updates }
}

fn blake3_of(body: &[u8]) -> Box<[u8; 32]> {
    Box::new(storypole_journal::ChangeHash::of(body).0)
}

fn peer_database(path: &Path) -> Connection {
    let connection = Connection::open(path).expect("a database");
    connection.set_prepared_statement_cache_capacity(256);
    let mut sql = String::from(
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA wal_autocheckpoint = 4000; PRAGMA cache_size = -16384;
         CREATE TABLE log (no INTEGER PRIMARY KEY, series INTEGER, seq INTEGER, stamp INTEGER, draft BLOB, hash BLOB,
                           body BLOB, UNIQUE (series, seq));
         CREATE INDEX log_by_draft ON log (draft);",
    );
    for kind in storypole_notebook::kinds::KINDS {
        let columns: Vec<String> = kind.fields.iter().map(|field| format!("\"{}\"", field.name)).collect();
        sql.push_str(&format!(
            "CREATE TABLE \"{}\" (record BLOB PRIMARY KEY, {}) WITHOUT ROWID;",
            kind.name,
            columns.join(", ")
        ));
    }
    for (kind, field) in storypole_store::schema::INDEXES {
        sql.push_str(&format!("CREATE INDEX \"{kind}_by_{field}\" ON \"{kind}\" (\"{field}\");"));
    }
    connection.execute_batch(&sql).expect("tables");
    connection
}

fn peer_write(connection: &Connection, seq: i64, ready: &Ready) -> rusqlite::Result<()> {
    connection
        .prepare_cached(
            "INSERT INTO log (series, seq, stamp, draft, hash, body) VALUES (1, ?1, ?2, ?3, ?4, ?5)",
        )?
        .execute(params![seq, ready.stamp, ready.draft, ready.hash, ready.body])?;
    for (kind, columns) in &ready.rows {
        let marks = vec!["?"; columns.len()].join(", ");
        connection
            .prepare_cached(&format!("INSERT INTO \"{}\" VALUES ({marks})", kind.name))?
            .execute(params_from_iter(columns))?;
    }
    for (record, value) in &ready.updates {
        connection
            .prepare_cached("UPDATE task SET state = ?2 WHERE record = ?1")?
            .execute(params![record, value])?;
    }
    Ok(())
}

fn bulk_peer(path: &Path, count: usize) -> Duration {
    let connection = peer_database(path);
    let mut drafts = drafts(1);
    let mut spent = Duration::ZERO;
    for start in (0..count).step_by(GROUP) {
        let base = i64::try_from(start).expect("a count");
        let group: Vec<Ready> = (base..)
            .zip(drafts.by_ref().take(GROUP.min(count - start)))
            .map(|(stamp, draft)| ready(&draft, stamp))
            .collect();
        let begun = Instant::now();
        let transaction = connection.unchecked_transaction().expect("a transaction");
        for (seq, ready) in (base..).zip(&group) {
            peer_write(&transaction, seq, ready).expect("an insert");
        }
        transaction.commit().expect("a commit");
        spent += begun.elapsed();
    }
    spent
}

fn single(path: &Path, desk: &Desk) {
    let connection = peer_database(path);
    let (mut peer, mut product) = (Vec::new(), Vec::new());
    // Another seed than the bulk part, so that every draft is new to both sides.
    for (seq, draft) in (0_i64..).zip(drafts(2).take(SINGLE)) {
        let ready = ready(&draft, seq);
        let begun = Instant::now();
        let transaction = connection.unchecked_transaction().expect("a transaction");
        peer_write(&transaction, seq, &ready).expect("an insert");
        transaction.commit().expect("a commit");
        peer.push(begun.elapsed());
        let begun = Instant::now();
        desk.take(draft).expect("a legal draft");
        product.push(begun.elapsed());
    }
    let (peer, product) = (median(peer), median(product));
    println!("  raw rusqlite median {:>8.0} µs", peer.as_secs_f64() * 1e6);
    println!("     storypole median {:>8.0} µs", product.as_secs_f64() * 1e6);
    println!(
        "ratio (raw rusqlite / storypole): {:.2}  (aim: at least 0.80)",
        peer.as_secs_f64() / product.as_secs_f64()
    );
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

/// Memory of this process that is in RAM, MB; 0 where the system does not say.
fn resident_mb() -> f64 {
    let pages = std::fs::read_to_string("/proc/self/statm")
        .ok()
        .and_then(|text| text.split_whitespace().nth(1)?.parse::<f64>().ok());
    pages.unwrap_or(0.0) * 4096.0 / 1e6
}
