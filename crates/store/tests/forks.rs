//! Series that forked: the branch that counts is the same everywhere, nothing is lost, and a copy goes on as a new
//! device.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::path::Path;

use storypole_journal::membership::{self, Revocation, Role};
use storypole_journal::{Change, ChangeHash, Entry, NotebookId, Vector, WriteId};
use storypole_store::digest::Digest;
use storypole_store::error::TakeError;
use storypole_store::read::WhyAside;
use storypole_store::{Anew, OwnFork, Parcel, Received, Store, StoreError};

mod world;

use world::*;

const NOW_MS: u64 = AT.unix_ms as u64;

fn notebook() -> NotebookId {
    NotebookId::founded_by(device(1))
}

/// A founder that invited devices 2 and 3, and as many folders of device 2 as asked for, each a copy of the others.
fn copied(folder: &Path, copies: usize) -> (Store, Vec<Store>) {
    let mut one = store(folder, 1);
    invite(&mut one, 2);
    invite(&mut one, 3);
    take(&mut one, site(10, "old"));
    let copies = (0..copies).map(|copy| {
        let inner = folder.join(copy.to_string());
        std::fs::create_dir(&inner).unwrap();
        let mut copy = store(&inner, 2);
        carry(&one, &mut copy);
        take(&mut copy, site(20, "of all copies"));
        copy
    });
    let copies: Vec<Store> = copies.collect();
    carry(&copies[0], &mut one);
    (one, copies)
}

/// A copy of the notebook that has nothing of device 2.
fn witness(folder: &Path, name: &str, one: &Store) -> Store {
    let inner = folder.join(name);
    std::fs::create_dir(&inner).unwrap();
    let mut witness = store(&inner, 3);
    let parcel = everything(one, &witness);
    receive(&mut witness, &without(parcel, 2));
    witness
}

fn without(mut parcel: Parcel, number: u8) -> Parcel {
    parcel.changes.retain(|bytes| Change::decode(bytes).unwrap().device != device(number));
    parcel
}

fn only(mut parcel: Parcel, number: u8) -> Parcel {
    parcel.changes.retain(|bytes| Change::decode(bytes).unwrap().device == device(number));
    parcel.signatures.retain(|signature| signature.device == device(number));
    parcel
}

/// All of the branch that a copy of device 2 holds.
fn branch_of(copy: &Store) -> Parcel {
    only(copy.reader().unwrap().since(&Vector::new(), usize::MAX).unwrap(), 2)
}

fn receive(store: &mut Store, parcel: &Parcel) -> Received {
    let received = store.receive(parcel).unwrap();
    assert_eq!(received.stopped, None);
    received
}

fn digest(store: &Store) -> Digest {
    store.reader().unwrap().digest().unwrap()
}

fn head(store: &Store, number: u8) -> Entry {
    store.vector().unwrap().get(device(number)).unwrap()
}

#[track_caller]
fn check(store: &mut Store) {
    assert_eq!(store.verify().unwrap().faults, []);
}

/// The hash of the change of a copy at which it parted from the others.
fn parting(copy: &Store, seq: usize) -> ChangeHash {
    let changes = branch_of(copy).changes;
    ChangeHash::of(&changes[seq])
}

/// Which copy holds the branch that counts: by hand, the least hash at the first difference.
fn winner(copies: &[Store], seq: usize) -> usize {
    (0..copies.len()).min_by_key(|copy| parting(&copies[*copy], seq)).unwrap()
}

fn orders(count: usize) -> Vec<Vec<usize>> {
    if count == 0 {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for order in orders(count - 1) {
        for at in 0..count {
            let mut longer = order.clone();
            longer.insert(at, count - 1);
            all.push(longer);
        }
    }
    all
}

/// Goal: which branch counts follows from what was met, not from its order. Method: three copies of a folder write
/// apart, one of them copied again later; device 3 meets the branches in every order, whole or in pieces; membership
/// is written inside the branches. By hand: it ends on the branch of least hash where they part.
#[test]
fn branches_count_the_same_in_whatever_order_they_are_met() {
    let mut swaps = 0;
    for salt in 0..2 {
        let folder = tempfile::tempdir().unwrap();
        let (mut one, mut copies) = copied(folder.path(), 4);
        // Copies 2 and 3 share a change after they left the others.
        for copy in [2, 3] {
            take(&mut copies[copy], site(30, "shared"));
        }
        let name = |copy: usize| format!("branch {copy}, salt {salt}");
        for (copy, store) in copies.iter_mut().enumerate() {
            let seen = name_heads(store, 10);
            take(store, rename(40 + copy as u8, 10, &name(copy), &seen));
            let lasting = site(50 + copy as u8, "kept");
            store.take(vec![lasting], NOW_MS + copy as u64).unwrap().remove(0).unwrap();
            // A crew device may leave: that is membership inside a branch. It counts on the branch that counts.
            let entry = head(store, 2);
            let leaving = Revocation { count: entry.count + 5 + copy as u64, hash: ChangeHash([9; 32]) };
            let writes = membership::revoke(device(2), leaving, Vec::new(), "leaving".into());
            take(store, draft(60 + copy as u8, writes));
        }
        let parcels: Vec<Parcel> = copies.iter().map(branch_of).collect();
        let mut met: Vec<(Digest, u64)> = Vec::new();
        for (number, order) in orders(4).into_iter().enumerate() {
            let mut witness = witness(folder.path(), &format!("witness {number}"), &one);
            for copy in order {
                let mut parcel = parcels[copy].clone();
                if number % 2 == 1 {
                    // In two pieces, the first of them without a signature.
                    let rest = parcel.changes.split_off(2);
                    let first =
                        Parcel { changes: std::mem::take(&mut parcel.changes), signatures: Vec::new() };
                    swaps += receive(&mut witness, &first).swapped.len();
                    parcel.changes = rest;
                }
                swaps += receive(&mut witness, &parcel).swapped.len();
            }
            check(&mut witness);
            let limit = witness.reader().unwrap().standing().unwrap().revocation(device(2)).unwrap();
            met.push((digest(&witness), limit.count));
            // Again, nothing changes.
            parcels.iter().for_each(|parcel| _ = receive(&mut witness, parcel));
            assert_eq!(digest(&witness), met[number].0);
        }
        assert!(met.iter().all(|each| *each == met[0]), "salt {salt}: {met:?}");
        // The winner, by hand: copies part at change 1, and 2 and 3 once more at change 2.
        let mut won = winner(&copies, 1);
        if won >= 2 {
            won = 2 + winner(&copies[2..], 2);
        }
        parcels.iter().for_each(|parcel| _ = receive(&mut one, parcel));
        assert_eq!(shown_name(&one, 10), Some(name(won)));
        assert_eq!(digest(&one).log, met[0].0.log);
        check(&mut one);
    }
    assert!(swaps > 20, "{swaps}");
}

#[test]
fn a_third_device_that_met_both_in_either_order_holds_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut copies) = copied(folder.path(), 2);
    take(&mut copies[0], site(30, "first"));
    take(&mut copies[1], site(31, "second"));
    take(&mut copies[1], site(32, "second goes on"));
    let (lost, won) = if winner(&copies, 1) == 0 { (1, 0) } else { (0, 1) };
    let mut three = witness(folder.path(), "three", &one);
    for parcel in [branch_of(&copies[lost]), branch_of(&copies[won])] {
        receive(&mut one, &parcel);
    }
    receive(&mut three, &branch_of(&copies[won]));
    let received = receive(&mut three, &branch_of(&copies[lost]));
    assert_eq!((received.forked_series, received.swapped), (vec![device(2)], vec![]));
    assert_eq!(digest(&one), digest(&three));
    for store in [&mut one, &mut three] {
        check(store);
        let spans = store.reader().unwrap().aside_spans().unwrap();
        assert_eq!(spans.len(), 1);
        assert_eq!((spans[0].device, spans[0].from, spans[0].why), (device(2), 1, WhyAside::Forked));
        let count = head(&copies[lost], 2).count;
        assert_eq!((spans[0].to, spans[0].last_written), (count, AT));
    }
    // Whoever holds the other branch is told all of this one, be it shorter or longer.
    let reader = one.reader().unwrap();
    for copy in &copies {
        let parcel = only(reader.since(&copy.vector().unwrap(), usize::MAX).unwrap(), 2);
        let expected = if head(copy, 2) == head(&one, 2) { 0 } else { head(&one, 2).count as usize };
        assert_eq!(parcel.changes.len(), expected);
    }
}

#[test]
fn what_no_signature_covers_displaces_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let (one, mut copies) = copied(folder.path(), 1);
    let shared = branch_of(&copies[0]);
    let mut three = witness(folder.path(), "three", &one);
    receive(&mut three, &shared);
    take(&mut copies[0], site(30, "honest"));
    let honest = branch_of(&copies[0]);
    let last = Change::decode(honest.changes.last().unwrap()).unwrap();
    // Anyone can make up a change of least hash; only the device can sign it.
    let forged = (100..200).map(|number| Change { draft: site(number, "forged"), ..last.clone() });
    let forged = forged.min_by_key(Change::hash).unwrap();
    assert!(forged.hash() < last.hash());
    let bogus = key(3).sign(notebook(), device(2), 2, forged.hash());
    let parcel = Parcel { changes: vec![forged.encode()], signatures: vec![bogus] };
    receive(&mut three, &parcel);
    receive(&mut three, &honest);
    assert_eq!(shown_name(&three, 30).as_deref(), Some("honest"), "what came first gives way");
    receive(&mut three, &parcel);
    assert_eq!(shown_name(&three, 30).as_deref(), Some("honest"));
    check(&mut three);
}

/// The keeper revokes the device at what it holds, which is the branch of greater hash: that one stays, also where
/// the branches are met in the other order, and a thief cannot rewrite what came before.
#[test]
fn a_revocation_keeps_to_the_branch_it_was_set_on() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut copies) = copied(folder.path(), 2);
    take(&mut copies[0], site(30, "first"));
    take(&mut copies[1], site(31, "second"));
    let won = winner(&copies, 1);
    let (honest, thief) = (1 - won, won);
    receive(&mut one, &branch_of(&copies[honest]));
    let mut three = witness(folder.path(), "three", &one);
    let Entry { count, hash } = head(&one, 2);
    let writes = membership::revoke(device(2), Revocation { count, hash }, Vec::new(), "stolen".into());
    take(&mut one, draft(70, writes));
    take(&mut copies[thief], site(32, "of the thief"));
    receive(&mut one, &branch_of(&copies[thief]));
    receive(&mut three, &branch_of(&copies[thief]));
    let revocation = only(everything(&one, &three), 1);
    receive(&mut three, &branch_of(&copies[honest]));
    assert_eq!(head(&three, 2).hash, head(&copies[thief], 2).hash, "before it hears of the revocation");
    receive(&mut three, &revocation);
    for store in [&mut one, &mut three] {
        assert_eq!(shown_name(store, 30 + honest as u8).unwrap(), ["first", "second"][honest]);
        assert_eq!((shown_name(store, 30 + thief as u8), shown_name(store, 32)), (None, None));
        check(store);
    }
    assert_eq!(digest(&one), digest(&three));
    // Let in again without a limit, the branch of least hash counts, here as there.
    let seen = vec![WriteId { draft: draft_id(70), index: 0 }];
    take(&mut one, draft(71, membership::let_in(device(2), seen, "found".into())));
    carry(&one, &mut three);
    assert_eq!(shown_name(&one, 32).as_deref(), Some("of the thief"));
    assert_eq!(digest(&one), digest(&three));
    check(&mut one);
}

#[test]
fn a_device_that_is_only_known_by_its_vouch_is_read_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut two) = (store(folder.path(), 1), store(folder.path(), 2));
    invite(&mut one, 2);
    carry(&one, &mut two);
    let mut four = store(folder.path(), 4);
    carry(&one, &mut four);
    let old = four.device();
    let begun = four.begin_anew(anew(5, &two, 2, Role::Crew), NOW_MS).unwrap();
    assert_eq!((begun.was, begun.is, begun.written_again), (old, device(5), 0));
    take(&mut four, site(30, "by the vouched one"));
    carry(&four, &mut one);
    assert_eq!(shown_name(&one, 30).as_deref(), Some("by the vouched one"));
    // The voucher is revoked, and a thief with its key makes up another device.
    let Entry { count, hash } = head(&one, 1);
    let limit = Revocation { count: 0, hash };
    assert!(count > 0);
    take(&mut one, draft(70, membership::revoke(device(2), limit, Vec::new(), "stolen".into())));
    assert_eq!(shown_name(&one, 30), None);
    let mut thief = store(folder.path(), 6);
    thief.begin_anew(anew(7, &two, 2, Role::Crew), NOW_MS).unwrap();
    thief.receive(&two.reader().unwrap().since(&Vector::new(), usize::MAX).unwrap()).unwrap();
    take(&mut thief, site(31, "of the thief"));
    carry(&thief, &mut one);
    assert_eq!(shown_name(&one, 31), None);
    invite(&mut one, 5);
    assert_eq!(shown_name(&one, 30).as_deref(), Some("by the vouched one"));
    check(&mut one);
}

/// A new device on the word of another.
fn anew(number: u8, voucher: &Store, by: u8, role: Role) -> Anew {
    let signature = key(by).vouch(notebook(), voucher.device(), device(number), key(number).public(), role);
    Anew {
        device: device(number),
        key: key(number),
        instance: [100 + number; 16],
        voucher: Some((voucher.device(), signature, role)),
        note: None,
    }
}

/// Two copies write as many changes each, or not; the one that lost goes on as device 5.
fn mended(first: u8, second: u8) {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut copies) = copied(folder.path(), 2);
    let shared = site_by(90, 90, "handed to both");
    let write = |copy: &mut Store, from: u8, count: u8| {
        for number in from..from + count {
            take(copy, site(number, "apart"));
        }
        take(copy, shared.clone());
        let seen = name_heads(copy, from);
        // What comes after has seen what the copy wrote apart.
        take(copy, rename(from + 60, from, "corrected", &seen));
    };
    write(&mut copies[0], 100, first);
    write(&mut copies[1], 130, second);
    let won = winner(&copies, 1);
    let (mut winner, mut loser) = {
        let mut copies = copies.into_iter();
        let (first, second) = (copies.next().unwrap(), copies.next().unwrap());
        if won == 0 { (first, second) } else { (second, first) }
    };
    let (lost, count) = if won == 0 { (130, second) } else { (100, first) };
    receive(&mut one, &branch_of(&winner));
    let parcel = everything(&one, &loser);
    let received = receive(&mut loser, &parcel);
    if received.of_this_device == 0 {
        // It has written more than the other: the one that met both hears of its branch first.
        receive(&mut one, &branch_of(&loser));
        let parcel = everything(&one, &loser);
        receive(&mut loser, &parcel);
    }
    let ours = u64::from(count) + 2;
    let fork = loser.own_fork().unwrap().unwrap();
    let theirs = head(&winner, 2).count - 1;
    assert_eq!(fork, OwnFork { from: 1, ours, theirs });
    assert_eq!(loser.reader().unwrap().own_fork().unwrap(), Some(fork));
    assert_eq!(winner.own_fork().unwrap(), None);
    receive(&mut winner, &branch_of(&loser));
    assert_eq!(winner.own_fork().unwrap(), None, "the one that counts goes on");
    check(&mut loser);

    let before = loser.position().unwrap();
    let begun = loser.begin_anew(anew(5, &winner, 2, Role::Crew), NOW_MS).unwrap();
    assert_eq!((begun.written_again as u64, begun.held_elsewhere), (ours - 1, 1));
    assert_eq!((loser.device(), loser.own_fork().unwrap()), (device(5), None));
    assert!(!loser.position().unwrap().continues(&before));
    check(&mut loser);
    for store in [&mut one, &mut winner] {
        carry(&loser, store);
        check(store);
    }
    carry(&one, &mut winner);
    carry(&winner, &mut one);
    carry(&one, &mut loser);
    for store in [&one, &winner, &loser] {
        assert_eq!(digest(store), digest(&one));
        assert_eq!(shown_name(store, lost).as_deref(), Some("corrected"), "what it has seen is found");
        assert_eq!(name_heads(store, lost), [WriteId { draft: draft_id(lost + 60), index: 0 }]);
        assert_eq!(shown_name(store, 90).as_deref(), Some("handed to both"));
    }
    // Opened anew it is the new device, and goes on.
    let path = loser.path().to_owned();
    drop(loser);
    let mut loser = Store::open(&path, key(5)).unwrap();
    assert_eq!(loser.reader().unwrap().is_own_key(&key(5).public()).unwrap(), Some(true));
    assert_eq!(loser.reader().unwrap().is_own_key(&key(2).public()).unwrap(), Some(false));
    take(&mut loser, site(95, "goes on"));
    carry(&loser, &mut one);
    assert_eq!(shown_name(&one, 95).as_deref(), Some("goes on"));
}

#[test]
fn a_copied_folder_goes_on_as_a_new_device_where_counts_are_equal() {
    mended(2, 2);
}

#[test]
fn a_copied_folder_goes_on_as_a_new_device_where_counts_differ() {
    mended(1, 4);
    mended(5, 2);
}

/// Two copies that share a lost change both write it again. Which copy wins hangs on hashes, so names are tried until
/// it is the third.
#[test]
fn a_draft_written_again_by_two_copies_is_one() {
    for salt in 0..64 {
        let folder = tempfile::tempdir().unwrap();
        let (mut one, mut copies) = copied(folder.path(), 3);
        for copy in &mut copies[..2] {
            take(copy, site(30, "lost twice"));
        }
        take(&mut copies[2], site(31, &format!("apart {salt}")));
        if winner(&copies, 1) != 2 {
            continue;
        }
        receive(&mut one, &branch_of(&copies[2]));
        for (number, copy) in [(5, 0), (6, 1)] {
            let parcel = everything(&one, &copies[copy]);
            receive(&mut copies[copy], &parcel);
            let anew = anew(number, &copies[2], 2, Role::Crew);
            assert_eq!(copies[copy].begin_anew(anew, NOW_MS).unwrap().written_again, 1);
        }
        copies[..2].iter().for_each(|copy| carry(copy, &mut one));
        assert_eq!(shown_name(&one, 30).as_deref(), Some("lost twice"));
        let history = one.reader().unwrap().history(record(30)).unwrap();
        assert_eq!(history.len(), 2, "label and name, once each");
        check(&mut one);
        return;
    }
    panic!("one name in three should have won");
}

#[test]
fn a_restored_copy_without_a_voucher_waits_for_a_keeper() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut copies) = copied(folder.path(), 1);
    let mut restored = copies.remove(0);
    let note = draft(80, vec![]);
    let refused = restored.begin_anew(
        Anew { device: device(5), key: key(5), instance: [5; 16], voucher: None, note: Some(note) },
        NOW_MS,
    );
    assert!(matches!(refused, Err(StoreError::Opening(_))), "{refused:?}");
    assert_eq!(restored.device(), device(2));
    let note = Some(site(81, "the note"));
    let anew = |number| Anew {
        device: device(number),
        key: key(5),
        instance: [5; 16],
        voucher: None,
        note: note.clone(),
    };
    assert!(matches!(restored.begin_anew(anew(1), NOW_MS), Err(StoreError::DeviceUsed { .. })));
    restored.begin_anew(anew(5), NOW_MS).unwrap();
    assert!(!restored.may_write());
    let refused = restored.take(vec![site(82, "too early")], NOW_MS).unwrap().remove(0);
    assert_eq!(refused, Err(TakeError::MayNotWrite));
    check(&mut restored);
    carry(&restored, &mut one);
    assert_eq!(shown_name(&one, 81), None);
    invite(&mut one, 5);
    assert_eq!(shown_name(&one, 81).as_deref(), Some("the note"));
    carry(&one, &mut restored);
    take(&mut restored, site(82, "in time"));
    check(&mut restored);
}

/// An old state of the folder was put back: its series is the beginning of what it had written before.
#[test]
fn an_old_state_of_a_folder_does_not_write_over_what_it_wrote() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut copies) = copied(folder.path(), 2);
    take(&mut copies[0], site(30, "before it was put back"));
    receive(&mut one, &branch_of(&copies[0]));
    let mut old = copies.remove(1);
    let received = old.receive(&everything(&one, &old)).unwrap();
    assert_eq!((received.of_this_device, received.forked_series), (1, vec![device(2)]));
    assert_eq!(old.own_fork().unwrap(), Some(OwnFork { from: 1, ours: 0, theirs: 1 }));
    old.begin_anew(anew(5, &copies[0], 2, Role::Crew), NOW_MS).unwrap();
    assert_eq!(shown_name(&old, 30).as_deref(), Some("before it was put back"));
    take(&mut old, site(31, "goes on"));
    carry(&old, &mut one);
    carry(&one, &mut old);
    assert_eq!(digest(&one), digest(&old));
    check(&mut old);
}

#[test]
fn drafts_of_a_branch_that_lost_are_there_for_a_keeper_to_take() {
    let folder = tempfile::tempdir().unwrap();
    let (mut one, mut copies) = copied(folder.path(), 2);
    take(&mut copies[0], site(30, "first"));
    take(&mut copies[1], site(31, "second"));
    let lost = 1 - winner(&copies, 1);
    copies.iter().for_each(|copy| _ = receive(&mut one, &branch_of(copy)));
    let reader = one.reader().unwrap();
    assert_eq!(reader.branch_drafts(device(1)).unwrap(), None);
    let (first, drafts) = reader.branch_drafts(device(2)).unwrap().unwrap();
    assert_eq!(first, parting(&copies[lost], 1));
    assert_eq!(drafts.iter().map(|draft| draft.id).collect::<Vec<_>>(), [draft_id(30 + lost as u8)]);
    drafts.into_iter().for_each(|draft| _ = take(&mut one, draft));
    assert_eq!(shown_name(&one, 30 + lost as u8).unwrap(), ["first", "second"][lost]);
    check(&mut one);
}
