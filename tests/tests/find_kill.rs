//! The program is killed at random moments while it brings the index to the log. Afterwards it answers as one whose index
//! is made anew does.
//!
//! `cargo xtask soak find` runs the same 100 times; `STORYPOLE_KILLS` and `SEED` set number and seed.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::fmt::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use serde_json::Value;
use storypole_testkit::Chance;
use storypole_tests::{demo, done, json};

/// Lines of the day log in the first file: enough that making an index takes longer than most waits before the kill.
const LINES: u64 = 4_000;

/// Lines that are added before each kill: few are held in memory by who searches, many go to disk.
const ADDED: &[u64] = &[3, 40, 900];

const WORK: &[&str] = &[
    "filled the bays with cellulose, cut round two boxes",
    "sealed the perimeter with two beads",
    "second board on the office side, joints staggered",
    "stone wool cut wide for a friction fit",
    "dust sheet under the ladder moved",
];

const QUESTIONS: &[&str] =
    &["cellulose", "stone wool", "\"two beads\"", "bays -cellulose", "marker", "since April"];

fn lines(first: u64, count: u64, chance: &mut Chance) -> String {
    let mut csv = String::from("date,site,job,room,entry_kind,text\n");
    for number in first..first + count {
        let (work, day) = (chance.pick(WORK), 1 + chance.below(28));
        writeln!(csv, "2025-04-{day:02},S2,J3,R4,work,\"{work}, marker {number}\"").unwrap();
    }
    csv
}

fn add(data: &Path, file: &Path, csv: &str) {
    std::fs::write(file, csv).unwrap();
    done(data, &["import", file.to_str().unwrap()]);
}

fn search_and_kill(data: &Path, wait: Duration) -> bool {
    let mut search = Command::new(storypole_tests::binary())
        .args(["--data", data.to_str().unwrap(), "find", "cellulose"])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(wait);
    // SIGKILL on this platform: the process gets no chance to tidy up.
    search.kill().unwrap();
    // A search that was done by then had ended with a code.
    search.wait().unwrap().code().is_none()
}

/// What is found, in an order that does not depend on how a score rounds.
fn found(data: &Path, question: &str) -> Vec<(String, u64, Vec<String>)> {
    let answer = json(data, &["find", question, "--limit", "100"]);
    let groups = answer["groups"].as_array().unwrap();
    let of = |group: &Value| {
        let hits = group["hits"].as_array().unwrap();
        let mut ids: Vec<String> =
            hits.iter().map(|hit| hit["record"]["id"].as_str().unwrap().to_owned()).collect();
        // Past the limit equal hits may come in another order, so there the count alone speaks.
        if group["next"].is_null() {
            ids.sort()
        } else {
            ids.clear()
        }
        (group["kind"].as_str().unwrap().to_owned(), group["count"].as_u64().unwrap(), ids)
    };
    let mut found: Vec<_> = groups.iter().map(of).collect();
    found.sort();
    found
}

#[test]
fn a_killed_search_costs_nothing() {
    let number = |name: &str, otherwise| {
        std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise)
    };
    let (kills, seed): (u64, u64) = (number("STORYPOLE_KILLS", 10), number("SEED", 1));
    let mut chance = Chance::new(seed);
    let demo = demo();
    let (data, file) = (demo.path(), demo.path().join("lines.csv"));
    add(data, &file, &lines(0, LINES, &mut chance));
    let (mut written, mut hit) = (LINES, 0);
    for kill in 0..kills {
        if kill % 3 == 0 {
            // Every third kill meets an index that is made from nothing.
            let _ = std::fs::remove_dir_all(data.join("index"));
        }
        let count = *chance.pick(ADDED);
        add(data, &file, &lines(written, count, &mut chance));
        written += count;
        hit += u64::from(search_and_kill(data, Duration::from_millis(chance.below(700))));
        let after: Vec<_> = QUESTIONS.iter().map(|question| found(data, question)).collect();
        std::fs::remove_dir_all(data.join("index")).unwrap();
        let fresh: Vec<_> = QUESTIONS.iter().map(|question| found(data, question)).collect();
        for ((after, fresh), question) in after.iter().zip(&fresh).zip(QUESTIONS) {
            assert_eq!(after, fresh, "{question}, kill {kill}, SEED={seed}");
        }
        let entries = |found: &[(String, u64, Vec<String>)]| {
            found.iter().filter(|(kind, ..)| kind == "entry").map(|(_, count, _)| *count).sum::<u64>()
        };
        assert_eq!(entries(&fresh[4]), written, "every line has the word");
    }
    println!("{kills} kills, {hit} before the search was done");
    assert!(hit > 0, "the kills must hit searches that are under way");
}
