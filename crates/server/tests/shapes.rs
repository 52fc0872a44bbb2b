//! Every answer about the demo notebook is what the document says: read as its type and written again, nothing is
//! lost and nothing is gained. The examples of the document are made here, and checked.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod demo;
mod example;

use demo::Demo;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use storypole_notebook::kinds::KINDS;
use storypole_server::{Code, wire};

/// Reads an answer as its type and writes it again.
fn fits<T: DeserializeOwned + Serialize>(json: &Value, what: &str) {
    let read: T = serde_json::from_value(json.clone()).unwrap_or_else(|error| panic!("{what}: {error}"));
    assert_eq!(&serde_json::to_value(read).unwrap(), json, "{what}");
}

/// Asks for an address and reads the answer as its type.
fn checked<T: DeserializeOwned + Serialize>(demo: &Demo, path: &str) -> Value {
    let json = demo.json(path);
    fits::<T>(&json, path);
    json
}

/// The same, and the example of the operation is of the same type; `STORYPOLE_ACCEPT=1` makes the example from it.
fn with_example<T: DeserializeOwned + Serialize>(demo: &Demo, path: &str, operation: &str) {
    let json = checked::<T>(demo, path);
    fits::<T>(&example::kept(operation, &json), operation);
}

fn ids(page: &Value) -> Vec<String> {
    let items = page["items"].as_array().unwrap();
    items.iter().map(|item| item["id"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn records_of_every_kind_fit_with_their_history() {
    let demo = Demo::read();
    with_example::<wire::kinds::Kinds>(&demo, "/api/kinds", "get_kinds");
    with_example::<wire::record::RecordPage>(&demo, "/api/records/site?limit=1", "get_records");
    with_example::<wire::record::RecordSheet>(&demo, "/api/records/move/X2", "get_record");
    with_example::<wire::history::History>(&demo, "/api/records/move/X2/history", "get_history");
    with_example::<wire::history::Conflicts>(&demo, "/api/conflicts", "get_conflicts");
    with_example::<wire::files::PinnedFiles>(&demo, "/api/files?about=assembly:A03", "get_files");
    let mut seen = 0;
    for kind in KINDS {
        let mut path = format!("/api/records/{}?limit=500&struck=true", kind.name);
        loop {
            let page = checked::<wire::record::RecordPage>(&demo, &path);
            for id in ids(&page) {
                let own = format!("/api/records/{}/{id}", kind.name);
                let sheet = checked::<wire::record::RecordSheet>(&demo, &own);
                assert_eq!(sheet["id"], id.as_str());
                checked::<wire::history::History>(&demo, &format!("{own}/history"));
                seen += 1;
            }
            let Some(next) = page["next"].as_str() else { break };
            path = format!("/api/records/{}?limit=500&struck=true&after={next}", kind.name);
        }
    }
    // A label that stands within a test has a slash of its own.
    let place = checked::<wire::record::RecordSheet>(&demo, "/api/records/position/Q2%2FR1");
    assert_eq!(place["label"], "Q2/R1");
    assert!(seen > 400, "the demo has more records than {seen}");
}

#[test]
fn pages_follow_one_another_without_gap_or_repeat() {
    let demo = Demo::read();
    for (whole, part) in [
        ("/api/records/reading?limit=500", "/api/records/reading?limit=60"),
        ("/api/records/line?limit=500&struck=true", "/api/records/line?limit=7&struck=true"),
        ("/api/entries?limit=500", "/api/entries?limit=4"),
        ("/api/entries?limit=500&job=J1&from=2025-03-05", "/api/entries?limit=1&job=J1&from=2025-03-05"),
        ("/api/receipts?limit=500", "/api/receipts?limit=3"),
        ("/api/receipts?limit=500&job=J1", "/api/receipts?limit=1&job=J1"),
    ] {
        let all = demo.json(whole);
        assert!(all["next"].is_null(), "{whole}");
        let mut items = Vec::new();
        let mut path = part.to_owned();
        loop {
            let page = demo.json(&path);
            assert_eq!(page["total"], all["total"], "{path}");
            items.extend(page["items"].as_array().unwrap().clone());
            let Some(next) = page["next"].as_str() else { break };
            path = format!("{part}&after={next}");
        }
        assert_eq!(Value::Array(items), all["items"], "{part}");
        assert_eq!(all["items"].as_array().unwrap().len() as u64, all["total"].as_u64().unwrap(), "{whole}");
    }
}

#[test]
fn days_fit() {
    let demo = Demo::read();
    with_example::<wire::today::Today>(&demo, "/api/today?day=2025-03-04", "get_today");
    with_example::<wire::entry::EntryPage>(&demo, "/api/entries?limit=1&job=J4", "get_entries");
    with_example::<wire::task::Tasks>(&demo, "/api/tasks?job=J1&state=to-do", "get_tasks");
    with_example::<wire::mark::Marks>(&demo, "/api/marks", "get_marks");
    let page = checked::<wire::entry::EntryPage>(&demo, "/api/entries?limit=500");
    assert_eq!(page["items"][0]["date"], "2025-05-20", "the last day of the demo stands first");
    for entry in page["items"].as_array().unwrap() {
        let day = entry["date"].as_str().unwrap();
        checked::<wire::today::Today>(&demo, &format!("/api/today?day={day}"));
    }
    for path in ["/api/today", "/api/today?site=S2&today=2025-06-01", "/api/today?day=2031-01-01"] {
        checked::<wire::today::Today>(&demo, path);
    }
    let all = checked::<wire::task::Tasks>(&demo, "/api/tasks");
    assert!(all["tasks"].as_array().unwrap().len() > 5);
    let empty = Demo::empty();
    let day = checked::<wire::today::Today>(&empty, "/api/today?today=2025-06-01");
    assert_eq!((&day["day"], &day["is_last_day_with_an_entry"]), (&"2025-06-01".into(), &false.into()));
}

#[test]
fn jobs_and_receipts_fit() {
    let demo = Demo::read();
    with_example::<wire::money::JobsTable>(&demo, "/api/jobs", "get_jobs");
    with_example::<wire::job::JobSheet>(&demo, "/api/jobs/J1", "get_job");
    with_example::<wire::receipt::ReceiptPage>(&demo, "/api/receipts?limit=1&job=J2", "get_receipts");
    with_example::<wire::receipt::Receipt>(&demo, "/api/receipts/P02", "get_receipt");
    with_example::<wire::stock::Stock>(&demo, "/api/stock?job=J4", "get_stock");
    checked::<wire::stock::Stock>(&demo, "/api/stock");
    checked::<wire::stock::Stock>(&demo, "/api/stock?site=S2");
    for id in ids(&demo.json("/api/records/job")) {
        checked::<wire::job::JobSheet>(&demo, &format!("/api/jobs/{id}"));
        checked::<wire::job::JobFinding>(&demo, &format!("/api/findings/jobs/{id}"));
    }
    for id in ids(&demo.json("/api/records/receipt")) {
        checked::<wire::receipt::Receipt>(&demo, &format!("/api/receipts/{id}"));
    }
    checked::<wire::receipt::ReceiptPage>(&demo, "/api/receipts");
    // Source: the demo scenario, invented; 377.28 is what receipt P02 says in print.
    let receipt = demo.json("/api/receipts/P02");
    assert_eq!((&receipt["total"]["amount"], &receipt["adds_up"]), (&"377.28".into(), &true.into()));
}

#[test]
fn recordings_fit() {
    let demo = Demo::read();
    // Mono, 16 bits, a second of a low tone and one of a high tone: RIFF by hand.
    let tone = |n: u32| (f64::from(n) * if n < 24_000 { 0.05 } else { 0.5 }).sin() * 9_000.0;
    let data: Vec<u8> = (0..48_000).flat_map(|n| (tone(n) as i16).to_le_bytes()).collect();
    let mut file =
        b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0\x01\0\x01\0\xc0\x5d\0\0\x80\xbb\0\0\x02\0\x10\0data".to_vec();
    file[4..8].copy_from_slice(&(36 + data.len() as u32).to_le_bytes());
    file.extend((data.len() as u32).to_le_bytes());
    file.extend(data);
    let path = format!("/api/recordings/{}", demo.keep(&file));
    with_example::<wire::recording::RecordingMeasured>(
        &demo,
        &format!("{path}?full_scale=100&cut=1-2%20a%20saw"),
        "get_recording",
    );
    checked::<wire::recording::RecordingMeasured>(&demo, &path);
}

#[test]
fn take_offs_materials_and_cautions_fit() {
    let demo = Demo::read();
    with_example::<wire::takeoff::Takeoff>(&demo, "/api/takeoff/A03", "get_takeoff");
    for path in [
        "/api/takeoff/A12?by_plan=true",
        "/api/takeoff/A09?waste=0.1",
        "/api/takeoff/A03?whole=true&with=batt-r13",
    ] {
        checked::<wire::takeoff::Takeoff>(&demo, path);
    }
    // Source: the demo scenario's take-off check, invented.
    let sheet = demo.json("/api/takeoff/A03");
    assert_eq!(
        (&sheet["cuts"]["without_reuse"], &sheet["net_cavity"]["ft2"]["printed"]),
        (&12.into(), &"64.80".into())
    );
    with_example::<wire::stock::StockSteps>(&demo, "/api/materials/batt-r13/stock", "get_material_stock");
    with_example::<wire::cost::Prices>(&demo, "/api/materials/board-58x/prices", "get_material_prices");
    with_example::<wire::cost::JobCost>(&demo, "/api/jobs/J4/cost", "get_job_cost");
    with_example::<wire::caution::Cautions>(&demo, "/api/cautions?about=J5", "get_cautions");
    checked::<wire::caution::Cautions>(&demo, "/api/cautions");
    for about in ["S1", "site:S2", "A04", "Q2"] {
        let shown = checked::<wire::caution::Cautions>(&demo, &format!("/api/cautions?about={about}"));
        assert!(!shown["cautions"].as_array().unwrap().is_empty(), "{about}");
    }
    for id in ids(&demo.json("/api/records/material")) {
        checked::<wire::stock::StockSteps>(&demo, &format!("/api/materials/{id}/stock"));
        checked::<wire::cost::Prices>(&demo, &format!("/api/materials/{id}/prices"));
    }
    for path in ["/api/takeoff/A03/drawing", "/api/takeoff/A12/drawing?wall=2", "/api/takeoff/A05/section"] {
        let answer = demo.ask(path);
        assert_eq!(answer.header("content-type").unwrap(), "image/svg+xml", "{path}");
        assert!(answer.text.starts_with("<svg"), "{}", answer.text);
    }
}

#[test]
fn tests_findings_and_comparisons_fit() {
    let demo = Demo::read();
    with_example::<wire::plan::Tests>(&demo, "/api/tests", "get_tests");
    with_example::<wire::plan::TestSheet>(&demo, "/api/tests/Q2", "get_test");
    with_example::<wire::set::SetFinding>(&demo, "/api/findings/sets/T06", "get_set_finding");
    with_example::<wire::test::TestFinding>(&demo, "/api/findings/tests/Q1", "get_test_finding");
    with_example::<wire::job::JobFinding>(&demo, "/api/findings/jobs/J2", "get_job_finding");
    with_example::<wire::assembly::AssemblyFinding>(
        &demo,
        "/api/findings/assemblies/A04",
        "get_assembly_finding",
    );
    with_example::<wire::compare::Comparison>(&demo, "/api/compare/fills", "get_compare_fills");
    with_example::<wire::compare::Comparison>(&demo, "/api/compare/couplings", "get_compare_couplings");
    with_example::<wire::compare::AcrossJobs>(&demo, "/api/compare/jobs", "get_compare_jobs");
    with_example::<wire::compare::SideBySide>(&demo, "/api/compare?of=T10&of=T13", "get_compare");
    with_example::<wire::across::Walls>(&demo, "/api/compare/walls", "get_compare_walls");
    for alike in ["same", "near", "family"] {
        for measure in ["change", "level-difference"] {
            let path = format!("/api/compare/walls?alike={alike}&measure={measure}");
            let walls = checked::<wire::across::Walls>(&demo, &path);
            assert!(!walls["pools"].as_array().unwrap().is_empty(), "{path}");
        }
    }
    let asked =
        "/api/compare/question?words=cellulose%20against%20glass%20fibre%20in%202x4%20walls,%20boarded";
    with_example::<wire::question::Answer>(&demo, asked, "get_compare_question");
    let answer = checked::<wire::question::Answer>(&demo, asked);
    assert_eq!(answer["pairs"][0]["verdict"], "cannot tell");
    let fills = "/api/compare/question?words=cellulose,%20glass%20fibre%20or%20stone%20wool";
    let answer = checked::<wire::question::Answer>(&demo, fills);
    assert_eq!(answer["bench_rig"].as_array().unwrap().len(), 3, "three fills in the box, each pair told");
    with_example::<wire::next::Next>(&demo, "/api/next", "get_next");
    with_example::<wire::design::TestPlan>(&demo, "/api/tests/Q3/plan?show=2&seed=7", "get_test_plan");
    for path in [
        "/api/tests/Q1/plan",
        "/api/tests/Q5/plan",
        "/api/tests/Q7/plan?show=0.1&to_and_fro=true&within=0.05",
    ] {
        checked::<wire::design::TestPlan>(&demo, path);
    }
    let asked = "/api/find?words=cellulose+over+3+dB+at+the+duplex&kind=assembly";
    with_example::<wire::find::Found>(&demo, asked, "get_find");
    with_example::<wire::find::Suggested>(
        &demo,
        "/api/find/suggest?typed=walls+with+cell",
        "get_find_suggest",
    );
    with_example::<wire::find::BuiltAlike>(
        &demo,
        "/api/find/alike/A10?level=family&limit=1",
        "get_find_alike",
    );
    for more in [
        "/api/find?words=",
        "/api/find?words=&site=S2&fill=cellulose&frame=single-wood&state=finished&grade=B&year=2025",
        "/api/find?words=celulose&sort=reduction&typing=1",
        "/api/find?words=gypsum&site=S99&sort=date&limit=100",
    ] {
        checked::<wire::find::Found>(&demo, more);
    }
    checked::<wire::compare::SideBySide>(&demo, "/api/compare?of=A14g&of=assembly:A14s");
    checked::<wire::find::Found>(&demo, "/api/find?words=foam+-tape&limit=100");
    for id in ids(&demo.json("/api/records/test")) {
        checked::<wire::plan::TestSheet>(&demo, &format!("/api/tests/{id}"));
        checked::<wire::test::TestFinding>(&demo, &format!("/api/findings/tests/{id}"));
    }
    for id in ids(&demo.json("/api/records/set")) {
        checked::<wire::set::SetFinding>(&demo, &format!("/api/findings/sets/{id}"));
    }
    for id in ids(&demo.json("/api/records/assembly")) {
        checked::<wire::assembly::AssemblyFinding>(&demo, &format!("/api/findings/assemblies/{id}"));
    }
    // Source: the demo scenario, invented; T01 to T05 is 24.9 to 36.1 dB.
    let tests = demo.json("/api/tests");
    let first = tests["tests"].as_array().unwrap().iter().find(|row| row["test"]["label"] == "Q1").unwrap();
    assert_eq!((&first["change"]["printed"], &first["claim"]), (&"+11.2".into(), &"claimed".into()));
}

#[test]
fn a_write_up_is_markdown() {
    let demo = Demo::read();
    let answer = demo.ask("/api/writeups/J1?today=2025-05-24");
    assert_eq!(answer.header("content-type").unwrap(), "text/markdown; charset=utf-8");
    assert!(answer.text.contains("2025-05-24") && answer.text.contains("\n## "), "{}", answer.text);
}

#[test]
fn a_write_up_is_previewed_and_comes_in_every_form() {
    let demo = Demo::read();
    with_example::<wire::writeup::WriteUpPreview>(
        &demo,
        "/api/writeups/J1/preview?today=2025-05-24",
        "get_writeup_preview",
    );
    checked::<wire::writeup::WriteUpPreview>(&demo, "/api/writeups/W1/preview");
    let page = demo.ask("/api/writeups/J1/page?today=2025-05-24");
    assert_eq!(page.header("content-type").unwrap(), "text/html; charset=utf-8");
    let policy = page.header("content-security-policy").unwrap();
    assert!(policy.starts_with("sandbox") && policy.contains("default-src 'none'"), "{policy:?}");
    assert!(page.text.starts_with("<!") && page.text.contains("</html>"));
    let drawn = demo.ask("/api/writeups/J1/figures/section-a03?ground=dark&width=400");
    assert_eq!(drawn.header("content-type").unwrap(), "image/svg+xml");
    assert!(drawn.text.starts_with("<svg") && drawn.text.contains("width=\"400\""));
    for (path, kind) in [
        ("/api/writeups/J1/cards/small?ground=dark&clear=true", "image/png"),
        ("/api/writeups/J1/archive?formats=post,chapters", "application/zip"),
    ] {
        assert_eq!(demo.ask(path).header("content-type").unwrap(), kind, "{path}");
    }
}

#[test]
fn what_cannot_be_answered_says_why() {
    let demo = Demo::read();
    let unknown = "01955e73-c400-7000-8000-000000000000";
    for (path, code, said) in [
        ("/api/jobs/J99", Code::NoSuchRecord, "no job called \"J99\""),
        (&*format!("/api/jobs/{unknown}"), Code::NoSuchRecord, "no job called"),
        ("/api/jobs/P02", Code::NoSuchRecord, "no job called \"P02\""),
        ("/api/records/wall", Code::NoSuchRecord, "no kind of record called \"wall\""),
        ("/api/records/wall/A03", Code::NoSuchRecord, "no kind of record called \"wall\""),
        (&format!("/api/records/line/{unknown}/history"), Code::NoSuchRecord, "no line called"),
        ("/api/records/reading?limit=0", Code::BadQuery, "1 to 500"),
        ("/api/records/reading?limit=501", Code::BadQuery, "1 to 500"),
        ("/api/records/reading?limit=-1", Code::BadQuery, "invalid digit"),
        ("/api/records/reading?after=T18", Code::BadQuery, "not the next of any page"),
        ("/api/takeoff/A05", Code::NoFinding, "nobody measured the studs of A05"),
        ("/api/takeoff/A03?waste=5", Code::BadQuery, "more than the work itself"),
        ("/api/takeoff/A03/drawing?wall=2", Code::NoFinding, "there is no such wall"),
        ("/api/takeoff/A99", Code::NoSuchRecord, "A99"),
        ("/api/cautions?about=P02", Code::BadQuery, "not about a receipt"),
        ("/api/records/reading?page=2", Code::BadQuery, "unknown field `page`"),
        ("/api/entries?after=2025-03-04", Code::BadQuery, "not the next of any page"),
        ("/api/entries?from=4+March", Code::BadQuery, "write it like 2025-03-04"),
        ("/api/entries?site=S9", Code::NoSuchRecord, "no site called \"S9\""),
        ("/api/today?day=2025-02-30", Code::BadQuery, "write it like 2025-03-04"),
        ("/api/tasks?state=half", Code::BadQuery, "to-do, doing, blocked, done, checked"),
        ("/api/files", Code::BadQuery, "missing field `about`"),
        ("/api/files?about=A99", Code::NoSuchRecord, "no record called \"A99\""),
        ("/api/find", Code::BadQuery, "words is missing"),
        ("/api/find?words=foam&limit=101", Code::BadQuery, "1 to 100"),
        ("/api/find?words=foam&kind=wall", Code::BadQuery, "one of: notebook"),
        ("/api/find?words=foam&sort=size", Code::BadQuery, "match, date or reduction"),
        ("/api/find?words=foam&kind=entry&after=x", Code::BadQuery, "not the next of any page"),
        ("/api/find?words=foam&after=1.2.x", Code::BadQuery, "exactly one kind"),
        ("/api/find/suggest", Code::BadQuery, "typed"),
        ("/api/find/alike/A10?level=twin", Code::BadQuery, "same, near or family"),
        ("/api/find/alike/A99", Code::NoSuchRecord, "A99"),
        ("/api/find/alike/A16", Code::NoFinding, "nobody wrote down"),
        ("/api/compare", Code::BadQuery, "1 to 50 times"),
        ("/api/compare?of=J1", Code::BadQuery, "sets and walls are compared"),
        ("/api/compare/question?words=the%20door", Code::BadQuery, "could be read"),
        ("/api/compare/question?words=", Code::BadQuery, "the question is empty"),
        ("/api/compare/walls?alike=cousin", Code::BadQuery, "cousin"),
        ("/api/tests/Q3/plan?show=0", Code::BadQuery, "no number above zero"),
        ("/api/tests/Q3/plan?chance=1.5", Code::BadQuery, "a chance of 1.5 is none"),
        ("/api/compare?of=A16", Code::NoFinding, "no level is measured"),
        ("/api/writeups/A03", Code::NoSuchRecord, "cannot be written up"),
        ("/api/writeups/J99/page", Code::NoSuchRecord, "J99"),
        ("/api/writeups/J1/archive?formats=pdf", Code::BadQuery, "there is no \"pdf\""),
        ("/api/writeups/J1/cards/wide?result=9", Code::BadQuery, "there is no result 9"),
        ("/api/writeups/J1/figures/nothing", Code::NoSuchRecord, "no figure called nothing"),
        ("/api/writeups/J1/figures/section-a03?width=20", Code::BadQuery, "320 to 1600"),
        ("/api/records/site/twice", Code::SeveralRecords, "2 records of kind site"),
    ] {
        let (refused, logged) = demo.refused(path);
        assert_eq!(refused, code, "{path}: {logged}");
        assert!(logged.contains(said), "{path}: {logged}");
    }
}
