//! Copies that talk over connections which break anywhere: whatever happens, they agree in the end.

#![allow(clippy::unwrap_used)] // The lint spares test functions, and not their helpers here.

mod world;

use std::collections::VecDeque;

use storypole_journal::log::Received;
use storypole_journal::membership::{KIND, invite};
use storypole_journal::{
    Change, DeviceId, DeviceKey, Draft, DraftId, MemoryLog, NotebookId, Payload, RecordId, Role, Taken,
    Vector, Write, WriteId, WrittenAt,
};
use storypole_sync::{Action, Event, Here, Limits, Message, Parcel, Reason, Stored, SyncSession};

use world::Draws;

fn device(number: usize) -> DeviceId {
    DeviceId::from_bytes([0xD0 + number as u8; 16])
}

fn key(number: usize) -> DeviceKey {
    DeviceKey::from_bytes(&[number as u8 + 1; 32])
}

/// Small batches, so that a session has many.
fn limits() -> Limits {
    Limits { batch_bytes: 4_096, batches_in_flight: 2, ..Limits::default() }
}

/// One end of a connection: a session, what it was told and has not heard yet, and what came over the line.
struct End {
    node: usize,
    session: SyncSession,
    events: VecDeque<Event>,
    line: VecDeque<Vec<u8>>,
    closed: Option<Reason>,
    forks: usize,
}

/// Logs, and connections between them, each a pair of ends.
struct Net {
    draws: Draws,
    logs: Vec<MemoryLog>,
    links: Vec<[End; 2]>,
    now_ms: u64,
    sent_bytes: usize,
}

impl Net {
    /// The founder has invited all others, and nobody has talked yet.
    fn new(seed: u64, devices: usize) -> Self {
        let mut net = Self {
            draws: Draws::new(seed),
            logs: Vec::new(),
            links: Vec::new(),
            now_ms: 1_760_000_000_000,
            sent_bytes: 0,
        };
        let draft = net.draft_of(vec![net.entry(0, "text", Payload::text("begun"))]);
        net.logs.push(MemoryLog::found(device(0), key(0), draft, net.now_ms).unwrap());
        for number in 1..devices {
            net.logs.push(MemoryLog::open(net.notebook(), device(number), key(number)));
            net.write(0, invite(device(number), key(number).public(), Role::Crew, device(0)));
        }
        net
    }

    fn notebook(&self) -> NotebookId {
        NotebookId::founded_by(device(0))
    }

    fn entry(&self, record: u8, field: &str, value: Payload) -> Write {
        world::write(RecordId::from_bytes([record; 16]), "entry", field, value)
    }

    fn draft_of(&mut self, writes: Vec<Write>) -> Draft {
        self.now_ms += 1 + self.draws.below(50);
        let mut random = [0; 10];
        random.iter_mut().for_each(|byte| *byte = self.draws.below(256) as u8);
        let written_at = WrittenAt { unix_ms: self.now_ms as i64, offset_min: 60 };
        let id = DraftId::from_parts(self.now_ms, random);
        Draft { id, author: RecordId::from_bytes([0xA0; 16]), written_at, writes }
    }

    fn write(&mut self, node: usize, writes: Vec<Write>) {
        let draft = self.draft_of(writes);
        let now_ms = self.now_ms + node as u64 * 2_000;
        assert!(matches!(self.logs[node].take(draft, now_ms), Ok(Taken::New { .. })));
        self.tell_of_change(node, None);
    }

    /// Writes to a random register what its heads are replaced by.
    fn write_anything(&mut self, node: usize) {
        let (record, field) =
            (self.draws.below(6) as u8, ["text", "weather", "low"][self.draws.below(3) as usize]);
        let seen: Vec<WriteId> = self.logs[node].heads(RecordId::from_bytes([record; 16]), field);
        let value = Payload::text(&"word ".repeat(self.draws.below(60) as usize));
        let reason = (!seen.is_empty()).then(|| "misread".to_owned());
        let write = Write { seen, reason, ..self.entry(record, field, value) };
        self.write(node, vec![write]);
    }

    fn tell_of_change(&mut self, node: usize, but: Option<(usize, usize)>) {
        for (link, ends) in self.links.iter_mut().enumerate() {
            for (at, end) in ends.iter_mut().enumerate() {
                if end.node == node && but != Some((link, at)) {
                    end.events.push_back(Event::LocalChange);
                }
            }
        }
    }

    fn connect(&mut self, a: usize, b: usize) -> usize {
        let end = |node: usize| {
            let log = &self.logs[node];
            let (notebook, device, held) = (log.notebook(), log.device(), log.vector());
            let here = Here { notebook, device, held, limits: limits() };
            let session = SyncSession::new(here, self.now_ms);
            let (events, line) = (VecDeque::new(), VecDeque::new());
            End { node, session, events, line, closed: None, forks: 0 }
        };
        self.links.push([end(a), end(b)]);
        self.links.len() - 1
    }

    /// Does one thing at one end: takes an action, hears of an event, or takes a message off the line.
    fn step(&mut self, link: usize, at: usize) -> bool {
        let now_ms = self.now_ms;
        if let Some(action) = self.links[link][at].session.poll() {
            self.act(link, at, action);
            return true;
        }
        let end = &mut self.links[link][at];
        let event = end.events.pop_front().or_else(|| end.line.pop_front().map(Event::Received));
        match event {
            Some(event) => end.session.handle(event, now_ms),
            None => return false,
        }
        true
    }

    fn act(&mut self, link: usize, at: usize, action: Action) {
        let node = self.links[link][at].node;
        match action {
            Action::Send(bytes) => {
                self.sent_bytes += bytes.len();
                self.links[link][1 - at].line.push_back(bytes);
            }
            Action::Read { beyond, max_bytes } => {
                let parcel = read(&self.logs[node], &beyond, max_bytes);
                self.links[link][at].events.push_back(Event::Read(parcel));
            }
            Action::Store(parcel) => {
                let stored = store(&mut self.logs[node], &parcel);
                let is_new = stored.new > 0 || !parcel.signatures.is_empty();
                self.links[link][at].events.push_back(Event::Stored(stored));
                if is_new {
                    self.tell_of_change(node, Some((link, at)));
                }
            }
            Action::Forked(forks) => self.links[link][at].forks += forks.len(),
            Action::Close(reason) => self.links[link][at].closed = Some(reason),
        }
    }

    /// Lets all ends go on until nothing happens any more.
    fn drain(&mut self) {
        loop {
            let mut has_moved = false;
            for link in 0..self.links.len() {
                for at in 0..2 {
                    has_moved |= self.step(link, at);
                }
            }
            if !has_moved {
                return;
            }
        }
    }

    #[track_caller]
    fn check_settled(&self) {
        for end in self.links.iter().flatten() {
            assert_eq!(end.closed, None);
            assert!(end.session.is_settled());
        }
    }

    #[track_caller]
    fn check_agreement(&self) {
        for log in &self.logs {
            assert_eq!(log.vector(), self.logs[0].vector());
            assert_eq!(log.registers(), self.logs[0].registers());
            assert!(log.unsigned().is_empty());
        }
    }
}

/// What a store does: changes until there are enough bytes, and all signatures.
fn read(log: &MemoryLog, beyond: &Vector, max_bytes: usize) -> Parcel {
    let (changes, signatures) = log.since(beyond);
    let mut bytes = 0;
    let mut is_wanted = |change: &Vec<u8>| {
        let is_wanted = bytes < max_bytes;
        bytes += change.len();
        is_wanted
    };
    let changes = changes.iter().map(Change::encode).take_while(|change| is_wanted(change)).collect();
    Parcel { changes, signatures }
}

fn store(log: &mut MemoryLog, parcel: &Parcel) -> Stored {
    let changes: Result<Vec<Change>, _> = parcel.changes.iter().map(|bytes| Change::decode(bytes)).collect();
    let Ok(changes) = changes else {
        let stopped = Some("a change cannot be decoded".into());
        return Stored { held: log.vector(), stopped, ..Stored::default() };
    };
    let Received { taken, forked, forked_series, refused, .. } =
        log.receive(changes, parcel.signatures.clone());
    let stopped = refused.first().map(|(_, error)| error.to_string());
    Stored { new: taken + forked, held: log.vector(), forked: forked_series, stopped }
}

/// Goal: copies agree once connections hold. Method: three copies write at random while connections are made
/// and break at any moment, with messages on the line, parcels unread and acknowledgements unsent.
#[test]
fn copies_agree_whatever_breaks() {
    for seed in 0..40 {
        let mut net = Net::new(seed, 3);
        for _ in 0..400 {
            match net.draws.below(40) {
                0..3 => {
                    let node = net.draws.below(3) as usize;
                    net.write_anything(node);
                }
                3 | 4 if net.links.len() < 3 => {
                    let a = net.draws.below(3) as usize;
                    let b = (a + 1 + net.draws.below(2) as usize) % 3;
                    net.connect(a, b);
                }
                5 if !net.links.is_empty() => {
                    let link = net.draws.below(net.links.len() as u64) as usize;
                    net.links.swap_remove(link);
                }
                _ if !net.links.is_empty() => {
                    let link = net.draws.below(net.links.len() as u64) as usize;
                    let at = net.draws.below(2) as usize;
                    net.step(link, at);
                }
                _ => (),
            }
        }
        for end in net.links.iter().flatten() {
            assert_eq!((&end.closed, end.forks), (&None, 0), "seed {seed}");
        }
        net.links.clear();
        net.connect(0, 1);
        net.connect(1, 2);
        net.drain();
        net.check_settled();
        net.check_agreement();
        assert!(net.logs[2].registers().len() > 10, "the invitations alone are nine");
    }
}

#[test]
fn what_is_written_while_connected_arrives_everywhere() {
    let mut net = Net::new(1, 3);
    net.connect(0, 1);
    net.connect(1, 2);
    net.drain();
    for round in 0..30 {
        net.write_anything(round % 3);
        if round % 4 == 0 {
            net.drain();
            net.check_settled();
            net.check_agreement();
        }
    }
    net.drain();
    net.check_settled();
    net.check_agreement();
}

#[test]
fn nothing_is_sent_twice_in_a_ring() {
    let mut net = Net::new(2, 3);
    for (a, b) in [(0, 1), (1, 2), (2, 0)] {
        net.connect(a, b);
    }
    net.drain();
    net.check_agreement();
    let before = net.sent_bytes;
    net.write_anything(0);
    net.drain();
    net.check_settled();
    net.check_agreement();
    // A change goes at most twice over each of three connections, with its acknowledgement.
    assert!(net.sent_bytes - before < 6 * 700, "{}", net.sent_bytes - before);
    let before = net.sent_bytes;
    net.drain();
    assert_eq!(net.sent_bytes, before);
}

/// A break after any number of steps costs what was on the line, and no more than two batches again.
#[test]
fn a_broken_session_goes_on_where_it_stopped() {
    let mut net = Net::new(3, 2);
    for _ in 0..150 {
        net.write_anything(0);
    }
    net.connect(0, 1);
    for _ in 0..12 {
        net.step(0, 0);
        net.step(0, 1);
    }
    let (held, all) = (net.logs[1].vector().count(device(0)), net.logs[0].vector().count(device(0)));
    assert!(0 < held && held < all, "{held} of {all}");
    let before = net.sent_bytes;
    net.links.clear();
    net.connect(0, 1);
    net.drain();
    net.check_settled();
    net.check_agreement();
    let again = net.sent_bytes - before;
    let mut fresh = Net::new(3, 2);
    for _ in 0..150 {
        fresh.write_anything(0);
    }
    fresh.connect(0, 1);
    fresh.drain();
    assert!(again < fresh.sent_bytes, "{again} of {}", fresh.sent_bytes);
}

#[test]
fn two_that_agree_say_little() {
    let mut net = Net::new(4, 2);
    net.connect(0, 1);
    net.drain();
    let (vector, before) = (net.logs[0].vector().encode().len(), net.sent_bytes);
    net.links.clear();
    net.connect(0, 1);
    net.drain();
    net.check_settled();
    // Two greetings, and of one series a last signature each way.
    assert!(net.sent_bytes - before < 2 * (vector + 60 + 120), "{}", net.sent_bytes - before);
}

#[test]
fn a_copied_folder_is_told_once_and_the_rest_goes_on() {
    let mut net = Net::new(5, 3);
    net.connect(0, 1);
    net.connect(0, 2);
    net.drain();
    net.links.clear();
    // Copy 3 is the folder of device 1, and both write.
    net.logs.push(net.logs[1].clone());
    net.write_anything(1);
    net.write_anything(3);
    net.write_anything(2);
    net.connect(2, 3);
    net.drain();
    let link = net.connect(1, 3);
    net.drain();
    for end in &net.links[link] {
        assert_eq!((&end.closed, end.forks), (&None, 1));
        assert!(end.session.is_settled());
    }
    // What device 2 wrote came through all the same.
    assert_eq!(net.logs[1].vector().count(device(2)), 1);
    // A third device that meets both keeps the second aside.
    let link = net.connect(2, 1);
    net.drain();
    assert!(net.links[link].iter().all(|end| end.closed.is_none() && end.forks == 1));
    // The copy goes on as another device.
    net.links.clear();
    let ours = net.logs[3].vector();
    let shared = ours.count(device(1)) - 1;
    let now_ms = net.now_ms;
    net.write(0, invite(device(4), key(4).public(), Role::Crew, device(0)));
    net.logs[3].reissue(shared, device(4), key(4), now_ms).unwrap();
    for (a, b) in [(0, 1), (0, 2), (0, 3)] {
        net.connect(a, b);
    }
    net.drain();
    assert_eq!(net.logs[0].vector().count(device(4)), 1);
    assert_eq!(net.logs[0].vector(), net.logs[3].vector());
}

/// Goal: both ends of a fork get both branches, and then there is silence. Method: the folder of device 1 is copied
/// and both copies write, as many changes each or not, few or more than a batch holds; they meet directly, or over a
/// third device that took one of them in before.
#[test]
fn both_ends_of_a_fork_get_both_branches() {
    for (first, second) in [(1, 1), (1, 4), (4, 1), (40, 40), (3, 60), (60, 3)] {
        for over_a_third in [false, true] {
            let case = format!("{first} and {second}, over a third: {over_a_third}");
            let mut net = Net::new(9, 3);
            net.connect(0, 1);
            net.connect(0, 2);
            net.write_anything(1);
            net.drain();
            net.links.clear();
            net.logs.push(net.logs[1].clone());
            (0..first).for_each(|_| net.write_anything(1));
            (0..second).for_each(|_| net.write_anything(3));
            let last = [1, 3].map(|node| net.logs[node].vector().get(device(1)).unwrap().hash);
            let there = if over_a_third { 2 } else { 1 };
            if over_a_third {
                net.connect(1, 2);
                net.drain();
                net.links.clear();
            }
            let link = net.connect(there, 3);
            net.drain();
            net.check_settled();
            for (node, other) in [(there, last[1]), (3, last[0])] {
                assert!(net.logs[node].forked().any(|change| change.hash() == other), "{case}, at {node}");
            }
            // What is written on goes on from there, each change once.
            let before = net.sent_bytes;
            net.write_anything(3);
            net.drain();
            net.check_settled();
            assert!(net.sent_bytes - before < 4 * 700, "{case}: {}", net.sent_bytes - before);
            let head = net.logs[3].vector().get(device(1)).unwrap().hash;
            assert!(net.logs[there].forked().any(|change| change.hash() == head), "{case}");
            assert!(net.links[link].iter().all(|end| end.forks <= 1));
        }
    }
}

#[test]
fn a_change_that_breaks_its_series_closes_with_the_words_of_the_store() {
    let mut net = Net::new(6, 2);
    net.write_anything(0);
    let link = net.connect(0, 1);
    // The first parcel lacks its first change.
    while !matches!(net.links[link][0].events.front(), Some(Event::Read(_))) {
        net.step(link, 0);
        net.step(link, 1);
    }
    let Some(Event::Read(parcel)) = net.links[link][0].events.front_mut() else { unreachable!() };
    parcel.changes.remove(0);
    net.drain();
    let [there, here] = &net.links[link];
    let Some(Reason::Store { what }) = &here.closed else { panic!("{:?}", here.closed) };
    assert_eq!(what, "change 1 arrived before change 0");
    let Some(Reason::Left { farewell }) = &there.closed else { panic!("{:?}", there.closed) };
    assert_eq!(
        (farewell.code, farewell.note.as_str()),
        (12, format!("what the other end sent was not taken in: {what}").as_str())
    );
}

#[test]
fn memberships_travel_like_any_change() {
    let mut net = Net::new(7, 2);
    net.connect(0, 1);
    net.drain();
    let registers = net.logs[1].registers();
    let is_member = |(record, _): &&(RecordId, _)| *record == device(1).membership_record();
    assert_eq!(registers.keys().filter(is_member).count(), 3, "kind {KIND}");
    assert!(net.logs[1].standing().member(device(1)).is_some());
}

#[test]
fn either_end_may_leave() {
    let mut net = Net::new(8, 2);
    let link = net.connect(0, 1);
    net.drain();
    let now_ms = net.now_ms;
    net.links[link][0].session.handle(Event::Leave, now_ms);
    net.drain();
    assert_eq!(net.links[link][0].closed, Some(Reason::Done));
    let Some(Reason::Left { farewell }) = &net.links[link][1].closed else { panic!() };
    assert_eq!(farewell.code, 0);
    let end = &mut net.links[link][1];
    assert_eq!(end.session.deadline(), None);
    end.session.handle(Event::Received(Message::Nudge.encode()), now_ms);
    end.session.handle(Event::LocalChange, now_ms);
    assert_eq!(end.session.poll(), None, "nothing follows");
}
