//! What stands behind the socket: TLS where there is something to show, and what then asks.
//!
//! One port takes both: the first byte tells a greeting of TLS from anything else (RFC 8446 section 5.1). Whoever
//! speaks plain HTTP there is told the address that is meant, and nothing of the notebook.

use std::io;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::Watcher;
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpStream;
use tokio::sync::watch;
use tokio::time::timeout;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::server::TlsStream;

use super::timed::Timed;
use crate::Limits;

/// Largest head of a request, bytes.
const HEAD_BYTES: usize = 64 << 10;

/// First byte of a handshake of TLS (RFC 8446 section 5.1).
const HANDSHAKE: u8 = 22;

/// Serves connections, one at a time; cloned for each.
#[derive(Clone)]
pub struct Door {
    pub limits: Limits,
    /// What answers.
    pub router: Router,
    /// TLS, and what answers to those who speak plain HTTP nevertheless.
    pub secure: Option<(TlsAcceptor, Router)>,
}

/// A connection that has begun.
enum Begun {
    Plain(Timed),
    Tls(Box<TlsStream<Timed>>),
}

impl Door {
    /// Serves one connection to its end. One whose handshake is not done when `ending` comes is given up.
    pub async fn serve(self, stream: TcpStream, watcher: Watcher, mut ending: watch::Receiver<bool>) {
        // Answers are written whole; waiting to fill a packet would only delay them.
        if let Err(error) = stream.set_nodelay(true) {
            tracing::debug!(%error, "a connection keeps its delay");
        }
        let Some((acceptor, plain)) = self.secure.as_ref() else {
            let stream = Timed::new(stream, self.limits.answer_idle);
            return self.speak(stream, &self.router, watcher).await;
        };
        let begun = tokio::select! {
            begun = timeout(self.limits.head, self.begin(stream, acceptor)) => begun,
            _ = ending.wait_for(|is_ending| *is_ending) => return,
        };
        match begun {
            Ok(Ok(Begun::Tls(stream))) => self.speak(*stream, &self.router, watcher).await,
            Ok(Ok(Begun::Plain(stream))) => self.speak(stream, plain, watcher).await,
            Ok(Err(error)) => tracing::debug!(%error, "a handshake failed"),
            Err(_) => tracing::debug!("a handshake took too long"),
        }
    }

    async fn begin(&self, stream: TcpStream, acceptor: &TlsAcceptor) -> io::Result<Begun> {
        let mut first = [0];
        // Nothing at all is the end of the connection.
        if stream.peek(&mut first).await? == 0 {
            return Err(io::ErrorKind::UnexpectedEof.into());
        }
        let stream = Timed::new(stream, self.limits.answer_idle);
        if first[0] != HANDSHAKE {
            return Ok(Begun::Plain(stream));
        }
        acceptor.accept(stream).await.map(|stream| Begun::Tls(Box::new(stream)))
    }

    async fn speak<S>(&self, stream: S, router: &Router, watcher: Watcher)
    where
        S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
    {
        let connection = http1::Builder::new()
            .timer(TokioTimer::new())
            .header_read_timeout(self.limits.head)
            .max_buf_size(HEAD_BYTES)
            .serve_connection(TokioIo::new(stream), TowerToHyperService::new(router.clone()));
        if let Err(error) = watcher.watch(connection).await {
            // Clients come and go; what was asked has its own line.
            tracing::debug!(%error, "a connection ended early");
        }
    }
}
