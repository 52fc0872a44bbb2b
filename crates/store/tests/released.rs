//! Databases of every schema that was released open in this version, and nothing of them is lost.
//!
//! `released/schema_N.db` was written by the version whose newest migration was the Nth, by the helpers of `world`:
//! device 1 of a notebook with devices 1 and 2, two sites, one renamed apart on both devices, the other corrected and
//! struck; then packed into small pages. Its digest was printed by that version.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::path::{Path, PathBuf};

use storypole_journal::Role;
use storypole_notebook::KindSpec;
use storypole_store::schema::MIGRATIONS;
use storypole_store::{Reader, SessionHash, Store, Taken};

mod world;

use world::*;

const LOG_1: &str = "abb84fbb4c5aab8a9055074d47db86b6e91a0371149b354e1e5e74237ff7c0d0";

fn copied(folder: &Path, name: &str) -> PathBuf {
    let path = folder.join("notebook.db");
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/released").join(name);
    std::fs::copy(kept, &path).unwrap();
    path
}

fn version(path: &Path) -> i64 {
    let raw = rusqlite::Connection::open(path).unwrap();
    raw.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap()
}

#[test]
fn the_first_schema_is_brought_up_to_date_without_loss() {
    let folder = tempfile::tempdir().unwrap();
    let path = copied(folder.path(), "schema_1.db");
    assert_eq!(version(&path), 1);

    let mut store = Store::open(&path, key(1)).unwrap();
    let reader = store.reader().unwrap();
    let digest = reader.digest().unwrap();
    assert_eq!((digest.changes, digest.log.as_str()), (7, LOG_1));
    assert_eq!(store.verify().unwrap().faults, []);
    let kind = KindSpec::find("site").unwrap();
    let orchard = reader.row(kind, record(11)).unwrap().unwrap();
    assert_eq!(orchard.value("name").unwrap().to_string(), "Orchard barn");
    assert_eq!(
        (orchard.meta.struck.as_deref(), &orchard.meta.corrected[..]),
        (Some("never begun"), &["name"][..])
    );
    let conflicts = reader.conflicts().unwrap();
    assert_eq!((conflicts.len(), conflicts[0].record, conflicts[0].heads.len()), (1, record(10), 2));

    assert!(matches!(take(&mut store, site(30, "Gate lodge")), Taken::New { seq: 6 }), "it writes on");
    store.session_add(SessionHash::of(b"key"), record(1), Role::Keeper, None, 1).unwrap();
    drop((store, reader));
    assert_eq!(version(&path), MIGRATIONS.len() as i64);
    assert_eq!(Reader::open(&path).unwrap().digest().unwrap().changes, 8);
}

#[test]
fn the_first_schema_can_be_looked_at_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = copied(folder.path(), "schema_1.db");
    let reader = Reader::open(&path).unwrap();
    assert_eq!(reader.session_find(SessionHash::of(b"key")).unwrap(), None);
    assert_eq!(reader.sessions().unwrap(), []);
    // Its tables lack the kinds that came later; the log is read all the same.
    assert_eq!(reader.log_digest().unwrap(), LOG_1);
    drop(reader);
    assert_eq!(version(&path), 1);
}

/// Sessions of the second schema could do everything; so it reads them, without a role to read.
#[test]
fn sessions_without_a_role_are_those_of_a_keeper() {
    let folder = tempfile::tempdir().unwrap();
    let path = copied(folder.path(), "schema_1.db");
    let raw = rusqlite::Connection::open(&path).unwrap();
    raw.execute_batch(MIGRATIONS[1]).unwrap();
    raw.execute(
        "INSERT INTO sessions (hash, person, made_ms, seen_ms) VALUES (?1, ?2, 5, 5)",
        (SessionHash::of(b"key").0, record(1).as_bytes()),
    )
    .unwrap();
    drop(raw);
    let reader = Reader::open(&path).unwrap();
    assert_eq!(reader.session_find(SessionHash::of(b"key")).unwrap().unwrap().role, Role::Keeper);
    assert_eq!(reader.sessions().unwrap().len(), 1);
}
