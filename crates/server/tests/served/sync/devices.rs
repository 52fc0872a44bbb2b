//! Letting devices in, and what their keys open.

use axum::body::Body;
use axum::http::{Method, header};
use serde_json::{Value, json};
use storypole_desk::Desk;
use storypole_journal::sign::proof::{Meeting, Side};
use storypole_journal::{DeviceKey, Role};
use storypole_server::frame::Frame;

use super::{join, stranger};
use crate::asked::{AT, Answer, Served, plain};
use crate::events::Stream;

const NONCE: [u8; 32] = [0x5a; 32];

async fn post(served: &Served, path: &str, body: &Value) -> Answer {
    let request = plain(Method::POST, path).header(header::CONTENT_TYPE, "application/json");
    served.answer(request.body(Body::from(body.to_string())).unwrap()).await
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

async fn greet(served: &Served, desk: &Desk) -> Answer {
    let (notebook, device) = (desk.notebook().to_string(), desk.device().to_string());
    let body = json!({ "notebook": notebook, "device": device, "nonce": hex(&NONCE) });
    post(served, "/api/sync/greeting", &body).await
}

/// A proof by a key over the challenge of a greeting.
fn proof(served: &Served, desk: &Desk, key: Option<&DeviceKey>, challenge: &str) -> Value {
    let bytes: Vec<u8> =
        (0..48).map(|at| u8::from_str_radix(&challenge[2 * at..2 * at + 2], 16).unwrap()).collect();
    let meeting = Meeting {
        notebook: desk.notebook(),
        asking: desk.device(),
        answering: served.desk.device(),
        nonce: NONCE,
        challenge: &bytes,
    };
    let proof = match key {
        Some(key) => meeting.prove(Side::Asking, key),
        None => desk.prove(&meeting, Side::Asking).unwrap(),
    };
    json!({
        "device": desk.device().to_string(),
        "nonce": hex(&NONCE),
        "challenge": challenge,
        "proof": hex(&proof),
    })
}

async fn signed_in(served: &Served, desk: &Desk) -> String {
    let greeting = greet(served, desk).await.json();
    let body = proof(served, desk, None, greeting["challenge"].as_str().unwrap());
    let given = post(served, "/api/sync/key", &body).await;
    assert_eq!(given.status, 201, "{}", given.text());
    given.json()["key"].as_str().unwrap().to_owned()
}

async fn with_key(served: &Served, method: Method, path: &str, key: &str, body: Vec<u8>) -> Answer {
    let request = plain(method, path).header(header::AUTHORIZATION, format!("Bearer {key}"));
    served.answer(request.body(Body::from(body)).unwrap()).await
}

fn frame(number: u64) -> Vec<u8> {
    Frame { conversation: [1; 16], number, ..Frame::default() }.encode().to_vec()
}

#[tokio::test]
async fn the_server_proves_itself_and_a_challenge_is_answered_once() {
    let served = Served::new();
    let desk = join(&served.folder, "here", &served.desk, Role::Crew);
    let greeting = greet(&served, &desk).await;
    assert_eq!(greeting.status, 200, "{}", greeting.text());
    let greeting = greeting.json();
    assert_eq!(greeting["device"], served.desk.device().to_string());
    let challenge = greeting["challenge"].as_str().unwrap();
    let bytes: Vec<u8> =
        (0..48).map(|at| u8::from_str_radix(&challenge[2 * at..2 * at + 2], 16).unwrap()).collect();
    let meeting = Meeting {
        notebook: desk.notebook(),
        asking: desk.device(),
        answering: served.desk.device(),
        nonce: NONCE,
        challenge: &bytes,
    };
    let said = greeting["proof"].as_str().unwrap();
    let shown: Vec<u8> =
        (0..64).map(|at| u8::from_str_radix(&said[2 * at..2 * at + 2], 16).unwrap()).collect();
    let key = served.desk.public_key().unwrap();
    assert!(meeting.is_proven(Side::Answering, &key, &shown.try_into().unwrap()));

    let body = proof(&served, &desk, None, challenge);
    assert_eq!(post(&served, "/api/sync/key", &body).await.status, 201);
    post(&served, "/api/sync/key", &body).await.is_refused(403, "wrong-proof");
}

#[tokio::test]
async fn only_the_devices_own_key_proves_it() {
    let served = Served::new();
    let desk = join(&served.folder, "here", &served.desk, Role::Crew);
    let challenge = || async { greet(&served, &desk).await.json()["challenge"].as_str().unwrap().to_owned() };
    let wrong = proof(&served, &desk, Some(&DeviceKey::from_bytes(&[9; 32])), &challenge().await);
    post(&served, "/api/sync/key", &wrong).await.is_refused(403, "wrong-proof");
    // The server's own proof, handed back, is none.
    let greeting = greet(&served, &desk).await.json();
    let mut echoed = proof(&served, &desk, None, greeting["challenge"].as_str().unwrap());
    echoed["proof"] = greeting["proof"].clone();
    post(&served, "/api/sync/key", &echoed).await.is_refused(403, "wrong-proof");
    // A challenge of another nonce, and one nobody made.
    let mut other = proof(&served, &desk, None, &challenge().await);
    other["nonce"] = json!(hex(&[1; 32]));
    post(&served, "/api/sync/key", &other).await.is_refused(403, "wrong-proof");
    let made_up = proof(&served, &desk, None, &"00".repeat(48));
    post(&served, "/api/sync/key", &made_up).await.is_refused(403, "wrong-proof");
    let nobody = stranger(&served.folder, "nobody", &served.desk);
    let greeting = greet(&served, &nobody).await.json();
    let body = proof(&served, &nobody, None, greeting["challenge"].as_str().unwrap());
    let refused = post(&served, "/api/sync/key", &body).await.is_refused(403, "not-a-member");
    assert!(refused["next"].as_str().unwrap().contains("storypole invite"), "{refused}");
    for body in [json!({}), json!({ "device": "x" }), json!([])] {
        let refused = post(&served, "/api/sync/key", &body).await;
        assert_eq!(refused.status, 400, "{}", refused.text());
    }
    let short = json!({ "notebook": desk.notebook().to_string(), "device": desk.device().to_string(), "nonce": "00" });
    post(&served, "/api/sync/greeting", &short).await.is_refused(400, "bad-body");
}

#[tokio::test]
async fn a_key_opens_what_is_for_devices_and_nothing_else() {
    let served = Served::new();
    let desk = join(&served.folder, "here", &served.desk, Role::Crew);
    let key = signed_in(&served, &desk).await;
    for (method, path, expected) in [
        (Method::GET, "/api/events", 200),
        (Method::GET, "/api/session", 403),
        (Method::GET, "/api/today", 403),
        (Method::DELETE, "/api/session", 403),
        (Method::POST, "/api/sync/now", 403),
        (Method::GET, "/api/openapi.json", 403),
    ] {
        let request = plain(method, path).header(header::AUTHORIZATION, format!("bearer {key}"));
        let request = request.body(Body::empty()).unwrap();
        let response = tower::ServiceExt::oneshot(served.router.clone(), request).await.unwrap();
        assert_eq!(response.status(), expected, "{path}");
    }
    let missing = format!("/api/attachments/{}", "0".repeat(64));
    with_key(&served, Method::GET, &missing, &key, vec![]).await.is_refused(404, "no-such-file");
    with_key(&served, Method::GET, "/api/today", &key, vec![]).await.is_refused(403, "not-for-this-key");
    let browser = served.request(Method::POST, "/api/sync/exchange").body(Body::from(frame(0))).unwrap();
    served.answer(browser).await.is_refused(403, "not-for-this-key");
    for wrong in [&key[1..], "x", &"A".repeat(43)] {
        let refused = with_key(&served, Method::POST, "/api/sync/exchange", wrong, frame(0)).await;
        refused.is_refused(401, "no-device-key");
    }
    let none = plain(Method::POST, "/api/sync/exchange").body(Body::from(frame(0))).unwrap();
    served.answer(none).await.is_refused(401, "no-session");
}

#[tokio::test]
async fn a_conversation_keeps_its_order_and_repeats_its_answer() {
    let served = Served::new();
    let desk = join(&served.folder, "here", &served.desk, Role::Crew);
    let key = signed_in(&served, &desk).await;
    let ask = |body: Vec<u8>| with_key(&served, Method::POST, "/api/sync/exchange", &key, body);
    ask(frame(1)).await.is_refused(409, "conversation-over");
    let first = ask(frame(0)).await;
    assert_eq!(first.status, 200, "{}", first.text());
    let answer = Frame::decode(&first.body).unwrap();
    assert_eq!((answer.number, answer.messages.len()), (0, 1), "it greets");
    assert_eq!(ask(frame(0)).await.body, first.body, "the same again");
    ask(frame(5)).await.is_refused(409, "conversation-over");
    ask(frame(1)).await.is_refused(409, "conversation-over");
    ask(b"no frame".to_vec()).await.is_refused(400, "bad-body");
}

#[tokio::test]
async fn a_revoked_device_is_out_at_once() {
    let served = Served::new();
    let desk = join(&served.folder, "here", &served.desk, Role::Crew);
    let other = join(&served.folder, "other", &served.desk, Role::Crew);
    let (key, stays) = (signed_in(&served, &desk).await, signed_in(&served, &other).await);
    let bearer =
        |key: &str| plain(Method::GET, "/api/events").header(header::AUTHORIZATION, format!("Bearer {key}"));
    let open = |request: axum::http::request::Builder| {
        tower::ServiceExt::oneshot(served.router.clone(), request.body(Body::empty()).unwrap())
    };
    let mut stream = Stream::over(open(bearer(&key)).await.unwrap().into_body());
    let mut others = Stream::over(open(bearer(&stays)).await.unwrap().into_body());
    assert_eq!(stream.next().await.unwrap().name, "here");
    assert_eq!(others.next().await.unwrap().name, "here");
    served.desk.revoke(desk.device(), "lost on site", AT).unwrap();
    // What the revocation wrote may still be told; then its stream ends, and the other's goes on.
    while stream.next().await.is_some() {}
    assert_eq!(others.next().await.unwrap().name, "changed");
    with_key(&served, Method::POST, "/api/sync/exchange", &key, frame(0))
        .await
        .is_refused(401, "no-device-key");
    let greeting = greet(&served, &desk).await.json();
    let body = proof(&served, &desk, None, greeting["challenge"].as_str().unwrap());
    let refused = post(&served, "/api/sync/key", &body).await.is_refused(403, "device-revoked");
    assert!(refused["detail"].as_str().unwrap().contains("was revoked on 2025-03-04"), "{refused}");
    assert_eq!(with_key(&served, Method::POST, "/api/sync/exchange", &stays, frame(0)).await.status, 200);
}
