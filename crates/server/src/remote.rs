//! Another computer's server, asked over HTTPS: one address, its connections kept alive, its certificate checked.
//!
//! What is asked and what an answer means is for the caller, its status included. Left out on purpose: redirects (an
//! address that moves is written anew by a person), cookies, proxies (devices meet in a workshop's own network; a
//! proxy there is one more who could stand between), and HTTP/2.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use bytes::Bytes;
use http_body_util::{BodyExt, Full};
use hyper::body::{Body, Incoming};
use hyper::client::conn::http1::SendRequest;
use hyper::{Request, Response};
use rustls::ClientConfig;
use tokio::time::timeout;

mod address;
mod dial;
mod error;
mod trust;

pub use error::RemoteError;
pub use trust::Trust;

use address::Address;

/// Connections that rest at most, waiting for the next question.
const RESTING: usize = 4;

/// How long a connection may take to be free again once its answer is here.
const SETTLING: Duration = Duration::from_millis(250);

/// How long nothing may move before an answer begins, where the caller does not say.
const PATIENCE: Duration = Duration::from_secs(30);

/// How much of an answer is taken, and how long it is waited for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AskLimits {
    /// Largest body of an answer, bytes.
    pub answer_bytes: usize,
    /// How long nothing may move in either direction: a slow network is waited for, a silent one is not.
    pub patience: Duration,
}

/// One address. Cheap to clone; clones share their connections.
#[derive(Clone)]
pub struct Remote {
    inner: Arc<Inner>,
}

struct Inner {
    address: Address,
    /// None over plain HTTP, within this computer.
    tls: Option<Arc<ClientConfig>>,
    resting: Mutex<Vec<Line>>,
    seen: Mutex<Option<[u8; 32]>>,
}

/// One open connection.
struct Line {
    sender: SendRequest<Full<Bytes>>,
    /// Bytes that went in either direction so far.
    moved: Arc<AtomicU64>,
}

impl Remote {
    /// Takes an address: `https://host[:port]`, or `http://` to this computer itself. Asks nothing yet.
    ///
    /// # Errors
    /// It is no such address, or this computer knows no certificate authorities.
    pub fn new(url: &str, trust: Trust) -> Result<Self, RemoteError> {
        let address = Address::parse(url)?;
        let tls = if address.is_secure { Some(trust::config(&trust, &address)?) } else { None };
        let inner = Inner { address, tls, resting: Mutex::default(), seen: Mutex::default() };
        Ok(Self { inner: Arc::new(inner) })
    }

    /// Asks for a path, and takes the whole answer, whatever its status.
    ///
    /// Of the request's address only path and query are used. A question that is repeatable by its method (RFC 9110
    /// section 9.2.2) is sent again once where a connection that had rested turns out to be gone.
    ///
    /// # Errors
    /// No answer, a larger one than allowed, or one from somebody else.
    pub async fn ask(
        &self,
        request: Request<Full<Bytes>>,
        limits: AskLimits,
    ) -> Result<Response<Bytes>, RemoteError> {
        let (mut line, response) = self.send(request, limits.patience).await?;
        let (parts, body) = response.into_parts();
        let body = self.watched(limits.patience, &line.moved, self.take(body, limits.answer_bytes)).await??;
        // A connection that is to be closed never gets free; the answer does not wait for it.
        if let Ok(Ok(())) = timeout(SETTLING, line.sender.ready()).await {
            self.rest(line);
        }
        Ok(Response::from_parts(parts, body))
    }

    /// Asks for a path, and gives the answer as it comes. How long its body is waited for is the caller's to say.
    ///
    /// # Errors
    /// No answer, or one from somebody else.
    pub async fn stream(&self, request: Request<Full<Bytes>>) -> Result<Response<Incoming>, RemoteError> {
        let (line, response) = self.send(request, PATIENCE).await?;
        // Free again once the body was read to its end; until then it is passed over.
        self.rest(line);
        Ok(response)
    }

    /// SHA-256 of the certificate that the other end itself showed on the last connection; none before the first.
    pub fn seen_certificate(&self) -> Option<[u8; 32]> {
        *lock(&self.inner.seen)
    }

    /// The address as it was given, without a path.
    pub fn url(&self) -> &str {
        &self.inner.address.url
    }

    /// Sends a request and waits for the head of its answer.
    async fn send(
        &self,
        request: Request<Full<Bytes>>,
        patience: Duration,
    ) -> Result<(Line, Response<Incoming>), RemoteError> {
        let request = self.inner.address.direct(request)?;
        if let Some(mut line) = self.rested() {
            let is_repeatable = request.method().is_idempotent();
            let sent = line.sender.try_send_request(request.clone());
            match self.watched(patience, &line.moved, sent).await? {
                Ok(response) => return Ok((line, response)),
                Err(mut error) => {
                    // The other end may close a connection that rests just when it is wanted again.
                    if error.take_message().is_none() && !is_repeatable {
                        return Err(self.cut_off(error.into_error()));
                    }
                }
            }
        }
        let mut line = self.dial(patience).await?;
        let sent = line.sender.send_request(request);
        let response = self.watched(patience, &line.moved, sent).await?;
        response.map(|response| (line, response)).map_err(|error| self.cut_off(error))
    }

    async fn dial(&self, patience: Duration) -> Result<Line, RemoteError> {
        let dialled = dial::dial(&self.inner.address, self.inner.tls.as_ref(), patience).await?;
        if let Some(seen) = dialled.seen {
            *lock(&self.inner.seen) = Some(seen);
        }
        Ok(Line { sender: dialled.sender, moved: dialled.moved })
    }

    /// Takes a body, as long as it is no larger than allowed.
    async fn take(&self, mut body: Incoming, most_bytes: usize) -> Result<Bytes, RemoteError> {
        let too_large = || RemoteError::TooLarge { url: self.url().to_owned(), most_bytes };
        if body.size_hint().lower() > most_bytes as u64 {
            return Err(too_large());
        }
        let mut taken = Vec::new();
        while let Some(frame) = body.frame().await {
            let Ok(piece) = frame.map_err(|error| self.cut_off(error))?.into_data() else { continue };
            if taken.len() + piece.len() > most_bytes {
                return Err(too_large());
            }
            taken.extend_from_slice(&piece);
        }
        Ok(taken.into())
    }

    /// Waits for work as long as bytes move.
    async fn watched<T>(
        &self,
        patience: Duration,
        moved: &AtomicU64,
        work: impl Future<Output = T>,
    ) -> Result<T, RemoteError> {
        let mut work = std::pin::pin!(work);
        let mut before = moved.load(Ordering::Relaxed);
        loop {
            if let Ok(done) = timeout(patience, work.as_mut()).await {
                return Ok(done);
            }
            let now = moved.load(Ordering::Relaxed);
            if now == before {
                return Err(RemoteError::Silent { url: self.url().to_owned(), patience });
            }
            before = now;
        }
    }

    fn rested(&self) -> Option<Line> {
        let mut resting = lock(&self.inner.resting);
        resting.retain(|line| !line.sender.is_closed());
        let free = resting.iter().rposition(|line| line.sender.is_ready())?;
        Some(resting.swap_remove(free))
    }

    fn rest(&self, line: Line) {
        let mut resting = lock(&self.inner.resting);
        resting.retain(|line| !line.sender.is_closed());
        if resting.len() < RESTING {
            resting.push(line);
        }
    }

    fn cut_off(&self, source: hyper::Error) -> RemoteError {
        let url = self.url().to_owned();
        if source.is_parse() {
            RemoteError::NotHttp { url, source }
        } else {
            RemoteError::CutOff { url, source }
        }
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
