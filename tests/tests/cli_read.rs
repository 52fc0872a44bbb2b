//! What a person asks a notebook: pages and JSON of the demo, refusals, files, conflicts of two devices.
//!
//! The demo's numbers are invented; that they follow from the readings is tested in `findings` and `ledger`.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::fs;
use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;
use storypole_desk::{Desk, edge};
use storypole_journal::WrittenAt;
use storypole_notebook::Value as Written;
use storypole_tests::{binary, contains, demo, done, json, lacks, refused, run};

/// Values that must stand in a JSON answer, by pointer.
#[track_caller]
fn holds(json: &Value, expected: &[(&str, Value)]) {
    for (pointer, value) in expected {
        assert_eq!(json.pointer(pointer), Some(value), "{pointer}");
    }
}

#[test]
fn a_finding_is_told_in_words_and_numbers() {
    let demo = demo();
    let data = demo.path();
    contains(
        &done(data, &["finding", "T06"]),
        &["at least 36.2", "55.1", "3.7", "background-low-margin", "ASTM E336"],
    );
    contains(
        &done(data, &["finding", "J1"]),
        &[
            "No change that can be claimed",
            "24.9 to 25.7 dB, +0.8 dB",
            "87 % comes by the hollow-core door",
            "2120.80 USD",
            "Grade B",
        ],
    );
    contains(
        &done(data, &["finding", "J2"]),
        &["+11.2 dB", "+11.8 dB", "agree within 1 dB", "241.60 USD for each"],
    );
    contains(&done(data, &["finding", "Q2"]), &["OUT: condition-drift", "T12 is out", "window ajar", "+5.9"]);
    contains(&done(data, &["finding", "A04"]), &["solid-core door 1.65 30 93 %", "replaces A03", "37.2"]);
    contains(
        &done(data, &["finding", "J6"]),
        &["cannot be told apart", "T23 repeats T19", "not a laboratory result"],
    );
    let rim = done(data, &["finding", "Q7"]);
    contains(
        &rim,
        &[
            "0.543",
            "0.752",
            "68.0 °F",
            "30.0 °F",
            "0.15 to 0.26",
            "claimed",
            "Grade C",
            "hours of steady weather",
        ],
    );
    lacks(&rim, &["standard uncertainty"]);
    contains(&done(data, &["finding", "J8"]), &["State by state", "Smoke moved at 5 spots, then at 1 spot"]);
    contains(
        &done(data, &["finding", "Q7", "--expert"]),
        &["the thermometer", "degrees of freedom", "From 3 spots"],
    );
    let expert = done(data, &["finding", "Q3", "--expert"]);
    contains(
        &expert,
        &[
            "degrees of freedom",
            "pooled over tests",
            "interval, positions alone",
            "T16: R4 not taken",
            "By position: R1",
        ],
    );
}

#[test]
fn a_finding_for_programs_has_unrounded_numbers_and_printed_text() {
    let demo = demo();
    let json = json(demo.path(), &["finding", "J3"]);
    holds(
        &json,
        &[
            ("/label", "J3".into()),
            ("/groups/0/own/change/printed", "+5.9".into()),
            ("/groups/0/own/claim", "claimed".into()),
            ("/groups/0/out/0/set", "T12".into()),
            ("/money/total/amount", "1580.92".into()),
            ("/worth/per_db/amount", "267.95".into()),
        ],
    );
    let value = json.pointer("/groups/0/own/change/value").and_then(Value::as_f64).unwrap();
    assert!((value - 5.9).abs() < 0.05 && (value - 5.9).abs() > 1e-9, "{value} is not rounded");
}

#[test]
fn the_day_says_what_was_done_spent_and_what_waits() {
    let demo = demo();
    let data = demo.path();
    let today = done(data, &["today"]);
    contains(
        &today,
        &["2025-05-20 - the last day with an entry", "Workshop", "lead 2 h", "18.16 USD (P13)", "K04", "K07"],
    );
    contains(&today, &["Needs a look", "window ajar in unit B"]);
    let day = done(data, &["today", "--date", "2025-03-04", "--site", "S1"]);
    contains(&day, &["38 °F to 49 °F, rain to noon", "helper 5 h, lead 6 h", "377.28 USD (P02)"]);
    assert!(!day.contains("last day with an entry") && !day.contains("Open at other sites"), "{day}");
    contains(&done(data, &["today", "--date", "2024-01-01"]), &["Nothing is written about this day."]);
    contains(&refused(data, &["today", "--date", "2999-01-01"]), &["check the year"]);
    contains(&refused(data, &["today", "--date", "tomorrowish"]), &["write it like 2025-03-04"]);
    contains(&refused(data, &["today", "--site", "S9"]), &["no site called \"S9\""]);
}

#[test]
fn jobs_add_up_to_the_cent() {
    let demo = demo();
    let data = demo.path();
    let table = done(data, &["jobs"]);
    contains(
        &table,
        &[
            "J1 377.28 0.00 1490.00 358.00 0.00 104.48 2120.80 13.44 2107.36",
            "sum 1799.44 90.53 4888.00 503.00 147.87 147.87 7280.97 118.53 7162.44",
            "J1 + J2 2705.90 26.75 287.89 11.2 241.60",
            "J5 507.44 7.52 80.98 0.1, not claimed not shown",
        ],
    );
    contains(
        &done(data, &["jobs", "J4"]),
        &["Home office beside nursery", "K08", "880.67", "106.47 per m2", "sealant", "Q3"],
    );
    assert!(!done(data, &["jobs", "J6"]).contains("per ft2"), "a panel on a bench is no wall to price");
    let all = done(data, &["jobs", "--all"]);
    contains(&all, &["Rooms", "Tests", "Sets", "T26-after"]);
    assert!(all.find("\nR2 ").unwrap() < all.find("\nR10 ").unwrap(), "labels stand as people count");
    holds(
        &json(data, &["jobs"]),
        &[("/sum/total/amount", "7280.97".into()), ("/worth/0/per_db/amount", "241.60".into())],
    );
    contains(&refused(data, &["jobs", "J99"]), &["no job called \"J99\""]);
    assert_eq!(run(data, &["jobs", "J1", "--all"]).status.code(), Some(2), "wrong usage");
}

#[test]
fn results_stand_side_by_side_and_are_not_mixed() {
    let demo = demo();
    let data = demo.path();
    let fills = done(data, &["compare", "fills"]);
    contains(
        &fills,
        &[
            "glass fibre (T20) against empty (T19): +3.2 dB",
            "cannot be told apart",
            "T23 repeats T19",
            "9.2 dB",
        ],
    );
    contains(&fills, &["resilient, glass fibre (finished), dBA, limited by an opening", "One job so far"]);
    let three = done(data, &["compare", "A14g", "A14s", "A14c"]);
    contains(&three, &["cellulose (T22) against stone wool (T21): +0.4 dB"]);
    assert!(!three.contains("T19"), "only what was asked for");
    contains(&done(data, &["compare", "T10", "T13"]), &["41.6", "47.5", "+5.9"]);
    let apart = done(data, &["compare", "A04", "A07"]);
    contains(&apart, &["36.1", "47.5", "never subtracted from each other"]);
    contains(&done(data, &["compare", "jobs"]), &["J3 A05 to A07", "listed, not ranked"]);
    contains(&refused(data, &["compare", "bananas"]), &["nothing to compare by"]);
    contains(&refused(data, &["compare", "J1", "J3"]), &["storypole compare jobs"]);
    contains(&refused(data, &["compare", "A01", "A15"]), &["no level is measured with A15"]);
}

#[test]
fn past_work_is_found_by_words() {
    let demo = demo();
    let data = demo.path();
    let found = done(data, &["find", "cellulose"]);
    contains(
        &found,
        &["1 fill cellulose", "A09 wall, single wood studs, cellulose +3.9 2.8 to 5.0 B 1 9.89", "K08"],
    );
    let walls = found.find("Walls and other assemblies").unwrap();
    assert!(walls < found.find("Receipts").unwrap(), "what has results stands first");
    contains(
        &done(data, &["find", "cellulose", "--long"]),
        &["A09: 34.8 dB, unit A home office to unit A nursery (T15)."],
    );
    let page = done(data, &["find", "drywall", "--kind", "walls", "--limit", "2"]);
    let (_, after) = page.split_once("--after ").unwrap();
    let after = after.split_whitespace().next().unwrap();
    let next = done(data, &["find", "drywall", "--kind", "assembly", "--limit", "100", "--after", after]);
    let labels = |text: &str| {
        text.lines()
            .filter(|line| line.starts_with('A'))
            .map(|line| line.split(' ').next().unwrap().to_owned())
            .collect::<Vec<_>>()
    };
    assert_eq!(labels(&page).len(), 2);
    assert!(labels(&page).iter().all(|label| !labels(&next).contains(label)), "{page}{next}");
    contains(
        &done(data, &["find", "zebra"]),
        &["Nothing is found for: zebra", "nothing written down has this word"],
    );
    contains(
        &done(data, &["find", "\"party wall\" -louvres", "--kind", "job"]),
        &["J3 Party wall, unit A side +5.9", "not: louvres"],
    );
    let json = json(data, &["find", "louvres"]);
    assert_eq!(json["all_words_matched"], true);
    let hits = json["groups"].as_array().unwrap().iter().flat_map(|group| group["hits"].as_array().unwrap());
    assert!(hits.clone().any(|hit| hit["record"]["label"] == "J5"), "{json}");
    contains(&refused(data, &["find", "x", "--kind", "dragon"]), &["a kind called \"dragon\"", "assembly"]);
    contains(
        &refused(data, &["find", "walls", "--fill", "feathers"]),
        &["no fill is called \"feathers\"", "cellulose"],
    );
}

/// Demo scenario, invented: what the person would ask on site, and what must come of it.
#[test]
fn plain_questions_are_understood_part_by_part() {
    let demo = demo();
    let data = demo.path();
    let first = |question: &str| -> Vec<String> {
        let answer = json(data, &["find", question, "--limit", "100"]);
        let groups = answer["groups"].as_array().unwrap();
        groups.first().map_or_else(Vec::new, |group| {
            let hits = group["hits"].as_array().unwrap().iter();
            hits.map(|hit| hit["record"]["label"].as_str().unwrap_or("-").to_owned()).collect()
        })
    };
    assert_eq!(first("over 3 dB at the duplex"), ["A09", "A06"]);
    assert_eq!(first("walls over 3 dB in March 2025"), ["A04"]);
    assert_eq!(first("grade D"), ["A12", "A02"]);
    assert_eq!(first("receipts under $50"), ["P13", "P08", "P03"]);
    assert_eq!(first("what did I buy from Quarry Lane in May 2025"), ["P12"]);
    assert_eq!(first("T18"), ["T18"]);
    assert_eq!(first("resiliant chanel"), first("resilient channel"));
    assert_eq!(first("\"two beads\" -batt"), first("\"two beads\" without batts"));
    let sorted = |question: &str| {
        let mut labels = first(question);
        labels.sort();
        labels
    };
    assert_eq!(sorted("3-1/2\" clear"), sorted("89 mm clear"));
    assert!(sorted("89 mm clear").len() > 10);
    assert_eq!(first("rock wool"), first("stone wool"));
    assert!(first("cellulose over 40 dB at the lighthouse").is_empty());
    for odd in [
        "",
        "-",
        "the of and",
        "\"open",
        "over dB",
        "between 9 and 3 dB",
        "\u{202e}\u{7}🧱",
        &"wall ".repeat(2_000),
    ] {
        done(data, &["find", "--", odd]);
    }
    let left = done(data, &["find", "over 3 dB at the duplex", "--leave-out", "2"]);
    contains(&left, &["A04", "A09", "A06"]);
    contains(&refused(data, &["find", "over 3 dB", "--leave-out", "7"]), &["no part 7"]);
    let alike = done(data, &["find", "--built-like", "A09", "--level", "family"]);
    contains(
        &alike,
        &["A08, wall, another version of this wall", "fill: cellulose here, empty there", "A01"],
    );
    contains(&refused(data, &["find", "--built-like", "A16"]), &["nobody wrote down leaf B"]);
}

/// A word of the crew's own means what their file says, and a line that says nothing is told.
#[test]
fn own_words_are_read_from_a_plain_file() {
    let demo = demo();
    let data = demo.path();
    std::fs::write(data.join("words.txt"), "fill cellulose: grey fluff\nalone\n").unwrap();
    let found = done(data, &["find", "grey fluff"]);
    contains(&found, &["fill cellulose", "A09", "Line 2 of words.txt was left out: it has one member only"]);
    std::fs::write(data.join("words.txt"), [0xff, 0xfe]).unwrap();
    contains(&done(data, &["find", "cellulose"]), &["words.txt are not used", "A09"]);
}

#[test]
fn history_keeps_every_value() {
    let demo = demo();
    let data = demo.path();
    contains(&done(data, &["history", "T18"]), &["reading of T18 at R2", "78.3 dBA 87.3 dBA digits swapped"]);
    contains(
        &done(data, &["history", "X2", "--field", "quantity"]),
        &["quantity 2", "quantity 1 2 the second pack was open"],
    );
    let json = json(data, &["history", "X2", "--field", "quantity"]);
    holds(
        &json,
        &[
            ("/steps/0/value", "2".into()),
            ("/steps/0/stands", false.into()),
            ("/steps/1/stands", true.into()),
        ],
    );
    contains(&refused(data, &["history", "X2", "--field", "colour"]), &["no field \"colour\""]);
    contains(&refused(data, &["history", "X99"]), &["no record called \"X99\""]);
}

#[test]
fn tables_are_made_anew_and_checked() {
    let demo = demo();
    let data = demo.path();
    contains(&done(data, &["rebuild"]), &["changes, equal"]);
    holds(&json(data, &["rebuild"]), &[("/equal", true.into())]);
    contains(&done(data, &["verify"]), &["nothing is wrong", "0 of 0 held"]);
    holds(&json(data, &["verify"]), &[("/faults", Value::Array(Vec::new()))]);
}

/// Pins a picture to an assembly as the desk does.
fn pin(data: &Path, content: &[u8], kept: bool) -> [u8; 32] {
    let desk = Desk::open(data).unwrap();
    let hash = if kept { desk.keep_file(&mut { content }).unwrap().hash } else { [7; 32] };
    let wall = storypole_desk::names::find(&desk, "assembly", "A03").unwrap();
    let mut compose = desk.compose(NOW);
    let record = edge::record_id();
    compose.set(record, "photo", "about", &Written::Record(wall)).unwrap();
    compose.set(record, "photo", "hash", &Written::Hash(hash)).unwrap();
    compose.set(record, "photo", "bytes", &Written::Integer(content.len().try_into().unwrap())).unwrap();
    compose.set(record, "photo", "caption", &Written::Text(format!("{} bytes", content.len()))).unwrap();
    desk.take(compose.finish()).unwrap();
    hash
}

const NOW: WrittenAt = WrittenAt { unix_ms: 1_748_000_000_000, offset_min: -300 };

#[test]
fn a_file_that_is_missing_or_altered_is_a_fault() {
    let demo = demo();
    let data = demo.path();
    let hash = pin(data, b"before the board went on", true);
    contains(&done(data, &["verify"]), &["1 of 1 held"]);
    pin(data, b"never copied here", false);
    contains(&refused(data, &["verify"]), &["1 attached file is not here as kept", "sync with a device"]);
    let digits: String = hash.iter().map(|byte| format!("{byte:02x}")).collect();
    fs::write(data.join("attachments").join(&digits[..2]).join(&digits[2..]), b"Before the board went on")
        .unwrap();
    let output = run(data, &["verify"]);
    contains(
        &String::from_utf8(output.stdout).unwrap(),
        &["photo \"24 bytes\": altered", "photo \"17 bytes\": missing"],
    );
    assert_eq!(output.status.code(), Some(1));
}

/// Writes a field twice, neither having seen the other, as two devices without a connection do.
fn write_apart(data: &Path, kind: &str, label: &str, field: &str, values: [Written; 2]) {
    let desk = Desk::open(data).unwrap();
    let record = storypole_desk::names::find(&desk, kind, label).unwrap();
    let seen = storypole_desk::Known::heads(&desk, record, kind, field);
    for value in values {
        let mut compose = desk.compose(NOW);
        let reason = Some("read again".to_owned());
        compose.change(record, kind, field, Some(&value), seen.clone(), reason).unwrap();
        desk.take(compose.finish()).unwrap();
    }
}

#[test]
fn a_conflict_is_listed_and_settled_in_one_command() {
    let demo = demo();
    let data = demo.path();
    contains(&done(data, &["conflicts"]), &["No conflicts"]);
    let text = |text: &str| Written::Text(text.into());
    write_apart(data, "receipt", "P12", "memo", [text("7 boards counted"), text("receipt photo checked")]);
    write_apart(data, "assembly", "A04", "seals", [text("A 1"), text("A 1, B 1")]);
    let list = done(data, &["conflicts"]);
    contains(
        &list,
        &["receipt P12, memo", "1 receipt photo checked lead", "2 7 boards counted lead", "2025-05-23 06:33"],
    );
    contains(
        &list,
        &["A 1, B 2", "storypole conflicts settle P12 memo --take 1", "settle A04 seals --take 1 --reason"],
    );
    contains(&done(data, &["today"]), &["two devices wrote different values for memo"]);
    contains(&done(data, &["finding", "T05"]), &["in-conflict", "Out of results"]);

    contains(
        &refused(data, &["conflicts", "settle", "P12", "memo", "--take", "3"]),
        &["no value 3", "1 to 2"],
    );
    contains(&refused(data, &["conflicts", "settle", "P11", "memo", "--take", "1"]), &["is not in conflict"]);
    contains(&refused(data, &["conflicts", "settle", "A04", "seals", "--take", "1"]), &["needs a reason"]);
    contains(
        &refused(data, &["conflicts", "settle", "A04", "seals", "--value", "glue", "--reason", "looked"]),
        &["seals"],
    );
    assert_eq!(run(data, &["conflicts", "settle", "P12", "memo"]).status.code(), Some(2), "nothing picked");

    let both = "7 boards counted, receipt photo checked";
    let said = done(data, &["conflicts", "settle", "P12", "memo", "--value", both]);
    contains(&said, &["receipt P12, memo: 7 boards counted, receipt photo checked; 1 conflict is left"]);
    let said = done(
        data,
        &[
            "conflicts",
            "settle",
            "A04",
            "seals",
            "--take",
            "2",
            "--reason",
            "beads counted",
            "--as",
            "helper",
        ],
    );
    contains(&said, &["A04, seals: A 1; no conflicts are left"]);
    contains(&done(data, &["conflicts"]), &["No conflicts"]);
    contains(
        &done(data, &["history", "A04", "--field", "seals"]),
        &["helper", "A 1 A 1 | A 1, B 1 beads counted"],
    );
}

#[test]
fn questions_to_a_young_notebook_are_answered_calmly() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    contains(&refused(data, &["today"]), &["no notebook"]);
    done(data, &["init"]);
    contains(&done(data, &["today"]), &["Nothing is written in the day log yet.", "storypole log"]);
    contains(&done(data, &["jobs"]), &["No jobs yet."]);
    contains(&done(data, &["compare", "jobs"]), &["Nothing to compare yet"]);
    contains(&done(data, &["compare", "fills"]), &["Nothing to compare yet"]);
    assert_eq!(json(data, &["today"]), Value::Null);
    contains(&done(data, &["find", "wall"]), &["Nothing is found for: wall"]);
    contains(&done(data, &["verify"]), &["nothing is wrong"]);
}

/// A pager that stops reading has all it wanted.
#[test]
fn a_reader_that_stops_is_no_failure() {
    let demo = demo();
    let mut command = Command::new(binary());
    command.arg("--data").arg(demo.path()).args(["finding", "Q1", "--json"]);
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut first = [0; 1];
    let mut out = child.stdout.take().unwrap();
    out.read_exact(&mut first).unwrap();
    drop(out);
    let output = child.wait_with_output().unwrap();
    assert_eq!((output.status.code(), output.stderr), (Some(0), Vec::new()));
}

#[test]
fn files_come_back_as_they_were_and_nothing_is_written_over() {
    let notebook = demo();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("boxes before.jpg");
    let content: Vec<u8> = (0..300_000_u32).map(|number| (number % 251) as u8).collect();
    fs::write(&file, &content).unwrap();
    done(notebook.path(), &["attach", file.to_str().unwrap(), "--to", "A03", "--caption", "boxes offset"]);
    contains(
        &done(notebook.path(), &["files", "A03"]),
        &["boxes before.jpg", "300000", "here", "boxes offset"],
    );
    let out = folder.path().join("for-the-video");
    for expected in ["boxes before.jpg", "boxes before-2.jpg"] {
        done(notebook.path(), &["files", "A03", "--out", out.to_str().unwrap()]);
        assert_eq!(fs::read(out.join(expected)).unwrap(), content, "{expected}");
    }
    assert_eq!(fs::read_dir(&out).unwrap().count(), 2, "no half copies are left");
    contains(&done(notebook.path(), &["files", "A04"]), &["Nothing is pinned to assembly A04"]);
    fs::remove_dir_all(notebook.path().join("attachments")).unwrap();
    contains(&done(notebook.path(), &["files", "A03"]), &["not on this device"]);
    let said = refused(notebook.path(), &["files", "A03", "--out", out.to_str().unwrap()]);
    contains(&said, &["not on this device yet"]);
    assert_eq!(fs::read_dir(&out).unwrap().count(), 2, "no half copies are left");
}
