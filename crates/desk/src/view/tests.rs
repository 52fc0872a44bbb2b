//! Views of the demo notebook. Its numbers are the demo scenario's, invented; how each follows from the readings
//! and receipts is tested in `findings` and `ledger` against outside values.

use std::fs;
use std::path::Path;
use std::rc::Rc;
use std::sync::Arc;

use jiff::civil::date;
use serde_json::Value;
use storypole_findings::Findings;
use storypole_journal::{RecordId, WrittenAt};
use storypole_search::facts::FactBook;
use storypole_notebook::Book;
use storypole_store::Reader;
use storypole_units::Currency;

use super::today::Asked;
use super::*;
use crate::{Desk, Founding, intake};

mod quantities;
mod records;
mod results;
mod work;

const NOW: WrittenAt = WrittenAt { unix_ms: 1_748_000_000_000, offset_min: -300 };

struct Demo {
    desk: Desk,
    book: Arc<Book>,
    _folder: tempfile::TempDir,
}

thread_local! {
    // Each test has a thread of its own; the folder goes with it.
    static DEMO: Rc<Demo> = Rc::new(read_demo());
}

fn demo() -> Rc<Demo> {
    DEMO.with(Rc::clone)
}

fn book() -> Arc<Book> {
    Arc::clone(&demo().book)
}

/// The demo files in a notebook.
fn read_demo() -> Demo {
    let folder = tempfile::tempdir().unwrap();
    let desk = empty(folder.path());
    let seed = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../seed-data");
    let mut files: Vec<_> = fs::read_dir(seed).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|ending| ending != "md"));
    files.sort();
    for file in files {
        let name = file.file_name().unwrap().to_str().unwrap();
        let taken = intake::read(name, &fs::read(&file).unwrap(), &desk, desk.author(), NOW);
        assert!(taken.problems.is_empty(), "{:?}", taken.problems.first());
        assert!(desk.take_all(taken.drafts).unwrap().iter().all(Result::is_ok));
    }
    let book = desk.book().unwrap();
    Demo { desk, book, _folder: folder }
}

fn empty(folder: &Path) -> Desk {
    let founding = Founding {
        name: "Views".into(),
        currency: Currency::parse("USD").unwrap(),
        role: "site lead".into(),
        label: "lead".into(),
        device_label: "box".into(),
        written_at: NOW,
    };
    Desk::found(&folder.join("notebook"), &founding).unwrap()
}

fn id(kind: &str, label: &str) -> RecordId {
    crate::names::find(&demo().desk, kind, label).unwrap()
}

fn day_of(day: Option<jiff::civil::Date>, site: Option<&str>) -> Value {
    let site = site.map(|site| id("site", site));
    let asked = Asked { day, site, today: date(2025, 6, 1) };
    let book = book();
    today::today(&book, asked).unwrap().json(&book)
}

#[test]
fn a_set_tells_its_bound_with_its_number() {
    let book = book();
    let findings = Findings::new(&book);
    let json = set::json(&book, findings.set(id("set", "T06")).unwrap());
    assert_eq!(json["level_difference"]["printed"], "36.2");
    assert_eq!(json["level_difference"]["bound"], "at-least");
    assert_eq!((&json["margin"]["printed"], &json["background_effect"]), (&"3.7".into(), &"limit".into()));
    assert_eq!(json["background_rule"], "astm_e336");
    assert_eq!(json["assembly"]["label"], "A04");
    let out = set::json(&book, findings.set(id("set", "T12")).unwrap());
    assert_eq!(out["is_in_results"], false);
    assert!(out["out_because"][0].as_str().unwrap().contains("window ajar"));
}

#[test]
fn a_job_that_went_on_is_weighed_against_all_its_money() {
    let book = book();
    let findings = Findings::new(&book);
    let of = |label: &str| {
        let found = findings.job(id("job", label)).unwrap();
        (job::worth(&book, &findings, &found), job::json(&book, &findings, &found))
    };
    let (door, json) = of("J2");
    let door = door.unwrap();
    assert_eq!(door.jobs, [id("job", "J1"), id("job", "J2")]);
    assert_eq!(door.money.total.amount_text(), "2705.90");
    assert_eq!(door.per_db.unwrap().amount_text(), "241.60");
    assert_eq!(json["worth"]["per_db"]["amount"], "241.60");
    assert_eq!(json["groups"][0]["with_jobs_before"]["change"]["printed"], "+11.2");
    let (closet, json) = of("J5");
    assert_eq!(closet.unwrap().per_db, None, "what is not claimed has no price");
    assert_eq!(json["groups"][0]["own"]["claim"], "no claim");
    assert!(of("J6").0.is_none(), "a bench rig has no change between rooms");
}

#[test]
fn an_assembly_tells_the_share_of_its_door() {
    let book = book();
    let findings = Findings::new(&book);
    let json = assembly::json(&book, &findings.assembly(id("assembly", "A03")).unwrap());
    assert_eq!(json["paths"]["opening_is_the_limit"], true);
    assert!(json["paths"]["openings"][0]["share"].as_f64().unwrap() > 0.99);
    assert_eq!(json["built"]["parts"]["seals"], "A 1, B 2");
}

#[test]
fn a_day_names_hours_purchases_and_what_is_open() {
    let json = day_of(Some(date(2025, 3, 4)), None);
    let site = &json["sites"][0];
    assert_eq!(site["site"]["label"], "S1");
    assert_eq!(site["spent"]["amount"], "377.28", "receipt P02, tax counted");
    assert_eq!(site["entries"][0]["entry_kind"], "work", "work stands before what came with it");
    assert_eq!(site["entries"][0]["low"], "38 °F");
    let hours = site["hours"].as_array().unwrap();
    let hours: Vec<_> = hours.iter().map(|row| (&row["person"]["label"], &row["hours"])).collect();
    assert!(hours.contains(&(&"lead".into(), &"6".into())), "{hours:?}");
    assert!(hours.contains(&(&"helper".into(), &"5".into())), "{hours:?}");
    assert_eq!(site["open"][0]["label"], "K04");
    assert_eq!(json["open_elsewhere"][0]["label"], "K07");
}

#[test]
fn without_a_day_the_last_with_an_entry_is_shown() {
    let json = day_of(None, None);
    assert_eq!((&json["day"], &json["is_last_day_with_an_entry"]), (&"2025-05-20".into(), &true.into()));
    let json = day_of(None, Some("S2"));
    assert_eq!(json["day"], "2025-05-05", "the last day at that site");
    assert_eq!(json["open_elsewhere"].as_array().unwrap().len(), 0);
    let asked = Asked { day: None, site: None, today: date(2025, 6, 1) };
    assert!(today::today(&Book::default(), asked).is_none());
}

#[test]
fn a_day_ahead_of_the_clock_does_not_stand_in_for_the_last() {
    let asked = Asked { day: None, site: None, today: date(2025, 3, 5) };
    assert_eq!(today::today(&book(), asked).unwrap().day, date(2025, 3, 5));
    let asked = Asked { day: None, site: None, today: date(2020, 1, 1) };
    assert_eq!(today::today(&book(), asked).unwrap().day, date(2025, 5, 20), "there is nothing else");
}

#[test]
fn history_tells_both_values_and_why() {
    let demo = demo();
    let record = id("move", "X2");
    let history = demo.desk.read(|reader| reader.history(record)).unwrap();
    let steps = past::steps(&demo.book, &history);
    let quantity: Vec<_> = steps.iter().filter(|step| step.field == "quantity").collect();
    assert_eq!(quantity.iter().map(|step| step.text()).collect::<Vec<_>>(), ["2", "1"]);
    assert_eq!((quantity[0].stands, quantity[1].stands), (false, true));
    assert_eq!(
        (quantity[1].over.as_slice(), quantity[1].author.short()),
        (&["2".to_owned()][..], "helper".into())
    );
    assert_eq!((quantity[1].when(), quantity[1].device.as_str()), ("2025-05-02 19:40".into(), "box"));
    assert!(quantity[1].reason.as_ref().unwrap().contains("second pack was open"));
}

#[test]
fn corrections_reach_a_write_up_with_the_value_before() {
    let demo = demo();
    let found =
        past::corrections(&demo.book, |record| demo.desk.read(|reader| reader.history(record))).unwrap();
    let typed = found.iter().find(|one| one.old == "87.3 dBA").unwrap();
    assert_eq!((typed.new.as_str(), typed.field.as_str()), ("78.3 dBA", "value"));
    assert!(typed.reason.contains("meter photo"));
}

#[test]
fn two_values_without_sight_of_each_other_are_listed() {
    let folder = tempfile::tempdir().unwrap();
    let desk = empty(folder.path());
    let record = crate::edge::record_id();
    for memo in ["7 boards counted", "photo checked"] {
        let mut compose = desk.compose(NOW);
        compose.set(record, "receipt", "label", &storypole_notebook::Value::Text("P12".into())).unwrap();
        compose.set(record, "receipt", "memo", &storypole_notebook::Value::Text(memo.into())).unwrap();
        desk.take(compose.finish()).unwrap();
    }
    let book = desk.book().unwrap();
    let conflicts = desk.read(Reader::conflicts).unwrap();
    assert_eq!(conflicts.len(), 1, "equal labels are no conflict");
    let history = desk.read(|reader| reader.history(record)).unwrap();
    let json = past::conflict(&book, &conflicts[0], &history).json();
    assert_eq!((&json["record"]["label"], &json["field"]), (&"P12".into(), &"memo".into()));
    assert_eq!(json["values"][0]["value"], "photo checked", "the latest is the one shown");
    assert_eq!(json["values"][1]["value"], "7 boards counted");
    assert_eq!(json["needs_reason"], false);
}

#[test]
fn what_was_found_tells_what_it_achieved() {
    let book = book();
    let (findings, facts) = (Findings::new(&book), FactBook::default());
    let looked = found::Looked { book: &book, findings: &findings, facts: &facts };
    let of = |kind: &str, label: &str| {
        let record = id(kind, label);
        looked.beside(kind, record, None, &facts.facts(&book, &findings, kind, record))
    };
    let wall = of("assembly", "A09");
    assert!(wall.achieved.as_ref().unwrap().contains("34.8 dB"), "{wall:?}");
    assert_eq!(wall.built.as_deref(), Some("single wood studs, cellulose"));
    assert_eq!((wall.per_ft2.unwrap().amount_text(), wall.site.unwrap().id), ("9.89".into(), id("site", "S2")));
    let panel = of("assembly", "A14c");
    assert_eq!((panel.per_ft2, panel.finding, panel.is_bench), (None, None, true), "a panel on a bench is no wall");
    // 5.78 for a square foot bought the 10.4 dB of J2 alone, not the 11.2 dB of both jobs.
    let job = of("job", "J2").finding.unwrap();
    assert_eq!((job.number(), job.jobs), ("+10.4 dB".into(), 1));
    assert_eq!(of("test", "Q1").per_ft2, None, "two jobs made that change");
    assert_eq!(of("receipt", "P02").date.as_deref(), Some("2025-03-04"));
    assert_eq!(of("material", "cellulose").achieved, None);
}

#[test]
fn records_are_called_by_what_people_know() {
    let book = book();
    for (kind, label, expected) in [
        ("job", "J1", "J1, Music room, hall partition rebuilt"),
        ("set", "T05", "T05, after, A04"),
        ("receipt", "P02", "P02, Tin Heron Building Supply, 2025-03-04"),
        ("move", "X2", "X2, move of batt-r13 from J1 to J5"),
        ("material", "cellulose", "cellulose, loose"),
    ] {
        assert_eq!(called(&book, kind, id(kind, label)).full(), expected);
    }
    let reading = book
        .readings
        .live()
        .find(|reading| reading.set == Some(id("set", "T18")) && !reading.meta.corrected.is_empty());
    assert_eq!(called(&book, "reading", reading.unwrap().id).with_kind(), "reading of T18 at R2");
    let nobody = RecordId::from_bytes([7; 16]);
    assert!(called(&book, "job", nobody).full().starts_with("job 0707"));
    assert!(past::anywhere(&book, nobody).full().starts_with("record 0707"));
}

#[test]
fn labels_sort_as_people_count() {
    let mut labels = ["R10", "R2", "A14s-crack", "A14s", "A14", "R1", "", "9", "T26-after", "T26"];
    labels.sort_by_cached_key(|label| called::in_order(label));
    assert_eq!(labels, ["", "9", "A14", "A14s", "A14s-crack", "R1", "R2", "R10", "T26", "T26-after"]);
    assert_eq!(called::in_order("1").len(), 1);
    called::in_order("99999999999999999999999999"); // Saturates.
}
