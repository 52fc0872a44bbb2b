//! One end of a sync conversation over an open notebook: what the session wants done, done. The same at both ends.
//!
//! Leaves out who the other end is and how messages travel: [`crate::exchange`] answers with it, [`crate::partner`]
//! asks with it. Everything here waits for the disk, so it runs on threads that may.

use std::collections::BTreeSet;
use std::time::Instant;

use storypole_desk::{Desk, DeskError};
use storypole_journal::{DeviceId, Vector};
use storypole_store::Reader;
use storypole_sync::session::Limits;
use storypole_sync::{Action, BATCH_VERSION, Event, Here, Message, Parcel, Reason, Stored, SyncSession};

use crate::frame::FULL_BYTES;

/// What went to and fro.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Changes that were new here.
    pub taken: u64,
    /// Changes that were sent.
    pub sent: u64,
    /// Bytes of messages that came.
    pub taken_bytes: u64,
    /// Bytes of messages that went.
    pub sent_bytes: u64,
    /// Changes the other end had that were not here when it greeted; none before.
    pub to_take: Option<u64>,
    /// Changes here that the other end did not have then.
    pub to_send: Option<u64>,
}

/// One end of a conversation.
#[derive(Debug)]
pub struct Conversation {
    session: SyncSession,
    began: Instant,
    /// What was held here at the beginning, and after each parcel.
    held: Vector,
    tally: Tally,
    forked: BTreeSet<DeviceId>,
    /// This copy went on as a new device with what was stored last.
    has_begun_anew: bool,
    /// Messages to be sent, and their bytes.
    outbox: Vec<Vec<u8>>,
    outbox_bytes: usize,
    /// The session may want more done once the outbox is emptied.
    is_held_up: bool,
    closed: Option<Reason>,
    /// What failed here, in its own words; the other end is told less.
    failed: Option<DeskError>,
}

impl Conversation {
    /// Begins with what is held now.
    ///
    /// # Errors
    /// The database failed.
    pub fn begin(desk: &Desk, limits: Limits) -> Result<Self, DeskError> {
        let held = desk.read(Reader::vector)?;
        let here = Here { notebook: desk.notebook(), device: desk.device(), held: held.clone(), limits };
        Ok(Self {
            session: SyncSession::new(here, 0),
            began: Instant::now(),
            held,
            tally: Tally::default(),
            forked: BTreeSet::new(),
            has_begun_anew: false,
            outbox: Vec::new(),
            outbox_bytes: 0,
            is_held_up: true,
            closed: None,
            failed: None,
        })
    }

    /// Takes in messages of the other end; [`Self::work`] does what follows from them.
    pub fn hear(&mut self, messages: Vec<Vec<u8>>) {
        for message in messages {
            self.tally.taken_bytes += message.len() as u64;
            if self.tally.to_take.is_none() {
                self.count_ahead(&message);
            }
            self.handle(Event::Received(message));
        }
    }

    /// Ends it from here; what is to be said of that is in the outbox after [`Self::work`].
    pub fn leave(&mut self) {
        self.handle(Event::Leave);
    }

    /// Does what the session wants until it waits for the other end, or enough is to be sent.
    pub fn work(&mut self, desk: &Desk) {
        self.is_held_up = false;
        while let Some(action) = self.session.poll() {
            self.act(desk, action);
            if self.outbox_bytes >= FULL_BYTES {
                self.is_held_up = true;
                return;
            }
        }
    }

    /// Whether [`Self::work`] would go on once the outbox is emptied.
    pub fn is_held_up(&self) -> bool {
        self.is_held_up
    }

    /// Whether something is to be sent, or will be.
    pub fn has_something_to_say(&self) -> bool {
        self.is_held_up || !self.outbox.is_empty()
    }

    /// Takes out what is to be sent.
    pub fn take_outbox(&mut self) -> Vec<Vec<u8>> {
        self.outbox_bytes = 0;
        std::mem::take(&mut self.outbox)
    }

    /// Whether both ends have sent and stored all that they had.
    pub fn is_settled(&self) -> bool {
        self.session.is_settled()
    }

    /// Why it is over; none while it is not.
    pub fn closed(&self) -> Option<&Reason> {
        self.closed.as_ref()
    }

    /// What failed here, if anything did.
    pub fn take_failure(&mut self) -> Option<DeskError> {
        self.failed.take()
    }

    /// What went to and fro so far.
    pub fn tally(&self) -> Tally {
        self.tally
    }

    /// Series that two copies of a data folder went on with, each its own way.
    pub fn forked(&self) -> impl Iterator<Item = DeviceId> {
        self.forked.iter().copied()
    }

    /// What was held here when it began, or after the last parcel.
    pub fn held(&self) -> &Vector {
        &self.held
    }

    fn handle(&mut self, event: Event) {
        let now_ms = u64::try_from(self.began.elapsed().as_millis()).unwrap_or(u64::MAX);
        self.session.handle(event, now_ms);
        self.is_held_up = true;
    }

    /// Counts what is to come, for whoever waits. The session reads the greeting by itself, and judges it.
    fn count_ahead(&mut self, message: &[u8]) {
        if let Ok(Message::Hello(hello)) = Message::decode(message, &[u64::from(BATCH_VERSION)]) {
            let lacks =
                |one: &Vector, other: &Vector| other.beyond(one).iter().map(|span| span.to - span.from).sum();
            self.tally.to_take = Some(lacks(&self.held, &hello.held));
            self.tally.to_send = Some(lacks(&hello.held, &self.held));
        }
    }

    fn act(&mut self, desk: &Desk, action: Action) {
        match action {
            Action::Send(message) => {
                self.tally.sent_bytes += message.len() as u64;
                self.outbox_bytes += message.len();
                self.outbox.push(message);
            }
            Action::Read { beyond, max_bytes } => match desk.since(&beyond, max_bytes) {
                Ok(parcel) => {
                    self.tally.sent += parcel.changes.len() as u64;
                    let parcel = Parcel { changes: parcel.changes, signatures: parcel.signatures };
                    self.handle(Event::Read(parcel));
                }
                Err(error) => {
                    self.failed = Some(error);
                    self.handle(Event::Leave);
                }
            },
            Action::Store(parcel) => {
                let stored = self.store(desk, parcel).unwrap_or_else(|error| self.could_not(error));
                self.handle(Event::Stored(stored));
                if std::mem::take(&mut self.has_begun_anew) {
                    // This copy is a new device now; what it wrote again is to be sent as well.
                    self.handle(Event::LocalChange);
                }
            }
            Action::Forked(forks) => self.forked.extend(forks.iter().map(|fork| fork.device)),
            Action::Close(reason) => self.closed = Some(reason),
        }
    }

    fn store(&mut self, desk: &Desk, parcel: Parcel) -> Result<Stored, DeskError> {
        let parcel = storypole_store::Parcel { changes: parcel.changes, signatures: parcel.signatures };
        let was = desk.device();
        let received = desk.receive(parcel)?;
        self.has_begun_anew |= desk.device() != was;
        let new = received.new + received.forked + received.of_this_device;
        self.tally.taken += received.new as u64;
        self.held = desk.read(Reader::vector)?;
        let stopped = received.stopped.map(|stopped| stopped.to_string());
        self.forked.extend(&received.forked_series);
        Ok(Stored { new, held: self.held.clone(), stopped, forked: received.forked_series })
    }

    /// The other end is told what it can make use of, and nothing of this computer's folders.
    fn could_not(&mut self, error: DeskError) -> Stored {
        let told = if error.is_disk_full() { "the disk there is full" } else { "the database there failed" };
        self.failed = Some(error);
        Stored { stopped: Some(told.to_owned()), held: self.held.clone(), ..Stored::default() }
    }
}
