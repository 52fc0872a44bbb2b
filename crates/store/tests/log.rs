//! Taking, receiving, projecting: the store as a desk uses it, on real files.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use storypole_journal::membership::{self, Revocation};
use storypole_journal::{Change, Draft, Name, Payload, Vector, Write, WriteId};
use storypole_notebook::compose::Composer;
use storypole_notebook::{KindSpec, Quantity, Value};
use storypole_store::error::TakeError;
use storypole_store::read::WhyAside;
use storypole_store::schema::MIGRATIONS;
use storypole_store::{Parcel, Store, StoreError, Taken};

mod world;

use world::*;

#[test]
fn a_draft_is_readable_once_taken_and_a_repeat_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = store(folder.path(), 1);
    assert_eq!(take(&mut store, site(10, "Millrace house")), Taken::New { seq: 1 });
    assert_eq!(shown_name(&store, 10).as_deref(), Some("Millrace house"));
    let digest = store.reader().unwrap().digest().unwrap();
    assert_eq!(take(&mut store, site(10, "Millrace house")), Taken::AlreadyHeld);
    assert_eq!(store.reader().unwrap().digest().unwrap(), digest);
    let other = store.take(vec![site(10, "Another house")], 0).unwrap().remove(0);
    assert_eq!(other, Err(TakeError::Reused(draft_id(10))));
    assert_eq!(store.reader().unwrap().digest().unwrap(), digest);
}

#[test]
fn two_devices_edit_one_field_and_it_stays_in_conflict_until_settled() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = named_apart(folder.path(), ["from one", "from two"]);
    carry(&one, &mut two);
    carry(&two, &mut one);
    let conflicts = one.reader().unwrap().conflicts().unwrap();
    assert_eq!((conflicts.len(), conflicts[0].heads.len(), conflicts[0].field.as_str()), (1, 2, "name"));
    assert_eq!(one.reader().unwrap().digest().unwrap(), two.reader().unwrap().digest().unwrap());
    let heads = name_heads(&two, 10);
    take(&mut two, rename(13, 10, "both agreed", &heads));
    carry(&two, &mut one);
    assert!(one.reader().unwrap().conflicts().unwrap().is_empty());
    assert_eq!(shown_name(&one, 10).as_deref(), Some("both agreed"));
    assert_eq!(one.reader().unwrap().history(record(10)).unwrap().len(), 5, "nothing is overwritten");
}

#[test]
fn equal_values_written_apart_are_no_conflict() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, two) = named_apart(folder.path(), ["same", "same"]);
    carry(&two, &mut one);
    assert!(one.reader().unwrap().conflicts().unwrap().is_empty());
    assert_eq!(name_heads(&one, 10).len(), 2, "both heads are kept for the next form to see");
}

#[test]
fn one_draft_handed_to_two_devices_counts_once() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = (store(folder.path(), 1), store(folder.path(), 2));
    invite(&mut one, 2);
    carry(&one, &mut two);
    take(&mut one, site(10, "handed twice"));
    take(&mut two, site(10, "handed twice"));
    carry(&one, &mut two);
    carry(&two, &mut one);
    assert!(one.reader().unwrap().conflicts().unwrap().is_empty());
    assert_eq!(one.reader().unwrap().digest().unwrap(), two.reader().unwrap().digest().unwrap());
    let before = two.reader().unwrap().digest().unwrap();
    two.rebuild(&mut |_| ()).unwrap();
    assert_eq!(two.reader().unwrap().digest().unwrap(), before);
}

#[test]
fn a_draft_based_on_what_is_not_here_is_refused_with_a_next_step() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = store(folder.path(), 1);
    take(&mut store, site(10, "old"));
    let unseen = WriteId { draft: draft_id(99), index: 0 };
    let refused = store.take(vec![rename(11, 10, "new", &[unseen])], 0).unwrap().remove(0).unwrap_err();
    assert!(refused.to_string().contains("sync first"));
}

#[test]
fn unknown_kinds_and_fields_survive_and_are_passed_on() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = (store(folder.path(), 1), store(folder.path(), 2));
    invite(&mut one, 2);
    let write = |kind: &str, field: &str| Write {
        record: record(20),
        kind: Name::new(kind).unwrap(),
        field: Name::new(field).unwrap(),
        value: Payload::text("from a newer version"),
        seen: Vec::new(),
        reason: None,
    };
    let writes = vec![write("laser_scan", "cloud"), write("site", "flood_zone"), write("site", "name")];
    take(&mut one, Draft { id: draft_id(20), author: record(1), written_at: AT, writes: writes.clone() });
    carry(&one, &mut two);
    let (_, last) = two.reader().unwrap().changes_after(0, 10).unwrap().pop().unwrap();
    assert_eq!(last.draft.writes, writes, "kept as written");
    assert_eq!(shown_name(&two, 20).as_deref(), Some("from a newer version"));
    let third = store(folder.path(), 3);
    let parcel = everything(&two, &third);
    assert!(
        parcel.changes.iter().any(|bytes| Change::decode(bytes).unwrap().draft.writes == writes),
        "passed on"
    );
}

#[test]
fn a_value_that_cannot_be_read_is_kept_and_listed() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = store(folder.path(), 1);
    let write = Write {
        record: record(30),
        kind: Name::new("reading").unwrap(),
        field: Name::new("value").unwrap(),
        value: Payload::text("loud"),
        seen: Vec::new(),
        reason: None,
    };
    take(&mut store, Draft { id: draft_id(30), author: record(1), written_at: AT, writes: vec![write] });
    let row = store.reader().unwrap().row(KindSpec::find("reading").unwrap(), record(30)).unwrap().unwrap();
    assert_eq!(row.value("value"), None);
    assert_eq!(row.meta.unreadable, ["value"]);
    assert_eq!(store.reader().unwrap().history(record(30)).unwrap().len(), 1);
}

#[test]
fn corrections_and_strikes_are_shown_and_history_stays() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = store(folder.path(), 1);
    let reading = KindSpec::find("reading").unwrap();
    let value = |text: &str| Value::Quantity(Quantity::parse(text).unwrap());
    let mut compose = Composer::new(draft_id(40), record(1), AT);
    compose.set(record(40), "reading", "value", &value("87.3 dBA")).unwrap();
    take(&mut store, compose.finish());
    let seen = store.reader().unwrap().heads(record(40), reading, "value").unwrap();
    let mut compose = Composer::new(draft_id(41), record(1), AT);
    compose
        .change(record(40), "reading", "value", Some(&value("78.3 dBA")), seen, Some("transposed".into()))
        .unwrap()
        .strike(record(40), "reading", Vec::new(), "wrong room".into());
    take(&mut store, compose.finish());
    let row = store.reader().unwrap().row(reading, record(40)).unwrap().unwrap();
    assert_eq!(row.value("value"), Some(&value("78.3 dBA")));
    assert_eq!((row.meta.corrected, row.meta.struck.as_deref()), (vec!["value"], Some("wrong room")));
    let history = store.reader().unwrap().history(record(40)).unwrap();
    assert_eq!(history[0].payload, value("87.3 dBA").to_payload());
    assert!(!history[0].is_head && history[1].is_head);
}

#[test]
fn a_revoked_devices_later_changes_are_set_aside_everywhere_and_can_be_let_in() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = (store(folder.path(), 1), store(folder.path(), 2));
    invite(&mut one, 2);
    carry(&one, &mut two);
    take(&mut two, site(10, "before"));
    carry(&two, &mut one);
    let known = one.vector().unwrap().get(device(2)).unwrap();
    let seen = name_heads(&two, 10);
    take(&mut two, rename(11, 10, "after", &seen));
    let revoke = membership::revoke(
        device(2),
        Revocation { count: known.count, hash: known.hash },
        Vec::new(),
        "tablet lost".to_owned(),
    );
    take(&mut one, Draft { id: draft_id(50), author: record(1), written_at: AT, writes: revoke });
    carry(&two, &mut one);
    assert_eq!(shown_name(&one, 10).as_deref(), Some("before"));
    let aside = one.reader().unwrap().set_aside().unwrap();
    assert_eq!((aside.len(), aside[0].why), (1, WhyAside::Membership));
    carry(&one, &mut two);
    assert_eq!(shown_name(&two, 10).as_deref(), Some("before"));
    assert_eq!(one.reader().unwrap().digest().unwrap(), two.reader().unwrap().digest().unwrap());
    let refused = two.take(vec![site(12, "late")], 0).unwrap().remove(0);
    assert_eq!(refused, Err(TakeError::MayNotWrite));
    let seen = vec![WriteId { draft: draft_id(50), index: 0 }];
    let writes = membership::let_in(device(2), seen, "tablet found".to_owned());
    take(&mut one, Draft { id: draft_id(51), author: record(1), written_at: AT, writes });
    assert_eq!(shown_name(&one, 10).as_deref(), Some("after"));
    assert!(one.reader().unwrap().set_aside().unwrap().is_empty());
    let digest = one.reader().unwrap().digest().unwrap();
    one.rebuild(&mut |_| ()).unwrap();
    assert_eq!(one.reader().unwrap().digest().unwrap(), digest);
}

#[test]
fn a_series_that_forks_is_kept_aside_and_listed() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    invite(&mut one, 2);
    let (mut first, mut copy) = (store(folder.path(), 2), {
        let inner = folder.path().join("copy");
        std::fs::create_dir(&inner).unwrap();
        store(&inner, 2)
    });
    carry(&one, &mut first);
    carry(&one, &mut copy);
    take(&mut first, site(10, "first branch"));
    take(&mut copy, site(11, "other branch"));
    carry(&first, &mut one);
    let other = copy.reader().unwrap().since(&Vector::new(), usize::MAX).unwrap();
    let received = one.receive(&other).unwrap();
    assert_eq!((received.forked, received.new), (1, 0));
    assert_eq!(shown_name(&one, 11), None);
    assert_eq!(one.reader().unwrap().set_aside().unwrap()[0].why, WhyAside::Forked);
}

#[test]
fn what_no_signature_covers_is_kept_but_neither_shown_nor_passed_on() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = (store(folder.path(), 1), store(folder.path(), 2));
    invite(&mut one, 2);
    take(&mut one, site(10, "unsigned"));
    let mut parcel = everything(&one, &two);
    parcel.signatures.clear();
    two.receive(&parcel).unwrap();
    assert_eq!(two.vector().unwrap().count(device(1)), 3, "kept and counted for resume");
    assert_eq!(shown_name(&two, 10), None);
    assert!(everything(&two, &store(folder.path(), 3)).changes.is_empty());
    let before = two.reader().unwrap().position().unwrap();
    let again =
        Parcel { signatures: everything(&one, &store(folder.path(), 4)).signatures, changes: Vec::new() };
    two.receive(&again).unwrap();
    assert_ne!(two.reader().unwrap().position().unwrap(), before, "followers are told");
    assert_eq!(shown_name(&two, 10).as_deref(), Some("unsigned"));
}

#[test]
fn a_forged_signature_covers_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = (store(folder.path(), 1), store(folder.path(), 2));
    take(&mut one, site(10, "forged"));
    let mut parcel = everything(&one, &two);
    for signature in &mut parcel.signatures {
        signature.bytes[0] ^= 1;
    }
    two.receive(&parcel).unwrap();
    assert_eq!(shown_name(&two, 10), None);
}

#[test]
fn verify_finds_what_was_altered() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    take(&mut one, site(10, "Millrace house"));
    assert_eq!(one.verify().unwrap().faults, []);
    let path = one.path().to_owned();
    let raw = rusqlite::Connection::open(&path).unwrap();
    raw.execute("UPDATE site SET name = 'Another house'", []).unwrap();
    assert_eq!(one.verify().unwrap().faults.len(), 1, "a table that is not what the log gives");
    one.rebuild(&mut |_| ()).unwrap();
    assert_eq!(one.verify().unwrap().faults, []);
    let body: Vec<u8> =
        raw.query_row("SELECT body FROM changes WHERE seq = 1", [], |row| row.get(0)).unwrap();
    let mut altered = body.clone();
    let at = body.windows(8).position(|window| window == b"Millrace").unwrap();
    altered[at] = b'W';
    raw.execute("UPDATE changes SET body = ?1 WHERE seq = 1", [altered]).unwrap();
    assert!(!one.verify().unwrap().faults.is_empty());
}

#[test]
fn foreign_newer_and_truncated_files_are_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("foreign.db");
    let raw = rusqlite::Connection::open(&path).unwrap();
    raw.execute_batch("CREATE TABLE recipes (name TEXT)").unwrap();
    drop(raw);
    assert!(matches!(Store::open(&path, key(1)), Err(StoreError::NotANotebook { .. })));
    std::fs::write(&path, b"not a database at all, just some words in a file").unwrap();
    assert!(matches!(Store::open(&path, key(1)), Err(StoreError::NotANotebook { .. })));
    let mut one = store(folder.path(), 1);
    for number in 10..60 {
        take(&mut one, site(number, &"long name ".repeat(11)));
    }
    let path = one.path().to_owned();
    drop(one);
    let raw = rusqlite::Connection::open(&path).unwrap();
    raw.pragma_update(None, "user_version", 99).unwrap();
    assert!(matches!(Store::open(&path, key(1)), Err(StoreError::Newer { found: 99, .. })));
    raw.pragma_update(None, "user_version", MIGRATIONS.len() as i64).unwrap();
    raw.execute_batch("PRAGMA wal_checkpoint(TRUNCATE)").unwrap();
    drop(raw);
    let whole = std::fs::read(&path).unwrap();
    std::fs::write(&path, &whole[..whole.len() / 2]).unwrap();
    let refused = Store::open(&path, key(1)).err().map(|error| error.to_string()).unwrap_or_default();
    assert!(refused.contains("damaged") && refused.contains("restore a backup"), "{refused}");
}

#[test]
fn tables_of_another_version_are_rebuilt_on_opening() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    take(&mut one, site(10, "Millrace house"));
    let digest = one.reader().unwrap().digest().unwrap();
    let path = one.path().to_owned();
    drop(one);
    let raw = rusqlite::Connection::open(&path).unwrap();
    raw.execute_batch("UPDATE projection SET version = 'older'; DELETE FROM site; CREATE TABLE gone (x)")
        .unwrap();
    drop(raw);
    let reopened = Store::open(&path, key(1)).unwrap();
    assert_eq!(reopened.reader().unwrap().digest().unwrap(), digest);
}
