//! Syncing all the time: what is written at one end is at the other soon, whatever happened between.

use std::sync::Arc;
use std::time::Duration;

use axum::body::Body;
use axum::http::{Method, Request, header};
use bytes::Bytes;
use http_body_util::Full;
use serde_json::Value;
use storypole_desk::Desk;
use storypole_journal::Role;
use storypole_notebook::Value as Written;
use storypole_server::remote::AskLimits;
use tokio::time::{Instant, sleep};

use super::{There, are_equal, first, join, sites, sync, write};
use crate::asked::{AT, Served, let_in};
use crate::parts::hex;

/// Far longer than anything here takes; a test that waits so long has failed.
const PATIENCE: Duration = Duration::from_secs(60);

/// Looks again and again until something holds.
async fn until(what: &str, holds: impl Fn() -> bool) {
    let deadline = Instant::now() + PATIENCE;
    while !holds() {
        assert!(Instant::now() < deadline, "{what} does not come about");
        sleep(Duration::from_millis(10)).await;
    }
}

/// What `GET /api/sync` tells a browser.
async fn told(there: &There) -> Value {
    let mut request = Request::new(Full::new(Bytes::new()));
    *request.uri_mut() = "/api/sync".parse().unwrap();
    request.headers_mut().insert(header::COOKIE, let_in(&there.desk).parse().unwrap());
    let limits = AskLimits { answer_bytes: 1 << 20, patience: PATIENCE };
    let answer = there.remote().ask(request, limits).await.unwrap();
    assert_eq!(answer.status(), 200);
    serde_json::from_slice::<Value>(answer.body()).unwrap()["partners"][0].clone()
}

async fn until_told(there: &There, member: &str, expected: &str) -> Value {
    let deadline = Instant::now() + PATIENCE;
    loop {
        let partner = told(there).await;
        if partner[member] == expected {
            return partner;
        }
        assert!(Instant::now() < deadline, "{member} does not become {expected}: {partner}");
        sleep(Duration::from_millis(10)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_is_written_at_one_end_comes_to_the_other_by_itself() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    let here = join(&folder, "here", &there.desk, Role::Crew);
    here.partner_add(&there.url, None).unwrap();
    write(&there.desk, 0..3);
    let here = There::serve(here).await;
    until("the first sync", || sites(&here.desk) == 3).await;
    until_told(&here, "state", "synced").await;
    write(&here.desk, 3..5);
    until("what was written here", || sites(&there.desk) == 5).await;
    write(&there.desk, 5..9);
    until("what was written there", || sites(&here.desk) == 9).await;
    write(&there.desk, 9..10);
    write(&here.desk, 10..11);
    until("both at once", || sites(&here.desk) == 11 && sites(&there.desk) == 11).await;
    are_equal(&here.desk, &there.desk);
    let partner = until_told(&here, "state", "synced").await;
    assert_eq!(partner["device"], there.desk.device().to_string());
    assert!(partner["failed"].is_null() && partner["synced_at"].is_string(), "{partner}");
    here.stop().await;
    there.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_server_that_was_gone_is_found_again() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    let here = join(&folder, "here", &there.desk, Role::Crew);
    sync(&here, &there).await.unwrap();
    let (path, port) = (there.desk.path().to_owned(), there.url.rsplit(':').next().unwrap().parse().unwrap());
    here.partner_add(&there.url, None).unwrap();
    let here = There::serve(here).await;
    until_told(&here, "state", "synced").await;
    let desk = Arc::clone(&there.desk);
    there.stop().await;
    drop(Arc::into_inner(desk).expect("the server has let go of it"));
    write(&here.desk, 0..2);
    let partner = until_told(&here, "state", "failing").await;
    assert!(partner["failed"].as_str().unwrap().contains(": "), "with a next step: {partner}");
    assert_eq!(partner["waiting"], 2);
    let there = There::serve_at(Arc::new(Desk::open(&path).unwrap()), port).await;
    until("what waited", || sites(&there.desk) == 2).await;
    until_told(&here, "state", "synced").await;
    here.stop().await;
    there.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_device_that_is_revoked_is_told_so_and_gets_nothing_more() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    let here = join(&folder, "here", &there.desk, Role::Crew);
    here.partner_add(&there.url, None).unwrap();
    let here = There::serve(here).await;
    until_told(&here, "state", "synced").await;
    there.desk.revoke(here.desk.device(), "lost on site", AT).unwrap();
    write(&there.desk, 0..1);
    let partner = until_told(&here, "state", "failing").await;
    assert!(partner["failed"].as_str().unwrap().contains("was revoked on 2025-03-04"), "{partner}");
    assert_eq!(sites(&here.desk), 0);
    here.stop().await;
    there.stop().await;
}

#[tokio::test]
async fn syncing_is_told_to_browsers_and_to_nobody_else() {
    let served = Served::new();
    let told = served.get("/api/sync").await;
    assert_eq!(told.json(), serde_json::json!({ "partners": [] }));
    let now = served.answer(served.request(Method::POST, "/api/sync/now").body(Body::empty()).unwrap()).await;
    assert_eq!(now.status, 202);
    let stranger = crate::asked::plain(Method::GET, "/api/sync").body(Body::empty()).unwrap();
    served.answer(stranger).await.is_refused(401, "no-session");
}

/// Keeps a file and pins it to whoever works at the desk.
fn pin(desk: &Desk, content: &[u8]) -> [u8; 32] {
    let hash = desk.keep_file(&mut &content[..]).unwrap().hash;
    let (photo, mut compose) = (storypole_desk::edge::record_id(), desk.compose(AT));
    let bytes = Written::Integer(i64::try_from(content.len()).unwrap());
    compose.set(photo, "photo", "about", &Written::Record(desk.author())).unwrap();
    compose.set(photo, "photo", "hash", &Written::Hash(hash)).unwrap();
    compose.set(photo, "photo", "bytes", &bytes).unwrap();
    desk.take(compose.finish()).unwrap();
    hash
}

/// One end asks, the other is only asked: files go both ways all the same.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn files_follow_the_records_that_name_them_both_ways() {
    let folder = tempfile::tempdir().unwrap();
    let there = There::serve(first(&folder)).await;
    let here = join(&folder, "here", &there.desk, Role::Crew);
    here.partner_add(&there.url, None).unwrap();
    let large: Vec<u8> = (0..2_500_000u32).map(|at| (at * 7 % 251) as u8).collect();
    let fetched = pin(&there.desk, &large);
    let here = There::serve(here).await;
    until("the file that is fetched", || here.desk.attachments().has(&fetched)).await;
    let brought = pin(&here.desk, &large[1..]);
    until("the file that is brought", || there.desk.attachments().has(&brought)).await;
    for (desk, hash, expected) in [(&here.desk, fetched, &large[..]), (&there.desk, brought, &large[1..])] {
        let mut given = Vec::new();
        desk.attachments().give(&hash, &mut given).unwrap();
        assert_eq!(given, expected);
    }

    // On demand only what is asked for comes.
    here.desk.set_files_policy(storypole_desk::attached::FilesPolicy::Asked).unwrap();
    let (asked, left) = (pin(&there.desk, b"the wall before"), pin(&there.desk, b"the wall after"));
    until("the records", || here.desk.attached().unwrap().len() == 4).await;
    let request = Request::builder().uri(format!("/api/attachments/{}", hex(&asked)));
    let request = request.header(header::COOKIE, let_in(&here.desk)).body(Full::new(Bytes::new())).unwrap();
    let limits = AskLimits { answer_bytes: 1 << 20, patience: PATIENCE };
    assert_eq!(here.remote().ask(request, limits).await.unwrap().status(), 404);
    until("the file that was opened", || here.desk.attachments().has(&asked)).await;
    assert!(!here.desk.attachments().has(&left));
    here.stop().await;
    there.stop().await;
}
