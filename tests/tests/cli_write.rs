//! What a person types to write things down: what is said, what is kept, what is refused and how.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::path::Path;
use std::process::Stdio;

use serde_json::Value;
use storypole_tests::{Notebook, Said};

fn example(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../seed-data").join(name);
    path.to_str().unwrap().to_owned()
}

#[test]
fn the_example_has_one_site_lead_who_wrote_it() {
    let notebook = Notebook::demo();
    let lead = notebook.json(&["show", "person:lead"]);
    assert_eq!(lead["rate"], "48.00 USD");
    assert_eq!(lead["role"], "site lead");
    let again = notebook.run(&["init"]);
    again.refused("there is already a notebook in");
}

#[test]
fn a_file_read_twice_adds_nothing() {
    let notebook = Notebook::demo();
    let before = notebook.changes();
    for name in ["01-notebook.jsonl", "03-receipts.csv", "07-readings.csv", "08-corrections.jsonl"] {
        let said = notebook.run(&["--json", "import", &example(name)]).done();
        let last: Value = serde_json::from_str(said.out.lines().last().unwrap()).unwrap();
        assert_eq!(last["new"], 0, "{name}");
        assert!(last["already_held"].as_u64().unwrap() > 0);
    }
    assert_eq!(notebook.changes(), before);
}

#[test]
fn good_rows_go_in_and_bad_rows_are_told_by_line() {
    let notebook = Notebook::demo();
    let before = notebook.changes();
    let text = "set,role,position,value,response\n\
                T16,receive,R4,50.7 dBA,leq\n\
                T16,receive,R4,50.7,leq\n\
                T99,receive,R1,50.7 dBA,leq\n";
    let file = notebook.file("late.csv", text);
    let trial = notebook.run(&["import", &file, "--dry-run"]);
    assert_eq!((trial.code, notebook.changes()), (1, before));
    assert!(trial.out.contains("late.csv: 1 would be new"), "{}", trial.out);
    let said = notebook.run(&["import", &file]);
    assert_eq!(said.code, 1);
    assert!(said.out.contains("late.csv: 1 new, 0 already held, 2 not taken"), "{}", said.out);
    assert!(said.err.contains("late.csv:3: value: \"50.7\" has no unit"), "{}", said.err);
    assert!(said.err.contains("late.csv:4: set: there is no set \"T99\""), "{}", said.err);
    assert_eq!(notebook.changes(), before + 1);
    notebook.run(&["import", "nowhere.csv"]).refused("nowhere.csv cannot be read");
}

#[test]
fn a_day_is_logged_in_one_command() {
    let notebook = Notebook::demo();
    let said = notebook
        .run(&[
            "log",
            "Channel up",
            "--job",
            "J1",
            "--date",
            "2025-03-10",
            "--hours",
            "lead=6",
            "--hours",
            "helper=5.5",
            "--low",
            "-3 C",
            "--label",
            "E-new",
        ])
        .done();
    assert_eq!(said.out, "E-new recorded: work on 2025-03-10 at site S1, job J1, lead 6 h, helper 5.5 h\n");
    let entry = notebook.json(&["show", "E-new"]);
    assert_eq!((&entry["site"], &entry["low"]), (&Value::from("S1"), &Value::from("-3 °C")));
    // The next line belongs to the same job unless it says otherwise, and says so.
    let next = notebook.run(&["log", "Swept", "up", "--date", "2025-03-10"]).done();
    assert!(next.err.contains("note: site S1, job J1, as in the line before"), "{}", next.err);
    assert!(next.out.contains("work on 2025-03-10 at site S1, job J1"), "{}", next.out);
    // Over 24 hours on one day is kept and looked at.
    let many =
        notebook.run(&["log", "Typing", "--job", "J1", "--date", "2025-03-10", "--hours", "lead=20"]).done();
    assert!(many.err.contains("look: lead has"), "{}", many.err);
}

#[test]
fn dates_that_no_job_has_are_refused() {
    let notebook = Notebook::demo();
    let before = notebook.changes();
    for date in ["1899-12-31", "2999-01-01"] {
        notebook.run(&["log", "Old", "--job", "J1", "--date", date]).refused("check the year");
    }
    notebook.run(&["log", "Odd", "--job", "J1", "--date", "3/4/2025"]).refused("write it like 2025-03-04");
    notebook.run(&["log", "Nowhere", "--job", "J99"]).refused("there is no job called \"J99\"");
    notebook.run(&["log", "Idle", "--site", "S1", "--hours", "lead=2"]).refused("hours are booked to a job");
    assert_eq!(notebook.changes(), before);
}

#[test]
fn tasks_go_from_planned_to_checked() {
    let notebook = Notebook::demo();
    let planned = notebook.json(&["task", "add", "Second bead", "--job", "J3", "--owner", "helper"]);
    let label = planned["recorded"]["label"].as_str().unwrap().to_owned();
    assert_eq!(planned["recorded"]["state"], "to-do");
    notebook.run(&["task", "block", &label, "--by", "no sealant"]).done();
    assert!(notebook.run(&["task", "list", "--job", "J3"]).out.contains("(blocked: no sealant)"));
    let done = notebook.json(&["task", "done", &label]);
    assert_eq!(done["recorded"]["state"], "done");
    assert_eq!(done["recorded"].get("blocked_by"), None, "what is done is no longer blocked");
    assert!(notebook.run(&["task", "done", &label]).done().out.contains("was done already"));
    assert!(!notebook.run(&["task", "list"]).done().out.contains(&label));
}

/// 2 x 62.40 + 2 x 8.60 = 142.00; 6.5 % of it is 9.23; 151.23 in all. By hand.
#[test]
fn a_receipt_says_at_once_whether_it_adds_up() {
    let notebook = Notebook::demo();
    let add = |total: &str| {
        notebook.run(&[
            "receipt",
            "add",
            "--supplier",
            "tin-heron",
            "--job",
            "J1",
            "--date",
            "2025-03-10",
            "--tax-rate",
            "6.5",
            "--total",
            total,
            "--line",
            "2 pack glass-fibre batt @ 62.40; material batt-r13",
            "--line",
            "2 box drywall screws @ 8.60",
        ])
    };
    let right = add("151.23").done();
    assert_eq!(right.out, "P14 recorded: 2 lines, 142.00 and tax 9.23 make 151.23 USD, as printed\n");
    let wrong = add("150.23").done();
    assert!(wrong.out.contains("printed is total 150.23: it does not add up"), "{}", wrong.out);
    assert!(wrong.err.contains("look: P15"), "{}", wrong.err);
    let shown = notebook.json(&["receipt", "show", "P02"]);
    assert_eq!((&shown["total"], &shown["adds_up"]), (&Value::from("377.28 USD"), &Value::from(true)));
    assert_eq!(shown["lines"].as_array().unwrap().len(), 5);
    let table = notebook.run(&["receipt", "show", "P02"]).done();
    assert!(table.out.contains("354.25 and tax 23.03 make 377.28 USD, as printed"), "{}", table.out);
    notebook.run(&["receipt", "add", "--line", "two packs"]).refused("has no price: put it behind @");
}

#[test]
fn a_rebuilt_wall_keeps_what_is_not_said() {
    let notebook = Notebook::demo();
    let said = notebook
        .run(&[
            "assembly",
            "replace",
            "A04",
            "A20",
            "--cavity",
            "89 clear, cellulose 89, 56 kg/m3, 100%",
            "--since",
            "2025-06-01",
        ])
        .done();
    assert_eq!(said.out, "A20 replaces A04; different: cavity\n");
    let (old, new) =
        (notebook.json(&["assembly", "show", "A04"]), notebook.json(&["assembly", "show", "A20"]));
    for same in
        ["leaf_a", "frame", "leaf_b", "openings", "seals", "state", "length", "height", "room_a", "room_b"]
    {
        assert_eq!(old[same], new[same], "{same}");
    }
    assert_eq!(new["replaces"], "A04");
    assert_eq!(old["replaced_by"][0], "A20");
    notebook.run(&["assembly", "add", "A21", "--frame", "two by four"]).refused("write it like");
}

/// A set of the first test, after the door was replaced.
fn start(notebook: &Notebook, label: &str, more: &[&str]) -> Said {
    let base = [
        "test",
        "set",
        label,
        "--test",
        "Q1",
        "--stage",
        "repeat",
        "--assembly",
        "A04",
        "--from",
        "R1",
        "--to",
        "R2",
    ];
    notebook.run(&[&base[..], &["--date", "2025-06-02"], more].concat())
}

#[test]
fn readings_are_written_down_and_corrected_with_a_reason() {
    let notebook = Notebook::demo();
    let started = start(&notebook, "T30", &[]).done();
    assert!(started.err.contains("note: meter M1, sound"), "{}", started.err);
    let said = notebook
        .run(&["test", "reading", "T30", "R2", "69.1", "dBA", "--response", "leq", "--seconds", "30"])
        .done();
    assert_eq!(said.out, "T30: receive R2 69.1 dBA (leq, 30 s)\n");
    let source = notebook.run(&["test", "reading", "T30", "S1", "94.2dBA"]).done();
    assert_eq!(source.out, "T30: source S1 94.2 dBA (leq, 30 s)\n");
    notebook.run(&["test", "reading", "T30", "background", "33.5", "dBA"]).done();
    notebook
        .run(&["test", "reading", "T30", "R2", "70.0", "dBA"])
        .refused("T30 R2 stands already with 69.1 dBA");
    let before = notebook.changes();
    notebook
        .run(&["test", "correct", "T30", "R2", "61.9", "dBA"])
        .refused("correcting a reading needs a reason");
    assert_eq!(notebook.changes(), before);
    let corrected =
        notebook.run(&["test", "correct", "T30", "R2", "61.9", "dBA", "--reason", "digits swapped"]).done();
    assert_eq!(corrected.out, "T30 R2 corrected from 69.1 dBA to 61.9 dBA: digits swapped\n");
    assert_eq!(notebook.json(&["show", "T30/R2"])["corrected"][0], "value");
    notebook.run(&["test", "strike", "T30", "R2", "--reason", "the meter had fallen over"]).done();
    notebook
        .run(&["test", "correct", "T30", "R2", "60", "dBA", "--reason", "x"])
        .refused("T30 has no reading at R2");
    notebook.run(&["test", "leave-out", "T30"]).refused("decided with a reason");
    notebook.run(&["test", "leave-out", "T30", "--reason", "trial only"]).done();
    assert_eq!(notebook.json(&["show", "T30"])["left_out"], true);
}

#[test]
fn readings_that_cannot_be_are_refused() {
    let notebook = Notebook::demo();
    start(&notebook, "T30", &[]).done();
    let before = notebook.changes();
    for (value, why) in [
        ("69.1", "\"69.1\" has no unit: write it behind the number"),
        ("NaN dBA", "not one plain number"),
        ("200 dBA", "200 dBA is outside 0 to 140 dBA"),
        ("70 parsecs", "not a unit known here"),
        ("21 °C", "does not say what was measured"),
    ] {
        let said = notebook.run(&["test", "reading", "T30", "R2", value]).refused(why);
        assert!(said.err.contains("next: ") || said.err.contains(": "), "{}", said.err);
    }
    notebook.run(&["test", "reading", "T30", "R9", "69.1 dBA"]).refused("Q1 has no position R9 for this set");
    notebook.run(&["test", "reading", "T77", "R2", "69.1 dBA"]).refused("there is no set called \"T77\"");
    assert_eq!(notebook.changes(), before);
    let refused = notebook.run(&["--json", "test", "reading", "T30", "R2", "69.1"]);
    let json: Value = serde_json::from_str(&refused.err).unwrap();
    assert!(json["refused"]["reasons"][0].as_str().unwrap().contains("has no unit"));
}

#[test]
fn a_set_bound_to_a_wall_of_another_room_is_kept_and_looked_at() {
    let notebook = Notebook::demo();
    let said = notebook
        .run(&[
            "test",
            "set",
            "T31",
            "--test",
            "Q1",
            "--stage",
            "after",
            "--assembly",
            "A10",
            "--from",
            "R1",
            "--to",
            "R2",
        ])
        .done();
    assert!(said.out.contains("T31 started"), "{}", said.out);
    assert!(
        said.err.contains("look: set T31 goes from R1 to R2, assembly A10 stands between"),
        "{}",
        said.err
    );
    let json = notebook.json(&["change", "set", "T31", "note=trial"]);
    assert_eq!(json["warnings"][0]["mark"], "set-room-differs");
    start(&notebook, "T31", &[]).refused("there is a set T31 already");
    let no_rooms = ["test", "set", "T32", "--test", "Q1", "--stage", "after", "--assembly", "A04"];
    notebook.run(&no_rooms).refused("Q1 was measured both ways");
}

#[test]
fn a_round_is_led_from_conditions_to_background() {
    let notebook = Notebook::demo();
    start(&notebook, "T30", &[]).done();
    let conditions = notebook.json(&["show", "test:Q1"])["linked"]
        .as_array()
        .unwrap()
        .iter()
        .find(|one| one["kind"] == "condition")
        .unwrap()["count"]
        .as_u64()
        .unwrap();
    // The first condition was changed, the others are as wanted.
    let mut answers = vec!["other player", "changed"];
    answers.extend(std::iter::repeat_n("", usize::try_from(conditions).unwrap() - 1));
    answers.extend([
        "94.2 dBA", "93.6", "94.9", // source, the unit is said once
        "58.1", "x", "57.4", // R2 could not be read at first
        "78.6", "58.6", // R3 is far off and is taken again
        "",     // R4 is left out
        "55.2", // the background is close
        "58.9", "", // R1 again; still near, so kept
        "", // R2 kept
        "59.0", "", // R3 again; still near, so kept
    ]);
    let said = notebook.answer(&["test", "set", "T30", "--guide"], &answers).done();
    assert!(said.err.contains("doors and windows (critical), wanted: "), "{}", said.err);
    assert!(
        said.err.contains("take that one again: a reading that nobody could read is none"),
        "{}",
        said.err
    );
    // 58.1 and 57.4 average 57.8 by energy, by hand: 10 lg((10^5.81 + 10^5.74) / 2) = 57.76.
    assert!(
        said.err.contains("take that one again: 20.8 dB above the other positions, which average 57.8"),
        "{}",
        said.err
    );
    assert!(said.err.contains("take R1 again: only 2.9 dB over the background"), "{}", said.err);
    assert!(!said.err.contains("69."), "numbers of the sets before are hidden: {}", said.err);
    assert!(said.out.contains("T30: 7 readings are kept\nmissing: receive R4\n"), "{}", said.out);
    let of = |place: &str| notebook.json(&["show", &format!("T30/{place}")]);
    assert_eq!(of("R1")["value"], "58.9 dBA");
    assert_eq!(
        (&of("R3")["value"], &of("R3")["corrected"][0]),
        (&Value::from("59.0 dBA"), &Value::from("value"))
    );
    assert_eq!((&of("R2")["response"], &of("R2")["duration_s"]), (&Value::from("leq"), &Value::from("30")));
    let found = notebook.json(&["show", "found:T30/doors and windows"]);
    assert_eq!((&found["value"], &found["status"]), (&Value::from("other player"), &Value::from("changed")));
}

#[test]
fn a_round_that_is_cut_off_goes_on_where_it_was() {
    let notebook = Notebook::demo();
    start(&notebook, "T30", &[]).done();
    let cut = notebook.answer(&["test", "set", "T30", "--guide"], &["", "", "stop"]).done();
    assert!(cut.out.contains("go on with: storypole test set T30 --guide"), "{}", cut.out);
    let set = notebook.json(&["show", "T30"]);
    assert_eq!(set["linked"][0], serde_json::json!({ "kind": "found", "count": 2 }));
    let next = notebook.answer(&["test", "set", "T30", "--guide"], &["stop"]).done();
    assert!(
        !next.err.contains("doors and windows (critical)"),
        "what is noted is not asked again: {}",
        next.err
    );
}

#[test]
fn runs_in_a_box_are_read_one_after_the_other() {
    let notebook = Notebook::demo();
    let base = [
        "test",
        "set",
        "T40",
        "--test",
        "Q5",
        "--stage",
        "repeat",
        "--assembly",
        "A13",
        "--date",
        "2025-06-02",
    ];
    notebook.run(&base).done();
    let conditions = notebook.json(&["show", "test:Q5"]);
    let of_kind = |one: &&Value| one["kind"] == "condition";
    let count = conditions["linked"]
        .as_array()
        .unwrap()
        .iter()
        .find(of_kind)
        .map_or(0, |one| one["count"].as_u64().unwrap());
    let mut answers = vec![""; usize::try_from(count).unwrap()];
    answers.extend(["29.1 dB", "28.6", "redo", "28.8", ""]);
    let said = notebook.answer(&["test", "set", "T40", "--guide"], &answers).done();
    assert!(said.out.contains("T40: 2 readings are kept"), "{}{}", said.out, said.err);
    let third = notebook.run(&["test", "reading", "T40", "-", "29.3", "dB"]).done();
    assert_eq!(third.out, "T40: direct 29.3 dB (leq, 30 s, repeat 3)\n");
}

#[test]
fn records_of_any_kind_are_added_changed_and_struck() {
    let notebook = Notebook::demo();
    assert_eq!(notebook.run(&["add", "site", "name=Mill house"]).done().out, "site S4 recorded\n");
    notebook.run(&["add", "room", "R20", "site=S4", "name=study", "length=12 ft 6 in"]).done();
    assert_eq!(notebook.json(&["show", "R20"])["site"], "S4");
    notebook.run(&["add", "room", "R20", "site=S4", "name=again"]).refused("there is a room R20 already");
    notebook.run(&["add", "rooom", "R21"]).refused("there is no kind of record called \"rooom\"");
    notebook.run(&["add", "room", "R21", "colour=red"]).refused("room has no field \"colour\"");
    let lacking = notebook.run(&["add", "room", "R21", "name=attic"]).done();
    assert!(lacking.err.contains("look: ") && lacking.err.contains("lacks site"), "{}", lacking.err);
    let changed = notebook.run(&["change", "room", "R20", "name=office"]).done();
    assert_eq!(changed.out, "room R20 changed: name is office, was study\n");
    notebook
        .run(&["change", "assembly", "A04", "seals=none"])
        .refused("changing assembly seals needs a reason");
    notebook.run(&["strike", "room", "R21"]).refused("striking a record needs a reason");
    notebook.run(&["strike", "room", "R21", "--reason", "there is none"]).done();
    assert!(notebook.run(&["show", "R21"]).done().out.contains("struck: there is none"));
    assert!(notebook.run(&["add", "move"]).done().out.contains("from_site"));
}

/// Two packs of eleven are more than the twelve pieces left at J1.
#[test]
fn a_move_of_more_than_is_there_is_kept_and_looked_at() {
    let notebook = Notebook::demo();
    let said = notebook
        .run(&[
            "add",
            "move",
            "from_site=S1",
            "from_job=J1",
            "to_site=S2",
            "to_job=J5",
            "material=batt-r13",
            "quantity=2",
            "unit=pack",
            "date=2025-05-03",
        ])
        .done();
    assert_eq!(said.out, "move X5 recorded\n");
    assert!(said.err.contains("look: ") && said.err.contains("below zero"), "{}", said.err);
}

#[test]
fn a_photo_is_kept_and_pinned() {
    let notebook = Notebook::demo();
    let file = notebook.file("boxes.jpg", "not really a picture");
    let said = notebook.json(&["attach", &file, "--to", "A03", "--caption", "boxes offset", "--cover-up"]);
    let photo = &said["recorded"];
    assert_eq!(
        (&photo["about"], &photo["media_type"]),
        (&Value::from("assembly:A03"), &Value::from("image/jpeg"))
    );
    assert_eq!((&photo["bytes"], &photo["cover_up"]), (&Value::from(20), &Value::from(true)));
    let empty = notebook.file("empty.jpg", "");
    notebook.run(&["attach", &empty, "--to", "A03"]).refused("the file is empty");
    notebook.run(&["attach", "nowhere.jpg", "--to", "A03"]).refused("nowhere.jpg cannot be read");
}

#[test]
fn a_folder_in_use_is_refused() {
    let notebook = Notebook::demo();
    start(&notebook, "T30", &[]).done();
    let mut asking = notebook
        .command(&["test", "set", "T30", "--guide"])
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // Once it has asked something it holds the folder.
    let mut first = [0];
    std::io::Read::read_exact(asking.stderr.as_mut().unwrap(), &mut first).unwrap();
    notebook.run(&["log", "meanwhile", "--job", "J1"]).refused("is in use by another process");
    notebook.run(&["digest"]).done();
    drop(asking.stdin.take());
    assert!(asking.wait().unwrap().success());
    notebook.run(&["digest"]).done();
}

#[test]
fn what_is_not_a_command_is_usage() {
    let notebook = Notebook::none();
    assert_eq!(notebook.run(&["build-me-a-wall"]).code, 2);
    assert_eq!(notebook.run(&["task", "add", "no job"]).code, 2);
    notebook.run(&["task", "list"]).refused("start one with `storypole init`");
    assert!(notebook.run(&["completions", "bash"]).done().out.contains("storypole"));
}
