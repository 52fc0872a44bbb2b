//! Examples of the document, made from real answers: cut short, and with ids that stay the same.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde_json::Value;
use storypole_server::wire::example::of;

/// Most texts and numbers of a list that are shown; of lists of larger things, one.
const MOST: usize = 2;

/// The example of an operation; with `STORYPOLE_ACCEPT=1` it is made anew from an answer and kept.
pub fn kept(operation: &str, answer: &Value) -> Value {
    if std::env::var_os("STORYPOLE_ACCEPT").is_none() {
        return of(operation, "200").unwrap_or_else(|| panic!("{operation} has no example"));
    }
    let mut example = answer.clone();
    shorten(&mut example);
    // Each stands as an example of its own elsewhere.
    for (of, member) in [("get_test", "finding"), ("get_test_finding", "headline"), ("get_job", "sets")] {
        if operation == of {
            example[member] = if example[member].is_array() { Value::Array(Vec::new()) } else { Value::Null };
        }
    }
    let text = renumber(&serde_json::to_string_pretty(&example).unwrap());
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/wire/example");
    fs::write(folder.join(format!("{operation}.json")), format!("{text}\n")).unwrap();
    serde_json::from_str(&text).unwrap()
}

fn shorten(value: &mut Value) {
    match value {
        Value::Array(items) => {
            let is_plain = items.iter().all(|item| !item.is_object() && !item.is_array());
            items.truncate(if is_plain { MOST } else { 1 });
            items.iter_mut().for_each(shorten);
        }
        Value::Object(members) => members.values_mut().for_each(shorten),
        _ => (),
    }
}

/// Ids are made anew with each notebook; in an example they are numbered in the order in which they stand.
fn renumber(text: &str) -> String {
    const LETTERS: usize = 36;
    let mut known: BTreeMap<&str, String> = BTreeMap::new();
    let mut renumbered = String::new();
    let mut rest = text;
    while !rest.is_empty() {
        match rest.get(..LETTERS).filter(|start| is_id(start)) {
            Some(id) => {
                let next = known.len() + 1;
                let number =
                    known.entry(id).or_insert_with(|| format!("01955e73-c400-7000-8000-{next:012x}"));
                renumbered.push_str(number);
                rest = &rest[LETTERS..];
            }
            None => {
                let letter = rest.chars().next().unwrap();
                renumbered.push(letter);
                rest = &rest[letter.len_utf8()..];
            }
        }
    }
    renumbered
}

fn is_id(text: &str) -> bool {
    text.bytes().enumerate().all(|(at, byte)| match at {
        8 | 13 | 18 | 23 => byte == b'-',
        _ => byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte),
    })
}
