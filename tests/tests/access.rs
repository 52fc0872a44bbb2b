//! Every route against everyone who might ask it: each role, sessions that ended, devices with the right key, a wrong
//! one and one that was taken away, and what was used up.
//!
//! The table is written by hand. A route that the server documents and that has no row here fails the test.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use serde_json::{Value, json};
use storypole_desk::Desk;
use storypole_journal::sign::proof::{Meeting, Side};
use storypole_tests::{Answer, Client, Notebook, Served};

/// The least that may ask.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Least {
    /// Whoever comes.
    Anyone,
    /// Whoever was let in to look.
    Viewer,
    /// Who may write.
    Crew,
    /// Who may decide.
    Keeper,
    /// A device with its key, and no browser.
    Device,
}

use Least::{Anyone, Crew, Device, Keeper, Viewer};

/// Every documented route, and whether a device's key opens it too.
const ROUTES: &[(&str, &str, Least, bool)] = &[
    ("POST", "/api/session", Anyone, true),
    ("GET", "/api/session", Viewer, false),
    ("DELETE", "/api/session", Viewer, false),
    ("GET", "/api/sessions", Keeper, false),
    ("DELETE", "/api/sessions", Keeper, false),
    ("DELETE", "/api/sessions/{session}", Keeper, false),
    ("GET", "/api/invitations", Keeper, false),
    ("POST", "/api/invitations", Keeper, false),
    ("DELETE", "/api/invitations", Keeper, false),
    ("GET", "/api/devices", Viewer, false),
    ("POST", "/api/devices/{device}/revoke", Keeper, false),
    ("POST", "/api/devices/{device}/let-in", Keeper, false),
    ("POST", "/api/devices/{device}/let-in-branch", Keeper, false),
    ("PUT", "/api/devices/{device}/name", Keeper, false),
    ("POST", "/api/join/start", Anyone, true),
    ("POST", "/api/join/finish", Anyone, true),
    ("POST", "/api/sync/greeting", Anyone, true),
    ("POST", "/api/sync/key", Anyone, true),
    ("POST", "/api/sync/exchange", Device, true),
    ("GET", "/api/sync", Viewer, false),
    ("POST", "/api/sync/now", Crew, false),
    ("PUT", "/api/sync/partners", Keeper, false),
    ("DELETE", "/api/sync/partners", Keeper, false),
    ("PUT", "/api/drafts/{id}", Crew, false),
    ("POST", "/api/attachments", Crew, false),
    ("GET", "/api/attachments/{hash}", Viewer, true),
    ("GET", "/api/attachments/{hash}/parts", Viewer, true),
    ("PUT", "/api/attachments/{hash}/parts", Crew, true),
    ("PUT", "/api/attachments/{hash}/parts/{index}", Crew, true),
    ("GET", "/api/attachments/{hash}/thumbnail", Viewer, true),
    ("POST", "/api/attachments/wanted", Crew, true),
    ("POST", "/api/attachments/fetch", Crew, false),
    ("GET", "/api/backups", Keeper, false),
    ("POST", "/api/backups", Keeper, false),
    ("POST", "/api/example", Keeper, false),
    ("GET", "/api/events", Viewer, true),
    ("GET", "/api/health", Viewer, false),
    ("GET", "/api/problems/{code}", Viewer, false),
    ("GET", "/api/openapi.json", Viewer, false),
    ("GET", "/api/today", Viewer, false),
    ("GET", "/api/entries", Viewer, false),
    ("GET", "/api/tasks", Viewer, false),
    ("GET", "/api/marks", Viewer, false),
    ("GET", "/api/kinds", Viewer, false),
    ("GET", "/api/records/{kind}", Viewer, false),
    ("GET", "/api/records/{kind}/{name}", Viewer, false),
    ("GET", "/api/records/{kind}/{name}/history", Viewer, false),
    ("GET", "/api/conflicts", Viewer, false),
    ("GET", "/api/next", Viewer, false),
    ("GET", "/api/files", Viewer, false),
];

/// Views of the notebook that any browser may look at, by how their address begins.
const VIEWS: &[&str] = &[
    "/api/jobs",
    "/api/receipts",
    "/api/stock",
    "/api/takeoff",
    "/api/sketch",
    "/api/materials",
    "/api/cautions",
    "/api/tests",
    "/api/findings",
    "/api/compare",
    "/api/find",
    "/api/recordings",
    "/api/writeups",
];

fn row(method: &str, path: &str) -> Option<(Least, bool)> {
    let own = ROUTES.iter().find(|(of, at, ..)| (*of, *at) == (method, path));
    let is_view = method == "GET" && VIEWS.iter().any(|view| path.starts_with(view));
    own.map(|(.., least, opens)| (*least, *opens)).or(is_view.then_some((Viewer, false)))
}

/// A documented route, with something plausible in the place of each parameter.
#[derive(Debug)]
struct Route {
    method: String,
    path: String,
    least: Least,
    is_for_devices: bool,
}

fn routes(document: &Value) -> Vec<Route> {
    let mut routes = Vec::new();
    let mut lacking = Vec::new();
    for (path, methods) in document["paths"].as_object().unwrap() {
        for method in methods.as_object().unwrap().keys().filter(|key| *key != "parameters") {
            let method = method.to_uppercase();
            match row(&method, path) {
                Some((least, is_for_devices)) => {
                    routes.push(Route { method, path: filled_in(path), least, is_for_devices });
                }
                None => lacking.push(format!("{method} {path}")),
            }
        }
    }
    assert!(lacking.is_empty(), "say in the table of this test who may ask {lacking:?}");
    let documented = |(method, path): (&str, &str)| !document["paths"][path][method.to_lowercase()].is_null();
    let gone: Vec<_> = ROUTES.iter().filter(|(method, path, ..)| !documented((*method, *path))).collect();
    assert!(gone.is_empty(), "the table names routes that are not there: {gone:?}");
    routes
}

fn filled_in(path: &str) -> String {
    let part = |part: &str| match part {
        "{kind}" => "job".to_owned(),
        "{id}" | "{device}" | "{draft}" => "01968f00-0000-7000-8000-0000000000d2".to_owned(),
        "{hash}" => "0".repeat(64),
        "{session}" => "0".repeat(16),
        "{index}" => "0".to_owned(),
        "{shape}" => "small".to_owned(),
        "{code}" => "no-session".to_owned(),
        other if other.starts_with('{') => "J1".to_owned(),
        other => other.to_owned(),
    };
    path.split('/').map(part).collect::<Vec<_>>().join("/")
}

impl Route {
    /// A body that no route takes, so that nothing is done by those who may ask.
    fn ask(&self, client: &Client) -> Answer {
        let body = json!({ "none": true });
        let takes_body = matches!(self.method.as_str(), "POST" | "PUT" | "PATCH");
        client.ask(&self.method, &self.path, takes_body.then_some(&body))
    }

    #[track_caller]
    fn refuses(&self, client: &Client, status: u16, code: &str, whom: &str) {
        let answer = self.ask(client);
        let said = (answer.status, answer.code());
        assert_eq!(said, (status, code.to_owned()), "{self:?} asked by {whom}: {}", answer.text());
        assert!(answer.json()["next"].as_str().is_some_and(|next| !next.is_empty()), "{self:?}");
    }

    /// It is not refused for who asks.
    #[track_caller]
    fn lets_in(&self, client: &Client, whom: &str) {
        if self.path == "/api/events" {
            // It would go on for ever; that it is opened is tested with the streams.
            return;
        }
        let answer = self.ask(client);
        let of_who = ["no-session", "role-too-low", "not-for-this-key", "no-device-key"];
        // What is said of a refusal is no refusal.
        let is_refused = matches!(answer.status, 401 | 403) && of_who.contains(&answer.code().as_str());
        assert!(!is_refused, "{self:?} asked by {whom}: {}", answer.text());
    }

    /// Whether asking it takes away what the asking one needs.
    fn ends_sessions(&self) -> bool {
        self.method == "DELETE" && self.path.starts_with("/api/session")
    }
}

/// A browser that was let in by a code.
fn browser(served: &Served, keeper: &Client, role: &str) -> Client {
    let invited = keeper.ask("POST", "/api/invitations", Some(&json!({ "for": "browser", "role": role })));
    assert_eq!(invited.status, 201, "{invited:?}");
    let code = &invited.json()["code"];
    let opened = served.stranger().ask("POST", "/api/session", Some(&json!({ "code": code })));
    assert_eq!((opened.status, &opened.json()["role"]), (201, &json!(role)), "{opened:?}");
    let cookie = opened.header("set-cookie").unwrap().split(';').next().unwrap().to_owned();
    served.stranger().with("cookie", &cookie)
}

#[test]
fn every_route_asks_for_the_role_that_the_table_says() {
    let notebook = Notebook::demo();
    let served = Served::start(&notebook.data());
    let keeper = served.join();
    let routes = routes(&keeper.get("/api/openapi.json").json());
    assert!(routes.len() >= 45, "only {} routes", routes.len());
    let (crew, viewer) = (browser(&served, &keeper, "crew"), browser(&served, &keeper, "viewer"));
    let gone = browser(&served, &keeper, "keeper");
    assert_eq!(gone.ask("DELETE", "/api/session", None).status, 204);
    let changes = notebook.changes();
    for route in &routes {
        let is_open = route.least == Anyone;
        for (client, role, whom) in
            [(&viewer, Viewer, "a viewer"), (&crew, Crew, "crew"), (&keeper, Keeper, "a keeper")]
        {
            match route.least {
                Device => route.refuses(client, 403, "not-for-this-key", whom),
                least if least > role => route.refuses(client, 403, "role-too-low", whom),
                _ if route.ends_sessions() => (),
                _ => route.lets_in(client, whom),
            }
        }
        match route.least {
            Anyone => route.lets_in(&gone, "one whose session ended"),
            Device => route.refuses(&gone, 403, "not-for-this-key", "one whose session ended"),
            _ => route.refuses(&gone, 401, "no-session", "one whose session ended"),
        }
        if !is_open {
            let stranger = route.ask(&served.stranger());
            assert_eq!(stranger.status, 401, "{route:?}: {}", stranger.text());
        }
    }
    assert_eq!(notebook.changes(), changes, "nothing was written");
    for (client, whom) in [(viewer, "a viewer"), (crew, "crew")] {
        assert_eq!(client.ask("DELETE", "/api/session", None).status, 204, "{whom} may go out");
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn bytes(hex: &str) -> Vec<u8> {
    (0..hex.len() / 2).map(|at| u8::from_str_radix(&hex[2 * at..2 * at + 2], 16).unwrap()).collect()
}

/// Signs a device in with its own key; what the server says to its proof.
fn sign_in(served: &Served, desk: &Desk) -> Answer {
    let stranger = served.stranger();
    let (device, nonce) = (desk.device(), [7; 32]);
    let greeting = json!({
        "notebook": desk.notebook().to_string(), "device": device.to_string(), "nonce": hex(&nonce),
    });
    let greeted = stranger.ask("POST", "/api/sync/greeting", Some(&greeting));
    assert_eq!(greeted.status, 200, "{greeted:?}");
    let greeted = greeted.json();
    let challenge = bytes(greeted["challenge"].as_str().unwrap());
    let answering = greeted["device"].as_str().unwrap().parse().unwrap();
    let meeting =
        Meeting { notebook: desk.notebook(), asking: device, answering, nonce, challenge: &challenge };
    let proof = desk.prove(&meeting, Side::Asking).unwrap();
    let body = json!({
        "device": device.to_string(), "nonce": hex(&nonce), "challenge": hex(&challenge), "proof": hex(&proof),
    });
    stranger.ask("POST", "/api/sync/key", Some(&body))
}

/// A device that joined over the command line, as a person does it.
/// The code it used lets no second one in.
fn joined(served: &Served, notebook: &Notebook, keeper: &Client) -> Desk {
    let invited =
        keeper.ask("POST", "/api/invitations", Some(&json!({ "for": "device", "role": "crew" }))).json();
    let folder = notebook.folder.path().join("tablet");
    let url = format!("http://localhost:{}", served.address().rsplit(':').next().unwrap());
    let code = invited["code"].as_str().unwrap();
    let words = ["join", &url, code, "--label", "tablet"];
    let said = storypole_tests::Said::of(&storypole_tests::run(&folder, &words));
    said.done().prints("joined");
    let again =
        storypole_tests::Said::of(&storypole_tests::run(&notebook.folder.path().join("again"), &words));
    again.refused("refused");
    Desk::open(&folder).unwrap()
}

#[test]
fn a_device_s_key_opens_what_is_for_devices_until_it_is_revoked() {
    let notebook = Notebook::demo();
    let served = Served::start(&notebook.data());
    let keeper = served.join();
    let routes = routes(&keeper.get("/api/openapi.json").json());
    let desk = joined(&served, &notebook, &keeper);
    let given = sign_in(&served, &desk);
    assert_eq!(given.status, 201, "{given:?}");
    let key = given.json()["key"].as_str().unwrap().to_owned();
    let right = served.stranger().with("authorization", &format!("Bearer {key}"));
    let wrong = served.stranger().with("authorization", &format!("Bearer {}", "A".repeat(43)));
    for route in &routes {
        if route.least == Anyone {
            continue;
        }
        match route.is_for_devices {
            true => route.lets_in(&right, "a device"),
            false => route.refuses(&right, 403, "not-for-this-key", "a device"),
        }
        route.refuses(&wrong, 401, "no-device-key", "a wrong key");
    }
    let devices = keeper.get("/api/devices").json();
    let tablet = devices["devices"].as_array().unwrap().iter().find(|it| it["label"] == "tablet").unwrap();
    assert!(tablet["last_seen"].is_string() && tablet["revoked_at"].is_null(), "{tablet}");

    let path = format!("/api/devices/{}/revoke", desk.device());
    let revoked = keeper.ask("POST", &path, Some(&json!({ "reason": "lost" })));
    assert_eq!((revoked.status, &revoked.json()["revoked_at"]), (200, &json!(0)), "{revoked:?}");
    assert_eq!(keeper.ask("POST", &path, Some(&json!({ "reason": "lost" }))).code(), "revoked-already");
    let refused = right.ask("POST", "/api/sync/exchange", Some(&json!({})));
    let void = ["no-device-key", "device-revoked"];
    assert!(void.contains(&refused.code().as_str()), "the key is void: {refused:?}");
    let refused = sign_in(&served, &desk);
    assert_eq!((refused.status, refused.code().as_str()), (403, "device-revoked"), "{refused:?}");
}
