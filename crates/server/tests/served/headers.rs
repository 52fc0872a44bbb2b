//! What every answer carries, and what is packed or held already.

use std::collections::BTreeSet;

use axum::body::Body;
use axum::http::{HeaderName, Method, header};
use serde_json::json;
use storypole_desk::edge;

use crate::asked::{Answer, Served, draft, plain, write};

const POLICY: &str = "default-src 'self'; img-src 'self' blob: data:; style-src 'self'; object-src 'none'; \
                      base-uri 'none'; frame-ancestors 'none'";

async fn ask(served: &Served, method: Method, path: &str, head: &[(HeaderName, &str)]) -> Answer {
    let mut request = served.request(method, path);
    for (name, value) in head {
        request = request.header(name, *value);
    }
    served.answer(request.body(Body::empty()).unwrap()).await
}

#[tokio::test]
async fn every_kind_of_answer_is_guarded() {
    let served = Served::new();
    let tag = ask(&served, Method::GET, "/api/marks", &[]).await.header(header::ETAG).to_owned();
    let mut answers =
        vec![served.answer(plain(Method::GET, "/api/health").body(Body::empty()).unwrap()).await];
    for (method, path) in [
        (Method::GET, "/"),
        (Method::HEAD, "/index.html"),
        (Method::GET, "/api/health"),
        (Method::GET, "/api/session"),
        (Method::GET, "/api/openapi.json"),
        (Method::GET, "/api/problems/busy"),
        (Method::GET, "/api/nothing"),
        (Method::POST, "/api/health"),
        (Method::POST, "/api/attachments"),
        (Method::PUT, "/api/drafts/x"),
        (Method::GET, "/api/attachments/x"),
        (Method::DELETE, "/api/session"),
    ] {
        answers.push(ask(&served, method, path, &[]).await);
    }
    let served = Served::new();
    answers.push(ask(&served, Method::GET, "/api/marks", &[(header::HOST, "box.example")]).await);
    answers.push(ask(&served, Method::GET, "/api/marks", &[(header::IF_NONE_MATCH, &tag)]).await);
    let statuses: BTreeSet<u16> = answers.iter().map(|answer| answer.status.as_u16()).collect();
    assert_eq!(statuses, BTreeSet::from([200, 204, 400, 401, 404, 405, 415, 421, 422]), "kinds of answers");
    let mut ids = BTreeSet::new();
    for answer in &answers {
        let id = answer.header(HeaderName::from_static("x-request-id"));
        // A UUIDv7: RFC 9562 section 5.7.
        assert_eq!((id.len(), &id[14..15]), (36, "7"), "{id}");
        assert!(ids.insert(id.to_owned()), "{id} names two requests");
        assert_eq!(answer.header(header::X_CONTENT_TYPE_OPTIONS), "nosniff");
        assert_eq!(answer.header(header::REFERRER_POLICY), "no-referrer");
        assert_eq!(answer.header(header::CONTENT_SECURITY_POLICY), POLICY);
        let permissions = answer.header(HeaderName::from_static("permissions-policy"));
        assert_eq!(permissions, "microphone=(self), camera=(self), geolocation=()");
        assert!(answer.headers.contains_key(header::CACHE_CONTROL));
    }
}

#[tokio::test]
async fn what_the_client_holds_is_not_sent_again() {
    let served = Served::new();
    let first = ask(&served, Method::GET, "/api/marks", &[]).await;
    assert_eq!(first.header(header::CACHE_CONTROL), "private, no-cache");
    let tag = first.header(header::ETAG).to_owned();
    let strong = tag.strip_prefix("W/").expect("packed or not, one tag: so it is weak").to_owned();
    for held in [tag.as_str(), strong.as_str(), "*", &format!("\"other\", {tag}")] {
        let held = ask(&served, Method::GET, "/api/marks", &[(header::IF_NONE_MATCH, held)]).await;
        assert_eq!((held.status.as_u16(), held.body.len()), (304, 0));
        assert_eq!(held.header(header::ETAG), tag);
    }
    let held = (header::IF_NONE_MATCH, tag.as_str());
    let other_url = ask(&served, Method::GET, "/api/tasks", std::slice::from_ref(&held)).await;
    assert_eq!(other_url.status, 200);
    for coding in ["gzip", "gzip;q=0", "x-gzip", "gzip;q=0.001", "*"] {
        let head = [held.clone(), (header::ACCEPT_ENCODING, coding)];
        assert_eq!(ask(&served, Method::GET, "/api/marks", &head).await.status, 304, "{coding}");
    }
    served.site("S1").await;
    let moved = ask(&served, Method::GET, "/api/marks", &[held]).await;
    assert_eq!(moved.status, 200);
    assert_ne!(moved.header(header::ETAG), tag);
}

/// Whether this device has a file can change without a change of the notebook.
#[tokio::test]
async fn which_files_are_held_is_told_anew_each_time() {
    let served = Served::new();
    let site = served.site("S1").await;
    let content = b"a photo".to_vec();
    let keep =
        |served: &Served| served.request(Method::POST, "/api/attachments").body(Body::from(content.clone()));
    let elsewhere = Served::new();
    let kept = elsewhere.answer(keep(&elsewhere).unwrap()).await.json();
    let hash = kept["hash"].as_str().unwrap();
    let photo = edge::record_id();
    let about =
        json!({ "record": photo.to_string(), "kind": "photo", "field": "about", "value": site.to_string() });
    let writes = [about, write(photo, "photo", "name", "a.jpg"), write(photo, "photo", "hash", hash)];
    let put = served.put(edge::draft_id(), &draft(&writes)).await;
    assert_eq!(put.status, 201, "{}", put.text());
    for is_held in [false, true] {
        let files = ask(&served, Method::GET, "/api/files?about=S1", &[(header::IF_NONE_MATCH, "*")]).await;
        assert_eq!(files.status, 200);
        assert_eq!(files.header(header::CACHE_CONTROL), "no-store");
        assert!(!files.headers.contains_key(header::ETAG));
        assert_eq!(files.json()["files"][0]["held"], is_held, "{}", files.text());
        assert!(served.answer(keep(&served).unwrap()).await.status.is_success());
    }
}

#[tokio::test]
async fn long_answers_are_packed_where_that_helps() {
    let served = Served::new();
    let gzip = (header::ACCEPT_ENCODING, "gzip, br");
    let long = ask(&served, Method::GET, "/api/openapi.json", std::slice::from_ref(&gzip)).await;
    assert_eq!(long.header(header::CONTENT_ENCODING), "gzip");
    assert!(long.body.starts_with(&[0x1f, 0x8b]), "RFC 1952 section 2.3.1");
    assert!(long.header(header::VARY).to_lowercase().contains("accept-encoding"));
    let file: Vec<u8> = b"the same again ".repeat(500);
    let request = served.request(Method::POST, "/api/attachments").body(Body::from(file.clone())).unwrap();
    let hash = served.answer(request).await.json()["hash"].as_str().unwrap().to_owned();
    for (path, head) in [
        ("/api/openapi.json", vec![]),
        ("/api/openapi.json", vec![(header::ACCEPT_ENCODING, "br")]),
        ("/api/health", vec![gzip.clone()]),
        (&format!("/api/attachments/{hash}"), vec![gzip.clone()]),
    ] {
        let plain = ask(&served, Method::GET, path, &head).await;
        assert!(!plain.headers.contains_key(header::CONTENT_ENCODING), "{path}");
        assert_eq!(plain.header(header::CONTENT_LENGTH), plain.body.len().to_string(), "{path}");
    }
}

#[tokio::test]
async fn codes_are_explained() {
    let served = Served::new();
    for problem in storypole_server::problem::PROBLEMS {
        let told = ask(&served, Method::GET, &format!("/api/problems/{}", problem.code), &[]).await.json();
        let expected = json!({
            "code": problem.code, "status": problem.status, "title": problem.title, "next": problem.next,
        });
        assert_eq!(told, expected);
    }
    ask(&served, Method::GET, "/api/problems/no-such-code", &[]).await.is_refused(404, "no-such-route");
}

#[tokio::test]
async fn the_shell_is_asked_anew_and_its_assets_never() {
    let served = Served::new();
    let root = served.answer(plain(Method::GET, "/").body(Body::empty()).unwrap()).await;
    assert_eq!(root.status, 200);
    assert_eq!(root.header(header::CACHE_CONTROL), "no-cache");
    assert!(root.header(header::CONTENT_TYPE).starts_with("text/html"));
    assert!(root.text().contains("<title>"), "{}", root.text());
    let tag = root.header(header::ETAG).to_owned();
    let request = plain(Method::GET, "/index.html").header(header::IF_NONE_MATCH, &tag);
    let held = served.answer(request.body(Body::empty()).unwrap()).await;
    assert_eq!((held.status.as_u16(), held.body.len()), (304, 0), "one file under both names");
    // What the page names is there, for a year, and packed for those who ask for it.
    for asset in root.text().split('"').filter(|word| word.starts_with("/assets/")) {
        let plain_file = served.answer(plain(Method::GET, asset).body(Body::empty()).unwrap()).await;
        assert_eq!(plain_file.status, 200, "{asset}");
        assert_eq!(plain_file.header(header::CACHE_CONTROL), "public, max-age=31536000, immutable");
        let request = plain(Method::GET, asset).header(header::ACCEPT_ENCODING, "gzip");
        let packed = served.answer(request.body(Body::empty()).unwrap()).await;
        if packed.headers.contains_key(header::CONTENT_ENCODING) {
            assert!(packed.body.len() < plain_file.body.len(), "{asset}");
            assert_ne!(packed.header(header::ETAG), plain_file.header(header::ETAG));
        }
    }
}

#[tokio::test]
async fn drafts_show_in_views_at_once() {
    let served = Served::new();
    let site = served.site("S1").await;
    let body = draft(&[write(site, "site", "name", "Mill house")]);
    assert_eq!(served.put(edge::draft_id(), &body).await.status, 201);
    let shown = ask(&served, Method::GET, "/api/records/site/S1", &[]).await.json();
    assert_eq!(shown["fields"]["name"]["value"], "Mill house", "{shown}");
}
