//! Replicas that write apart and meet again: whatever the order of arrival, they agree.

#![allow(clippy::unwrap_used)] // The lint spares test functions, and not their helpers here.

use std::collections::BTreeMap;

use proptest::prelude::*;
use storypole_journal::log::{Registers, SetAside};
use storypole_journal::membership::{invite, let_in, revoke, vouch};
use storypole_journal::*;

/// Devices 0 to 4; 0 founds, 0 invites 1 (keeper), 2 (crew) and 4 (viewer), 1 invites 3 (keeper).
const DEVICES: u8 = 5;

fn device(number: u8) -> DeviceId {
    DeviceId::from_bytes([0xD0 + number; 16])
}

fn key(number: u8) -> DeviceKey {
    DeviceKey::from_bytes(&[number + 1; 32])
}

fn record(number: u8) -> RecordId {
    RecordId::from_bytes([number; 16])
}

fn write(of: u8, field: &str, value: i64) -> Write {
    Write {
        record: record(of),
        kind: Name::new("entry").unwrap(),
        field: Name::new(field).unwrap(),
        value: Payload::int(value),
        seen: Vec::new(),
        reason: None,
    }
}

/// All logs of a crew, and a counter for draft ids and times.
struct World {
    logs: Vec<MemoryLog>,
    drafts: Vec<Draft>,
    now_ms: u64,
}

impl World {
    /// Everyone is invited and has synced once.
    fn new() -> Self {
        let mut world = Self { logs: Vec::new(), drafts: Vec::new(), now_ms: 1_000 };
        let draft = world.draft(vec![write(0, "title", 0)]);
        world.logs.push(MemoryLog::found(device(0), key(0), draft, 1_000).unwrap());
        for (by, whom, role) in
            [(0, 1, Role::Keeper), (0, 2, Role::Crew), (1, 3, Role::Keeper), (0, 4, Role::Viewer)]
        {
            let notebook = world.logs[0].notebook();
            world.logs.push(MemoryLog::open(notebook, device(whom), key(whom)));
            world.write(by, invite(device(whom), key(whom).public(), role, device(by)));
            world.sync(by, whom);
            world.sync(by, 0);
        }
        world.settle();
        world
    }

    fn draft(&mut self, writes: Vec<Write>) -> Draft {
        self.now_ms += 7;
        let id = DraftId::from_parts(self.now_ms, [self.drafts.len() as u8; 10]);
        let written_at = WrittenAt { unix_ms: self.now_ms as i64, offset_min: 0 };
        let draft = Draft { id, author: record(0xA0), written_at, writes };
        self.drafts.push(draft.clone());
        draft
    }

    fn write(&mut self, by: u8, writes: Vec<Write>) -> Draft {
        let draft = self.draft(writes);
        // Clocks disagree by seconds.
        let now_ms = self.now_ms + u64::from(by) * 3_000;
        assert!(matches!(self.log(by).take(draft.clone(), now_ms), Ok(Taken::New { .. })));
        draft
    }

    /// Writes a value having seen what the device shows.
    fn edit(&mut self, by: u8, of: u8, field: &str, value: i64, reason: Option<&str>) -> Draft {
        let seen = self.logs[by as usize].heads(record(of), field);
        self.write(by, vec![Write { seen, reason: reason.map(str::to_owned), ..write(of, field, value) }])
    }

    fn revoke(&mut self, by: u8, whom: u8, seen: Vec<WriteId>) {
        let log = &self.logs[by as usize];
        let count = log.vector().count(device(whom));
        let revocation = Revocation { count, hash: log.hash_at(device(whom), count).unwrap() };
        self.write(by, revoke(device(whom), revocation, seen, "lost".into()));
    }

    fn let_in(&mut self, by: u8, whom: u8) {
        let seen = self.logs[by as usize].heads(device(whom).membership_record(), "revoked");
        self.write(by, let_in(device(whom), seen, "found".into()));
    }

    fn log(&mut self, number: u8) -> &mut MemoryLog {
        &mut self.logs[number as usize]
    }

    /// Both get what the other has.
    fn sync(&mut self, a: u8, b: u8) {
        for (from, to) in [(a, b), (b, a)] {
            let vector = self.logs[to as usize].vector();
            let (changes, signatures) = self.logs[from as usize].since(&vector);
            let received = self.log(to).receive(changes, signatures);
            assert_eq!(received.refused, []);
        }
    }

    /// One way, and the connection breaks after some changes; signatures that got through come after.
    fn sync_partly(&mut self, from: u8, to: u8, count: usize, with_signatures: bool) {
        let vector = self.logs[to as usize].vector();
        let (mut changes, mut signatures) = self.logs[from as usize].since(&vector);
        changes.truncate(count);
        if !with_signatures {
            signatures.clear();
        }
        assert_eq!(self.log(to).receive(changes, signatures).refused, []);
    }

    fn settle(&mut self) {
        for _ in 0..2 {
            for a in 0..self.logs.len() as u8 {
                (0..a).for_each(|b| self.sync(a, b));
            }
        }
    }

    fn check_agreed(&self) {
        let views: Vec<View> = self.logs.iter().map(View::of).collect();
        for view in &views[1..] {
            assert_eq!(view, &views[0]);
        }
    }

    fn values(&self, log: u8, of: u8, field: &str) -> Vec<i64> {
        let registers = self.logs[log as usize].registers();
        let values = registers.get(&(record(of), Name::new(field).unwrap())).cloned().unwrap_or_default();
        values.iter().map(|(_, payload)| cbor::Reader::new(payload.as_bytes()).int().unwrap()).collect()
    }

    fn is_set_aside(&self, log: u8, whom: u8) -> bool {
        self.logs[log as usize].set_aside().iter().any(|span| span.device == device(whom))
    }
}

/// All that must be equal on every device that holds the same.
#[derive(Debug, PartialEq)]
struct View {
    registers: Registers,
    states: BTreeMap<RecordId, Vec<u8>>,
    standing: Standing,
    set_aside: Vec<SetAside>,
    unsigned: BTreeMap<DeviceId, u64>,
    digest: ChangeHash,
}

impl View {
    fn of(log: &MemoryLog) -> Self {
        Self {
            registers: log.registers(),
            states: log.records().into_iter().map(|(record, state)| (record, state.encode())).collect(),
            standing: log.standing().clone(),
            set_aside: log.set_aside(),
            unsigned: log.unsigned(),
            digest: log.vector().digest(),
        }
    }
}

#[test]
fn concurrent_values_are_a_conflict_until_a_person_picks() {
    let mut world = World::new();
    world.edit(0, 1, "width", 10, None);
    world.settle();
    world.edit(1, 1, "width", 11, None);
    world.edit(2, 1, "width", 12, None);
    world.edit(3, 1, "height", 5, None);
    world.settle();
    world.check_agreed();
    // The greatest stamp is shown: the clock of device 2 runs ahead of that of device 1.
    assert_eq!(world.values(0, 1, "width"), [12, 11]);
    assert_eq!(world.values(0, 1, "height"), [5]);
    world.edit(0, 1, "width", 11, Some("measured again"));
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(2, 1, "width"), [11]);
    let states = world.logs[2].records();
    assert!(states[&record(1)].field("width").unwrap().corrected);
    assert!(!states[&record(1)].field("height").unwrap().corrected);
}

#[test]
fn the_same_value_twice_is_no_conflict() {
    let mut world = World::new();
    world.edit(1, 1, "width", 10, None);
    world.edit(2, 1, "width", 10, None);
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(0, 1, "width"), [10]);
    assert_eq!(world.logs[0].heads(record(1), "width").len(), 2);
}

#[test]
fn a_strike_stands_beside_what_it_strikes() {
    let mut world = World::new();
    world.edit(1, 1, "note", 3, None);
    world.sync(1, 2);
    world.edit(2, 1, "struck", 1, Some("written twice"));
    world.edit(1, 1, "note", 4, Some("misheard"));
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(3, 1, "struck"), [1]);
    assert_eq!(world.values(3, 1, "note"), [4]);
    // History stays: the first value is still in the log.
    let first = world.logs[3].records()[&record(1)].field("note").unwrap().replaced()[0];
    assert_eq!(world.logs[3].write(first).unwrap().value, Payload::int(3));
}

#[test]
fn a_draft_handed_in_again_is_a_no_op_and_another_content_refused() {
    let mut world = World::new();
    let draft = world.edit(1, 1, "note", 3, None);
    assert_eq!(world.log(1).take(draft.clone(), 0), Ok(Taken::Held));
    world.sync(1, 2);
    assert_eq!(world.log(2).take(draft.clone(), 0), Ok(Taken::Held));
    let other = Draft { writes: vec![write(1, "note", 4)], ..draft.clone() };
    assert_eq!(world.log(2).take(other, 0), Err(TakeError::Reused { draft: draft.id }));
}

#[test]
fn a_draft_handed_to_two_devices_counts_once() {
    let mut world = World::new();
    let draft = world.edit(1, 1, "note", 3, None);
    assert!(matches!(world.log(2).take(draft.clone(), 900_000), Ok(Taken::New { .. })));
    // What device 2 goes on to write has seen it, though elsewhere it stands at another place.
    world.edit(2, 1, "note", 4, None);
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(0, 1, "note"), [4]);
    assert_eq!(world.logs[0].reused_drafts(), []);
}

#[test]
fn a_reused_id_is_kept_and_listed_and_the_least_place_counts() {
    let mut world = World::new();
    let draft = world.edit(1, 1, "note", 3, None);
    let other = Draft { writes: vec![write(1, "note", 4)], ..draft };
    let later_ms = world.now_ms + 60_000;
    assert!(matches!(world.log(2).take(other, later_ms), Ok(Taken::New { .. })));
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(0, 1, "note"), [3]);
    for log in &world.logs {
        let reused: Vec<_> = log.reused_drafts().iter().map(|reused| reused.at.0).collect();
        assert_eq!(reused, [device(2)]);
    }
}

#[test]
fn what_was_seen_must_be_here() {
    let mut world = World::new();
    let draft = world.edit(1, 1, "note", 3, None);
    let seen = vec![draft.write_id(0)];
    let next = world.draft(vec![Write { seen: seen.clone(), ..write(1, "note", 4) }]);
    assert_eq!(world.log(2).take(next.clone(), 0), Err(TakeError::SeenUnknown { write: seen[0] }));
    world.sync(1, 2);
    assert!(matches!(world.log(2).take(next, 0), Ok(Taken::New { .. })));
    let beyond = vec![draft.write_id(1)];
    let next = world.draft(vec![Write { seen: beyond.clone(), ..write(1, "note", 4) }]);
    assert_eq!(world.log(2).take(next, 0), Err(TakeError::SeenUnknown { write: beyond[0] }));
}

#[test]
fn what_no_signature_covers_is_neither_projected_nor_passed_on() {
    let mut world = World::new();
    world.edit(1, 1, "note", 3, None);
    let before = View::of(&world.logs[2]);
    world.sync_partly(1, 2, usize::MAX, false);
    let log = &world.logs[2];
    assert_eq!(log.registers(), before.registers);
    assert_eq!(log.unsigned(), BTreeMap::from([(device(1), 1)]));
    // It counts for resume, and a third device gets nothing.
    assert_eq!(log.vector().count(device(1)), before_count(&world, 2, 1) + 1);
    let (passed_on, _) = log.since(&world.logs[3].vector());
    assert_eq!(passed_on, []);
    // Nothing is sent twice, but the signature arrives.
    let (changes, _) = world.logs[1].since(&world.logs[2].vector());
    assert_eq!(changes, []);
    world.sync(1, 2);
    assert_eq!(world.logs[2].unsigned(), BTreeMap::new());
    assert_eq!(world.values(2, 1, "note"), [3]);
}

/// How many changes of a device are covered.
fn before_count(world: &World, log: u8, whom: u8) -> u64 {
    world.logs[log as usize].standing().covered(device(whom))
}

#[test]
fn a_forged_signature_covers_nothing() {
    let mut world = World::new();
    world.edit(1, 1, "note", 3, None);
    let entry = world.logs[1].vector().get(device(1)).unwrap();
    let forged = key(2).sign(world.logs[1].notebook(), device(1), entry.count, entry.hash);
    let (changes, _) = world.logs[1].since(&world.logs[2].vector());
    world.log(2).receive(changes, [forged]);
    assert_eq!(world.logs[2].unsigned().get(&device(1)), Some(&1));
    world.sync(1, 2);
    assert_eq!(world.values(2, 1, "note"), [3]);
}

#[test]
fn long_series_travel_with_a_signature_within_every_thousand() {
    let mut log = {
        let draft = World { logs: vec![], drafts: vec![], now_ms: 0 }.draft(vec![write(0, "title", 0)]);
        MemoryLog::found(device(0), key(0), draft, 1).unwrap()
    };
    for number in 1..2_500u32 {
        let mut id = [0xFF; 16];
        id[..4].copy_from_slice(&number.to_be_bytes());
        let written_at = WrittenAt { unix_ms: 0, offset_min: 0 };
        let writes = vec![write(1, "note", i64::from(number))];
        let draft = Draft { id: DraftId::from_bytes(id), author: record(0), written_at, writes };
        log.take(draft, 1).unwrap();
    }
    let (changes, signatures) = log.since(&Vector::new());
    let counts: Vec<u64> = signatures.iter().map(|signature| signature.count).collect();
    assert_eq!((changes.len(), counts), (2_500, vec![1_000, 2_000, 2_500]));
}

#[test]
fn viewers_and_strangers_are_set_aside() {
    let mut world = World::new();
    world.edit(4, 1, "note", 3, None);
    world.logs.push(MemoryLog::open(world.logs[0].notebook(), device(9), key(9)));
    world.sync(5, 0);
    world.edit(5, 1, "note", 4, None);
    let own = world.logs[5].since(&world.logs[0].vector());
    assert_eq!(own.0, [], "a stranger's changes are covered by no known key");
    world.settle();
    assert_eq!(world.values(0, 1, "note"), [0i64; 0]);
    assert!(world.is_set_aside(0, 4));
    let aside = world.logs[0].set_aside();
    assert_eq!(aside.iter().map(|span| span.limit).collect::<Vec<_>>(), [Limit::Viewer]);
    // Invited later, the stranger's changes count from the first.
    world.write(1, invite(device(9), key(9).public(), Role::Crew, device(1)));
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(0, 1, "note"), [4]);
}

#[test]
fn a_revocation_sets_aside_what_lies_beyond_and_letting_in_brings_it_back() {
    let mut world = World::new();
    world.edit(2, 1, "note", 1, None);
    world.sync(2, 0);
    world.revoke(0, 2, vec![]);
    world.edit(2, 1, "note", 2, None);
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(3, 1, "note"), [1]);
    let span = world.logs[3].set_aside()[0];
    assert_eq!((span.device, span.to - span.from), (device(2), 1));
    // Someone replaced the value meanwhile; what is let in is a conflict with that.
    world.edit(3, 1, "note", 9, None);
    world.let_in(1, 2);
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(0, 1, "note"), [9, 2]);
    assert_eq!(world.logs[0].set_aside().iter().filter(|span| span.device == device(2)).count(), 0);
}

#[test]
fn heads_are_those_of_what_is_not_set_aside() {
    let mut world = World::new();
    world.edit(0, 1, "note", 1, None);
    world.settle();
    let count = world.logs[0].vector().count(device(2));
    world.edit(2, 1, "note", 2, None);
    world.settle();
    // Set aside from before its last change, the value it had replaced holds again.
    let hash = world.logs[0].hash_at(device(2), count).unwrap();
    world.write(0, revoke(device(2), Revocation { count, hash }, vec![], "misused".into()));
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(3, 1, "note"), [1]);
}

#[test]
fn of_mutual_revocations_the_nearer_one_holds_everywhere() {
    let mut world = World::new();
    // 1 is invited by the founder, 3 by 1.
    world.revoke(3, 1, vec![]);
    world.revoke(1, 3, vec![]);
    world.settle();
    world.check_agreed();
    assert!(!world.is_set_aside(2, 1));
    assert!(world.is_set_aside(2, 3));
}

#[test]
fn a_revocation_that_names_another_series_shows() {
    let mut world = World::new();
    world.edit(2, 1, "note", 1, None);
    world.settle();
    let revocation = Revocation { count: 1, hash: ChangeHash([0xEE; 32]) };
    world.edit(2, 1, "note", 2, None);
    world.write(0, revoke(device(2), revocation, vec![], "lost".into()));
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(1, 1, "note"), [1]);
    assert_eq!(world.logs[1].mismatched_limits(), [device(2)]);
}

#[test]
fn a_copied_folder_is_noticed_and_goes_on_as_another_device() {
    let mut world = World::new();
    world.edit(2, 1, "note", 1, None);
    world.settle();
    let common = world.logs[2].vector().count(device(2));
    let mut copy = world.logs[2].clone();
    world.edit(2, 1, "note", 2, None);
    let draft = world.draft(vec![Write { seen: copy.heads(record(1), "note"), ..write(1, "note", 3) }]);
    copy.take(draft, 5_000_000).unwrap();
    world.settle();

    // First contact: same count, other hash. A third device that meets both keeps the second aside.
    let forks = copy.vector().forks(&world.logs[0].vector());
    assert_eq!(
        forks.iter().map(|fork| (fork.device, fork.count)).collect::<Vec<_>>(),
        [(device(2), common + 1)]
    );
    let tail = copy.since(&Vector::new()).0.into_iter().filter(|change| change.device == device(2));
    let received = world.log(0).receive(tail, []);
    assert_eq!((received.forked, received.taken), (1, 0));
    assert_eq!(world.logs[0].forked().count(), 1);
    assert_eq!(world.values(0, 1, "note"), [2]);

    // The copy re-issues its own changes; a keeper invites the new device; nothing is lost.
    copy.reissue(common, device(7), key(7), 5_000_001).unwrap();
    assert_eq!(copy.vector().forks(&world.logs[0].vector()), []);
    world.write(0, invite(device(7), key(7).public(), Role::Crew, device(0)));
    world.logs.push(copy);
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(1, 1, "note"), [3, 2]);
}

#[test]
fn a_device_enters_on_the_word_of_a_member_and_leaves_with_it() {
    let mut world = World::new();
    let notebook = world.logs[0].notebook();
    let signature = key(2).vouch(notebook, device(2), device(5), key(5).public(), Role::Crew);
    let mut writes = vouch(device(5), key(5).public(), Role::Crew, device(2), signature);
    writes.push(write(1, "note", 5));
    world.logs.push(MemoryLog::open(notebook, device(5), key(5)));
    world.sync(5, 1);
    world.write(5, writes);
    // No keeper has heard of it, and device 3 reads it all the same.
    world.sync(5, 3);
    assert_eq!(world.values(3, 1, "note"), [5]);
    world.settle();
    world.check_agreed();
    world.revoke(0, 2, vec![]);
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(1, 1, "note"), []);
    assert!(world.is_set_aside(1, 5));
    world.write(1, invite(device(5), key(5).public(), Role::Crew, device(1)));
    world.settle();
    world.check_agreed();
    assert_eq!(world.values(0, 1, "note"), [5]);
}

#[test]
fn a_reissue_changes_nothing_in_registers() {
    let mut world = World::new();
    for value in 0..5 {
        world.edit(2, 1, "note", value, None);
        world.edit(2, value as u8 + 2, "note", value, Some("why"));
    }
    world.edit(3, 1, "note", 9, None);
    world.settle();
    let before = world.logs[0].registers();
    // The copy never met the others: from its first change on it is another device.
    let mut copy = world.logs[2].clone();
    copy.reissue(0, device(7), key(7), 9_000_000).unwrap();
    world.write(0, invite(device(7), key(7).public(), Role::Crew, device(0)));
    world.logs.push(copy);
    world.settle();
    world.check_agreed();
    let mut after = world.logs[0].registers();
    after.retain(|(record, _), _| *record != device(7).membership_record());
    assert_eq!(after, before);
}

#[test]
fn a_gap_is_refused_and_named() {
    let mut world = World::new();
    world.edit(1, 1, "note", 1, None);
    world.edit(1, 1, "note", 2, None);
    let (changes, signatures) = world.logs[1].since(&world.logs[2].vector());
    let expected = changes[0].seq;
    let received = world.log(2).receive(changes[1..].iter().cloned(), signatures);
    let gap = SeriesError::Gap { expected, got: expected + 1 };
    assert_eq!((received.taken, received.refused), (0, vec![(device(1), gap)]));
    world.settle();
    world.check_agreed();
}

/// One step of a random run.
#[derive(Debug, Clone)]
enum Step {
    Edit { by: u8, of: u8, field: u8, value: i64, reason: bool },
    Blind { by: u8, of: u8, field: u8, value: i64 },
    HandOver { to: u8, draft: prop::sample::Index },
    Reuse { by: u8, draft: prop::sample::Index, value: i64 },
    Revoke { by: u8, whom: u8, has_seen: bool },
    LetIn { by: u8, whom: u8 },
    Invite { by: u8, whom: u8, role: u8 },
    Sync { a: u8, b: u8 },
    SyncPartly { from: u8, to: u8, count: usize, with_signatures: bool },
}

fn step() -> impl Strategy<Value = Step> {
    let who = || 0..DEVICES;
    let edit = (who(), 1..4u8, 0..3u8, 0..4i64, any::<bool>())
        .prop_map(|(by, of, field, value, reason)| Step::Edit { by, of, field, value, reason });
    let blind = (who(), 1..4u8, 0..3u8, 0..4i64).prop_map(|(by, of, field, value)| Step::Blind {
        by,
        of,
        field,
        value,
    });
    let hand_over =
        (who(), any::<prop::sample::Index>()).prop_map(|(to, draft)| Step::HandOver { to, draft });
    let reuse = (who(), any::<prop::sample::Index>(), 0..4i64).prop_map(|(by, draft, value)| Step::Reuse {
        by,
        draft,
        value,
    });
    let revoke =
        (who(), who(), any::<bool>()).prop_map(|(by, whom, has_seen)| Step::Revoke { by, whom, has_seen });
    let let_in = (who(), who()).prop_map(|(by, whom)| Step::LetIn { by, whom });
    let invite = (who(), who(), 0..3u8).prop_map(|(by, whom, role)| Step::Invite { by, whom, role });
    let sync = (who(), who()).prop_map(|(a, b)| Step::Sync { a, b });
    let partly = (who(), who(), 0..6usize, any::<bool>())
        .prop_map(|(from, to, count, with_signatures)| Step::SyncPartly { from, to, count, with_signatures });
    prop_oneof![
        8 => edit, 2 => blind, 2 => hand_over, 1 => reuse, 2 => revoke, 2 => let_in, 1 => invite, 4 => sync,
        4 => partly,
    ]
}

impl World {
    fn run(&mut self, step: Step) {
        let field = |number: u8| ["note", "hours", "struck"][number as usize];
        match step {
            Step::Edit { by, of, field: number, value, reason } => {
                self.edit(by, of, field(number), value, reason.then_some("looked again"));
            }
            Step::Blind { by, of, field: number, value } => {
                self.write(by, vec![write(of, field(number), value)]);
            }
            Step::HandOver { to, draft } => {
                let draft = self.drafts[draft.index(self.drafts.len())].clone();
                let now_ms = self.now_ms;
                // Refused where something it has seen is missing; that is fine.
                let _ = self.log(to).take(draft, now_ms);
            }
            Step::Reuse { by, draft, value } => {
                let draft = self.drafts[draft.index(self.drafts.len())].clone();
                let now_ms = self.now_ms;
                let other = Draft { writes: vec![write(3, "note", value)], ..draft };
                let _ = self.log(by).take(other, now_ms);
            }
            Step::Revoke { by, whom, has_seen } => {
                let seen = self.logs[by as usize].heads(device(whom).membership_record(), "revoked");
                self.revoke(by, whom, if has_seen { seen } else { vec![] });
            }
            Step::LetIn { by, whom } => self.let_in(by, whom),
            Step::Invite { by, whom, role } => {
                let role = [Role::Keeper, Role::Crew, Role::Viewer][role as usize];
                self.write(by, invite(device(whom), key(whom).public(), role, device(by)));
            }
            Step::Sync { a, b } => self.sync(a, b),
            Step::SyncPartly { from, to, count, with_signatures } => {
                self.sync_partly(from, to, count, with_signatures);
            }
        }
        self.now_ms += 1;
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Goal: replicas agree once they have met. Method: five devices write, correct, strike, revoke, let in
    /// and invite at random while connections break, then all sync.
    #[test]
    fn replicas_converge(steps in proptest::collection::vec(step(), 1..60)) {
        let mut world = World::new();
        steps.into_iter().for_each(|step| world.run(step));
        world.settle();
        world.check_agreed();
    }

    /// Goal: the order of arrival does not matter, nor do repeats, causes before effects or not. Method: a
    /// new copy receives the series interleaved at random, signatures whenever, everything at least once.
    #[test]
    fn any_order_of_arrival_gives_the_same(
        steps in proptest::collection::vec(step(), 1..40),
        picks in proptest::collection::vec(any::<prop::sample::Index>(), 400),
    ) {
        let mut world = World::new();
        steps.into_iter().for_each(|step| world.run(step));
        world.settle();
        let (changes, signatures) = world.logs[0].since(&Vector::new());
        let mut series: Vec<Vec<Change>> = Vec::new();
        for number in 0..DEVICES {
            let own = changes.iter().filter(|change| change.device == device(number));
            series.push(own.rev().cloned().collect());
        }
        let mut copy = MemoryLog::open(world.logs[0].notebook(), device(8), key(8));
        let mut sent: Vec<Change> = Vec::new();
        let mut picks = picks.iter().cycle();
        let mut pick = |count: usize| picks.next().unwrap().index(count);
        while series.iter().any(|changes| !changes.is_empty()) {
            series.retain(|changes| !changes.is_empty());
            let next = pick(series.len());
            sent.extend(series[next].pop());
            let repeat = sent[pick(sent.len())].clone();
            let signature = signatures[pick(signatures.len())];
            copy.receive([sent[sent.len() - 1].clone(), repeat], [signature]);
        }
        copy.receive(changes.clone(), signatures.clone());
        prop_assert_eq!(View::of(&copy), View::of(&world.logs[0]));
    }

    /// Any prefix of what is sent is causally closed: whatever a write has seen is there.
    #[test]
    fn every_prefix_sent_is_causally_closed(steps in proptest::collection::vec(step(), 1..40)) {
        let mut world = World::new();
        steps.into_iter().for_each(|step| world.run(step));
        world.settle();
        let (changes, _) = world.logs[0].since(&Vector::new());
        let mut here = std::collections::BTreeSet::new();
        for change in changes {
            for seen in change.draft.writes.iter().flat_map(|write| &write.seen) {
                prop_assert!(here.contains(&seen.draft));
            }
            here.insert(change.draft.id);
        }
    }
}
