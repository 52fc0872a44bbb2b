//! The real program serving a real notebook on a real port: how it starts and stops, and who gets in.
//!
//! What each route answers is tested in `server`; here is only the wiring.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::net::TcpListener;

use serde_json::{Value, json};
use storypole_tests::{Answer, Client, Notebook, Served};

/// Routes under `/api` that need no session. Whatever else the document lists does.
const KEYLESS_ROUTES: &[(&str, &str)] = &[
    ("POST", "/api/session"),
    ("POST", "/api/join/start"),
    ("POST", "/api/join/finish"),
    ("POST", "/api/sync/greeting"),
    ("POST", "/api/sync/key"),
];

/// What else is handed out without a session: the screens and the page about the certificate, which hold no word of any notebook.
const SHELL: &[&str] = &[
    "/",
    "/index.html",
    "/sw.js",
    "/manifest.webmanifest",
    "/icons/none.png",
    "/assets/none.js",
    "/trust",
    "/trust/ca.pem",
];

#[test]
fn it_says_where_it_is_and_how_to_get_in() {
    let notebook = Notebook::demo();
    let served = Served::start(&notebook.data());
    let (key, url) = (served.said["key"].as_str().unwrap(), served.said["url"].as_str().unwrap());
    let port = served.address().rsplit(':').next().unwrap().to_owned();
    assert!(served.address().starts_with("127.0.0.1:") || served.address().starts_with("localhost:"));
    assert_ne!(port, "0");
    assert_eq!(url, format!("http://localhost:{port}/#key={key}"));
    assert_eq!(served.said.as_object().unwrap().len(), 3, "{}", served.said);

    let client = served.join();
    let session = client.get("/api/session").json();
    assert!(session["notebook"]["name"].is_string() && session["server_time"].is_string(), "{session}");
    let today = client.get("/api/today").json();
    assert_eq!(today["day"], "2025-05-20");

    // Sent again at once, as browsers do when a connection breaks, the key opens the session it opened, and no other.
    let again = served.stranger().ask("POST", "/api/session", Some(&json!({ "key": key })));
    let cookie = again.header("set-cookie").unwrap_or_default().split(';').next().unwrap().to_owned();
    assert!(client.headers.contains(&("cookie".to_owned(), cookie.clone())), "{cookie} is another session");
    let wrong = served.stranger().ask("POST", "/api/session", Some(&json!({ "key": key.to_uppercase() })));
    assert_eq!((wrong.status, wrong.code().as_str()), (401, "wrong-key"));
}

#[test]
fn a_person_is_told_address_key_and_how_to_stop() {
    let notebook = Notebook::demo();
    let mut command = notebook.command(&["serve", "--port", "0"]);
    command.stdin(std::process::Stdio::null()).stdout(std::process::Stdio::piped());
    let mut child = command.stderr(std::process::Stdio::piped()).spawn().unwrap();
    // Its own words are the sign that it is up: the line that says how to stop it comes last.
    let mut out = std::io::BufReader::new(child.stdout.take().unwrap());
    let mut said = String::new();
    while !said.contains("Ctrl-C") {
        assert_ne!(std::io::BufRead::read_line(&mut out, &mut said).unwrap(), 0, "it ended: {said}");
    }
    for expected in ["http://localhost:", "/#key=", "once"] {
        assert!(said.contains(expected), "{expected} is missing in {said}");
    }
    let stopped = std::process::Command::new("kill").args(["-s", "INT", &child.id().to_string()]).status();
    assert!(stopped.unwrap().success());
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn signals_stop_it_in_order() {
    let notebook = Notebook::demo();
    for signal in ["TERM", "INT"] {
        let served = Served::start(&notebook.data());
        let client = served.join();
        assert_eq!(client.get("/api/health").status, 200);
        let said = served.stop(signal);
        assert_eq!(said.code, 0, "{signal}: {}", said.err);
        assert!(!said.err.trim().is_empty(), "it says that it stopped");
        assert!(client.try_ask("GET", "/api/health", None).is_err(), "nobody is there any more");
    }
    notebook.run(&["verify"]).done();
    notebook.run(&["log", "after it stopped", "--job", "J7", "--date", "2025-05-21"]).done();
}

#[test]
fn what_cannot_be_served_is_refused_with_a_next_step() {
    let notebook = Notebook::demo();
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    notebook.run(&["serve", "--port", &port]).refused(&port);
    notebook.run(&["serve", "--name", "the box", "--port", "0"]).refused("give a host name");
    let own = ["serve", "--port", "0", "--certificate", "none.pem", "--key", "none.key"];
    notebook.run(&own).refused("none.pem cannot be read");
    assert_eq!(notebook.run(&["serve", "--certificate", "none.pem"]).code, 2, "a certificate needs its key");
    Notebook::none().run(&["serve", "--port", "0"]).refused("init");
    assert_eq!(notebook.run(&["serve", "--port", "70000"]).code, 2, "that is no port");

    let served = Served::start(&notebook.data());
    notebook.run(&["serve", "--port", "0"]).refused("is in use by another process");
    assert_eq!(served.join().get("/api/health").status, 200, "the first one goes on");
}

/// What can be seen without a word of TLS: the address that is printed, and what plain HTTP gets there.
#[test]
fn off_loopback_it_speaks_https_and_helps_to_trust_it() {
    let notebook = Notebook::demo();
    let served = Served::start_with(&notebook.data(), &["--address", "0.0.0.0", "--name", "box.local"]);
    let port = served.address().rsplit(':').next().unwrap().to_owned();
    let said = |name: &str| served.said[name].as_str().unwrap_or_default().to_owned();
    assert_eq!(said("url"), format!("https://localhost:{port}/#key={}", said("key")));
    assert_eq!(said("trust_url"), format!("http://box.local:{port}/trust"));
    let fingerprint = said("fingerprint");
    assert_eq!(fingerprint.len(), 95, "32 bytes as pairs of digits: {fingerprint}");

    let plain = Client::new(&format!("127.0.0.1:{port}")).with("host", &format!("box.local:{port}"));
    let page = plain.get("/trust");
    assert_eq!(page.status, 200);
    assert!(page.text().contains(&fingerprint[..23]) && !page.text().contains("Millrace"), "{}", page.text());
    for path in ["/", "/api/today", "/api/session"] {
        let answer = plain.get(path);
        let meant = format!("https://box.local:{port}{path}");
        assert_eq!((answer.status, answer.header("location")), (307, Some(meant.as_str())));
        assert!(answer.text().contains("speaks https only"), "{}", answer.text());
    }
    let answer = plain.ask("POST", "/api/session", Some(&json!({ "key": said("key") })));
    assert_eq!(
        (answer.status, answer.header("set-cookie")),
        (400, None),
        "a key is not taken over plain http"
    );

    let ca = notebook.data().join("tls/ca.pem");
    assert_eq!(plain.get("/trust/ca.pem").body, std::fs::read(&ca).unwrap());
    assert_eq!(served.stop("TERM").code, 0);
    let again = Served::start_with(&notebook.data(), &["--name", "box.local"]);
    assert_eq!(again.said["fingerprint"], fingerprint, "the authority stays the same");
}

#[test]
fn a_session_lives_on_and_reading_goes_on_beside() {
    let notebook = Notebook::demo();
    let first = Served::start(&notebook.data());
    let mut client = first.join();
    notebook.run(&["today"]).done().prints("2025-05-20");
    notebook.run(&["find", "cellulose"]).done().prints("J4");
    notebook.run(&["log", "meanwhile", "--job", "J1"]).refused("is in use by another process");
    assert_eq!(first.stop("TERM").code, 0);

    let second = Served::start(&notebook.data());
    client.address = second.address();
    assert_eq!(client.get("/api/session").status, 200, "the browser need not join again");
    assert_eq!(client.ask("DELETE", "/api/session", None).status, 204);
    assert_eq!(client.get("/api/session").code(), "no-session", "until it leaves");
}

#[test]
fn what_is_sent_is_in_the_notebook_once() {
    let notebook = Notebook::demo();
    let served = Served::start(&notebook.data());
    let client = served.join();
    let before = client.get("/api/health").json()["changes"].as_u64().unwrap();
    let job = client.get("/api/records/job/J7").json();
    let record = "01968f00-0000-7000-8000-0000000000a1";
    let write = |field: &str, value: Value| json!({ "record": record, "kind": "entry", "field": field, "value": value });
    let draft = json!({
        "written_at": "2025-05-21T08:00:00-05:00",
        "writes": [
            write("entry_kind", "work".into()), write("date", "2025-05-21".into()), write("text", "crack taped over".into()),
            write("job", job["id"].clone()), write("site", job["fields"]["site"]["value"].clone()),
        ],
    });
    let path = "/api/drafts/01968f00-0000-7000-8000-0000000000d1";
    for (status, new) in [(201, true), (200, false), (200, false)] {
        let answer = client.ask("PUT", path, Some(&draft));
        assert_eq!((answer.status, &answer.json()["new"]), (status, &Value::Bool(new)), "{answer:?}");
    }
    assert_eq!(client.get("/api/health").json()["changes"], before + 1);
    notebook.run(&["today", "--date", "2025-05-21"]).done().prints("crack taped over");
    served.stop("TERM");
    notebook.run(&["today", "--date", "2025-05-21"]).done().prints("crack taped over");
    assert_eq!(notebook.changes(), before + 1);
}

/// A request to every route that the server's own document lists.
struct Route {
    method: String,
    path: String,
}

impl Route {
    /// With something plausible in the place of each parameter.
    fn all(document: &Value) -> Vec<Self> {
        let mut routes = Vec::new();
        for (path, methods) in document["paths"].as_object().unwrap() {
            let mut parts: Vec<String> = path.split('/').map(str::to_owned).collect();
            for part in parts.iter_mut().filter(|part| part.starts_with('{')) {
                *part = match part.as_str() {
                    "{kind}" => "job".to_owned(),
                    "{uuid}" | "{id}" | "{draft}" => "01968f00-0000-7000-8000-0000000000d2".to_owned(),
                    "{hash}" => "0".repeat(64),
                    "{code}" => "no-session".to_owned(),
                    _ => "J1".to_owned(),
                };
            }
            let methods = methods.as_object().unwrap().keys().filter(|key| *key != "parameters");
            routes
                .extend(methods.map(|method| Self { method: method.to_uppercase(), path: parts.join("/") }));
        }
        routes
    }

    fn is_keyless(&self) -> bool {
        KEYLESS_ROUTES.contains(&(self.method.as_str(), self.path.as_str()))
    }

    fn ask(&self, client: &Client) -> Answer {
        let body = json!({ "key": "not a key" });
        let takes_body = matches!(self.method.as_str(), "POST" | "PUT" | "PATCH");
        client.ask(&self.method, &self.path, takes_body.then_some(&body))
    }

    #[track_caller]
    fn refuses(&self, client: &Client, status: u16, code: &str, why: &str) {
        let answer = self.ask(client);
        let (method, path) = (&self.method, &self.path);
        assert_eq!(answer.status, status, "{method} {path} with {why}: {}", answer.text());
        if method != "HEAD" {
            assert_eq!(answer.code(), code, "{method} {path} with {why}");
        }
        for header in ["x-request-id", "content-security-policy", "x-content-type-options"] {
            assert!(answer.header(header).is_some(), "{method} {path} with {why}: no {header}");
        }
    }
}

#[test]
fn no_route_answers_without_key_or_from_elsewhere() {
    let notebook = Notebook::demo();
    let served = Served::start(&notebook.data());
    let (stranger, client) = (served.stranger(), served.join());
    let routes = Route::all(&client.get("/api/openapi.json").json());
    assert!(routes.len() >= 30, "only {} routes are documented", routes.len());
    let listed =
        |(method, path): &(&str, &str)| routes.iter().any(|r| r.method == *method && r.path == *path);
    assert!(KEYLESS_ROUTES.iter().all(listed), "what needs no key is documented too");

    let name = client.headers[0].1.split('=').next().unwrap().to_owned();
    let wrong_key = stranger.with("cookie", &format!("{name}={}", "A".repeat(43)));
    let changes = client.get("/api/health").json()["changes"].clone();
    for route in &routes {
        // What lets one in reads a body first; only a key is looked at here. With a cookie, what is for devices alone
        // says so; both are tested with the table of roles.
        let (status, code) = match (route.is_keyless(), route.path.as_str()) {
            (true, "/api/session") => (401, "wrong-key"),
            (true, _) => (400, "bad-body"),
            (false, _) => (401, "no-session"),
        };
        route.refuses(&stranger, status, code, "no key");
        if route.path != "/api/sync/exchange" {
            route.refuses(&wrong_key, status, code, "a wrong key");
        }
        for origin in ["http://example.com", "null", "https://localhost"] {
            route.refuses(&client.with("origin", origin), 403, "wrong-origin", origin);
        }
        for host in ["example.com", "localhost:1", "127.0.0.1"] {
            route.refuses(&client.with("host", host), 421, "wrong-host", host);
        }
    }
    assert_eq!(client.get("/api/health").json()["changes"], changes, "nothing was written");
    assert_eq!(client.get("/api/nowhere").code(), "no-such-route");
    assert_eq!(stranger.get("/api/nowhere").code(), "no-session");
}

#[test]
fn the_screens_need_no_key_and_hold_no_data() {
    let notebook = Notebook::demo();
    let served = Served::start(&notebook.data());
    let stranger = served.stranger();
    for path in SHELL {
        let answer = stranger.get(path);
        assert!(matches!(answer.status, 200 | 404), "{path}: {answer:?}");
        for word in ["Millrace", "Kestrel", "Tin Heron", "hollow-core"] {
            assert!(!answer.text().contains(word), "{path} holds {word}");
        }
        assert_eq!(stranger.with("host", "example.com").get(path).status, 421, "{path}");
        assert_eq!(stranger.with("origin", "http://example.com").get(path).status, 403, "{path}");
    }
    assert_eq!(stranger.get("/").status, 200, "there is always something to see");
    for path in
        ["/notebook.db", "/device.key", "/assets/../notebook.db", "/assets/%2e%2e/device.key", "//etc/passwd"]
    {
        let answer = stranger.get(path);
        assert!(matches!(answer.status, 400 | 401 | 404), "{path}: {answer:?}");
    }
}
