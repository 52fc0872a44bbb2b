//! One sync conversation: what to do next, given what happened.
//!
//! Leaves out sockets, clocks and disks. Whether a chain or a signature holds is for the store to judge; the
//! session closes with the store's words.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use storypole_journal::{Change, ChangeHash, DeviceId, Entry, Fork, NotebookId, Vector};

use crate::message::{Hello, MAX_BATCH_BYTES, Message, MessageError};
use crate::reason::Reason;
use crate::signatures;
use crate::wire::{BATCH_VERSION, Known, Parcel, ParcelError, decode_batch, encode_batch};

/// The versions of batches spoken here, ascending.
const VERSIONS: &[u64] = &[BATCH_VERSION as u64];

/// How patient and how greedy a session is. The defaults suit any device; both ends may differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Encoded changes in one batch, bytes. One change may always have more.
    pub batch_bytes: usize,
    /// Batches sent that are not acknowledged.
    pub batches_in_flight: usize,
    /// Their bytes on the wire; one more batch is sent while they are fewer.
    pub bytes_in_flight: usize,
    /// Milliseconds without a message from here after which one is sent.
    pub nudge_ms: u64,
    /// Milliseconds without a message from there after which it is taken for gone.
    pub silence_ms: u64,
    /// Milliseconds that a batch may wait for its acknowledgement.
    pub stall_ms: u64,
    /// Messages within a minute that bring nothing new.
    pub idle_messages: u32,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            batch_bytes: 4 << 20,
            batches_in_flight: 4,
            bytes_in_flight: 8 << 20,
            nudge_ms: 25_000,
            silence_ms: 90_000,
            stall_ms: 600_000,
            idle_messages: 64,
        }
    }
}

impl Limits {
    /// The least size of a batch that a peer can ask for, bytes.
    const LEAST_BATCH_BYTES: u64 = 4_096;
    /// The most batches a peer may have on the way here, whatever its own limits.
    const MOST_BATCHES: usize = 16;
    /// The most bytes of them that wait here, one batch more or less.
    const MOST_BYTES: usize = 32 << 20;
    /// The span over which idle messages are counted.
    const IDLE_MS: u64 = 60_000;
}

/// Something happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// A message came, whole.
    Received(Vec<u8>),
    /// The store answers an [`Action::Read`].
    Read(Parcel),
    /// The store answers an [`Action::Store`].
    Stored(Stored),
    /// Something new was written here, or came from another device in another session, be it only a signature.
    LocalChange,
    /// Time has passed.
    Tick,
    /// This end wants to go.
    Leave,
}

/// What the store made of a parcel.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Stored {
    /// Changes that were new, kept aside or not.
    pub new: usize,
    /// How much is held of every series now.
    pub held: Vector,
    /// Series of which another branch came: the other end may lack the one held here.
    pub forked: Vec<DeviceId>,
    /// Why the store stopped within the parcel, in its own words, if it did.
    pub stopped: Option<String>,
}

/// What to do next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Action {
    /// Send this encoded message.
    Send(Vec<u8>),
    /// Read from the store what lies beyond a vector, in stamp order, with signatures, until there are this many
    /// bytes of encoded changes or no more, and answer with [`Event::Read`].
    Read {
        /// What the other end has.
        beyond: Vector,
        /// Bytes of encoded changes.
        max_bytes: usize,
    },
    /// Give this to the store, and answer with [`Event::Stored`] when it is on disk.
    Store(Parcel),
    /// Tell the person: a data folder was copied, and both copies write. Sync goes on.
    Forked(Vec<Fork>),
    /// Close the connection; nothing follows.
    Close(Reason),
}

/// What a session starts from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Here {
    /// The notebook.
    pub notebook: NotebookId,
    /// This device.
    pub device: DeviceId,
    /// How much it holds of every series.
    pub held: Vector,
    /// How patient it is.
    pub limits: Limits,
}

/// One sync conversation with one peer: no socket, clock or disk inside.
///
/// Feed it what happened with [`handle`](Self::handle), drain what to do next with [`poll`](Self::poll) until
/// `None`, then wait for something to happen, at most until [`deadline`](Self::deadline). Both ends run the
/// same code. Times are milliseconds of any clock that never goes back.
#[derive(Debug)]
pub struct SyncSession {
    here: Here,
    actions: VecDeque<Action>,
    peer: Option<Peer>,
    last_heard_ms: u64,
    last_sent_ms: u64,
    idle_messages: u32,
    idle_since_ms: u64,
    forks_told: BTreeSet<DeviceId>,
    is_closed: bool,
}

/// The other end, once it has greeted.
#[derive(Debug)]
struct Peer {
    outgoing: Outgoing,
    incoming: Incoming,
}

/// Our changes on their way there.
#[derive(Debug)]
struct Outgoing {
    known: Known,
    /// What they hold as far as we heard; of a fork, their branch.
    theirs: Vector,
    batch_bytes: usize,
    next_number: u64,
    in_flight: VecDeque<InFlight>,
    /// Of the series that forked and are sent from their beginning: how much of our branch was sent, or is known
    /// to be there.
    restarted: BTreeMap<DeviceId, Entry>,
    /// Up to where a signature was sent of every series.
    signed: BTreeMap<DeviceId, u64>,
    is_reading: bool,
    /// There may be something beyond what was read.
    may_have_more: bool,
    /// The last batch sent said that it is the last.
    has_said_last: bool,
}

#[derive(Debug)]
struct InFlight {
    number: u64,
    bytes: usize,
    sent_ms: u64,
}

/// Their changes on their way here. Batches wait packed; one at a time is unpacked and stored.
#[derive(Debug)]
struct Incoming {
    known: Known,
    next_number: u64,
    waiting: VecDeque<Arrived>,
    storing: Option<Arrived>,
    /// The ends of what they sent.
    heard: Vector,
    /// Series that they know to be held otherwise than `known` says.
    told: Vector,
    has_heard_last: bool,
}

#[derive(Debug)]
struct Arrived {
    number: u64,
    is_last: bool,
    /// Empty once unpacked.
    bytes: Vec<u8>,
}

impl SyncSession {
    /// Opens by telling the peer how much of each series is held here.
    pub fn new(here: Here, now_ms: u64) -> Self {
        let hello = Message::Hello(Hello {
            versions: VERSIONS.to_vec(),
            notebook: here.notebook,
            device: here.device,
            batch_bytes: here.limits.batch_bytes as u64,
            held: here.held.clone(),
        });
        let mut session = Self {
            here,
            actions: VecDeque::new(),
            peer: None,
            last_heard_ms: now_ms,
            last_sent_ms: now_ms,
            idle_messages: 0,
            idle_since_ms: now_ms,
            forks_told: BTreeSet::new(),
            is_closed: false,
        };
        session.send(&hello, now_ms);
        session
    }

    /// Takes in one event. Total: whatever a peer sends leads to actions, never to a panic.
    pub fn handle(&mut self, event: Event, now_ms: u64) {
        if self.is_closed {
            return;
        }
        let result = match event {
            Event::Received(bytes) => self.receive(&bytes, now_ms),
            Event::Read(parcel) => self.send_parcel(parcel, now_ms),
            Event::Stored(stored) => self.acknowledge(stored, now_ms),
            Event::LocalChange => {
                if let Some(peer) = &mut self.peer {
                    peer.outgoing.may_have_more = true;
                }
                Ok(())
            }
            Event::Tick => self.check_time(now_ms),
            Event::Leave => Err(Reason::Done),
        };
        match result {
            Ok(()) => self.read_on(),
            Err(reason) => self.close(reason, now_ms),
        }
    }

    /// Returns what to do next, in this order.
    pub fn poll(&mut self) -> Option<Action> {
        self.actions.pop_front()
    }

    /// Returns when a [`Event::Tick`] is due at the latest; `None` once closed.
    pub fn deadline(&self) -> Option<u64> {
        let limits = &self.here.limits;
        let oldest = self.peer.as_ref().and_then(|peer| peer.outgoing.in_flight.front());
        let stall = oldest.map_or(u64::MAX, |oldest| oldest.sent_ms.saturating_add(limits.stall_ms));
        let silence = self.last_heard_ms.saturating_add(limits.silence_ms);
        let nudge = self.last_sent_ms.saturating_add(limits.nudge_ms);
        (!self.is_closed).then(|| stall.min(silence).min(nudge))
    }

    /// Says whether both ends have sent and stored all that they had for now.
    pub fn is_settled(&self) -> bool {
        self.peer.as_ref().is_some_and(|Peer { outgoing, incoming }| {
            let is_sent = outgoing.has_said_last && !outgoing.is_reading && !outgoing.may_have_more;
            let is_stored = incoming.has_heard_last && incoming.storing.is_none();
            is_sent && is_stored && outgoing.in_flight.is_empty() && self.actions.is_empty()
        })
    }

    fn receive(&mut self, bytes: &[u8], now_ms: u64) -> Result<(), Reason> {
        self.last_heard_ms = now_ms;
        let message = Message::decode(bytes, VERSIONS).map_err(reason_of)?;
        self.count_message(now_ms)?;
        match (message, &mut self.peer) {
            (Message::Bye(farewell), _) => {
                self.actions.push_back(Action::Close(Reason::Left { farewell }));
                self.is_closed = true;
                Ok(())
            }
            (Message::Hello(hello), None) => self.greet(hello),
            (Message::Hello(_), Some(_)) => Err(Reason::OutOfTurn { what: "a second greeting" }),
            (_, None) => Err(Reason::OutOfTurn { what: "something before a greeting" }),
            (Message::Batch { number, is_last, bytes }, Some(peer)) => {
                peer.incoming.arrive(Arrived { number, is_last, bytes })?;
                self.store_next()
            }
            (Message::Taken { number, differs }, Some(peer)) => {
                peer.outgoing.taken(number, &differs)?;
                self.idle_messages = 0;
                self.tell_forks(&differs);
                Ok(())
            }
            (Message::Nudge, Some(_)) => Ok(()),
        }
    }

    /// Counts a message that may bring nothing; what brings something begins the count anew.
    fn count_message(&mut self, now_ms: u64) -> Result<(), Reason> {
        if now_ms >= self.idle_since_ms.saturating_add(Limits::IDLE_MS) {
            self.idle_since_ms = now_ms;
            self.idle_messages = 0;
        }
        self.idle_messages += 1;
        if self.idle_messages > self.here.limits.idle_messages { Err(Reason::Restless) } else { Ok(()) }
    }

    fn greet(&mut self, hello: Hello) -> Result<(), Reason> {
        let notebook = self.here.notebook;
        if hello.notebook != notebook {
            return Err(Reason::OtherNotebook { theirs: hello.notebook });
        }
        let batch_bytes = hello.batch_bytes.max(Limits::LEAST_BATCH_BYTES);
        let batch_bytes =
            usize::try_from(batch_bytes).unwrap_or(usize::MAX).min(self.here.limits.batch_bytes);
        self.tell_forks(&hello.held);
        self.peer = Some(Peer {
            outgoing: Outgoing {
                known: Known::new(notebook, hello.held.clone()),
                theirs: hello.held,
                batch_bytes,
                next_number: 0,
                in_flight: VecDeque::new(),
                restarted: BTreeMap::new(),
                signed: BTreeMap::new(),
                is_reading: false,
                may_have_more: true,
                has_said_last: false,
            },
            incoming: Incoming {
                known: Known::new(notebook, self.here.held.clone()),
                next_number: 0,
                waiting: VecDeque::new(),
                storing: None,
                heard: Vector::new(),
                told: Vector::new(),
                has_heard_last: false,
            },
        });
        Ok(())
    }

    /// Tells the person of every series that forked, once.
    fn tell_forks(&mut self, theirs: &Vector) {
        let mut forks = self.here.held.forks(theirs);
        forks.retain(|fork| self.forks_told.insert(fork.device));
        if !forks.is_empty() {
            self.actions.push_back(Action::Forked(forks));
        }
    }

    /// Reads on if there may be more and room for it on the way.
    fn read_on(&mut self) {
        let limits = self.here.limits;
        let Some(Peer { outgoing, .. }) = &mut self.peer else { return };
        let bytes: usize = outgoing.in_flight.iter().map(|batch| batch.bytes).sum();
        let count = outgoing.in_flight.len();
        let has_room = count == 0
            || count < limits.batches_in_flight.min(Limits::MOST_BATCHES)
                && bytes < limits.bytes_in_flight.min(Limits::MOST_BYTES);
        if self.is_closed || outgoing.is_reading || !outgoing.may_have_more || !has_room {
            return;
        }
        outgoing.is_reading = true;
        outgoing.may_have_more = false;
        let max_bytes = outgoing.batch_bytes;
        self.actions.push_back(Action::Read { beyond: outgoing.beyond(), max_bytes });
    }

    fn send_parcel(&mut self, parcel: Parcel, now_ms: u64) -> Result<(), Reason> {
        let Some(peer) = &mut self.peer else { return Ok(()) };
        if !peer.outgoing.is_reading {
            return Ok(());
        }
        peer.outgoing.is_reading = false;
        if let Some(message) = peer.outgoing.pack(parcel, now_ms)? {
            self.send(&message, now_ms);
        }
        Ok(())
    }

    /// Unpacks the next batch for the store, unless it is busy with one.
    fn store_next(&mut self) -> Result<(), Reason> {
        let Some(Peer { incoming, outgoing }) = &mut self.peer else { return Ok(()) };
        if incoming.storing.is_some() {
            return Ok(());
        }
        let Some(mut arrived) = incoming.waiting.pop_front() else { return Ok(()) };
        let bytes = std::mem::take(&mut arrived.bytes);
        let before = incoming.known.clone();
        let parcel = decode_batch(&bytes, &mut incoming.known).map_err(|source| Reason::Batch { source })?;
        // What they sent, they have; what they knew us to have, they may lack.
        let is_sent = |(device, entry): &(DeviceId, Entry)| before.vector().get(*device) != Some(*entry);
        let sent: Vector = incoming.known.vector().iter().filter(is_sent).collect();
        sent.iter().for_each(|(device, entry)| incoming.heard.set(device, entry));
        raise(&mut outgoing.theirs, &sent);
        // Signatures of their branch say nothing about ours.
        for signature in parcel.signatures.iter().filter(|of| !outgoing.restarted.contains_key(&of.device)) {
            let signed = outgoing.signed.entry(signature.device).or_default();
            *signed = signature.count.max(*signed);
        }
        incoming.storing = Some(arrived);
        self.actions.push_back(Action::Store(parcel));
        Ok(())
    }

    fn acknowledge(&mut self, stored: Stored, now_ms: u64) -> Result<(), Reason> {
        let Some(Peer { incoming, outgoing }) = &mut self.peer else { return Ok(()) };
        let Some(arrived) = incoming.storing.take() else { return Ok(()) };
        if let Some(what) = stored.stopped {
            return Err(Reason::Store { what });
        }
        if stored.new > 0 {
            self.idle_messages = 0;
        }
        incoming.has_heard_last = arrived.is_last && incoming.waiting.is_empty();
        // A key or a signature that came may let pass what was held back until now.
        outgoing.may_have_more |= incoming.has_heard_last;
        let differs = incoming.differences(&stored.held);
        for device in stored.forked {
            if !outgoing.restarted.contains_key(&device) {
                outgoing.restart(device);
                outgoing.may_have_more = true;
            }
        }
        outgoing.skip_what_is_there(&stored.held, &incoming.heard);
        self.here.held = stored.held;
        self.send(&Message::Taken { number: arrived.number, differs }, now_ms);
        self.store_next()
    }

    fn check_time(&mut self, now_ms: u64) -> Result<(), Reason> {
        let limits = self.here.limits;
        let is_over = |since_ms: u64, limit_ms: u64| now_ms >= since_ms.saturating_add(limit_ms);
        if is_over(self.last_heard_ms, limits.silence_ms) {
            return Err(Reason::Silent);
        }
        let oldest = self.peer.as_ref().and_then(|peer| peer.outgoing.in_flight.front());
        if oldest.is_some_and(|oldest| is_over(oldest.sent_ms, limits.stall_ms)) {
            return Err(Reason::Stalled);
        }
        if is_over(self.last_sent_ms, limits.nudge_ms) {
            self.send(&Message::Nudge, now_ms);
        }
        Ok(())
    }

    fn send(&mut self, message: &Message, now_ms: u64) {
        self.last_sent_ms = now_ms;
        self.actions.push_back(Action::Send(message.encode()));
    }

    fn close(&mut self, reason: Reason, now_ms: u64) {
        self.send(&Message::Bye(reason.farewell()), now_ms);
        self.actions.push_back(Action::Close(reason));
        self.is_closed = true;
        self.peer = None;
    }
}

impl Outgoing {
    /// All that the other end has or is about to have; of a series that was restarted, only of our branch.
    fn beyond(&self) -> Vector {
        let mut beyond = self.known.vector().clone();
        raise(&mut beyond, &self.theirs);
        self.restarted.iter().for_each(|(device, sent)| beyond.set(*device, *sent));
        beyond
    }

    /// Sends our branch of a series from its beginning: where theirs left it is not known here.
    fn restart(&mut self, device: DeviceId) {
        self.restarted.insert(device, Entry { count: 0, hash: ChangeHash([0; 32]) });
        self.signed.remove(&device);
    }

    /// Takes note where they have all that is held here of a series that was restarted.
    fn skip_what_is_there(&mut self, held: &Vector, heard: &Vector) {
        for (device, sent) in &mut self.restarted {
            let is_there = |entry: &Entry| {
                [heard, &self.theirs].iter().any(|theirs| theirs.get(*device) == Some(*entry))
            };
            if let Some(entry) = held.get(*device).filter(is_there) {
                *sent = entry;
            }
        }
    }

    /// Packs a parcel, or as much of it as fits a message. `None` if there is nothing to say.
    fn pack(&mut self, mut parcel: Parcel, now_ms: u64) -> Result<Option<Message>, Reason> {
        let read: usize = parcel.changes.iter().map(Vec::len).sum();
        let count = parcel.changes.len();
        let places: Vec<Option<Placed>> = parcel.changes.iter().map(|bytes| Placed::of(bytes)).collect();
        self.restart_where_told(&places);
        let signatures = std::mem::take(&mut parcel.signatures);
        let (bytes, known) = loop {
            let reach = self.reach(&places[..parcel.changes.len()]);
            parcel.signatures = signatures::fewest(&signatures, &self.signed, &self.beyond(), &reach);
            let mut known = self.known.clone();
            match encode_batch(&parcel, &mut known) {
                Ok(bytes) if bytes.len() <= MAX_BATCH_BYTES => break (bytes, known),
                Ok(_) | Err(ParcelError::TooLarge) if parcel.changes.len() > 1 => {
                    parcel.changes.truncate(parcel.changes.len() / 2);
                }
                Ok(_) => return Err(Reason::Parcel { source: ParcelError::TooLarge }),
                Err(source) => return Err(Reason::Parcel { source }),
            }
        };
        let has_restarted = self.note_restarted(&places[..parcel.changes.len()], &known);
        if !parcel.changes.is_empty() && known == self.known && !has_restarted {
            // It would be read and sent again without end.
            return Err(Reason::Later);
        }
        // A store that gives less than was asked for has no more; to be sure, it is asked once again.
        let is_last = read < self.batch_bytes && parcel.changes.len() == count;
        self.may_have_more |= count > 0;
        if parcel.changes.is_empty() && parcel.signatures.is_empty() && is_last == self.has_said_last {
            return Ok(None);
        }
        self.known = known;
        self.has_said_last = is_last;
        for signature in &parcel.signatures {
            self.signed.insert(signature.device, signature.count);
        }
        let number = self.next_number;
        self.next_number += 1;
        self.in_flight.push_back(InFlight { number, bytes: bytes.len(), sent_ms: now_ms });
        Ok(Some(Message::Batch { number, is_last, bytes }))
    }

    /// The store begins a series anew where it finds another branch there.
    fn restart_where_told(&mut self, places: &[Option<Placed>]) {
        let beyond = self.beyond();
        let again = |placed: &&Placed| placed.seq < beyond.count(placed.device);
        let devices: BTreeSet<DeviceId> =
            places.iter().flatten().filter(again).map(|placed| placed.device).collect();
        devices.into_iter().for_each(|device| self.restart(device));
    }

    /// Takes note how much was sent of the series that were restarted; says whether any of these changes is theirs.
    fn note_restarted(&mut self, places: &[Option<Placed>], known: &Known) -> bool {
        let mut any = false;
        for placed in places.iter().flatten() {
            if let Some(sent) = self.restarted.get_mut(&placed.device) {
                any = true;
                *sent = known.vector().get(placed.device).unwrap_or(*sent);
            }
        }
        any
    }

    /// All that the other end will have with these changes.
    fn reach(&self, places: &[Option<Placed>]) -> Vector {
        let mut reach = self.beyond();
        for placed in places.iter().flatten() {
            // Only the counts matter.
            let entry = Entry { count: placed.seq.saturating_add(1), hash: placed.prev };
            if entry.count > reach.count(placed.device) {
                reach.set(placed.device, entry);
            }
        }
        reach
    }

    fn taken(&mut self, number: u64, differs: &Vector) -> Result<(), Reason> {
        match self.in_flight.pop_front() {
            Some(batch) if batch.number == number => {
                differs.iter().for_each(|(device, entry)| self.theirs.set(device, entry));
                Ok(())
            }
            _ => Err(Reason::OutOfTurn { what: "an acknowledgement" }),
        }
    }
}

/// Where a change stands.
#[derive(Debug, Clone, Copy)]
struct Placed {
    device: DeviceId,
    seq: u64,
    prev: ChangeHash,
}

impl Placed {
    fn of(bytes: &[u8]) -> Option<Self> {
        let Change { device, seq, prev, .. } = Change::decode(bytes).ok()?;
        Some(Self { device, seq, prev })
    }
}

impl Incoming {
    fn arrive(&mut self, arrived: Arrived) -> Result<(), Reason> {
        if arrived.number != self.next_number {
            return Err(Reason::OutOfTurn { what: "a batch" });
        }
        let bytes: usize = self.waiting.iter().map(|waiting| waiting.bytes.len()).sum();
        if self.waiting.len() >= Limits::MOST_BATCHES || bytes >= Limits::MOST_BYTES {
            return Err(Reason::Flood);
        }
        self.next_number += 1;
        self.has_heard_last = false;
        self.waiting.push_back(arrived);
        Ok(())
    }

    /// Returns the series that they cannot know to be held as they are, and takes note that they now do.
    fn differences(&mut self, held: &Vector) -> Vector {
        let known = self.known.vector();
        let is_news = |(device, entry): &(DeviceId, Entry)| {
            known.get(*device) != Some(*entry) && self.told.get(*device) != Some(*entry)
        };
        let differs: Vector = held.iter().filter(is_news).collect();
        differs.iter().for_each(|(device, entry)| self.told.set(device, entry));
        differs
    }
}

/// Takes over every entry that is larger elsewhere.
fn raise(vector: &mut Vector, other: &Vector) {
    for (device, entry) in other.iter() {
        if entry.count > vector.count(device) {
            vector.set(device, entry);
        }
    }
}

fn reason_of(error: MessageError) -> Reason {
    match error {
        MessageError::Versions { greatest } if greatest > u64::from(BATCH_VERSION) => {
            Reason::TooOld { theirs: greatest }
        }
        MessageError::Versions { greatest } => Reason::TooNew { theirs: greatest },
        source => Reason::Message { source },
    }
}
