//! The one thread that writes. Drafts that wait together are committed together.

use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::JoinHandle;

use storypole_journal::Draft;
use storypole_store::error::TakeError;
use storypole_store::verify::Verification;
use storypole_store::{Parcel, Received, Store, StoreError, Taken};

use crate::edge;

/// Drafts committed in one transaction at most.
const GROUP: usize = 1_000;

type Outcomes = Result<Vec<Result<Taken, TakeError>>, StoreError>;

enum Job {
    Take(Vec<Draft>, Sender<Outcomes>),
    Receive(Parcel, Sender<Result<Received, StoreError>>),
    Rebuild(Sender<Progress>),
    Verify(Sender<Result<Verification, StoreError>>),
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
    pub(crate) fn start(store: Store) -> Self {
        let (jobs, waiting) = channel();
        let thread = std::thread::Builder::new()
            .name("writer".to_owned())
            .spawn(move || run(store, &waiting))
            .expect("the system can start a thread");
        Self { jobs: Some(jobs), thread: Some(thread) }
    }

    pub(crate) fn take(&self, drafts: Vec<Draft>) -> Outcomes {
        self.ask(|reply| Job::Take(drafts, reply))
    }

    pub(crate) fn receive(&self, parcel: Parcel) -> Result<Received, StoreError> {
        self.ask(|reply| Job::Receive(parcel, reply))
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

fn run(mut store: Store, jobs: &Receiver<Job>) {
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
                take_group(&mut store, group);
            }
            Job::Receive(parcel, reply) => answer(&reply, store.receive(&parcel)),
            Job::Verify(reply) => answer(&reply, store.verify()),
            Job::Rebuild(reply) => {
                let result = store.rebuild(&mut |count| answer(&reply, Progress::Done(count)));
                answer(&reply, Progress::Ended(result));
            }
        }
        if next.is_none() {
            next = jobs.recv().ok();
        }
    }
}

/// Whoever asked may have gone; what was written stays written.
fn answer<T>(reply: &Sender<T>, value: T) {
    let _ = reply.send(value);
}

fn take_group(store: &mut Store, mut group: Vec<(Vec<Draft>, Sender<Outcomes>)>) {
    if group.len() > 1 {
        let all: Vec<Draft> = group.iter().flat_map(|(drafts, _)| drafts.iter().cloned()).collect();
        if let Ok(outcomes) = store.take(all, edge::now_ms()) {
            let mut outcomes = outcomes.into_iter();
            for (drafts, reply) in group {
                answer(&reply, Ok(outcomes.by_ref().take(drafts.len()).collect()));
            }
            return;
        }
    }
    // Alone, or the group failed as a whole: each by itself, so that each hears its own reason.
    for (drafts, reply) in group.drain(..) {
        answer(&reply, store.take(drafts, edge::now_ms()));
    }
}
