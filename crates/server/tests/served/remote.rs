//! Asking another server: over TLS with a throw-away authority, and over bare sockets where it must misbehave.

use std::convert::Infallible;
use std::io::{BufRead, BufReader, Write};
use std::net::{SocketAddr, TcpStream};
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::task::{Context, Poll};
use std::time::Duration;

use axum::Router;
use axum::body::{Body, Bytes};
use axum::http::{HeaderMap, Request};
use axum::routing::{get, post};
use http_body_util::{BodyExt, Full};
use hyper::body::Frame;
use hyper_util::rt::TokioIo;
use hyper_util::service::TowerToHyperService;
use rcgen::{BasicConstraints, CertificateParams, CertifiedIssuer, IsCa, KeyPair};
use rustls::ServerConfig;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use storypole_server::tls::sha256;
use storypole_server::{AskLimits, Remote, RemoteError, Trust};
use tokio::net::TcpListener;
use tokio_rustls::TlsAcceptor;

const LIMITS: AskLimits = AskLimits { answer_bytes: 1000, patience: Duration::from_secs(20) };

/// A patience that is meant to run out.
const SHORT: AskLimits = AskLimits { answer_bytes: 1000, patience: Duration::from_millis(100) };

/// A server with a certificate of a throw-away authority.
struct Other {
    address: SocketAddr,
    ca: [u8; 32],
    leaf: [u8; 32],
    connections: Arc<AtomicUsize>,
}

impl Other {
    async fn start(names: &[&str]) -> Self {
        let mut params = CertificateParams::default();
        params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
        let ca = CertifiedIssuer::self_signed(params, KeyPair::generate().unwrap()).unwrap();
        let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
        let key = KeyPair::generate().unwrap();
        let leaf = CertificateParams::new(names).unwrap().signed_by(&key, &ca).unwrap();
        let chain = vec![leaf.der().clone(), ca.der().clone()];
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let (address, connections) = (listener.local_addr().unwrap(), Arc::new(AtomicUsize::new(0)));
        let other = Self {
            address,
            ca: sha256(ca.der()),
            leaf: sha256(leaf.der()),
            connections: connections.clone(),
        };
        let acceptor = acceptor(chain, key);
        tokio::spawn(async move {
            while let Ok((stream, _)) = listener.accept().await {
                connections.fetch_add(1, Ordering::Relaxed);
                let acceptor = acceptor.clone();
                tokio::spawn(async move {
                    // A client that does not believe the certificate ends the handshake.
                    let Ok(stream) = acceptor.accept(stream).await else { return };
                    let service = TowerToHyperService::new(routes());
                    let connection = hyper::server::conn::http1::Builder::new();
                    let _ = connection.serve_connection(TokioIo::new(stream), service).await;
                });
            }
        });
        other
    }

    fn url(&self) -> String {
        format!("https://{}", self.address)
    }

    fn connections(&self) -> usize {
        self.connections.load(Ordering::Relaxed)
    }
}

fn acceptor(chain: Vec<CertificateDer<'static>>, key: KeyPair) -> TlsAcceptor {
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    let config = ServerConfig::builder_with_provider(provider).with_safe_default_protocol_versions().unwrap();
    let key = PrivateKeyDer::try_from(key.serialize_der()).unwrap();
    TlsAcceptor::from(Arc::new(config.with_no_client_auth().with_single_cert(chain, key).unwrap()))
}

fn routes() -> Router {
    Router::new()
        .route("/hello", get(|head: HeaderMap| async move { head["host"].to_str().unwrap().to_owned() }))
        .route("/echo", post(|body: Bytes| async move { body }))
        .route("/long", get(|| async { vec![7_u8; 1001] }))
        .route("/pieces", get(|| async { Body::new(Pieces(11)) }))
        .route("/fits", get(|| async { Body::new(Pieces(10)) }))
        .route("/never", get(std::future::pending::<()>))
}

/// A body of pieces whose length is not told.
struct Pieces(usize);

impl hyper::body::Body for Pieces {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        _: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        let piece = (self.0 > 0).then(|| Ok(Frame::data(Bytes::from_static(&[7; 100]))));
        self.0 = self.0.saturating_sub(1);
        Poll::Ready(piece)
    }
}

fn of(path: &str) -> Request<Full<Bytes>> {
    Request::get(path).body(Full::default()).unwrap()
}

fn sent(path: &str, body: &'static [u8]) -> Request<Full<Bytes>> {
    Request::post(path).body(Full::from(body)).unwrap()
}

#[tokio::test]
async fn an_answer_comes_over_one_connection() {
    let other = Other::start(&["127.0.0.1"]).await;
    for trust in [Trust::Pinned(other.ca), Trust::Pinned(other.leaf), Trust::Unproven] {
        let before = other.connections();
        let remote = Remote::new(&other.url(), trust).unwrap();
        assert_eq!((remote.seen_certificate(), remote.url()), (None, other.url().as_str()));
        for _ in 0..3 {
            let answer = remote.clone().ask(of("/hello"), LIMITS).await.unwrap();
            assert_eq!(
                (answer.status().as_u16(), answer.body().as_ref()),
                (200, other.address.to_string().as_bytes())
            );
            let echo = remote.ask(sent("/echo", b"a message"), LIMITS).await.unwrap();
            assert_eq!(echo.body().as_ref(), b"a message");
        }
        assert_eq!(remote.ask(of("/nothing"), LIMITS).await.unwrap().status(), 404, "a status is an answer");
        assert_eq!(other.connections(), before + 1, "{trust:?}");
        assert_eq!(remote.seen_certificate(), Some(other.leaf));
    }
}

#[tokio::test]
async fn whoever_is_not_believed_is_not_asked() {
    let other = Other::start(&["box.example"]).await;
    let ask = async |trust| Remote::new(&other.url(), trust)?.ask(of("/hello"), LIMITS).await;
    let refused = ask(Trust::Pinned([1; 32])).await.unwrap_err();
    assert!(matches!(refused, RemoteError::OtherCertificate { .. }), "{refused}");
    let refused = ask(Trust::Pinned(other.ca)).await.unwrap_err();
    assert!(matches!(refused, RemoteError::WrongName { .. }), "{refused}");
    assert!(refused.to_string().contains("--name 127.0.0.1"), "{refused}");
    let refused = ask(Trust::System).await.unwrap_err();
    // A system without any list is refused before it asks.
    assert!(matches!(refused, RemoteError::NotTrusted { .. } | RemoteError::NoRoots), "{refused}");
    let refused = ask(Trust::Loopback).await.unwrap_err();
    assert!(matches!(refused, RemoteError::NoTrust(_)), "{refused}");
    assert!(
        ask(Trust::Pinned(other.leaf)).await.is_ok(),
        "a pinned leaf is known by itself, whatever its names"
    );
}

#[tokio::test]
async fn an_answer_that_is_too_large_is_not_taken() {
    let other = Other::start(&["127.0.0.1"]).await;
    let remote = Remote::new(&other.url(), Trust::Pinned(other.ca)).unwrap();
    for path in ["/long", "/pieces"] {
        let refused = remote.ask(of(path), LIMITS).await.unwrap_err();
        assert!(matches!(refused, RemoteError::TooLarge { most_bytes: 1000, .. }), "{path}: {refused}");
    }
    assert_eq!(remote.ask(of("/fits"), LIMITS).await.unwrap().body().len(), 1000);
}

#[tokio::test]
async fn an_answer_may_be_taken_as_it_comes() {
    let other = Other::start(&["127.0.0.1"]).await;
    let remote = Remote::new(&other.url(), Trust::Pinned(other.ca)).unwrap();
    let answer = remote.stream(of("/pieces")).await.unwrap();
    assert_eq!(remote.ask(of("/hello"), LIMITS).await.unwrap().status(), 200, "others do not wait for it");
    assert_eq!(answer.into_body().collect().await.unwrap().to_bytes().len(), 1100);
}

#[tokio::test]
async fn silence_is_not_waited_for() {
    let other = Other::start(&["127.0.0.1"]).await;
    let remote = Remote::new(&other.url(), Trust::Pinned(other.ca)).unwrap();
    let refused = remote.ask(of("/never"), SHORT).await.unwrap_err();
    assert!(matches!(refused, RemoteError::Silent { .. }), "{refused}");
    // Takes connections and says nothing.
    let mute = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    for scheme in ["http", "https"] {
        let url = format!("{scheme}://{}", mute.local_addr().unwrap());
        let refused = Remote::new(&url, Trust::Unproven).unwrap().ask(of("/"), SHORT).await.unwrap_err();
        assert!(matches!(refused, RemoteError::Silent { .. }), "{scheme}: {refused}");
    }
}

#[tokio::test]
async fn whoever_is_not_there_is_told() {
    let free = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let remote = Remote::new(&format!("https://{free}"), Trust::Unproven).unwrap();
    let refused = remote.ask(of("/"), LIMITS).await.unwrap_err();
    assert!(matches!(refused, RemoteError::NotReached { .. }), "{refused}");
    // RFC 6761 section 6.4: no such name ever exists.
    let remote = Remote::new("https://box.invalid", Trust::Unproven).unwrap();
    let refused = remote.ask(of("/"), LIMITS).await.unwrap_err();
    assert!(matches!(refused, RemoteError::NoSuchHost { .. }), "{refused}");
}

/// A server of scripted answers: for each connection, what it says to each request before it closes.
fn scripted<const N: usize>(connections: [Vec<&'static str>; N]) -> SocketAddr {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap();
    std::thread::spawn(move || {
        for answers in connections {
            let (stream, _) = listener.accept().unwrap();
            let mut stream = BufReader::new(stream);
            for answer in answers {
                read_head(&mut stream);
                stream.get_mut().write_all(answer.as_bytes()).unwrap();
            }
        }
    });
    address
}

fn read_head(stream: &mut BufReader<TcpStream>) {
    let mut head = String::new();
    while !head.ends_with("\r\n\r\n") {
        assert!(stream.read_line(&mut head).unwrap() > 0, "the client went: {head}");
    }
}

const WELL: &str = "HTTP/1.1 200 OK\r\ncontent-length: 4\r\n\r\nwell";

/// An empty answer here is a connection that ends when it was just asked something more.
#[tokio::test]
async fn a_connection_that_is_gone_is_made_anew_where_asking_twice_does_no_harm() {
    let remote = |address| Remote::new(&format!("http://{address}"), Trust::Loopback).unwrap();
    let again = remote(scripted([vec![WELL, ""], vec![WELL]]));
    for _ in 0..2 {
        assert_eq!(again.ask(of("/"), LIMITS).await.unwrap().body().as_ref(), b"well");
    }
    let once = remote(scripted([vec![WELL, ""], vec![WELL]]));
    assert_eq!(once.ask(of("/"), LIMITS).await.unwrap().body().as_ref(), b"well");
    let refused = once.ask(sent("/", b""), LIMITS).await.unwrap_err();
    assert!(matches!(refused, RemoteError::CutOff { .. }), "{refused}");
    assert_eq!(
        once.ask(of("/"), LIMITS).await.unwrap().body().as_ref(),
        b"well",
        "the next one is asked anew"
    );
}

#[tokio::test]
async fn what_is_no_answer_is_told() {
    let short = "HTTP/1.1 200 OK\r\ncontent-length: 400\r\n\r\nwell";
    for said in ["", "HTTP/1.1", short] {
        let address = scripted([vec![said]]);
        let remote = Remote::new(&format!("http://{address}"), Trust::Loopback).unwrap();
        let refused = remote.ask(of("/"), LIMITS).await.unwrap_err();
        assert!(matches!(refused, RemoteError::CutOff { .. }), "{said}: {refused}");
    }
    let odd = scripted([vec!["well, well\r\n\r\n"]]);
    let remote = Remote::new(&format!("http://{odd}"), Trust::Loopback).unwrap();
    let refused = remote.ask(of("/"), LIMITS).await.unwrap_err();
    assert!(matches!(refused, RemoteError::NotHttp { .. }), "{refused}");
    let plain = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = plain.local_addr().unwrap();
    std::thread::spawn(move || {
        let (mut stream, _) = plain.accept().unwrap();
        stream.write_all(b"HTTP/1.1 400 Bad Request\r\n\r\n").unwrap();
        // Closing with unread bytes would reset the connection before the answer is read.
        let _ = std::io::copy(&mut stream, &mut std::io::sink());
    });
    let remote = Remote::new(&format!("https://{address}"), Trust::Unproven).unwrap();
    let refused = remote.ask(of("/"), LIMITS).await.unwrap_err();
    assert!(matches!(refused, RemoteError::NotTls(_)), "{refused}");
}
