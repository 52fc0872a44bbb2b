//! Serving over a socket: accepting, waiting no longer than the limits say, and stopping in order.
//!
//! Order at the end: event streams are told and end, no new connection is taken, requests in flight go on for a
//! while, then the notebook is closed.

use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use hyper_util::server::graceful::GracefulShutdown;
use storypole_desk::{Desk, edge};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};
use tokio::task::{AbortHandle, JoinSet};
use tokio::time::{Instant, MissedTickBehavior, interval, sleep, timeout};
use tokio_rustls::TlsAcceptor;

use crate::access::Hosts;
use crate::backups::{Plan, keep_making};
use crate::routes::{Settings, router};
use crate::serving::{Serving, Told};
use crate::tls::{self, Place, Secured, Tls, TlsError};
use crate::{App, Limits, follow, hex, plainly, trust};

mod door;
mod timed;

use door::Door;

/// How long accepting rests after the system could not give a connection.
const REST: Duration = Duration::from_millis(100);

/// How it serves.
#[derive(Debug, Clone)]
pub struct Options {
    /// Where it listens; port 0 takes a free one.
    pub address: SocketAddr,
    /// What clients may ask.
    pub limits: Limits,
    /// How it is secured; off loopback it must be.
    pub tls: Tls,
    /// Backups that are made by themselves, if any.
    pub backups: Option<Plan>,
}

/// A server that listens.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listening {
    /// Where, with the port that was taken.
    pub address: SocketAddr,
    /// The key that lets one browser in, once.
    pub key: String,
    /// The address with the key, to be opened by that browser.
    pub url: String,
    /// What others may know it by, where TLS is spoken.
    pub shown: Option<ShownTo>,
}

/// How other devices come to trust a server.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShownTo {
    /// The server's address for other devices.
    pub url: String,
    /// SHA-256 of the certificate to pin: the authority's where it is built in, else the server's own.
    pub pin: [u8; 32],
    /// The page that helps a phone to trust the built-in authority; none with a certificate of the owner's.
    pub trust_url: Option<String>,
}

impl ShownTo {
    /// The pinned certificate's fingerprint, as systems show it.
    pub fn fingerprint(&self) -> String {
        tls::fingerprint(&self.pin)
    }
}

/// Why it does not serve.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The address can be reached from other computers.
    #[error(
        "{0} can be reached from other computers, which are not served without TLS: use 127.0.0.1, or secure it"
    )]
    NotLoopback(SocketAddr),
    /// Another program listens there.
    #[error("another program listens at {0} already: stop it, or choose another port with --port")]
    InUse(SocketAddr),
    /// The system does not let it.
    #[error("{address} cannot be listened at: choose another port with --port")]
    NotAllowed { address: SocketAddr, source: io::Error },
    /// There is no certificate to show.
    #[error("the server cannot be secured")]
    NotSecured { source: TlsError },
}

/// Serves until `stop` comes. `ready` is told where, once connections are taken.
///
/// # Errors
/// It cannot listen there. What happens to single requests is told to their clients and the log.
pub async fn serve(
    desk: Arc<Desk>,
    options: Options,
    ready: impl FnOnce(&Listening),
    stop: impl Future<Output = ()>,
) -> Result<(), ServeError> {
    if options.tls == Tls::None && !options.address.ip().is_loopback() {
        return Err(ServeError::NotLoopback(options.address));
    }
    let (asked, limits) = (options.address, options.limits);
    let listener = TcpListener::bind(asked).await.map_err(|source| failed(asked, source))?;
    let address = listener.local_addr().map_err(|source| failed(asked, source))?;
    let secured = secure(Arc::clone(&desk), options.tls, address).await?;
    let app = App::secured(Arc::clone(&desk), limits, secured.clone());
    let listening = listening(&app, address);
    let door = door(&app, address.port());
    let looking = secured.map(|secured| look_after(secured, limits));
    if let Some(plan) = options.backups {
        app.backups().follow(plan);
    }
    let backups = Arc::clone(app.backups());
    let making = tokio::spawn(keep_making(app.clone()));
    let told = tell(&app, &desk, &listening);
    ready(&listening);
    let following = follow::start(&app, &desk);
    let mut connections = Connections::new(limits);
    connections.accept(&listener, &door, stop).await;
    drop(told);
    app.hub().close();
    drop(listener);
    connections.end().await;
    let stopped = following.abort_handle();
    if timeout(limits.grace, following).await.is_err() {
        tracing::warn!("syncing was given up");
        stopped.abort();
    }
    if let Some(looking) = looking {
        looking.abort();
    }
    backups.stop();
    if making.await.is_err() {
        tracing::error!("the making of backups ended by a fault of the program");
    }
    close(app, door, desk, limits.grace).await;
    Ok(())
}

/// Tells commands on this computer where the server is. Without that they say that the folder is in use.
fn tell(app: &App, desk: &Desk, listening: &Listening) -> Option<Told> {
    let key = app.access().let_commands_in(desk.author());
    let url = listening.url.split("/#").next().unwrap_or_default().to_owned();
    let pin = listening.shown.as_ref().map(|shown| hex::print(&shown.pin));
    let told = Serving { address: listening.address.to_string(), url, key, pin }.tell(desk.path());
    told.inspect_err(|error| tracing::warn!(%error, "commands on this computer will not find the server"))
        .ok()
}

fn failed(address: SocketAddr, source: io::Error) -> ServeError {
    match source.kind() {
        io::ErrorKind::AddrInUse => ServeError::InUse(address),
        _ => ServeError::NotAllowed { address, source },
    }
}

/// Makes or reads certificates, which waits for the disk.
async fn secure(desk: Arc<Desk>, tls: Tls, address: SocketAddr) -> Result<Option<Arc<Secured>>, ServeError> {
    let opened = tokio::task::spawn_blocking(move || {
        let label = label(&desk);
        let place = Place { folder: desk.path(), label: &label, listens_at: address.ip() };
        Secured::open(&tls, place, now_s())
    });
    let opened = opened.await.expect("making a certificate does not panic and is not cancelled");
    opened.map_err(|source| ServeError::NotSecured { source })
}

/// What the authority is called by: the computer, and digits that tell notebooks apart. Anyone may read it, so it
/// says nothing of the notebook.
fn label(desk: &Desk) -> String {
    let id = desk.notebook().to_string();
    let host = tls::host_name().map(|name| name.host()).unwrap_or_else(|| "this computer".to_owned());
    format!("{host} {}", &id[id.len() - 8..])
}

fn now_s() -> i64 {
    i64::try_from(edge::now_ms() / 1000).unwrap_or(i64::MAX)
}

fn listening(app: &App, address: SocketAddr) -> Listening {
    let key = app.access().issue_key();
    let port = address.port();
    let Some(secured) = app.tls() else {
        let url = format!("http://localhost:{port}/#key={key}");
        return Listening { address, key, url, shown: None };
    };
    let url = format!("https://{}:{port}/#key={key}", secured.near_host());
    let trust_url = secured.ca().map(|_| trust::url(secured, port));
    let pin = secured.ca().map_or_else(|| secured.leaf(), |ca| ca.hash);
    let far_url = format!("https://{}:{port}", secured.far_host());
    Listening { address, key, url, shown: Some(ShownTo { url: far_url, pin, trust_url }) }
}

fn door(app: &App, port: u16) -> Door {
    let secure = app.tls().map(|secured| {
        let hosts = Hosts::plainly(port, Arc::clone(secured));
        (TlsAcceptor::from(secured.config()), plainly::router(app.clone(), hosts))
    });
    Door { limits: *app.limits(), router: router(app.clone(), Settings { port }), secure }
}

/// Keeps the certificate good while it is shown.
fn look_after(secured: Arc<Secured>, limits: Limits) -> AbortHandle {
    let looking = tokio::spawn(async move {
        let mut ticks = interval(limits.renewal);
        ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
        // The first tick comes at once, and what is shown was just looked at.
        ticks.tick().await;
        loop {
            ticks.tick().await;
            let secured = Arc::clone(&secured);
            let looked = tokio::task::spawn_blocking(move || secured.look_after(now_s()));
            if looked.await.is_err() {
                tracing::error!("looking after the certificate failed");
            }
        }
    });
    looking.abort_handle()
}

/// Waits until nobody asks the notebook any more, and closes it.
async fn close(app: App, door: Door, desk: Arc<Desk>, patience: Duration) {
    let left = app.left();
    drop((app, door));
    let until = Instant::now() + patience;
    while !left.is_over() && Instant::now() < until {
        sleep(Duration::from_millis(5)).await;
    }
    if !left.is_over() {
        tracing::warn!("something still asks the notebook while it closes");
    }
    // Closing waits for the disk.
    if tokio::task::spawn_blocking(move || drop(desk)).await.is_err() {
        tracing::error!("the notebook could not be closed in order");
    }
}

/// The open connections.
struct Connections {
    limits: Limits,
    places: Arc<Semaphore>,
    tasks: JoinSet<()>,
    ending: GracefulShutdown,
    /// Tells those that have not asked anything yet.
    is_ending: watch::Sender<bool>,
}

impl Connections {
    fn new(limits: Limits) -> Self {
        let places = Arc::new(Semaphore::new(limits.connections));
        let is_ending = watch::Sender::new(false);
        Self { limits, places, tasks: JoinSet::new(), ending: GracefulShutdown::new(), is_ending }
    }

    /// Takes connections until `stop` comes.
    async fn accept(&mut self, listener: &TcpListener, door: &Door, stop: impl Future<Output = ()>) {
        let mut stop = std::pin::pin!(stop);
        loop {
            tokio::select! {
                biased;
                () = &mut stop => return,
                Some(_) = self.tasks.join_next(), if !self.tasks.is_empty() => (),
                accepted = accept(listener, &self.places) => match accepted {
                    Ok((stream, place)) => self.serve(stream, place, door.clone()),
                    Err(error) => {
                        tracing::warn!(%error, "a connection could not be taken");
                        // The system is short of something; asking at once again would only keep it so.
                        sleep(REST).await;
                    }
                },
            }
        }
    }

    /// Serves a connection; it keeps its place from the first byte of a handshake on.
    fn serve(&mut self, stream: TcpStream, place: tokio::sync::OwnedSemaphorePermit, door: Door) {
        let (watcher, ending) = (self.ending.watcher(), self.is_ending.subscribe());
        self.tasks.spawn(async move {
            door.serve(stream, watcher, ending).await;
            drop(place);
        });
    }

    /// Lets requests in flight end, for a while.
    async fn end(mut self) {
        self.is_ending.send_replace(true);
        if timeout(self.limits.grace, self.ending.shutdown()).await.is_err() {
            tracing::warn!("requests in flight were given up");
        }
        self.tasks.shutdown().await;
    }
}

async fn accept(
    listener: &TcpListener,
    places: &Arc<Semaphore>,
) -> io::Result<(TcpStream, tokio::sync::OwnedSemaphorePermit)> {
    let place = Arc::clone(places).acquire_owned().await.map_err(io::Error::other)?;
    let (stream, _) = listener.accept().await?;
    Ok((stream, place))
}
