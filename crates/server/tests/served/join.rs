//! A device joins over the router, by the messages themselves.

use axum::http::Method;
use serde_json::{Value, json};
use storypole_desk::edge;
use storypole_journal::{DeviceId, DeviceKey, Role};
use storypole_server::access::codes::OneTimeCode;
use storypole_server::join::proof::{Asking, Keys};
use storypole_server::join::{FinishBody, said, signed};
use storypole_server::wire::device::JoinedDevice;
use storypole_server::wire::word::{Hash, Id, Moment};

use crate::asked::{Answer, Served};

const NOW: &str = "2025-03-04T10:00:00-05:00";

async fn invite(served: &Served) -> OneTimeCode {
    let body = json!({ "for": "device", "role": "crew" });
    let invited = served.send(Method::POST, "/api/invitations", &body).await;
    assert_eq!(invited.status, 201, "{}", invited.text());
    let invited = invited.json();
    let code = invited["code"].as_str().unwrap();
    assert_eq!(invited["command"], format!("storypole join http://localhost:8417 {code}"));
    assert_eq!(invited["qr"], Value::Null);
    OneTimeCode::parse(code).unwrap()
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn bytes(hex: &str) -> Vec<u8> {
    (0..hex.len() / 2).map(|at| u8::from_str_radix(&hex[2 * at..2 * at + 2], 16).unwrap()).collect()
}

async fn start(served: &Served, code: &OneTimeCode) -> (String, Keys) {
    let (asking, message) = Asking::begin(code, None);
    let answer = post(served, "start", &json!({ "version": 1, "message": hex(&message) })).await;
    assert_eq!(answer.status, 200, "{}", answer.text());
    let answer = answer.json();
    let keys = asking.finish(&bytes(answer["message"].as_str().unwrap()), None).unwrap();
    (answer["exchange"].as_str().unwrap().to_owned(), keys)
}

async fn post(served: &Served, step: &str, body: &Value) -> Answer {
    served.as_browser("").post(&format!("/api/join/{step}"), body).await
}

fn finishing(exchange: &str, keys: &Keys, device: DeviceId, key: &DeviceKey) -> FinishBody {
    let mut body = FinishBody {
        exchange: exchange.to_owned(),
        device: Id(device.to_string()),
        key: Hash(hex(&key.public().0)),
        label: "tablet".to_owned(),
        now: Moment(NOW.to_owned()),
        proof: Hash(String::new()),
    };
    body.proof = Hash(keys.of_device(&said(&body).each()).to_hex().to_string());
    body
}

async fn finish(served: &Served, body: &FinishBody) -> Answer {
    post(served, "finish", &serde_json::to_value(body).unwrap()).await
}

#[tokio::test]
async fn a_device_that_knows_the_code_is_invited_and_named() {
    let served = Served::new();
    let code = invite(&served).await;
    let (device, key) = (edge::device_id(), edge::device_key());
    let (exchange, keys) = start(&served, &code).await;
    let body = finishing(&exchange, &keys, device, &key);
    let answer = finish(&served, &body).await;
    assert_eq!(answer.status, 200, "{}", answer.text());
    let joined: JoinedDevice = serde_json::from_slice(&answer.body).unwrap();
    assert_eq!(joined.proof.0, keys.of_server(&signed(&joined, &body.proof.0).each()).to_hex().as_str());
    assert_eq!((joined.name.as_str(), joined.label.as_str()), ("Mill house", "tablet"));
    assert_eq!(joined.notebook.0, served.desk.notebook().to_string());
    assert_eq!(joined.founder_key.0, hex(&served.desk.public_key().unwrap().0));
    let clock = joined.clock.as_ref().expect("the device's clock stands in 2025");
    assert_eq!(clock.asking.0, NOW);

    let standing = served.desk.read(|reader| reader.standing()).unwrap();
    assert_eq!((standing.role(device), standing.key(device)), (Some(Role::Crew), Some(key.public())));
    let devices = served.get("/api/records/device").await.json();
    assert!(devices["items"].as_array().unwrap().iter().any(|it| it["label"] == "tablet"), "{devices}");
    let last = &served.get("/api/invitations").await.json()["last"];
    assert_eq!((&last["end"], &last["device"]), (&"used".into(), &device.to_string().into()));

    // The answer was lost: the same again has the same answer, and invites nobody twice.
    let log = served.log();
    assert_eq!(finish(&served, &body).await.body, answer.body);
    assert_eq!(served.log(), log);
    let other = finishing(&exchange, &keys, edge::device_id(), &key);
    finish(&served, &other).await.is_refused(401, "wrong-code");
    let (_, message) = Asking::begin(&code, None);
    let replayed = post(&served, "start", &json!({ "version": 1, "message": hex(&message) })).await;
    replayed.is_refused(401, "wrong-code");
    assert_eq!(served.log(), log);
}

#[tokio::test]
async fn a_wrong_code_proves_nothing_and_five_void_it() {
    let served = Served::new();
    let code = invite(&served).await;
    let guess =
        OneTimeCode::parse(if code.shown() == "AAAA-AAAA" { "BBBB-BBBB" } else { "AAAA-AAAA" }).unwrap();
    let (device, key) = (edge::device_id(), edge::device_key());
    let log = served.log();
    for _ in 0..5 {
        let (exchange, keys) = start(&served, &guess).await;
        finish(&served, &finishing(&exchange, &keys, device, &key)).await.is_refused(401, "wrong-code");
        // An exchange is looked at once.
        finish(&served, &finishing(&exchange, &keys, device, &key)).await.is_refused(401, "wrong-code");
    }
    let (_, message) = Asking::begin(&code, None);
    let begun = post(&served, "start", &json!({ "version": 1, "message": hex(&message) })).await;
    begun.is_refused(401, "wrong-code");
    assert_eq!(served.get("/api/invitations").await.json()["last"]["end"], "voided");
    assert_eq!(served.log(), log);
}

#[tokio::test]
async fn what_was_changed_on_the_way_is_noticed() {
    let served = Served::new();
    let code = invite(&served).await;
    let (device, key) = (edge::device_id(), edge::device_key());
    let changes: [fn(&mut FinishBody); 4] = [
        |body| body.device = Id(edge::device_id().to_string()),
        |body| body.key = Hash("11".repeat(32)),
        |body| body.label = "other".to_owned(),
        |body| body.proof = Hash("no proof".to_owned()),
    ];
    for change in changes {
        let (exchange, keys) = start(&served, &code).await;
        let mut body = finishing(&exchange, &keys, device, &key);
        change(&mut body);
        finish(&served, &body).await.is_refused(401, "wrong-code");
    }
    // Four wrong ones leave one more.
    let (exchange, keys) = start(&served, &code).await;
    assert_eq!(finish(&served, &finishing(&exchange, &keys, device, &key)).await.status, 200);
}

#[tokio::test]
async fn a_device_that_is_known_is_not_invited_under_another_key() {
    let served = Served::new();
    let code = invite(&served).await;
    let (exchange, keys) = start(&served, &code).await;
    let body = finishing(&exchange, &keys, served.desk.device(), &edge::device_key());
    finish(&served, &body).await.is_refused(409, "device-known");
    let standing = served.desk.read(|reader| reader.standing()).unwrap();
    assert_eq!(standing.key(served.desk.device()), Some(served.desk.public_key().unwrap()));
}

#[tokio::test]
async fn a_label_that_is_taken_or_odd_does_not_use_up_the_code() {
    let served = Served::new();
    let code = invite(&served).await;
    let (device, key) = (edge::device_id(), edge::device_key());
    let log = served.log();
    for label in ["two words", &"x".repeat(40), ""] {
        let (exchange, keys) = start(&served, &code).await;
        let mut body = FinishBody { label: label.to_owned(), ..finishing(&exchange, &keys, device, &key) };
        body.proof = Hash(keys.of_device(&said(&body).each()).to_hex().to_string());
        finish(&served, &body).await.is_refused(422, "value-refused");
    }
    assert_eq!(served.log(), log, "nobody was invited");
    let (exchange, keys) = start(&served, &code).await;
    let mut body = FinishBody { label: "box".to_owned(), ..finishing(&exchange, &keys, device, &key) };
    body.proof = Hash(keys.of_device(&said(&body).each()).to_hex().to_string());
    let answer = finish(&served, &body).await;
    assert_eq!(answer.json()["label"], "box-2", "one is called box already");
}

#[tokio::test]
async fn odd_messages_are_refused_and_a_code_for_a_browser_is_none_for_a_device() {
    let served = Served::new();
    let nothing = json!({ "version": 1, "message": "41".repeat(33) });
    post(&served, "start", &nothing).await.is_refused(401, "wrong-code");
    let code = invite(&served).await;
    for (body, status, said) in [
        (json!({ "version": 2, "message": "41".repeat(33) }), 400, "bad-body"),
        (json!({ "version": 1, "message": "41" }), 400, "bad-body"),
        (json!({ "version": 1, "message": "00".repeat(33) }), 400, "bad-body"),
        (json!({ "version": 1 }), 400, "bad-body"),
    ] {
        post(&served, "start", &body).await.is_refused(status, said);
    }
    let browser = served.as_browser("").post("/api/session", &json!({ "code": code.shown() })).await;
    let refused = browser.is_refused(401, "wrong-code");
    assert!(refused["detail"].as_str().unwrap().contains("storypole join"), "{refused}");
    served.send(Method::POST, "/api/invitations", &json!({ "for": "browser", "role": "crew" })).await;
    post(&served, "start", &nothing).await.is_refused(401, "wrong-code");
}

#[tokio::test]
async fn who_hurries_to_join_is_slowed_down() {
    let served = Served::new();
    let body = json!({ "version": 1, "message": "41".repeat(33) });
    let mut slowed = 0;
    for _ in 0..200 {
        slowed += usize::from(post(&served, "start", &body).await.status == 429);
    }
    assert!(slowed > 100, "{slowed}");
}
