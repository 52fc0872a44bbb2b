//! Serving over a socket: accepting, waiting no longer than the limits say, and stopping in order.
//!
//! Order at the end: event streams are told and end, no new connection is taken, requests in flight go on for a
//! while, then the notebook is closed.

use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use storypole_desk::Desk;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio::task::JoinSet;
use tokio::time::{Instant, sleep, timeout};

use crate::routes::{Settings, router};
use crate::serving::{Serving, Told};
use crate::{App, Limits};

mod timed;

use timed::Timed;

/// Largest head of a request, bytes.
const HEAD_BYTES: usize = 64 << 10;

/// How long accepting rests after the system could not give a connection.
const REST: Duration = Duration::from_millis(100);

/// How it serves.
#[derive(Debug, Clone, Copy)]
pub struct Options {
    /// Where it listens; port 0 takes a free one.
    pub address: SocketAddr,
    /// What clients may ask.
    pub limits: Limits,
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
}

/// Why it does not serve.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The address can be reached from other computers.
    #[error(
        "{0} can be reached from other computers: until this program can speak TLS it serves this computer only: use 127.0.0.1"
    )]
    NotLoopback(SocketAddr),
    /// Another program listens there.
    #[error("another program listens at {0} already: stop it, or choose another port with --port")]
    InUse(SocketAddr),
    /// The system does not let it.
    #[error("{address} cannot be listened at: choose another port with --port")]
    NotAllowed { address: SocketAddr, source: io::Error },
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
    let listener = listen(options.address).await?;
    let address = listener.local_addr().map_err(|source| failed(options.address, source))?;
    let app = App::with(Arc::clone(&desk), options.limits);
    let key = app.access().issue_key();
    let url = format!("http://localhost:{}/#key={key}", address.port());
    let router = router(app.clone(), Settings { port: address.port() });
    let listening = Listening { address, key, url };
    let told = tell(&app, &desk, &listening);
    ready(&listening);
    let mut connections = Connections::new(options.limits);
    connections.accept(&listener, &router, stop).await;
    drop(told);
    app.hub().close();
    drop(listener);
    connections.end().await;
    close(app, router, desk, options.limits.grace).await;
    Ok(())
}

/// Tells commands on this computer where the server is. Without that they say that the folder is in use.
fn tell(app: &App, desk: &Desk, listening: &Listening) -> Option<Told> {
    let key = app.access().let_commands_in(desk.author());
    let url = listening.url.split("/#").next().unwrap_or_default().to_owned();
    let told = Serving { address: listening.address.to_string(), url, key, pin: None }.tell(desk.path());
    told.inspect_err(|error| tracing::warn!(%error, "commands on this computer will not find the server")).ok()
}

async fn listen(address: SocketAddr) -> Result<TcpListener, ServeError> {
    if !address.ip().is_loopback() {
        return Err(ServeError::NotLoopback(address));
    }
    TcpListener::bind(address).await.map_err(|source| failed(address, source))
}

fn failed(address: SocketAddr, source: io::Error) -> ServeError {
    match source.kind() {
        io::ErrorKind::AddrInUse => ServeError::InUse(address),
        _ => ServeError::NotAllowed { address, source },
    }
}

/// Waits until nobody asks the notebook any more, and closes it.
async fn close(app: App, router: Router, desk: Arc<Desk>, patience: Duration) {
    let left = app.left();
    drop((app, router));
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
}

impl Connections {
    fn new(limits: Limits) -> Self {
        let places = Arc::new(Semaphore::new(limits.connections));
        Self { limits, places, tasks: JoinSet::new(), ending: GracefulShutdown::new() }
    }

    /// Takes connections until `stop` comes.
    async fn accept(&mut self, listener: &TcpListener, router: &Router, stop: impl Future<Output = ()>) {
        let mut stop = std::pin::pin!(stop);
        loop {
            tokio::select! {
                biased;
                () = &mut stop => return,
                Some(_) = self.tasks.join_next(), if !self.tasks.is_empty() => (),
                accepted = accept(listener, &self.places) => match accepted {
                    Ok((stream, place)) => self.serve(stream, place, router.clone()),
                    Err(error) => {
                        tracing::warn!(%error, "a connection could not be taken");
                        // The system is short of something; asking at once again would only keep it so.
                        sleep(REST).await;
                    }
                },
            }
        }
    }

    fn serve(&mut self, stream: TcpStream, place: tokio::sync::OwnedSemaphorePermit, router: Router) {
        // Answers are written whole; waiting to fill a packet would only delay them.
        if let Err(error) = stream.set_nodelay(true) {
            tracing::debug!(%error, "a connection keeps its delay");
        }
        let io = TokioIo::new(Timed::new(stream, self.limits.answer_idle));
        let connection = http1::Builder::new()
            .timer(TokioTimer::new())
            .header_read_timeout(self.limits.head)
            .max_buf_size(HEAD_BYTES)
            .serve_connection(io, TowerToHyperService::new(router));
        let connection = self.ending.watch(connection);
        self.tasks.spawn(async move {
            if let Err(error) = connection.await {
                // Clients come and go; what was asked has its own line.
                tracing::debug!(%error, "a connection ended early");
            }
            drop(place);
        });
    }

    /// Lets requests in flight end, for a while.
    async fn end(mut self) {
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
