//! What once misled a person who read a notebook for the first time, and must not again.
//!
//! Levels typed here are invented; what they give is checked in `findings`.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::path::Path;

use serde_json::Value;
use storypole_tests::{contains, demo, done, lacks, plain, refused};

/// A house with one wall, rebuilt once, and a test with three receive positions; no set yet.
fn house() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    for line in [
        "init",
        "add site S1 name=house",
        "add room R1 site=S1 name=study",
        "add room R2 site=S1 name=hall",
        "add job J1 site=S1 title=partition",
        "assembly add A1 --job J1 --room-a R1 --room-b R2 --length 120in --height 96in --state finished",
        "assembly replace A1 A2 --seals A~2 --state finished",
        "test plan Q1 --question quieter --job J1",
        "test position Q1 S1 --side source --room R1",
        "test position Q1 R1 --side receive --room R2",
        "test position Q1 R2 --side receive --room R2",
        "test position Q1 R3 --side receive --room R2",
    ] {
        let words: Vec<String> = line.split(' ').map(|word| word.replace('~', " ")).collect();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        done(data, &words);
    }
    folder
}

fn start(data: &Path, set: &str, stage: &str, wall: &str) {
    let about = ["--test", "Q1", "--job", "J1", "--stage", stage, "--assembly", wall];
    let rooms = ["--from", "R1", "--to", "R2", "--date", "2025-03-04", "--no-guide"];
    done(data, &[&["test", "set", set], &about[..], &rooms[..]].concat());
}

fn read(data: &Path, set: &str, levels: [&str; 5]) {
    for (place, level) in ["S1", "R1", "R2", "R3"].into_iter().zip(levels) {
        reading(data, &[set, place, level, "dBA"]);
    }
    reading(data, &[set, "background", levels[4], "dBA"]);
}

fn reading(data: &Path, words: &[&str]) {
    done(data, &[&["test", "reading"], words, &["--response", "leq", "--seconds", "30"]].concat());
}

#[test]
fn a_job_measured_before_only_says_so_and_what_comes_next() {
    let house = house();
    let data = house.path();
    contains(
        &done(data, &["finding", "Q1"]),
        &["No set of readings yet", "next: storypole test set --test Q1 --stage before"],
    );
    start(data, "T01", "before", "A1");
    contains(
        &done(data, &["finding", "Q1"]),
        &["T01 has no readings yet.", "storypole test set T01 --guide"],
    );
    lacks(&done(data, &["finding", "Q1"]), &["()", "no set in results"]);
    read(data, "T01", ["94.0", "60.0", "61.0", "59.5", "30.0"]);
    let said = done(data, &["finding", "J1"]);
    contains(
        &said,
        &[
            "before measured (T01), after missing",
            "next: storypole test set --test Q1 --stage after --job J1",
        ],
    );
    lacks(&said, &["Nothing measured"]);
    start(data, "T02", "after", "A2");
    contains(
        &refused(data, &["compare", "T01", "T02"]),
        &["T02 has no readings yet", "storypole test set T02 --guide"],
    );
}

#[test]
fn nonsense_readings_claim_nothing_until_a_person_has_looked() {
    let house = house();
    let data = house.path();
    start(data, "T01", "before", "A1");
    read(data, "T01", ["94.0", "60.0", "61.0", "60.5", "20.0"]);
    start(data, "T02", "after", "A2");
    read(data, "T02", ["94.0", "36.0", "109.0", "36.5", "20.0"]);
    let said = done(data, &["finding", "J1"]);
    contains(
        &said,
        &[
            "No claim while a position is far from the others:",
            "T02: R2 lies 72.8 dB from",
            "a position is far from the others: check it",
            "No price of a decibel: no number can be claimed",
        ],
    );
    lacks(&said, &["dB worse, measured", "dB better, measured"]);
    contains(
        &done(data, &["finding", "T02"]),
        &[
            "source and receive may be swapped",
            "nothing is claimed until",
            "storypole test include T02 --reason",
        ],
    );
    done(data, &["test", "correct", "T02", "R2", "37.0", "dBA", "--reason", "misread display"]);
    contains(&done(data, &["finding", "J1"]), &["dB better, measured at 3 spots", "claimed"]);
}

#[test]
fn a_loss_has_no_price_because_it_got_worse() {
    let house = house();
    let data = house.path();
    start(data, "T01", "before", "A1");
    read(data, "T01", ["94.0", "40.0", "41.0", "40.5", "20.0"]);
    start(data, "T02", "after", "A2");
    read(data, "T02", ["94.0", "60.0", "61.0", "60.5", "20.0"]);
    let said = done(data, &["finding", "J1"]);
    contains(&said, &["dB worse", "claimed", "No price of a decibel: it got worse."]);
    lacks(&said, &["no number can be claimed"]);
}

#[test]
fn the_reason_for_leaving_a_set_out_reaches_finding_and_write_up() {
    let demo = demo();
    let data = demo.path();
    done(data, &["test", "leave-out", "T13", "--reason", "a truck stood outside"]);
    let expected = ["left out by a person: a truck stood outside"];
    for words in [&["finding", "T13"][..], &["finding", "Q2"], &["finding", "J3"], &["writeup", "Q2"]] {
        contains(&done(data, words), &expected);
    }
}

#[test]
fn readings_taken_again_at_once_are_no_corrections() {
    let house = house();
    let data = house.path();
    start(data, "T01", "before", "A1");
    read(data, "T01", ["94.0", "60.0", "61.0", "59.5", "30.0"]);
    for (place, level) in [("R1", "60.4"), ("R2", "61.2")] {
        let reason = "taken again at once, in the same round";
        done(data, &["test", "correct", "T01", place, level, "dBA", "--reason", reason]);
    }
    lacks(&done(data, &["finding", "T01"]), &["reading-corrected"]);
    let file = done(data, &["writeup", "Q1"]);
    contains(&file, &["Taken again at once, in the same round: T01, R1", "T01, R2"]);
    lacks(&file, &["corrected to"]);
    done(data, &["test", "correct", "T01", "R3", "59.9", "dBA", "--reason", "misread"]);
    contains(&done(data, &["finding", "T01"]), &["reading-corrected: value at R3"]);
    contains(&done(data, &["writeup", "Q1"]), &["59.5 dBA, corrected to 59.9 dBA"]);
}

#[test]
fn unknown_labels_lead_to_the_command_that_adds_them() {
    let demo = demo();
    let data = demo.path();
    let typed = ["receipt", "add", "--supplier", "hardware-store", "--line", "1 hinge @ 3"];
    contains(&refused(data, &typed), &["storypole add supplier hardware-store name=..."]);
    contains(
        &done(data, &["jobs", "--all"]),
        &["Tasks", "K04", "Places of sources and meters", "Q1/R2", "Materials"],
    );
    contains(
        &refused(data, &["show", "T16/R4"]),
        &["T16 has no reading at R4", "storypole test reading T16 R4"],
    );
    contains(&done(data, &["show", "T15/R4"]), &["reading T15/R4"]);
}

#[test]
fn a_wall_is_told_by_its_latest_exact_result() {
    let demo = demo();
    let said = done(demo.path(), &["finding", "A04"]);
    contains(
        &said,
        &["36.3 dB, hall to music-practice room (T07).", "replaced, music-practice room to hall: About 10"],
    );
    assert!(!said.contains("At least 36.2 dB"), "{said}");
}

#[test]
fn an_earlier_day_says_what_is_as_of_now() {
    let demo = demo();
    let data = demo.path();
    contains(&done(data, &["today", "--date", "2025-03-04"]), &["are as of now, not as of that day"]);
    lacks(&done(data, &["today"]), &["as of now"]);
}

#[test]
fn rounding_is_said_once_under_each_table_of_changes() {
    let demo = demo();
    let data = demo.path();
    let rounding = "Changes are computed before rounding and may differ by 0.1.";
    for words in
        [&["finding", "J1"][..], &["finding", "A04"], &["compare", "jobs"], &["compare", "T01", "T03"]]
    {
        assert_eq!(plain(&done(data, words)).matches(rounding).count(), 1, "{words:?}");
    }
    lacks(&done(data, &["finding", "J6"]), &[rounding]);
}

#[test]
fn a_receipt_shows_its_discount() {
    let demo = demo();
    let data = demo.path();
    lacks(&done(data, &["receipt", "show", "P02"]), &["discount"]);
    done(data, &["receipt", "add", "--label", "P90", "--line", "3 tube sealant @ 9.25; discount 2.00"]);
    contains(&done(data, &["receipt", "show", "P90"]), &["discount", "9.25 2.00 25.75"]);
}

#[test]
fn words_are_not_doubled_and_articles_fit() {
    let demo = demo();
    let data = demo.path();
    lacks(&done(data, &["find", "permit"]), &["[permit] [permit]"]);
    contains(&done(data, &["find", "permit"]), &["[permit]"]);
    contains(&done(data, &["add", "set"]), &["an assembly"]);
    lacks(&done(data, &["add", "set"]), &["a assembly"]);
    contains(&refused(data, &["add", "assembly", "A04"]), &["there is an assembly A04 already"]);
}

#[test]
fn an_empty_comparison_says_that_there_is_nothing_yet() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    done(data, &["init"]);
    done(data, &["test", "plan", "--question", "Which fill?", "--bench-rig"]);
    for by in ["fills", "couplings", "jobs"] {
        let said = done(data, &["compare", by]);
        contains(&said, &["Nothing to compare yet"]);
        assert_eq!(said.lines().count(), 1, "{said}");
    }
}

#[test]
fn bench_panels_are_no_treated_area() {
    let demo = demo();
    let finding: Value = serde_json::from_str(&done(demo.path(), &["finding", "J6", "--json"])).unwrap();
    assert_eq!(finding.pointer("/money/per_ft2"), Some(&Value::Null));
    let finding: Value = serde_json::from_str(&done(demo.path(), &["finding", "J1", "--json"])).unwrap();
    assert_eq!(finding.pointer("/money/per_ft2/amount"), Some(&"20.96".into()));
}
