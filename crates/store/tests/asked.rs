//! What readers ask beside whole tables: pages, heads of a record, what changes touched, sessions.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use storypole_journal::{RecordId, Role, WriteId};
use storypole_notebook::KindSpec;
use storypole_notebook::compose::{Composer, STRUCK};
use storypole_store::{Reader, SessionHash, Store};

mod world;

use world::*;

fn sites() -> &'static KindSpec {
    KindSpec::find("site").unwrap()
}

fn strike(store: &mut Store, number: u8, draft: u8) {
    let mut compose = Composer::new(draft_id(draft), record(1), AT);
    compose.strike(record(number), "site", Vec::new(), "never begun".to_owned());
    take(store, compose.finish());
}

fn touched(reader: &Reader, last: i64, limit: usize) -> (Vec<RecordId>, bool) {
    let touched = reader.touched_after(last, limit).unwrap();
    let sites = touched.records.into_iter().filter(|(kind, _)| kind == "site");
    (sites.map(|(_, id)| id).collect(), touched.more)
}

#[test]
fn pages_are_oldest_first_and_meet_without_gap() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    for number in [14, 10, 13, 11, 12] {
        take(&mut one, site(number, "house"));
    }
    strike(&mut one, 12, 20);
    let reader = one.reader().unwrap();
    let page = |after: Option<u8>, limit, struck| -> Vec<RecordId> {
        let rows = reader.page(sites(), after.map(record), limit, struck).unwrap();
        rows.into_iter().map(|row| row.id).collect()
    };
    let ids = |numbers: &[u8]| -> Vec<RecordId> { numbers.iter().map(|number| record(*number)).collect() };
    for (after, limit, struck, expected) in [
        (None, 2, false, &[10, 11][..]),
        (Some(11), 2, false, &[13, 14]),
        (Some(11), 2, true, &[12, 13]),
        // A cursor may name a record that is gone or struck.
        (Some(12), 9, false, &[13, 14]),
        (Some(14), 9, true, &[]),
        (None, 0, true, &[]),
        (None, usize::MAX, true, &[10, 11, 12, 13, 14]),
    ] {
        assert_eq!(page(after, limit, struck), ids(expected), "after {after:?}, {limit}, struck {struck}");
    }
    assert_eq!((reader.count(sites(), false).unwrap(), reader.count(sites(), true).unwrap()), (4, 5));
}

#[test]
fn all_calls_within_a_snapshot_see_one_state() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    take(&mut one, site(10, "house"));
    let reader = one.reader().unwrap();
    let asked = |reader: &Reader| {
        let digest = reader.digest()?;
        let name = reader.row(sites(), record(10))?.and_then(|row| row.value("name").cloned());
        // Also those that keep to one state by themselves.
        let history = reader.history(record(10))?.len();
        let after = reader.touched_after(0, 100)?.records.len();
        let (position, book) = reader.book_and_position()?;
        let conflicts = reader.conflicts()?.len();
        let books = book.sites.live().count();
        Ok((digest.log.to_string(), name, history, after, position, conflicts, books))
    };
    let before = reader.snapshot(asked).unwrap();
    reader
        .snapshot(|reader| {
            assert_eq!(asked(reader)?, before);
            take(&mut one, site(11, "mill"));
            let seen = name_heads(&one, 10);
            take(&mut one, rename(20, 10, "barn", &seen));
            assert_eq!(asked(reader)?, before);
            assert_eq!(reader.count(sites(), true)?, 1);
            reader.snapshot(|reader| {
                assert_eq!(asked(reader)?, before);
                Ok(())
            })
        })
        .unwrap();
    assert_eq!(reader.count(sites(), true).unwrap(), 2);
    assert_ne!(reader.snapshot(asked).unwrap(), before);
    let failed = reader.snapshot(|reader| {
        reader
            .row(sites(), record(10))
            .and(Err::<(), _>(storypole_store::StoreError::Undecodable { what: "nothing" }))
    });
    assert!(failed.is_err());
    take(&mut one, site(12, "shed"));
    assert_eq!(reader.count(sites(), true).unwrap(), 3, "a snapshot that failed is over too");
}

#[test]
fn heads_of_a_record_are_those_of_each_field() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, two) = named_apart(folder.path(), ["from one", "from two"]);
    carry(&two, &mut one);
    strike(&mut one, 10, 20);
    let reader = one.reader().unwrap();
    let all = reader.heads_of(record(10), sites()).unwrap();
    let names: Vec<&str> = all.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["label", "name", STRUCK]);
    for (name, heads) in &all {
        assert_eq!(*heads, reader.heads(record(10), sites(), name).unwrap(), "{name}");
    }
    assert_eq!(all[1].1.len(), 2, "both heads of a conflict");
    assert_eq!(all[2].1, [WriteId { draft: draft_id(20), index: 0 }]);
    assert_eq!(reader.heads_of(record(99), sites()).unwrap(), []);
}

#[test]
fn what_changes_touched_is_named_once_in_order_and_only_when_it_counts() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = (store(folder.path(), 1), store(folder.path(), 2));
    let start = one.reader().unwrap().position().unwrap();
    take(&mut one, site(12, "second by id, first here"));
    take(&mut one, site(11, "orchard"));
    let seen = name_heads(&one, 12);
    take(&mut one, rename(20, 12, "again", &seen));
    let reader = one.reader().unwrap();
    assert_eq!(touched(&reader, start.last, 9), (vec![record(12), record(11)], false));
    assert_eq!(touched(&reader, start.last, 2), (vec![record(12), record(11)], false));
    assert_eq!(touched(&reader, start.last, 1), (vec![record(12)], true));
    let now = reader.touched_after(start.last, 9).unwrap().position;
    assert_eq!(touched(&reader, now.last, 9), (vec![], false));
    assert!(now.continues(&start) && now.reaches(&start) && !start.reaches(&now));

    // What device 2 wrote is held, and touches nothing until its signature has come.
    invite(&mut one, 2);
    carry(&one, &mut two);
    let before = one.reader().unwrap().position().unwrap();
    take(&mut two, site(13, "from another"));
    let mut without_signatures = everything(&two, &one);
    without_signatures.signatures.clear();
    one.receive(&without_signatures).unwrap();
    let reader = one.reader().unwrap();
    assert_eq!(touched(&reader, before.last, 9), (vec![], false), "no signature covers it yet");
    let unsigned = reader.position().unwrap();
    carry(&two, &mut one);
    let signed = one.reader().unwrap().position().unwrap();
    assert!(!signed.continues(&unsigned), "an older change that begins to count is told by the generation");
    assert_eq!(reader.rows_after(&unsigned, 9).unwrap().map(|changed| changed.rows), None);
}

#[test]
fn browsers_are_let_in_and_shut_out_beside_the_log() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    take(&mut one, site(10, "Millrace house"));
    let reader = one.reader().unwrap();
    let (digest, position) = (reader.digest().unwrap(), reader.position().unwrap());
    let (first, second) = (SessionHash::of(b"first key"), SessionHash::of(b"second key"));
    // BLAKE3 of nothing, as the algorithm's published test vectors list it for an input of no bytes.
    let of_nothing =
        blake3::Hash::from_hex("af1349b9f5f9a1a6a0404dea36dcc9499bcb25c9adc112b7cc9a93cae41f3262");
    assert_eq!(SessionHash::of(b"").0, *of_nothing.unwrap().as_bytes());
    one.session_add(first, record(1), Role::Crew, Some("laptop"), 1_000).unwrap();
    one.session_add(second, record(2), Role::Viewer, None, 2_000).unwrap();
    one.session_add(first, record(2), Role::Keeper, None, 3_000).unwrap();

    let found = reader.session_find(first).unwrap().unwrap();
    assert_eq!((found.person, found.label.as_deref()), (record(1), Some("laptop")));
    assert_eq!(found.role, Role::Crew, "let in again, it stays as it was");
    assert_eq!((found.made_ms, found.seen_ms, found.ended_ms), (1_000, 1_000, None));
    one.session_seen(first, 5_000).unwrap();
    assert_eq!(reader.session_find(first).unwrap().unwrap().seen_ms, 5_000);
    assert_eq!(reader.session_find(SessionHash::of(b"unknown")).unwrap(), None);

    assert!(one.session_end(first, 6_000).unwrap());
    assert!(!one.session_end(first, 7_000).unwrap(), "it was shut out before");
    one.session_seen(first, 8_000).unwrap();
    assert_eq!(reader.session_find(first).unwrap(), None);
    let ends = |reader: &Reader| -> Vec<Option<u64>> {
        reader.sessions().unwrap().iter().map(|session| session.ended_ms).collect()
    };
    assert_eq!(ends(&reader), [Some(6_000), None]);
    assert_eq!(one.sessions_end_others(second, 8_500).unwrap(), 0, "the other is out already");
    assert_eq!(one.sessions_end_all(9_000).unwrap(), 1);
    assert_eq!(ends(&reader), [Some(6_000), Some(9_000)]);

    assert_eq!(reader.digest().unwrap(), digest, "the log and its tables know nothing of it");
    assert_eq!(reader.position().unwrap(), position);
    one.rebuild(&mut |_| ()).unwrap();
    assert_eq!(
        ends(&one.reader().unwrap()),
        [Some(6_000), Some(9_000)],
        "no projection: a rebuild leaves it"
    );
    let path = one.path().to_owned();
    drop((one, reader));
    assert_eq!(ends(&Store::open(&path, key(1)).unwrap().reader().unwrap()), [Some(6_000), Some(9_000)]);
}
