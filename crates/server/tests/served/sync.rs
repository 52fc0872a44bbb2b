//! Syncing over a real socket: two or more notebooks in folders of their own, each served where it is asked.

use std::sync::Arc;

use storypole_desk::desk::Joining;
use storypole_desk::{Desk, edge};
use storypole_journal::{DeviceId, Role};
use storypole_notebook::Value;
use storypole_server::conversation::Tally;
use storypole_server::partner::{Outcome, Partner, SyncError, sync_once};
use storypole_server::remote::{Remote, Trust};
use storypole_server::tls::Tls;
use storypole_server::{Limits, Listening, Options, ServeError, serve};
use tempfile::TempDir;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

use crate::asked::{AT, found};

mod answers;
mod devices;
mod ends;
mod follow;

/// A notebook being served on a port of its own.
pub struct There {
    pub desk: Arc<Desk>,
    pub url: String,
    stop: oneshot::Sender<()>,
    ended: JoinHandle<Result<(), ServeError>>,
}

impl There {
    pub async fn serve(desk: Arc<Desk>) -> Self {
        Self::serve_at(desk, 0).await
    }

    pub async fn serve_at(desk: Arc<Desk>, port: u16) -> Self {
        let (stop, stopped) = oneshot::channel();
        let (told, listening) = oneshot::channel();
        let address = std::net::SocketAddr::from(([127, 0, 0, 1], port));
        let options = Options { address, limits: Limits::default(), tls: Tls::None, backups: None };
        let served = Arc::clone(&desk);
        let ended = tokio::spawn(async move {
            let ready = |listening: &Listening| told.send(listening.clone()).unwrap();
            serve(served, options, ready, async { stopped.await.unwrap_or_default() }).await
        });
        let url = format!("http://{}", listening.await.unwrap().address);
        Self { desk, url, stop, ended }
    }

    pub fn remote(&self) -> Remote {
        Remote::new(&self.url, Trust::Loopback).unwrap()
    }

    /// Stops it in order; its desk stays open for whoever else holds it.
    pub async fn stop(self) {
        self.stop.send(()).unwrap();
        self.ended.await.unwrap().unwrap();
    }
}

/// A notebook at its first device.
pub fn first(folder: &TempDir) -> Arc<Desk> {
    Arc::new(found(&folder.path().join("first")))
}

/// A copy in a folder of this name, let in by a keeper; it holds nothing yet.
pub fn join(folder: &TempDir, name: &str, keeper: &Desk, role: Role) -> Arc<Desk> {
    let desk = stranger(folder, name, keeper);
    keeper.invite(desk.device(), desk.public_key().unwrap(), role, AT).unwrap();
    desk
}

/// A copy that nobody let in.
pub fn stranger(folder: &TempDir, name: &str, of: &Desk) -> Arc<Desk> {
    let founder_key = of.read(storypole_store::Reader::founder_key).unwrap();
    let joining = Joining { notebook: of.notebook(), founder_key, author: of.author() };
    Arc::new(Desk::join(&folder.path().join(name), &joining).unwrap())
}

/// Writes sites, one draft each.
pub fn write(desk: &Desk, names: std::ops::Range<usize>) {
    let drafts = names.map(|number| {
        let mut compose = desk.compose(AT);
        let name = Value::Text(format!("Site {number}"));
        compose.set(edge::record_id(), "site", "name", &name).unwrap();
        compose.finish()
    });
    for taken in desk.take_all(drafts.collect()).unwrap() {
        taken.unwrap();
    }
}

pub fn sites(desk: &Desk) -> usize {
    desk.book().unwrap().sites.len()
}

pub async fn sync(desk: &Arc<Desk>, there: &There) -> Result<Outcome, SyncError> {
    sync_once(desk, &there.remote(), |_| ()).await
}

/// Both hold the same log and show the same.
#[track_caller]
pub fn are_equal(one: &Desk, other: &Desk) {
    let (one, other) = (one.digest().unwrap(), other.digest().unwrap());
    assert_eq!((one.log, one.tables), (other.log, other.tables));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_new_copy_gets_all_and_then_what_is_new_both_ways() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    write(&there.desk, 0..50);
    let here = join(&folder, "here", &there.desk, Role::Crew);
    let mut heard: Vec<Tally> = Vec::new();
    let outcome = sync_once(&here, &there.remote(), |tally| heard.push(tally)).await.unwrap();
    assert_eq!((outcome.tally.taken, outcome.tally.sent, outcome.device), (52, 0, there.desk.device()));
    assert_eq!((outcome.tally.to_take, outcome.tally.to_send), (Some(52), Some(0)));
    assert!(heard.windows(2).all(|two| two[0].taken <= two[1].taken), "{heard:?}");
    assert_eq!(outcome.forked, Vec::<DeviceId>::new());
    are_equal(&here, &there.desk);
    assert_eq!(outcome.held, here.read(storypole_store::Reader::vector).unwrap());

    let mut partner = Partner::new(Arc::clone(&here), there.remote());
    write(&here, 50..53);
    write(&there.desk, 53..55);
    let outcome = partner.sync(|_| ()).await.unwrap();
    assert_eq!((outcome.tally.taken, outcome.tally.sent), (2, 3));
    assert!(outcome.clock_ahead_ms.abs() < 60_000, "one computer has one clock");
    are_equal(&here, &there.desk);
    // Everything twice.
    let outcome = partner.sync(|_| ()).await.unwrap();
    assert_eq!((outcome.tally.taken, outcome.tally.sent), (0, 0));
    assert_eq!(sites(&here), 55);
    there.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_one_wrote_comes_to_the_third_through_the_second() {
    let folder = tempfile::tempdir().unwrap();
    let one = There::serve(first(&folder)).await;
    let second = join(&folder, "second", &one.desk, Role::Keeper);
    sync(&second, &one).await.unwrap();
    let two = There::serve(second).await;
    let third = join(&folder, "third", &two.desk, Role::Crew);
    sync(&third, &two).await.unwrap();
    write(&third, 0..3);
    write(&one.desk, 3..5);
    sync(&third, &two).await.unwrap();
    sync(&two.desk, &one).await.unwrap();
    sync(&third, &two).await.unwrap();
    are_equal(&one.desk, &two.desk);
    are_equal(&two.desk, &third);
    assert_eq!(sites(&one.desk), 5);
    // The first has never met the third, and lets it in: its invitation came along.
    assert_eq!(sync(&third, &one).await.unwrap().tally.taken, 0);
    one.stop().await;
    two.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_a_viewer_wrote_is_taken_and_does_not_count() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    let here = join(&folder, "here", &there.desk, Role::Viewer);
    write(&there.desk, 0..2);
    sync(&here, &there).await.unwrap();
    assert_eq!(sites(&here), 2);
    are_equal(&here, &there.desk);
    there.stop().await;
}
