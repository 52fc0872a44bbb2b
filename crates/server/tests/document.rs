//! The document that the screens' types are made from: it is the one the routes give, and it tells enough.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use storypole_server::access::invitations::InviteBody;
use storypole_server::access::session::{KeyBody, Session};
use storypole_server::devices::{DeviceKeyGiven, Greeting, GreetingBody, ProofBody};
use storypole_server::drafts::body::{DraftBody, DraftTaken};
use storypole_server::files::FileKept;
use storypole_server::files::parts::FilesOffered;
use storypole_server::health::Health;
use storypole_server::join::{FinishBody, StartBody};
use storypole_server::members::{DecideBody, NameBody};
use storypole_server::syncing::PartnerBody;
use storypole_server::wire;
use storypole_server::wire::device;
use storypole_server::wire::files::{FileStanding, FileStandings};
use storypole_server::wire::problem::ProblemKind;
use storypole_server::wire::sync::Syncing;

fn made() -> Value {
    serde_json::to_value(wire::openapi()).unwrap()
}

/// Method, address and operation of every route in the document.
fn operations(document: &Value) -> Vec<(String, Value)> {
    let paths = document["paths"].as_object().unwrap();
    let of_path = |(path, item): (&String, &Value)| {
        let methods = item.as_object().unwrap().clone().into_iter();
        methods.map(|(method, operation)| (format!("{method} {path}"), operation)).collect::<Vec<_>>()
    };
    paths.iter().flat_map(of_path).collect()
}

/// `STORYPOLE_ACCEPT=1 cargo test -p storypole-server --test document` writes the new document.
#[test]
fn the_committed_document_is_the_one_the_routes_give() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("openapi.json");
    let made = format!("{}\n", serde_json::to_string_pretty(&made()).unwrap());
    if std::env::var_os("STORYPOLE_ACCEPT").is_some() {
        fs::write(&file, &made).unwrap();
    }
    let committed = fs::read_to_string(&file).unwrap_or_default();
    let differs = committed.lines().zip(made.lines()).position(|(one, other)| one != other);
    assert!(
        committed == made,
        "openapi.json differs from the routes, first in line {:?}; look at the difference after `STORYPOLE_ACCEPT=1 \
         cargo test -p storypole-server --test document`, then make the types of the screens anew",
        differs.map(|line| line + 1)
    );
}

#[test]
fn every_reference_leads_somewhere() {
    fn references(value: &Value, found: &mut BTreeSet<String>) {
        match value {
            Value::Array(items) => items.iter().for_each(|item| references(item, found)),
            Value::Object(members) => {
                found.extend(members.get("$ref").and_then(Value::as_str).map(str::to_owned));
                members.values().for_each(|member| references(member, found));
            }
            _ => (),
        }
    }
    let document = made();
    let mut found = BTreeSet::new();
    references(&document, &mut found);
    assert!(found.len() > 100, "{}", found.len());
    for reference in found {
        let place = reference.strip_prefix('#').unwrap();
        assert!(document.pointer(place).is_some(), "{reference}");
    }
}

/// Operations that let one in.
const KEYLESS: &[&str] = &[
    "post /api/session",
    "post /api/join/start",
    "post /api/join/finish",
    "post /api/sync/greeting",
    "post /api/sync/key",
];

#[test]
fn every_operation_says_what_it_is_and_how_it_may_be_refused() {
    let document = made();
    let tags = document["tags"].as_array().unwrap();
    let tags: Vec<&Value> = tags.iter().map(|tag| &tag["name"]).collect();
    let mut ids = BTreeSet::new();
    for (name, operation) in operations(&document) {
        assert!(ids.insert(operation["operationId"].as_str().unwrap().to_owned()), "{name}");
        assert!(tags.contains(&&operation["tags"][0]), "{name}");
        assert!(operation["summary"].as_str().unwrap().ends_with('.'), "{name}");
        for status in ["401", "403", "421", "429", "500", "503"] {
            assert!(operation["responses"][status]["$ref"].is_string(), "{name} {status}");
        }
        for parameter in operation["parameters"].as_array().unwrap_or(&Vec::new()) {
            assert!(parameter["description"].is_string(), "{name} {parameter}");
        }
        // A session is asked for unless an operation says otherwise.
        if name == "post /api/sync/exchange" {
            assert_eq!(operation["security"], serde_json::json!([{ "device": [] }]), "{name}");
            continue;
        }
        assert_eq!(operation.get("security").is_some(), KEYLESS.contains(&name.as_str()), "{name}");
    }
    assert_eq!(document["security"][0]["session"], Value::Array(Vec::new()));
}

#[test]
fn every_body_of_json_or_text_has_an_example() {
    let has_example = |content: &Value| content.get("example").is_some() || content.get("examples").is_some();
    for (name, operation) in operations(&made()) {
        let answers = operation["responses"].as_object().unwrap().iter();
        let bodies = answers.map(|(status, answer)| (status.as_str(), &answer["content"]));
        for (status, content) in bodies.chain([("body", &operation["requestBody"]["content"])]) {
            for (media_type, content) in content.as_object().into_iter().flatten() {
                let is_read = media_type.starts_with("text/") || media_type.ends_with("json");
                assert!(!is_read || has_example(content), "{name} {status} {media_type}");
            }
        }
    }
}

/// Members that may be missing: of bodies that are sent, and of refusals.
const MAY_BE_MISSING: &[(&str, &[&str])] = &[
    ("DraftBody", &["author"]),
    ("InviteBody", &["label", "person"]),
    ("KeyBody", &["code", "key", "label"]),
    ("NameBody", &["person"]),
    ("PartnerBody", &["pin"]),
    ("Problem", &["field"]),
    ("ProofBody", &["vouch"]),
    ("WriteBody", &["reason", "seen"]),
];

#[test]
fn every_member_is_described_and_those_of_answers_are_always_there() {
    let document = made();
    for (name, schema) in document["components"]["schemas"].as_object().unwrap() {
        assert!(schema["description"].is_string(), "{name}");
        let Some(members) = schema["properties"].as_object() else { continue };
        assert_eq!(schema["additionalProperties"], false, "{name}");
        // A body of which nothing must be said lists nothing.
        let required = schema["required"].as_array().cloned().unwrap_or_default();
        for (member, shape) in members {
            assert!(shape["description"].is_string(), "{name}.{member}");
            let may_be_missing =
                MAY_BE_MISSING.iter().any(|(of, known)| of == name && known.contains(&&**member));
            assert_eq!(!required.contains(&member.as_str().into()), may_be_missing, "{name}.{member}");
        }
    }
}

#[test]
fn examples_written_by_hand_fit_their_types() {
    fn fits<T: DeserializeOwned + Serialize>(operation: &str, status: &str) {
        let example = wire::example::of(operation, status).unwrap();
        let read: T = serde_json::from_value(example.clone()).unwrap();
        let again = serde_json::to_value(read).unwrap();
        for (member, value) in again.as_object().unwrap() {
            // A list of writes leaves out what is not said; every answer says all.
            assert!(member == "writes" || example[member] == *value, "{operation} {member}");
        }
        assert_eq!(example.as_object().unwrap().len(), again.as_object().unwrap().len(), "{operation}");
    }
    fits::<KeyBody>("open_session", "body");
    fits::<InviteBody>("invite", "body");
    fits::<device::Devices>("get_devices", "200");
    fits::<device::Device>("revoke_device", "200");
    fits::<device::Device>("let_in_device", "200");
    fits::<device::Device>("name_device", "200");
    fits::<device::BranchTaken>("let_in_branch", "200");
    fits::<DecideBody>("revoke_device", "body");
    fits::<DecideBody>("let_in_device", "body");
    fits::<DecideBody>("let_in_branch", "body");
    fits::<NameBody>("name_device", "body");
    fits::<device::Invited>("invite", "201");
    fits::<device::Invitations>("get_invitations", "200");
    fits::<device::Browsers>("get_sessions", "200");
    fits::<device::ShutOut>("end_other_sessions", "200");
    fits::<StartBody>("start_join", "body");
    fits::<device::JoinStarted>("start_join", "200");
    fits::<FinishBody>("finish_join", "body");
    fits::<device::JoinedDevice>("finish_join", "200");
    fits::<Session>("open_session", "201");
    fits::<Session>("get_session", "200");
    fits::<DraftBody>("put_draft", "body");
    fits::<DraftTaken>("put_draft", "201");
    fits::<DraftTaken>("put_draft", "200");
    fits::<FileKept>("post_attachment", "201");
    fits::<FileKept>("post_attachment", "200");
    fits::<FileStanding>("put_attachment_parts", "200");
    fits::<FileStanding>("put_attachment_part", "200");
    fits::<FileStandings>("post_attachments_wanted", "200");
    fits::<FilesOffered>("post_attachments_wanted", "body");
    fits::<GreetingBody>("greet_device", "body");
    fits::<Greeting>("greet_device", "200");
    fits::<ProofBody>("open_device", "body");
    fits::<DeviceKeyGiven>("open_device", "201");
    fits::<PartnerBody>("put_sync_partner", "body");
    fits::<Syncing>("put_sync_partner", "200");
    fits::<Syncing>("delete_sync_partner", "200");
    fits::<Syncing>("get_sync", "200");
    fits::<Syncing>("sync_now", "202");
    fits::<Health>("get_health", "200");
    fits::<ProblemKind>("get_problem", "200");
}

/// The document names a type by its last name alone, so of two of one name one would stand for both.
#[test]
fn no_two_types_of_answers_have_one_name() {
    let mut seen = BTreeSet::new();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/wire");
    for file in fs::read_dir(folder).unwrap().map(|file| file.unwrap().path()) {
        if file.extension().is_none_or(|extension| extension != "rs") {
            continue;
        }
        for line in fs::read_to_string(&file).unwrap().lines() {
            let name = line.strip_prefix("    struct ").or_else(|| line.strip_prefix("    enum "));
            if let Some(name) = name.and_then(|name| name.split_whitespace().next()) {
                assert!(seen.insert(name.to_owned()), "{name} of {} is there already", file.display());
            }
        }
    }
    assert!(seen.len() > 100, "{} types are not all", seen.len());
}
