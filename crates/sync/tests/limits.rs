//! What a session bears from a peer, and what it does not: one test per limit.

#![allow(clippy::unwrap_used)] // The lint spares test functions, and not their helpers here.

mod world;

use proptest::prelude::*;
use storypole_journal::{ChangeHash, DeviceId, Entry, NotebookId, Vector};
use storypole_sync::{
    Action, BatchError, Event, Farewell, Hello, Here, Known, Limits, MAX_MESSAGE_BYTES, Message,
    MessageError, Parcel, ParcelError, Reason, Stored, SyncSession, encode_batch,
};

use world::World;

const NOW_MS: u64 = 1_000_000;

fn device(byte: u8) -> DeviceId {
    DeviceId::from_bytes([byte; 16])
}

fn notebook() -> NotebookId {
    World::new(1, 3).notebook
}

/// A session with a peer that is played by the test.
struct Played {
    session: SyncSession,
    /// What the peer packs for.
    known: Known,
    next_number: u64,
}

impl Played {
    /// A session that has said hello and waits for the peer's.
    fn new(limits: Limits) -> Self {
        let here = Here { notebook: notebook(), device: device(1), held: Vector::new(), limits };
        let mut session = SyncSession::new(here, NOW_MS);
        let Some(Action::Send(hello)) = session.poll() else { panic!("no greeting") };
        assert!(matches!(Message::decode(&hello, &[1]), Ok(Message::Hello(_))));
        Self { session, known: Known::new(notebook(), Vector::new()), next_number: 0 }
    }

    /// A session that waits for its first read.
    fn greeted(limits: Limits) -> Self {
        let mut played = Self::new(limits);
        let actions = played.hear(&Message::Hello(hello()), 0);
        assert!(matches!(actions[..], [Action::Read { .. }]), "{actions:?}");
        played
    }

    /// A session that has nothing to send.
    fn idle(limits: Limits) -> Self {
        let mut played = Self::greeted(limits);
        let [Message::Batch { number: 0, is_last: true, .. }] =
            played.messages(Event::Read(Parcel::default()))[..]
        else {
            panic!("no last batch")
        };
        assert_eq!(played.hear(&taken(0), 0), []);
        played
    }

    fn handle(&mut self, event: Event, after_ms: u64) -> Vec<Action> {
        self.session.handle(event, NOW_MS + after_ms);
        std::iter::from_fn(|| self.session.poll()).collect()
    }

    fn hear(&mut self, message: &Message, after_ms: u64) -> Vec<Action> {
        self.handle(Event::Received(message.encode()), after_ms)
    }

    fn messages(&mut self, event: Event) -> Vec<Message> {
        let message = |action| match action {
            Action::Send(bytes) => Some(Message::decode(&bytes, &[1]).unwrap()),
            _ => None,
        };
        self.handle(event, 0).into_iter().filter_map(message).collect()
    }

    fn batch(&mut self, parcel: &Parcel) -> Message {
        let bytes = encode_batch(parcel, &mut self.known).unwrap();
        self.next_number += 1;
        Message::Batch { number: self.next_number - 1, is_last: false, bytes }
    }
}

fn hello() -> Hello {
    Hello {
        versions: vec![1],
        notebook: notebook(),
        device: device(2),
        batch_bytes: 1 << 20,
        held: Vector::new(),
    }
}

fn taken(number: u64) -> Message {
    Message::Taken { number, differs: Vector::new() }
}

fn stored(new: usize) -> Event {
    Event::Stored(Stored { new, ..Stored::default() })
}

/// The session says goodbye with this reason, closes, and is done.
#[track_caller]
fn check_closed(actions: &[Action], expected: &Reason) {
    let [.., Action::Send(bye), Action::Close(reason)] = actions else { panic!("{actions:?}") };
    assert_eq!(reason, expected);
    assert_eq!(Message::decode(bye, &[1]), Ok(Message::Bye(expected.farewell())));
}

#[test]
fn another_notebook_is_not_talked_to() {
    let theirs = NotebookId::founded_by(device(9));
    let mut played = Played::new(Limits::default());
    let actions = played.hear(&Message::Hello(Hello { notebook: theirs, ..hello() }), 0);
    check_closed(&actions, &Reason::OtherNotebook { theirs });
}

#[test]
fn another_version_is_told_who_has_to_update() {
    let greet = |versions: &[u64]| {
        let hello = Hello { versions: versions.to_vec(), ..hello() };
        Played::new(Limits::default()).hear(&Message::Hello(hello), 0)
    };
    check_closed(&greet(&[2, 3]), &Reason::TooOld { theirs: 3 });
    check_closed(&greet(&[0]), &Reason::TooNew { theirs: 0 });
    assert!(matches!(greet(&[1, 2])[..], [Action::Read { .. }]), "one in common is enough");
    let words = Reason::TooOld { theirs: 3 }.to_string();
    assert!(words.ends_with("update this program"), "{words}");
}

#[test]
fn messages_out_of_turn_close() {
    let closed = |messages: &[Message], what| {
        let mut played = Played::new(Limits::default());
        let actions: Vec<Action> = messages.iter().flat_map(|message| played.hear(message, 0)).collect();
        check_closed(&actions, &Reason::OutOfTurn { what });
    };
    let hello = Message::Hello(hello());
    let batch = |number| Message::Batch { number, is_last: true, bytes: vec![1] };
    closed(&[Message::Nudge], "something before a greeting");
    closed(&[batch(0)], "something before a greeting");
    closed(&[hello.clone(), hello.clone()], "a second greeting");
    closed(&[hello.clone(), batch(1)], "a batch");
    closed(&[hello.clone(), taken(0)], "an acknowledgement");
}

#[test]
fn a_batch_is_acknowledged_once_and_in_order() {
    let mut played = Played::greeted(Limits::default());
    let sent = played.messages(Event::Read(World::new(1, 3).parcel(3)));
    assert!(matches!(sent[..], [Message::Batch { number: 0, .. }]));
    assert!(matches!(played.hear(&taken(0), 0)[..], []));
    check_closed(&played.hear(&taken(0), 0), &Reason::OutOfTurn { what: "an acknowledgement" });
}

#[test]
fn garbage_closes() {
    let mut played = Played::greeted(Limits::default());
    let actions = played.handle(Event::Received(b"GET / HTTP/1.1".to_vec()), 0);
    let [Action::Send(_), Action::Close(Reason::Message { .. })] = actions[..] else { panic!("{actions:?}") };
    let mut played = Played::greeted(Limits::default());
    let garbage = Message::Batch { number: 0, is_last: true, bytes: vec![1, 2, 3] };
    check_closed(&played.hear(&garbage, 0), &Reason::Batch { source: BatchError::Short });
    let mut played = Played::greeted(Limits::default());
    let later = Message::Batch { number: 0, is_last: true, bytes: vec![9] };
    check_closed(&played.hear(&later, 0), &Reason::Batch { source: BatchError::Version { version: 9 } });
}

#[test]
fn long_messages_close() {
    let long = |message: Message| {
        let bytes = message.encode().len();
        let mut played = Played::greeted(Limits::default());
        let source = MessageError::Long { bytes };
        check_closed(&played.hear(&message, 0), &Reason::Message { source });
    };
    long(Message::Batch { number: 0, is_last: true, bytes: vec![0; MAX_MESSAGE_BYTES] });
    let entry = Entry { count: 1, hash: ChangeHash([0; 32]) };
    let of = |at: u32| {
        let mut id = [0; 16];
        id[..4].copy_from_slice(&at.to_be_bytes());
        (DeviceId::from_bytes(id), entry)
    };
    long(Message::Taken { number: 0, differs: (0..20_000).map(of).collect() });
}

#[test]
fn more_batches_than_agreed_close() {
    let mut played = Played::greeted(Limits::default());
    let mut actions = Vec::new();
    // One is being stored, sixteen wait, one is too many.
    for _ in 0..18 {
        assert!(!actions.iter().any(|action| matches!(action, Action::Close(_))));
        let batch = played.batch(&Parcel::default());
        actions = played.hear(&batch, 0);
    }
    check_closed(&actions, &Reason::Flood);
    let mut played = Played::greeted(Limits::default());
    let large = |number| Message::Batch { number, is_last: false, bytes: vec![1; 16 << 20] };
    let first = played.batch(&Parcel::default());
    assert!(matches!(played.hear(&first, 0)[..], [Action::Store(_)]));
    assert_eq!(played.hear(&large(1), 0), []);
    assert_eq!(played.hear(&large(2), 0), []);
    check_closed(&played.hear(&large(3), 0), &Reason::Flood);
}

#[test]
fn one_batch_is_unpacked_at_a_time() {
    let mut played = Played::greeted(Limits::default());
    let mut world = World::new(1, 3);
    let parcels = [world.parcel(3), world.parcel(2)];
    let batches = [played.batch(&parcels[0]), played.batch(&parcels[1])];
    assert_eq!(played.hear(&batches[0], 0), [Action::Store(parcels[0].clone())]);
    assert_eq!(played.hear(&batches[1], 0), []);
    let actions = played.handle(stored(3), 0);
    assert_eq!(actions, [Action::Send(taken(0).encode()), Action::Store(parcels[1].clone())]);
    assert_eq!(played.handle(stored(2), 0), [Action::Send(taken(1).encode())]);
    assert_eq!(played.handle(stored(2), 0), [], "nothing was asked of the store");
}

#[test]
fn no_more_is_sent_than_may_be_on_the_way() {
    let limits = Limits { batches_in_flight: 3, ..Limits::default() };
    let mut played = Played::greeted(limits);
    let mut world = World::new(1, 3);
    for number in 0..3 {
        let actions = played.handle(Event::Read(world.parcel(2)), 0);
        let is_full = number == 2;
        assert_eq!(actions.len(), if is_full { 1 } else { 2 }, "{actions:?}");
    }
    assert!(matches!(played.hear(&taken(0), 0)[..], [Action::Read { .. }]));
    let mut played = Played::greeted(Limits { bytes_in_flight: 1, ..limits });
    assert_eq!(played.handle(Event::Read(World::new(1, 3).parcel(2)), 0).len(), 1);
    assert!(matches!(played.hear(&taken(0), 0)[..], [Action::Read { .. }]));
}

#[test]
fn the_smaller_wish_for_the_size_of_batches_counts() {
    let max_bytes = |ours: usize, theirs: u64| {
        let mut played = Played::new(Limits { batch_bytes: ours, ..Limits::default() });
        match played.hear(&Message::Hello(Hello { batch_bytes: theirs, ..hello() }), 0)[..] {
            [Action::Read { max_bytes, .. }] => max_bytes,
            ref other => panic!("{other:?}"),
        }
    };
    assert_eq!(max_bytes(1 << 20, 1 << 16), 1 << 16);
    assert_eq!(max_bytes(1 << 16, u64::MAX), 1 << 16);
    assert_eq!(max_bytes(1 << 20, 0), 4_096, "a peer cannot ask for a message per change");
}

#[test]
fn a_batch_that_fits_no_message_is_halved() {
    let mut world = World::new(1, 1);
    let mut parcel = world.parcel(1);
    for _ in 0..4 {
        let mut change = world.change();
        change.draft.writes.truncate(1);
        let mut draws = world::Draws::new(change.seq);
        change.draft.writes = (0..12)
            .map(|at| {
                let noise: Vec<u8> = (0..1_000_000).map(|_| draws.bits() as u8).collect();
                let value = storypole_journal::Payload::bytes(&noise);
                world::write(storypole_journal::RecordId::from_bytes([at; 16]), "entry", "text", value)
            })
            .collect();
        parcel.changes.push(change.encode());
    }
    let mut played = Played::greeted(Limits::default());
    let sent = played.messages(Event::Read(parcel.clone()));
    let [Message::Batch { is_last: false, bytes, .. }] = &sent[..] else { panic!("{} messages", sent.len()) };
    assert!(bytes.len() < MAX_MESSAGE_BYTES);
    let read = storypole_sync::decode_batch(bytes, &mut Known::new(notebook(), Vector::new())).unwrap();
    assert_eq!(read.changes, parcel.changes[..2]);
}

#[test]
fn silence_closes_and_is_broken_in_time() {
    let limits = Limits { nudge_ms: 20, silence_ms: 50, ..Limits::default() };
    let mut played = Played::idle(limits);
    assert_eq!(played.session.deadline(), Some(NOW_MS + 20));
    assert_eq!(played.handle(Event::Tick, 19), []);
    assert_eq!(played.handle(Event::Tick, 20), [Action::Send(Message::Nudge.encode())]);
    assert_eq!(played.session.deadline(), Some(NOW_MS + 40));
    assert_eq!(played.hear(&Message::Nudge, 30), []);
    assert_eq!(played.handle(Event::Tick, 79).len(), 1);
    check_closed(&played.handle(Event::Tick, 80), &Reason::Silent);
    assert_eq!(played.session.deadline(), None);
    let mut played = Played::new(limits);
    check_closed(&played.handle(Event::Tick, 50), &Reason::Silent);
}

#[test]
fn who_never_acknowledges_is_given_up() {
    let limits = Limits { nudge_ms: 1_000, silence_ms: 1_000, stall_ms: 60, ..Limits::default() };
    let mut played = Played::greeted(limits);
    played.handle(Event::Read(World::new(1, 3).parcel(2)), 5);
    assert_eq!(played.session.deadline(), Some(NOW_MS + 65));
    played.hear(&Message::Nudge, 60);
    assert_eq!(played.handle(Event::Tick, 64), []);
    check_closed(&played.handle(Event::Tick, 65), &Reason::Stalled);
}

#[test]
fn endless_nudges_close_and_a_steady_few_do_not() {
    let mut played = Played::idle(Limits::default());
    let actions: Vec<Action> = (0..70).flat_map(|at| played.hear(&Message::Nudge, at)).collect();
    check_closed(&actions, &Reason::Restless);
    let mut played = Played::idle(Limits::default());
    let steady = (0..5_000).flat_map(|at| played.hear(&Message::Nudge, 2_000 * at)).count();
    assert_eq!(steady, 0);
}

#[test]
fn repeats_are_harmless_and_endless_ones_close() {
    let mut played = Played::idle(Limits::default());
    let parcel = World::new(1, 3).parcel(2);
    let mut last = Vec::new();
    for count in 0..70 {
        let batch = played.batch(&parcel);
        last = played.hear(&batch, 0);
        if matches!(last[..], [Action::Store(_)]) {
            assert_eq!(played.handle(stored(if count < 5 { 2 } else { 0 }), 0).len(), 1);
        }
        if count == 50 {
            assert!(played.session.deadline().is_some(), "fifty repeats are borne");
        }
        if last.iter().any(|action| matches!(action, Action::Close(_))) {
            break;
        }
    }
    check_closed(&last, &Reason::Restless);
}

#[test]
fn the_store_has_the_last_word() {
    let mut played = Played::greeted(Limits::default());
    let batch = played.batch(&World::new(1, 3).parcel(2));
    played.hear(&batch, 0);
    let what = "a signature is forged".to_owned();
    let stopped = Stored { new: 1, stopped: Some(what.clone()), ..Stored::default() };
    check_closed(&played.handle(Event::Stored(stopped), 0), &Reason::Store { what });
}

#[test]
fn a_store_that_cannot_be_sent_from_closes() {
    let mut parcel = World::new(1, 3).parcel(3);
    parcel.changes.reverse();
    let mut played = Played::greeted(Limits::default());
    let source = ParcelError::NotInOrder { index: 1 };
    check_closed(&played.handle(Event::Read(parcel), 0), &Reason::Parcel { source });
    // What has no number would be read again and again.
    let later = Parcel { changes: vec![vec![0x82, 2, 0]], signatures: Vec::new() };
    check_closed(&Played::greeted(Limits::default()).handle(Event::Read(later), 0), &Reason::Later);
}

#[test]
fn what_the_other_end_got_elsewhere_is_not_sent() {
    let mut played = Played::idle(Limits::default());
    let entry = Entry { count: 7, hash: ChangeHash([7; 32]) };
    let [Action::Read { .. }] = played.handle(Event::LocalChange, 0)[..] else { panic!() };
    let mut world = World::new(1, 1);
    let [Action::Send(_), Action::Read { beyond, .. }] = &played.handle(Event::Read(world.parcel(3)), 0)[..]
    else {
        panic!()
    };
    let series = world.signatures()[0].device;
    assert_eq!(beyond.count(series), 3, "what is on its way is not read again");
    assert_eq!(played.handle(Event::Read(Parcel::default()), 0), []);
    let differs: Vector = [(device(3), entry)].into_iter().collect();
    assert_eq!(played.hear(&Message::Taken { number: 1, differs }, 0), []);
    let [Action::Read { beyond, .. }] = &played.handle(Event::LocalChange, 0)[..] else { panic!() };
    assert_eq!(beyond.get(device(3)), Some(entry));
}

#[test]
fn a_local_change_during_a_read_is_read_after_it() {
    let mut played = Played::greeted(Limits::default());
    assert_eq!(played.handle(Event::LocalChange, 0), []);
    let actions = played.handle(Event::Read(Parcel::default()), 0);
    assert!(matches!(actions[..], [Action::Send(_), Action::Read { .. }]), "{actions:?}");
    assert!(!played.session.is_settled());
}

#[test]
fn a_fork_is_told_once() {
    let ours = Entry { count: 4, hash: ChangeHash([1; 32]) };
    let theirs: Vector = [(device(7), Entry { count: 4, hash: ChangeHash([2; 32]) })].into_iter().collect();
    let held = [(device(7), ours)].into_iter().collect();
    let here = Here { notebook: notebook(), device: device(1), held, limits: Limits::default() };
    let mut session = SyncSession::new(here, NOW_MS);
    session
        .handle(Event::Received(Message::Hello(Hello { held: theirs.clone(), ..hello() }).encode()), NOW_MS);
    session.handle(Event::Read(World::new(1, 3).parcel(1)), NOW_MS);
    session.handle(Event::Received(Message::Taken { number: 0, differs: theirs }.encode()), NOW_MS);
    let actions: Vec<Action> = std::iter::from_fn(|| session.poll()).collect();
    let forks: Vec<_> = actions.iter().filter(|action| matches!(action, Action::Forked(_))).collect();
    let [Action::Forked(forks)] = forks[..] else { panic!("{forks:?}") };
    assert_eq!((forks[0].device, forks[0].count, forks.len()), (device(7), 4, 1));
    assert!(!actions.iter().any(|action| matches!(action, Action::Close(_))));
}

#[test]
fn a_farewell_is_heard_at_any_time() {
    for mut played in [Played::new(Limits::default()), Played::idle(Limits::default())] {
        let farewell = Farewell { code: 99, note: "a reason of a later version".into() };
        let actions = played.hear(&Message::Bye(farewell.clone()), 0);
        assert_eq!(actions, [Action::Close(Reason::Left { farewell })]);
        assert_eq!(played.hear(&Message::Nudge, 0), []);
    }
}

fn any_message() -> impl Strategy<Value = Vec<u8>> {
    let vector = || {
        proptest::collection::vec((0..4u8, any::<u64>(), any::<u8>()), 0..4).prop_map(|entries| {
            let entry = |(of, count, hash)| (device(of), Entry { count, hash: ChangeHash([hash; 32]) });
            entries.into_iter().map(entry).collect::<Vector>()
        })
    };
    let batch = |count: usize| {
        encode_batch(&World::new(1, 3).parcel(count), &mut Known::new(notebook(), Vector::new())).unwrap()
    };
    let bytes = prop_oneof![Just(batch(0)), Just(batch(3)), any::<Vec<u8>>()];
    prop_oneof![
        any::<Vec<u8>>(),
        vector().prop_map(|held| Message::Hello(Hello { held, ..hello() }).encode()),
        (0..4u64, any::<bool>(), bytes).prop_map(|(number, is_last, bytes)| Message::Batch {
            number,
            is_last,
            bytes
        }
        .encode()),
        (0..4u64, vector()).prop_map(|(number, differs)| Message::Taken { number, differs }.encode()),
        Just(Message::Nudge.encode()),
        Just(Message::Bye(Farewell { code: 0, note: String::new() }).encode()),
    ]
}

proptest! {
    /// Whatever comes in whatever order, there is an answer or an end, and nothing after the end.
    #[test]
    fn any_events_are_handled(events in proptest::collection::vec((0..9u8, any_message(), 0..40_000u64), 0..40)) {
        let mut played = Played::new(Limits::default());
        played.handle(Event::Received(Message::Hello(hello()).encode()), 0);
        let (mut now, mut is_closed) = (0, false);
        for (which, message, later) in events {
            now += later;
            let event = match which {
                0 => Event::Read(Parcel::default()),
                1 => Event::Read(World::new(1, 3).parcel(2)),
                2 => stored(1),
                3 => Event::LocalChange,
                4 => Event::Tick,
                _ => Event::Received(message),
            };
            let actions = played.handle(event, now);
            prop_assert!(!is_closed || actions.is_empty());
            let closes = actions.iter().filter(|action| matches!(action, Action::Close(_))).count();
            prop_assert!(closes == 0 || matches!(actions.last(), Some(Action::Close(_))) && closes == 1);
            is_closed |= closes > 0;
            prop_assert_eq!(played.session.deadline().is_none(), is_closed);
        }
    }
}
