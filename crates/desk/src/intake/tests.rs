//! What goes in, what is refused and in which words, and the demo files as a whole.

use std::collections::{BTreeMap, BTreeSet};

use storypole_journal::{Draft, DraftId, RecordId, WriteId, WrittenAt};
use storypole_notebook::compose::STRUCK;
use storypole_notebook::{Row, Value, door};
use storypole_units::{Currency, Decimal};

use super::*;
use crate::known::Known;

mod demo;

/// Records folded from drafts in the order given: the last write of a register is shown and is its one head.
#[derive(Default)]
struct Folded {
    drafts: BTreeSet<DraftId>,
    kinds: BTreeMap<RecordId, String>,
    registers: BTreeMap<(RecordId, String), (Option<Value>, WriteId)>,
}

impl Folded {
    fn take(&mut self, drafts: &[Draft]) {
        for draft in drafts {
            door::check(draft).unwrap();
            assert!(self.drafts.insert(draft.id), "no draft twice");
            for (id, write) in draft.numbered() {
                let register = (write.record, write.field.as_str().to_owned());
                let heads: Vec<WriteId> =
                    self.registers.get(&register).map(|held| held.1).into_iter().collect();
                assert_eq!(write.seen, heads, "a write has seen what stands");
                self.kinds.insert(write.record, write.kind.as_str().to_owned());
                let value = Value::from_payload(&write.value).unwrap();
                self.registers.insert(register, (value, id));
            }
        }
    }

    fn rows(&self, kind: &str) -> Vec<RecordId> {
        let struck = |id: &RecordId| self.registers.contains_key(&(*id, STRUCK.to_owned()));
        let own = self.kinds.iter().filter(|(id, held)| *held == kind && !struck(id));
        own.map(|(id, _)| *id).collect()
    }

    fn row(&self, id: RecordId) -> Row {
        let kind = storypole_notebook::KindSpec::find(&self.kinds[&id]).unwrap();
        let value = |field: &storypole_notebook::FieldSpec| {
            self.registers.get(&(id, field.name.to_owned())).and_then(|held| held.0.clone())
        };
        Row { id, kind, values: kind.fields.iter().map(value).collect(), meta: Default::default() }
    }

    fn one(&self, kind: &str, fields: &[(&str, Value)]) -> RecordId {
        let found = self.matching(kind, fields);
        assert_eq!(found.len(), 1, "{kind} {fields:?}");
        found[0]
    }
}

impl Known for Folded {
    fn labelled(&self, kind: &str, label: &str) -> Vec<RecordId> {
        self.matching(kind, &[("label", Value::Text(label.to_owned()))])
    }

    fn matching(&self, kind: &str, fields: &[(&str, Value)]) -> Vec<RecordId> {
        let fits = |id: &RecordId| {
            fields.iter().all(|(field, value)| self.value(*id, kind, field).as_ref() == Some(value))
        };
        self.rows(kind).into_iter().filter(fits).collect()
    }

    fn value(&self, record: RecordId, _kind: &str, field: &str) -> Option<Value> {
        self.registers.get(&(record, field.to_owned()))?.0.clone()
    }

    fn heads(&self, record: RecordId, _kind: &str, field: &str) -> Vec<WriteId> {
        self.registers.get(&(record, field.to_owned())).map(|held| held.1).into_iter().collect()
    }

    fn holds(&self, draft: DraftId) -> bool {
        self.drafts.contains(&draft)
    }

    fn currency(&self) -> Currency {
        Currency::parse("USD").unwrap()
    }
}

/// 2025-06-01T12:00:00-05:00, after everything the files tell.
const READ_AT: WrittenAt = WrittenAt { unix_ms: 1_748_797_200_000, offset_min: -300 };

fn author() -> RecordId {
    RecordId::from_parts(1, [1; 10])
}

fn read_in(held: &Folded, name: &str, text: &str) -> Intake {
    read(name, text.as_bytes(), held, author(), READ_AT)
}

fn text(word: &str) -> Value {
    Value::Text(word.to_owned())
}

const BASE: &str = r#"
{"kind":"notebook","name":"Test","currency":"USD"}
{"kind":"person","label":"lead","role":"site lead","rate":48}
{"kind":"person","label":"helper","role":"helper","rate":"31.00"}
{"kind":"site","label":"S1","name":"Mill","built_year":1962}
{"kind":"room","label":"R1","site":"S1","name":"music room"}
{"kind":"room","label":"R2","site":"S1","name":"hall"}
{"kind":"job","label":"J1","site":"S1","title":"Partition","started":"2025-03-04"}
{"kind":"assembly","label":"A01","job":"J1","leaf_a":"gypsum 12.7 x1","frame":"single wood 38x89@406"}
{"kind":"material","label":"board","name":"board 5/8","unit":"sheet"}
{"kind":"test","label":"Q1","question":"Did it help?","planned":"2025-03-04"}
{"kind":"position","test":"Q1","room":"R1","label":"S1","side":"source"}
{"kind":"position","test":"Q1","room":"R2","label":"S1","side":"source"}
{"kind":"position","test":"Q1","room":"R2","label":"R2","side":"receive"}
{"kind":"condition","test":"Q1","variable":"heating/fans","class":"critical"}
{"kind":"set","label":"T01","test":"Q1","stage":"before","assembly":"A01","from_room":"R1","to_room":"R2","date":"2025-03-04"}
{"kind":"set","label":"T02","test":"Q1","stage":"before","assembly":"A01","from_room":"R2","to_room":"R1","date":"2025-03-04"}
"#;

fn base() -> Folded {
    let mut held = Folded::default();
    take_all(&mut held, "base.jsonl", BASE);
    held
}

fn take_all(held: &mut Folded, name: &str, text: &str) {
    let intake = read_in(held, name, text);
    assert!(intake.problems.is_empty(), "{:?}", words(&intake));
    held.take(&intake.drafts);
}

fn words(intake: &Intake) -> Vec<String> {
    intake.problems.iter().map(Problem::to_string).collect()
}

/// Reads a file over the base and compares the problems, one `contains` for each.
fn check(name: &str, file: &str, drafts: usize, problems: &[&str]) {
    let intake = read_in(&base(), name, file);
    let words = words(&intake);
    assert_eq!(words.len(), problems.len(), "{file}\n{words:#?}");
    for (word, expected) in words.iter().zip(problems) {
        assert!(word.contains(expected), "{file}\n{word}\nshould say: {expected}");
    }
    assert_eq!(intake.drafts.len(), drafts, "{file}");
}

#[test]
fn labels_of_earlier_rows_and_files_are_found() {
    let held = base();
    let job = held.row(held.one("job", &[("label", text("J1"))]));
    assert_eq!(job.value("site"), Some(&Value::Record(held.one("site", &[("label", text("S1"))]))));
    let rate =
        held.row(held.one("person", &[("label", text("lead"))])).value("rate").map(ToString::to_string);
    assert_eq!(rate.as_deref(), Some("48.00 USD"));
}

#[test]
fn the_same_file_twice_adds_nothing() {
    let mut held = base();
    let again = read_in(&held, "renamed.jsonl", BASE);
    assert_eq!((again.drafts.len(), again.problems.len(), again.already_held), (0, 0, 16));
    // Equal rows of one file are told apart by how often they came.
    let log = "date,site,entry_kind,text\n2025-03-04,S1,note,coffee\n2025-03-04,S1,note,coffee\n";
    take_all(&mut held, "log.csv", log);
    assert_eq!(held.rows("entry").len(), 2);
    assert_eq!(read_in(&held, "log.csv", log).already_held, 2);
    // Another order of columns is the same content.
    let turned = "text,entry_kind,site,date\ncoffee,note,S1,2025-03-04\ncoffee,note,S1,2025-03-04\n";
    assert_eq!(read_in(&held, "log.csv", turned).already_held, 2);
}

#[test]
fn ids_depend_on_the_content_alone() {
    let line = r#"{"kind":"site","label":"S9","name":"Ninth","written_at":"2025-03-04T17:10:00-05:00"}"#;
    let one = read_in(&base(), "a.jsonl", line);
    let other = read("b.jsonl", format!("\n\n{line}\r\n").as_bytes(), &Folded::default(), author(), READ_AT);
    assert_eq!(one.drafts, other.drafts);
    assert_eq!(one.drafts[0].id.uuid().get_version_num(), 7);
    assert_eq!(one.drafts[0].written_at, WrittenAt { unix_ms: 1_741_126_200_000, offset_min: -300 });
}

#[test]
fn bad_lines_are_named_and_good_ones_go_in() {
    for (line, problem) in [
        ("{\"kind\":\"site\"", "line 1: not one JSON object a line (stops at letter 14)"),
        ("[1]", "not one JSON object a line"),
        ("{\"label\":\"S2\"}", "give exactly one of \"kind\", \"change\", \"strike\""),
        (r#"{"kind":"site","change":"site"}"#, "give exactly one of"),
        (r#"{"kind":"boat","label":"S2"}"#, "line 1, kind: there is no kind of record called \"boat\""),
        (
            r#"{"kind":"site","label":"S2","name":"x","color":"red"}"#,
            "line 1, color: site has no field \"color\": it has label, name",
        ),
        (r#"{"kind":"site","label":"S2"}"#, "line 1, name: site has no name: write it"),
        (
            r#"{"kind":"site","label":"S2","name":["x"]}"#,
            "line 1, name: a list or an object is not one value",
        ),
        (r#"{"kind":"site","label":"S2","name":""}"#, "line 1, name: nothing is given"),
        (
            r#"{"kind":"site","label":"S2","name":"x","built_year":1300}"#,
            "line 1, built_year: 1300 is outside 1500 to 2199",
        ),
        (
            r#"{"kind":"room","label":"R3","site":"S7","name":"x"}"#,
            "line 1, site: there is no site \"S7\": add it in an earlier line",
        ),
        (
            r#"{"kind":"job","label":"J2","site":"S1","title":"x","started":"1899-12-31"}"#,
            "line 1, started: 1899-12-31 is outside 1950-01-01",
        ),
        (
            r#"{"kind":"clip","file":"a.mp4","at_s":1,"subject":"x","about":"J1"}"#,
            "line 1, about: \"J1\" does not tell the kind: write it like job:J1",
        ),
        (
            r#"{"kind":"site","label":"S2","name":"x","author":"nobody"}"#,
            "line 1, author: there is no person \"nobody\"",
        ),
        (
            r#"{"kind":"site","label":"S2","name":"x","written_at":"2025-03-04"}"#,
            "line 1, written_at: \"2025-03-04\" is not a moment",
        ),
        (
            r#"{"kind":"site","label":"S1","name":"Windmill"}"#,
            "line 1, name: this site is already there with name Mill: correct it with a line that starts {\"change\":\"site\"",
        ),
        (r#"{"kind":"room","label":"R2","site":"S1","name":"attic"}"#, "already there with name hall"),
        (
            r#"{"kind":"assembly","label":"A02","leaf_a":"gypsum"}"#,
            "line 1, leaf_a: cannot read \"gypsum\" in the leaf: write it like",
        ),
    ] {
        check("bad.jsonl", line, 0, &[problem]);
        let good = "{\"kind\":\"site\",\"label\":\"S8\",\"name\":\"Eighth\"}";
        check("bad.jsonl", &format!("{line}\n{good}\n"), 1, &[problem]);
    }
}

#[test]
fn a_record_that_stands_is_filled_in_but_never_overwritten() {
    let mut held = base();
    take_all(
        &mut held,
        "more.jsonl",
        r#"{"kind":"site","label":"S1","name":"Mill","description":"By the race"}"#,
    );
    assert_eq!(held.rows("site").len(), 1);
    let site = held.row(held.one("site", &[("label", text("S1"))]));
    assert_eq!(site.value("description"), Some(&text("By the race")));
    assert_eq!(site.value("built_year"), Some(&Value::Integer(1962)));
    // There is one notebook; its line sets what it says.
    take_all(&mut held, "name.jsonl", r#"{"kind":"notebook","name":"Renamed","currency":"EUR"}"#);
    assert_eq!(held.rows("notebook").len(), 1);
    held.one("notebook", &[("name", text("Renamed")), ("currency", text("EUR"))]);
}

#[test]
fn the_currency_of_this_file_holds_for_its_later_lines() {
    let file = "{\"kind\":\"notebook\",\"name\":\"n\",\"currency\":\"EUR\"}\n{\"kind\":\"person\",\"label\":\"p\",\"role\":\"r\",\"rate\":\"9.50\"}";
    let mut held = Folded::default();
    take_all(&mut held, "n.jsonl", file);
    let rate = held.row(held.one("person", &[("label", text("p"))])).value("rate").map(ToString::to_string);
    assert_eq!(rate.as_deref(), Some("9.50 EUR"));
}

#[test]
fn positions_and_conditions_are_found_beside_their_set_and_by_their_test() {
    let mut held = base();
    let readings = "set,role,position,value [dBA]\nT01,source,S1,94.2\nT02,source,S1,93.1\nT01,receive,Q1/R2,69.1\nT02,source,Q1/R2/S1,93.2\n";
    let intake = read_in(&held, "r.csv", readings);
    assert_eq!(
        words(&intake),
        ["r.csv line 5, value: already there with 93.1 dBA: use `storypole test correct`"]
    );
    held.take(&intake.drafts);
    let room = |label: &str| Value::Record(held.one("room", &[("label", text(label))]));
    let at = |level: &str| {
        let value = Value::Quantity(storypole_notebook::Quantity::parse(level).unwrap());
        held.row(held.one("reading", &[("value", value)])).value("position").cloned().unwrap()
    };
    let room_at = |position: Value| {
        let Value::Record(id) = position else { panic!("a position") };
        held.row(id).value("room").cloned().unwrap()
    };
    assert_eq!(room_at(at("94.2 dBA")), room("R1"), "the source of T01 stands in its first room");
    assert_eq!(room_at(at("93.1 dBA")), room("R2"), "the source of T02 stands in the other");
    take_all(
        &mut held,
        "f.jsonl",
        r#"{"kind":"found","set":"T01","condition":"heating/fans","value":"off","status":"same"}
{"kind":"found","set":"T02","condition":"Q1/heating/fans","value":"off","status":"same"}"#,
    );
    assert_eq!(held.rows("found").len(), 2);
    check(
        "p.jsonl",
        r#"{"strike":"position","where":{"label":"S1"},"reason":"x"}"#,
        0,
        &["where: 2 records of kind position match: name more fields"],
    );
}

#[test]
fn bad_readings_are_named_by_line_and_column() {
    let head = "set,role,position,value,replicate\n";
    for (row, problem) in [
        (
            "T01,receive,R2,69.1,",
            "line 2, value: \"69.1\" has no unit: write it behind the number, like 69.1 dBA",
        ),
        ("T01,receive,R2,NaN dBA,", "line 2, value: \"NaN dBA\" is not one plain number"),
        ("T01,receive,R2,200 dBA,", "line 2, value: 200 dBA is outside 0 to 140 dBA"),
        ("T01,receive,R2,70 parsecs,", "line 2, value: \"parsecs\" is not a unit known here"),
        ("T77,receive,R2,69.1 dBA,", "line 2, set: there is no set \"T77\""),
        ("T01,receive,R9,69.1 dBA,", "line 2, position: there is no position \"R9\""),
        (
            "T01,sideways,R2,69.1 dBA,",
            "line 2, role: \"sideways\" is not one of: source, receive, background, direct",
        ),
        ("T01,receive,R2,69.1 dBA,0", "line 2, replicate: 0 is outside 1 to 1000"),
        ("T01,receive,R2,,", "line 2, value: reading has no value: write it"),
        ("T01,receive,R2", "line 2: 3 cells stand under 5 columns"),
        ("T01,receive,R2,69.1 dBA,1,more", "line 2: 6 cells stand under 5 columns"),
    ] {
        check("r.csv", &format!("{head}{row}\n"), 0, &[problem]);
        let good = "T01,receive,R2,68.4 dBA,2\n";
        check("r.csv", &format!("{head}{row}\n{good}"), 1, &[problem]);
    }
    // Two bad cells of one row are two problems.
    check("r.csv", &format!("{head}T77,receive,R2,69.1,\n"), 0, &["line 2, set", "line 2, value"]);
}

#[test]
fn moments_of_a_run_are_told_apart_by_their_time() {
    let mut held = base();
    let run = "set,role,subject,value,taken_at\n\
        T01,direct,heat-flow,8.4 W/m2,2025-03-04T06:00:00-05:00\n\
        T01,direct,heat-flow,8.4 W/m2,2025-03-04T06:30:00-05:00\n\
        T01,direct,heat-flow,8.9 W/m2,2025-03-04T06:30:00-05:00\n";
    let intake = read_in(&held, "run.csv", run);
    assert_eq!(
        words(&intake),
        ["run.csv line 4, value: already there with 8.4 W/m2: use `storypole test correct`"]
    );
    held.take(&intake.drafts);
    assert_eq!(held.rows("reading").len(), 2);
    assert_eq!(held.row(held.rows("reading")[0]).value("replicate"), None);
    let again = read_in(&held, "run.csv", &run.lines().take(3).collect::<Vec<_>>().join("\n"));
    assert_eq!((again.already_held, again.problems.len()), (2, 0));
}

#[test]
fn a_reading_that_stands_with_another_value_is_no_second_reading() {
    let mut held = base();
    take_all(
        &mut held,
        "r.csv",
        "set,role,position,value\nT01,receive,R2,69.1 dBA\nT01,background,,33.5 dBA\n",
    );
    let again = read_in(
        &held,
        "r2.csv",
        "set,role,position,value,note\nT01,receive,R2,69.1 dBA,\nT01,receive,R2,70.2 dBA,\nT01,background,,31.0 dBA,\nT01,receive,R2,69.1 dBA,seen twice\n",
    );
    assert_eq!(
        words(&again),
        [
            "r2.csv line 3, value: already there with 69.1 dBA: use `storypole test correct`",
            "r2.csv line 4, value: already there with 33.5 dBA: use `storypole test correct`",
        ]
    );
    assert_eq!(again.already_held, 1, "the equal reading is passed over");
    held.take(&again.drafts);
    assert_eq!(held.rows("reading").len(), 2);
    held.one("reading", &[("note", text("seen twice"))]);
    // Within one file too.
    check(
        "r.csv",
        "set,role,value\nT01,direct,29.1 dB\nT01,direct,29.2 dB\n",
        1,
        &["line 3, value: already there with 29.1 dB"],
    );
}

#[test]
fn headers_that_cannot_be_understood_take_nothing_and_say_so_once() {
    for (file, problems) in [
        ("", &["line 1: the file has no header"][..]),
        ("\n\n", &["the file has no header"]),
        (
            "name,colour\na,b\n",
            &[
                "line 1: cannot tell from the header what the table holds: readings have set, role, value; receipts have",
            ],
        ),
        (
            "set,role,value,colour,mood\nT01,direct,1 dB,red,good\nT01,direct,2 dB,red,good\n",
            &[
                "line 1: readings have no column colour, mood: rename or remove it; known are set, position, role",
            ],
        ),
        ("set,role,position\nT01,receive,R2\n", &["line 1: readings need the column value: add it"]),
        ("set,role,value,value\nT01,direct,1 dB,1 dB\n", &["the column value is there twice"]),
        (
            "set,role,value,replicate [no]\nT01,direct,1 dB,1\n",
            &["the column replicate takes no unit: write it without [no]"],
        ),
    ] {
        check("h.csv", file, 0, problems);
    }
}

#[test]
fn spreadsheet_habits_are_fine() {
    let file = "\u{feff}Value [dBA], Set ,role,position\r\n\r\n69.1,T01,receive,R2\r\n\"33.5\",T01,background,\r\n,,,\r\n";
    check("r.csv", file, 2, &[]);
    check("r.CSV", file, 2, &[]);
}

#[test]
fn limits_are_refused_with_the_reason() {
    let held = base();
    let big = vec![b' '; FILE_LIMIT + 1];
    let intake = read("a.csv", &big, &held, author(), READ_AT);
    assert!(
        words(&intake)[0].contains("67108865 bytes, more than 67108864: split it"),
        "{:?}",
        words(&intake)
    );
    let long = format!(
        "{{\"kind\":\"site\",\"label\":\"S2\",\"name\":\"{}\"}}\n{{\"kind\":\"site\",\"label\":\"S3\",\"name\":\"n\"}}",
        "x".repeat(LINE_LIMIT)
    );
    check("a.jsonl", &long, 1, &["line 1: the line has more than 1048576 bytes"]);
    let long = format!("set,role,value\nT01,direct,\"{}\"\nT01,direct,1 dB\n", "x".repeat(LINE_LIMIT));
    check("a.csv", &long, 1, &["line 2: the line has more than 1048576 bytes"]);
    check("a.xlsx", "x", 0, &["ends neither in .csv nor in .jsonl"]);
    let intake = read("a.jsonl", b"\xff\xfe{}\n", &held, author(), READ_AT);
    assert!(words(&intake)[0].contains("not UTF-8 text"), "{:?}", words(&intake));
}

#[test]
fn changes_see_what_stands_and_need_one_record() {
    let mut held = base();
    take_all(
        &mut held,
        "r.csv",
        "set,role,position,value,replicate\nT01,receive,R2,87.3 dBA,1\nT01,receive,R2,69.9 dBA,2\n",
    );
    for (line, problem) in [
        (
            r#"{"change":"reading","where":{"set":"T01"},"set":{"value":"78.3 dBA"},"reason":"x"}"#,
            "where: 2 records of kind reading match",
        ),
        (
            r#"{"change":"reading","where":{"set":"T02"},"set":{"value":"78.3 dBA"},"reason":"x"}"#,
            "where: no reading matches",
        ),
        (
            r#"{"change":"reading","where":{"set":"T01","replicate":1},"set":{"value":"78.3 dBA"}}"#,
            "value: changing reading value needs a reason",
        ),
        (
            r#"{"change":"reading","where":{"set":"T01","replicate":1},"set":{"value":"78.3 dBA"},"reason":" "}"#,
            "reason: nothing is given",
        ),
        (
            r#"{"change":"reading","where":{"set":"T01","replicate":1},"set":{"value":"783 dBA"},"reason":"x"}"#,
            "value: 783 dBA is outside",
        ),
        (
            r#"{"change":"reading","where":{"set":"T01","mood":1},"set":{"value":"78 dBA"},"reason":"x"}"#,
            "mood: reading has no field \"mood\"",
        ),
        (
            r#"{"change":"reading","where":{"set":"T01","replicate":1},"set":{"mood":null},"reason":"x"}"#,
            "mood: reading has no field \"mood\"",
        ),
        (r#"{"change":"reading","set":{"value":"78 dBA"},"reason":"x"}"#, "where: \"where\" is missing"),
        (r#"{"change":"reading","where":{"set":"T01"},"set":{},"reason":"x"}"#, "set: \"set\" is missing"),
        (
            r#"{"change":"reading","where":{"set":"T01"},"value":"78 dBA"}"#,
            "value: \"value\" has no place here: a line with \"change\" takes where, set",
        ),
        (r#"{"strike":"reading","where":{"set":"T01","replicate":1}}"#, "reason: \"reason\" is missing"),
    ] {
        let intake = read_in(&held, "c.jsonl", line);
        assert_eq!(intake.drafts.len(), 0, "{line}");
        assert!(
            words(&intake).len() == 1 && words(&intake)[0].contains(problem),
            "{line}: {:?}",
            words(&intake)
        );
    }
    // Two corrections in one file: the second has seen the first, and is found by what the first left.
    let file = r#"{"change":"reading","where":{"set":"T01","role":"receive","position":"R2","replicate":1},"set":{"value":"78.0 dBA","note":"photo"},"reason":"digits swapped"}
{"change":"reading","where":{"set":"T01","value":"78.0 dBA"},"set":{"value":"78.3 dBA","note":null},"reason":"read again"}
{"strike":"reading","where":{"set":"T01","replicate":2},"reason":"door was open"}
{"change":"reading","where":{"set":"T01","value":"87.3 dBA"},"set":{"value":"78.3 dBA"},"reason":"x"}
{"change":"reading","where":{"set":"T01"},"set":{"value":"78.3 dBA"},"reason":"nothing new"}
"#;
    let intake = read_in(&held, "c.jsonl", file);
    assert_eq!(
        words(&intake),
        ["c.jsonl line 4, where: no reading matches: correct what stands in \"where\""]
    );
    assert_eq!((intake.drafts.len(), intake.already_held), (3, 1));
    held.take(&intake.drafts);
    let reading = held.row(held.rows("reading")[0]);
    assert_eq!(reading.value("value").unwrap().to_string(), "78.3 dBA");
    assert_eq!((reading.value("note"), held.rows("reading").len()), (None, 1));
    // The corrected reading's own file still adds nothing.
    let again = read_in(
        &held,
        "r.csv",
        "set,role,position,value,replicate\nT01,receive,R2,87.3 dBA,1\nT01,receive,R2,69.9 dBA,2\n",
    );
    assert_eq!((again.drafts.len(), again.problems.len(), again.already_held), (0, 0, 2));
}

#[test]
fn rows_of_one_receipt_are_one_draft_and_go_in_whole() {
    let head = "receipt,date,job,item,material,quantity,unit_price [USD],printed_total [USD]\n";
    let mut held = base();
    let file = format!(
        "{head}P1,2025-03-04,J1,board,board,8,17.85,160.65\nP2,2025-03-05,J1,disposal,,1,38.00,\nP1,2025-03-04,,screws,,2,8.925,160.65\n"
    );
    let intake = read_in(&held, "p.csv", &file);
    assert_eq!((intake.drafts.len(), intake.problems.len()), (2, 0), "{:?}", words(&intake));
    held.take(&intake.drafts);
    let receipt = held.one("receipt", &[("label", text("P1"))]);
    let lines = held.matching("line", &[("receipt", Value::Record(receipt))]);
    let items: Vec<String> =
        lines.iter().map(|id| held.row(*id).value("item").unwrap().to_string()).collect();
    assert_eq!(items, ["board", "screws"], "lines keep their order");

    for (rows, drafts, problems) in [
        (
            "P3,2025-03-04,J1,board,board,eight,17.85,\nP3,,,screws,,2,8.60,\n",
            0,
            &["line 2, quantity: \"eight\" is not a plain number", "line 2: receipt P3 was left out whole"][..],
        ),
        (
            "P3,2025-03-04,J1,board,board,8,17.85,10\nP3,,,screws,,2,8.60,11\n",
            0,
            &["line 3, printed_total: receipt P3 has 10 USD and 11 USD here"],
        ),
        (",2025-03-04,J1,board,board,8,17.85,\n", 0, &["line 2, receipt: receipt has no label"]),
        (
            "P3,2025-03-04,J1,board,plank,8,17.85,\nP4,2025-03-04,J1,x,,1,1,\n",
            1,
            &["line 2, material: there is no material \"plank\""],
        ),
        ("P3,1899-03-04,J1,board,board,8,17.85,\n", 0, &["line 2, date: 1899-03-04 is outside"]),
        ("P3,2025-03-04,J1,board,board,8,$17,\n", 0, &["line 2, unit_price: "]),
    ] {
        check("p.csv", &format!("{head}{rows}"), drafts, problems);
    }
    let changed = format!("{head}P1,2025-03-04,J1,board,board,9,17.85,160.65\n");
    assert_eq!(
        words(&read_in(&held, "p.csv", &changed)),
        ["p.csv line 2: receipt P1 is already there: correct it with lines that start {\"change\":"]
    );
}

#[test]
fn log_lines_bring_hours_and_are_written_in_the_evening() {
    let head = "date,site,job,entry_kind,text,hours,low [°F],author\n";
    let mut held = base();
    let intake = read_in(
        &held,
        "l.csv",
        &format!("{head}2025-03-04,S1,J1,work,Stripped,lead 6; helper 5,38,helper\n"),
    );
    assert_eq!(intake.problems, []);
    // 2025-03-04T19:00-05:00, by GNU date: 1741132800.
    assert_eq!(intake.drafts[0].written_at, WrittenAt { unix_ms: 1_741_132_800_000, offset_min: -300 });
    assert_eq!(intake.drafts[0].author, held.one("person", &[("label", text("helper"))]));
    held.take(&intake.drafts);
    let hours: Vec<String> =
        held.rows("hours").iter().map(|id| held.row(*id).value("hours").unwrap().to_string()).collect();
    assert_eq!(hours, ["6", "5"]);
    for (row, problem) in [
        ("2025-03-04,S1,,work,Stripped,lead 6,,", "line 2, job: hours are booked to a job"),
        ("2025-03-04,S1,J1,work,Stripped,six,,", "line 2, hours: \"six\" is not people and hours"),
        ("2025-03-04,S1,J1,work,Stripped,lead six,,", "line 2, hours: \"six\" is not a plain number"),
        ("2025-03-04,S1,J1,work,Stripped,lead 25,,", "line 2, hours: 25 is outside 0 to 24"),
        ("2025-03-04,S1,J1,work,Stripped,boss 2,,", "line 2, hours: there is no person \"boss\""),
        ("2025-02-30,S1,J1,work,Stripped,,,", "line 2, date: \"2025-02-30\" is not a date"),
        ("2025-03-04,S1,J1,party,Stripped,,,", "line 2, entry_kind: \"party\" is not one of"),
    ] {
        check("l.csv", &format!("{head}{row}\n"), 0, &[problem]);
    }
    // A row about today, read at noon, was not written tonight.
    let today = read_in(&held, "l.csv", &format!("{head}2025-06-01,S1,J1,note,Today,,,\n"));
    assert_eq!(today.drafts[0].written_at, READ_AT);
}

#[test]
fn stock_lines_are_uses_moves_or_waste() {
    let head = "action,date,material,quantity,site,job,to_site,to_job\n";
    for (row, kind) in [
        ("use,2025-03-04,board,6,S1,J1,,", "use"),
        (",2025-03-04,board,6,S1,J1,,", "use"),
        (",2025-03-04,board,2,S1,J1,S1,J1", "move"),
        ("waste,2025-03-04,board,1,S1,J1,,", "waste"),
    ] {
        let mut held = base();
        take_all(&mut held, "s.csv", &format!("{head}{row}\n"));
        assert_eq!(held.rows(kind).len(), 1, "{row}");
    }
    for (row, problem) in [
        ("burn,2025-03-04,board,6,S1,J1,,", "line 2, action: \"burn\" is none of use, move, waste"),
        ("move,2025-03-04,board,6,S1,J1,S1,", "line 2, to_job: move has no to_job: write it"),
        ("use,2025-03-04,board,6,S1,J1,S1,", "line 2, to_site: use has no field \"to_site\""),
        ("use,2025-03-04,board,-6,S1,J1,,", "line 2, quantity: -6 is outside 0 to 1000000"),
        ("use,2025-03-04,boat,6,S1,J1,,", "line 2, material: there is no material \"boat\""),
    ] {
        check("s.csv", &format!("{head}{row}\n"), 0, &[problem]);
    }
}

#[test]
fn any_bytes_are_read_without_panic() {
    // A plain counter-fed hash in place of a random source: the same bytes on every run.
    for seed in 0u32..300 {
        let mut bytes = vec![0; 200];
        let mut hasher = blake3::Hasher::new();
        hasher.update(&seed.to_le_bytes()).finalize_xof().fill(&mut bytes);
        let signs = b"{}[]\":,;\n\r setroleval 0123456789.\xff";
        bytes.iter_mut().for_each(|byte| *byte = signs[usize::from(*byte) % signs.len()]);
        for (name, head) in [("a.jsonl", ""), ("a.csv", ""), ("a.csv", "set,role,value\n")] {
            let file = [head.as_bytes(), &bytes].concat();
            let intake = read(name, &file, &Folded::default(), author(), READ_AT);
            assert_eq!(intake.drafts.len(), 0);
        }
    }
}

fn decimal(value: Option<&Value>) -> Decimal {
    match value {
        Some(Value::Decimal(number)) => *number,
        other => panic!("a number, not {other:?}"),
    }
}
