//! One-time codes: made by keepers, good once, for one browser, and void after five wrong tries.

use axum::http::{Method, header};
use serde_json::{Value, json};
use storypole_desk::edge;
use storypole_journal::Role;
use storypole_server::Limits;
use storypole_server::access::codes::OneTimeCode;

use crate::asked::{Answer, Served, draft, let_in_as, write};

async fn invite(served: &Served, body: &Value) -> Value {
    let invited = served.send(Method::POST, "/api/invitations", body).await;
    assert_eq!(invited.status, 201, "{}", invited.text());
    invited.json()
}

async fn hand_in(served: &Served, code: &str) -> Answer {
    served.as_browser("").post("/api/session", &json!({ "code": code })).await
}

async fn out(served: &Served) -> Value {
    served.get("/api/invitations").await.json()
}

/// Another code than the one that is out.
fn wrong(code: &str) -> String {
    let first = if code.starts_with('A') { "B" } else { "A" };
    format!("{first}{}", &code[1..])
}

#[tokio::test]
async fn a_code_lets_one_browser_in_as_what_it_was_made_for() {
    let served = Served::with(Limits { key_again: std::time::Duration::ZERO, ..Limits::default() });
    let helper = edge::record_id();
    let fields =
        [("label", "helper"), ("role", "helper")].map(|(field, value)| write(helper, "person", field, value));
    assert_eq!(served.put(edge::draft_id(), &draft(&fields)).await.status, 201);
    let body = json!({ "for": "browser", "role": "crew", "person": "helper", "label": "helper's phone" });
    let invited = invite(&served, &body).await;
    let code = invited["code"].as_str().unwrap();
    assert_eq!(invited["url"], format!("http://localhost:8417/#code={code}"));
    assert!(invited["qr"].as_str().unwrap().starts_with("<svg "), "{invited}");
    assert!(invited["warning"].as_str().unwrap().contains("--address"), "nobody else reaches this one");
    let before = out(&served).await;
    assert_eq!(
        (&before["out"]["person"]["label"], &before["out"]["role"]),
        (&"helper".into(), &"crew".into())
    );
    assert!(!before.to_string().contains(code), "the code is told once");

    let opened = hand_in(&served, &code.to_lowercase().replace('-', " ")).await;
    assert_eq!(opened.status, 201, "{}", opened.text());
    assert_eq!(
        (&opened.json()["role"], &opened.json()["person"]["label"]),
        (&"crew".into(), &"helper".into())
    );
    let cookie = opened.header(header::SET_COOKIE).split(';').next().unwrap().to_owned();
    let browser = served.as_browser(&cookie);
    assert_eq!(browser.get("/api/session").await.json()["role"], "crew");
    browser.get("/api/sessions").await.is_refused(403, "role-too-low");
    let sessions = served.get("/api/sessions").await.json();
    let theirs =
        sessions["sessions"].as_array().unwrap().iter().find(|session| session["role"] == "crew").unwrap();
    assert_eq!((&theirs["label"], &theirs["is_this"]), (&"helper's phone".into(), &false.into()));

    hand_in(&served, code).await.is_refused(401, "wrong-code");
    let after = out(&served).await;
    assert_eq!(
        (&after["out"], &after["last"]["end"], &after["last"]["id"]),
        (&Value::Null, &"used".into(), &invited["id"])
    );
}

/// A browser sends a request again by itself when its answer is lost.
#[tokio::test]
async fn a_code_sent_again_at_once_opens_the_same_session() {
    let served = Served::new();
    let invited = invite(&served, &json!({ "for": "browser", "role": "viewer" })).await;
    let code = invited["code"].as_str().unwrap();
    let (first, again) = (hand_in(&served, code).await, hand_in(&served, code).await);
    assert_eq!((first.status.as_u16(), again.status.as_u16()), (201, 201));
    assert_eq!(first.header(header::SET_COOKIE), again.header(header::SET_COOKIE));
    assert_eq!(again.json()["role"], "viewer");
}

#[tokio::test]
async fn five_wrong_codes_void_the_one_that_is_out_and_the_keeper_sees_it() {
    let served = Served::new();
    let code = invite(&served, &json!({ "for": "browser", "role": "viewer" })).await["code"]
        .as_str()
        .unwrap()
        .to_owned();
    for tries in 1..=4 {
        hand_in(&served, &wrong(&code)).await.is_refused(401, "wrong-code");
        assert_eq!(out(&served).await["out"]["wrong_tries"], tries);
    }
    let fifth = hand_in(&served, &wrong(&code)).await.is_refused(401, "wrong-code");
    assert!(fifth["detail"].as_str().unwrap().contains("void"), "{fifth}");
    hand_in(&served, &code).await.is_refused(401, "wrong-code");
    let after = out(&served).await;
    assert_eq!((&after["out"], &after["last"]["end"]), (&Value::Null, &"voided".into()));
}

#[tokio::test]
async fn ten_thousand_guesses_are_all_refused() {
    let served = Served::new();
    let code = invite(&served, &json!({ "for": "browser", "role": "keeper" })).await["code"]
        .as_str()
        .unwrap()
        .to_owned();
    let held = OneTimeCode::parse(&code).unwrap();
    let (mut wrong, mut slowed) = (0, 0);
    for guess in 0..10_000_u32 {
        let guess = format!("{guess:08}");
        assert_ne!(OneTimeCode::parse(&guess), Ok(held), "one of 2^40, run it again");
        let refused = hand_in(&served, &guess).await;
        match refused.status.as_u16() {
            401 => wrong += 1,
            429 => slowed += 1,
            other => panic!("{other}: {}", refused.text()),
        }
    }
    assert_eq!(wrong + slowed, 10_000);
    assert!(wrong <= 10, "{wrong} were looked at");
    assert_eq!(out(&served).await["last"]["end"], "voided");
    assert_eq!(served.desk.sessions_list().unwrap().len(), 1, "only the keeper's own");
}

#[tokio::test]
async fn one_code_is_out_at_a_time_and_can_be_taken_back() {
    let served = Served::new();
    let body = json!({ "for": "browser", "role": "viewer" });
    let first = invite(&served, &body).await["code"].as_str().unwrap().to_owned();
    let second = invite(&served, &body).await["code"].as_str().unwrap().to_owned();
    hand_in(&served, &first).await.is_refused(401, "wrong-code");
    let taken_back = served
        .answer(served.request(Method::DELETE, "/api/invitations").body(axum::body::Body::empty()).unwrap())
        .await;
    assert_eq!(taken_back.status, 204);
    hand_in(&served, &second).await.is_refused(401, "wrong-code");
    assert_eq!(out(&served).await["last"]["end"], "taken back");
}

#[tokio::test]
async fn what_cannot_be_invited_is_refused() {
    let served = Served::new();
    for (body, status, code) in [
        (json!({ "for": "phone", "role": "crew" }), 400, "bad-body"),
        (json!({ "for": "device", "role": "owner" }), 400, "bad-body"),
        (json!({ "for": "device" }), 400, "bad-body"),
        (json!({ "for": "device", "role": "crew", "person": "nobody" }), 404, "no-such-record"),
        (json!({ "for": "device", "role": "crew", "label": "two words" }), 422, "value-refused"),
        (json!({ "for": "browser", "role": "crew", "label": "x".repeat(81) }), 422, "value-refused"),
    ] {
        served.send(Method::POST, "/api/invitations", &body).await.is_refused(status, code);
    }
    assert_eq!(out(&served).await, json!({ "out": null, "last": null }));
}

#[tokio::test]
async fn browsers_are_shut_out_one_by_one_or_all() {
    let served = Served::new();
    let (one, other) = (let_in_as(&served.desk, Role::Crew), let_in_as(&served.desk, Role::Viewer));
    let list = served.get("/api/sessions").await.json();
    let sessions = list["sessions"].as_array().unwrap();
    assert_eq!(sessions.len(), 3);
    let id = |role: &str| {
        sessions.iter().find(|it| it["role"] == role).unwrap()["id"].as_str().unwrap().to_owned()
    };
    let delete = async |path: String| {
        served.answer(served.request(Method::DELETE, &path).body(axum::body::Body::empty()).unwrap()).await
    };
    assert_eq!(served.as_browser(&one).get("/api/today").await.status, 200);
    assert_eq!(delete(format!("/api/sessions/{}", id("crew"))).await.status, 204);
    served.as_browser(&one).get("/api/today").await.is_refused(401, "no-session");
    delete(format!("/api/sessions/{}", id("crew"))).await.is_refused(404, "no-such-session");
    delete("/api/sessions/0000".to_owned()).await.is_refused(404, "no-such-session");
    let ended = delete("/api/sessions".to_owned()).await;
    assert_eq!((ended.status.as_u16(), ended.json()), (200, json!({ "count": 1 })));
    served.as_browser(&other).get("/api/today").await.is_refused(401, "no-session");
    assert_eq!(served.get("/api/today").await.status, 200, "who asked stays in");
}
