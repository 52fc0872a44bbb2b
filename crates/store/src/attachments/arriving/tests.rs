//! Files that are cut off, taken up again, altered on their way, and sent by two at once.

use super::*;

const PART: usize = PART_BYTES as usize;

fn opened() -> (tempfile::TempDir, Attachments) {
    let folder = tempfile::tempdir().unwrap();
    let attachments = Attachments::open(folder.path()).unwrap();
    (folder, attachments)
}

fn content(bytes: usize) -> Vec<u8> {
    (0..bytes).map(|at| (at * 7 % 251) as u8).collect()
}

fn listed(content: &[u8]) -> ([u8; 32], Parts) {
    Parts::read(&mut &content[..]).unwrap()
}

fn given(attachments: &Attachments, hash: &[u8; 32]) -> Vec<u8> {
    let mut given = Vec::new();
    attachments.give(hash, &mut given).unwrap();
    given
}

fn files_in(folder: &Path) -> usize {
    fs::read_dir(folder.join("arriving")).unwrap().count()
}

#[test]
fn a_file_arrives_part_by_part() {
    for bytes in [1, 1024, PART - 1, PART, PART + 1, 3 * PART, 3 * PART + 5] {
        let (folder, attachments) = opened();
        let content = content(bytes);
        let (hash, parts) = listed(&content);
        let count = parts.count();
        let begun = attachments.begin(&hash, parts).unwrap();
        assert_eq!(begun, Arrived::Lacks { held_bytes: 0, bytes: bytes as u64 });
        for (index, part) in content.chunks(PART).enumerate() {
            assert!(!attachments.has(&hash), "not before it is whole");
            let arrived = attachments.arrive(&hash, index as u64, part).unwrap();
            let held_bytes = ((index + 1) * PART) as u64;
            let lacks = Arrived::Lacks { held_bytes, bytes: bytes as u64 };
            assert_eq!(arrived, if index as u64 + 1 == count { Arrived::Here } else { lacks });
        }
        assert_eq!(given(&attachments, &hash), content);
        assert_eq!(files_in(folder.path()), 0, "nothing is left behind");
        assert_eq!(attachments.arrive(&hash, 0, &content[..1]).unwrap(), Arrived::Here);
        assert_eq!(attachments.begin(&hash, listed(&content).1).unwrap(), Arrived::Here);
    }
}

#[test]
fn an_empty_file_arrives_with_its_list() {
    let (_folder, attachments) = opened();
    let (hash, parts) = listed(b"");
    assert_eq!(attachments.begin(&hash, parts).unwrap(), Arrived::Here);
    assert_eq!(given(&attachments, &hash), b"");
}

#[test]
fn a_file_cut_anywhere_goes_on_after_its_whole_parts() {
    let content = content(3 * PART + 1000);
    let (hash, parts) = listed(&content);
    for cut in [0, 1, PART - 1, PART, PART + 1, 2 * PART + 77, 3 * PART, 3 * PART + 1, content.len()] {
        let folder = tempfile::tempdir().unwrap();
        Attachments::open(folder.path()).unwrap().begin(&hash, parts.clone()).unwrap();
        // As a crash leaves it: what was written last is torn.
        let torn = Attachments::look_at(folder.path()).arriving_path(&hash);
        fs::write(&torn, &content[..cut]).unwrap();

        let attachments = Attachments::open(folder.path()).unwrap();
        assert_eq!(attachments.all_arriving().unwrap(), [hash]);
        assert_eq!(attachments.arriving_bytes(&hash), Some(cut as u64));
        let whole = if cut == content.len() { cut } else { cut / PART * PART };
        let (list, held_bytes) = attachments.arrival(&hash).unwrap().unwrap();
        assert_eq!((list.as_ref(), held_bytes), (&parts, whole as u64), "cut at {cut}");
        assert_eq!(fs::metadata(&torn).unwrap().len(), whole as u64, "the torn end is cut off");
        let mut arrived = attachments.begin(&hash, parts.clone()).unwrap();
        let rest = content.chunks(PART).enumerate().skip(whole.div_ceil(PART));
        for (index, part) in rest {
            arrived = attachments.arrive(&hash, index as u64, part).unwrap();
        }
        assert_eq!(arrived, Arrived::Here, "cut at {cut}");
        assert_eq!(given(&attachments, &hash), content);
    }
}

#[test]
fn what_rotted_while_it_waited_is_asked_for_again() {
    let content = content(3 * PART);
    let (hash, parts) = listed(&content);
    let folder = tempfile::tempdir().unwrap();
    let attachments = Attachments::open(folder.path()).unwrap();
    attachments.begin(&hash, parts.clone()).unwrap();
    attachments.arrive(&hash, 0, &content[..PART]).unwrap();
    attachments.arrive(&hash, 1, &content[PART..2 * PART]).unwrap();
    let path = attachments.arriving_path(&hash);
    let mut altered = content[..2 * PART].to_vec();
    altered[PART + 9] ^= 4;
    fs::write(&path, &altered).unwrap();
    // In the same run it is noticed at the end.
    let last = attachments.arrive(&hash, 2, &content[2 * PART..]);
    assert!(matches!(last, Err(ArriveError::Attachment(AttachmentError::Altered))));
    assert!(!attachments.has(&hash));
    assert_eq!(attachments.arrival(&hash).unwrap().unwrap().1, PART as u64);
    // In the next one at its beginning.
    fs::write(&path, &altered).unwrap();
    let attachments = Attachments::open(folder.path()).unwrap();
    assert_eq!(attachments.arrival(&hash).unwrap().unwrap().1, PART as u64);
    attachments.arrive(&hash, 1, &content[PART..2 * PART]).unwrap();
    assert_eq!(attachments.arrive(&hash, 2, &content[2 * PART..]).unwrap(), Arrived::Here);
    assert_eq!(given(&attachments, &hash), content);
}

#[test]
fn a_false_part_is_refused_and_costs_nothing() {
    let (_folder, attachments) = opened();
    let content = content(2 * PART + 3);
    let (hash, parts) = listed(&content);
    assert!(matches!(attachments.arrive(&hash, 0, &content[..PART]), Err(ArriveError::NoList)));
    attachments.begin(&hash, parts).unwrap();
    let mut altered = content[..PART].to_vec();
    altered[500_000] ^= 1;
    assert!(matches!(attachments.arrive(&hash, 0, &altered), Err(ArriveError::FalsePart { index: 0 })));
    let second = &content[PART..2 * PART];
    let early = attachments.arrive(&hash, 1, second);
    assert!(matches!(early, Err(ArriveError::Gap { expected: 0, index: 1 })));
    attachments.arrive(&hash, 0, &content[..PART]).unwrap();
    let again = attachments.arrive(&hash, 0, &content[..PART]).unwrap();
    assert_eq!(again, Arrived::Lacks { held_bytes: PART_BYTES, bytes: content.len() as u64 });
    assert!(matches!(attachments.arrive(&hash, 9, b"more"), Err(ArriveError::FalsePart { index: 9 })));
    assert!(matches!(attachments.arrive(&hash, 1, &content), Err(ArriveError::FalsePart { index: 1 })));
    attachments.arrive(&hash, 1, second).unwrap();
    assert_eq!(attachments.arrive(&hash, 2, &content[2 * PART..]).unwrap(), Arrived::Here);
}

#[test]
fn a_list_that_lies_about_the_size_gives_way_to_a_true_one() {
    let (_folder, attachments) = opened();
    let content = content(PART + 10);
    let (hash, parts) = listed(&content);
    let mut lying = parts.encode();
    lying[8] += 1;
    let lying = Parts::decode(&lying, &hash).unwrap();
    attachments.begin(&hash, lying.clone()).unwrap();
    attachments.arrive(&hash, 0, &content[..PART]).unwrap();
    let short = attachments.arrive(&hash, 1, &content[PART..]);
    assert!(matches!(short, Err(ArriveError::FalsePart { index: 1 })));
    let mut padded = content[PART..].to_vec();
    padded.push(0);
    assert!(matches!(attachments.arrive(&hash, 1, &padded), Err(ArriveError::FalsePart { index: 1 })));
    let begun = attachments.begin(&hash, parts).unwrap();
    assert_eq!(begun, Arrived::Lacks { held_bytes: PART_BYTES, bytes: content.len() as u64 });
    assert_eq!(attachments.arrive(&hash, 1, &content[PART..]).unwrap(), Arrived::Here);
    assert_eq!(given(&attachments, &hash), content);
}

#[test]
fn the_beginning_of_a_part_is_kept_for_the_next_try() {
    let (folder, attachments) = opened();
    let content = content(2 * PART);
    let (hash, parts) = listed(&content);
    attachments.keep_tail(&hash, 0, b"before anything began").unwrap();
    attachments.begin(&hash, parts.clone()).unwrap();
    assert!(attachments.tail(&hash, 0).is_empty());
    attachments.keep_tail(&hash, 0, &content[..1000]).unwrap();
    attachments.keep_tail(&hash, 0, &content[..10]).unwrap();
    attachments.keep_tail(&hash, 1, &content[..2000]).unwrap();
    assert_eq!(attachments.tail(&hash, 0), content[..1000], "the longest of the part that is due");
    assert!(attachments.tail(&hash, 1).is_empty());
    // Also in the next run of the program.
    let attachments = Attachments::open(folder.path()).unwrap();
    attachments.begin(&hash, parts).unwrap();
    assert_eq!(attachments.tail(&hash, 0), content[..1000]);
    attachments.arrive(&hash, 0, &content[..PART]).unwrap();
    assert!(attachments.tail(&hash, 1).is_empty(), "it was of the part before");
    attachments.keep_tail(&hash, 1, &content[PART..PART + 5]).unwrap();
    attachments.give_up(&hash).unwrap();
    assert_eq!((files_in(folder.path()), attachments.arriving_bytes(&hash)), (0, None));
}

#[test]
fn two_may_bring_the_same_file_at_once() {
    let (folder, attachments) = opened();
    let content = content(6 * PART + 1);
    let (hash, parts) = listed(&content);
    let here: usize = std::thread::scope(|scope| {
        let bring = || {
            let mut here = 0;
            let mut arrived = attachments.begin(&hash, parts.clone()).unwrap();
            while let Arrived::Lacks { held_bytes, .. } = arrived {
                let index = held_bytes as usize / PART;
                let end = content.len().min((index + 1) * PART);
                arrived = attachments.arrive(&hash, index as u64, &content[index * PART..end]).unwrap();
                here += usize::from(arrived == Arrived::Here);
            }
            here
        };
        let threads: Vec<_> = (0..4).map(|_| scope.spawn(bring)).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).sum()
    });
    assert!(here >= 1);
    assert_eq!(given(&attachments, &hash), content);
    assert_eq!(files_in(folder.path()), 0);
}

#[test]
fn a_list_that_a_crash_tore_starts_anew() {
    let (folder, attachments) = opened();
    let content = content(2 * PART);
    let (hash, parts) = listed(&content);
    attachments.begin(&hash, parts.clone()).unwrap();
    attachments.arrive(&hash, 0, &content[..PART]).unwrap();
    fs::write(attachments.list_path(&hash), &parts.encode()[..20]).unwrap();
    let attachments = Attachments::open(folder.path()).unwrap();
    assert!(attachments.arrival(&hash).unwrap().is_none());
    assert_eq!(files_in(folder.path()), 0);
}

/// `/dev/full` answers every write as a full disk does (Linux manual, full(4)).
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_said_and_the_file_goes_on_once_there_is_room() {
    let (_folder, attachments) = opened();
    let content = content(2 * PART);
    let (hash, parts) = listed(&content);
    attachments.begin(&hash, parts).unwrap();
    let path = attachments.arriving_path(&hash);
    std::os::unix::fs::symlink("/dev/full", &path).unwrap();
    let refused = attachments.arrive(&hash, 0, &content[..PART]).unwrap_err();
    assert!(matches!(&refused, ArriveError::Attachment(error) if error.is_disk_full()), "{refused:?}");
    assert_eq!(attachments.arrival(&hash).unwrap().unwrap().1, 0);
    fs::remove_file(&path).unwrap();
    attachments.arrive(&hash, 0, &content[..PART]).unwrap();
    assert_eq!(attachments.arrive(&hash, 1, &content[PART..]).unwrap(), Arrived::Here);
}

#[test]
fn what_a_failed_write_left_is_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file");
    fs::write(&path, b"whole parts, and half of one").unwrap();
    let mut file = OpenOptions::new().write(true).open(&path).unwrap();
    write_at(&mut file, 11, b"!").unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"whole parts!");
}

#[test]
fn a_file_is_fetched_by_one_at_a_time() {
    let (_folder, attachments) = opened();
    let claim = attachments.claim(&[7; 32]);
    assert!(claim.is_some() && attachments.clone().claim(&[7; 32]).is_none());
    assert!(attachments.claim(&[8; 32]).is_some());
    drop(claim);
    assert!(attachments.claim(&[7; 32]).is_some());
}
