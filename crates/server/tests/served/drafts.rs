//! Writing: what is taken, what is refused and with which code, and that a refusal leaves nothing behind.

use axum::body::Body;
use axum::http::{Method, header};
use serde_json::{Value, json};
use storypole_desk::{Desk, Known, edge, folder::DataFolder};
use storypole_journal::{DraftId, RecordId};
use storypole_server::Limits;

use crate::asked::{Served, draft, found, write};

const LEVEL: &str = "69.1 dBA";

#[tokio::test]
async fn a_draft_is_taken_once() {
    let served = Served::new();
    let (id, site) = (edge::draft_id(), edge::record_id());
    let body = draft(&[write(site, "site", "label", "S1"), write(site, "site", "name", "Mill house")]);
    let first = served.put(id, &body).await;
    assert_eq!(first.status, 201, "{}", first.text());
    let first = first.json();
    assert_eq!(first["records"], json!([{ "kind": "site", "id": site.to_string() }]));
    assert_eq!(first["draft"], id.to_string());
    assert_eq!(first["device"], served.desk.device().to_string());
    assert!(first["new"] == true && first["seq"].is_u64(), "{first}");
    let log = served.log();
    let again = served.put(id, &body).await;
    assert_eq!(again.status, 200);
    assert!(again.json()["new"] == false && again.json()["seq"].is_null(), "{}", again.text());
    let other = draft(&[write(site, "site", "label", "S2")]);
    served.put(id, &other).await.is_refused(409, "draft-reused");
    assert_eq!(served.log(), log);
    assert_eq!(served.desk.labelled("site", "S1"), [site]);
}

#[tokio::test]
async fn a_draft_meant_for_another_notebook_is_refused() {
    let served = Served::new();
    let folder = tempfile::tempdir().unwrap();
    let other = found(&folder.path().join("other")).notebook().to_string();
    let own = served.desk.notebook().to_string();
    let log = served.log();
    let both = [own.as_str(), other.as_str()];
    for (said, is_taken) in [
        (&[other.as_str()][..], false),
        (&[""], false),
        (&["no id"], false),
        (&["caf\u{e9}"], false),
        (&both, false),
        (&[own.as_str()], true),
        (&[], true),
    ] {
        let path = format!("/api/drafts/{}", edge::draft_id());
        let mut request = served.request(Method::PUT, &path).header(header::CONTENT_TYPE, "application/json");
        for said in said {
            request = request.header("storypole-notebook", said.as_bytes());
        }
        let answer = served.answer(request.body(Body::from(odd(json!({})).to_string())).unwrap()).await;
        if is_taken {
            assert_eq!(answer.status, 201, "{said:?}: {}", answer.text());
        } else {
            answer.is_refused(409, "other-notebook");
            assert_eq!(served.log(), log, "{said:?}");
        }
    }
}

/// One write that differs from a legal one in the members given.
fn odd(members: Value) -> Value {
    let mut write = write(edge::record_id(), "site", "name", "Mill house");
    for (name, value) in members.as_object().unwrap() {
        write[name] = value.clone();
    }
    draft(&[write])
}

/// A draft that differs from a legal one in the members given.
fn around(members: Value) -> Value {
    let mut body = odd(json!({}));
    for (name, value) in members.as_object().unwrap() {
        body[name] = value.clone();
    }
    body
}

#[tokio::test]
async fn each_fault_has_its_code_and_changes_nothing() {
    let served = Served::new();
    let log = served.log();
    let record = edge::record_id();
    let head = format!("{}/0", edge::draft_id());
    let twice = [write(record, "site", "name", "a"), write(record, "site", "name", "b")];
    let many: Vec<Value> = (0..10_001).map(|_| json!(0)).collect();
    let own = edge::draft_id();
    for (body, status, code, field) in [
        (odd(json!({ "kind": "laser_scan" })), 422, "unknown-kind", json!([0, "laser_scan", "name"])),
        (odd(json!({ "field": "flood_zone" })), 422, "unknown-field", json!([0, "site", "flood_zone"])),
        (odd(json!({ "field": "Not A Name" })), 422, "unknown-field", json!([0, "site", "Not A Name"])),
        (odd(json!({ "value": " " })), 422, "value-refused", json!([0, "site", "name"])),
        (odd(json!({ "value": "x".repeat(121) })), 422, "value-refused", json!([0, "site", "name"])),
        (odd(json!({ "value": "a\u{7}b" })), 422, "value-refused", json!([0, "site", "name"])),
        (odd(json!({ "field": "label", "value": "S 1" })), 422, "value-refused", json!([0, "site", "label"])),
        (
            odd(json!({ "field": "built_year", "value": "old" })),
            422,
            "value-refused",
            json!([0, "site", "built_year"]),
        ),
        (
            odd(json!({ "kind": "reading", "field": "value", "value": "59,0 dBA" })),
            422,
            "value-refused",
            json!([0, "reading", "value"]),
        ),
        (
            odd(json!({ "kind": "reading", "field": "set", "value": "T18" })),
            422,
            "value-refused",
            json!([0, "reading", "set"]),
        ),
        (
            odd(json!({ "kind": "reading", "field": "value", "value": LEVEL, "seen": [head] })),
            422,
            "reason-missing",
            json!([0, "reading", "value"]),
        ),
        (
            odd(json!({ "field": "struck", "value": "twice" })),
            422,
            "reason-missing",
            json!([0, "site", "struck"]),
        ),
        (odd(json!({ "reason": "" })), 422, "draft-refused", json!([0, "site", "name"])),
        (odd(json!({ "reason": "x".repeat(2_001) })), 422, "draft-refused", json!([0, "site", "name"])),
        (odd(json!({ "seen": [format!("{own}/0")] })), 422, "draft-refused", json!([0, "site", "name"])),
        (draft(&twice), 422, "draft-refused", json!([1, "site", "name"])),
        (draft(&[]), 422, "draft-refused", Value::Null),
        (odd(json!({ "seen": [head] })), 409, "sync-first", Value::Null),
        (around(json!({ "author": edge::record_id().to_string() })), 422, "unknown-author", Value::Null),
        (odd(json!({ "seen": ["x"] })), 400, "bad-body", json!([0, "site", "name"])),
        (odd(json!({ "record": "S1" })), 400, "bad-body", json!([0, "site", "name"])),
        (odd(json!({ "colour": "green" })), 400, "bad-body", Value::Null),
        (odd(json!({ "value": 7 })), 400, "bad-body", Value::Null),
        (odd(json!({ "seen": "x" })), 400, "bad-body", Value::Null),
        (around(json!({ "colour": "green" })), 400, "bad-body", Value::Null),
        (around(json!({ "author": "lead" })), 400, "bad-body", Value::Null),
        (around(json!({ "written_at": "yesterday" })), 400, "bad-body", Value::Null),
        (around(json!({ "written_at": "2025-03-04T10:00:00" })), 400, "bad-body", Value::Null),
        (around(json!({ "written_at": "0001-01-01T00:00:00Z" })), 400, "bad-body", Value::Null),
        (around(json!({ "written_at": 1 })), 400, "bad-body", Value::Null),
        (around(json!({ "writes": {} })), 400, "bad-body", Value::Null),
        // Members by their place, which a reader of structs would take.
        (
            around(json!({ "writes": [[edge::record_id().to_string(), "site", "name", "x"]] })),
            400,
            "bad-body",
            Value::Null,
        ),
        (json!(["2025-03-04T10:00:00-05:00", null, []]), 400, "bad-body", Value::Null),
        (around(json!({ "writes": many })), 400, "bad-body", Value::Null),
        (json!([]), 400, "bad-body", Value::Null),
        (json!(null), 400, "bad-body", Value::Null),
        (json!({}), 400, "bad-body", Value::Null),
    ] {
        let problem = served.put(own, &body).await.is_refused(status, code);
        let at = &problem["field"];
        let at = if at.is_null() { Value::Null } else { json!([at["write"], at["kind"], at["field"]]) };
        assert_eq!(at, field, "{problem}");
        assert_eq!(served.log(), log, "{problem}");
    }
}

#[tokio::test]
async fn bodies_that_are_no_json_are_told_apart() {
    let served = Served::new();
    let log = served.log();
    let path = format!("/api/drafts/{}", edge::draft_id());
    let deep = format!("{{\"writes\":{}", "[".repeat(100_000));
    let legal = odd(json!({})).to_string();
    let long = around(json!({ "written_at": "x".repeat(1 << 20) })).to_string();
    let json = "application/json";
    for (kind, body, status, code) in [
        (Some(json), "{", 400, "not-json"),
        (Some(json), "", 400, "not-json"),
        (Some(json), "\u{feff}{}", 400, "not-json"),
        (Some(json), "{'written_at':1}", 400, "not-json"),
        (Some(json), &format!("{legal} {legal}"), 400, "not-json"),
        (Some(json), &deep, 400, "bad-body"),
        (Some(json), &"[".repeat(100_000), 400, "bad-body"),
        (Some(json), &long, 413, "body-too-large"),
        (None, &legal, 415, "wrong-media-type"),
        (Some("text/json"), &legal, 415, "wrong-media-type"),
        (Some("application/x-www-form-urlencoded"), &legal, 415, "wrong-media-type"),
        (Some("application/jsonp"), &legal, 415, "wrong-media-type"),
        (Some("application/cbor"), &legal, 415, "wrong-media-type"),
    ] {
        let mut request = served.request(Method::PUT, &path);
        if let Some(kind) = kind {
            request = request.header(header::CONTENT_TYPE, kind);
        }
        let answer = served.answer(request.body(Body::from(body.to_owned())).unwrap()).await;
        answer.is_refused(status, code);
        assert_eq!(served.log(), log);
    }
    // A body that does not tell its length is stopped where it grows too long.
    let pieces = Body::new(http_body_util::Full::new(axum::body::Bytes::from(long.clone())));
    let request = served.request(Method::PUT, &path).header(header::CONTENT_TYPE, json).body(pieces).unwrap();
    served.answer(request).await.is_refused(413, "body-too-large");
}

#[tokio::test]
async fn the_limit_of_a_body_is_its_last_byte() {
    let legal = odd(json!({})).to_string();
    for (limit, status) in [(legal.len(), 201), (legal.len() - 1, 413)] {
        let served = Served::with(Limits { json_bytes: limit, ..Limits::default() });
        let request = served
            .request(Method::PUT, &format!("/api/drafts/{}", edge::draft_id()))
            .header(header::CONTENT_TYPE, "Application/JSON; charset=utf-8");
        let answer = served.answer(request.body(Body::from(legal.clone())).unwrap()).await;
        assert_eq!(answer.status, status, "{}", answer.text());
    }
}

#[tokio::test]
async fn the_name_of_a_draft_is_a_uuid() {
    let served = Served::new();
    for name in ["1", "not-an-id", "%2e%2e", "01957a203c007b118a6e5d2f4c1b9e70", "%ff", "a%00b"] {
        let answer = served.send(Method::PUT, &format!("/api/drafts/{name}"), &odd(json!({}))).await;
        answer.is_refused(400, "bad-path");
    }
    served.get(&format!("/api/drafts/{}", edge::draft_id())).await.is_refused(405, "method-not-allowed");
}

#[tokio::test]
async fn a_correction_a_strike_and_its_end() {
    let served = Served::new();
    let reading = edge::record_id();
    let first = edge::draft_id();
    let taken = served.put(first, &draft(&[write(reading, "reading", "value", LEVEL)])).await;
    assert_eq!(taken.status, 201, "{}", taken.text());
    let value =
        |served: &Served| served.desk.value(reading, "reading", "value").map(|value| value.to_string());
    let change = |field: &str, value: Value, seen: DraftId| {
        draft(&[json!({
            "record": reading.to_string(), "kind": "reading", "field": field, "value": value,
            "seen": [format!("{seen}/0"), format!("{seen}/0")], "reason": "digits swapped",
        })])
    };
    let corrected = edge::draft_id();
    assert_eq!(served.put(corrected, &change("value", json!("61.9 dBA"), first)).await.status, 201);
    assert_eq!(value(&served).as_deref(), Some("61.9 dBA"));
    assert_eq!(served.desk.heads(reading, "reading", "value").len(), 1);

    let struck = edge::draft_id();
    let strike = json!({ "record": reading.to_string(), "kind": "reading", "field": "struck",
        "value": "taken in the wrong room", "reason": "taken in the wrong room" });
    assert_eq!(served.put(struck, &draft(&[strike])).await.status, 201);
    let live = |served: &Served| served.desk.matching("reading", &[]).len();
    assert_eq!(live(&served), 0);
    assert_eq!(served.put(edge::draft_id(), &change("struck", Value::Null, struck)).await.status, 201);
    assert_eq!(live(&served), 1);

    assert_eq!(served.put(edge::draft_id(), &change("value", Value::Null, corrected)).await.status, 201);
    assert_eq!(value(&served), None, "null clears");
}

#[tokio::test]
async fn money_is_read_in_the_notebooks_currency() {
    let served = Served::new();
    let person = edge::record_id();
    let body = draft(&[write(person, "person", "label", "helper"), write(person, "person", "rate", "31.50")]);
    assert_eq!(served.put(edge::draft_id(), &body).await.status, 201);
    let rate = served.desk.value(person, "person", "rate").unwrap();
    assert_eq!(rate, storypole_notebook::Value::Money(storypole_units::Money::parse("31.50 USD").unwrap()));
}

#[tokio::test]
async fn another_person_may_be_the_author() {
    let served = Served::new();
    let helper = edge::record_id();
    let body =
        draft(&[write(helper, "person", "label", "helper"), write(helper, "person", "role", "helper")]);
    assert_eq!(served.put(edge::draft_id(), &body).await.status, 201);
    let site = edge::record_id();
    let mut body = draft(&[write(site, "site", "label", "S1")]);
    body["author"] = json!(helper.to_string());
    assert_eq!(served.put(edge::draft_id(), &body).await.status, 201);
    let author = |record: RecordId| served.desk.read(|reader| reader.history(record)).unwrap()[0].author;
    assert_eq!((author(site), author(helper)), (helper, served.desk.author()));
}

#[tokio::test]
async fn a_device_that_was_not_invited_may_not_write() {
    let folder = tempfile::tempdir().unwrap();
    let founder = found(&folder.path().join("founder"));
    let joining = storypole_desk::desk::Joining {
        notebook: founder.notebook(),
        founder_key: founder.public_key().unwrap(),
        author: founder.author(),
    };
    let joined = Desk::join(&folder.path().join("joined"), &joining).unwrap();
    let served = Served::over(joined, folder, Limits::default());
    served.put(edge::draft_id(), &odd(json!({}))).await.is_refused(403, "role-too-low");
}

#[tokio::test]
async fn the_folder_is_held_while_it_is_served() {
    let served = Served::new();
    assert!(DataFolder::take(served.desk.path()).is_err());
}
