//! What a browser may do that was let in as keeper, crew or viewer, and on a device that may do less.

use axum::http::Method;
use serde_json::{Value, json};
use storypole_desk::desk::{Joining, Newcomer};
use storypole_desk::{Desk, edge};
use storypole_journal::Role;
use storypole_server::Limits;

use crate::asked::{AT, Served, draft, found, let_in_as, write};

fn new_site(label: &str) -> (String, Value) {
    let path = format!("/api/drafts/{}", edge::draft_id());
    (path, draft(&[write(edge::record_id(), "site", "label", label)]))
}

#[tokio::test]
async fn each_role_does_what_it_may_and_no_more() {
    let served = Served::new();
    for (role, writes, invites) in
        [(Role::Keeper, 201, 201), (Role::Crew, 201, 403), (Role::Viewer, 403, 403)]
    {
        let cookie = let_in_as(&served.desk, role);
        let browser = served.as_browser(&cookie);
        assert_eq!(browser.get("/api/session").await.json()["role"], role.as_str());
        assert_eq!(browser.get("/api/today").await.status, 200, "{role:?} looks");
        let (path, site) = new_site(role.as_str());
        let before = served.log();
        let written = browser.ask(Method::PUT, &path, Some(&site)).await;
        assert_eq!(written.status, writes, "{role:?}: {}", written.text());
        assert_eq!(served.log() == before, writes != 201, "{role:?}");
        let invited = browser.post("/api/invitations", &json!({ "for": "browser", "role": "viewer" })).await;
        assert_eq!(invited.status, invites, "{role:?}: {}", invited.text());
        if invites == 403 {
            let problem = invited.is_refused(403, "role-too-low");
            assert!(problem["detail"].as_str().unwrap().ends_with("needs a keeper"), "{problem}");
            browser.get("/api/invitations").await.is_refused(403, "role-too-low");
            browser.get("/api/sessions").await.is_refused(403, "role-too-low");
            browser.ask(Method::DELETE, "/api/sessions", None).await.is_refused(403, "role-too-low");
        }
        let out = browser.ask(Method::DELETE, "/api/session", None).await;
        assert_eq!(out.status, 204, "anyone may go out");
    }
}

/// Who belongs to the notebook is no record like others, whoever writes it.
#[tokio::test]
async fn no_draft_of_a_browser_invites_or_revokes() {
    let served = Served::new();
    let own = served.desk.device().membership_record();
    let before = served.log();
    for role in [Role::Keeper, Role::Crew] {
        let browser = served.as_browser(&let_in_as(&served.desk, role));
        for field in ["key", "role", "invited_by", "revoked", "vouched", "struck"] {
            let path = format!("/api/drafts/{}", edge::draft_id());
            let mut body = draft(&[write(own, "membership", field, "keeper")]);
            body["writes"][0]["reason"] = "because".into();
            let refused = browser.ask(Method::PUT, &path, Some(&body)).await;
            refused.is_refused(422, "unknown-kind");
        }
    }
    assert_eq!(served.log(), before);
}

fn carry(from: &Desk, to: &Desk) {
    let theirs = to.read(|reader| reader.vector()).unwrap();
    to.receive(from.since(&theirs, usize::MAX).unwrap()).unwrap();
}

/// A copy of a notebook on a device that was invited with a role; none where it was not invited.
fn joined(folder: &std::path::Path, keeper: &Desk, role: Option<Role>) -> Desk {
    let newcomer = Newcomer { device: edge::device_id(), key: edge::device_key() };
    if let Some(role) = role {
        keeper.invite(newcomer.device, newcomer.key.public(), role, AT).unwrap();
    }
    let founder_key = keeper.public_key().unwrap();
    let joining = Joining { notebook: keeper.notebook(), founder_key, author: keeper.author() };
    let desk = Desk::join_as(folder, &joining, newcomer).unwrap();
    carry(keeper, &desk);
    desk
}

#[tokio::test]
async fn a_browser_does_no_more_than_its_device_may() {
    let keepers = tempfile::tempdir().unwrap();
    let keeper = found(&keepers.path().join("keeper"));
    for (role, writes, invites) in [
        (Some(Role::Keeper), 201, 201),
        (Some(Role::Crew), 201, 403),
        (Some(Role::Viewer), 403, 403),
        (None, 403, 403),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let desk = joined(&folder.path().join("notebook"), &keeper, role);
        let served = Served::over(desk, folder, Limits::default());
        let browser = served.as_browser(&served.cookie);
        let expected = role.unwrap_or(Role::Viewer).as_str();
        assert_eq!(browser.get("/api/session").await.json()["role"], expected);
        assert_eq!(browser.get("/api/today").await.status, 200, "{role:?} looks");
        let (path, site) = new_site("S1");
        assert_eq!(browser.ask(Method::PUT, &path, Some(&site)).await.status, writes, "{role:?}");
        let invited = browser.post("/api/invitations", &json!({ "for": "device", "role": "crew" })).await;
        assert_eq!(invited.status, invites, "{role:?}: {}", invited.text());
    }
}

/// What was looked up for one request must not outlive what follows it.
#[tokio::test]
async fn a_device_that_is_invited_while_it_serves_may_write_at_once() {
    let keepers = tempfile::tempdir().unwrap();
    let keeper = found(&keepers.path().join("keeper"));
    let folder = tempfile::tempdir().unwrap();
    let desk = joined(&folder.path().join("notebook"), &keeper, None);
    let served = Served::over(desk, folder, Limits::default());
    let browser = served.as_browser(&served.cookie);
    let (path, site) = new_site("S1");
    browser.ask(Method::PUT, &path, Some(&site)).await.is_refused(403, "role-too-low");
    keeper.invite(served.desk.device(), served.desk.public_key().unwrap(), Role::Crew, AT).unwrap();
    carry(&keeper, &served.desk);
    assert_eq!(browser.ask(Method::PUT, &path, Some(&site)).await.status, 201);
}
