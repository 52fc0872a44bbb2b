//! Conversations: two sync sessions over two lines, and the duties of whoever drives a session.

use storypole_journal::{Change, ChangeHash, DeviceId, Vector};
use storypole_sync::{Action, BATCH_VERSION, Event, Here, Limits, Message, Reason, Stored, SyncSession};

use super::promises::Broken;
use super::sabotage::Sabotage;
use super::{Phase, World};
use crate::network::{Arrival, Line};

/// A conversation.
pub(super) struct Talk {
    pub(super) ends: [End; 2],
}

/// One end of it.
pub(super) struct End {
    pub(super) machine: usize,
    session: SyncSession,
    /// What it sends.
    line: Line,
    /// What it will say to have on disk, once it has.
    storing: Vec<ChangeHash>,
    /// By sabotage: the series it never sends.
    skips: Option<DeviceId>,
    pub(super) is_closed: bool,
}

impl End {
    fn new(machine: usize, session: SyncSession) -> Self {
        let (line, storing) = (Line::default(), Vec::new());
        Self { machine, session, line, storing, skips: None, is_closed: false }
    }
}

impl Talk {
    fn is_over(&self) -> bool {
        self.ends.iter().all(|end| end.is_closed)
    }

    fn is_settled(&self) -> bool {
        let is_settled = |end: &End| end.session.is_settled() && end.line.next_ms().is_none();
        self.ends.iter().all(is_settled)
    }

    /// When something happens here next.
    pub(super) fn next_ms(&self) -> Option<u64> {
        let of_end = |at: usize| {
            let (end, other) = (&self.ends[at], &self.ends[1 - at]);
            if end.is_closed {
                return None;
            }
            end.session.deadline().into_iter().chain(other.line.next_ms()).min()
        };
        (0..2).filter_map(of_end).min()
    }
}

impl World {
    /// Lets two machines talk, if both run, are not parted and do not talk yet. Returns which talk it is.
    pub(super) fn connect(&mut self, a: usize, b: usize) -> Option<usize> {
        let is_pair = |talk: &Talk| {
            let (x, y) = (talk.ends[0].machine, talk.ends[1].machine);
            (x, y) == (a, b) || (x, y) == (b, a)
        };
        if a == b || self.is_parted(a, b) || self.talks.iter().any(is_pair) {
            return None;
        }
        let ends = [self.greet(a)?, self.greet(b)?];
        self.tally.conversations += 1;
        self.tell(|| format!("{a} and {b} talk"));
        self.talks.push(Talk { ends });
        let at = self.talks.len() - 1;
        self.drive(at, 0);
        self.drive(at, 1);
        Some(at)
    }

    fn greet(&mut self, machine: usize) -> Option<End> {
        let program = self.machines[machine].program.as_ref()?;
        let held = match program.reader.vector() {
            Ok(held) => held,
            Err(error) => {
                self.failed(machine, &error);
                return None;
            }
        };
        // Small batches, so that many fit a short conversation.
        let limits = Limits { batch_bytes: 400 << self.chance.below(5), ..Limits::default() };
        let (notebook, device) = (program.store.notebook(), program.store.device());
        let series: Vec<DeviceId> = held.iter().map(|(device, _)| device).collect();
        let session = SyncSession::new(Here { notebook, device, held, limits }, self.now_ms);
        let mut end = End::new(machine, session);
        if self.sabotage == Some(Sabotage::SkipsASeries) && !series.is_empty() {
            end.skips = Some(*self.chance.pick(&series));
        }
        Some(end)
    }

    /// Breaks every conversation that a machine has. The other end hears of it, or falls silent.
    pub(super) fn hang_up(&mut self, machine: usize) {
        for talk in &mut self.talks {
            if talk.ends.iter().all(|end| end.machine != machine) {
                continue;
            }
            let is_heard = self.phase == Phase::Healing || self.chance.below(2) == 0;
            for end in &mut talk.ends {
                end.is_closed |= is_heard || end.machine == machine;
            }
        }
    }

    pub(super) fn part_talks(&mut self) {
        for at in 0..self.talks.len() {
            let [one, two] = &self.talks[at].ends;
            if self.is_parted(one.machine, two.machine) {
                self.talks[at].ends.iter_mut().for_each(|end| end.is_closed = true);
            }
        }
    }

    /// Something new was written at a machine: its other conversations hear of it.
    pub(super) fn tell_of_change(&mut self, machine: usize, but: Option<usize>) {
        for at in 0..self.talks.len() {
            for end in 0..2 {
                if self.talks[at].ends[end].machine == machine && but != Some(at) {
                    self.hear(at, end, Event::LocalChange);
                }
            }
        }
    }

    /// Does what is due in all conversations, and forgets those that are over.
    pub(super) fn talk_on(&mut self) {
        for at in 0..self.talks.len() {
            for end in 0..2 {
                self.listen(at, end);
            }
        }
        if self.solo.is_none() {
            self.talks.retain(|talk| !talk.is_over());
        }
    }

    fn listen(&mut self, at: usize, end: usize) {
        while let Some(arrival) = self.talks[at].ends[1 - end].line.take(self.now_ms) {
            match arrival {
                Arrival::Message(bytes) => self.hear(at, end, Event::Received(bytes)),
                Arrival::Broken { beginning } => {
                    if let Some(bytes) = beginning {
                        self.hear(at, end, Event::Received(bytes));
                    }
                    self.talks[at].ends.iter_mut().for_each(|end| end.is_closed = true);
                }
            }
        }
        let is_due = |deadline_ms: u64| deadline_ms <= self.now_ms;
        if !self.talks[at].ends[end].is_closed
            && self.talks[at].ends[end].session.deadline().is_some_and(is_due)
        {
            self.hear(at, end, Event::Tick);
        }
    }

    pub(super) fn hear(&mut self, at: usize, end: usize, event: Event) {
        if self.talks[at].ends[end].is_closed {
            return;
        }
        let now_ms = self.now_ms;
        self.talks[at].ends[end].session.handle(event, now_ms);
        self.drive(at, end);
    }

    /// Does what a session asks for, until it asks for nothing.
    fn drive(&mut self, at: usize, end: usize) {
        while !self.talks[at].ends[end].is_closed
            && let Some(action) = self.talks[at].ends[end].session.poll()
        {
            let event = match action {
                Action::Send(bytes) => {
                    self.send(at, end, bytes);
                    continue;
                }
                Action::Forked(_) => continue,
                Action::Close(reason) => {
                    self.closed(at, end, &reason);
                    continue;
                }
                Action::Read { beyond, max_bytes } => self.read(at, end, &beyond, max_bytes).map(Event::Read),
                Action::Store(parcel) => self.store(at, end, parcel).map(Event::Stored),
            };
            match event {
                Some(event) => self.talks[at].ends[end].session.handle(event, self.now_ms),
                // The store failed; whoever drives a session can only hang up.
                None => self.talks[at].ends.iter_mut().for_each(|end| end.is_closed = true),
            }
        }
    }

    fn send(&mut self, at: usize, end: usize, bytes: Vec<u8>) {
        let one = &mut self.talks[at].ends[end];
        if let Ok(Message::Taken { .. }) = Message::decode(&bytes, &[u64::from(BATCH_VERSION)]) {
            self.machines[one.machine].promised.changes.extend(one.storing.drain(..));
        }
        one.line.send(bytes, self.now_ms, &self.weather, &mut self.chance, &mut self.tally.network);
    }

    fn closed(&mut self, at: usize, end: usize, reason: &Reason) {
        let [one, two] = &self.talks[at].ends;
        let (a, b) = (one.machine, two.machine);
        self.tell(|| format!("talk of {a} and {b}: end {end} closes: {reason}"));
        self.talks[at].ends[end].is_closed = true;
        if reason.code() == 0 {
            return;
        }
        self.tally.closed_for_a_reason += 1;
        if self.phase == Phase::Healing {
            self.broken.push(Broken::Closed { between: [a, b], why: reason.to_string() });
        }
    }

    fn read(
        &mut self,
        at: usize,
        end: usize,
        beyond: &Vector,
        max_bytes: usize,
    ) -> Option<storypole_sync::Parcel> {
        let End { machine, skips, .. } = self.talks[at].ends[end];
        let program = self.machines[machine].program.as_ref()?;
        match program.reader.since(beyond, max_bytes) {
            Ok(storypole_store::Parcel { mut changes, signatures }) => {
                if self.phase == Phase::Trouble {
                    changes.retain(|bytes| skips.is_none() || series(bytes) != skips);
                }
                Some(storypole_sync::Parcel { changes, signatures })
            }
            Err(error) => {
                self.failed(machine, &error);
                None
            }
        }
    }

    fn store(&mut self, at: usize, end: usize, parcel: storypole_sync::Parcel) -> Option<Stored> {
        let machine = self.talks[at].ends[end].machine;
        let hashes = parcel.changes.iter().map(|bytes| ChangeHash::of(bytes)).collect();
        self.talks[at].ends[end].storing = hashes;
        let now_ms = self.now_ms;
        let program = self.machines[machine].program.as_mut()?;
        if self.sabotage == Some(Sabotage::DropsAndSaysTaken) && self.phase == Phase::Trouble {
            let held = program.store.vector().ok()?;
            return Some(Stored { new: parcel.changes.len(), held, ..Stored::default() });
        }
        let is_news = !parcel.signatures.is_empty() || !parcel.changes.is_empty();
        let parcel = storypole_store::Parcel { changes: parcel.changes, signatures: parcel.signatures };
        let received = match program.store.receive(&parcel) {
            Ok(received) => received,
            Err(error) => {
                self.failed(machine, &error);
                return None;
            }
        };
        let new = received.new + received.forked + received.of_this_device;
        self.tell(|| format!("{machine} received {new} new and {} repeated at {now_ms}", received.repeated));
        if self.sabotage == Some(Sabotage::ArrivalOrderWins) {
            self.show_what_arrived(machine, &parcel.changes);
        }
        if self.sabotage == Some(Sabotage::DropsAside) {
            self.drop_aside(machine);
        }
        self.mend_own_fork(machine);
        if is_news {
            self.tell_of_change(machine, Some(at));
        }
        let held = match self.machines[machine].program.as_ref()?.store.vector() {
            Ok(held) => held,
            Err(error) => {
                self.failed(machine, &error);
                return None;
            }
        };
        let stopped = received.stopped.map(|stopped| stopped.to_string());
        if stopped.is_some() {
            // What lies beyond the stop is not on disk, and is not said to be.
            self.talks[at].ends[end].storing.clear();
        }
        Some(Stored { new, held, forked: received.forked_series, stopped })
    }

    /// Lets two machines talk alone until both have said all. Returns whether anything was sent but greetings.
    pub(super) fn talk_through(&mut self, a: usize, b: usize) {
        self.talks.clear();
        let Some(at) = self.connect(a, b) else { return };
        self.solo = Some(at);
        // A conversation of so many steps never ends.
        for _ in 0..20_000 {
            if self.talks[at].is_settled() || self.talks[at].is_over() {
                break;
            }
            let Some(next_ms) = self.talks[at].next_ms() else { break };
            self.now_ms = self.now_ms.max(next_ms);
            self.talk_on();
        }
        if !self.talks[at].is_settled() {
            self.broken.push(Broken::Unsettled { between: [a, b] });
        }
        self.solo = None;
        self.talks.clear();
    }
}

fn series(bytes: &[u8]) -> Option<DeviceId> {
    Change::decode(bytes).ok().map(|change| change.device)
}
