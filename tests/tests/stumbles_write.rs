//! Where a person stumbled while writing things down: each test keeps one such place from coming back.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::process::{Command, Stdio};

use serde_json::Value;
use storypole_tests::{Notebook, Said};

/// A notebook with one test of one wall between two rooms.
fn one_wall() -> Notebook {
    let notebook = Notebook::none();
    for line in [
        &["init"][..],
        &["add", "site", "S1", "name=Mill"],
        &["add", "room", "R1", "site=S1", "name=music"],
        &["add", "room", "R2", "site=S1", "name=hall"],
        &["add", "job", "J1", "site=S1", "title=Wall"],
        &["assembly", "add", "A1", "--job", "J1", "--room-a", "R1", "--room-b", "R2"],
        &["test", "plan", "Q1", "--question", "Is it quieter?"],
        &["test", "position", "Q1", "S1", "--side", "source", "--room", "R1"],
        &["test", "position", "Q1", "S2", "--side", "source", "--room", "R1"],
        &["test", "position", "Q1", "P1", "--side", "receive", "--room", "R2"],
    ] {
        notebook.run(line).done();
    }
    notebook
}

fn start(notebook: &Notebook, label: &str, from: &str, to: &str) -> Said {
    notebook
        .run(&[
            "test",
            "set",
            label,
            "--test",
            "Q1",
            "--stage",
            "before",
            "--assembly",
            "A1",
            "--from",
            from,
            "--to",
            to,
        ])
        .done()
}

fn items(receipt: &Value) -> Vec<&str> {
    receipt["lines"].as_array().unwrap().iter().map(|line| line["item"].as_str().unwrap()).collect()
}

#[test]
fn lines_of_a_receipt_stay_in_the_order_of_the_paper() {
    let notebook = one_wall();
    let words = ["zinc", "ash", "mud", "bolt", "yarn", "cap", "nail", "door"];
    let lines: Vec<String> = words.iter().map(|word| format!("1 {word} @ 1.00")).collect();
    let mut add = vec!["receipt", "add", "--job", "J1", "--label", "P1"];
    lines.iter().for_each(|line| add.extend(["--line", line]));
    notebook.run(&add).done();
    assert_eq!(items(&notebook.json(&["receipt", "show", "P1"])), words);
    assert_eq!(notebook.json(&["show", "P1/2"])["item"], "ash");
    let rows: String = words.iter().map(|word| format!("P2,2025-03-01,J1,{word},1,2.00\n")).collect();
    let file = notebook.file("bill.csv", &format!("receipt,date,job,item,quantity,unit_price\n{rows}"));
    notebook.run(&["import", &file]).done();
    assert_eq!(items(&notebook.json(&["receipt", "show", "P2"])), words);
    assert_eq!(notebook.json(&["show", "P2/4"])["item"], "bolt");
    notebook.run(&["import", &file]).done().prints("0 new, 1 already held");
}

#[test]
fn a_struck_record_can_be_reinstated_and_is_never_lost() {
    let notebook = one_wall();
    notebook
        .run(&["strike", "room", "R1", "--reason", "typed twice"])
        .refused("room R1 is in use: 1 assembly, 2 positions");
    notebook
        .run(&["strike", "room", "R1", "--reason", "typed twice", "--even-so"])
        .done()
        .says("still point to it");
    notebook.run(&["show", "R1"]).done().prints("struck: typed twice");
    notebook.run(&["history", "R1"]).done().prints("typed twice");
    notebook
        .run(&["change", "room", "R1", "name=x"])
        .refused("room R1 is struck: typed twice")
        .says("storypole reinstate room R1");
    notebook.run(&["reinstate", "room", "R1"]).refused("needs a reason");
    notebook.run(&["reinstate", "room", "R1", "--reason", "was right"]).done().prints("room R1 is back");
    notebook.run(&["change", "room", "R1", "name=studio"]).done();
    notebook.run(&["history", "R1"]).done().prints("reinstated");
    notebook.run(&["reinstate", "room", "R1", "--reason", "again"]).refused("room R1 is not struck");
    notebook.run(&["reinstate", "room", "R9", "--reason", "again"]).refused("R9");
    notebook.run(&["change", "job", "J1", "struck=", "--reason", "back"]).refused("storypole reinstate job");
}

#[test]
fn a_job_with_hours_is_not_struck_unseen() {
    let notebook = one_wall();
    notebook
        .run(&["log", "Swept", "--job", "J1", "--hours", "lead=3:30", "--label", "E1"])
        .done()
        .prints("lead 3.5 h");
    notebook.run(&["strike", "job", "J1", "--reason", "x"]).refused("1 record of hours");
    notebook.run(&["jobs", "J1"]).done().prints("first day not noted, work since");
    notebook.run(&["log", "Swept", "--job", "J1", "--hours", "lead=3h30"]).done().prints("lead 3.5 h");
    notebook
        .run(&["log", "Swept", "--job", "J1", "--hours", "lead=3 1/2"])
        .refused("write them like 3.5, 3:30 or 3h30");
    notebook.run(&["task", "add", "Paint", "--job", "J1", "--due", "tomorrow"]).done();
}

#[test]
fn a_label_given_away_stops_reinstating() {
    let notebook = one_wall();
    notebook.run(&["add", "supplier", "shop", "name=Shop"]).done();
    notebook.run(&["strike", "supplier", "shop", "--reason", "closed"]).done();
    notebook.run(&["add", "supplier", "shop", "name=New shop"]).done();
    notebook
        .run(&["reinstate", "supplier", "shop", "--reason", "open"])
        .refused("another supplier is called shop now");
}

#[test]
fn source_readings_that_disagree_are_asked_for_again() {
    let notebook = one_wall();
    start(&notebook, "T1", "R1", "R2");
    let said = notebook
        .answer(
            &["test", "set", "T1", "--guide", "--response", "leq", "--seconds", "30 s"],
            &["94 dBA", "60", "94.5", "65", "30"],
        )
        .done();
    let said = said.says("take that one again: 34.0 dB below the other positions, which average 94.0");
    said.says("The meter averages: leq over 30 s.");
    assert_eq!(notebook.json(&["show", "T1/S2"])["value"], "94.5 dBA");
    assert_eq!(notebook.json(&["show", "T1/S2"])["duration_s"], "30");
}

#[test]
fn answers_about_averaging_are_kept_before_the_first_reading() {
    let notebook = one_wall();
    start(&notebook, "T1", "R1", "R2");
    let first =
        notebook.answer(&["test", "set", "T1", "--guide"], &["?", "93.9 dBA", "leq", "30 s", "stop"]).done();
    let first = first.says("the average over a time").says("\"93.9 dBA\" is not one of: leq");
    assert!(!first.err.contains("duration_s"), "{}", first.err);
    let again = notebook.answer(&["test", "set", "T1", "--guide"], &["stop"]).done();
    assert!(!again.err.contains("How does the meter average"), "{}", again.err);
    again.says("The meter averages: leq over 30 s.");
    start(&notebook, "T2", "R1", "R2");
    notebook.run(&["test", "set", "T2", "--response", "loud"]).refused("\"loud\" is not one of");
}

#[test]
fn a_later_set_takes_bare_numbers_in_the_unit_of_its_test() {
    let notebook = one_wall();
    start(&notebook, "T1", "R1", "R2");
    notebook.run(&["test", "reading", "T1", "S1", "94 dBC", "--response", "slow"]).done();
    start(&notebook, "T2", "R1", "R2");
    notebook
        .answer(&["test", "set", "T2", "--guide"], &["93.5", "stop"])
        .done()
        .says("a bare number is in dBC");
    assert_eq!(notebook.json(&["show", "T2/S1"])["value"], "93.5 dBC");
}

#[test]
fn one_reading_says_at_once_what_is_odd_or_missing() {
    let notebook = one_wall();
    start(&notebook, "T1", "R1", "R2");
    let first = notebook.run(&["test", "reading", "T1", "S1", "94 dBA"]).done();
    first.says("how the meter averaged is not noted").says("response=leq seconds=30");
    let id = notebook.json(&["show", "T1/S1"])["id"].as_str().unwrap().to_owned();
    notebook.run(&["change", "reading", &id, "response=leq", "seconds=30"]).done();
    let odd = notebook.run(&["test", "reading", "T1", "S2", "60 dBA"]).done();
    odd.says("look: S2 60 dBA: 34.0 dB below the other positions").says("storypole test correct T1 S2");
    notebook
        .run(&["test", "reading", "T1", "P1", "99 dBC"])
        .done()
        .says("in dBC, the others of the set are in dBA");
    start(&notebook, "T2", "R1", "R2");
    let next = notebook.run(&["test", "reading", "T2", "S1", "94 dBA"]).done();
    let next = next.prints("(leq, 30 s)").says("note: leq over 30 s, as in T1");
    assert!(!next.err.contains("look:"), "{}", next.err);
}

#[test]
fn an_unknown_position_leads_to_the_right_side_and_room() {
    let notebook = one_wall();
    start(&notebook, "T5", "R2", "R1");
    let next = "storypole test position Q1 S1 --side source --room R2";
    notebook
        .run(&["test", "reading", "T5", "S1", "93 dBA"])
        .refused("S1 stands in room R1; the source room of this set is R2")
        .says(next);
    notebook.run(&["test", "position", "Q1", "S1", "--side", "source", "--room", "R2"]).done();
    notebook.run(&["test", "reading", "T5", "S1", "93 dBA"]).done();
}

#[test]
fn temperatures_take_degrees_only() {
    let notebook = one_wall();
    notebook.run(&["log", "Cold", "--job", "J1", "--low", "38 dBA"]).refused("is no temperature");
    let bare = notebook.run(&["log", "Cold", "--job", "J1", "--low", "38"]).refused("write °F or °C");
    assert!(!bare.err.contains("dBA"), "{}", bare.err);
    notebook.run(&["log", "Cold", "--job", "J1", "--low", "38 F", "--label", "E1"]).done();
    assert_eq!(notebook.json(&["show", "E1"])["low"], "38 °F");
}

#[test]
fn commas_and_powers_of_ten_are_named_for_what_they_are() {
    let notebook = one_wall();
    start(&notebook, "T1", "R1", "R2");
    for typed in ["94,1 dBA", "59,0"] {
        notebook.run(&["test", "reading", "T1", "S1", typed]).refused("write the decimal with a point");
    }
    notebook.run(&["test", "reading", "T1", "S1", "1e2 dBA"]).refused("write all digits");
    let receipt = ["receipt", "add", "--job", "J1", "--line"];
    notebook.run(&[&receipt[..], &["1 can @ 1e30"]].concat()).refused("write all digits");
    let wall = notebook.run(&["assembly", "add", "--leaf-a", "gypsum 1/2 in x1"]);
    wall.refused("sizes are in millimetres, 1/2 in is 12.7");
}

#[test]
fn odd_numbers_are_kept_and_told() {
    let notebook = one_wall();
    let add = |line: &str| notebook.run(&["receipt", "add", "--job", "J1", "--line", line]).done();
    add("1 can @ -3.00").says("the price is negative");
    add("0 can @ 3.00").says("the quantity is 0");
    add("-1 can @ 3.00").says("for goods taken back say --returns");
    let log = notebook.run(&[
        "log",
        "Late",
        "--job",
        "J1",
        "--kind",
        "delay",
        "--outcome",
        "passed",
        "--hours",
        "lead=2",
        "--hours",
        "lead=0",
    ]);
    log.done()
        .says("an outcome belongs to an inspection")
        .says("lead is there twice")
        .says("lead has 0 hours");
    for (label, next) in [("J 2", "J-2"), ("J/2", "J-2")] {
        let refused = notebook.run(&["add", "job", label, "site=S1", "title=x"]);
        refused.refused("cannot be a label").says(&format!("write it like {next}"));
    }
    notebook
        .run(&["change", "person", "lead", "rate=-40"])
        .done()
        .says("the rate -40.00 USD is below nothing");
    notebook.run(&["assembly", "replace", "A1", "A2"]).done().says("A2 is built like the one it replaces");
    notebook.run(&["task", "add", "Paint", "--job", "J1", "--label", "K1"]).done();
    notebook.run(&["task", "check", "K1"]).done();
    notebook.run(&["task", "block", "K1", "--by", "rain"]).done().says("it was checked before");
}

#[test]
fn words_of_flags_are_understood_as_fields() {
    let notebook = one_wall();
    let said = notebook.run(&[
        "receipt",
        "add",
        "--job",
        "J1",
        "--label",
        "P1",
        "--tax-rate",
        "0",
        "--total",
        "4",
        "--line",
        "1 can @ 3.00",
    ]);
    said.done().says("storypole change receipt P1 total=...");
    notebook
        .run(&["change", "receipt", "P1", "total=3.00"])
        .done()
        .prints("printed total is 3.00 USD, was 4");
    assert_eq!(notebook.json(&["receipt", "show", "P1"])["adds_up"], true);
    let refused = notebook.run(&["assembly", "add", "--leaf-a", "pink"]).refused("assembly leaf a");
    assert!(!refused.err.contains("leaf_a"), "{}", refused.err);
}

#[test]
fn the_end_of_an_import_is_true() {
    let notebook = one_wall();
    let none = notebook.file("none.csv", "date,site,entry_kind,text\n2025-03-01,S9,work,Swept\n");
    notebook.run(&["import", &none]).refused_rows("1 row was not taken, nothing new is in");
    let semicolons = notebook.file("semi.csv", "date;site;entry_kind;text\n2025-03-01;S1;work;Swept\n");
    notebook.run(&["import", &semicolons]).refused_rows("the columns are divided by semicolons");
    let quote = "date,site,entry_kind,text\n2025-03-01,S1,work,\"Swept\n2025-03-02,S1,work,Washed\n";
    notebook.run(&["import", &notebook.file("quote.csv", quote)]).refused_rows("a quote opens in this row");
    notebook.run(&["import", notebook.folder.path().to_str().unwrap()]).refused("is a folder, not a file");
}

#[test]
fn folders_and_files_in_the_wrong_place_are_named() {
    let notebook = one_wall();
    let folder = notebook.folder.path().to_str().unwrap().to_owned();
    let said = notebook.run(&["attach", &folder, "--to", "A1"]).refused("is a folder, not a file");
    assert!(!said.err.contains("os error") && !said.err.contains("incoming"), "{}", said.err);
    let missing = notebook.run(&["attach", "nowhere.jpg", "--to", "A1"]).refused("there is no such file");
    assert!(!missing.err.contains("os error"), "{}", missing.err);
    let file = notebook.file("plain.txt", "x");
    let init = |data: &str, more: &[&str]| {
        let mut command = Command::new(storypole_tests::binary());
        Said::of(&command.args(["--data", data, "init"]).args(more).stdin(Stdio::null()).output().unwrap())
    };
    init(&file, &[]).refused("is a file, not a folder");
    init(&format!("{file}/below"), &[]).refused("a file stands in the way");
    let full = tempfile::tempdir().unwrap();
    std::fs::write(full.path().join("letter.txt"), "x").unwrap();
    let said = init(full.path().to_str().unwrap(), &["--currency", "cad"]).done();
    said.says("holds 1 other thing beside the notebook");
}

#[test]
fn an_empty_setting_names_no_folder() {
    let home = tempfile::tempdir().unwrap();
    let mut command = Command::new(storypole_tests::binary());
    command
        .args(["jobs"])
        .env("STORYPOLE_DATA", "")
        .env("XDG_DATA_HOME", home.path())
        .env("HOME", home.path());
    Said::of(&command.stdin(Stdio::null()).output().unwrap()).refused("there is no notebook in");
}

#[test]
fn letters_that_turn_or_hide_others_are_spelt_out() {
    let notebook = one_wall();
    notebook.run(&["log", "Paid \u{202e}001", "--job", "J1", "--label", "E1"]).done();
    let today = notebook.run(&["today"]).done().prints("Paid \\u202e001");
    assert!(!today.out.contains('\u{202e}'));
    assert_eq!(notebook.json(&["show", "E1"])["text"], "Paid \u{202e}001", "programs read what was written");
}
