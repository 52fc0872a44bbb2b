//! Which files are wanted, in what order, and what a check of them finds.

use std::fs;

use storypole_notebook::kinds::KINDS;
use storypole_notebook::{FieldType, Value};
use storypole_units::Currency;

use super::*;
use crate::{Founding, edge};

const AT: WrittenAt = WrittenAt { unix_ms: 1_741_100_400_000, offset_min: -300 };

fn found(path: &std::path::Path) -> Desk {
    let founding = Founding {
        name: "Millrace house".to_owned(),
        currency: Currency::parse("USD").unwrap(),
        role: "site lead".to_owned(),
        label: "lead".to_owned(),
        device_label: "box".to_owned(),
        written_at: AT,
    };
    Desk::found(path, &founding).unwrap()
}

/// Pins a file to the person at the desk, written so many minutes after the first.
fn pin(desk: &Desk, hash: [u8; 32], bytes: u64, minute: i64) -> RecordId {
    let at = WrittenAt { unix_ms: AT.unix_ms + minute * 60_000, ..AT };
    let (photo, mut compose) = (edge::record_id(), desk.compose(at));
    compose.set(photo, "photo", "hash", &Value::Hash(hash)).unwrap();
    compose.set(photo, "photo", "bytes", &Value::Integer(bytes as i64)).unwrap();
    compose.set(photo, "photo", "about", &Value::Record(desk.author())).unwrap();
    desk.take(compose.finish()).unwrap();
    photo
}

fn strike(desk: &Desk, photo: RecordId) {
    let mut compose = desk.compose(AT);
    compose.strike(photo, "photo", Vec::new(), "another wall".to_owned());
    desk.take(compose.finish()).unwrap();
}

#[test]
fn every_field_that_holds_a_hash_is_looked_at() {
    let with_hash = KINDS.iter().flat_map(|kind| {
        let is_hash = |takes: &FieldType| matches!(takes, FieldType::Hash);
        kind.fields.iter().filter(move |field| is_hash(&field.takes)).map(|field| (kind.name, field.name))
    });
    assert_eq!(with_hash.collect::<Vec<_>>(), [("signal", "hash"), ("photo", "hash")], "see each_named");
}

#[test]
fn small_and_new_files_come_first() {
    let folder = tempfile::tempdir().unwrap();
    let desk = found(folder.path());
    let kib = |kib: u64| kib << 10;
    pin(&desk, [1; 32], kib(300_000), 50);
    pin(&desk, [2; 32], kib(40), 1);
    pin(&desk, [3; 32], kib(900), 9);
    pin(&desk, [4; 32], kib(200), 3);
    pin(&desk, [5; 32], kib(600), 10);
    let mut twice = [pin(&desk, [6; 32], kib(900), 2), pin(&desk, [6; 32], kib(900), 20)];
    // Ids of one millisecond have no order but their own.
    twice.sort_unstable();
    let struck = pin(&desk, [7; 32], kib(1), 30);
    strike(&desk, struck);
    let files = desk.attached().unwrap();
    let order: Vec<u8> = files.iter().map(|file| file.hash[0]).collect();
    assert_eq!(order, [4, 2, 6, 5, 3, 1], "a struck record wants nothing");
    let both = &files[2];
    assert_eq!((both.bytes, both.named_by.as_slice()), (Some(kib(900)), &twice.map(|id| ("photo", id))[..]));
    assert_eq!(both.written_at.unwrap().unix_ms, AT.unix_ms + 20 * 60_000);
    let named = desk.named_files(&[[7; 32], [9; 32], [2; 32]]).unwrap();
    assert_eq!(
        named,
        [([7; 32], Some(kib(1))), ([2; 32], Some(kib(40)))],
        "struck ones are named all the same"
    );
}

#[test]
fn sizes_that_differ_say_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let desk = found(folder.path());
    pin(&desk, [1; 32], 10, 1);
    pin(&desk, [1; 32], 11, 2);
    assert_eq!(desk.attached().unwrap()[0].bytes, None);
}

#[test]
fn classes_of_size_are_doublings() {
    for (bytes, class) in
        [(0, 0), (1, 0), (256 << 10, 0), ((256 << 10) + 1, 1), (512 << 10, 1), (1 << 20, 2), (u64::MAX, 46)]
    {
        assert_eq!(size_class(Some(bytes)), class, "{bytes}");
    }
    assert!(size_class(None) > size_class(Some(u64::MAX)));
}

#[test]
fn a_file_is_here_missing_arriving_or_damaged() {
    let folder = tempfile::tempdir().unwrap();
    let desk = found(&folder.path().join("box"));
    let tablet = found(&folder.path().join("tablet"));
    let content = vec![3; 2_000_000];
    let hash = tablet.keep_file(&mut &content[..]).unwrap().hash;
    assert_eq!(desk.file_state(&hash), FileState::Missing);
    let files = desk.attachments();
    files.begin(&hash, tablet.attachments().parts(&hash).unwrap()).unwrap();
    assert_eq!(desk.file_state(&hash), FileState::Arriving { held_bytes: 0 });
    files.arrive(&hash, 0, &tablet.attachments().part(&hash, 0).unwrap()).unwrap();
    assert_eq!(desk.file_state(&hash), FileState::Arriving { held_bytes: 1 << 20 });
    files.arrive(&hash, 1, &tablet.attachments().part(&hash, 1).unwrap()).unwrap();
    assert_eq!(desk.file_state(&hash), FileState::Here);
}

#[test]
fn a_check_finds_rot_orphans_and_what_is_missing() {
    let folder = tempfile::tempdir().unwrap();
    let desk = found(folder.path());
    let keep = |content: &[u8]| desk.keep_file(&mut &content[..]).unwrap().hash;
    let (good, rotten, orphan, struck) = (keep(b"good"), keep(b"rotten"), keep(b"orphan"), keep(b"struck"));
    for (hash, bytes) in [(good, 4), (rotten, 6), ([9; 32], 5)] {
        pin(&desk, hash, bytes, 0);
    }
    let photo = pin(&desk, struck, 6, 0);
    strike(&desk, photo);
    let name = blake3::Hash::from_bytes(rotten).to_hex();
    let place = folder.path().join("attachments").join(&name[..2]).join(&name[2..]);
    fs::write(&place, b"Rotten").unwrap();

    let mut heard = Vec::new();
    let check = desk.check_files(&mut |done, of| heard.push((done, of))).unwrap();
    let expected = FilesCheck {
        files: 4,
        bytes: 4 + 6 + 6,
        damaged: vec![rotten],
        orphans: vec![(orphan, 6)],
        missing: vec![[9; 32]],
    };
    assert_eq!(check, expected);
    assert_eq!(heard, [(0, 4), (1, 4), (2, 4), (3, 4), (4, 4)]);
    assert_eq!(desk.file_state(&rotten), FileState::Damaged);
    let again = desk.check_files(&mut |_, _| ()).unwrap();
    assert_eq!((again.files, &again.damaged[..], &again.missing[..]), (3, &[rotten][..], &[[9; 32]][..]));
    keep(b"rotten");
    assert!(desk.check_files(&mut |_, _| ()).unwrap().damaged.is_empty());
    assert!(!folder.path().join("attachments/damaged").join(name.as_str()).exists());
}

#[test]
fn the_policy_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let desk = found(folder.path());
    assert_eq!(desk.files_policy().unwrap(), FilesPolicy::All);
    desk.set_files_policy(FilesPolicy::Asked).unwrap();
    drop(desk);
    let desk = Desk::open(folder.path()).unwrap();
    assert_eq!(desk.files_policy().unwrap(), FilesPolicy::Asked);
    assert_eq!(FilesPolicy::parse("all"), Some(FilesPolicy::All));
    assert_eq!(FilesPolicy::parse("some"), None);
}
