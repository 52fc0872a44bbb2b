//! Tests with their readings, comparisons, what a search finds, write-ups.

use storypole_findings::Axis;
use storypole_notebook::matching::MatchLevel;
use storypole_search::{Patience, Search};
use storypole_writeup::Choices;

use super::compare::NotCompared;
use super::records::record_of;
use super::*;
use crate::publish::{Photos, PublishError, Request};

fn labels<'a>(rows: &'a Value, of: impl Fn(&'a Value) -> &'a Value) -> String {
    let labels = rows.as_array().unwrap().iter().map(|row| of(row).as_str().unwrap());
    labels.collect::<Vec<_>>().join(" ")
}

/// Section "what the tool should conclude" of the demo.
#[test]
fn tests_are_listed_with_what_they_show() {
    let book = book();
    let json = plan::list(&book, &Findings::new(&book));
    assert_eq!(
        labels(&json["tests"], |row| &row["test"]["label"]),
        "Q6 Q5 Q4 Q3 Q2 Q1 Q7",
        "latest day first"
    );
    let of = |label: &str| {
        json["tests"].as_array().unwrap().iter().find(|row| row["test"]["label"] == label).unwrap()
    };
    let room = of("Q1");
    assert_eq!((&room["change"]["printed"], &room["change"]["bound"]), (&"+11.2".into(), &"exact".into()));
    assert_eq!(
        (&room["claim"], &room["grade"], &room["unit"]),
        (&"claimed".into(), &"B".into(), &"dBA".into())
    );
    assert!(room["sentence"].as_str().unwrap().contains("About 11 dB better"));
    assert_eq!((&room["job"]["label"], &room["bench_rig"]), (&"J1".into(), &false.into()));
    assert_eq!(labels(&room["sets"], |set| &set["set"]["label"]), "T01 T02 T08 T03 T04 T05 T06 T09 T07");
    let first = &room["sets"][0];
    assert_eq!((&first["stage"], &first["date"]), (&"before".into(), &"2025-03-04".into()));
    assert_eq!((&first["readings"], &first["direction"]), (&8.into(), &"music-practice room to hall".into()));
    let party = of("Q2");
    assert_eq!((&party["change"]["printed"], &party["claim"]), (&"+5.9".into(), &"claimed".into()));
    assert_eq!(
        (&party["sets"][2]["set"]["label"], &party["sets"][2]["is_in_results"]),
        (&"T12".into(), &false.into())
    );
    let closet = of("Q4");
    assert_eq!((&closet["change"]["printed"], &closet["claim"]), (&"+0.1".into(), &"no claim".into()));
    let nursery = of("Q3");
    assert_eq!(nursery["change"]["printed"], "+6.7");
    let fills = of("Q5");
    assert_eq!((&fills["bench_rig"], &fills["change"]), (&true.into(), &Value::Null));
    assert_eq!(fills["sets"][0]["readings"], 3);
    assert_eq!(
        (&fills["claim"], &fills["grade"], &fills["unit"]),
        (&Value::Null, &Value::Null, &"dB".into())
    );
    assert!(of("Q6")["sentence"].as_str().unwrap().contains("9.2 dB better"));
    let rim = of("Q7");
    assert_eq!((&rim["measures"], &rim["sets"][0]["direction"]), (&"thermal".into(), &Value::Null));
}

fn sheet_of(label: &str) -> Value {
    let book = book();
    plan::sheet(&book, &Findings::new(&book), id("test", label), &mut record_of).unwrap().unwrap()
}

#[test]
fn a_test_in_full_has_conditions_as_found() {
    let json = sheet_of("Q2");
    assert_eq!((&json["test"]["label"], &json["job"]["label"]), (&"Q2".into(), &"J3".into()));
    let conditions = json["conditions"].as_array().unwrap();
    assert_eq!(conditions.len(), 11);
    let classes = labels(&json["conditions"], |row| &row["condition"]["fields"]["class"]["value"]);
    assert!(classes.starts_with("critical") && classes.ends_with("important minor minor"), "{classes}");
    let windows = conditions
        .iter()
        .find(|row| row["condition"]["fields"]["variable"]["value"] == "doors and windows")
        .unwrap();
    assert_eq!(labels(&windows["found"], |row| &row["set"]["label"]), "T10 T11 T12 T13");
    assert_eq!(
        labels(&windows["found"], |row| &row["found"]["fields"]["status"]["value"]),
        "same same changed same"
    );
    assert_eq!(windows["found"][2]["found"]["fields"]["status"]["corrected"], true);
    assert_eq!(labels(&json["positions"], |row| &row["fields"]["label"]["value"]), "S1 S2 S3 R1 R2 R3 R4");
    assert_eq!(json["finding"]["headline"]["change"]["printed"], "+5.9");
}

#[test]
fn a_test_in_full_has_every_reading() {
    let json = sheet_of("Q4");
    let sets = json["sets"].as_array().unwrap();
    let after = sets.iter().find(|set| set["set"]["label"] == "T18").unwrap();
    assert_eq!(after["assembly"]["label"], "A12");
    let places = labels(&after["readings"], |row| &row["fields"]["role"]["value"]);
    assert_eq!(places, "source source source receive receive receive receive background");
    assert_eq!(
        labels(&after["readings"], |row| &row["fields"]["value"]["value"]),
        "92.0 dBA 91.7 dBA 92.4 dBA 77.0 dBA 78.3 dBA 77.9 dBA 76.6 dBA 35.0 dBA"
    );
    assert_eq!(after["readings"][4]["position"]["label"], "Q4/R2");
    assert_eq!(after["readings"][4]["fields"]["value"]["corrected"], true);
    assert_eq!(after["readings"][7]["position"], Value::Null);
    assert_eq!(after["finding"]["level_difference"]["printed"], "14.5");
    let missing = sheet_of("Q3");
    let last = &missing["sets"][2];
    assert_eq!(
        (&last["set"]["label"], last["readings"].as_array().unwrap().len()),
        (&"T16".into(), 7),
        "R4 was not taken"
    );
}

#[test]
fn a_test_that_is_not_there_and_a_failure_to_read_are_told_apart() {
    let book = book();
    let findings = Findings::new(&book);
    let nobody = RecordId::from_bytes([7; 16]);
    assert_eq!(plan::sheet(&book, &findings, nobody, &mut record_of).unwrap(), None);
    let mut fails = |_: &'static str, _: RecordId| -> Result<Value, &'static str> { Err("disk") };
    assert_eq!(plan::sheet(&book, &findings, id("test", "Q1"), &mut fails), Err("disk"));
}

#[test]
fn a_struck_reading_is_left_out() {
    let mut book = (*book()).clone();
    let of_set =
        |set: RecordId| move |reading: &&storypole_notebook::kinds::Reading| reading.set == Some(set);
    let mut reading = book.readings.live().find(of_set(id("set", "T01"))).unwrap().clone();
    reading.meta.struck = Some("typed twice".into());
    book.tables.readings.insert(reading.id, reading);
    let findings = Findings::new(&book);
    let json = plan::sheet(&book, &findings, id("test", "Q1"), &mut record_of).unwrap().unwrap();
    assert_eq!(json["sets"][0]["readings"].as_array().unwrap().len(), 7);
    let list = plan::list(&book, &findings);
    assert_eq!(list["tests"][5]["sets"][0]["readings"], 7);
}

#[test]
fn results_are_compared_by_fill_and_over_jobs() {
    let book = book();
    let findings = Findings::new(&book);
    let json = compare::axis(&book, &findings, Axis::parse("fill").unwrap());
    let rig = &json["bench_rig"][0];
    assert_eq!((&rig["test"]["label"], &rig["rows"][0]["mean"]["printed"]), (&"Q5".into(), &"29.0".into()));
    let json = compare::jobs(&findings);
    let rows = json["jobs"].as_array().unwrap();
    let changes: Vec<_> = rows
        .iter()
        .filter(|row| row["opening_limited"] == false)
        .map(|row| (row["row"]["job"].as_str().unwrap(), row["row"]["change"]["printed"].as_str().unwrap()))
        .collect();
    assert_eq!(changes, [("J3", "+5.9"), ("J4", "+6.7")]);
}

#[test]
fn sets_and_walls_that_are_named_stand_side_by_side() {
    let book = book();
    let findings = Findings::new(&book);
    let of = |kind: &'static str, names: &[&str]| {
        let named: Vec<_> = names.iter().map(|name| (kind, id(kind, name))).collect();
        compare::of(&book, &findings, &named)
    };
    let json = of("set", &["T10", "T11", "T13", "T10"]).unwrap();
    assert_eq!(labels(&json["sets"], |set| &set["label"]), "T10 T11 T13", "each once");
    assert_eq!(labels(&json["changes"], |change| &change["change"]["printed"]), "+3.2 +5.9 +2.7");
    let fills = of("assembly", &["A14g", "A14s", "A14c"]).unwrap();
    assert_eq!(labels(&fills["bench_rig"], |rig| &rig["test"]["label"]), "Q5");
    assert_eq!(labels(&fills["sets"], |set| &set["label"]), "T20 T21 T22");
    let wall = of("assembly", &["A07", "A05"]).unwrap();
    assert_eq!(labels(&wall["sets"], |set| &set["label"]), "T13 T10", "T12 is out of results");
    let refused = of("job", &["J1"]).unwrap_err();
    assert_eq!(refused, NotCompared::Kind { name: "J1".into(), kind: "job".into() });
    assert_eq!(refused.to_string(), "J1 is a job; sets and walls are compared");
    assert_eq!(of("set", &["T26"]), Err(NotCompared::NoLevel { name: "T26".into() }), "temperatures only");
}

#[test]
fn a_set_without_readings_is_not_compared() {
    let mut book = (*book()).clone();
    let of_set: Vec<RecordId> =
        book.readings.all().filter(|one| one.set == Some(id("set", "T01"))).map(|one| one.id).collect();
    of_set.into_iter().for_each(|reading| book.remove("reading", reading));
    let findings = Findings::new(&book);
    let refused = compare::of(&book, &findings, &[("set", id("set", "T01"))]).unwrap_err();
    assert_eq!(refused, NotCompared::Unread { name: "T01".into() });
}

/// Demo scenario, invented: A09 of J4 gave 3.9 dB, and its job cost 9.89 for a square foot.
#[test]
fn what_was_found_is_told_with_its_matches_result_and_cost() {
    let demo = demo();
    let ask = |text: &str| {
        let search = Search { text: text.into(), limit: 20, ..Search::default() };
        demo.desk.find(&search, date(2025, 6, 1), Patience::Wait).unwrap().json()
    };
    let json = ask("cellulose over 3 dB at the duplex");
    assert_eq!(
        (&json["asked"], &json["all_words_matched"]),
        (&"cellulose over 3 dB at the duplex".into(), &true.into())
    );
    let kinds = labels(&json["parts"], |part| &part["kind"]);
    assert_eq!(kinds, "fill reduction site", "{}", json["parts"]);
    assert_eq!(json["parts"][1]["without"], "cellulose; at the duplex");
    let groups = json["groups"].as_array().unwrap();
    assert_eq!(groups[0]["kind"], "assembly", "walls come first where a fill is asked for");
    let wall =
        groups[0]["hits"].as_array().unwrap().iter().find(|hit| hit["record"]["label"] == "A09").unwrap();
    assert_eq!((&wall["site"]["label"], &wall["per_ft2"]["amount"]), (&"S2".into(), &"9.89".into()));
    let finding = &wall["finding"];
    assert_eq!((&finding["measure"], &finding["value"]["printed"]), (&"change".into(), &"+3.9".into()));
    assert!(finding["words"].as_str().unwrap().starts_with("+3.9 dB ("), "{finding}");
    let matching = |piece: &&Value| piece["is_match"] == true;
    assert_eq!(wall["snippet"].as_array().unwrap().iter().find(matching).unwrap()["text"], "cellulose");
    let sites = json["filters"].as_array().unwrap().iter().find(|filter| filter["name"] == "site").unwrap();
    assert_eq!(labels(&sites["values"], |value| &value["value"]), "S2");
    assert_eq!(ask("")["total"], 0);
    assert_eq!(ask("cellulose lighthouse")["all_words_matched"], false);
}

/// Demo scenario, invented: A09 and A10 are versions of one wall, and A12 of another house part is not built like them.
#[test]
fn walls_built_alike_are_told_with_what_differs() {
    let demo = demo();
    let alike = |label: &str, level| demo.desk.alike(id("assembly", label), level, (0, 20)).unwrap();
    let told = alike("A09", MatchLevel::Family);
    let other = told.alike.iter().find(|wall| wall.hit.record.label.as_deref() == Some("A10")).unwrap();
    assert!(other.alike.is_same_wall && !other.alike.differences.is_empty());
    assert!(told.counts[0] <= told.counts[1] && told.counts[1] <= told.counts[2]);
    let json = told.json();
    assert_eq!((&json["level"], &json["counts"]["family"]), (&"family".into(), &told.counts[2].into()));
    let page = demo.desk.alike(id("assembly", "A09"), MatchLevel::Family, (1, 1)).unwrap();
    assert_eq!(page.alike[0], told.alike[1]);
    assert_eq!(page.next, (told.alike.len() > 2).then_some(2));
}

#[test]
fn a_write_up_tells_what_only_the_history_knows() {
    let demo = demo();
    let request = |kind: &'static str, label: &str| Request {
        about: vec![(kind, id(kind, label))],
        question: None,
        photos: Photos::Stored,
        choices: Choices::new(date(2025, 6, 1), "0.0.0"),
    };
    let published = demo.desk.write_up(&request("job", "J5")).unwrap();
    let text = storypole_writeup::markdown(&published.document);
    assert!(text.starts_with("---\n"), "{}", &text[..200]);
    assert!(text.contains("was 87.3 dBA, corrected to 78.3 dBA"), "the old value stands in the log alone");
    let preview = writeup::preview(&demo.book, &published, &[]);
    assert_eq!(preview["jobs"][0], "J5");
    assert!(preview["kept_back"].as_array().is_some_and(|kept| !kept.is_empty()));
    let refused = demo.desk.write_up(&request("site", "S1")).unwrap_err();
    assert_eq!(refused.to_string(), "a site cannot be written up: name jobs, tests, or one stored write-up");
    let both = Request { question: Some("cellulose or glass fibre".into()), ..request("job", "J5") };
    assert!(matches!(demo.desk.write_up(&both), Err(PublishError::Both)));
}
