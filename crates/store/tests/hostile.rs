//! What a hostile, broken or copied device may hand over: nothing is lost, nothing stops, no promise gives way.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use storypole_journal::membership::{self, Revocation, Role};
use storypole_journal::{
    Change, ChangeHash, Entry, NotebookId, SeriesSignature, Stamp, Vector, WriteId, first_prev,
};
use storypole_notebook::Value;
use storypole_notebook::compose::Composer;
use storypole_store::error::TakeError;
use storypole_store::read::WhyAside;
use storypole_store::verify::Fault;
use storypole_store::{Parcel, Store, Taken};

mod world;

use world::*;

const NOW_MS: u64 = AT.unix_ms as u64;

fn notebook() -> NotebookId {
    NotebookId::founded_by(device(1))
}

fn tables(store: &Store) -> String {
    store.reader().unwrap().digest().unwrap().tables
}

fn revoke(number: u8, count: u64, hash: ChangeHash) -> Vec<storypole_journal::Write> {
    membership::revoke(device(number), Revocation { count, hash }, Vec::new(), "lost".to_owned())
}

/// Two folders with the key of device 2: the second is a copy.
fn copied(folder: &std::path::Path) -> (Store, Store) {
    let inner = folder.join("copy");
    std::fs::create_dir(&inner).unwrap();
    (store(folder, 2), store(&inner, 2))
}

#[test]
fn a_strangers_stamp_does_not_move_the_clock() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = (store(folder.path(), 1), store(folder.path(), 2));
    let prev = first_prev(notebook(), device(77));
    let change = Change { device: device(77), seq: 0, stamp: Stamp::MAX, prev, draft: site(90, "x") };
    one.receive(&Parcel { changes: vec![change.encode()], signatures: Vec::new() }).unwrap();
    take(&mut one, site(10, "a"));
    take(&mut one, site(11, "b"));
    assert_eq!(one.verify().unwrap().faults, []);
    carry(&one, &mut two);
    let path = one.path().to_owned();
    drop(one);
    let mut one = Store::open(&path, key(1)).unwrap();
    assert_eq!(take(&mut one, site(12, "c")), Taken::New { seq: 3 });
}

#[test]
fn a_members_clock_at_the_end_of_time_is_refused_not_broken() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    invite(&mut one, 2);
    let prev = first_prev(notebook(), device(2));
    let change = Change { device: device(2), seq: 0, stamp: Stamp::MAX, prev, draft: site(90, "x") };
    let signature = key(2).sign(notebook(), device(2), 1, change.hash());
    one.receive(&Parcel { changes: vec![change.encode()], signatures: vec![signature] }).unwrap();
    let refused = one.take(vec![site(10, "a"), site(11, "b")], NOW_MS).unwrap().pop().unwrap().unwrap_err();
    assert!(
        matches!(refused, TakeError::NoLaterStamp(_)) && refused.to_string().contains("revoke that device")
    );
    assert_eq!(one.verify().unwrap().faults, []);
}

#[test]
fn an_edit_after_letting_in_finds_the_record() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = (store(folder.path(), 1), store(folder.path(), 2));
    invite(&mut one, 2);
    carry(&one, &mut two);
    take(&mut one, draft(50, revoke(2, 0, first_prev(notebook(), device(2)))));
    take(&mut two, site(240, "late"));
    carry(&two, &mut one);
    let seen = vec![WriteId { draft: draft_id(50), index: 0 }];
    take(&mut one, draft(51, membership::let_in(device(2), seen, "found".to_owned())));
    let heads = name_heads(&one, 240);
    take(&mut one, rename(60, 240, "edited", &heads));
    assert_eq!(shown_name(&one, 240).as_deref(), Some("edited"));
}

/// The hash of the first change of device 2 in this folder.
fn first_of_two(store: &Store) -> ChangeHash {
    let changes = store.reader().unwrap().since(&Vector::new(), usize::MAX).unwrap().changes;
    let is_first = |bytes: &&Vec<u8>| Change::decode(bytes).unwrap().device == device(2);
    ChangeHash::of(changes.iter().find(is_first).unwrap())
}

#[test]
fn a_longer_branch_of_a_fork_does_not_hold_up_the_rest() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    invite(&mut one, 2);
    let (mut first, mut copy) = copied(folder.path());
    carry(&one, &mut first);
    carry(&one, &mut copy);
    take(&mut first, site(10, "first branch"));
    carry(&first, &mut one);
    take(&mut copy, site(11, "other branch"));
    take(&mut copy, site(12, "other branch goes on"));
    let received = one.receive(&everything(&copy, &one)).unwrap();
    assert_eq!((received.stopped, received.forked), (None, 2));
    assert_eq!(one.reader().unwrap().set_aside().unwrap()[0].why, WhyAside::Forked);
    // The least hash where they part counts, not the length.
    let is_first = first_of_two(&first) < first_of_two(&copy);
    assert_eq!(shown_name(&one, 10).is_some(), is_first);
    assert_eq!(shown_name(&one, 12).is_some(), !is_first);
}

#[test]
fn a_copied_folder_notices_what_its_original_wrote() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    invite(&mut one, 2);
    let (mut two, mut copy) = copied(folder.path());
    carry(&one, &mut two);
    carry(&one, &mut copy);
    take(&mut two, site(10, "of the original"));
    carry(&two, &mut one);
    let received = copy.receive(&everything(&one, &copy)).unwrap();
    assert_eq!((received.of_this_device, received.stopped), (1, None));
    assert_eq!(take(&mut copy, site(11, "of the copy")), Taken::New { seq: 0 });
    assert_eq!(copy.verify().unwrap().faults, []);
}

#[test]
fn a_false_signature_never_stands_in_the_way_of_the_true_one() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = (store(folder.path(), 1), store(folder.path(), 2));
    let bogus = SeriesSignature { device: device(1), count: 2, hash: ChangeHash([0; 32]), bytes: [0; 64] };
    one.receive(&Parcel { changes: Vec::new(), signatures: vec![bogus] }).unwrap();
    take(&mut one, site(10, "a"));
    let honest = everything(&one, &two);
    let mut forged = honest.signatures[0];
    forged.bytes[0] ^= 1;
    two.receive(&Parcel { changes: Vec::new(), signatures: vec![forged] }).unwrap();
    two.receive(&Parcel { changes: honest.changes, signatures: vec![forged] }).unwrap();
    assert_eq!(shown_name(&two, 10), None);
    // The vectors are equal now; the last signature goes along all the same.
    carry(&one, &mut two);
    assert_eq!(shown_name(&two, 10).as_deref(), Some("a"));
}

/// Which branch counts hangs on hashes, so names are tried until it is the first.
#[test]
fn the_signature_of_another_branch_does_not_block_the_honest_one() {
    for salt in 0..64 {
        let folder = tempfile::tempdir().unwrap();
        let mut one = store(folder.path(), 1);
        invite(&mut one, 2);
        let (mut first, mut copy) = copied(folder.path());
        carry(&one, &mut first);
        carry(&one, &mut copy);
        take(&mut first, site(10, &format!("first {salt}")));
        carry(&first, &mut one);
        take(&mut copy, site(11, "other"));
        take(&mut copy, site(12, "other goes on"));
        if first_of_two(&copy) < first_of_two(&first) {
            continue;
        }
        one.receive(&copy.reader().unwrap().since(&Vector::new(), usize::MAX).unwrap()).unwrap();
        take(&mut first, site(13, "first goes on"));
        carry(&first, &mut one);
        assert_eq!(shown_name(&one, 13).as_deref(), Some("first goes on"));
        return;
    }
    panic!("one name in two should have won");
}

#[test]
fn numbers_beyond_any_count_are_no_panic() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    let hash = ChangeHash([0; 32]);
    let signature = SeriesSignature { device: device(1), count: u64::MAX, hash, bytes: [0; 64] };
    let change =
        Change { device: device(9), seq: u64::MAX, stamp: Stamp(5), prev: hash, draft: site(9, "x") };
    let received =
        one.receive(&Parcel { changes: vec![change.encode()], signatures: vec![signature] }).unwrap();
    assert!(received.stopped.is_some());
    let mut vector = Vector::new();
    vector.set(device(1), Entry { count: u64::MAX, hash });
    assert!(one.reader().unwrap().since(&vector, 10).unwrap().changes.is_empty());
    invite(&mut one, 2);
    let leaving = draft(50, revoke(2, u64::MAX, hash));
    let (stamp, prev) = (Stamp::from_parts(NOW_MS, 900), first_prev(notebook(), device(2)));
    let change = Change { device: device(2), seq: 0, stamp, prev, draft: leaving };
    let signature = key(2).sign(notebook(), device(2), 1, change.hash());
    one.receive(&Parcel { changes: vec![change.encode()], signatures: vec![signature] }).unwrap();
    take(&mut one, site(10, "goes on"));
    assert_eq!(one.verify().unwrap().faults, []);
}

#[test]
fn a_reused_draft_id_whose_first_carrier_is_set_aside_gives_way_to_the_second() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two, mut three) =
        (store(folder.path(), 1), store(folder.path(), 2), store(folder.path(), 3));
    invite(&mut one, 2);
    invite(&mut one, 3);
    carry(&one, &mut two);
    carry(&one, &mut three);
    two.take(vec![site_by(20, 30, "by two")], NOW_MS + 10).unwrap();
    three.take(vec![site_by(20, 31, "by three")], NOW_MS + 20).unwrap();
    carry(&two, &mut one);
    carry(&three, &mut one);
    assert_eq!((shown_name(&one, 30).as_deref(), shown_name(&one, 31)), (Some("by two"), None));
    take(&mut one, draft(50, revoke(2, 0, first_prev(notebook(), device(2)))));
    assert_eq!((shown_name(&one, 30), shown_name(&one, 31).as_deref()), (None, Some("by three")));
    let before = tables(&one);
    one.rebuild(&mut |_| ()).unwrap();
    assert_eq!(tables(&one), before);
}

#[test]
fn a_device_stops_writing_at_its_limit() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = (store(folder.path(), 1), store(folder.path(), 2));
    invite(&mut one, 2);
    carry(&one, &mut two);
    take(&mut one, draft(50, revoke(2, 2, ChangeHash([3; 32]))));
    carry(&one, &mut two);
    let outcomes: Vec<bool> =
        (10..14).map(|number| two.take(vec![site(number, "x")], NOW_MS).unwrap().remove(0).is_ok()).collect();
    assert_eq!(outcomes, [true, true, false, false]);
    assert_eq!(two.verify().unwrap().faults, []);
    carry(&two, &mut one);
    assert_eq!(tables(&one), tables(&two));
}

#[test]
fn signatures_that_waited_count_once_the_keeper_invites() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut four) = (store(folder.path(), 1), store(folder.path(), 4));
    let (stamp, prev) = (Stamp::from_parts(NOW_MS, 900), first_prev(notebook(), device(2)));
    let change = Change { device: device(2), seq: 0, stamp, prev, draft: site(10, "early") };
    let signature = key(2).sign(notebook(), device(2), 1, change.hash());
    let parcel = Parcel { changes: vec![change.encode()], signatures: vec![signature] };
    one.receive(&parcel).unwrap();
    assert_eq!(shown_name(&one, 10), None);
    invite(&mut one, 2);
    assert_eq!(shown_name(&one, 10).as_deref(), Some("early"));
    four.receive(&parcel).unwrap();
    carry(&one, &mut four);
    assert_eq!(one.reader().unwrap().digest().unwrap(), four.reader().unwrap().digest().unwrap());
}

#[test]
fn nothing_comes_before_the_founders_own_invitation() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    let inner = folder.path().join("unfounded");
    std::fs::create_dir(&inner).unwrap();
    let identity = storypole_store::Identity {
        notebook: notebook(),
        device: device(1),
        founder_key: key(1).public(),
        instance: [9; 16],
        author: record(1),
    };
    let mut unfounded = Store::create(&inner.join("n.db"), key(1), &identity).unwrap();
    let refused = unfounded.take(vec![site(10, "too early")], NOW_MS).unwrap().remove(0);
    assert_eq!(refused, Err(TakeError::MayNotWrite));
    let writes = membership::invite(device(1), key(1).public(), Role::Keeper, device(1));
    take(&mut unfounded, draft(255, writes));
    take(&mut unfounded, site(10, "in time"));
    take(&mut one, site(10, "in time"));
}

#[test]
fn verify_names_a_change_that_cannot_be_decoded_or_whose_columns_lie() {
    for damage in ["body = x'00'", "stamp = stamp + 1", "draft = zeroblob(16)"] {
        let folder = tempfile::tempdir().unwrap();
        let mut one = store(folder.path(), 1);
        take(&mut one, site(10, "a"));
        let raw = rusqlite::Connection::open(one.path()).unwrap();
        raw.execute(&format!("UPDATE changes SET {damage} WHERE seq = 1"), []).unwrap();
        let faults = one.verify().unwrap().faults;
        assert!(faults.contains(&Fault::Chain { device: device(1), seq: 1 }), "{damage}: {faults:?}");
    }
}

#[test]
fn a_write_that_the_draft_does_not_have_cannot_be_seen() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    take(&mut one, site(10, "a"));
    let beyond = WriteId { draft: draft_id(10), index: 77 };
    let refused = one.take(vec![rename(11, 10, "b", &[beyond])], NOW_MS).unwrap().remove(0);
    assert_eq!(refused, Err(TakeError::SeenUnknown(draft_id(11))));
}

#[test]
fn registers_belong_to_a_record_and_a_kind() {
    let folder = tempfile::tempdir().unwrap();
    let mut one = store(folder.path(), 1);
    take(&mut one, site(10, "a"));
    let mut compose = Composer::new(draft_id(12), record(1), AT);
    compose.set(record(10), "supplier", "name", &Value::Text("b".into())).unwrap();
    take(&mut one, compose.finish());
    let reader = one.reader().unwrap();
    assert!(reader.conflicts().unwrap().is_empty());
    assert!(reader.history(record(10)).unwrap().iter().all(|item| item.is_head));
}

#[test]
fn either_content_of_a_reused_id_is_held_when_it_comes_again() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = (store(folder.path(), 1), store(folder.path(), 2));
    invite(&mut one, 2);
    carry(&one, &mut two);
    two.take(vec![site_by(20, 30, "by two")], NOW_MS + 10).unwrap();
    one.take(vec![site_by(20, 31, "by one")], NOW_MS + 20).unwrap();
    carry(&two, &mut one);
    for name in [(30, "by two"), (31, "by one")] {
        let again = one.take(vec![site_by(20, name.0, name.1)], NOW_MS + 30).unwrap().remove(0);
        assert_eq!(again, Ok(Taken::AlreadyHeld));
    }
}
