//! Devices over HTTP: listing them, naming, revoking and letting them in.

use axum::http::Method;
use serde_json::{Value, json};
use storypole_desk::desk::{Joining, Newcomer};
use storypole_desk::{Desk, edge};
use storypole_journal::{DeviceId, Role};

use crate::asked::{AT, Served};

/// A device that was invited, and wrote a site.
fn tablet(served: &Served, role: Role) -> DeviceId {
    let newcomer = Newcomer { device: edge::device_id(), key: edge::device_key() };
    let device = newcomer.device;
    served.desk.invite(device, newcomer.key.public(), role, AT).unwrap();
    let founder_key = served.desk.public_key().unwrap();
    let joining = Joining { notebook: served.desk.notebook(), founder_key, author: served.desk.author() };
    let tablet = Desk::join_as(&served.folder.path().join(device.to_string()), &joining, newcomer).unwrap();
    carry(&served.desk, &tablet);
    if role != Role::Viewer {
        let mut compose = tablet.compose(AT);
        let name = storypole_notebook::Value::Text("S1".to_owned());
        compose.set(edge::record_id(), "site", "label", &name).unwrap();
        tablet.take(compose.finish()).unwrap();
    }
    carry(&tablet, &served.desk);
    device
}

fn carry(from: &Desk, to: &Desk) {
    let theirs = to.read(|reader| reader.vector()).unwrap();
    to.receive(from.since(&theirs, usize::MAX).unwrap()).unwrap();
}

async fn listed(served: &Served, device: DeviceId) -> Value {
    let devices = served.get("/api/devices").await.json();
    let all = devices["devices"].as_array().unwrap();
    all.iter().find(|one| one["id"] == device.to_string()).unwrap_or_else(|| panic!("{devices}")).clone()
}

#[tokio::test]
async fn devices_are_listed_with_how_much_of_them_is_here() {
    let served = Served::new();
    let device = tablet(&served, Role::Crew);
    let devices = served.get("/api/devices").await.json();
    assert_eq!((&devices["may_invite"], &devices["set_aside"]), (&json!(true), &json!([])));
    let own = &devices["devices"][0];
    assert_eq!((&own["is_this"], &own["label"], &own["depth"]), (&json!(true), &json!("box"), &json!(0)));
    let one = listed(&served, device).await;
    assert_eq!((&one["held"], &one["counted"], &one["revoked_at"]), (&json!(1), &json!(1), &Value::Null));
    assert_eq!((&one["label"], &one["depth"], &one["last_seen"]), (&Value::Null, &json!(1), &Value::Null));
    assert!(one["last_written"].as_str().unwrap().starts_with("2025-03-04T"), "{one}");
}

#[tokio::test]
async fn a_device_is_named_revoked_and_let_in_again() {
    let served = Served::new();
    let device = tablet(&served, Role::Crew);
    let path = |what: &str| format!("/api/devices/{device}/{what}");
    let named =
        served.send(Method::PUT, &path("name"), &json!({ "label": "tablet", "person": "lead" })).await;
    assert_eq!((named.status.as_u16(), &named.json()["label"]), (200, &json!("tablet")), "{}", named.text());
    assert_eq!(named.json()["person"]["label"], "lead");

    let because = json!({ "reason": "lost" });
    let revoked = served.send(Method::POST, &path("revoke"), &because).await;
    assert_eq!(
        (revoked.status.as_u16(), &revoked.json()["revoked_at"]),
        (200, &json!(1)),
        "{}",
        revoked.text()
    );
    served.send(Method::POST, &path("revoke"), &because).await.is_refused(409, "revoked-already");
    let let_in = served.send(Method::POST, &path("let-in"), &because).await;
    assert_eq!(
        (let_in.status.as_u16(), &let_in.json()["revoked_at"]),
        (200, &Value::Null),
        "{}",
        let_in.text()
    );
    served.send(Method::POST, &path("let-in"), &because).await.is_refused(409, "not-revoked");
    served.send(Method::POST, &path("let-in-branch"), &because).await.is_refused(409, "not-revoked");
}

#[tokio::test]
async fn what_cannot_be_decided_is_refused() {
    let served = Served::new();
    let device = tablet(&served, Role::Viewer);
    let log = served.log();
    let (nobody, own) = (edge::device_id(), served.desk.device());
    let because = json!({ "reason": "lost" });
    for (method, path, body, status, code) in [
        (Method::POST, format!("{nobody}/revoke"), &because, 404, "no-such-device"),
        (Method::POST, format!("{nobody}/let-in"), &because, 404, "no-such-device"),
        (Method::POST, "tablet/revoke".to_owned(), &because, 400, "bad-path"),
        (Method::POST, format!("{device}/revoke"), &json!({ "reason": " " }), 422, "reason-missing"),
        (Method::POST, format!("{device}/revoke"), &json!({}), 400, "bad-body"),
        (Method::POST, format!("{own}/revoke"), &because, 409, "only-keeper"),
        (Method::PUT, format!("{nobody}/name"), &json!({ "label": "x" }), 404, "no-such-device"),
        (Method::PUT, format!("{device}/name"), &json!({ "label": "two words" }), 422, "value-refused"),
        (
            Method::PUT,
            format!("{device}/name"),
            &json!({ "label": "x", "person": "nobody" }),
            404,
            "no-such-record",
        ),
    ] {
        served.send(method, &format!("/api/devices/{path}"), body).await.is_refused(status, code);
    }
    assert_eq!(served.log(), log);
}
