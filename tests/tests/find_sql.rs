//! Every comparison a question can make, against plain SQL: a thousand random questions, the same set of records.
//!
//! The tables hold what records, ledger and findings show (`tables`); the conditions are made from the numbers that went into
//! each phrase (`phrases`). Beside it: what is said of questions that ask for nothing. Leaves out words and their order: see
//! `find_judged`.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

#[path = "find_sql/phrases.rs"]
mod phrases;
#[path = "find_sql/tables.rs"]
mod tables;

use std::collections::{BTreeMap, BTreeSet};
use std::time::Instant;

use jiff::civil::{Date, date};
use phrases::{Phrase, Pools, Subject, joined, question};
use rusqlite::Connection;
use storypole_desk::Desk;
use storypole_desk::view::found::Told;
use storypole_search::answer::{Chosen, Order, PageOf};
use storypole_search::{Patience, Search};
use storypole_testkit::Chance;
use storypole_testkit::houses::Houses;
use storypole_tests::demo;

/// After the last record.
const TODAY: Date = date(2026, 11, 25);

const QUESTIONS: u64 = 1_000;
const JOBS: usize = 400;

/// So many hits that a question may have without being one of a few.
const FEW: usize = 100;

/// Hits of a kind to a page: small ones so that cursors are tried, large ones so that the test ends.
const PAGES: &[usize] = &[20, 100, 100, 1_000];

fn number(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}

/// The demo with generated jobs beside its own; one folder holds it as long as the desk is used.
fn notebook() -> (tempfile::TempDir, Desk) {
    let folder = demo();
    let desk = Desk::open(folder.path()).unwrap();
    let drafts = Houses::new(31).jobs(JOBS).flat_map(|house| house.drafts).collect();
    for taken in desk.take_all(drafts).unwrap() {
        taken.unwrap();
    }
    (folder, desk)
}

fn find(desk: &Desk, search: &Search) -> Told {
    desk.find(search, TODAY, Patience::Wait).unwrap_or_else(|error| panic!("{:?}: {error}", search.text))
}

/// Every record of every page of every kind.
fn all_pages(desk: &Desk, text: &str, limit: usize, order: Order) -> BTreeSet<String> {
    let search = Search { text: text.to_owned(), limit, order, ..Search::default() };
    let first = find(desk, &search);
    let mut records = BTreeSet::new();
    for group in &first.groups {
        let mut page = group.clone();
        let mut count = 0;
        loop {
            assert!(page.hits.len() <= limit, "{text}: more than a page");
            for hit in &page.hits {
                assert!(
                    records.insert(hit.record.id.to_string()),
                    "{text}: {} twice",
                    hit.record.with_kind()
                );
            }
            count += page.hits.len();
            let Some(after) = page.next else { break };
            let next = Search { page: Some(PageOf { kind: group.kind.to_owned(), after }), ..search.clone() };
            let told = find(desk, &next);
            page = told.groups.into_iter().find(|page| page.kind == group.kind).unwrap();
            assert!(!page.hits.is_empty(), "{text}: a cursor leads to a page");
        }
        assert_eq!(count, group.count, "{text}: as many {} as were counted", group.kind);
    }
    assert_eq!(records.len(), first.total, "{text}: as many as were counted");
    records
}

fn by_sql(sql: &Connection, phrases: &[Phrase]) -> BTreeSet<String> {
    let conditions: Vec<&str> = phrases.iter().map(|phrase| phrase.sql.as_str()).collect();
    let query = format!(
        "SELECT r.id FROM record r JOIN fact f ON f.id = r.id WHERE NOT r.struck AND {}",
        conditions.join(" AND ")
    );
    let mut query = sql.prepare(&query).unwrap();
    query.query_map([], |row| row.get(0)).unwrap().collect::<Result<_, _>>().unwrap()
}

/// A question, what it should find and what it finds otherwise, with what the tables hold of the first few.
fn difference(
    (sql, desk): (&Connection, &Desk),
    text: &str,
    phrases: &[Phrase],
    found: &BTreeSet<String>,
    expected: &BTreeSet<String>,
) -> String {
    let told = |id: &String| -> String {
        let query = "SELECT r.kind || ' ' || r.id || ' day ' || coalesce(r.day, '-') || ' reduction ' || coalesce(f.reduction, '-')
            || ' ' || coalesce(f.reduction_sense, '') || ' difference ' || coalesce(f.difference, '-') || ' '
            || coalesce(f.difference_sense, '') || ' grade ' || coalesce(f.grade, '-') || ' cost ' || coalesce(f.cost, '-')
            || ' per ft2 ' || coalesce(f.per_ft2, '-') FROM record r JOIN fact f ON f.id = r.id WHERE r.id = ?1";
        sql.query_row(query, [id], |row| row.get(0)).unwrap_or_else(|_| id.clone())
    };
    let list = |name: &str, ids: Vec<&String>| {
        let few: Vec<String> = ids.iter().take(3).map(|id| told(id)).collect();
        format!("  {} {name}: {}\n", ids.len(), few.join("\n    "))
    };
    let conditions: Vec<&str> = phrases.iter().map(|phrase| phrase.sql.as_str()).collect();
    let missed: Vec<&String> = expected.difference(found).collect();
    let too_many: Vec<&String> = found.difference(expected).collect();
    let understood = find(desk, &Search { text: text.to_owned(), limit: 1, ..Search::default() });
    let understood: Vec<String> =
        understood.parts.iter().map(|part| format!("{} \"{}\"", part.kind, part.words)).collect();
    format!(
        "\"{text}\" read as {}\n  {}\n{}{}",
        understood.join(", "),
        conditions.join(" AND "),
        list("missed", missed),
        list("too many", too_many)
    )
}

#[test]
fn comparisons_find_what_sql_finds() {
    let (_folder, desk) = notebook();
    let sql = desk.read_with_findings(|_, book, findings| Ok(tables::tables(book, findings))).unwrap();
    let book = desk.book().unwrap();
    // Of sites with one name each, so that a name means one site.
    let mut named: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for site in book.sites.live() {
        named.entry(site.name.clone().unwrap()).or_default().push(site.id.to_string());
    }
    let sites =
        named.into_iter().filter(|(_, ids)| ids.len() == 1).map(|(name, mut ids)| (name, ids.remove(0)));
    let pools = Pools::of(&sql, sites.collect());
    let (seed, count) = (number("SEED", 1), number("STORYPOLE_QUESTIONS", QUESTIONS));
    let mut chance = Chance::new(seed);
    let begun = Instant::now();
    let (mut wrong, mut hits, mut by_subject) = (Vec::new(), Vec::new(), BTreeMap::<Subject, usize>::new());
    while hits.len() < usize::try_from(count).unwrap() {
        let phrases = question(&mut chance, &pools);
        let expected = by_sql(&sql, &phrases);
        // Each hit is named and read out, so most questions that hold for very many are passed over.
        if expected.len() > FEW && chance.below(30) > 0 {
            continue;
        }
        let text = joined(&mut chance, &phrases);
        let limit = *chance.pick(PAGES);
        let order = *chance.pick(&[Order::Match, Order::Date, Order::Reduction]);
        let found = all_pages(&desk, &text, limit, order);
        if found != expected {
            wrong.push(difference((&sql, &desk), &text, &phrases, &found, &expected));
        }
        for phrase in phrases.iter().filter(|_| !expected.is_empty()) {
            *by_subject.entry(phrase.subject).or_default() += 1;
        }
        hits.push(expected.len());
    }
    println!("{count} questions in {:.1} s, SEED={seed}", begun.elapsed().as_secs_f64());
    let of = |from: usize, to: usize| hits.iter().filter(|hits| (from..=to).contains(hits)).count();
    println!(
        "hits: none {}, 1 to 9 {}, 10 to 99 {}, 100 to 999 {}, more {}",
        of(0, 0),
        of(1, 9),
        of(10, 99),
        of(100, 999),
        of(1_000, usize::MAX)
    );
    println!("with hits, by what they compare: {by_subject:?}");
    let shown = wrong.iter().take(12).cloned().collect::<Vec<_>>().join("\n");
    assert!(wrong.is_empty(), "{} of {count} questions differ, SEED={seed}:\n{shown}", wrong.len());
    assert!(of(1, usize::MAX) * 3 >= hits.len(), "at least a third must have something to find");
    assert_eq!(by_subject.len(), 11, "every kind of comparison had something to find");
}

/// What is said of a question: how its parts were understood, the notes of the parts, and the notes of the answer.
fn said(told: &Told) -> Vec<String> {
    let of_parts = told.parts.iter().filter_map(|part| part.note.clone());
    of_parts.chain(told.notes.iter().cloned()).collect()
}

#[test]
fn whatever_is_typed_has_an_answer() {
    let folder = demo();
    let desk = Desk::open(folder.path()).unwrap();
    let long = "stone wool between the studs ".repeat(360);
    assert!(long.len() > 10_000);
    // What is typed, whether something may be found, and what must be said.
    let rows: &[(&str, Option<bool>, &str)] = &[
        ("", Some(false), ""),
        ("   \t\n", Some(false), ""),
        (long.as_str(), None, "Only the first 2000 characters are read"),
        ("the of and", None, ""),
        ("-cellulose", None, ""),
        ("-", Some(false), ""),
        ("--- - --", Some(false), ""),
        ("\"drop seal", Some(true), ""),
        ("\"\"\" \"", Some(false), ""),
        ("cellulose\u{0}\u{7}\u{1b}[31m", Some(true), ""),
        ("\u{1}\u{2}\u{3}", Some(false), ""),
        ("\u{202e}esolullec \u{5d1}\u{5d9}\u{5d3}\u{5d5}\u{5d3} \u{0639}\u{0632}\u{0644}", Some(false), ""),
        ("🔨🔇", Some(false), ""),
        ("cellulose 🔨", None, ""),
        ("over dB", None, "has no number"),
        ("between 9 and 3 dB", Some(true), "the other way round"),
        ("over 99999999999999999999 dB", None, "too long"),
        ("over 6", None, "has no unit"),
        ("on 2025-02-30", None, "There is no day"),
        ("(((( )]}> < = ≥", None, ""),
        ("* OR NOT (a AND b) ~2 ^5 field:value ?", None, ""),
        ("'; DROP TABLE record; --", None, ""),
    ];
    for (text, finds, note) in rows {
        for order in [Order::Match, Order::Date, Order::Reduction] {
            let search = Search { text: (*text).to_owned(), limit: 10, order, ..Search::default() };
            let told = find(&desk, &search);
            if let Some(finds) = finds {
                assert_eq!(told.total > 0, *finds, "{text:?} finds {}", told.total);
            }
            let notes = said(&told);
            assert!(
                note.is_empty() || notes.iter().any(|said| said.contains(note)),
                "{text:?} must say \"{note}\": {notes:?}"
            );
            assert_eq!(told.asked, *text, "the answer repeats what was typed as it was");
        }
    }
    // The larger number first means the same as the smaller first.
    let asked = |text: &str| all_pages(&desk, text, 10, Order::Match);
    assert_eq!(asked("between 9 and 3 dB"), asked("between 3 and 9 dB"));
}

#[test]
fn a_filter_that_is_gone_is_left_out_and_said() {
    let folder = demo();
    let desk = Desk::open(folder.path()).unwrap();
    let search = |chosen| Search { text: "cellulose".to_owned(), chosen, limit: 10, ..Search::default() };
    let all = find(&desk, &search(Chosen::default()));
    let lost = || vec!["of yesteryear".to_owned()];
    for (chosen, name) in [
        (Chosen { kinds: lost(), ..Chosen::default() }, "kind"),
        (Chosen { sites: lost(), ..Chosen::default() }, "site"),
        (Chosen { fills: lost(), ..Chosen::default() }, "fill"),
        (Chosen { frames: lost(), ..Chosen::default() }, "frame"),
        (Chosen { states: lost(), ..Chosen::default() }, "state"),
        (Chosen { grades: lost(), ..Chosen::default() }, "grade"),
        (Chosen { years: lost(), ..Chosen::default() }, "year"),
    ] {
        let told = find(&desk, &search(chosen));
        let note = format!("No {name} is called \"of yesteryear\" here; that filter was left out.");
        assert!(told.notes.contains(&note), "{:?}", told.notes);
        assert_eq!(told.total, all.total, "{name}");
    }
}
