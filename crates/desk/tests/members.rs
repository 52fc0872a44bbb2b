//! Who belongs to a notebook, as keepers decide it; and folders that were copied.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::path::{Path, PathBuf};

use storypole_desk::desk::Joining;
use storypole_desk::members::BranchLetIn;
use storypole_desk::{Desk, DeskError, Founding, MembersError, Membership, edge};
use storypole_journal::membership::Role;
use storypole_journal::{DeviceKey, Draft, RecordId, WrittenAt};
use storypole_notebook::Value;
use storypole_store::read::WhyAside;
use storypole_store::{Reader, Received, Taken};
use storypole_units::Currency;

const AT: WrittenAt = WrittenAt { unix_ms: 1_741_100_000_000, offset_min: -300 };

fn found(folder: &Path) -> Desk {
    let text = str::to_owned;
    let founding = Founding {
        name: text("Mill house"),
        currency: Currency::parse("USD").unwrap(),
        role: text("site lead"),
        label: text("lead"),
        device_label: text("phone"),
        written_at: AT,
    };
    Desk::found(folder, &founding).unwrap()
}

fn join(folder: &Path, one: &Desk, role: Role) -> Desk {
    let founder_key = one.read(Reader::founder_key).unwrap();
    let joining = Joining { notebook: one.notebook(), founder_key, author: one.author() };
    let joined = Desk::join(folder, &joining).unwrap();
    one.invite(joined.device(), joined.public_key().unwrap(), role, AT).unwrap();
    carry(one, &joined);
    joined
}

fn carry(from: &Desk, to: &Desk) -> Received {
    let theirs = to.read(Reader::vector).unwrap();
    let received = to.receive(from.since(&theirs, usize::MAX).unwrap()).unwrap();
    assert_eq!(received.stopped, None);
    received
}

/// Until both have all.
fn meet(one: &Desk, two: &Desk) {
    for _ in 0..3 {
        carry(one, two);
        carry(two, one);
    }
    assert_eq!(one.digest().unwrap(), two.digest().unwrap());
}

fn site(desk: &Desk, name: &str) -> (RecordId, Draft) {
    let id = edge::record_id();
    let mut compose = desk.compose(AT);
    compose.set(id, "site", "name", &Value::Text(name.to_owned())).unwrap();
    (id, compose.finish())
}

fn write(desk: &Desk, name: &str) -> RecordId {
    let (id, draft) = site(desk, name);
    assert!(matches!(desk.take(draft).unwrap(), Taken::New { .. }));
    id
}

fn holds(desk: &Desk, id: RecordId) -> bool {
    desk.book().unwrap().sites.get(id).is_some()
}

fn member(desk: &Desk, of: &Desk) -> Membership {
    desk.members().unwrap().into_iter().find(|member| member.device == of.device()).unwrap()
}

fn refused<T: std::fmt::Debug>(outcome: Result<T, DeskError>) -> MembersError {
    match outcome.unwrap_err() {
        DeskError::Members(error) => error,
        other => panic!("{other:?}"),
    }
}

/// Copies a data folder while no process holds it, as a person would.
fn copy_folder(from: &Path, to: &Path) {
    std::fs::create_dir(to).unwrap();
    for file in std::fs::read_dir(from).unwrap().map(Result::unwrap) {
        if file.file_type().unwrap().is_file() {
            std::fs::copy(file.path(), to.join(file.file_name())).unwrap();
        }
    }
}

#[test]
fn members_are_listed_with_what_people_call_them() {
    let folder = tempfile::tempdir().unwrap();
    let one = found(&folder.path().join("one"));
    let two = join(&folder.path().join("two"), &one, Role::Crew);
    one.name_device(two.device(), "tablet", Some(one.author()), AT).unwrap();
    write(&two, "Gate lodge");
    meet(&one, &two);
    let listed = one.members().unwrap();
    let labels: Vec<_> = listed.iter().map(|member| member.label.clone().unwrap()).collect();
    assert_eq!(labels, ["phone", "tablet"]);
    let tablet = member(&one, &two);
    assert_eq!(
        (tablet.role, tablet.invited_by, tablet.person),
        (Role::Crew, one.device(), Some(one.author()))
    );
    assert_eq!((tablet.is_this, tablet.is_pass, tablet.held, tablet.counted), (false, false, 1, 1));
    assert_eq!((tablet.revoked, tablet.last_written), (None, Some(AT)));
    assert!(member(&two, &two).is_this);
    // A name may change, from any device that writes.
    two.name_device(two.device(), "tablet in the van", None, AT).unwrap();
    meet(&one, &two);
    assert_eq!(member(&one, &two).label.as_deref(), Some("tablet in the van"));
    assert_eq!(member(&one, &two).person, Some(one.author()));
    let long = "x".repeat(33);
    assert!(matches!(one.name_device(two.device(), &long, None, AT), Err(DeskError::Compose(_))));
}

#[test]
fn only_keepers_decide_and_only_what_can_be_meant() {
    let folder = tempfile::tempdir().unwrap();
    let one = found(&folder.path().join("one"));
    let two = join(&folder.path().join("two"), &one, Role::Crew);
    let (own, other) = (one.device(), two.device());
    assert!(one.may_invite() && !two.may_invite());
    assert_eq!(refused(two.revoke(own, "quarrel", AT)), MembersError::NotKeeper);
    assert_eq!(refused(two.let_in(own, "found", AT)), MembersError::NotKeeper);
    assert_eq!(refused(two.let_in_branch(own, "found", AT)), MembersError::NotKeeper);
    let key = DeviceKey::from_bytes(&[5; 32]).public();
    assert_eq!(refused(two.invite(edge::device_id(), key, Role::Crew, AT)), MembersError::NotKeeper);
    let stranger = edge::device_id();
    assert_eq!(refused(one.revoke(stranger, "lost", AT)), MembersError::NoMember(stranger));
    assert_eq!(refused(one.let_in(stranger, "found", AT)), MembersError::NoMember(stranger));
    assert_eq!(refused(one.let_in(other, "found", AT)), MembersError::NotRevoked(other));
    assert_eq!(refused(one.let_in_branch(other, "found", AT)), MembersError::NoBranch(other));
    assert_eq!(refused(one.revoke(other, "  ", AT)), MembersError::NoReason);
    let only = refused(one.revoke(own, "leaving", AT));
    assert_eq!(only, MembersError::OnlyKeeper);
    assert!(only.to_string().contains("invite another keeper first"));
    join(&folder.path().join("three"), &one, Role::Keeper);
    one.revoke(own, "leaving", AT).unwrap();
    assert!(!one.may_invite());
}

#[test]
fn a_revoked_device_is_set_aside_and_let_in() {
    let folder = tempfile::tempdir().unwrap();
    let one = found(&folder.path().join("one"));
    let two = join(&folder.path().join("two"), &one, Role::Crew);
    let before = write(&two, "before");
    meet(&one, &two);
    let late = write(&two, "late");
    let revocation = one.revoke(two.device(), "lost", AT).unwrap();
    assert_eq!(revocation.count, 1);
    carry(&two, &one);
    assert!(holds(&one, before) && !holds(&one, late));
    let revoked = member(&one, &two);
    assert_eq!((revoked.held, revoked.counted, revoked.revoked), (2, 1, Some(revocation)));
    let aside = one.set_aside().unwrap();
    assert_eq!(aside.len(), 1);
    assert_eq!((aside[0].device, aside[0].from, aside[0].to), (two.device(), 1, 2));
    assert_eq!((aside[0].why, aside[0].first_written, aside[0].last_written), (WhyAside::Membership, AT, AT));
    // A second revocation would let in what came since.
    let again = refused(one.revoke(two.device(), "lost", AT));
    assert_eq!(again, MembersError::AlreadyRevoked { device: two.device(), count: 1 });
    one.let_in(two.device(), "found behind the seat", AT).unwrap();
    assert!(holds(&one, late));
    assert_eq!((one.set_aside().unwrap(), member(&one, &two).revoked), (vec![], None));
}

/// Two desks on copies of one folder, each of which has written `counts` changes, and the founder's desk.
fn copies(folder: &Path, counts: [usize; 2]) -> (Desk, [Desk; 2], [Vec<RecordId>; 2]) {
    let one = found(&folder.join("one"));
    let paths = ["two", "copy"].map(|name| folder.join(name));
    let two = join(&paths[0], &one, Role::Crew);
    one.name_device(two.device(), "tablet", None, AT).unwrap();
    write(&two, "of both");
    meet(&one, &two);
    drop(two);
    copy_folder(&paths[0], &paths[1]);
    let desks = paths.map(|path: PathBuf| Desk::open(&path).unwrap());
    let mut written = [Vec::new(), Vec::new()];
    for (at, desk) in desks.iter().enumerate() {
        written[at].extend((0..counts[at]).map(|number| write(desk, &format!("apart {at} {number}"))));
    }
    (one, desks, written)
}

#[test]
fn a_copied_folder_becomes_a_device_of_its_own() {
    for counts in [[1, 1], [2, 2], [1, 4], [4, 1]] {
        let folder = tempfile::tempdir().unwrap();
        let (one, desks, written) = copies(folder.path(), counts);
        let was = desks[0].device();
        // Where the shorter branch counts, its folder first has to hear of the longer one.
        for _ in 0..5 {
            for desk in &desks {
                carry(desk, &one);
                carry(&one, desk);
            }
        }
        let anew: Vec<_> = desks.iter().filter_map(Desk::last_anew).collect();
        assert_eq!(anew.len(), 1, "{counts:?}");
        let at = desks.iter().position(|desk| desk.last_anew().is_some()).unwrap();
        assert_eq!((anew[0].was, anew[0].is), (was, desks[at].device()));
        assert_eq!((anew[0].written_again, desks[1 - at].device()), (counts[at], was));
        for desk in desks.iter().chain([&one]) {
            assert_eq!(desk.digest().unwrap(), one.digest().unwrap(), "{counts:?}");
            assert!(written.iter().flatten().all(|id| holds(desk, *id)));
            assert_eq!(desk.verify().unwrap().faults, []);
        }
        let copy = member(&one, &desks[at]);
        assert_eq!(
            (copy.label.as_deref(), copy.role, copy.invited_by),
            (Some("tablet (copy)"), Role::Crew, was)
        );
        // Both go on writing, and the new key opens the folder again.
        let desks = desks.map(|desk| {
            let path = desk.path().to_owned();
            drop(desk);
            Desk::open(&path).unwrap()
        });
        assert!(!desks[at].path().join("device.key.next").exists());
        for desk in &desks {
            let id = write(desk, "goes on");
            carry(desk, &one);
            assert!(holds(&one, id));
        }
        assert_eq!(desks.iter().filter_map(Desk::last_anew).count(), 0);
    }
}

#[test]
fn a_revoked_copy_stays_as_it_is_and_a_keeper_takes_what_it_wrote() {
    let folder = tempfile::tempdir().unwrap();
    let (one, desks, written) = copies(folder.path(), [1, 1]);
    carry(&desks[0], &one);
    one.revoke(desks[0].device(), "stolen", AT).unwrap();
    carry(&one, &desks[1]);
    carry(&desks[1], &one);
    assert!(desks.iter().all(|desk| desk.last_anew().is_none()));
    // The branch that the keeper meant stays, whichever has the lesser hash.
    assert!(holds(&one, written[0][0]) && !holds(&one, written[1][0]));
    let aside = one.set_aside().unwrap();
    assert_eq!(aside.iter().map(|span| span.why).collect::<Vec<_>>(), [WhyAside::Forked]);
    let done = one.let_in_branch(desks[0].device(), "the copy was ours", AT).unwrap();
    assert_eq!(done, BranchLetIn { taken: 1, held_elsewhere: 0, left_out: 0 });
    assert!(holds(&one, written[1][0]));
    let again = one.let_in_branch(desks[0].device(), "once more", AT).unwrap();
    assert_eq!((again.taken, again.held_elsewhere), (0, 1));
    assert_eq!(one.verify().unwrap().faults, []);
}

/// The program may end at any moment while a copy becomes a new device: the right key is found when it is opened.
#[test]
fn an_interrupted_change_of_key_is_finished_or_undone() {
    let folder = tempfile::tempdir().unwrap();
    let (one, desks, _) = copies(folder.path(), [1, 1]);
    let old_keys = desks.each_ref().map(|desk| std::fs::read(desk.path().join("device.key")).unwrap());
    for _ in 0..5 {
        for desk in &desks {
            carry(desk, &one);
            carry(&one, desk);
        }
    }
    let at = desks.iter().position(|desk| desk.last_anew().is_some()).unwrap();
    let paths = desks.each_ref().map(|desk| desk.path().to_owned());
    let (is, was) = (desks[at].device(), desks[1 - at].device());
    drop(desks);
    // After the commit and before the rename: both keys are there, the database is the new device's.
    let new_key = std::fs::read(paths[at].join("device.key")).unwrap();
    std::fs::write(paths[at].join("device.key.next"), &new_key).unwrap();
    std::fs::write(paths[at].join("device.key"), &old_keys[at]).unwrap();
    let desk = Desk::open(&paths[at]).unwrap();
    assert_eq!((desk.device(), desk.public_key().unwrap()), (is, member(&desk, &desk).key));
    write(&desk, "goes on");
    assert_eq!(desk.verify().unwrap().faults, []);
    // Before the commit: the database is still the old device's. Half a key is none.
    for next in [&new_key[..], b"half"] {
        std::fs::write(paths[1 - at].join("device.key.next"), next).unwrap();
        let desk = Desk::open(&paths[1 - at]).unwrap();
        assert_eq!((desk.device(), desk.public_key().unwrap()), (was, member(&desk, &desk).key));
        assert!(!paths[1 - at].join("device.key.next").exists());
        drop(desk);
    }
}
