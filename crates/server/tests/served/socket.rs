//! Over a real socket: clients that stop half-way, that are slow, and the order in which a server stops.

use std::io::{BufRead, BufReader, ErrorKind, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use storypole_desk::{DataFolder, Desk, edge};
use storypole_server::{Limits, Listening, Options, ServeError, Tls, serve};
use tempfile::TempDir;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

use crate::asked::{draft, found, let_in, write};
use crate::files::held;

/// Longer than any answer takes; a read that waits so long has failed.
const PATIENCE: Duration = Duration::from_secs(20);

/// A server on a port of its own.
struct Running {
    address: SocketAddr,
    cookie: String,
    path: PathBuf,
    log: String,
    stop: oneshot::Sender<()>,
    ended: JoinHandle<Result<(), ServeError>>,
    _folder: TempDir,
}

impl Running {
    async fn start(limits: Limits) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("notebook");
        let desk = found(&path);
        let (cookie, log) = (let_in(&desk), desk.digest().unwrap().log.to_string());
        let (stop, stopped) = oneshot::channel();
        let (told, listening) = oneshot::channel();
        let options = Options { address: "127.0.0.1:0".parse().unwrap(), limits, tls: Tls::None };
        let ended = tokio::spawn(async move {
            let ready = |listening: &Listening| told.send(listening.clone()).unwrap();
            let stop = async { stopped.await.unwrap_or_default() };
            serve(Arc::new(desk), options, ready, stop).await
        });
        let address = listening.await.unwrap().address;
        Self { address, cookie, path, log, stop, ended, _folder: folder }
    }

    fn connect(&self) -> BufReader<TcpStream> {
        let stream = TcpStream::connect(self.address).unwrap();
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        stream.set_nodelay(true).unwrap();
        BufReader::new(stream)
    }

    /// Sends the head of a request, and as much of its body.
    fn begin(&self, line: &str, more: &str, body: &[u8]) -> BufReader<TcpStream> {
        let mut stream = self.connect();
        let head =
            format!("{line} HTTP/1.1\r\nhost: {}\r\ncookie: {}\r\n{more}\r\n", self.address, self.cookie);
        stream.get_mut().write_all(head.as_bytes()).unwrap();
        stream.get_mut().write_all(body).unwrap();
        stream
    }

    /// Begins an upload that the server has begun to read, as its 100 (RFC 9110 section 15.2.1) tells.
    fn upload(&self, length: usize, begin: &[u8]) -> BufReader<TcpStream> {
        let more = format!("content-length: {length}\r\nexpect: 100-continue\r\n");
        let mut stream = self.begin("POST /api/attachments", &more, b"");
        assert_eq!(answer(&mut stream).0, 100);
        stream.get_mut().write_all(begin).unwrap();
        stream
    }

    /// Stops it, waits for its end, and gives the notebook it closed.
    async fn end(self) -> (Desk, String, TempDir) {
        self.stop.send(()).unwrap();
        self.ended.await.unwrap().unwrap();
        (Desk::open(&self.path).expect("the notebook was closed"), self.log, self._folder)
    }
}

/// Status, head and body of an answer.
fn answer(stream: &mut BufReader<TcpStream>) -> (u16, String, String) {
    let mut head = String::new();
    while !head.ends_with("\r\n\r\n") {
        assert!(stream.read_line(&mut head).unwrap() > 0, "the connection ended early: {head}");
    }
    let length = head
        .lines()
        .find_map(|line| line.to_lowercase().strip_prefix("content-length:")?.trim().parse().ok());
    let mut body = vec![0; length.unwrap_or(0)];
    stream.read_exact(&mut body).unwrap();
    let status = head.split(' ').nth(1).unwrap().parse().unwrap();
    (status, head, String::from_utf8(body).unwrap())
}

/// Nothing more comes.
fn is_closed(stream: &mut BufReader<TcpStream>) -> bool {
    match stream.read(&mut [0; 64]) {
        Ok(count) => count == 0,
        Err(error) => matches!(error.kind(), ErrorKind::ConnectionReset | ErrorKind::BrokenPipe),
    }
}

fn site() -> String {
    draft(&[write(edge::record_id(), "site", "label", "S1")]).to_string()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn of_a_request_that_is_cut_off_nothing_is_kept() {
    let running = Running::start(Limits::default()).await;
    let file = running.begin("POST /api/attachments", "content-length: 1000\r\n", &[7; 500]);
    drop(file);
    // Pieces without their last one.
    let file = running.begin("POST /api/attachments", "transfer-encoding: chunked\r\n", b"3\r\nabc\r\n");
    drop(file);
    let body = site();
    let put = format!("PUT /api/drafts/{}", edge::draft_id());
    let more = format!("content-type: application/json\r\ncontent-length: {}\r\n", body.len());
    drop(running.begin(&put, &more, &body.as_bytes()[..body.len() - 1]));
    // The end of the sending half alone: the answer can still be read.
    let mut half = running.begin("POST /api/attachments", "content-length: 1000\r\n", &[7; 500]);
    half.get_mut().shutdown(std::net::Shutdown::Write).unwrap();
    let mut said = String::new();
    let _ = half.read_to_string(&mut said);
    assert!(said.is_empty() || said.contains("\"code\":\"cut-off\""), "{said}");
    let (desk, log, _folder) = running.end().await;
    assert_eq!(desk.digest().unwrap().log.to_string(), log);
    assert_eq!(held(&desk.path().join("attachments")), Vec::<PathBuf>::new());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn slow_clients_are_not_waited_for() {
    let short = Duration::from_millis(150);
    let running = Running::start(Limits { head: short, body_idle: short, ..Limits::default() }).await;
    let mut head = running.connect();
    head.get_mut().write_all(b"GET / HTTP/1.1\r\nhost: loc").unwrap();
    let body = site();
    let put = format!("PUT /api/drafts/{}", edge::draft_id());
    let more = format!("content-type: application/json\r\ncontent-length: {}\r\n", body.len());
    for (line, more) in [(put.as_str(), more.as_str()), ("POST /api/attachments", "content-length: 100\r\n")]
    {
        let mut slow = running.begin(line, more, b"{");
        let (status, head, said) = answer(&mut slow);
        assert_eq!(status, 408, "{said}");
        assert!(said.contains("\"code\":\"too-slow\""), "{said}");
        assert!(head.to_lowercase().contains("connection: close"), "{head}");
        assert!(is_closed(&mut slow));
    }
    let mut rest = Vec::new();
    // What is said to half a head is not promised; that the connection ends is.
    let _ = head.read_to_end(&mut rest);
    assert!(!String::from_utf8_lossy(&rest).contains("200 OK"));
    let (desk, log, _folder) = running.end().await;
    assert_eq!(desk.digest().unwrap().log.to_string(), log);
    assert_eq!(held(&desk.path().join("attachments")), Vec::<PathBuf>::new());
}

/// Its pieces come quickly enough for any other body, and it never ends.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_body_with_a_key_is_read_for_a_while_only() {
    let running = Running::start(Limits { key_body: Duration::from_millis(100), ..Limits::default() }).await;
    let more = "content-type: application/json\r\ncontent-length: 4000\r\n";
    let mut slow = running.begin("POST /api/session", more, b"{");
    let mut drips = slow.get_ref().try_clone().unwrap();
    let drip = std::thread::spawn(move || {
        // Ends with the connection.
        for _ in 0..1000 {
            if drips.write_all(b" ").is_err() {
                return;
            }
            std::thread::sleep(Duration::from_millis(10));
        }
    });
    let (status, _, said) = answer(&mut slow);
    assert_eq!(status, 408, "{said}");
    assert!(said.contains("\"code\":\"too-slow\""), "{said}");
    drop(slow);
    drip.join().unwrap();
    running.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_body_in_pieces_is_waited_for() {
    let running = Running::start(Limits { body_idle: Duration::from_secs(5), ..Limits::default() }).await;
    let mut file = running.begin("POST /api/attachments", "content-length: 8\r\n", b"");
    for piece in b"in parts".chunks(2) {
        file.get_mut().write_all(piece).unwrap();
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    assert_eq!(answer(&mut file).0, 201);
    running.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_server_stops_in_order() {
    let running = Running::start(Limits::default()).await;
    let mut events = running.begin("GET /api/events", "", b"");
    let mut line = String::new();
    while line != "event: here\n" {
        line.clear();
        assert!(events.read_line(&mut line).unwrap() > 0);
    }
    let idle = running.begin("GET /api/health", "", b"");
    let mut idle = idle;
    assert_eq!(answer(&mut idle).0, 200);
    let mut file = running.upload(8, b"half");
    let Running { stop, ended, address, path, _folder, .. } = running;
    stop.send(()).unwrap();

    let mut rest = String::new();
    events.read_to_string(&mut rest).unwrap();
    assert!(rest.contains("event: closing\ndata: {}\n\n"), "told before it ends: {rest}");
    assert!(is_closed(&mut idle), "a connection that asks nothing ends");
    assert!(!ended.is_finished(), "the upload still runs");
    assert!(DataFolder::take(&path).is_err(), "so the notebook is still open");
    file.get_mut().write_all(b"done").unwrap();
    let (status, _, said) = answer(&mut file);
    assert_eq!(status, 201, "what was in flight is finished: {said}");
    ended.await.unwrap().unwrap();
    assert!(TcpStream::connect(address).is_err(), "nobody listens any more");
    let desk = Desk::open(&path).expect("the notebook was closed");
    assert_eq!(held(&desk.path().join("attachments")).len(), 1);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_request_that_does_not_end_is_given_up() {
    let running = Running::start(Limits { grace: Duration::from_millis(200), ..Limits::default() }).await;
    let mut file = running.upload(8, b"half");
    let (desk, _, _folder) = running.end().await;
    assert!(is_closed(&mut file));
    assert_eq!(held(&desk.path().join("attachments")), Vec::<PathBuf>::new());
}

#[tokio::test]
async fn it_serves_this_computer_only() {
    let folder = tempfile::tempdir().unwrap();
    let desk = Arc::new(found(&folder.path().join("notebook")));
    for address in ["0.0.0.0:0", "[::]:0", "192.0.2.7:8417", "[2001:db8::1]:8417"] {
        let options =
            Options { address: address.parse().unwrap(), limits: Limits::default(), tls: Tls::None };
        let refused = serve(Arc::clone(&desk), options, |_| (), async {}).await.unwrap_err();
        assert!(matches!(refused, ServeError::NotLoopback(_)));
        assert!(refused.to_string().ends_with("without TLS: use 127.0.0.1, or secure it"), "{refused}");
    }
}

#[tokio::test]
async fn a_port_in_use_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let desk = Arc::new(found(&folder.path().join("notebook")));
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let options = Options { address: taken.local_addr().unwrap(), limits: Limits::default(), tls: Tls::None };
    let refused = serve(desk, options, |_| (), async {}).await.unwrap_err();
    assert!(matches!(refused, ServeError::InUse(_)), "{refused}");
    assert!(refused.to_string().contains("choose another port"), "{refused}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn odd_heads_get_an_answer_or_an_end() {
    let running = Running::start(Limits::default()).await;
    let long = format!("GET /{} HTTP/1.1\r\n\r\n", "x".repeat(200_000));
    let many = format!("GET / HTTP/1.1\r\n{}\r\n", "a: b\r\n".repeat(5_000));
    for odd in [
        "\0\0\0\0\r\n\r\n",
        "GET / HTTP/9.9\r\n\r\n",
        "GET / HTTP/1.1\r\n\r\n",
        "GET http://box.example/ HTTP/1.1\r\nhost: box.example\r\n\r\n",
        "CONNECT box.example:443 HTTP/1.1\r\nhost: box.example\r\n\r\n",
        "POST /api/session HTTP/1.1\r\nhost: x\r\ncontent-length: 5\r\ntransfer-encoding: chunked\r\n\r\n0\r\n\r\n",
        "POST /api/session HTTP/1.1\r\nhost: x\r\ncontent-length: -1\r\n\r\n",
        &long,
        &many,
    ] {
        let mut stream = running.connect();
        // The server may end the connection before it has read all of this.
        let _ = stream.get_mut().write_all(odd.as_bytes());
        let _ = stream.get_mut().shutdown(std::net::Shutdown::Write);
        let mut said = Vec::new();
        let _ = stream.read_to_end(&mut said);
        let said = String::from_utf8_lossy(&said);
        assert!(said.is_empty() || said.starts_with("HTTP/1.1 4"), "{odd:.40}: {said:.200}");
    }
    let mut well = running.begin("GET /api/health", "", b"");
    assert_eq!(answer(&mut well).0, 200, "and it serves on");
    drop(well);
    running.end().await;
}
