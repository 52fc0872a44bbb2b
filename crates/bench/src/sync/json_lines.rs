//! The plain way: a line of JSON per draft, compressed, and one row per write in SQLite.
//!
//! Two indexes are the least it takes: a draft that comes again must be noticed, and a record must be found. The rows
//! lie in the first. Nothing is signed, no register is kept, no conflict noticed, no value checked.

use std::path::Path;

use rusqlite::{Connection, params};
use serde_json::{Value as Json, json};
use storypole_journal::{Draft, DraftId, RecordId};

use super::content::{Probe, Scalar, Work, scalar, value};
use super::leg::Leg;

/// Drafts in one transaction: about as many as the product has in one batch.
const GROUP: usize = 10_000;

/// Compressed fast.
pub fn fast(work: &Work) -> [Leg; 2] {
    run(work, 3)
}

/// Compressed as far as zstd goes without its slowest settings.
pub fn small(work: &Work) -> [Leg; 2] {
    run(work, 19)
}

fn run(work: &Work, level: i32) -> [Leg; 2] {
    let there = database(&work.folder.join("lines.db"));
    let full = Leg::measure(|| carry(&there, level, &work.base, &work.base_probes));
    let more = Leg::measure(|| carry(&there, level, &work.more, &work.more_probes));
    let expected: usize = work.base.iter().chain(&work.more).map(|draft| draft.writes.len()).sum();
    let held: i64 =
        there.query_row("SELECT count(*) FROM written", [], |row| row.get(0)).expect("a table to count");
    assert_eq!(held, expected as i64, "all has arrived");
    [full, more]
}

fn carry(there: &Connection, level: i32, drafts: &[Draft], probes: &[Probe]) -> usize {
    let lines: String = drafts.iter().map(|draft| line(draft) + "\n").collect();
    let sent = zstd::bulk::compress(lines.as_bytes(), level).expect("memory to compress");
    let received = zstd::stream::decode_all(sent.as_slice()).expect("what was packed");
    let received = std::str::from_utf8(&received).expect("what was text before");
    let all: Vec<&str> = received.lines().collect();
    for group in all.chunks(GROUP) {
        let transaction = there.unchecked_transaction().expect("a transaction");
        group.iter().for_each(|line| insert(&transaction, line));
        transaction.commit().expect("a commit");
    }
    check(there, probes);
    sent.len()
}

/// A draft as one line, its writes grouped by record.
fn line(draft: &Draft) -> String {
    let groups = draft.writes.chunk_by(|a, b| a.record == b.record && a.kind == b.kind);
    let records: Vec<Json> = groups
        .map(|group| {
            let mut record = json!({"record": group[0].record.to_string(), "kind": group[0].kind.as_str()});
            for write in group {
                record[write.field.as_str()] = match scalar(&write.value) {
                    Scalar::Integer(number) => number.into(),
                    _ => value(&write.value).to_string().into(),
                };
                if let Some(seen) = write.seen.first() {
                    record["seen"] = json!([seen.draft.to_string(), seen.index]);
                }
            }
            record
        })
        .collect();
    json!({
        "id": draft.id.to_string(), "author": draft.author.to_string(), "written_ms": draft.written_at.unix_ms,
        "offset_min": draft.written_at.offset_min, "records": records,
    })
    .to_string()
}

fn database(path: &Path) -> Connection {
    let connection = Connection::open(path).expect("a database");
    connection
        .execute_batch(
            "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA wal_autocheckpoint = 4000;
             PRAGMA cache_size = -16384;
             CREATE TABLE written (
                 draft BLOB, place INTEGER, author BLOB, written_ms INTEGER, offset_min INTEGER, record BLOB,
                 kind TEXT, field TEXT, value, seen TEXT, PRIMARY KEY (draft, place)
             ) WITHOUT ROWID;
             CREATE INDEX written_by_record ON written (record, field);",
        )
        .expect("a table");
    connection
}

fn insert(connection: &Connection, line: &str) {
    let line: Json = serde_json::from_str(line).expect("a line of JSON");
    let draft: DraftId = text(&line["id"]).parse().expect("an id");
    let author: RecordId = text(&line["author"]).parse().expect("an id");
    let (written_ms, offset_min) = (line["written_ms"].as_i64(), line["offset_min"].as_i64());
    let mut statement = connection
        .prepare_cached("INSERT OR IGNORE INTO written VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)")
        .expect("a statement");
    let mut place = 0;
    for group in line["records"].as_array().expect("a list") {
        let record: RecordId = text(&group["record"]).parse().expect("an id");
        let kind = text(&group["kind"]);
        let seen = group.get("seen").map(Json::to_string);
        let fields = group.as_object().expect("an object").iter();
        for (field, value) in fields.filter(|(name, _)| !matches!(name.as_str(), "record" | "kind" | "seen"))
        {
            let (draft, author, record) = (draft.as_bytes(), author.as_bytes(), record.as_bytes());
            let start = params![draft, place, author, written_ms, offset_min, record, kind, field];
            for (index, column) in (1..).zip(start) {
                statement.raw_bind_parameter(index, column).expect("a column");
            }
            match value.as_i64() {
                Some(number) => statement.raw_bind_parameter(9, number),
                None => statement.raw_bind_parameter(9, text(value)),
            }
            .expect("a column");
            statement.raw_bind_parameter(10, &seen).expect("a column");
            statement.raw_execute().expect("an insert");
            place += 1;
        }
    }
}

fn text(json: &Json) -> &str {
    json.as_str().expect("a text")
}

fn check(there: &Connection, probes: &[Probe]) {
    let mut statement =
        there.prepare("SELECT value FROM written WHERE record = ?1 AND field = ?2").expect("a statement");
    for probe in probes {
        let value: String = statement
            .query_row(params![probe.record.as_bytes(), probe.field], |row| row.get(0))
            .expect("the write is there");
        assert_eq!(value, probe.text);
    }
}
