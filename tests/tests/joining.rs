//! A device joins a served notebook from the command line, keepers decide about it from theirs, and commands find the
//! server that holds their folder.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};

use serde_json::{Value, json};
use storypole_desk::{Desk, Known, names};
use storypole_journal::WrittenAt;
use storypole_notebook::Value as Written;
use storypole_tests::{Notebook, Said, Served, run};

fn url(served: &Served) -> String {
    let scheme = if served.said["fingerprint"].is_string() { "https" } else { "http" };
    format!("{scheme}://localhost:{}", served.address().rsplit(':').next().unwrap())
}

fn tablet(notebook: &Notebook) -> PathBuf {
    notebook.folder.path().join("tablet")
}

fn on(folder: &Path, words: &[&str]) -> Said {
    Said::of(&run(folder, words))
}

fn on_json(folder: &Path, words: &[&str]) -> Value {
    serde_json::from_str(&on(folder, &[&["--json"], words].concat()).done().out).unwrap()
}

/// An invitation that waits to be used, as a person leaves it standing.
fn invite(notebook: &Notebook, words: &[&str]) -> (Child, BufReader<std::process::ChildStdout>, Value) {
    let mut command = notebook.command(&[&["--json", "invite"], words].concat());
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let mut out = BufReader::new(child.stdout.take().unwrap());
    let mut line = String::new();
    out.read_line(&mut line).unwrap();
    let invited = serde_json::from_str(&line).unwrap_or_else(|error| panic!("{error}: {line}"));
    (child, out, invited)
}

fn code(invited: &Value) -> &str {
    invited["code"].as_str().unwrap()
}

fn joins_and_is_seen(options: &[&str]) {
    let notebook = Notebook::demo();
    let served = Served::start_with(&notebook.data(), options);
    let (mut waiting, mut out, invited) = invite(&notebook, &["--role", "crew", "--person", "helper"]);
    let words = ["join", &url(&served), &code(&invited).to_lowercase(), "--label", "tablet"];
    on(&tablet(&notebook), &words).done().prints("tablet");
    let mut line = String::new();
    out.read_line(&mut line).unwrap();
    let last: Value = serde_json::from_str(&line).unwrap();
    assert_eq!((&last["end"], &last["id"]), (&json!("used"), &invited["id"]));
    assert_eq!(waiting.wait().unwrap().code(), Some(0));

    let listed = notebook.json(&["devices"]);
    let devices = listed["devices"].as_array().unwrap();
    let joined = devices.iter().find(|device| device["label"] == "tablet").unwrap();
    assert_eq!(
        (&joined["role"], &joined["person"]["label"], &joined["depth"]),
        (&json!("crew"), &json!("helper"), &json!(1))
    );
    assert_eq!(last["device"], joined["id"]);
    assert_eq!(notebook.json(&["digest"]), on_json(&tablet(&notebook), &["digest"]), "the copy is filled");
    on(&tablet(&notebook), &words).refused("already a notebook");
}

#[test]
fn a_device_joins_and_its_keeper_sees_it() {
    joins_and_is_seen(&[]);
}

#[test]
fn a_device_joins_over_tls() {
    joins_and_is_seen(&["--address", "0.0.0.0", "--name", "box.local"]);
}

#[test]
fn what_does_not_let_a_device_in_leaves_no_notebook_behind() {
    let notebook = Notebook::demo();
    notebook.run(&["invite"]).refused("no server runs");
    let served = Served::start(&notebook.data());
    let url = url(&served);
    let folder = tablet(&notebook);
    on(&folder, &["join", &url, "7KQ2-M9XD"]).refused("no such code is out");
    on(&folder, &["join", &url, "7KQ2"]).refused("eight letters");
    on(&folder, &["join", "box.example", "7KQ2-M9XD"]).refused("no address of a server");
    on(&folder, &["join", "http://192.0.2.7:8417", "7KQ2-M9XD"]).refused("https only");
    on(&folder, &["join", &url, "7KQ2-M9XD", "--label", "two words"]).refused("one word");
    let nobody = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    on(&folder, &["join", &format!("http://localhost:{nobody}"), "7KQ2-M9XD"]).refused("cannot be reached");
    let invited = notebook.json(&["invite", "--browser", "--no-wait"]);
    assert!(invited["url"].as_str().unwrap().ends_with(&format!("#code={}", code(&invited))), "{invited}");
    on(&folder, &["join", &url, code(&invited)]).refused("no such code is out");
    assert!(!folder.join("notebook.db").exists() && !folder.join("device.key").exists());
    assert_eq!(notebook.json(&["devices"])["devices"].as_array().unwrap().len(), 1);
}

#[test]
fn a_keeper_decides_about_devices_with_and_without_a_server() {
    let notebook = Notebook::demo();
    let served = Served::start(&notebook.data());
    let invited = notebook.json(&["invite", "--no-wait"]);
    on(&tablet(&notebook), &["join", &url(&served), code(&invited), "--label", "tablet"]).done();
    notebook.run(&["devices"]).done().prints("tablet");
    notebook.run(&["devices", "revoke", "nobody", "--reason", "lost"]).refused("no device is called");
    notebook.run(&["devices", "let-in", "tablet", "--reason", "x"]).refused("not revoked");
    notebook.run(&["devices", "revoke", "tablet", "--reason", " "]).refused("reason is missing");
    notebook.run(&["devices", "revoke", "tablet", "--reason", "lost"]).done().prints("tablet is revoked");
    notebook.run(&["devices"]).done().prints("revoked after 0");
    notebook
        .run(&["devices", "name", "tablet", "old-tablet", "--person", "helper"])
        .done()
        .prints("old-tablet");
    assert_eq!(served.stop("TERM").code, 0);

    assert!(!notebook.data().join("serving.json").exists());
    notebook.run(&["devices", "let-in", "old-tablet", "--reason", "found"]).done().prints("let in again");
    let listed = notebook.json(&["devices"]);
    let own = &listed["devices"][0];
    assert_eq!((&own["is_this"], &own["role"]), (&json!(true), &json!("keeper")));
    let id = own["id"].as_str().unwrap();
    notebook.run(&["devices", "revoke", &id[..18], "--reason", "by mistake"]).refused("the only keeper");
    assert_eq!(notebook.run(&["devices", "revoke", "old-tablet"]).code, 2, "a reason is asked for");
}

#[test]
fn browsers_are_listed_and_shut_out_with_and_without_a_server() {
    let notebook = Notebook::demo();
    let served = Served::start(&notebook.data());
    let client = served.join();
    let listed = notebook.json(&["browsers"]);
    assert_eq!(listed["sessions"].as_array().unwrap().len(), 1, "the command line is no browser: {listed}");
    notebook.run(&["browsers", "end", "nobody"]).refused("no browser is called");
    let id = listed["sessions"][0]["id"].as_str().unwrap();
    notebook.run(&["browsers", "end", &id[..6]]).done().prints("is shut out");
    assert_eq!(client.get("/api/session").code(), "no-session");
    notebook.run(&["browsers"]).done().prints("No browser");
    let invited = notebook.json(&["invite", "--browser", "--no-wait", "--role", "viewer", "--label", "tv"]);
    let opened = served.stranger().ask("POST", "/api/session", Some(&json!({ "code": code(&invited) })));
    assert_eq!(opened.status, 201, "{opened:?}");
    assert_eq!(served.stop("TERM").code, 0);
    notebook.run(&["browsers"]).done().prints("tv");
    notebook.run(&["browsers", "end", "--all"]).done().prints("tv is shut out");
    notebook.run(&["browsers"]).done().prints("No browser");
}

#[test]
fn the_file_that_tells_of_a_server_is_the_owner_s_and_believed_only_while_it_runs() {
    let notebook = Notebook::demo();
    let served = Served::start(&notebook.data());
    let file = notebook.data().join("serving.json");
    let told = std::fs::read(&file).unwrap();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(std::fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
    }
    // It is killed, with no time to tidy up.
    drop(served);
    assert_eq!(std::fs::read(&file).unwrap(), told, "the file is stale now");
    notebook.run(&["devices"]).done().prints("this one");
    notebook.run(&["invite"]).refused("no server runs");
    let next = Served::start(&notebook.data());
    notebook.run(&["invite", "--no-wait"]).done().prints("Code");
    drop(next);
    std::fs::write(&file, "{\"address\"").unwrap();
    notebook.run(&["devices"]).done();
}

/// Writes a field twice, neither having seen the other, as two devices without a connection do.
fn write_apart(data: &Path, values: [&str; 2]) {
    let desk = Desk::open(data).unwrap();
    let record = names::find(&desk, "receipt", "P12").unwrap();
    let seen = desk.heads(record, "receipt", "memo");
    for value in values {
        let mut compose = desk.compose(WrittenAt { unix_ms: 1_748_000_000_000, offset_min: -300 });
        let value = Written::Text(value.to_owned());
        compose.change(record, "receipt", "memo", Some(&value), seen.clone(), None).unwrap();
        desk.take(compose.finish()).unwrap();
    }
}

#[test]
fn a_conflict_is_settled_through_the_server_that_holds_the_folder() {
    let notebook = Notebook::demo();
    write_apart(&notebook.data(), ["7 boards counted", "receipt photo checked"]);
    let listed = notebook.json(&["conflicts"]);
    for value in listed["conflicts"][0]["values"].as_array().unwrap() {
        for known in ["written_at", "device", "typed"] {
            assert!(value[known].is_string(), "{known}: {value}");
        }
        assert_eq!((&value["typed"], &value["author"]["name"]), (&value["value"], &json!("site lead")));
        assert!(value["written_over"].as_array().is_some_and(|over| over.len() == 1), "{value}");
    }
    let served = Served::start(&notebook.data());
    let client = served.join();
    let shown = client.get("/api/conflicts").json()["conflicts"][0].clone();
    assert_eq!(shown["seen"].as_array().unwrap().len(), 2, "{shown}");
    let words = ["conflicts", "settle", "P12", "memo", "--take", "2"];
    notebook.run(&words).done().prints("no conflicts are left");
    assert_eq!(notebook.json(&["conflicts"])["conflicts"], json!([]));
    assert_eq!(client.get("/api/conflicts").json()["conflicts"], json!([]));
    notebook.run(&["show", "P12"]).done().prints("7 boards counted");
}

#[test]
fn a_conflict_is_settled_with_one_draft() {
    let notebook = Notebook::demo();
    write_apart(&notebook.data(), ["7 boards counted", "receipt photo checked"]);
    let served = Served::start(&notebook.data());
    let client = served.join();
    let shown = client.get("/api/conflicts").json()["conflicts"][0].clone();
    let draft = json!({ "written_at": "2025-05-23T08:00:00-05:00", "writes": [{
        "record": shown["record"]["id"], "kind": shown["record"]["kind"], "field": shown["field"],
        "value": shown["values"][1]["typed"], "seen": shown["seen"],
    }] });
    let taken = client.ask("PUT", "/api/drafts/01968f00-0000-7000-8000-0000000000d3", Some(&draft));
    assert_eq!(taken.status, 201, "{taken:?}");
    assert_eq!(client.get("/api/conflicts").json()["conflicts"], json!([]));
}
