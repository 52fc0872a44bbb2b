//! Syncing all the time while serving: one task for each address this copy syncs with.
//!
//! A task syncs when it begins, when something was written here, when the other end's events tell of something there,
//! and every few minutes in case either was missed. What fails is tried again, less and less often, but at once after
//! a rest when something is written, and when the computer wakes from sleep. Leaves out how one sync goes
//! ([`crate::partner`]).

use std::collections::HashMap;
use std::sync::Arc;
use std::time::Duration;

use storypole_desk::{Desk, edge};
use storypole_journal::Vector;
use storypole_store::Reader;
use storypole_store::partners::Partner as Address;
use tokio::sync::watch;
use tokio::task::{AbortHandle, JoinHandle, JoinSet};
use tokio::time::{Instant, sleep, sleep_until};

use crate::fetching::{self, Exchanged, Keyed};
use crate::partner::{Outcome, Partner, SyncError};
use crate::problem::chain;
use crate::remote::{Remote, Trust};
use crate::{App, hex};

mod heard;
mod known;
mod pace;

pub use known::{Followed, Following};

use heard::Heard;
use pace::{Clocks, pause};

/// How long changes made here are gathered before they are sent (convention of this project, as the three below).
const GATHER: Duration = Duration::from_millis(100);

/// How often it syncs where nothing is heard.
const ANYWAY: Duration = Duration::from_secs(300);

/// The least time between a failure and the next try for something that was written.
const REST: Duration = Duration::from_secs(5);

/// How often an outcome like the one before is noted on disk, milliseconds.
const NOTE_EVERY_MS: u64 = 60_000;

/// Follows every address of the notebook until the server closes, those that are added later too.
pub fn start(app: &App, desk: &Arc<Desk>) -> JoinHandle<()> {
    let (app, desk) = (app.clone(), Arc::clone(desk));
    tokio::spawn(async move {
        let mut listed = app.following().listed();
        let mut tasks = JoinSet::new();
        let mut followed: HashMap<(String, Option<[u8; 32]>), AbortHandle> = HashMap::new();
        loop {
            match app.read(|desk| Ok(desk.partners()?)).await {
                Ok(addresses) => keep_up(&app, &desk, &mut tasks, &mut followed, addresses),
                Err(error) => {
                    tracing::error!(cause = error.logged(), "the addresses to sync with cannot be read")
                }
            }
            tokio::select! {
                () = app.hub().closed() => break,
                changed = listed.changed() => if changed.is_err() { break },
            }
        }
        tasks.shutdown().await;
    })
}

/// Begins to follow what is new, and leaves what was forgotten or has another pin now.
fn keep_up(
    app: &App,
    desk: &Arc<Desk>,
    tasks: &mut JoinSet<()>,
    followed: &mut HashMap<(String, Option<[u8; 32]>), AbortHandle>,
    addresses: Vec<Address>,
) {
    followed.retain(|(url, pin), task| {
        let stays = addresses.iter().any(|address| (&address.url, address.pin) == (url, *pin));
        if !stays {
            task.abort();
            app.following().drop(url);
        }
        stays
    });
    for address in addresses {
        followed.entry((address.url.clone(), address.pin)).or_insert_with(|| {
            app.following().add(&address);
            let (app, desk) = (app.clone(), Arc::clone(desk));
            tasks.spawn(async move { Follower::follow(app, desk, address).await })
        });
    }
}

/// Whom to believe at an address: the certificate that was pinned, or whom the system trusts.
pub fn trust(url: &str, pin: Option<[u8; 32]>) -> Trust {
    match pin {
        _ if url.starts_with("http://") => Trust::Loopback,
        Some(pin) => Trust::Pinned(pin),
        None => Trust::System,
    }
}

/// One address that is followed.
struct Follower {
    app: App,
    desk: Arc<Desk>,
    url: String,
    partner: Partner,
    moved: watch::Receiver<()>,
    asked: watch::Receiver<()>,
    heard: Heard,
    clocks: Clocks,
    /// What both ends held after the last sync.
    held: Option<Vector>,
    /// Tries in a row that failed.
    failures: u32,
    noted_ms: u64,
    failed: Option<String>,
    /// Files on their way to and from the other end, beside the log, which never waits for them.
    files: JoinSet<()>,
    /// Something came up while files were on their way.
    files_again: bool,
}

impl Follower {
    async fn follow(app: App, desk: Arc<Desk>, address: Address) {
        let url = address.url;
        let remote = match Remote::new(&url, trust(&url, address.pin)) {
            Ok(remote) => remote,
            Err(error) => {
                app.following().failed(&url, &chain(&error));
                return;
            }
        };
        let mut follower = Self {
            partner: Partner::new(Arc::clone(&desk), remote),
            moved: app.hub().moved(),
            asked: app.following().asked(),
            heard: Heard::default(),
            clocks: Clocks::now(),
            held: None,
            failures: 0,
            noted_ms: 0,
            failed: None,
            files: JoinSet::new(),
            files_again: false,
            app,
            desk,
            url,
        };
        let hub_of = follower.app.clone();
        tokio::select! {
            () = hub_of.hub().closed() => (),
            () = follower.run() => (),
        }
    }

    async fn run(&mut self) {
        loop {
            self.app.following().syncing(&self.url);
            let synced = tokio::select! {
                synced = self.partner.sync(|_| ()) => Some(synced),
                // Whatever was under way when the computer fell asleep is most likely dead.
                () = self.clocks.jump() => None,
            };
            let Some(synced) = synced else {
                self.heard = Heard::default();
                continue;
            };
            match &synced {
                Ok(outcome) => {
                    self.failures = 0;
                    self.held = Some(outcome.held.clone());
                }
                Err(_) => self.failures = self.failures.saturating_add(1),
            }
            self.note(&synced).await;
            if synced.is_ok() {
                self.exchange_files().await;
                self.listen().await;
                self.until_wanted().await;
            } else {
                self.heard = Heard::default();
                self.until_tried_again().await;
            }
        }
    }

    /// Begins to fetch and bring files, unless it is being done.
    async fn exchange_files(&mut self) {
        while self.files.try_join_next().is_some() {}
        self.files_again = !self.files.is_empty();
        if self.files_again {
            return;
        }
        let (remote, key) = match self.partner.key().await {
            Ok(reached) => reached,
            Err(error) => {
                tracing::debug!(url = self.url, why = chain(&error), "no files are exchanged");
                return;
            }
        };
        let (app, desk, url) = (self.app.clone(), Arc::clone(&self.desk), self.url.clone());
        self.files.spawn(async move {
            let other = Keyed::new(remote, &key);
            let done = fetching::exchange(&desk, &other, &app.files_asked_for(), &|_| ()).await;
            tell_of_files(&app, &url, &done);
        });
    }

    /// Opens the other end's events, where they are not open and may be tried.
    async fn listen(&mut self) {
        if !self.heard.may_open() {
            return;
        }
        match self.partner.events().await {
            Ok(response) => self.heard.open(response.into_body()),
            Err(error) => {
                tracing::debug!(url = self.url, why = chain(&error), "no events are heard");
                self.heard.failed();
            }
        }
    }

    /// Waits until there is a reason to sync.
    async fn until_wanted(&mut self) {
        let anyway = Instant::now() + ANYWAY;
        loop {
            tokio::select! {
                changed = self.moved.changed() => {
                    if changed.is_err() {
                        return;
                    }
                    sleep(GATHER).await;
                    self.moved.mark_unchanged();
                    if self.has_news().await {
                        return;
                    }
                }
                () = self.heard.news() => return,
                changed = self.asked.changed() => if changed.is_ok() { return },
                () = self.clocks.jump() => {
                    self.heard = Heard::default();
                    return;
                }
                Some(_) = self.files.join_next() => if self.files_again { return },
                () = sleep_until(anyway) => return,
            }
        }
    }

    /// Whether more is held here than both ends held after the last sync: what came from there is no news to it.
    async fn has_news(&self) -> bool {
        let held = self.app.read(|desk| Ok(desk.read(Reader::vector)?)).await.ok();
        held.is_none() || held != self.held
    }

    /// Waits after a failure.
    async fn until_tried_again(&mut self) {
        let failed_at = Instant::now();
        let jitter = u32::from_be_bytes(edge::random());
        let again = failed_at + pause(self.failures, jitter);
        tokio::select! {
            () = sleep_until(again) => (),
            () = self.clocks.jump() => (),
            changed = self.asked.changed() => if changed.is_err() { sleep_until(again).await },
            changed = self.moved.changed() => {
                let at_once = if changed.is_ok() { failed_at + REST } else { again };
                sleep_until(at_once.min(again)).await;
                self.moved.mark_unchanged();
            }
        }
    }

    /// Notes how it went: at once for whoever looks, on disk where it went otherwise than before or after a while.
    async fn note(&mut self, synced: &Result<Outcome, SyncError>) {
        let failed = synced.as_ref().err().map(|error| chain(error));
        match synced {
            Ok(outcome) => self.app.following().synced(&self.url, outcome),
            Err(_) => self.app.following().failed(&self.url, failed.as_deref().unwrap_or_default()),
        }
        if let Ok(Outcome { begun_anew: Some(begun), .. }) = synced {
            tracing::warn!(was = %begun.was, is = %begun.is, "this folder is a copy of another: it goes on as a new device");
        }
        let now_ms = edge::now_ms();
        if failed == self.failed && now_ms.saturating_sub(self.noted_ms) < NOTE_EVERY_MS {
            return;
        }
        if failed != self.failed {
            match &failed {
                Some(why) => tracing::warn!(url = self.url, why, "syncing fails"),
                None => tracing::info!(url = self.url, "syncing goes well"),
            }
        }
        (self.noted_ms, self.failed) = (now_ms, failed.clone());
        let (desk, url) = (Arc::clone(&self.desk), self.url.clone());
        let device = synced.as_ref().ok().map(|outcome| outcome.device);
        let noted = tokio::task::spawn_blocking(move || match device {
            Some(device) => desk.partner_synced(&url, device),
            None => desk.partner_failed(&url, &failed.unwrap_or_default()),
        });
        if let Ok(Err(error)) = noted.await {
            tracing::warn!(cause = chain(&error), "how syncing went cannot be noted");
        }
    }
}

/// Says what went wrong with files, and that nobody waits any longer for those that came.
fn tell_of_files(app: &App, url: &str, done: &Exchanged) {
    for hash in &done.fetched {
        app.file_arrived(hash);
    }
    for (hash, fault) in &done.wrong {
        tracing::warn!(url, file = hex::print(hash), why = chain(fault), "a file was not exchanged");
    }
    if let Some(stopped) = &done.stopped {
        tracing::warn!(url, why = chain(stopped), "the exchange of files stopped");
    }
}
