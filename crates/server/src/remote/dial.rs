//! Reaching another computer: its name, a connection, its certificate.

use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::task::{Context, Poll};
use std::time::Duration;

use bytes::Bytes;
use http_body_util::Full;
use hyper::client::conn::http1::{self, SendRequest};
use hyper_util::rt::TokioIo;
use rustls::{CertificateError, ClientConfig};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpStream, lookup_host};
use tokio::time::timeout;
use tokio_rustls::TlsConnector;

use super::RemoteError;
use super::address::Address;
use crate::tls::sha256;

/// Addresses of one name that are tried; a name with more is odd.
const TRIED: usize = 8;

/// A connection that was made.
pub struct Dialled {
    pub sender: SendRequest<Full<Bytes>>,
    /// Bytes that went in either direction so far.
    pub moved: Arc<AtomicU64>,
    /// SHA-256 of the certificate that was shown; none over plain HTTP.
    pub seen: Option<[u8; 32]>,
}

/// Connects, and checks the certificate where there is one. Each step is waited for no longer than `patience`.
pub async fn dial(
    address: &Address,
    tls: Option<&Arc<ClientConfig>>,
    patience: Duration,
) -> Result<Dialled, RemoteError> {
    let stream = connect(address, patience).await?;
    let moved = Arc::clone(&stream.moved);
    let silent = |_| RemoteError::Silent { url: address.url.clone(), patience };
    let Some(tls) = tls else {
        return Ok(Dialled { sender: speak(address, stream).await?, moved, seen: None });
    };
    let connector = TlsConnector::from(Arc::clone(tls));
    let secured = timeout(patience, connector.connect(address.name.clone(), stream)).await.map_err(silent)?;
    let stream = secured.map_err(|error| judged(address, error))?;
    let shown = stream.get_ref().1.peer_certificates().and_then(<[_]>::first).map(|leaf| sha256(leaf));
    Ok(Dialled { sender: speak(address, stream).await?, moved, seen: shown })
}

/// Tries the addresses of a name one after the other.
async fn connect(address: &Address, patience: Duration) -> Result<Counted, RemoteError> {
    let url = || address.url.clone();
    let unknown = |source| RemoteError::NoSuchHost { host: address.host.clone(), source };
    let silent = |_| RemoteError::Silent { url: url(), patience };
    let found =
        timeout(patience, lookup_host((address.host.as_str(), address.port))).await.map_err(silent)?;
    let mut failed = RemoteError::Silent { url: url(), patience };
    let mut any = false;
    for socket in found.map_err(unknown)?.take(TRIED) {
        any = true;
        match timeout(patience, reach(socket)).await {
            Ok(Ok(stream)) => return Ok(Counted { stream, moved: Arc::default() }),
            Ok(Err(source)) => failed = RemoteError::NotReached { url: url(), source },
            Err(_) => (),
        }
    }
    if any { Err(failed) } else { Err(unknown(io::ErrorKind::NotFound.into())) }
}

async fn reach(socket: SocketAddr) -> io::Result<TcpStream> {
    let stream = TcpStream::connect(socket).await?;
    stream.set_nodelay(true)?;
    Ok(stream)
}

async fn speak<S: AsyncRead + AsyncWrite + Unpin + Send + 'static>(
    address: &Address,
    stream: S,
) -> Result<SendRequest<Full<Bytes>>, RemoteError> {
    let cut_off = |source| RemoteError::CutOff { url: address.url.clone(), source };
    let (sender, connection) = http1::handshake(TokioIo::new(stream)).await.map_err(cut_off)?;
    tokio::spawn(async move {
        if let Err(error) = connection.await {
            // Whoever waits for an answer is told; a connection that rested may end as it likes.
            tracing::debug!(%error, "a connection to another server ended early");
        }
    });
    Ok(sender)
}

/// What a handshake that failed means.
fn judged(address: &Address, error: io::Error) -> RemoteError {
    use rustls::Error as Tls;
    let url = address.url.clone();
    let Some(source) = error.get_ref().and_then(|inner| inner.downcast_ref::<Tls>()).cloned() else {
        return RemoteError::Handshake { url, source: error };
    };
    match &source {
        Tls::InvalidMessage(_) => RemoteError::NotTls(url),
        Tls::InvalidCertificate(CertificateError::ApplicationVerificationFailure) => {
            RemoteError::OtherCertificate { url, source }
        }
        Tls::InvalidCertificate(
            CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. },
        ) => RemoteError::WrongName { url, host: address.host.clone(), source },
        Tls::InvalidCertificate(
            CertificateError::Expired
            | CertificateError::ExpiredContext { .. }
            | CertificateError::NotValidYet
            | CertificateError::NotValidYetContext { .. },
        ) => RemoteError::OutOfDate { url, source },
        Tls::InvalidCertificate(_) => RemoteError::NotTrusted { url, source },
        _ => RemoteError::Handshake { url, source: error },
    }
}

/// A connection that counts what moves.
struct Counted {
    stream: TcpStream,
    moved: Arc<AtomicU64>,
}

impl Counted {
    fn count(&self, bytes: usize) {
        self.moved.fetch_add(bytes as u64, Ordering::Relaxed);
    }
}

impl AsyncRead for Counted {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let before = into.filled().len();
        let read = Pin::new(&mut self.stream).poll_read(context, into);
        self.count(into.filled().len() - before);
        read
    }
}

impl AsyncWrite for Counted {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let written = Pin::new(&mut self.stream).poll_write(context, bytes);
        if let Poll::Ready(Ok(count)) = written {
            self.count(count);
        }
        written
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(error: rustls::Error) -> String {
        let address = Address::parse("https://box.example:8417").unwrap();
        judged(&address, io::Error::new(io::ErrorKind::InvalidData, error)).to_string()
    }

    #[test]
    fn each_refusal_says_what_to_do() {
        use CertificateError as Bad;
        use rustls::Error as Tls;
        for (error, expected) in [
            (Tls::InvalidCertificate(Bad::ApplicationVerificationFailure), "join again"),
            (Tls::InvalidCertificate(Bad::NotValidForName), "serve it with --name box.example"),
            (Tls::InvalidCertificate(Bad::Expired), "check date and time on both computers"),
            (Tls::InvalidCertificate(Bad::NotValidYet), "check date and time on both computers"),
            (Tls::InvalidCertificate(Bad::UnknownIssuer), "join it with a code"),
            (Tls::InvalidMessage(rustls::InvalidMessage::InvalidContentType), "check its port"),
            (Tls::HandshakeNotComplete, "a recent version"),
        ] {
            let said = said(error.clone());
            assert!(said.contains(expected), "{error:?}: {said}");
        }
    }
}
