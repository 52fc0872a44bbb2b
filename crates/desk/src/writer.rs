//! The one thread that writes. Drafts that wait together are committed together.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::JoinHandle;

use storypole_journal::Draft;
use storypole_store::error::TakeError;
use storypole_store::read::Position;
use storypole_store::verify::Verification;
use storypole_store::{Anew, Begun, Parcel, Received, Store, StoreError, Taken};

use crate::edge;
use crate::listeners::Listeners;

/// Drafts committed in one transaction at most.
const GROUP: usize = 1_000;

type Outcomes = Result<Vec<Result<Taken, TakeError>>, StoreError>;

enum Job {
    Take(Vec<Draft>, Sender<Outcomes>),
    Receive(Parcel, Sender<Result<Received, StoreError>>),
    BeginAnew(Box<Anew>, Sender<Result<Begun, StoreError>>),
    Rebuild(Sender<Progress>),
    Verify(Sender<Result<Verification, StoreError>>),
    /// What is no part of the log, and answers by itself.
    Aside(Box<dyn FnOnce(&mut Store) + Send>),
}

/// What a rebuild says as it goes.
pub(crate) enum Progress {
    Done(u64),
    Ended(Result<(), StoreError>),
}

/// A handle on the writing thread; dropping it ends the thread after what was handed in is done.
pub(crate) struct Writer {
    jobs: Option<Sender<Job>>,
    thread: Option<JoinHandle<()>>,
}

impl Writer {
    pub(crate) fn start(store: Store, listeners: Arc<Listeners>) -> Self {
        let (jobs, waiting) = channel();
        let thread = std::thread::Builder::new()
            .name("writer".to_owned())
            .spawn(move || Writing::new(store, listeners).run(&waiting))
            .expect("the system can start a thread");
        Self { jobs: Some(jobs), thread: Some(thread) }
    }

    pub(crate) fn take(&self, drafts: Vec<Draft>) -> Outcomes {
        self.ask(|reply| Job::Take(drafts, reply))
    }

    pub(crate) fn receive(&self, parcel: Parcel) -> Result<Received, StoreError> {
        self.ask(|reply| Job::Receive(parcel, reply))
    }

    pub(crate) fn begin_anew(&self, anew: Anew) -> Result<Begun, StoreError> {
        self.ask(|reply| Job::BeginAnew(Box::new(anew), reply))
    }

    pub(crate) fn verify(&self) -> Result<Verification, StoreError> {
        self.ask(Job::Verify)
    }

    pub(crate) fn rebuild(&self, progress: &mut dyn FnMut(u64)) -> Result<(), StoreError> {
        let (reply, answers) = channel();
        self.send(Job::Rebuild(reply))?;
        loop {
            match answers.recv().map_err(|_| StoreError::WriterEnded)? {
                Progress::Done(count) => progress(count),
                Progress::Ended(result) => return result,
            }
        }
    }

    /// Writes what is no part of the log: nobody hears of it.
    pub(crate) fn aside<T: Send + 'static>(
        &self,
        write: impl FnOnce(&mut Store) -> Result<T, StoreError> + Send + 'static,
    ) -> Result<T, StoreError> {
        self.ask(|reply| Job::Aside(Box::new(move |store| answer(&reply, write(store)))))
    }

    fn ask<T>(&self, job: impl FnOnce(Sender<Result<T, StoreError>>) -> Job) -> Result<T, StoreError> {
        let (reply, answer) = channel();
        self.send(job(reply))?;
        answer.recv().unwrap_or(Err(StoreError::WriterEnded))
    }

    fn send(&self, job: Job) -> Result<(), StoreError> {
        let jobs = self.jobs.as_ref().ok_or(StoreError::WriterEnded)?;
        jobs.send(job).map_err(|_| StoreError::WriterEnded)
    }
}

impl Drop for Writer {
    fn drop(&mut self) {
        self.jobs = None;
        if let Some(thread) = self.thread.take() {
            // A writer that panicked has said so; there is nothing left to save here.
            let _ = thread.join();
        }
    }
}

/// What the writing thread holds.
struct Writing {
    store: Store,
    listeners: Arc<Listeners>,
    /// Where the log stood when listeners were told last.
    told: Option<Position>,
}

impl Writing {
    fn new(store: Store, listeners: Arc<Listeners>) -> Self {
        let told = store.position().ok();
        Self { store, listeners, told }
    }

    fn run(mut self, jobs: &Receiver<Job>) {
        let mut next = jobs.recv().ok();
        while let Some(job) = next.take() {
            match job {
                Job::Take(drafts, reply) => {
                    let mut group = vec![(drafts, reply)];
                    let mut size = group[0].0.len();
                    while size < GROUP {
                        match jobs.try_recv() {
                            Ok(Job::Take(drafts, reply)) => {
                                size += drafts.len();
                                group.push((drafts, reply));
                            }
                            Ok(other) => {
                                next = Some(other);
                                break;
                            }
                            Err(_) => break,
                        }
                    }
                    self.take_group(group);
                }
                Job::Receive(parcel, reply) => {
                    let received = self.store.receive(&parcel);
                    self.tell();
                    answer(&reply, received);
                }
                Job::BeginAnew(anew, reply) => {
                    let begun = self.store.begin_anew(*anew, edge::now_ms());
                    self.tell();
                    answer(&reply, begun);
                }
                Job::Verify(reply) => answer(&reply, self.store.verify()),
                Job::Rebuild(reply) => {
                    let result = self.store.rebuild(&mut |count| answer(&reply, Progress::Done(count)));
                    self.tell();
                    answer(&reply, Progress::Ended(result));
                }
                Job::Aside(write) => write(&mut self.store),
            }
            if next.is_none() {
                next = jobs.recv().ok();
            }
        }
    }

    fn take_group(&mut self, mut group: Vec<(Vec<Draft>, Sender<Outcomes>)>) {
        if group.len() > 1 {
            let all: Vec<Draft> = group.iter().flat_map(|(drafts, _)| drafts.iter().cloned()).collect();
            if let Ok(outcomes) = self.store.take(all, edge::now_ms()) {
                self.tell();
                let mut outcomes = outcomes.into_iter();
                for (drafts, reply) in group {
                    answer(&reply, Ok(outcomes.by_ref().take(drafts.len()).collect()));
                }
                return;
            }
        }
        // Alone, or the group failed as a whole: each by itself, so that each hears its own reason.
        for (drafts, reply) in group.drain(..) {
            let outcomes = self.store.take(drafts, edge::now_ms());
            self.tell();
            answer(&reply, outcomes);
        }
    }

    /// Tells listeners when the log has moved. Where it stands cannot be read: what was written stays written, and
    /// they hear with the next change.
    fn tell(&mut self) {
        let Ok(now) = self.store.position() else { return };
        if self.told.replace(now) != Some(now) {
            self.listeners.tell(now);
        }
    }
}

/// Whoever asked may have gone; what was written stays written.
fn answer<T>(reply: &Sender<T>, value: T) {
    let _ = reply.send(value);
}
