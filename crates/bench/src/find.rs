//! How fast notes are found, beside full-text SQLite and bare tantivy over the same texts, in the same run.
//!
//! Reading order: `notebook` (what is searched), `asked` (the questions), `peers`, `product`, `timed` (what a side took),
//! `over_http` (the server, and how soon a saved entry is found), `writing` (durable writes beside one who searches).
//!
//! A question is for a word of the notes, drawn as often as the notes use it; for such a word within a year; or for a month
//! without any word. The product answers as it does for a person: synonyms and word forms, hits kind by kind and counted,
//! filters with counts, snippets. FTS5 gives twenty texts by `bm25()` and a count; tantivy gives the numbers of
//! twenty documents, without and with a count. In process every question is asked so many rounds, side after side, and
//! its fastest answer counts, because the machine does other things too; over HTTP every answer counts.
//!
//! Left out: how good the answers are, which the judged questions tell.

mod asked;
mod notebook;
mod over_http;
mod peers;
mod product;
mod timed;
mod writing;

use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use storypole_desk::Desk;
use storypole_search::Index;

use asked::{Asked, Questions, Want};
use notebook::Notebook;
use peers::{FullText, Tantivy};
use product::{Alone, Product};
use timed::{Aim, Side, Took, megabytes};

/// Whole jobs beside the notes.
const JOBS: usize = 300;
/// Questions of each kind.
const QUESTIONS: usize = 300;
/// How often each is asked in process.
const ROUNDS: usize = 3;
/// Most hits that a peer shows. The product shows a first page: [`product::OF_KIND`] of each of up to eleven kinds.
const LIMIT: usize = 20;
/// How many times the time of bare tantivy an answer in process may take.
const AIM_OF_TANTIVY: f64 = 2.0;

/// Runs all sides for each number of notes and prints the ratios.
pub fn run(counts: &[usize]) {
    for count in counts {
        of_size(*count);
    }
}

fn of_size(count: usize) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let (desk, notebook) = notebook::fill(&folder.path().join("desk"), count, JOBS);
    let commonest = notebook.commonest();
    println!(
        "\nfind: {count} notes and the {} texts of {JOBS} jobs; the commonest word, \u{201c}{}\u{201d}, is in {:.1} % of the notes",
        notebook.texts.len() - notebook.notes,
        commonest.0,
        100.0 * commonest.1 as f64 / notebook.notes as f64
    );
    let (full_text, tantivy) = indexed(folder.path(), &desk, &notebook);
    let questions = Questions::drawn(&notebook, QUESTIONS);
    drop(notebook);
    in_process(&desk, &full_text, &tantivy, &questions);
    drop((full_text, tantivy));
    let desk = Arc::new(desk);
    over_http::run(&desk, &questions);
    writing::run(&desk, &questions);
}

/// Makes every index, and prints how long it took and what it weighs.
fn indexed(folder: &Path, desk: &Desk, notebook: &Notebook) -> (FullText, Tantivy) {
    let begun = Instant::now();
    let (_, book) = desk.book_and_position().expect("the database answers");
    let reading = begun.elapsed();
    drop(book);
    let begun = Instant::now();
    desk.index().expect("a disk with room");
    let product = begun.elapsed();
    let documents = Index::open(&desk.path().join("index")).expect("its folder").view().count();
    let begun = Instant::now();
    let full_text = FullText::make(&folder.join("full-text.db"), &notebook.texts);
    let of_full_text = begun.elapsed();
    let begun = Instant::now();
    let tantivy = Tantivy::make(&folder.join("tantivy"), &notebook.texts);
    let of_tantivy = begun.elapsed();
    println!("  index from the log                       time       size  documents");
    let line = |name: &str, time: std::time::Duration, path: &Path, documents: u64| {
        let (seconds, size_mb) = (time.as_secs_f64(), megabytes(path));
        println!("    {name:<32} {seconds:>8.2} s {size_mb:>7.1} MB {documents:>10}");
        (seconds, size_mb)
    };
    let ours = line("storypole", product, &desk.path().join("index"), documents);
    let peers = [
        line("SQLite FTS5, with its texts", of_full_text, &folder.join("full-text.db"), full_text.count()),
        line("tantivy, bare", of_tantivy, &folder.join("tantivy"), tantivy.count()),
    ];
    println!("    of storypole, reading the records is about {:.2} s", reading.as_secs_f64());
    for (name, peer) in ["FTS5", "tantivy"].into_iter().zip(peers) {
        println!("    ratio to {name}: time {:.2}, size {:.2}", ours.0 / peer.0, ours.1 / peer.1);
    }
    (full_text, tantivy)
}

/// Asks every side every question.
fn in_process(desk: &Desk, full_text: &FullText, tantivy: &Tantivy, questions: &Questions) {
    let product = Product::new(desk);
    let alone = Alone::new(desk);
    for want in Want::ALL {
        let asked = questions.of(want);
        let sides: [Side<'_>; 6] = [
            Side::new("storypole, desk", |asked| product.find(asked)),
            Side::new("storypole, search alone", |asked| alone.answer(asked, product::OF_KIND)),
            Side::new("  the same, 20 of each kind", |asked| alone.answer(asked, LIMIT)),
            Side::new("SQLite FTS5, top 20 and count", |asked| full_text.find(asked)),
            Side::new("tantivy, top 20", |asked| tantivy.top(asked)),
            Side::new("tantivy, top 20 and count", |asked| tantivy.top_and_count(asked)),
        ];
        let took = timed::rounds(&sides, asked, ROUNDS);
        println!("  {} questions for {}, best of {ROUNDS} rounds in process", asked.len(), want.words());
        for (side, took) in sides.iter().zip(&took) {
            println!("    {:<32} {took}", side.name);
        }
        ratios(&took, want);
    }
}

fn ratios(took: &[Took], want: Want) {
    let [desk, alone, _, full_text, top, counted] = took else { return };
    println!("    ratios                                p50    p99    all");
    for (name, product) in [("desk", desk), ("search alone", alone)] {
        timed::ratio(&format!("{name} / FTS5"), product, full_text, Aim::None);
        timed::ratio(&format!("{name} / tantivy"), product, top, Aim::None);
        timed::ratio(&format!("{name} / tantivy with count"), product, counted, Aim::AtMost(AIM_OF_TANTIVY));
    }
    if want == Want::Word {
        let (ours, theirs) = alone.where_hits_agree(counted);
        println!("    of {} questions both have the same number of hits; of these:", ours.count());
        timed::ratio("search alone / tantivy with count", &ours, &theirs, Aim::None);
    }
}
