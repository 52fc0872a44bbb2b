//! The program run on the data of a notebook, and what must or must not stand in its answer.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

use serde_json::Value;

use crate::notebook::Said;

pub(crate) fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("there is room for a folder")
}

pub(crate) fn command(data: &Path, words: &[&str]) -> Command {
    let mut command = Command::new(crate::binary());
    command.arg("--data").arg(data).args(words).env_remove("STORYPOLE_DATA");
    command
}

#[track_caller]
pub(crate) fn parsed(text: &str, words: &[&str]) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("{words:?}: {error}: {text}"))
}

/// Runs the program on the data of a notebook with nobody there to answer.
///
/// # Panics
/// It does not start.
pub fn run(data: &Path, words: &[&str]) -> Output {
    command(data, words).stdin(Stdio::null()).output().expect("the program starts")
}

/// What it prints when it does what was asked.
///
/// # Panics
/// It does not.
#[track_caller]
pub fn done(data: &Path, words: &[&str]) -> String {
    let said = Said::of(&run(data, words));
    assert_eq!(said.code, 0, "{words:?}: {}", said.err);
    said.out
}

/// What it prints for programs, with `--json` behind the command.
#[track_caller]
pub fn json(data: &Path, words: &[&str]) -> Value {
    parsed(&done(data, &[words, &["--json"]].concat()), words)
}

/// What it says when it refuses; what `verify` and `rebuild` checked is printed all the same.
///
/// # Panics
/// It does not refuse.
#[track_caller]
pub fn refused(data: &Path, words: &[&str]) -> String {
    let said = Said::of(&run(data, words));
    assert_eq!(said.code, 1, "{words:?}: {}", said.err);
    assert!(said.err.starts_with("refused: "), "{}", said.err);
    said.err
}

/// A text on one line, with one space between words.
pub fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every part stands in the text, however it is broken into lines.
///
/// # Panics
/// One does not.
#[track_caller]
pub fn contains(text: &str, parts: &[&str]) {
    let plain = plain(text);
    for part in parts {
        assert!(plain.contains(part), "\"{part}\" is missing in:\n{text}");
    }
}

/// No part stands in the text, however it is broken into lines.
///
/// # Panics
/// One does.
#[track_caller]
pub fn lacks(text: &str, parts: &[&str]) {
    let plain = plain(text);
    for part in parts {
        assert!(!plain.contains(part), "\"{part}\" stands in:\n{text}");
    }
}

/// The data of the demo in a folder of their own.
pub fn demo() -> tempfile::TempDir {
    let folder = folder();
    copy_demo(folder.path());
    folder
}

/// A file of the demo notebook: name, content, who may read it.
type Kept = (String, Vec<u8>, fs::Permissions);

/// The demo is made once; a copy is faster than reading its files again.
pub(crate) fn copy_demo(into: &Path) {
    static MADE: OnceLock<Vec<Kept>> = OnceLock::new();
    for (name, content, permissions) in MADE.get_or_init(make_demo) {
        let file = into.join(name);
        fs::write(&file, content).expect("a new folder takes a file");
        fs::set_permissions(&file, permissions.clone()).expect("the file is ours");
    }
}

fn make_demo() -> Vec<Kept> {
    let folder = folder();
    done(folder.path(), &["init", "--demo"]);
    let entries = fs::read_dir(folder.path()).expect("the folder is there");
    let entries = entries.map(|entry| entry.expect("the folder is read"));
    entries
        .filter(|entry| entry.path().is_file())
        .map(|entry| {
            let name = entry.file_name().into_string().expect("the program gives plain names");
            let permissions = entry.metadata().expect("the file is there").permissions();
            (name, fs::read(entry.path()).expect("the file is ours"), permissions)
        })
        .collect()
}
