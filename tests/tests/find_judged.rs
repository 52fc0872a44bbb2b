//! The judged questions of `tests/find/questions.jsonl`, asked of the demo and of a generated notebook of 5,000 jobs: how near
//! the order of the answers comes to the best order there is.
//!
//! What is worth finding was written down by hand for the demo, and follows from how the generated jobs were made for the
//! other notebook; neither rests on what the program says. Leaves out whether the numbers in answers are right: see
//! `find_sql`.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use std::collections::BTreeMap;
use std::path::Path;
use std::time::Instant;

use jiff::civil::{Date, date};
use storypole_desk::view::found::{HitTold, Told};
use storypole_desk::{Desk, Founding, names};
use storypole_journal::{Draft, RecordId, WrittenAt};
use storypole_search::answer::Typing;
use storypole_search::{Patience, Search};
use storypole_testkit::houses::{Houses, JUDGED_JOBS, JUDGED_SEED};
use storypole_testkit::judged::{Judged, Notebook, Pointed, Which, read};
use storypole_testkit::rank::{ndcg_at, reciprocal_rank};
use storypole_tests::demo;
use storypole_units::Currency;

const QUESTIONS: &str = include_str!("../find/questions.jsonl");

/// The day the questions are asked on: after the last record of either notebook.
const TODAY: Date = date(2026, 11, 25);

/// How many answers a person looks at; the screen shows so many of each kind.
const LOOKED_AT: usize = 10;

/// What was asked for, and not only something close to it.
const ASKED_FOR: u8 = 3;

/// Least means over the questions that have something to find, and how many of the others find nothing at least.
struct Floors {
    /// nDCG of the first ten.
    ndcg: f64,
    /// Reciprocal rank.
    reciprocal: f64,
    empty: usize,
}

/// How one question fared.
struct Fared {
    id: String,
    ask: String,
    /// `None` where nothing is to be found.
    ndcg: Option<f64>,
    reciprocal: f64,
    total: usize,
    understood: String,
    order: String,
}

/// A notebook with questions about it.
struct Asked<'d> {
    desk: &'d Desk,
    questions: Vec<(&'d Judged, BTreeMap<RecordId, u8>)>,
}

impl Asked<'_> {
    fn fare(&self) -> Vec<Fared> {
        let begun = Instant::now();
        let fared: Vec<_> =
            self.questions.iter().map(|(question, grades)| fared(self.desk, question, grades)).collect();
        println!("{} questions in {:.1} s", fared.len(), begun.elapsed().as_secs_f64());
        fared
    }
}

fn fared(desk: &Desk, question: &Judged, grades: &BTreeMap<RecordId, u8>) -> Fared {
    let told = ask(desk, question);
    // The order in which a person reads: group after group, hit after hit.
    let hits: Vec<&HitTold> = told.groups.iter().flat_map(|group| &group.hits).collect();
    let grade = |hit: &&HitTold| grades.get(&hit.record.id).copied().unwrap_or(0);
    let in_order: Vec<u8> = hits.iter().map(grade).collect();
    let all: Vec<u8> = grades.values().copied().collect();
    let named = |hit: &&&HitTold| format!("{} {}={}", hit.record.kind, hit.record.short(), grade(hit));
    Fared {
        id: question.id.clone(),
        ask: question.ask.clone(),
        ndcg: ndcg_at(LOOKED_AT, &in_order, &all),
        reciprocal: reciprocal_rank(ASKED_FOR, &in_order),
        total: told.total,
        understood: understood(&told),
        order: hits.iter().take(LOOKED_AT).map(|hit| named(&hit)).collect::<Vec<_>>().join(", "),
    }
}

fn ask(desk: &Desk, question: &Judged) -> Told {
    let typing = if question.kind == "prefix" { Typing::Open } else { Typing::Done };
    let search = Search { text: question.ask.clone(), typing, limit: LOOKED_AT, ..Search::default() };
    desk.find(&search, TODAY, Patience::Wait).unwrap()
}

fn understood(told: &Told) -> String {
    let part = |part: &storypole_desk::view::found::PartTold| {
        let note = part.note.as_deref().map(|note| format!(" ({note})")).unwrap_or_default();
        format!("{} \"{}\"{note}", part.kind, part.words)
    };
    let words = if told.all_words_matched { "" } else { "some words: " };
    format!("{words}{}", told.parts.iter().map(part).collect::<Vec<_>>().join(", "))
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    values.iter().sum::<f64>() / values.len() as f64
}

/// Means of nDCG and reciprocal rank, and of the questions that must find nothing how many did and how many there are.
fn means(fared: &[&Fared]) -> (f64, f64, usize, usize) {
    let (some, nothing): (Vec<&Fared>, Vec<&Fared>) = fared.iter().partition(|one| one.ndcg.is_some());
    let ndcg = mean(some.iter().filter_map(|one| one.ndcg));
    let reciprocal = mean(some.iter().map(|one| one.reciprocal));
    (ndcg, reciprocal, nothing.iter().filter(|one| one.total == 0).count(), nothing.len())
}

/// `STORYPOLE_WORST` sets how many are listed.
fn report_worst(fared: &[&Fared]) {
    let count = std::env::var("STORYPOLE_WORST").ok().and_then(|text| text.parse().ok()).unwrap_or(10);
    let mut worst: Vec<&&Fared> = fared.iter().collect();
    let of = |one: &Fared| one.ndcg.unwrap_or(if one.total == 0 { 1.0 } else { 0.0 });
    worst.sort_by(|one, other| of(one).total_cmp(&of(other)));
    println!("\nthe {count} worst:");
    for one in worst.iter().take(count) {
        println!("{} {:.2} {:.2} \"{}\", {} found", one.id, of(one), one.reciprocal, one.ask, one.total);
        println!("      {}\n      {}", one.understood, one.order);
    }
    println!();
}

/// Prints the means and holds them against their floors.
fn hold(name: &str, fared: &[&Fared], floors: &Floors) {
    let (ndcg, reciprocal, empty, nothing) = means(fared);
    println!(
        "{name}: nDCG@{LOOKED_AT} {ndcg:.3}, MRR {reciprocal:.3} over {} questions; {empty} of {nothing} that have nothing to find \
         found nothing",
        fared.len()
    );
    assert!(ndcg >= floors.ndcg, "{name}: nDCG@{LOOKED_AT} {ndcg:.3} is below {}", floors.ndcg);
    assert!(reciprocal >= floors.reciprocal, "{name}: MRR {reciprocal:.3} is below {}", floors.reciprocal);
    assert!(empty >= floors.empty, "{name}: {} questions found what is nowhere", nothing - empty);
}

#[test]
fn answers_stand_in_the_order_a_person_would_want() {
    let questions = read(QUESTIONS).unwrap();
    let of = |notebook| questions.iter().filter(move |question| question.of == notebook);
    let demo = demo();
    let demo_desk = Desk::open(demo.path()).unwrap();
    let of_demo = of(Notebook::Demo).map(|question| (question, named_grades(&demo_desk, question))).collect();
    let of_demo = Asked { desk: &demo_desk, questions: of_demo }.fare();

    let folder = tempfile::tempdir().unwrap();
    let (houses_desk, truths) = houses(folder.path());
    let of_houses = of(Notebook::Houses).map(|question| (question, question.grades(&truths))).collect();
    let of_houses = Asked { desk: &houses_desk, questions: of_houses }.fare();

    let all: Vec<&Fared> = of_demo.iter().chain(&of_houses).collect();
    report_worst(&all);
    // Floors stand 0.02 to 0.03 below what is reached. One question of the demo that no longer finds anything good costs its mean
    // 0.024, one of the houses 0.019: a change of the order here and there passes, two lost questions do not. Of the houses one
    // question (h54) finds what is nowhere, because half of its words stand together in some records.
    hold("demo", &of_demo.iter().collect::<Vec<_>>(), &Floors { ndcg: 0.85, reciprocal: 0.89, empty: 4 });
    hold("houses", &of_houses.iter().collect::<Vec<_>>(), &Floors { ndcg: 0.88, reciprocal: 0.84, empty: 3 });
    hold("all", &all, &Floors { ndcg: 0.87, reciprocal: 0.87, empty: 7 });
}

/// Grades of the demo's records by what the question calls them.
fn named_grades(desk: &Desk, question: &Judged) -> BTreeMap<RecordId, u8> {
    let mut grades = BTreeMap::new();
    for worth in &question.worth {
        let Which::Records(pointed) = &worth.which else { panic!("{}: the demo has no rules", question.id) };
        for pointed in pointed {
            let record = record(desk, pointed).unwrap_or_else(|why| panic!("{}: {why}", question.id));
            assert_eq!(grades.insert(record, worth.grade), None, "{}: {} twice", question.id, pointed.name);
        }
    }
    grades
}

fn record(desk: &Desk, pointed: &Pointed) -> Result<RecordId, String> {
    let Pointed { kind, name } = pointed;
    if kind != "entry" {
        return names::find(desk, kind, name).map_err(|error| error.to_string());
    }
    let book = desk.book().unwrap();
    let says = |text: &Option<String>| text.as_deref().is_some_and(|text| text.contains(name.as_str()));
    let mut saying = book.entries.live().filter(|entry| says(&entry.text));
    match (saying.next(), saying.next()) {
        (Some(entry), None) => Ok(entry.id),
        (None, _) => Err(format!("no entry says \"{name}\"")),
        _ => Err(format!("several entries say \"{name}\"")),
    }
}

/// Drafts to a transaction: few large ones, as each is synced to disk.
const DRAFTS_AT_ONCE: usize = 500;

/// The generated notebook, and the truth about its jobs.
fn houses(folder: &Path) -> (Desk, Vec<storypole_testkit::houses::Truth>) {
    let founding = Founding {
        name: "many houses".to_owned(),
        currency: Currency::parse("USD").unwrap(),
        role: "site lead".to_owned(),
        label: "founder".to_owned(),
        device_label: "workshop".to_owned(),
        written_at: WrittenAt { unix_ms: 1_452_470_400_000, offset_min: 0 },
    };
    let desk = Desk::found(folder, &founding).unwrap();
    let begun = Instant::now();
    let (mut truths, mut drafts): (Vec<_>, Vec<Draft>) = Default::default();
    for house in Houses::new(JUDGED_SEED).jobs(JUDGED_JOBS) {
        truths.push(house.truth);
        drafts.extend(house.drafts);
        if drafts.len() >= DRAFTS_AT_ONCE {
            take(&desk, std::mem::take(&mut drafts));
        }
    }
    take(&desk, drafts);
    println!("{} jobs written in {:.1} s", truths.len(), begun.elapsed().as_secs_f64());
    let begun = Instant::now();
    desk.index().unwrap();
    println!("indexed in {:.1} s", begun.elapsed().as_secs_f64());
    (desk, truths)
}

fn take(desk: &Desk, drafts: Vec<Draft>) {
    for taken in desk.take_all(drafts).unwrap() {
        taken.unwrap();
    }
}
