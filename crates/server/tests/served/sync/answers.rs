//! Servers that answer what no server of this program does, and clients that ask it.

use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::body::Bytes;
use axum::http::{StatusCode, header};
use axum::routing::{any, post};
use storypole_desk::Desk;
use storypole_journal::Role;
use storypole_server::frame::Frame;
use storypole_server::partner::{Partner, SyncError, sync_once};
use storypole_server::remote::{Remote, RemoteError, Trust};
use storypole_sync::{Farewell, Message, Reason};

use super::{There, first, join, sites, stranger, sync, write};

/// Something else that listens on a port of this computer.
async fn something(router: Router) -> Remote {
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let url = format!("http://{}", listener.local_addr().unwrap());
    tokio::spawn(async move { axum::serve(listener, router).await });
    Remote::new(&url, Trust::Loopback).unwrap()
}

/// A server that signs devices in as `there` does, and then answers every frame in its own way.
async fn odd(there: &There, answer: fn(Frame) -> Vec<u8>) -> Remote {
    let inner = there.remote();
    let sign_in = move |request: axum::extract::Request| {
        let inner = inner.clone();
        async move {
            let (parts, body) = request.into_parts();
            let body = axum::body::to_bytes(body, 1 << 20).await.unwrap();
            let mut passed = axum::http::Request::new(http_body_util::Full::new(body));
            *passed.method_mut() = parts.method;
            *passed.uri_mut() = parts.uri;
            passed.headers_mut().insert(header::CONTENT_TYPE, "application/json".parse().unwrap());
            let limits = storypole_server::remote::AskLimits {
                answer_bytes: 1 << 20,
                patience: Duration::from_secs(20),
            };
            let answer = inner.ask(passed, limits).await.unwrap();
            (answer.status(), answer.into_body())
        }
    };
    let exchange = move |body: Bytes| async move { answer(Frame::decode(&body).unwrap()) };
    let router = Router::new()
        .route("/api/sync/greeting", post(sign_in.clone()))
        .route("/api/sync/key", post(sign_in))
        .route("/api/sync/exchange", post(exchange));
    something(router).await
}

async fn failed(desk: &Arc<Desk>, remote: &Remote) -> (SyncError, String) {
    let error = sync_once(desk, remote, |_| ()).await.unwrap_err();
    let said = storypole_server::problem::chain(&error);
    assert!(said.contains(": "), "a next step follows: {said}");
    (error, said)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_no_server_of_a_notebook_is_told_as_that() {
    let folder = tempfile::tempdir().unwrap();
    let desk = first(&folder);
    for (status, body) in [
        (StatusCode::OK, "<html>welcome</html>"),
        (StatusCode::OK, "{}"),
        (StatusCode::NOT_FOUND, "nothing here"),
        (StatusCode::BAD_GATEWAY, ""),
    ] {
        let remote = something(Router::new().fallback(any(move || async move { (status, body) }))).await;
        let (error, said) = failed(&desk, &remote).await;
        assert!(matches!(error, SyncError::NotAServer { .. }), "{said}");
        assert!(said.contains("check the address"), "{said}");
    }
    // A port at which nobody listens.
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let url = format!("http://{}", listener.local_addr().unwrap());
    drop(listener);
    let (error, said) = failed(&desk, &Remote::new(&url, Trust::Loopback).unwrap()).await;
    assert!(matches!(error, SyncError::Remote(_)), "{said}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn another_notebook_and_a_stranger_are_refused_with_a_next_step() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    let elsewhere = tempfile::tempdir().unwrap();
    let other = first(&elsewhere);
    let (error, said) = failed(&other, &there.remote()).await;
    assert_eq!(error.code(), Some("other-notebook"));
    assert!(said.contains("check the address"), "{said}");
    let stranger = stranger(&folder, "stranger", &there.desk);
    let (error, said) = failed(&stranger, &there.remote()).await;
    assert_eq!(error.code(), Some("not-a-member"));
    assert!(said.contains("storypole invite"), "{said}");
    there.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn odd_answers_end_the_sync_with_a_reason_and_change_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    let here = join(&folder, "here", &there.desk, Role::Crew);
    sync(&here, &there).await.unwrap();
    write(&here, 0..1);
    let before = here.digest().unwrap();
    type Odd = fn(Frame) -> Vec<u8>;
    let cases: [(Odd, &str); 7] = [
        (|_| b"<html>".to_vec(), "cannot be read"),
        (|_| Vec::new(), "cannot be read"),
        (|asked| Frame { conversation: [9; 16], ..asked }.encode().to_vec(), "was not asked"),
        (|asked| Frame { number: 99, ..asked }.encode().to_vec(), "was not asked"),
        // It says nothing, and that it is not done.
        (|asked| Frame { messages: vec![], ..asked }.encode().to_vec(), "is not done"),
        (
            |asked| Frame { messages: vec![vec![0xff; 40]], ..asked }.encode().to_vec(),
            "a message that cannot be read",
        ),
        // A greeting of a later version, by hand: [0, [9], null].
        (
            |asked| Frame { messages: vec![vec![0x83, 0x00, 0x81, 0x09, 0xf6]], ..asked }.encode().to_vec(),
            "update this program",
        ),
    ];
    for (answer, expected) in cases {
        let (_, said) = failed(&here, &odd(&there, answer).await).await;
        assert!(said.contains(expected), "{expected}: {said}");
    }
    assert_eq!(here.digest().unwrap(), before);
    sync(&here, &there).await.unwrap();
    assert_eq!(sites(&there.desk), 1, "and afterwards it goes on");
    there.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_server_that_says_goodbye_is_quoted() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    let here = join(&folder, "here", &there.desk, Role::Crew);
    let remote = odd(&there, |asked| {
        let bye = Message::Bye(Farewell { code: 12, note: "the disk there is full".to_owned() });
        Frame { messages: vec![bye.encode()], closed: true, ..asked }.encode().to_vec()
    })
    .await;
    let (error, said) = failed(&here, &remote).await;
    assert!(matches!(error, SyncError::Ended { reason: Reason::Left { .. }, .. }), "{said}");
    assert!(said.contains("the disk there is full"), "{said}");
    there.stop().await;
}

/// Something takes connections and never says a word.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_server_that_says_nothing_is_not_waited_for_for_ever() {
    let folder = tempfile::tempdir().unwrap();
    let desk = first(&folder);
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let url = format!("http://{}", listener.local_addr().unwrap());
    let remote = Remote::new(&url, Trust::Loopback).unwrap();
    let mut partner = Partner::new(desk, remote).patient(Duration::from_millis(50));
    let error = partner.sync(|_| ()).await.unwrap_err();
    assert!(matches!(error, SyncError::Remote(RemoteError::Silent { .. })), "{error}");
}

/// Something listens and hangs up.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_server_that_hangs_up_is_no_answer() {
    let folder = tempfile::tempdir().unwrap();
    let desk = first(&folder);
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let url = format!("http://{}", listener.local_addr().unwrap());
    tokio::spawn(async move {
        while let Ok((stream, _)) = listener.accept().await {
            drop(stream);
        }
    });
    let (error, said) = failed(&desk, &Remote::new(&url, Trust::Loopback).unwrap()).await;
    assert!(matches!(error, SyncError::Remote(_)), "{said}");
}
