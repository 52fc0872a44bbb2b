//! What is exported and imported again is the same log, whatever strange things it holds.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod kept;

use std::fs;
use std::path::Path;

use kept::{AT, Chance, carry, filled, founded, site};
use storypole_desk::Desk;
use storypole_desk::export::read::Reason;
use storypole_desk::export::{Exported, ImportError, Place, Replica, make_replica};
use storypole_journal::membership::Role;
use storypole_journal::{
    Change, ChangeHash, DeviceId, DeviceKey, Draft, DraftId, Name, Payload, RecordId, SeriesHead, Stamp,
    Write,
};
use storypole_store::{Parcel, Reader};

fn export(desk: &Desk, place: &Place) -> Exported {
    desk.export(place, &mut |_, _| ()).unwrap()
}

fn lines(path: &Path, with_files: bool) -> Place {
    Place::File { path: path.to_owned(), with_files }
}

fn replica(path: &Path, folder: &Path) -> Replica {
    make_replica(path, folder, &mut |_, _| ()).unwrap()
}

/// A device whose changes are made by hand, as a newer program or a dishonest one might.
struct ByHand {
    device: DeviceId,
    key: DeviceKey,
    head: SeriesHead,
    count: u8,
}

impl ByHand {
    fn new(desk: &Desk, number: u8) -> Self {
        let device = DeviceId::from_parts(1_741_000_000_000, [number; 10]);
        let head = SeriesHead::empty(desk.notebook(), device);
        Self { device, key: DeviceKey::from_bytes(&[number; 32]), head, count: 0 }
    }

    /// The next change, with values that no field of this program takes.
    fn next(&mut self, chance: &mut Chance, desk: &Desk) -> Vec<u8> {
        self.count += 1;
        let id = |salt: u8| [self.count, salt, 3, 4, 5, 6, 7, 8, 9, self.key.to_bytes()[0]];
        let name = |text: &str| Name::new(text).unwrap();
        let write = |field: &str, value: Payload, record: u8| Write {
            record: RecordId::from_parts(1_741_000_000_000, id(record)),
            kind: name(["gadget", "site"][usize::from(self.count % 2)]),
            field: name(field),
            value,
            seen: Vec::new(),
            reason: self.count.is_multiple_of(3).then(|| "a \"reason\"\nwith \u{202e} letters".to_owned()),
        };
        let draft = Draft {
            id: DraftId::from_parts(1_741_000_000_000, id(1)),
            author: desk.author(),
            written_at: AT,
            writes: vec![
                write("name", Payload::text("Büro \u{1f9f0}"), 2),
                write("colour", strange(chance), 2),
                write("depth", Payload::int(i64::MIN + i64::from(self.count)), 5),
            ],
        };
        let stamp = Stamp(self.head.stamp.0.max(Stamp::from_parts(1_741_100_000_000, 0).0) + 1);
        let change = Change { device: self.device, seq: self.head.count, stamp, prev: self.head.hash, draft };
        let bytes = change.encode();
        self.head = self.head.extend(&change, ChangeHash::of(&bytes)).unwrap();
        bytes
    }

    fn send(&mut self, desk: &Desk, chance: &mut Chance, count: u64, is_signed: bool) {
        let changes = (0..count).map(|_| self.next(chance, desk)).collect();
        let signature = self.key.sign(desk.notebook(), self.device, self.head.count, self.head.hash);
        let signatures = if is_signed { vec![signature] } else { Vec::new() };
        assert_eq!(desk.receive(Parcel { changes, signatures }).unwrap().stopped, None);
    }
}

/// Values in deterministic encoding that only a later version might mean something by.
fn strange(chance: &mut Chance) -> Payload {
    let values: &[&[u8]] = &[
        &[0xf9, 0x3c, 0x00],
        &[0xfb, 0x3f, 0xf1, 0x99, 0x99, 0x99, 0x99, 0x99, 0x9a],
        &[0xf7],
        &[0x1b, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff],
        &[0xa2, 0x01, 0x02, 0x61, b'a', 0x81, 0xf6],
        &[0xd9, 0xeb, 0x2a, 0x82, 0xc4, 0x82, 0x20, 0x18, 0xc8, 0x63, b'd', b'B', b'A'],
        &[0xc4, 0x82, 0x02, 0x05],
        &[0x40],
    ];
    let index = usize::try_from(chance.below(values.len() as u64)).unwrap();
    Payload::new(values[index].to_vec()).unwrap()
}

/// Members, strangers, an unsigned tail, a revoked device and a fork, by chance (invented).
fn strange_log(folder: &Path, seed: u64) -> Desk {
    let mut chance = Chance::new(seed);
    let desk = filled(folder);
    let (mut member, mut stranger) = (ByHand::new(&desk, 21), ByHand::new(&desk, 22));
    desk.invite(member.device, member.key.public(), Role::Crew, AT).unwrap();
    let count = 1 + chance.below(5);
    member.send(&desk, &mut chance, count, true);
    // A copy of the member's folder goes on by itself.
    let mut copied = ByHand { count: 100, key: member.key.clone(), ..ByHand::new(&desk, 21) };
    copied.head = member.head;
    let count = 1 + chance.below(3);
    member.send(&desk, &mut chance, count, true);
    let count = 1 + chance.below(3);
    copied.send(&desk, &mut chance, count, true);
    let count = 1 + chance.below(4);
    stranger.send(&desk, &mut chance, count, chance_of_half(seed));
    let mut unsigned = ByHand::new(&desk, 23);
    desk.invite(unsigned.device, unsigned.key.public(), Role::Crew, AT).unwrap();
    unsigned.send(&desk, &mut chance, 2, true);
    unsigned.send(&desk, &mut chance, 2, false);
    site(&desk, "S30");
    desk
}

fn chance_of_half(seed: u64) -> bool {
    seed.is_multiple_of(2)
}

#[test]
fn any_log_comes_back_with_the_same_digest() {
    for seed in 0..9 {
        let folder = tempfile::tempdir().unwrap();
        let desk = strange_log(&folder.path().join("own"), seed);
        let place = match seed % 3 {
            0 => lines(&folder.path().join("all.jsonl"), false),
            1 => lines(&folder.path().join("all.jsonl"), true),
            _ => Place::Folder(folder.path().join("all")),
        };
        let exported = export(&desk, &place);
        let path = match &place {
            Place::File { path, .. } => path,
            Place::Folder(folder) => folder,
        };
        assert!(exported.end.forked > 0, "seed {seed}: a branch is aside");
        let copy = replica(path, &folder.path().join("copy"));
        assert_eq!(copy.imported.problem, None, "seed {seed}");
        assert!(copy.imported.equal, "seed {seed}");
        assert_eq!(copy.desk.digest().unwrap(), desk.digest().unwrap(), "seed {seed}");
        let aside = |desk: &Desk| {
            let aside = desk.read(Reader::set_aside).unwrap();
            let mut aside: Vec<_> =
                aside.iter().map(|change| (change.device, change.seq, change.hash, change.why)).collect();
            aside.sort_by_key(|(device, seq, hash, _)| (*device, *seq, *hash));
            aside
        };
        assert_eq!(aside(&copy.desk), aside(&desk), "seed {seed}");
        let files = if seed % 3 == 0 { 0 } else { 2 };
        assert_eq!((exported.end.files, copy.imported.files), (files, files), "seed {seed}");
        assert_eq!(copy.desk.verify().unwrap().faults, [], "seed {seed}");
        // Exported again, the copy says the same.
        let again = folder.path().join("again.jsonl");
        export(&copy.desk, &lines(&again, false));
        let third = replica(&again, &folder.path().join("third"));
        assert_eq!(third.desk.digest().unwrap(), desk.digest().unwrap(), "seed {seed}");
        // The same export once more changes nothing.
        let repeated = copy.desk.import(path, &mut |_, _| ()).unwrap();
        assert_eq!((repeated.new, repeated.files, repeated.problem, repeated.equal), (0, 0, None, true));
    }
}

#[test]
fn a_copy_that_is_behind_gets_what_it_lacks_and_a_reading_copy_may_be_invited() {
    let folder = tempfile::tempdir().unwrap();
    let desk = founded(&folder.path().join("own"));
    let (first, second) = (folder.path().join("1.jsonl"), folder.path().join("2.jsonl"));
    export(&desk, &lines(&first, false));
    let copy = replica(&first, &folder.path().join("copy")).desk;
    site(&desk, "S1");
    desk.invite(copy.device(), copy.public_key().unwrap(), Role::Crew, AT).unwrap();
    export(&desk, &lines(&second, false));
    let imported = copy.import(&second, &mut |_, _| ()).unwrap();
    assert_eq!((imported.new, imported.problem), (2, None));
    site(&copy, "S2");
    carry(&copy, &desk);
    assert_eq!(desk.book().unwrap().sites.len(), 2);
}

/// Each line that says something is altered or left out in turn: the line is named, what came before is kept, and
/// the whole export goes on from there.
#[test]
fn a_bad_line_is_named_and_what_came_before_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let desk = filled(&folder.path().join("own"));
    let whole = folder.path().join("whole.jsonl");
    export(&desk, &lines(&whole, true));
    let text = fs::read_to_string(&whole).unwrap();
    let good: Vec<&str> = text.lines().collect();
    let bad = folder.path().join("bad.jsonl");
    for at in 1..good.len() {
        let mut altered: Vec<String> = good.iter().map(|line| (*line).to_owned()).collect();
        let from = ["\"seq\":", "\"count\":", "\"bytes\":", "\"base64\":\"", "\"changes\":"];
        let key = from.iter().find(|key| altered[at].contains(**key)).unwrap();
        altered[at] = altered[at].replace(key, &format!("{key}1"));
        fs::write(&bad, altered.join("\n") + "\n").unwrap();
        let target = folder.path().join(format!("copy-{at}"));
        let copy = replica(&bad, &target);
        let is_signature = good[at].contains("\"what\":\"signature\"");
        match &copy.imported.problem {
            // A signature that holds for nothing is no fault of the log: it waits for what it covers.
            None => assert!(is_signature, "line {}", at + 1),
            Some(problem) => assert!(problem.line > at as u64, "{problem:?} in line {}", at + 1),
        }
        let held = copy.desk.read(Reader::change_count).unwrap();
        let before = good[..at].iter().filter(|line| line.contains("\"what\":\"change\"")).count() as u64;
        assert!(held >= before, "line {}: {held} of {before}", at + 1);
        let mended = copy.desk.import(&whole, &mut |_, _| ()).unwrap();
        assert_eq!((mended.problem, mended.equal), (None, true), "line {}", at + 1);
        assert_eq!(copy.desk.digest().unwrap(), desk.digest().unwrap(), "line {}", at + 1);

        let mut less = good.clone();
        less.remove(at);
        fs::write(&bad, less.join("\n") + "\n").unwrap();
        let copy = replica(&bad, &folder.path().join(format!("less-{at}")));
        assert!(copy.imported.problem.is_some(), "line {} is left out", at + 1);
    }
}

#[test]
fn an_export_that_was_cut_is_noticed_at_any_place() {
    let folder = tempfile::tempdir().unwrap();
    let desk = filled(&folder.path().join("own"));
    let whole = folder.path().join("whole.jsonl");
    export(&desk, &lines(&whole, true));
    let bytes = fs::read(&whole).unwrap();
    let header = bytes.iter().position(|byte| *byte == b'\n').unwrap() + 1;
    let mut chance = Chance::new(3);
    let bad = folder.path().join("bad.jsonl");
    for nth in 0..20 {
        let left = chance.below((bytes.len() - header) as u64);
        let at = header + usize::try_from(left).unwrap();
        fs::write(&bad, &bytes[..at]).unwrap();
        let copy = replica(&bad, &folder.path().join(format!("copy-{nth}")));
        let problem = copy.imported.problem.expect("it is noticed");
        assert!(matches!(problem.reason, Reason::Cut | Reason::Pieces), "cut at {at}: {problem:?}");
    }
    fs::write(&bad, &bytes[..header / 2]).unwrap();
    let error = desk.import(&bad, &mut |_, _| ()).unwrap_err();
    assert!(matches!(error, ImportError::NotAnExport(_)), "{error}");
    fs::write(&bad, [&bytes[..], b"{}\n"].concat()).unwrap();
    assert_eq!(desk.import(&bad, &mut |_, _| ()).unwrap().problem.unwrap().reason, Reason::Behind);
}

#[test]
fn another_notebook_another_key_and_another_version_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let (desk, other) = (founded(&folder.path().join("own")), founded(&folder.path().join("other")));
    let path = folder.path().join("other.jsonl");
    export(&other, &lines(&path, false));
    let before = desk.digest().unwrap();
    let error = desk.import(&path, &mut |_, _| ()).unwrap_err();
    assert!(matches!(error, ImportError::OtherNotebook { .. }), "{error}");
    assert!(error.to_string().contains("name a new folder"), "{error}");
    let text = fs::read_to_string(&path).unwrap();
    let key = text.split("\"founder_key\":\"").nth(1).unwrap()[..64].to_owned();
    fs::write(&path, text.replace(&key, &"00".repeat(32))).unwrap();
    let error = other.import(&path, &mut |_, _| ()).unwrap_err();
    assert!(matches!(error, ImportError::OtherFounder(_)), "{error}");
    fs::write(&path, text.replacen("\"version\":1", "\"version\":2", 1)).unwrap();
    let error = other.import(&path, &mut |_, _| ()).unwrap_err();
    assert!(matches!(error, ImportError::Header { .. }), "{error}");
    assert_eq!(desk.digest().unwrap(), before);
    assert!(matches!(
        desk.export(&lines(&path, false), &mut |_, _| ()),
        Err(storypole_desk::export::ExportError::AlreadyThere(_))
    ));
}
