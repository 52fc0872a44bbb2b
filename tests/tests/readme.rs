//! The commands in README.md work as they stand there.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::process::Command;

/// The commands of a section: its indented lines.
fn commands(heading: &str) -> Vec<String> {
    let readme = include_str!("../../README.md");
    let begin = readme.find(heading).unwrap_or_else(|| panic!("README.md has a section {heading}"));
    let body = &readme[begin + heading.len()..];
    let end = body.find("\n## ").unwrap_or(body.len());
    let lines = body[..end].lines().filter_map(|line| line.strip_prefix("    "));
    lines.map(str::to_owned).collect()
}

fn run(heading: &str, leave_out: &str, least: usize) -> String {
    let folder = tempfile::tempdir().unwrap();
    let commands = commands(heading);
    assert!(commands.iter().filter(|line| line.starts_with("storypole")).count() >= least, "{commands:?}");
    let script = commands.into_iter().filter(|line| !line.contains(leave_out)).collect::<Vec<_>>().join("\n");
    let ran = Command::new("sh")
        .args(["-e", "-c", &format!("storypole() {{ \"$STORYPOLE\" \"$@\"; }}\n{script}")])
        .current_dir(folder.path())
        .env("STORYPOLE", storypole_tests::binary())
        .env("XDG_DATA_HOME", folder.path().join("data"))
        .env("HOME", folder.path())
        .env_remove("STORYPOLE_DATA")
        .output()
        .unwrap();
    let (out, err) = (String::from_utf8_lossy(&ran.stdout), String::from_utf8_lossy(&ran.stderr));
    assert!(ran.status.success(), "{heading} stops: {out}\n{err}");
    out.into_owned()
}

#[test]
fn ten_minutes_with_the_example() {
    let said = run("## Ten minutes with the example", "(nothing)", 7);
    for expected in ["the opening is the limit", "at least 36.2", "cannot be told apart", "34.8 dB"] {
        assert!(said.contains(expected), "{expected} is missing in {said}");
    }
}

#[test]
fn a_notebook_and_a_test_of_ones_own() {
    // The files of the import line are the reader's own.
    let said = run("## Your own notebook", "storypole import", 12);
    assert!(said.contains("132.91") && said.contains("corrected from 69.1 dBA to 61.9 dBA"), "{said}");
}
