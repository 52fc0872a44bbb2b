//! Who is let in, under which name, and how often.

use std::sync::Arc;
use std::time::Duration;

use axum::body::Body;
use axum::http::{Method, header};
use serde_json::json;
use storypole_desk::{Desk, edge};
use storypole_journal::Role;
use storypole_server::access::cookie_for;
use storypole_server::{App, Limits, Settings, router, wire};

use crate::asked::{Answer, PORT, Served, found, let_in, plain};

async fn hand_in(served: &Served, key: &str) -> Answer {
    let request =
        plain(Method::POST, "/api/session").header(header::CONTENT_TYPE, "application/json; charset=utf-8");
    served.answer(request.body(Body::from(json!({ "key": key }).to_string())).unwrap()).await
}

async fn with_cookie(served: &Served, cookie: &str) -> Answer {
    let request = plain(Method::GET, "/api/session").header(header::COOKIE, cookie);
    served.answer(request.body(Body::empty()).unwrap()).await
}

#[tokio::test]
async fn a_key_works_once_and_only_its_hash_is_kept() {
    let served = Served::with(Limits { key_again: Duration::ZERO, ..Limits::default() });
    let key = served.app.access().issue_key();
    let opened = hand_in(&served, &key).await;
    assert_eq!(opened.status, 201, "{}", opened.text());
    let set = opened.header(header::SET_COOKIE).to_owned();
    let (cookie, manner) = set.split_once("; ").unwrap();
    assert_eq!(manner, "Path=/; Max-Age=7776000; HttpOnly; SameSite=Strict");
    let (name, value) = cookie.split_once('=').unwrap();
    assert_eq!(name, format!("storypole-{}", &served.desk.notebook().to_string()[28..]));
    assert_eq!(value.len(), 43);
    let session: wire_session::Session = serde_json::from_slice(&opened.body).unwrap();
    assert_eq!(session.person.label.as_deref(), Some("lead"));
    assert_eq!(session.notebook.name, "Mill house");
    assert_eq!(session.device.label.as_deref(), Some("box"));

    let shown = with_cookie(&served, cookie).await;
    assert_eq!(shown.status, 200);
    assert_eq!(shown.json()["person"], opened.json()["person"]);
    hand_in(&served, &key).await.is_refused(401, "wrong-key");

    served.desk.sessions_list().unwrap();
    for entry in std::fs::read_dir(served.desk.path()).unwrap() {
        let path = entry.unwrap().path();
        let bytes = if path.is_file() { std::fs::read(&path).unwrap() } else { Vec::new() };
        let holds = |secret: &str| bytes.windows(secret.len()).any(|piece| piece == secret.as_bytes());
        assert!(!holds(value) && !holds(&key), "{}", path.display());
    }
}

use storypole_server::access::session as wire_session;

/// A browser whose connection breaks before the answer sends the request again without telling the page.
#[tokio::test]
async fn a_key_sent_again_at_once_opens_the_same_session() {
    let served = Served::new();
    let key = served.app.access().issue_key();
    let (first, again) = (hand_in(&served, &key).await, hand_in(&served, &key).await);
    assert_eq!((first.status.as_u16(), again.status.as_u16()), (201, 201));
    assert_eq!(first.header(header::SET_COOKIE), again.header(header::SET_COOKIE));
    assert_eq!(served.desk.sessions_list().unwrap().len(), 2, "the test's own and this one");
}

#[tokio::test]
async fn a_new_key_voids_the_one_before() {
    let served = Served::new();
    let first = served.app.access().issue_key();
    let second = served.app.access().issue_key();
    hand_in(&served, &first).await.is_refused(401, "wrong-key");
    assert_eq!(hand_in(&served, &second).await.status, 201);
}

#[tokio::test]
async fn wrong_keys_are_not_looked_at_for_ever() {
    let served = Served::new();
    let key = served.app.access().issue_key();
    for _ in 0..10 {
        hand_in(&served, "guess").await.is_refused(401, "wrong-key");
    }
    let refused = hand_in(&served, "guess").await;
    refused.is_refused(429, "slow-down");
    let wait: u64 = refused.header(header::RETRY_AFTER).parse().unwrap();
    assert!((1..=60).contains(&wait), "{wait}");
    // Or else a guess could be told from a hit by its answer.
    hand_in(&served, &key).await.is_refused(429, "slow-down");
    assert_eq!(with_cookie(&served, &served.cookie).await.status, 200, "those who are in stay in");
}

#[tokio::test]
async fn the_body_with_the_key_is_read_as_any_other() {
    let served = Served::new();
    served.app.access().issue_key();
    let long = format!("{{\"key\":\"{}\"}}", "k".repeat(4096));
    for (kind, body, status, code) in [
        ("application/json", "{", 400, "not-json"),
        ("application/json", "{}", 400, "bad-body"),
        ("application/json", "{\"key\":1}", 400, "bad-body"),
        ("application/json", "{\"key\":\"a\",\"code\":\"7KQ2-M9XD\"}", 400, "bad-body"),
        ("application/json", "{\"code\":\"7KQ2\"}", 401, "wrong-code"),
        ("application/json", "{\"code\":\"7KQ2-M9XD\"}", 401, "wrong-code"),
        ("application/json", "{\"key\":\"a\",\"label\":\"\\u0007\"}", 422, "value-refused"),
        ("application/json", "{\"key\":\"a\",\"more\":1}", 400, "bad-body"),
        ("text/plain", "{\"key\":\"a\"}", 415, "wrong-media-type"),
        ("application/json", &long, 413, "body-too-large"),
    ] {
        let request = plain(Method::POST, "/api/session").header(header::CONTENT_TYPE, kind);
        let answer = served.answer(request.body(Body::from(body.to_owned())).unwrap()).await;
        answer.is_refused(status, code);
    }
}

#[tokio::test]
async fn few_bodies_with_a_key_are_read_at_once() {
    let served = Served::with(Limits { keys_at_once: 0, ..Limits::default() });
    let key = served.app.access().issue_key();
    hand_in(&served, &key).await.is_refused(503, "busy");
    assert_eq!(with_cookie(&served, &served.cookie).await.status, 200, "those who are in do not wait");
}

#[tokio::test]
async fn a_session_ends_when_its_browser_goes_out() {
    let served = Served::new();
    let other = let_in(&served.desk);
    let request = served.request(Method::DELETE, "/api/session").body(Body::empty()).unwrap();
    let ended = served.answer(request).await;
    assert_eq!(ended.status, 204);
    assert!(ended.header(header::SET_COOKIE).contains("=; Path=/; Max-Age=0;"), "{ended:?}");
    with_cookie(&served, &served.cookie).await.is_refused(401, "no-session");
    assert_eq!(with_cookie(&served, &other).await.status, 200, "others stay in");
}

#[tokio::test]
async fn a_session_outlives_the_server() {
    let Served { desk, app, router: before, cookie, folder } = Served::new();
    let key = app.access().issue_key();
    drop((app, before));
    let path = desk.path().to_owned();
    drop(Arc::into_inner(desk).expect("nobody else asks it"));
    let served = Served::over(Desk::open(&path).unwrap(), folder, Limits::default());
    assert_eq!(with_cookie(&served, &cookie).await.status, 200);
    hand_in(&served, &key).await.is_refused(401, "wrong-key");
}

#[tokio::test]
async fn a_session_lasts_90_days() {
    let served = Served::new();
    let day_ms = 24 * 60 * 60 * 1000;
    for (days, status) in [(89, 200), (91, 401)] {
        let (cookie, hash) = cookie_for(served.desk.notebook());
        let made_ms = edge::now_ms() - days * day_ms;
        served.desk.session_add(hash, served.desk.author(), Role::Keeper, None, made_ms).unwrap();
        assert_eq!(with_cookie(&served, &cookie).await.status, status, "{days} days");
    }
}

#[tokio::test]
async fn the_cookie_of_another_notebook_opens_nothing() {
    let served = Served::new();
    let folder = tempfile::tempdir().unwrap();
    let other = found(&folder.path().join("other"));
    let cookie = let_in(&other);
    let (_, value) = cookie.split_once('=').unwrap();
    let (name, _) = served.cookie.split_once('=').unwrap();
    for cookie in [cookie.clone(), format!("{name}={value}"), format!("theme=night; {cookie}")] {
        let problem = with_cookie(&served, &cookie).await.is_refused(401, "no-session");
        assert_eq!(problem["next"], "open the address that `storypole serve` printed");
    }
    let both = format!("theme=night; storypole-00000000={value}; {}", served.cookie);
    assert_eq!(with_cookie(&served, &both).await.status, 200, "other cookies are ignored");
}

#[tokio::test]
async fn checks_come_in_their_order() {
    let served = Served::new();
    let own = format!("localhost:{PORT}");
    let origin = format!("http://localhost:{PORT}");
    for (host, from, cookie, path, status, code) in [
        ("box.example", "http://box.example", "", "/api/nothing", 421, "wrong-host"),
        ("box.example", "", &served.cookie, "/", 421, "wrong-host"),
        (&own, "http://box.example", "", "/api/nothing", 403, "wrong-origin"),
        (&own, "http://box.example", &served.cookie, "/api/session", 403, "wrong-origin"),
        (&own, &origin, "", "/api/nothing", 401, "no-session"),
        (&own, "", "", "/nothing", 401, "no-session"),
        (&own, &origin, &served.cookie, "/api/nothing", 404, "no-such-route"),
        (&own, "", &served.cookie, "/nothing", 404, "no-such-route"),
        (&own, "", "", "/assets/nothing.js", 404, "no-such-route"),
        (&own, "", "", "/assets/../api/session", 404, "no-such-route"),
        (&own, "", "", "/icons/%2e%2e/%2e%2e/device.key", 404, "no-such-route"),
        (&own, "", &served.cookie, "/api/../device.key", 404, "no-such-route"),
    ] {
        let mut request = axum::http::Request::builder().uri(path).header(header::HOST, host);
        for (name, value) in [(header::ORIGIN, from), (header::COOKIE, cookie)] {
            if !value.is_empty() {
                request = request.header(name, value);
            }
        }
        let answer = served.answer(request.body(Body::empty()).unwrap()).await;
        answer.is_refused(status, code);
    }
}

/// The document lists every route; the keyless ones among them are named here.
#[tokio::test]
async fn every_route_but_what_lets_one_in_needs_a_session() {
    let served = Served::new();
    let document = serde_json::to_value(wire::openapi()).unwrap();
    let mut asked = 0;
    for (path, operations) in document["paths"].as_object().unwrap() {
        for method in operations.as_object().unwrap().keys() {
            let Ok(method) = Method::from_bytes(method.to_uppercase().as_bytes()) else { continue };
            if !["GET", "PUT", "POST", "DELETE"].contains(&method.as_str()) {
                continue;
            }
            let lets_in = [
                "/api/session",
                "/api/join/start",
                "/api/join/finish",
                "/api/sync/greeting",
                "/api/sync/key",
            ];
            if method == Method::POST && lets_in.contains(&path.as_str()) {
                continue;
            }
            let path = path.replace(['{', '}'], "");
            let request = plain(method.clone(), &path).body(Body::from("{}")).unwrap();
            let problem = served.answer(request).await.is_refused(401, "no-session");
            assert!(problem["detail"].as_str().is_some(), "{method} {path}");
            asked += 1;
        }
    }
    assert!(asked >= 30, "{asked} routes");
}

#[tokio::test]
async fn a_browser_that_hurries_is_slowed_down() {
    let served = Served::with(Limits { requests_a_second: 1, burst: 3, ..Limits::default() });
    let other = let_in(&served.desk);
    for _ in 0..3 {
        assert_eq!(with_cookie(&served, &served.cookie).await.status, 200);
    }
    let refused = with_cookie(&served, &served.cookie).await;
    refused.is_refused(429, "slow-down");
    assert_eq!(refused.header(header::RETRY_AFTER), "1");
    assert_eq!(with_cookie(&served, &other).await.status, 200, "others do not wait for it");
}

#[tokio::test]
async fn a_crowd_is_told_to_wait() {
    let served = Served::with(Limits { in_flight: 0, ..Limits::default() });
    let refused = with_cookie(&served, &served.cookie).await;
    refused.is_refused(503, "busy");
    assert_eq!(refused.header(header::RETRY_AFTER), "1");
}

#[tokio::test]
async fn a_router_for_another_port_has_another_name() {
    let served = Served::new();
    let moved = router(App::new(Arc::clone(&served.desk)), Settings { port: PORT + 1 });
    let served = Served { router: moved, ..served };
    with_cookie(&served, &served.cookie).await.is_refused(421, "wrong-host");
}
