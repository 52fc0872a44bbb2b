//! The day log, tasks, jobs, receipts, stock and marks.

use std::collections::BTreeSet;

use jiff::civil::Date;
use storypole_ledger::marks;

use super::entries::{Cursor, EntriesAsked};
use super::records::record_of;
use super::*;

fn texts<'a>(rows: &'a Value, of: impl Fn(&'a Value) -> &'a Value) -> Vec<&'a str> {
    rows.as_array().unwrap().iter().map(|row| of(row).as_str().unwrap()).collect()
}

#[test]
fn without_any_entry_today_still_tells_what_is_open_and_looks_wrong() {
    let mut book = Book::clone(&book());
    let entries: Vec<_> = book.entries.all().map(|entry| entry.id).collect();
    entries.into_iter().for_each(|entry| book.remove("entry", entry));
    let asked = Asked { day: None, site: None, today: date(2025, 6, 1) };
    let empty = today::today_or_empty(&book, asked).json(&book);
    let full = day_of(None, None);
    assert_eq!(empty["open_elsewhere"][0]["label"], "K04");
    let names = |json: &Value| json.as_object().unwrap().keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(&empty), names(&full));
    assert_eq!((&empty["day"], &empty["is_last_day_with_an_entry"]), (&"2025-06-01".into(), &false.into()));
}

fn page_of(asked: EntriesAsked) -> Value {
    entries::page(&book(), &EntriesAsked { limit: 500, ..asked })
}

#[test]
fn the_day_log_starts_with_the_newest_line() {
    let all = page_of(EntriesAsked::default());
    let first = &all["items"][0];
    assert_eq!((&first["date"], &first["job"]["label"]), (&"2025-05-20".into(), &"J7".into()));
    assert_eq!(first["hours"][0]["person"]["label"], "lead");
    assert_eq!((&first["hours"][0]["hours"], &first["photos"]), (&"2".into(), &0.into()));
    assert_eq!((&all["total"], &all["next"]), (&46.into(), &Value::Null), "47 lines, one of them struck");
    let dates = texts(&all["items"], |row| &row["date"]);
    assert!(dates.windows(2).all(|pair| pair[0] >= pair[1]));
    let march = page_of(EntriesAsked {
        from: Some(date(2025, 3, 4)),
        to: Some(date(2025, 3, 4)),
        ..Default::default()
    });
    let work = march["items"].as_array().unwrap().iter().find(|row| row["entry_kind"] == "work").unwrap();
    let hours = texts(&work["hours"], |row| &row["hours"]);
    assert_eq!((march["total"].as_u64(), hours.len()), (Some(3), 2), "lead 6, helper 5");
    assert!(hours.contains(&"6") && hours.contains(&"5"));
}

#[test]
fn the_day_log_can_be_narrowed() {
    let of_site = page_of(EntriesAsked { site: Some(id("site", "S3")), ..Default::default() });
    assert_eq!(of_site["total"], 5);
    let of_job = page_of(EntriesAsked { job: Some(id("job", "J2")), ..Default::default() });
    assert_eq!(of_job["total"], 3);
    let from = page_of(EntriesAsked { from: Some(date(2025, 5, 17)), ..Default::default() });
    assert_eq!(texts(&from["items"], |row| &row["date"]), ["2025-05-20", "2025-05-18", "2025-05-17"]);
    let both =
        EntriesAsked { site: Some(id("site", "S1")), job: Some(id("job", "J3")), ..Default::default() };
    assert_eq!(page_of(both)["total"], 0);
}

#[test]
fn pages_of_the_day_log_give_every_line_once() {
    let all = page_of(EntriesAsked::default());
    let mut ids = Vec::new();
    let mut after: Option<Cursor> = None;
    loop {
        let page = entries::page(&book(), &EntriesAsked { after, limit: 4, ..Default::default() });
        assert_eq!(page["total"], all["total"], "of all that match, not of the page");
        ids.extend(texts(&page["items"], |row| &row["id"]).into_iter().map(str::to_owned));
        let Some(next) = page["next"].as_str() else { break };
        after = Some(next.parse().unwrap());
        assert_eq!(after.unwrap().to_string(), next);
    }
    assert_eq!(ids, texts(&all["items"], |row| &row["id"]));
    assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), 46);
}

#[test]
fn a_cursor_is_a_day_and_an_id() {
    let id = RecordId::from_bytes([7; 16]);
    for date in [Some(date(2025, 3, 4)), None] {
        let cursor = Cursor { date, id };
        assert_eq!(cursor.to_string().parse(), Ok(cursor));
    }
    assert!(Cursor { date: Some(date(2025, 3, 4)), id }.to_string().starts_with("2025-03-04.07070707-"));
    for text in ["", "2025-03-04", "2025-13-04.07070707-0707-0707-0707-070707070707", "2025-03-04.x", "."] {
        assert!(text.parse::<Cursor>().is_err(), "{text}");
    }
}

#[test]
fn lines_without_a_day_stand_at_the_end_and_photos_are_counted() {
    let folder = tempfile::tempdir().unwrap();
    let desk = empty(folder.path());
    let text = |text: &str| storypole_notebook::Value::Text(text.into());
    let (dated, undated, photo) =
        (crate::edge::record_id(), crate::edge::record_id(), crate::edge::record_id());
    let mut compose = desk.compose(NOW);
    compose.set(dated, "entry", "text", &text("Room cleared")).unwrap();
    compose.set(dated, "entry", "date", &storypole_notebook::Value::Date(date(2025, 3, 4))).unwrap();
    compose.set(undated, "entry", "text", &text("Day not noted")).unwrap();
    compose.set(photo, "photo", "about", &storypole_notebook::Value::Record(dated)).unwrap();
    desk.take(compose.finish()).unwrap();
    let book = desk.book().unwrap();
    let first = entries::page(&book, &EntriesAsked { limit: 1, ..Default::default() });
    assert_eq!((&first["items"][0]["photos"], &first["total"]), (&1.into(), &2.into()));
    let after = Some(first["next"].as_str().unwrap().parse().unwrap());
    let second = entries::page(&book, &EntriesAsked { after, limit: 1, ..Default::default() });
    assert_eq!((&second["items"][0]["text"], &second["next"]), (&"Day not noted".into(), &Value::Null));
    let from = Some(Date::MIN);
    let dated_only = entries::page(&book, &EntriesAsked { from, limit: 9, ..Default::default() });
    assert_eq!(dated_only["total"], 1, "what has no day is not within days");
}

#[test]
fn tasks_are_listed_by_job_and_state() {
    let book = book();
    let of = |job: Option<&str>, state: Option<&str>| {
        let json = task::list(&book, job.map(|job| id("job", job)), state);
        texts(&json["tasks"], |task| &task["label"]).join(" ")
    };
    assert_eq!(of(Some("J1"), None), "K02 K03 K04");
    assert_eq!(of(None, Some("blocked")), "K07");
    assert_eq!(of(Some("J1"), Some("done")), "K03");
    assert_eq!(of(Some("J2"), Some("blocked")), "");
    let json = task::list(&book, Some(id("job", "J1")), Some("done"));
    assert_eq!(json["tasks"][0]["waits_for"]["label"], "K02");
}

/// Table of section "labour and job totals" of the demo.
#[test]
fn the_table_of_jobs_tells_money_and_what_was_gained() {
    let book = book();
    let json = jobs::table(&book, &Findings::new(&book));
    assert_eq!(json["jobs"].as_array().unwrap().len(), 8);
    assert_eq!(
        (&json["sum"]["total"]["amount"], &json["sum"]["net"]["amount"]),
        (&"7280.97".into(), &"7162.44".into())
    );
    let worth = json["worth"].as_array().unwrap();
    let of = |first: &str| worth.iter().find(|row| row["jobs"][0]["label"] == first).unwrap();
    assert_eq!(of("J1")["jobs"][1]["label"], "J2", "the door went on from the wall");
    for (job, total, per_db) in [
        ("J1", "2705.90", Some("241.60")),
        ("J3", "1580.92", Some("267.95")),
        ("J4", "880.67", Some("131.44")),
        ("J5", "507.44", None),
    ] {
        let row = of(job);
        assert_eq!(
            (row["total"]["amount"].as_str(), row["per_db"]["amount"].as_str()),
            (Some(total), per_db),
            "{job}"
        );
    }
    assert_eq!(worth.len(), 4, "J1 does not stand by itself");
    let none = jobs::table(&Book::default(), &Findings::new(&Book::default()));
    assert_eq!((&none["jobs"], &none["worth"]), (&Value::Array(vec![]), &Value::Array(vec![])));
}

#[test]
fn one_job_in_full() {
    let book = book();
    let findings = Findings::new(&book);
    let json = jobs::sheet(&book, &findings, id("job", "J1")).unwrap();
    assert_eq!((&json["site"]["label"], &json["finished"]), (&"S1".into(), &"2025-03-14".into()));
    assert_eq!(
        (&json["money"]["total"]["amount"], &json["money"]["left_in_stock"]["amount"]),
        (&"2120.80".into(), &"13.44".into())
    );
    let left = json["left_over"].as_array().unwrap();
    let of = |material: &str| left.iter().find(|row| row["material"]["label"] == material).unwrap();
    assert_eq!((&of("batt-r13")["left"], &of("batt-r13")["value"]["amount"]), (&"1".into(), &"6.04".into()));
    assert_eq!((&of("channel")["left"], &of("channel")["value"]["amount"]), (&"1".into(), &"7.40".into()));
    assert_eq!(texts(&json["sets"], |set| &set["label"]).join(" "), "T01 T02 T08 T03 T04");
    assert_eq!(texts(&json["tasks"], |task| &task["label"]), ["K02", "K03", "K04"]);
    assert_eq!(json["marks"].as_array().unwrap().len(), 0);
    assert!(jobs::sheet(&book, &findings, id("site", "S1")).is_none());
}

#[test]
fn marks_stand_with_the_job_they_concern() {
    let book = book();
    let all = marks(&book);
    let json = marks::json(&book, &all);
    assert_eq!(json["marks"], day_of(None, None)["marks"], "as today shows them");
    let of = |job: &str| -> Vec<&str> {
        marks::of_job(&book, &all, id("job", job)).iter().map(|mark| mark.kind.name()).collect()
    };
    assert_eq!((of("J2"), of("J3")), (vec!["condition-changed"], vec!["condition-changed"]), "T06 and T12");
    assert!(of("J4").is_empty());
}

#[test]
fn a_shortage_stands_with_the_job_that_is_short() {
    let folder = tempfile::tempdir().unwrap();
    let desk = empty(folder.path());
    let files = [(
        "records.jsonl",
        r#"{"kind": "site", "label": "S1", "name": "Mill"}
{"kind": "job", "label": "J1", "site": "S1", "title": "Hall"}
{"kind": "job", "label": "J2", "site": "S1", "title": "Attic"}
{"kind": "material", "label": "board", "name": "board", "unit": "sheet"}
{"kind": "use", "material": "board", "site": "S1", "job": "J2", "quantity": 2, "unit": "sheet", "date": "2025-03-04"}
"#,
    )];
    for (name, text) in files {
        let taken = intake::read(name, text.as_bytes(), &desk, desk.author(), NOW);
        assert!(taken.problems.is_empty(), "{:?}", taken.problems.first());
        assert!(desk.take_all(taken.drafts).unwrap().iter().all(Result::is_ok));
    }
    let book = desk.book().unwrap();
    let all = marks(&book);
    let of = |job: &str| -> Vec<&str> {
        let job = crate::names::find(&desk, "job", job).unwrap();
        marks::of_job(&book, &all, job).iter().map(|mark| mark.kind.name()).collect()
    };
    assert_eq!((of("J1"), of("J2")), (vec![], vec!["stock-below-zero"]));
}

fn receipt_of(label: &str) -> Value {
    let book = book();
    receipt::sheet(&book, &marks(&book), id("receipt", label), &mut record_of).unwrap().unwrap()
}

/// Receipts P02 and P08 of the demo, as printed on them.
#[test]
fn a_receipt_in_full_adds_up() {
    let json = receipt_of("P02");
    assert_eq!(json["receipt"]["label"], "P02");
    assert_eq!(
        texts(&json["lines"], |line| &line["amount"]["amount"]),
        ["124.80", "142.80", "41.70", "27.75", "17.20"]
    );
    assert_eq!(json["lines"][0]["line"]["fields"]["quantity"]["value"], "2");
    for (label, subtotal, tax, total) in
        [("P02", "354.25", "23.03", "377.28"), ("P08", "-17.85", "-1.16", "-19.01")]
    {
        let json = receipt_of(label);
        let amounts =
            ["subtotal", "tax", "total"].map(|name| json[name]["amount"].as_str().unwrap().to_owned());
        assert_eq!(amounts, [subtotal, tax, total]);
        assert_eq!(json["adds_up"], true);
    }
    assert_eq!((&json["job"]["label"], &json["supplier"]["label"]), (&"J1".into(), &"tin-heron".into()));
    assert_eq!(json["marks"].as_array().unwrap().len(), 0);
    let (book, nobody) = (book(), RecordId::from_bytes([7; 16]));
    assert_eq!(receipt::sheet(&book, &[], nobody, &mut record_of).unwrap(), None);
}

#[test]
fn a_receipt_tells_its_own_marks_only() {
    let mut book = (*book()).clone();
    let mut paper = book.receipts.get(id("receipt", "P02")).unwrap().clone();
    paper.printed_total = Some(storypole_units::Money::parse("377.82 USD").unwrap());
    book.tables.receipts.insert(paper.id, paper);
    let all = marks(&book);
    let of =
        |label: &str| receipt::sheet(&book, &all, id("receipt", label), &mut record_of).unwrap().unwrap();
    let slip = of("P02");
    assert_eq!(
        (&slip["adds_up"], &slip["marks"][0]["mark"]),
        (&false.into(), &"receipt-does-not-add-up".into())
    );
    assert_eq!(of("P05")["marks"].as_array().unwrap().len(), 0);
}

#[test]
fn receipts_are_listed_newest_first() {
    let book = book();
    let labels = |job: Option<&str>| -> Vec<String> {
        let order = receipt::order(&book, job.map(|job| id("job", job)));
        order.iter().map(|one| called(&book, "receipt", *one).short()).collect()
    };
    assert_eq!(labels(Some("J1")), ["P04", "P03", "P02"]);
    assert_eq!(labels(Some("J3")), ["P08", "P07", "P06"], "the return is a receipt of its own");
    let all = labels(None);
    assert_eq!((all.len(), all[0].as_str(), all[12].as_str()), (13, "P13", "P01"));
}

#[test]
fn a_receipt_of_another_job_with_a_line_for_this_one_is_listed() {
    let mut book = (*book()).clone();
    let mut line = book.lines.live().find(|line| line.receipt == Some(id("receipt", "P02"))).unwrap().clone();
    line.job = Some(id("job", "J7"));
    book.tables.lines.insert(line.id, line);
    let order = receipt::order(&book, Some(id("job", "J7")));
    assert_eq!(order, [id("receipt", "P13"), id("receipt", "P02")]);
}

/// Section "stock and transfers" of the demo.
#[test]
fn stock_is_told_by_place() {
    let book = book();
    let of = |site: Option<&str>, job: Option<&str>, material: &str| -> Vec<String> {
        let json = stock::rows(&book, site.map(|site| id("site", site)), job.map(|job| id("job", job)));
        let rows = json["rows"].as_array().unwrap().iter().filter(|row| row["material"]["label"] == material);
        rows.map(|row| row["left"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(of(None, Some("J4"), "cellulose"), ["0"], "100 lb: 77.5 used, 22.5 moved");
    assert_eq!(of(None, Some("J4"), "board-58x"), ["0"], "2 bought, 2 moved in, 4 used");
    assert_eq!(of(Some("S3"), None, "batt-r13"), ["4"]);
    assert_eq!(of(Some("S1"), Some("J4"), "cellulose"), Vec::<String>::new(), "J4 is at another site");
    assert_eq!(of(None, Some("J6"), "wool-r15"), ["11"]);
    assert_eq!(of(None, Some("J6"), "cellulose"), ["19.4"]);
}
