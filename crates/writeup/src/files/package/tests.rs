//! The description of the data package, held against its standard, with the hashes of its files.

use serde_json::Value;

use super::*;
use crate::data::Data;
use crate::document;
use crate::fixture::demo;
use crate::subject::{Choices, Subject};

fn written() -> Document {
    let all = demo();
    let choices = Choices::new("2025-05-24".parse().unwrap(), "0.1.0");
    document(&all.book, Subject::Job(all.id("job", "J1")), &choices).unwrap()
}

fn described(document: &Document) -> (Value, Vec<File>) {
    let files = package(document);
    let text = files.iter().find(|file| file.path == "data/datapackage.json").unwrap();
    (serde_json::from_slice(&text.bytes).unwrap(), files)
}

/// Data Package, version 1: required `name` and `path`, names of lower-case letters, digits, `.`, `_`, `-`; Table Schema,
/// version 1: types, and keys that name fields.
#[test]
fn the_description_fits_the_files() {
    let (package, files) = described(&written());
    assert_eq!(package["profile"], "tabular-data-package");
    assert_eq!(package["name"], "music-room-the-door-was-the-problem");
    assert_eq!(
        (&package["version"], &package["created"]),
        (&json!("2025.5.24"), &json!("2025-05-24T00:00:00Z"))
    );
    assert_eq!(package["licenses"][0]["path"], "https://creativecommons.org/licenses/by/4.0/");
    let resources = package["resources"].as_array().unwrap();
    assert_eq!(resources.len() + 2, files.len());
    for resource in resources {
        let path = format!("data/{}", resource["path"].as_str().unwrap());
        let file = files.iter().find(|file| file.path == path).unwrap();
        assert_eq!(resource["bytes"], file.bytes.len());
        let mut reader = ::csv::Reader::from_reader(file.bytes.as_slice());
        let heads: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let fields = resource["schema"]["fields"].as_array().unwrap();
        let names: Vec<&str> = fields.iter().map(|field| field["name"].as_str().unwrap()).collect();
        assert_eq!(heads, names, "{path}");
        for key in resource["schema"]["primaryKey"].as_array().unwrap() {
            assert!(names.contains(&key.as_str().unwrap()), "{path}: {key}");
        }
        for foreign in resource["schema"]["foreignKeys"].as_array().into_iter().flatten() {
            let other = foreign["reference"]["resource"].as_str().unwrap();
            assert!(other.is_empty() || resources.iter().any(|one| one["name"] == other), "{path}: {other}");
        }
    }
}

/// SHA-256 of nothing and of `abc`, FIPS 180-4 and its examples, by the way hashes are written here.
#[test]
fn hashes_are_those_of_the_files() {
    let hash = crate::files::sha256;
    assert_eq!(hash(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    let (package, files) = described(&written());
    let jobs = files.iter().find(|file| file.path == "data/jobs.csv").unwrap();
    let resource = package["resources"].as_array().unwrap().iter().find(|one| one["name"] == "jobs").unwrap();
    assert_eq!(resource["hash"], format!("sha256:{}", hash(&jobs.bytes)));
}

#[test]
fn licences_without_a_page_have_a_name() {
    assert_eq!(licence("MIT"), json!({ "name": "MIT" }));
    assert_eq!(licence("ask me, then share"), json!({ "name": "other", "title": "ask me, then share" }));
    assert_eq!(licence(""), json!({ "name": "other", "title": "" }));
    assert!(licence("CC0-1.0")["path"].as_str().unwrap().contains("publicdomain"));
}

#[test]
fn without_tables_there_is_no_package_and_a_table_left_out_is_not_referred_to() {
    let mut document = written();
    document.data.tables.retain(|table| table.name != "jobs");
    let (package, _) = described(&document);
    assert!(!package.to_string().contains("\"resource\":\"jobs\""));
    document.data = Data::default();
    assert_eq!(package_of(&document), 0);
}

fn package_of(document: &Document) -> usize {
    package(document).len()
}

#[test]
fn the_same_document_gives_the_same_bytes() {
    assert_eq!(package(&written()), package(&written()));
    let text = package(&written()).into_iter().find(|file| file.path == "data/README.md").unwrap();
    let text = String::from_utf8(text.bytes).unwrap();
    assert!(text.starts_with("# Data behind: Music room: the door was the problem\n"), "{text}");
    assert!(text.contains("- `changes.csv`: What changed from one set to another.\n"));
    assert!(text.contains("CC-BY-4.0. Written by the program in version 0.1.0 on 2025-05-24."));
}
