//! A parcel that edits many records, and one of them again and again, gives the rows of one change after the other.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod world;

use storypole_journal::{Draft, DraftId, RecordId, WriteId};
use storypole_notebook::compose::Composer;
use storypole_notebook::{KindSpec, Value};
use storypole_store::Store;

use world::{AT, carry, invite, record, store};

/// More records than a batch keeps in memory, so that some rows are written before its end.
const SITES: u64 = 2_100;
const SITES_PER_DRAFT: u64 = 100;
const EDITS: u64 = 60;

fn numbered(number: u64) -> [u8; 10] {
    let mut bytes = [0; 10];
    bytes[2..].copy_from_slice(&number.to_be_bytes());
    bytes
}

fn site(number: u64) -> RecordId {
    RecordId::from_parts(AT.unix_ms as u64, numbered(number))
}

/// Names sites in one draft; each name replaces the write of the same number in `seen`.
fn name(draft: u64, sites: impl Iterator<Item = u64>, name: &str, seen: Option<DraftId>) -> Draft {
    let id = DraftId::from_parts(AT.unix_ms as u64 + draft, numbered(draft));
    let mut compose = Composer::new(id, record(1), AT);
    for (index, number) in (0..).zip(sites) {
        let seen = seen.map(|draft| WriteId { draft, index }).into_iter().collect();
        let value = Value::Text(format!("{name} {number}"));
        compose.change(site(number), "site", "name", Some(&value), seen, None).unwrap();
    }
    compose.finish()
}

fn take(store: &mut Store, draft: Draft) -> DraftId {
    let id = draft.id;
    world::take(store, draft);
    id
}

#[test]
fn many_edits_in_one_parcel_give_the_rows_of_each_alone() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two, mut late) =
        (store(folder.path(), 1), store(folder.path(), 2), store(folder.path(), 3));
    invite(&mut one, 2);
    let spans = || (0..SITES).step_by(SITES_PER_DRAFT as usize).map(|from| from..from + SITES_PER_DRAFT);
    let begun: Vec<DraftId> =
        (1..).zip(spans()).map(|(draft, span)| take(&mut one, name(draft, span, "old", None))).collect();
    carry(&one, &mut two);

    // Both rename: the first device every site, the second one of them again and again.
    for (draft, (span, seen)) in (100..).zip(spans().zip(&begun)) {
        take(&mut one, name(draft, span, "new", Some(*seen)));
    }
    let mut seen = begun[0];
    for draft in 0..EDITS {
        seen = take(&mut two, name(200 + draft, 0..1, &format!("edit {draft}"), Some(seen)));
    }
    carry(&two, &mut one);
    carry(&one, &mut two);
    carry(&one, &mut late);

    let kind = KindSpec::find("site").unwrap();
    let digest = |store: &Store| store.reader().unwrap().digest().unwrap();
    for other in [&mut two, &mut late] {
        assert_eq!(digest(other), digest(&one));
        assert!(other.verify().unwrap().faults.is_empty());
        let reader = other.reader().unwrap();
        assert_eq!(reader.heads(site(0), kind, "name").unwrap().len(), 2, "both have renamed the first");
        let row = reader.row(kind, site(SITES - 1)).unwrap().unwrap();
        assert_eq!(row.value("name").unwrap().to_string(), format!("new {}", SITES - 1));
    }
}
